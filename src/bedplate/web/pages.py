"""Pages and files to look at: nothing here writes."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response, StreamingResponse

from bedplate.errors import EntryError, NotFoundError
from bedplate.record.entries import Checkpoint
from bedplate.shop.model import State
from bedplate.web.render import page
from bedplate.web.views.common import fit_view
from bedplate.web.views.fits import fit_detail, fits_page
from bedplate.web.views.gauges import gauge_views
from bedplate.web.views.measure import REASONS, prompt
from bedplate.web.views.record import record_page
from bedplate.web.views.stand import stand_view
from bedplate.web.warming import Warming

if TYPE_CHECKING:
    from bedplate.workshop import Workshop

Endpoint = Callable[[Request], Response]

_PICTURES = {b"\x89PNG": "image/png", b"\xff\xd8\xff": "image/jpeg"}


class Pages:
    """Every page, over one workshop."""

    def __init__(self, workshop: Workshop, warming: Warming | None = None) -> None:
        self._workshop = workshop
        self._warming = warming or Warming(workshop)

    def _state(self, request: Request) -> State:
        return self._workshop.state(str(request.path_params["build"]))

    def home(self, request: Request) -> Response:
        """List the builds, and start one."""
        return page(request, "home.html", builds=self._workshop.builds(), examples=_example_names())

    def keys(self, request: Request) -> Response:
        """List the keys."""
        return page(request, "keys.html")

    def to_stand(self, request: Request) -> Response:
        """Lead an address without its last stroke to the stand."""
        return RedirectResponse(f"/builds/{request.path_params['build']}/", 308)

    def stand(self, request: Request) -> Response:
        """Show the drawing of the short block."""
        state = self._state(request)
        labels = request.query_params.get("labels", "maker")
        view = stand_view(state, state.build, labels)
        return page(request, "stand.html", state=state, view=view, tab="")

    def measure(self, request: Request) -> Response:
        """Ask for one reading."""
        state, asked = self._state(request), request.query_params
        view = prompt(
            state,
            asked.get("feature", ""),
            asked.get("station", ""),
            asked.get("gauge", ""),
            asked.get("entry", ""),
        )
        return page(request, "measure.html", state=state, view=view, reasons=REASONS, tab="measure")

    def fits(self, request: Request) -> Response:
        """Show every fit as a band of limits."""
        state = self._state(request)
        view = fits_page(
            state, request.query_params.get("gate", ""), request.query_params.get("verdict", "")
        )
        return page(request, "fits.html", state=state, view=view, tab="fits")

    def fit(self, request: Request) -> Response:
        """Show one fit, with its budget and what it rests on."""
        state = self._state(request)
        name = str(request.path_params["fit"])
        if name not in state.fits:
            sentence = f"This build has no fit '{name[:80]}'."
            raise NotFoundError(sentence, hint="The page of fits lists every one.")
        fit = state.fits[name]
        return page(
            request,
            "fit.html",
            state=state,
            view=fit_view(fit, state.units),
            detail=fit_detail(state, fit),
            tab="fits",
        )

    def questions(self, request: Request) -> Response:
        """Show what is open, by gate."""
        from bedplate.web.views.questions import gates

        state = self._state(request)
        return page(request, "questions.html", state=state, gates=gates(state), tab="questions")

    def record(self, request: Request) -> Response:
        """Show the entries as they happened."""
        state = self._state(request)
        before = request.query_params.get("before", "")
        view = record_page(state, int(before[:9]) if before.isdecimal() else None)
        parts = sorted({feature.feature.part for feature in state.features.values()})
        return page(
            request, "record.html", state=state, view=view, parts=parts, reasons=REASONS,
            engine_text=self._workshop.engine_text(state.build), tab="record",
        )  # fmt: skip

    def verify(self, request: Request) -> Response:
        """Check the record, against a checkpoint from paper if one is given."""
        state = self._state(request)
        count, head = (request.query_params.get(name, "").strip() for name in ("count", "head"))
        found = self._workshop.verify(state.build, _checkpoint(count, head))
        return page(request, "verify.html", state=state, found=found, count=count, tab="record")

    def gauges(self, request: Request) -> Response:
        """Show the register of gauges."""
        from bedplate.shop.offers import gauge_offers

        state = self._state(request)
        others = [b for b in self._workshop.builds() if b.build != state.build]
        return page(
            request, "gauges.html", state=state, gauges=gauge_views(state), others=others,
            offers=gauge_offers(state.units), tab="gauges",
        )  # fmt: skip

    def book(self, request: Request) -> Response:
        """Give the build book."""
        state = self._state(request)
        waiting = self._warming.page(request, state, "", "Build book")
        if waiting is not None:
            return waiting
        build = state.build
        return _file(self._workshop.book(build), "application/pdf", f"{build}-book.pdf")

    def sheet(self, request: Request) -> Response:
        """Give the blank measuring sheet."""
        build = self._state(request).build
        return _file(self._workshop.sheet(build), "application/pdf", f"{build}-sheet.pdf")

    def export(self, request: Request) -> Response:
        """Give the record as JSON Lines."""
        build = self._state(request).build
        lines = self._workshop.export(build)
        return StreamingResponse(
            lines, media_type="application/jsonl", headers=_as_file(f"{build}.jsonl")
        )

    def state_json(self, request: Request) -> Response:
        """Give the state as JSON."""
        from bedplate.documents.state_json import state_as_json

        return Response(state_as_json(self._state(request)), media_type="application/json")

    def engine(self, request: Request) -> Response:
        """Give the engine file as it was given last."""
        build = self._state(request).build
        text = self._workshop.engine_text(build).encode()
        return _file(text, "text/plain; charset=utf-8", f"{build}.toml")

    def picture(self, request: Request) -> Response:
        """Give a picture by its hash."""
        data = self._workshop.picture(str(request.path_params["sha256"]))
        kind = next((m for magic, m in _PICTURES.items() if data.startswith(magic)), None)
        headers = {"cache-control": "private, max-age=31536000, immutable"}
        return Response(data, media_type=kind or "application/octet-stream", headers=headers)


def _checkpoint(count: str, head: str) -> Checkpoint | None:
    """Read a checkpoint as printed; spaces in the hash do not matter."""
    head = "".join(head.split()).lower()
    if not count and not head:
        return None
    if not count.isdecimal() or not head:
        sentence = "A checkpoint is the number of entries and the hash, as printed on paper."
        raise EntryError(sentence, hint="Type both, or neither.")
    return Checkpoint(count=int(count[:9]), head=head)


@cache
def _example_names() -> tuple[tuple[str, str], ...]:
    """Return the shipped engine files: key, and what each is."""
    from bedplate.engine import examples, read_engine
    from bedplate.engine.words import layout_in_words

    found = {name: read_engine(text, name) for name, text in examples().items()}
    return tuple(
        (name, f"{engine.name}: {layout_in_words(engine)}, {engine.caps.value}")
        for name, engine in sorted(found.items())
    )


def _as_file(name: str) -> dict[str, str]:
    return {"content-disposition": f'attachment; filename="{name}"'}


def _file(data: bytes, media_type: str, name: str) -> Response:
    kind = "inline" if media_type == "application/pdf" else "attachment"
    headers = {"content-disposition": f'{kind}; filename="{name}"'}
    return Response(data, media_type=media_type, headers=headers)


def as_pdf(data: bytes, name: str) -> Response:
    """Return a PDF as an answer."""
    return _file(data, "application/pdf", name)
