"""The box of half shells and the bearings, on their page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup

from bedplate.documents.shells import DrawnShell, bearing_picture, box_picture
from bedplate.errors import BedplateError
from bedplate.quantity import Dimension, show
from bedplate.shop.model import State
from bedplate.shop.selection.by_hand import HandPlaced, moved_by_hand
from bedplate.shop.selection.model import LOADED
from bedplate.shop.selection.outcomes import SelectionState, selections_of
from bedplate.shop.selection.shell_question import SHELLS, ShellQuestion
from bedplate.shop.selection.words import proof_words
from bedplate.web.views.common import fine, length, other

if TYPE_CHECKING:
    from bedplate.shop.selection.model import ShellSelection
    from bedplate.workshop import Workshop


KINDS = (*SHELLS, "sets")
"""What can be chosen on the page of selection."""


@dataclass(frozen=True, slots=True)
class BearingView:
    """One bearing with the halves that lie in it; `fault` says why they may not."""

    name: str
    fit: str
    upper: str
    lower: str
    uppers: tuple[tuple[str, str], ...]
    lowers: tuple[tuple[str, str], ...]
    clearance: str
    clearance_other: str
    expanded: str
    off: str
    target: str
    fault: str
    picture: Markup
    fixed: bool


@dataclass(frozen=True, slots=True)
class OutcomeView:
    """A prediction beside what was measured."""

    fit: str
    name: str
    predicted: str
    measured: str
    difference: str
    off: bool


@dataclass(frozen=True, slots=True)
class SelectionView:
    """The page of selection.

    :param refused: why nothing can be chosen, '' if it can
    :param moves: what was put elsewhere by hand
    """

    what: str
    kinds: tuple[str, ...]
    refused: str
    hint: str
    missing: tuple[str, ...]
    proof: str
    box: Markup
    bearings: tuple[BearingView, ...]
    left_over: tuple[tuple[str, int], ...]
    to_buy: tuple[str, ...]
    moves: dict[str, str]
    moved: str
    faults: tuple[str, ...]
    made: str
    changed: tuple[str, ...]
    outcomes: tuple[OutcomeView, ...]
    codes: dict[str, str]
    codes_read: tuple[tuple[str, str, str, str], ...] = ()
    read_from: str = ""


def selection_view(workshop: Workshop, state: State, asked: Mapping[str, str]) -> SelectionView:
    """Return the page of a selection of half shells."""
    what = asked.get("what", "") or "main shells"
    codes = {name: asked.get(name, "") for name in ("housing_codes", "shaft_codes")}
    moves = {k.removeprefix("at "): v for k, v in asked.items() if k.startswith("at ") and v}
    made = next((s for s in selections_of(state) if s.made.what == what), None)
    try:
        question, found = workshop.shell_selection(state.build, what, **codes)
        hand = moved_by_hand(question, found, moves)
    except BedplateError as error:
        return _refused(state, what, error, made, codes)
    return _view(state, question, found, hand, moves, made, codes)


def _refused(
    state: State, what: str, error: BedplateError, made: SelectionState | None,
    codes: dict[str, str],
) -> SelectionView:  # fmt: skip
    return SelectionView(
        what=what if what in SHELLS else "main shells", kinds=KINDS,
        refused=error.sentence, hint=error.hint, missing=(), proof="", box=Markup(""),
        bearings=(), left_over=(), to_buy=(), moves={}, moved="", faults=(),
        made=made_words(made), changed=made.changed if made else (),
        outcomes=outcomes_of(state, made), codes=codes,
    )  # fmt: skip


def _view(
    state: State,
    question: ShellQuestion,
    found: ShellSelection,
    hand: HandPlaced,
    moves: dict[str, str],
    made: SelectionState | None,
    codes: dict[str, str],
) -> SelectionView:
    best = {pair.bearing: (pair.upper, pair.lower) for pair in found.placed}
    changed = {
        place: name
        for place, name in moves.items()
        if name not in best.get(place.rpartition(" ")[0], ())
        or best[place.rpartition(" ")[0]][place.endswith("lower")] != name
    }
    return SelectionView(
        what=question.what,
        kinds=KINDS,
        refused=found.why_not,
        hint="",
        missing=question.missing,
        proof=proof_words(found.proof) if found.placed else "",
        box=_box(state, question, hand),
        bearings=tuple(_bearings(state, question, hand)),
        left_over=found.left_over,
        to_buy=tuple(
            f"{piece.count} {piece.side} of grade {piece.grade}"
            for piece in (found.purchase.pieces if found.purchase else ())
        ),
        moves=changed,
        moved="" if not changed else _moved(state, found, hand),
        faults=hand.faults,
        made=made_words(made),
        changed=made.changed if made else (),
        outcomes=outcomes_of(state, made),
        codes=codes,
        codes_read=question.codes_read,
        read_from=question.read_from,
    )


def _moved(state: State, found: ShellSelection, hand: HandPlaced) -> str:
    least = max((abs(pair.deviation) for pair in found.placed), default=0.0)
    worst = show(hand.worst, Dimension.LENGTH, state.units, uncertainty=1e-6)
    best = show(least, Dimension.LENGTH, state.units, uncertainty=1e-6)
    return f"Moved by hand: worst deviation {worst}, where {best} is possible."


def made_words(made: SelectionState | None) -> str:
    """Say what choice is kept, '' if none is."""
    if made is None:
        return ""
    return f"Kept in entry {made.number} by {made.made.by}: {made.made.proof}."


def outcomes_of(state: State, made: SelectionState | None) -> tuple[OutcomeView, ...]:
    """Return what was predicted beside what was measured since."""
    return tuple(
        OutcomeView(
            fit=outcome.fit,
            name=outcome.name,
            predicted=length(outcome.predicted, state.units, outcome.predicted_expanded),
            measured="" if outcome.measured is None else length(outcome.measured, state.units),
            difference=""
            if outcome.difference is None
            else show(
                outcome.difference, Dimension.LENGTH, state.units, signed=True,
                uncertainty=outcome.expanded,
            ),
            off=outcome.off,
        )
        for outcome in (made.outcomes if made else ())
    )  # fmt: skip


def _box(state: State, question: ShellQuestion, hand: HandPlaced) -> Markup:
    places: dict[str, list[str]] = {}
    for pair in hand.pairs:
        number = pair.bearing.rpartition(" ")[2]
        for name in (pair.upper, pair.lower):
            places.setdefault(name, []).append(number)
    shells = sorted(
        question.shells, key=lambda s: (s.side == "lower", s.side is None, s.wall.value, s.id)
    )
    drawn = [
        DrawnShell(
            name=shell.id if shell.count == 1 else f"{shell.count} × {shell.id}",
            wall=length(shell.wall.value, state.units, shell.wall.uncertainty),
            side=shell.side or "",
            grooved=shell.grooved,
            place=" ".join(places.get(shell.id, ())),
        )
        for shell in shells
    ]
    return Markup(box_picture(drawn))  # noqa: S704 - our own drawing


def _bearings(state: State, question: ShellQuestion, hand: HandPlaced) -> list[BearingView]:
    coverage = state.engine.measuring.coverage
    pairs = {pair.bearing: pair for pair in hand.pairs}
    uppers, lowers = (_choices(state, question, side) for side in ("upper", "lower"))
    views = []
    for bearing in question.bearings:
        pair = pairs.get(bearing.id)
        if pair is None:
            continue
        drawing = bearing_picture(
            bearing.id, pair.upper, pair.lower, LOADED[bearing.role], grooved=bearing.groove
        )
        views.append(
            BearingView(
                name=bearing.id,
                fit=question.fits[bearing.id],
                upper=pair.upper,
                lower=pair.lower,
                uppers=uppers,
                lowers=lowers,
                clearance=length(pair.clearance.value, state.units),
                clearance_other=length(pair.clearance.value, other(state.units)),
                expanded=fine(coverage * pair.clearance.uncertainty, state.units),
                off=show(
                    pair.deviation, Dimension.LENGTH, state.units, signed=True, uncertainty=1e-6
                ),
                target=length(bearing.target, state.units),
                fault=pair.fault,
                picture=Markup(drawing),  # noqa: S704 - our own drawing
                fixed=bearing.id in question.fitted,
            )
        )
    return views


def _choices(state: State, question: ShellQuestion, side: str) -> tuple[tuple[str, str], ...]:
    return tuple(
        (shell.id, f"{shell.id}, {length(shell.wall.value, state.units, shell.wall.uncertainty)}")
        for shell in question.shells
        if shell.side in {None, side}
    )
