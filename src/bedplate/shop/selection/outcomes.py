"""What came of a selection: what it predicted beside what was measured since."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import hypot

from bedplate.record.entries import Reading, RingFiled, SelectionMade
from bedplate.record.standing import standing
from bedplate.shop.dependence import renewals
from bedplate.shop.facts import gather
from bedplate.shop.model import FitState, Question, QuestionKind, State
from bedplate.shop.order_sizes import measured_after
from bedplate.shop.rings import GROOVES
from bedplate.shop.selection.shell_question import SHELLS, shell_question
from bedplate.shop.selection.words import millimetres


@dataclass(frozen=True, slots=True)
class Outcome:
    """A prediction beside what was measured since; lengths in m.

    :param expanded: U of the difference; None where it is not measured
    :param off: the two differ by more than their uncertainty
    """

    fit: str
    name: str
    predicted: float
    predicted_expanded: float
    measured: float | None
    difference: float | None
    expanded: float | None
    off: bool


@dataclass(frozen=True, slots=True)
class SelectionState:
    """A selection, in the light of everything after it.

    :param changed: lines of its basis that are not so any more
    """

    made: SelectionMade
    number: int
    outcomes: tuple[Outcome, ...]
    changed: tuple[str, ...]


def selections_of(state: State) -> tuple[SelectionState, ...]:
    """Return the last selection of each kind."""
    return tuple(
        SelectionState(
            made,
            number,
            tuple(_outcomes(state, made, number)),
            tuple(_changed(state, made, number)),
        )
        for made, number in _latest(state)
    )


def selection_questions(state: State) -> Iterator[Question]:
    """Yield what is open of selections: what is not as predicted, what rests on changed facts."""
    if not any(isinstance(n.entry, SelectionMade) for n in state.entries):
        return
    for made, number in _latest(state):
        for outcome in _outcomes(state, made, number):
            if outcome.off:
                gate = state.fits[outcome.fit].fit.gate
                found, said = millimetres(outcome.measured or 0.0), millimetres(outcome.predicted)
                sentence = (
                    f"{outcome.name}: measured {found}, and the parts chosen should give {said}."
                )
                to_do = "Look whether the right part is there; measure what it rests on again."
                yield Question(gate, QuestionKind.SELECTION, outcome.fit, sentence, to_do)


def _latest(state: State) -> Iterable[tuple[SelectionMade, int]]:
    """Return the last selection of each kind that stands, with its place in the record."""
    last: dict[str, tuple[SelectionMade, int]] = {}
    for row in standing(state.entries):
        if isinstance(row.entry, SelectionMade):
            last[row.entry.what] = (row.entry, row.number)
    return last.values()


def _void(state: State, made: SelectionMade, number: int) -> dict[str, str]:
    """Return why what was predicted of a fit does not hold: a part under it was machined since."""
    renewed = renewals(state.engine, gather(state.entries))
    found: dict[str, str] = {}
    for prediction in made.predicted:
        fit = state.fits.get(prediction.fit)
        for way in fit.fit.ways if fit is not None else ():
            space = state.features[way.space].feature
            grounds = (space.id, *way.bodies)
            if space.kind in GROOVES:  # filing makes a gap stale too, and is no fault of the bore
                grounds = (f"cylinder-bore-{space.number}",)
            since, why = max((renewed.get(name, (0, "")) for name in grounds), default=(0, ""))
            if since > number:
                found[prediction.fit] = why
    return found


def _outcomes(state: State, made: SelectionMade, number: int) -> Iterator[Outcome]:
    void = _void(state, made, number)
    for prediction in made.predicted:
        fit = state.fits.get(prediction.fit)
        if fit is None or fit.fit.id in void:
            continue
        measured, unsure = _measured(state, fit, number)
        difference = None if measured is None else measured - prediction.value
        expanded = None if difference is None else hypot(prediction.expanded, unsure)
        yield Outcome(
            fit=fit.fit.id,
            name=fit.fit.name,
            predicted=prediction.value,
            predicted_expanded=prediction.expanded,
            measured=measured,
            difference=difference,
            expanded=expanded,
            off=difference is not None and expanded is not None and abs(difference) > expanded,
        )


def _measured(state: State, fit: FitState, number: int) -> tuple[float | None, float]:
    """Return a fit as measured after a selection, and its U; of a filed ring, its first gap."""
    gaps, filed = [], False
    for row in standing(state.entries):
        entry = row.entry
        if row.number <= number:
            continue
        if isinstance(entry, RingFiled) and entry.feature == fit.fit.id:
            filed = True
            break
        if isinstance(entry, Reading) and entry.feature == fit.fit.id:
            gaps.append(entry)
    if filed:
        return _first_gap(state, gaps)
    return (fit.value, fit.expanded or 0.0) if _since(state, fit, number) else (None, 0.0)


def _first_gap(state: State, gaps: Sequence[Reading]) -> tuple[float | None, float]:
    """Return the mean of a gap's readings before the file, and the U of the gauge used."""
    if not gaps:
        return None, 0.0
    gauge = state.gauges.get(gaps[-1].gauge)
    unsure = gauge.gauge.expanded_uncertainty.si if gauge else 0.0
    return sum(gap.value.si for gap in gaps) / len(gaps), unsure


def _since(state: State, fit: FitState, number: int) -> bool:
    """Tell whether the space of a fit was measured after an entry."""
    if fit.way is None:
        return False
    return measured_after(state.features[fit.fit.ways[fit.way].space], number)


def _changed(state: State, made: SelectionMade, number: int) -> Iterator[str]:
    """Yield the lines on bearings that a selection rests on and that are not so now."""
    if made.what not in SHELLS:
        for fit, why in _void(state, made, number).items():
            yield f"what it predicts of {state.fits[fit].fit.name} does not hold: {why}"
        return
    now = set(shell_question(state, made.what).basis)
    for line in made.basis:
        if ": room for walls" in line and line not in now:
            yield f"it was chosen for {line}, which has changed"
