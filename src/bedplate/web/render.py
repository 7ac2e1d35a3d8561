"""Templates into answers."""

from __future__ import annotations

import secrets
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from bedplate.errors import BedplateError, FaultsError
from bedplate.shop.model import State
from bedplate.web.intake import wants_json, who
from bedplate.web.keys import KEYS
from bedplate.web.views.common import both, length, mark, when

TABS = (
    ("", "Stand"),
    ("measure", "Measure"),
    ("fits", "Fits"),
    ("order", "Shop"),
    ("assembly", "Assembly"),
    ("tightening", "Tightening"),
    ("balance", "Balance"),
    ("questions", "Questions"),
    ("duty", "Duty"),
    ("record", "Record"),
    ("gauges", "Gauges"),
)
"""Pages of a build: the end of the address, and the name."""


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("bedplate.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(
        both=both,
        keys=KEYS,
        length=length,
        mark=mark,
        new_id=lambda: secrets.token_hex(16),
        tabs=TABS,
        when=when,
    )
    return environment


def page(
    request: Request,
    template: str,
    *,
    state: State | None = None,
    status: int = 200,
    **more: object,
) -> Response:
    """Return a page.

    :param state: of the build the page belongs to, None for a page of no build
    """
    context = {
        "path": request.url.path,
        "address": request.url.path + (f"?{request.url.query}" if request.url.query else ""),
        "who": who(request),
        "state": state,
        "build": state.build if state is not None else "",
        **more,
    }
    html = _environment().get_template(template).render(context)
    return HTMLResponse(html, status)


def failure(request: Request, error: BedplateError) -> Response:
    """Return an error: JSON for a program, a page for a person."""
    if wants_json(request):
        return JSONResponse(error.as_dict(), error.http_status)
    faults = error.faults if isinstance(error, FaultsError) else ()
    back = request.headers.get("referer", "/")
    return page(
        request, "error.html", status=error.http_status, error=error, faults=faults, back=back
    )
