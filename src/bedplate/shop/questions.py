"""What is still open, and why, in the order of the work."""

from __future__ import annotations

from collections.abc import Iterator

from bedplate.engine import Gate
from bedplate.metrology import Verdict
from bedplate.metrology.results import Doubt
from bedplate.quantity import Dimension, show_both
from bedplate.record.entries import OrderIssued, SelectionMade
from bedplate.shop.model import (
    FeatureState,
    FitState,
    Question,
    QuestionKind,
    ReadingState,
    State,
)
from bedplate.wording import plain

_GATES = list(Gate)
_KINDS = list(QuestionKind)
_OF_GAUGES = {"gauge overdue", "resolution"}
"""Doubts that are asked once about a gauge, not at each of its readings."""


def questions_of(state: State) -> tuple[Question, ...]:
    """Return every open question: by gate, and within a gate the gravest kind first.

    A doubt is closed by withdrawing the reading or by a note about 'entry n', a differing condition
    by a note about the feature: both say why in the record.
    """
    gates = gates_of_features(state)
    found = [
        *_of_fits(state),
        *_of_features(state, gates),
        *_of_gauges(state, gates),
        *_of_topics(state, gates),
    ]
    return tuple(sorted(found, key=lambda q: (_GATES.index(q.gate), _KINDS.index(q.kind))))


def _of_topics(state: State, gates: dict[str, Gate]) -> Iterator[Question]:
    """Yield what the topics ask that this build has; the others are not even loaded."""
    kinds = {type(numbered.entry) for numbered in state.entries}
    if OrderIssued in kinds:
        from bedplate.shop.checkin.questions import order_questions

        yield from order_questions(state, lambda: gates)
    if SelectionMade in kinds:
        from bedplate.shop.selection.outcomes import selection_questions

        yield from selection_questions(state)
    if state.engine.plans:
        from bedplate.shop.fastening import fastening_questions

        yield from fastening_questions(state)
    from bedplate.shop.balance.ledger import balance_questions

    yield from balance_questions(state)


def gates_of_features(state: State) -> dict[str, Gate]:
    """Return, by feature id, the earliest gate that a fit resting on the feature guards."""
    gates: dict[str, Gate] = {}
    for fit in state.fits.values():
        for name in {n for way in fit.fit.ways for n in way.features}:
            earlier = gates.get(name, fit.fit.gate)
            gates[name] = min(earlier, fit.fit.gate, key=_GATES.index)
    return gates


def _of_fits(state: State) -> Iterator[Question]:
    for fit in state.fits.values():
        if fit.accepted or (fit.verdict is Verdict.INSIDE and not fit.stale):
            continue
        yield _of_fit(state, fit)


def _of_fit(state: State, fit: FitState) -> Question:
    name, gate = fit.fit.name, fit.fit.gate
    waiting = ", ".join(_waiting(state.features[n]) for n in fit.missing)
    if fit.lapsed:
        sentence = f"{name}: it was accepted, but what was accepted has changed since."
        return Question(gate, QuestionKind.LAPSED, fit.fit.id, sentence, "Decide again.")
    if fit.stale:
        sentence = f"{name}: stale, {_reworks(state, fit)}."
        return Question(gate, QuestionKind.STALE, fit.fit.id, sentence, f"Measure {waiting} again.")
    if fit.verdict is Verdict.OUTSIDE:
        sentence = f"{name}: outside its limits, {_values(state, fit)}."
        to_do = _first_the_doubt(state, fit)
        to_do = to_do or "Rework or change a part, or accept it by name and reason."
        return Question(gate, QuestionKind.OUTSIDE, fit.fit.id, sentence, to_do)
    if fit.verdict is Verdict.UNDECIDED:
        sentence = f"{name}: too close to call, {_values(state, fit)}."
        return Question(gate, QuestionKind.UNDECIDED, fit.fit.id, sentence, fit.judgement.advice)
    to_do = f"Measure {waiting}." if waiting else "Measure it in two directions and two sections."
    return Question(gate, QuestionKind.NOT_MEASURED, fit.fit.id, f"{name}: not measured.", to_do)


def _first_the_doubt(state: State, fit: FitState) -> str:
    """Return what to answer before a verdict is acted on; '' where no reading under it is asked."""
    asked = [
        str(reading.number)
        for name in fit.rests_on
        for reading in state.features[name].readings
        if open_doubts(state, reading)
    ]
    if not asked:
        return ""
    entries = "entry " + asked[0] if len(asked) == 1 else "entries " + ", ".join(asked)
    return f"First answer what is asked about {entries}: this rests on it."


def open_doubts(state: State, reading: ReadingState) -> tuple[Doubt, ...]:
    """Return the doubts about a reading that nobody has answered: by withdrawal, or by a note."""
    if reading.standing != "counts" or f"entry {reading.number}" in state.notes:
        return ()
    return tuple(doubt for doubt in reading.doubts if doubt.code not in _OF_GAUGES)


def _waiting(feature: FeatureState) -> str:
    """Return a feature's name, with how far it is measured where it is measured in part."""
    asked = len(feature.feature.stations)
    have = len(feature.size.stations) if feature.size else 0
    return (
        f"{feature.feature.name} ({have} of {asked} stations done)"
        if have
        else (feature.feature.name)
    )


def _reworks(state: State, fit: FitState) -> str:
    reasons = dict.fromkeys(
        reading.why
        for name in fit.missing
        for reading in state.features[name].readings[-1:]
        if reading.standing == "stale"
    )
    return ", ".join(reasons) or "a part under it was reworked after it was measured"


def _values(state: State, fit: FitState) -> str:
    extremes = {fit.least: fit.expanded_least, fit.greatest: fit.expanded_greatest}
    shown = [
        show_both(value, Dimension.LENGTH, state.units, uncertainty=expanded)
        for value, expanded in extremes.items()
        if value is not None
    ]
    return " to ".join(dict.fromkeys(shown))


def _of_features(state: State, gates: dict[str, Gate]) -> Iterator[Question]:
    for name, feature in state.features.items():
        gate = gates.get(name, _GATES[-1])
        for reading in feature.readings:
            for doubt in open_doubts(state, reading) if reading.doubts else ():
                yield Question(
                    gate,
                    QuestionKind.DOUBT,
                    f"entry {reading.number}",
                    f"{feature.feature.name}, entry {reading.number}: {doubt.sentence}",
                    "Measure again; withdraw the reading if it was wrong, or note why it is right.",
                )
        if name not in state.notes:
            yield from _of_condition(feature, gate)
            for doubt in feature.doubts:
                to_do = "Find what moves, measure again, or note why it is right."
                yield Question(gate, QuestionKind.DOUBT, name, doubt.sentence, to_do)


def _of_condition(feature: FeatureState, gate: Gate) -> Iterator[Question]:
    wanted = feature.feature.condition
    if not wanted:
        return
    said = {r.condition for r in feature.readings if r.standing == "counts"}
    for condition in sorted(said):
        if plain(condition) == plain(wanted):
            continue
        noted = f"'{condition}'" if condition else "no state noted"
        yield Question(
            gate,
            QuestionKind.CONDITION,
            feature.feature.id,
            f"{feature.feature.name}: measured with {noted}; the limits ask for '{wanted}'.",
            "Measure again in that state, or note why it makes no difference.",
        )


def _of_gauges(state: State, gates: dict[str, Gate]) -> Iterator[Question]:
    first: dict[str, Gate] = {}
    coarse: dict[str, dict[str, None]] = {}
    for name, feature in state.features.items():
        for reading in feature.readings:
            if reading.standing == "counts":
                gate = gates.get(name, _GATES[-1])
                first[reading.gauge] = min(first.get(reading.gauge, gate), gate, key=_GATES.index)
                for doubt in reading.doubts:
                    if doubt.code == "resolution":
                        coarse.setdefault(reading.gauge, {})[doubt.sentence] = None
    for name, gate in first.items():
        gauge = state.gauges.get(name)
        if gauge is None or name in state.notes:
            continue
        for sentence in coarse.get(name, ()):
            to_do = "Measure with a finer gauge, or note why this one will do."
            yield Question(gate, QuestionKind.GAUGE, name, sentence, to_do)
        for doubt in gauge.doubts:
            to_do = "Measure again what may be off, or note why it holds."
            yield Question(gate, QuestionKind.GAUGE, name, doubt.sentence, to_do)
        if gauge.overdue:
            yield Question(
                gate,
                QuestionKind.GAUGE,
                name,
                f"{gauge.gauge.name or name}: its calibration was due on {gauge.gauge.due}.",
                "Have it checked and register the result; readings then rest on the new figures.",
            )
