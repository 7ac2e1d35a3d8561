"""Pages of the machine shop and of parts: order, check-in, parts, selection, rings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from bedplate.shop.model import State
from bedplate.web.intake import deed
from bedplate.web.render import page
from bedplate.web.shop_deeds import ShopDeeds
from bedplate.web.views.shop import SECTIONS, checkin_view, order_view

if TYPE_CHECKING:
    from bedplate.workshop import Workshop

TAB = "order"
"""The tab of a build under which all of these pages lie."""


def shopping(workshop: Workshop) -> list[BaseRoute]:
    """Return the routes of these pages and of what they write."""
    build, pages, deeds = "/builds/{build}", ShopPages(workshop), ShopDeeds(workshop)
    does = {
        "orders": deeds.issue,
        "returns": deeds.take_return,
        "waivers": deeds.waive,
        "stock": deeds.stock,
        "stock/used": deeds.use,
        "selections": deeds.select,
        "filings": deeds.file_ring,
    }
    return [
        Route(f"{build}/order", pages.order),
        Route(f"{build}/checkin", pages.checkin),
        Route(f"{build}/parts", pages.parts, methods=["GET"]),
        Route(f"{build}/selection", pages.selection),
        Route(f"{build}/rings", pages.rings),
        Route(f"{build}/order.pdf", pages.order_sheet),
        Route(f"{build}/letter.pdf", pages.letter),
        Route(f"{build}/return.csv", pages.return_sheet),
        *(Route(f"{build}/{end}", deed(do), methods=["POST"]) for end, do in does.items()),
    ]


class ShopPages:
    """Every page of these, over one workshop."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop

    def _state(self, request: Request) -> State:
        return self._workshop.state(str(request.path_params["build"]))

    def _page(self, request: Request, template: str, state: State, **more: object) -> Response:
        section = "selection" if template == "sets" else template
        return page(
            request,
            f"{template}.html",
            state=state,
            tab=TAB,
            section=section,
            sections=SECTIONS,
            status=200,
            **more,
        )

    def order(self, request: Request) -> Response:
        """Show the shop order: the last revision, or what would be issued."""
        state = self._state(request)
        view = order_view(state, request.query_params.get("order", ""))
        return self._page(request, "order", state=state, view=view)

    def checkin(self, request: Request) -> Response:
        """Show what came back beside what was measured here."""
        state, asked = self._state(request), request.query_params
        view = checkin_view(state, asked.get("order", ""), asked.get("row", ""))
        return self._page(request, "checkin", state=state, view=view)

    def parts(self, request: Request) -> Response:
        """Show the parts on hand."""
        from bedplate.shop.stock import COLUMNS, MEASURES, stock_of

        state = self._state(request)
        return self._page(
            request, "parts", state=state, lots=stock_of(state), columns=COLUMNS, measures=MEASURES
        )

    def selection(self, request: Request) -> Response:
        """Show where the half shells go, and what a move would make of it."""
        from bedplate.shop.selection.set_question import WHAT
        from bedplate.web.views.selection import selection_view
        from bedplate.web.views.sets import sets_view

        state = self._state(request)
        if request.query_params.get("what") == WHAT:
            sets = sets_view(self._workshop, state)
            return self._page(request, "sets", state=state, view=sets)
        view = selection_view(self._workshop, state, dict(request.query_params))
        return self._page(request, "selection", state=state, view=view)

    def rings(self, request: Request) -> Response:
        """Show every ring in its bore."""
        from bedplate.web.views.rings import ring_views

        state = self._state(request)
        return self._page(request, "rings", state=state, rings=ring_views(state))

    def order_sheet(self, request: Request) -> Response:
        """Give the order as PDF."""
        state = self._state(request)
        data = self._workshop.order_sheet(state.build, request.query_params.get("order", ""))
        return _file(data, "application/pdf", f"{state.build}-order.pdf")

    def letter(self, request: Request) -> Response:
        """Give the letter on disputed rows as PDF."""
        state = self._state(request)
        data = self._workshop.order_letter(state.build, request.query_params.get("order", ""))
        return _file(data, "application/pdf", f"{state.build}-letter.pdf")

    def return_sheet(self, request: Request) -> Response:
        """Give the blank return sheet as CSV."""
        state = self._state(request)
        data = self._workshop.return_sheet(state.build, request.query_params.get("order", ""))
        return _file(data, "text/csv; charset=utf-8", f"{state.build}-return.csv")


def _file(data: bytes, media_type: str, name: str) -> Response:
    kind = "inline" if media_type == "application/pdf" else "attachment"
    headers: Mapping[str, str] = {"content-disposition": f'{kind}; filename="{name}"'}
    return Response(data, media_type=media_type, headers=headers)
