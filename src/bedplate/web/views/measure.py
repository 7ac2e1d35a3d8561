"""The measuring page: one prompt at a time."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from bedplate.documents.looks import fits_on
from bedplate.documents.station import station_picture
from bedplate.engine.model import Feature, Station
from bedplate.metrology import Verdict
from bedplate.quantity import words
from bedplate.record.entries import Numbered, Reading
from bedplate.shop.model import FitState, GaugeState, PlanGroup, ReadingState, State
from bedplate.shop.questions import open_doubts
from bedplate.shop.sentences import in_both
from bedplate.shop.stations import (
    Standing,
    StationStep,
    is_set_far,
    last_condition,
    name_at,
    stand_at,
    stations_done,
)
from bedplate.web.views.common import FitView, both, fit_view, length, when

REASONS = (
    "wrong station",
    "typed wrong",
    "gauge not square",
    "part not clean",
    "gauge had moved",
)
"""Reasons for taking a value back, offered so that none need be typed."""


@dataclass(frozen=True, slots=True)
class GaugeChoice:
    """A gauge that may be taken to it.

    :param far: it is set to another size than the feature is expected to have
    """

    id: str
    name: str
    kind: str
    comparator: bool
    reads_in: str
    setting: str
    far: bool
    fits: bool


@dataclass(frozen=True, slots=True)
class PastReading:
    """A reading taken before, newest first."""

    number: int
    id: str
    place: str
    station: str
    here: bool
    text: str
    size: str
    at: str
    by: str
    gauge: str
    standing: str
    why: str
    doubts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """What the last reading said."""

    number: int
    place: tuple[str, str]
    name: str
    echo: str
    words: str
    size: str
    doubts: tuple[str, ...]
    fits: tuple[FitView, ...]
    hash: str


@dataclass(frozen=True, slots=True)
class Prompt:
    """Everything on the page."""

    feature: Feature
    station: Station
    walk: Standing
    done: int
    again: str
    picture: Markup
    nominal: str
    gauges: tuple[GaugeChoice, ...]
    gauge: GaugeChoice | None
    setting_size: str
    set_on: tuple[GaugeChoice, ...]
    condition: str
    last_condition: str
    last_temperatures: tuple[str, str]
    past: tuple[PastReading, ...]
    fits: tuple[FitView, ...]
    answer: Answer | None
    taken_back: str


def prompt(state: State, feature: str, station: str, gauge: str, entry: str) -> Prompt:
    """Return the page for a station; without one, for the next in the plan.

    :raises NotFoundError: there is no such feature or station
    """
    walk = stand_at(state, feature, station)
    known = state.features[walk.here.feature].feature
    where = next(s for s in known.stations if s.id == walk.here.station)
    group = next((g for g in state.plan if any(s.feature == known.id for s in g.steps)), None)
    last = _last_reading(state)
    choices = _choices(state, known, group)
    chosen = _chosen(choices, gauge, state.features[known.id].readings, last)
    nominal = group.setting if group and group.setting else known.nominal
    resting = fits_on(state)[known.id]
    return Prompt(
        feature=known,
        station=where,
        walk=walk,
        done=stations_done(walk.steps)[0],
        again=_again(walk.here, resting),
        picture=Markup(station_picture(known, where, state.engine)),  # noqa: S704 - our own drawing
        nominal=both(known.nominal, state.units) if known.nominal is not None else "",
        gauges=choices,
        gauge=chosen,
        setting_size="" if nominal is None else length(nominal, state.units),
        set_on=tuple(
            c
            for c in _all_gauges(state, known)
            if not c.comparator and c.kind.endswith("micrometer")
        ),
        condition=known.condition,
        last_condition=last_condition(state, known),
        last_temperatures=_temperatures(last),
        past=_past(state, known, where),
        fits=tuple(fit_view(fit, state.units) for fit in resting),
        answer=_answer(state, entry),
        taken_back=_taken_back(state, entry),
    )


def _again(here: StationStep, resting: list[FitState]) -> str:
    """Return why a station that was read is asked for again; '' where it is not."""
    if not here.again:
        return ""
    unsure = [fit.fit.name for fit in resting if fit.verdict is Verdict.UNDECIDED]
    close = f": {unsure[0]} is too close to call" if unsure else ""
    return f"Reading {here.done + 1} of {here.needed} here{close}."


def _last_reading(state: State) -> Reading | None:
    for numbered in reversed(state.entries):
        if isinstance(numbered.entry, Reading):
            return numbered.entry
    return None


def _temperatures(last: Reading | None) -> tuple[str, str]:
    if last is None:
        return "", ""
    part, gauge = last.part_temperature, last.gauge_temperature
    return part.text if part else "", gauge.text if gauge else ""


def _choices(state: State, feature: Feature, group: PlanGroup | None) -> tuple[GaugeChoice, ...]:
    wanted = list(group.gauges) if group else []
    every = _all_gauges(state, feature)
    every.sort(key=lambda c: (c.id not in wanted, wanted.index(c.id) if c.id in wanted else 0))
    return tuple(every)


def _all_gauges(state: State, feature: Feature) -> list[GaugeChoice]:
    return [_choice(held, feature, state) for held in state.gauges.values()]


def _choice(held: GaugeState, feature: Feature, state: State) -> GaugeChoice:
    gauge, setting = held.gauge, ""
    if held.setting is not None:
        on = held.setting.on_gauge or held.setting.master or "a master"
        setting = f"Set in {on} to {both(held.setting.size.si, state.units)}"
        setting += f" (entry {held.setting_number})."
    return GaugeChoice(
        gauge.gauge,
        gauge.name or gauge.gauge,
        gauge.gauge_kind,
        gauge.comparator,
        gauge.reads_in,
        setting,
        held.setting is not None and is_set_far(held.setting.size.si, feature.nominal),
        gauge.gauge_kind == feature.gauge,
    )


def _chosen(
    choices: tuple[GaugeChoice, ...],
    asked: str,
    readings: tuple[ReadingState, ...],
    last: Reading | None,
) -> GaugeChoice | None:
    by_id = {choice.id: choice for choice in choices}
    if asked in by_id:
        return by_id[asked]
    for reading in reversed(readings):
        if reading.gauge in by_id:
            return by_id[reading.gauge]
    fitting = [choice for choice in choices if choice.fits]
    if last is not None:
        for choice in fitting:
            if choice.id == last.gauge:
                return choice
    return fitting[0] if fitting else None


def _past(state: State, feature: Feature, station: Station) -> tuple[PastReading, ...]:
    names = {s.id: s.name for s in feature.stations}
    readings = [
        past_reading(state, r, names, station.id) for r in state.features[feature.id].readings
    ]
    return tuple(sorted(readings, key=lambda r: (not r.here, -r.number)))


def past_reading(
    state: State, reading: ReadingState, names: dict[str, str], here: str
) -> PastReading:
    """Return a reading, ready to be printed."""
    return PastReading(
        number=reading.number,
        id=reading.id,
        place=reading.station,
        station=names.get(reading.station, reading.station),
        here=reading.station == here,
        text=reading.text,
        size=both(reading.size, state.units),
        at=when(reading.at),
        by=reading.by,
        gauge=reading.gauge,
        standing=reading.standing,
        why=reading.why,
        doubts=tuple(d.sentence for d in open_doubts(state, reading)),
    )


def _answer(state: State, entry: str) -> Answer | None:
    """Return what an entry said, if it is a reading of this build."""
    numbered = _reading_of(state, entry)
    return None if numbered is None else _said(state, *numbered)


def _taken_back(state: State, entry: str) -> str:
    """Return that an entry was withdrawn, and why; '' if it is no such reading."""
    numbered = _reading_of(state, entry)
    if numbered is None:
        return ""
    number, taken = numbered[0].number, numbered[1]
    reading = next((r for r in state.features[taken.feature].readings if r.number == number), None)
    if reading is None or reading.standing != "withdrawn":
        return ""
    return f"Entry {number}, {taken.value.text}, is taken back: {reading.why}. Measure it again."


def _reading_of(state: State, entry: str) -> tuple[Numbered, Reading] | None:
    if not entry.isdecimal() or not 0 < int(entry[:9]) <= len(state.entries):
        return None
    numbered = state.entries[int(entry[:9]) - 1]
    taken = numbered.entry
    known = isinstance(taken, Reading) and taken.feature in state.features
    return (numbered, taken) if known and isinstance(taken, Reading) else None


def _said(state: State, numbered: Numbered, entry: Reading) -> Answer | None:
    feature = state.features[entry.feature]
    reading = next((r for r in feature.readings if r.id == entry.id), None)
    if reading is None or reading.standing != "counts":
        return None
    resting = fits_on(state)[entry.feature]
    return Answer(
        number=numbered.number,
        place=(entry.feature, entry.station),
        name=name_at(feature.feature, entry.station),
        echo=in_both(entry.value.si, state.units, signed=bool(entry.setting)),
        words=words(entry.value.si, state.units),
        size="" if entry.setting == "" else both(reading.size, state.units),
        doubts=tuple(d.sentence for d in open_doubts(state, reading)),
        fits=tuple(fit_view(fit, state.units) for fit in resting if fit.value is not None),
        hash=numbered.hash[:12],
    )
