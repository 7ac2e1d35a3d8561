"""The page of the duty check, and its answer to the sliders."""

from __future__ import annotations

import threading
from collections import OrderedDict
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from bedplate.errors import BedplateError
from bedplate.shop.model import State
from bedplate.web.render import page
from bedplate.web.warming import Warming

if TYPE_CHECKING:
    from bedplate.shop.duty.check import DutyCheck
    from bedplate.shop.duty.given import Given
    from bedplate.workshop import Workshop

TAB = "duty"
_KEPT = 4
"""Checks that are kept ready."""


def duty_routes(workshop: Workshop, warming: Warming) -> list[BaseRoute]:
    """Return the routes of this page."""
    build, pages = "/builds/{build}", DutyPages(workshop, warming)
    return [
        Route(f"{build}/duty", pages.duty),
        Route(f"{build}/duty/film", pages.film),
        Route(f"{build}/duty.json", pages.as_json),
    ]


class DutyPages:
    """The duty check of a build, over one workshop."""

    def __init__(self, workshop: Workshop, warming: Warming) -> None:
        self._workshop = workshop
        self._ready: OrderedDict[tuple[str, str], DutyCheck] = OrderedDict()
        self._lock = threading.Lock()
        self._warming = warming

    def duty(self, request: Request) -> Response:
        """Show the whole check, and one bearing with its knobs."""
        state, given = self._given(request)
        waiting = self._warming.page(request, state, TAB, "Duty")
        if waiting is not None:
            return waiting
        try:
            check = self._check(state, given)
        except BedplateError as error:
            return page(request, "duty_lacking.html", state=state, tab=TAB, error=error)
        from bedplate.documents.duty_pictures import signs
        from bedplate.web.views.duty import duty_page

        return page(
            request,
            "duty.html",
            state=state,
            tab=TAB,
            view=duty_page(given, check),
            signs=_drawn(signs()),
            answer=self._answer(request, given, check),
        )

    def film(self, request: Request) -> Response:
        """Answer the sliders: one bearing at what they stand at."""
        state, given = self._given(request)
        waiting = self._warming.page(request, state, TAB, "Duty")
        if waiting is not None:
            return waiting
        check = self._check(state, given)
        return page(
            request, "duty_film.html", state=state, answer=self._answer(request, given, check)
        )

    def as_json(self, request: Request) -> Response:
        """Give the check as JSON."""
        import msgspec

        from bedplate.documents.duty_json import duty_as_dict

        state, given = self._given(request)
        data = msgspec.json.encode(duty_as_dict(self._check(state, given)))
        return Response(data, media_type="application/json")

    def _given(self, request: Request) -> tuple[State, Given]:
        given = self._workshop.given(str(request.path_params["build"]))
        state = given.state
        if state is None:
            raise BedplateError("A build has a state.")
        return state, given

    def _check(self, state: State, given: Given) -> DutyCheck:
        from bedplate.shop.duty.check import duty_check

        key = state.build, state.checkpoint.head
        with self._lock:
            found = self._ready.get(key)
            if found is None:
                found = duty_check(given)
                self._ready[key] = found
                while len(self._ready) > _KEPT:
                    self._ready.popitem(last=False)
            return found

    def _answer(self, request: Request, given: Given, check: DutyCheck) -> object:
        from bedplate.web.views.duty import answer, knobs

        if check.least is None:
            return None
        try:
            return answer(given, knobs(given, request.query_params, check.least))
        except BedplateError as error:
            return error


def _drawn(svg: str) -> object:
    from markupsafe import Markup

    return Markup(svg)  # noqa: S704 - our own drawing
