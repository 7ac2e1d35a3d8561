"""The build book: all that is known of a build, on paper that can be archived.

PDF/A-3 with the state (JSON), the record (JSON Lines) and the engine file attached. The same state
gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Mapping

from bedplate.documents import paper, stand
from bedplate.documents.balance_card import chapter as balance_chapter
from bedplate.documents.book_assembly import assembly_pages
from bedplate.documents.book_duty import duty_chapter
from bedplate.documents.book_fits import (
    budgets,
    fit_pages,
    form_pages,
    mark_name,
    missing,
    together,
    without_number,
)
from bedplate.documents.book_record import (
    gauges,
    history,
    photographs,
    readings,
    settings,
    signatures,
)
from bedplate.documents.book_shop import has_shop_pages, shop_pages
from bedplate.documents.looks import looks, mark_of
from bedplate.documents.marks import Mark, picture
from bedplate.documents.paper import Tree
from bedplate.documents.state_json import state_as_json
from bedplate.engine.fits import Gate
from bedplate.engine.model import Engine
from bedplate.engine.words import layout_in_words
from bedplate.errors import BedplateError
from bedplate.metrology.results import Verdict
from bedplate.quantity import Dimension, Units, show
from bedplate.record.entries import AssemblyStep, FastenersFitted, GateWaived, TighteningBegun
from bedplate.shop.balance.ledger import ledger_of
from bedplate.shop.model import FitState, QuestionKind, State


def build_book(
    state: State,
    *,
    engine_text: str,
    export: bytes,
    pictures: Mapping[str, bytes] | None = None,
) -> bytes:
    """Return the build book as PDF/A-3.

    :param engine_text: the engine file as it stands in the record
    :param export: the record as JSON Lines
    :param pictures: what is kept of each picture of the record, by its SHA-256
    :raises BedplateError: the page could not be set
    """
    attached = {
        "state": state_as_json(state).decode(),
        "record": export.decode(),
        "engine": engine_text,
    }
    last = state.entries[-1].entry.at if state.entries else ""
    at = paper.moment(last)
    try:
        return paper.typeset("book.typ", contents(state, pictures), at=at, attached=attached)
    except BedplateError:
        # One picture that a camera left broken must not take the book with it.
        if not pictures:
            raise
        return paper.typeset("book.typ", contents(state), at=at, attached=attached)


def contents(state: State, pictures: Mapping[str, bytes] | None = None) -> Tree:
    """Return everything the template sets, as text and drawings.

    :param pictures: what is kept of each picture of the record, by its SHA-256
    """
    return {
        "head": paper.heading(state),
        "marks": marks(),
        "stand": paper.drawing(
            stand.plan(state.engine, looks(state, lambda _: "")), f"Plan of {state.engine.name}"
        ),
        "end": paper.drawing(
            stand.end_view(state.engine, looks(state, lambda _: "")),
            f"{state.engine.name} seen from the free end",
        ),
        "identity": _identity(state),
        "conventions": _conventions(state.engine),
        "cylinders": _cylinders(state.engine, state.units),
        "facts": [[name, text] for name, text in state.engine.facts],
        "materials": _materials(state.engine, state.units),
        "summary": _summary(state),
        "questions": _questions(state),
        "accepted": _accepted(state),
        "fits": fit_pages(state),
        "forms": form_pages(state),
        "budgets": budgets(state),
        "shop": shop_pages(state) if has_shop_pages(state) else None,
        "assembly": assembly_pages(state) if _assembled(state) else None,
        "balance": balance_chapter(state),
        "duty": duty_chapter(state),
        "gauges": gauges(state),
        "settings": settings(state),
        "readings": readings(state),
        "history": history(state),
        "photographs": photographs(state, pictures or {}),
        "signatures": signatures(state),
    }


def _assembled(state: State) -> bool:
    """Tell whether anything of assembly or tightening is in the record."""
    kinds = AssemblyStep | TighteningBegun | GateWaived | FastenersFitted
    return any(isinstance(numbered.entry, kinds) for numbered in state.entries)


def marks() -> Tree:
    """Return each verdict mark as a drawing, by its name."""
    return {
        mark_name(mark): paper.drawing(picture(mark, ink=paper.INK, described=False), mark.words)
        for verdict in Verdict
        for below in (False, True)
        for stale in (False, True)
        for mark in [Mark(verdict, below, stale)]
    }


def _identity(state: State) -> list[list[str]]:
    engine = state.engine
    first, last = state.entries[0].entry, state.entries[-1].entry
    rows = [
        ["Build", state.build],
        ["Title", state.title],
        ["Engine", engine.name],
        ["Begun", f"{paper.time(first.at)} UTC by {first.by}"],
        ["Last entry", f"{paper.time(last.at)} UTC by {last.by}"],
        ["Follows build", engine.previous],
        ["Engine file", f"SHA-256 {engine.digest}"],
    ]
    return [row for row in rows if row[1]]


def _conventions(engine: Engine) -> list[list[str]]:
    layout, units = engine.layout, engine.units
    turning = "clockwise" if layout.clockwise else "anticlockwise"
    kelvin = show(
        engine.measuring.temperature_uncertainty, Dimension.TEMPERATURE_DIFFERENCE, Units.METRIC
    )
    rows = [
        ["Layout", layout_in_words(engine)],
        ["Front", f"‘front’ means the {layout.front}"],
        [
            "Banks",
            "" if layout.form == "in-line" else "A is left, seen from the free end, decks up",
        ],
        ["Rotation", f"{turning} seen from the free end"],
        ["Firing order", " - ".join(layout.firing)],
        ["Firing intervals", ", ".join(paper.angle(i, units) for i in layout.intervals)],
        ["Mains", f"{layout.mains}, main 1 at the {layout.mains_from}"],
        ["Thrust main", engine.thrust_main],
        ["Main caps", engine.caps.value],
        ["Bore × stroke", f"{_length(engine.bore, units)} × {_length(engine.stroke, units)}"],
        ["Rod length", _length(engine.rod, units)],
        ["Clearance", "always over the diameter, never per side; negative is interference"],
        ["Units", f"{units.value} first, the other ones beneath"],
        ["Uncertainty", f"expanded, U = k·u with k = {engine.measuring.coverage:g} (GUM)"],
        ["Verdicts", "by ISO 14253-1, on the least and the greatest value of a fit"],
        ["Temperature", _temperature(engine, kelvin)],
    ]
    return [row for row in rows if row[1]]


def _length(value: float, units: Units) -> str:
    first, second = paper.both(value, units)
    return f"{first} ({second})"


def _temperature(engine: Engine, kelvin: str) -> str:
    if engine.measuring.reduce:
        return f"sizes reduced to 20 °C (ISO 1); a temperature is known to u = {kelvin}"
    return "sizes as measured, not reduced to 20 °C"


def _cylinders(engine: Engine, units: Units) -> list[list[str]]:
    return [
        [
            cylinder.label,
            cylinder.iso_1204,
            cylinder.din_73021,
            f"bank {cylinder.bank}, {cylinder.position} from the free end",
            str(cylinder.crankpin),
            paper.angle(cylinder.dead_centre, units),
        ]
        for cylinder in engine.layout.cylinders
    ]


def _materials(engine: Engine, units: Units) -> list[list[str]]:
    return [
        [
            material.name,
            "not stated"
            if material.expansion is None
            else show(material.expansion, Dimension.EXPANSION, units),
            material.source,
        ]
        for material in engine.materials.values()
    ]


_MEANINGS = {
    Verdict.INSIDE: "inside the stated limits, with the uncertainty taken off",
    Verdict.OUTSIDE: "outside the stated limits by more than the uncertainty",
    Verdict.UNDECIDED: "too near a limit for the uncertainty to tell",
    Verdict.NOT_MEASURED: "readings are missing",
}


def _summary(state: State) -> Tree:
    tally = state.tally()
    counted = [r for f in state.features.values() for r in f.readings]
    standing = {
        name: sum(r.standing == name for r in counted) for name in ("counts", "withdrawn", "stale")
    }
    return {
        "verdicts": [
            {
                "mark": mark_name(Mark(verdict)),
                "count": str(tally[verdict.value]),
                "word": verdict.value,
                "meaning": meaning,
            }
            for verdict, meaning in _MEANINGS.items()
        ],
        "fits": str(len(state.fits)),
        "stale": str(tally["stale"]),
        "accepted": str(tally["accepted"]),
        "questions": str(len(state.questions)),
        "balance": ledger_of(state).sentence,
        "readings": {name: str(count) for name, count in standing.items()},
        "unmeasured": _names_unmeasured(state),
    }


def _names_unmeasured(state: State) -> list[str]:
    kinds: dict[str, list[str]] = {}
    for fit in state.fits.values():
        if fit.verdict is Verdict.NOT_MEASURED:
            kinds.setdefault(without_number(fit.fit), []).append(fit.fit.name)
    return [together(names) for names in kinds.values()]


def _questions(state: State) -> list[Tree]:
    return [
        {
            "gate": gate.value,
            "rows": [
                [q.kind.value, q.sentence, q.to_do]
                for q in state.questions
                if q.gate is gate and q.kind is not QuestionKind.NOT_MEASURED
            ]
            + _unmeasured(state, gate),
        }
        for gate in Gate
    ]


def _unmeasured(state: State, gate: Gate) -> list[list[str]]:
    """Return what is not measured before a gate, fits of a kind in one row."""
    kinds: dict[tuple[str, str], list[FitState]] = {}
    for question in state.questions:
        if question.gate is gate and question.kind is QuestionKind.NOT_MEASURED:
            fit = state.fits[question.about]
            way = "" if fit.missing else question.to_do
            kinds.setdefault((without_number(fit.fit), way), []).append(fit)
    return [
        [
            QuestionKind.NOT_MEASURED.value,
            f"{together([fit.fit.name for fit in fits])}: not measured.",
            way or f"Measure {missing(fits, state)}.",
        ]
        for (_, way), fits in kinds.items()
    ]


def _accepted(state: State) -> list[Tree]:
    return [
        {
            "mark": mark_name(mark_of(fit)),
            "name": fit.fit.name,
            "verdict": fit.verdict.value,
            "reason": fit.accepted,
            "by": fit.accepted_by,
        }
        for fit in state.fits.values()
        if fit.accepted
    ]
