"""The pages as one ASGI application."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles

from bedplate.documents import fonts
from bedplate.errors import BedplateError, EntryError, NotFoundError
from bedplate.web.assembly_deeds import AssemblyDeeds
from bedplate.web.assembly_pages import AssemblyPages
from bedplate.web.balance_pages import balancing
from bedplate.web.deeds import Deeds
from bedplate.web.duty_pages import duty_routes
from bedplate.web.guard import Guard
from bedplate.web.intake import deed
from bedplate.web.pages import Pages
from bedplate.web.render import failure
from bedplate.web.shop_pages import shopping
from bedplate.web.trace_pages import trace_routes
from bedplate.web.warming import Warming

if TYPE_CHECKING:
    from bedplate.workshop import Workshop


def create_app(workshop: Workshop, *, allowed_hosts: Iterable[str] = ("localhost",)) -> Starlette:
    """Return the application.

    :param allowed_hosts: names under which it may be asked for; plain addresses are always taken
    """
    warming = Warming(workshop)
    return Starlette(
        routes=[
            *_reading(Pages(workshop, warming)),
            *_writing(Deeds(workshop)),
            *shopping(workshop),
            *balancing(workshop),
            *duty_routes(workshop, warming),
            *trace_routes(workshop),
            *_assembling(AssemblyPages(workshop), AssemblyDeeds(workshop)),
            *_static(),
        ],
        middleware=[Middleware(Guard, allowed_hosts=tuple(allowed_hosts), failed=_on_failure)],
        exception_handlers={
            BedplateError: _on_our_error,
            HTTPException: _on_http_error,
        },
    )


def _reading(pages: Pages) -> list[BaseRoute]:
    build = "/builds/{build}"
    return [
        Route("/", pages.home),
        Route("/keys", pages.keys),
        Route(build, pages.to_stand),
        Route(f"{build}/", pages.stand),
        Route(f"{build}/measure", pages.measure),
        Route(f"{build}/fits", pages.fits),
        Route(f"{build}/fits/{{fit}}", pages.fit),
        Route(f"{build}/questions", pages.questions),
        Route(f"{build}/record", pages.record),
        Route(f"{build}/verify", pages.verify),
        Route(f"{build}/gauges", pages.gauges),
        Route(f"{build}/book.pdf", pages.book),
        Route(f"{build}/sheet.pdf", pages.sheet),
        Route(f"{build}/record.jsonl", pages.export),
        Route(f"{build}/state.json", pages.state_json),
        Route(f"{build}/engine.toml", pages.engine),
        Route("/pictures/{sha256}", pages.picture),
    ]


def _writing(deeds: Deeds) -> list[BaseRoute]:
    build = "/builds/{build}"
    does = {
        "/name": deeds.name,
        "/builds": deeds.start,
        "/import": deeds.take_in,
        f"{build}/engine": deeds.revise,
        f"{build}/readings": deeds.reading,
        f"{build}/readings/file": deeds.readings,
        f"{build}/settings": deeds.setting,
        f"{build}/gauges": deeds.gauge,
        f"{build}/gauges/copy": deeds.copy_gauges,
        f"{build}/withdrawals": deeds.withdraw,
        f"{build}/reworks": deeds.rework,
        f"{build}/decisions": deeds.accept,
        f"{build}/notes": deeds.note,
        f"{build}/parts": deeds.part,
        f"{build}/signatures": deeds.sign,
    }
    return [Route(path, deed(do), methods=["POST"]) for path, do in does.items()]


def _assembling(pages: AssemblyPages, deeds: AssemblyDeeds) -> list[BaseRoute]:
    build = "/builds/{build}"
    return [
        Route("/clamp", pages.clamp),
        Route(f"{build}/assembly", pages.assembly),
        Route(f"{build}/tightening", pages.tightening),
        Route(f"{build}/fasteners", pages.fasteners),
        Route(f"{build}/tightening.pdf", pages.plan_sheet),
        *(Route(f"{build}/{end}", deed(do), methods=["POST"]) for end, do in deeds.forms().items()),
    ]


def _static() -> list[BaseRoute]:
    return [
        Mount("/static/fonts", StaticFiles(directory=fonts.folder())),
        Mount("/static", StaticFiles(packages=[("bedplate.web", "static")])),
    ]


def _on_our_error(request: Request, error: Exception) -> Response:
    if not isinstance(error, BedplateError):
        raise error
    return failure(request, error)


def _on_http_error(request: Request, error: Exception) -> Response:
    if not isinstance(error, HTTPException):
        raise error
    if error.status_code == 404:
        return failure(request, NotFoundError("There is no such page."))
    found = EntryError(f"This cannot be done here: {error.detail}.")
    response = failure(request, found)
    response.status_code = error.status_code
    return response


def _on_failure(request: Request) -> Response:
    sentence = "The program failed at this; nothing was half-written."
    hint = "Try again. What was said before the failure is in the record."
    return failure(request, BedplateError(sentence, hint=hint))
