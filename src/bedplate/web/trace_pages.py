"""The page of measured cylinder pressure: read, looked at, taken, taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from bedplate.errors import BedplateError, EntryError
from bedplate.web.deeds import Deeds
from bedplate.web.intake import Sent, deed
from bedplate.web.render import page

if TYPE_CHECKING:
    from bedplate.web.views.traces import TraceOffer
    from bedplate.workshop import Workshop
    from bedplate.workshop.duty import TraceWords


def trace_routes(workshop: Workshop) -> list[BaseRoute]:
    """Return the routes of this page."""
    here, pages = "/builds/{build}/duty/traces", TracePages(workshop)
    return [
        Route(here, pages.traces),
        Route(f"{here}/look", deed(pages.look), methods=["POST"]),
        Route(here, deed(pages.take), methods=["POST"]),
    ]


class TracePages(Deeds):
    """Measured cylinder pressure of a build."""

    def traces(self, request: Request) -> Response:
        """Show the traces that the check uses, and how to give another."""
        return self._page(request, {})

    def look(self, sent: Sent) -> Response:
        """Read a file and show what was read; nothing is taken."""
        from bedplate.web.views.traces import TYPED, trace_offer

        typed = {name: sent[name].strip() for name in TYPED}
        try:
            points = _points(sent)
            look = self._workshop.look_at_trace(sent.build, points, typed["speed"], **_words(typed))
            offer = trace_offer(self._workshop.given(sent.build), look, points, typed)
        except BedplateError as error:
            return self._page(sent.request, typed, error=error)
        return self._page(sent.request, typed, offer=offer)

    def take(self, sent: Sent) -> Response:
        """Take a trace that was looked at."""
        from bedplate.web.views.traces import TYPED

        typed = {name: sent[name] for name in TYPED}
        receipt = self._workshop.take_trace(
            sent.build, sent["points"], typed["speed"], by=sent.by, id=sent["id"], **_words(typed)
        )
        return self._done(sent, receipt, f"/builds/{sent.build}/duty/traces")

    def _page(
        self,
        request: Request,
        typed: dict[str, str],
        *,
        offer: TraceOffer | None = None,
        error: BedplateError | None = None,
    ) -> Response:
        from bedplate.web.views.measure import REASONS
        from bedplate.web.views.traces import TYPED, trace_lines

        given = self._workshop.given(str(request.path_params["build"]))
        return page(
            request,
            "traces.html",
            state=given.state,
            tab="duty",
            status=200 if error is None else error.http_status,
            lines=trace_lines(given),
            cylinders=[cylinder.label for cylinder in given.engine.layout.cylinders],
            typed={name: typed.get(name, "") for name in TYPED},
            offer=offer,
            error=error,
            reasons=REASONS,
        )


def _words(typed: dict[str, str]) -> TraceWords:
    return {
        "cylinder": typed["cylinder"],
        "firing": typed["firing"],
        "pegged_to": typed["pegged_to"],
        "source": typed["source"],
    }


def _points(sent: Sent) -> str:
    if "file" not in sent.files:
        raise EntryError("No trace was given.", hint="Choose the CSV file.")
    file, data = sent.files["file"]
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        sentence = f"{file[:80] or 'The file'} is not UTF-8 text."
        raise EntryError(sentence, hint="Save it as CSV in UTF-8.") from None
