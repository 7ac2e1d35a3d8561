"""The measuring page: one prompt at a time."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from bedplate.documents.looks import fits_on
from bedplate.documents.station import station_picture
from bedplate.engine.model import Feature, Station
from bedplate.errors import NotFoundError
from bedplate.quantity import words
from bedplate.record.entries import Numbered, Reading
from bedplate.shop.model import GaugeState, PlanGroup, ReadingState, State
from bedplate.shop.plan import next_step
from bedplate.web.views.common import FitView, both, deviation, fit_view, length, when

REASONS = (
    "wrong station",
    "typed wrong",
    "gauge not square",
    "part not clean",
    "gauge had moved",
)
"""Reasons for taking a value back, offered so that none need be typed."""


@dataclass(frozen=True, slots=True)
class Step:
    """One station of the plan, in its order.

    :param url: query that leads to it
    """

    feature: str
    station: str
    name: str
    part: str
    done: int
    needed: int
    group: str

    @property
    def query(self) -> str:
        """Return the end of its address."""
        return f"feature={self.feature}&station={self.station}"


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
    title: str
    group: str
    picture: Markup
    nominal: str
    place: int
    places: int
    done: int
    previous: Step | None
    following: Step | None
    skip: Step | None
    steps: tuple[Step, ...]
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
    finished: bool


def steps_of(state: State) -> tuple[Step, ...]:
    """Return the plan as one line of stations, and after it the features no fit asks for."""
    steps = [
        _step(state, step.feature, step.station, step.done, step.needed, group.title)
        for group in state.plan
        for step in group.steps
    ]
    planned = {step.feature for step in steps}
    for name, feature in state.features.items():
        if name not in planned:
            steps.extend(
                _step(state, name, station.id, 0, 0, "Not in the plan")
                for station in feature.feature.stations
            )
    return tuple(steps)


def _step(state: State, feature: str, station: str, done: int, needed: int, group: str) -> Step:
    known = state.features[feature].feature
    where = next(s for s in known.stations if s.id == station)
    name = f"{known.name}, {where.name}" if where.name else known.name
    return Step(feature, station, name, known.part, done, needed, group)


def prompt(state: State, feature: str, station: str, gauge: str, entry: str) -> Prompt:
    """Return the page for a station; without one, for the next in the plan.

    :raises NotFoundError: there is no such feature or station
    """
    steps = steps_of(state)
    place, finished = _place(state, steps, feature, station)
    here = steps[place]
    known = state.features[here.feature].feature
    where = next(s for s in known.stations if s.id == here.station)
    group = next((g for g in state.plan if any(s.feature == known.id for s in g.steps)), None)
    last = _last_reading(state)
    choices = _choices(state, known, group)
    chosen = _chosen(choices, gauge, state.features[here.feature].readings, last)
    after = steps[place + 1 :] + steps[:place]
    skipping = next((s for s in after if s.done < s.needed and s.feature != known.id), None)
    nominal = group.setting if group and group.setting else known.nominal
    resting = fits_on(state)[known.id]
    return Prompt(
        feature=known,
        station=where,
        title=here.name,
        group=here.group,
        picture=Markup(station_picture(known, where, state.engine)),  # noqa: S704 - our own drawing
        nominal=both(known.nominal, state.units) if known.nominal is not None else "",
        place=place + 1,
        places=len(steps),
        done=sum(s.done >= s.needed for s in steps if s.needed),
        previous=steps[place - 1] if place else None,
        following=steps[place + 1] if place + 1 < len(steps) else None,
        skip=skipping,
        steps=tuple(s for s in steps if s.group == here.group),
        gauges=choices,
        gauge=chosen,
        setting_size="" if nominal is None else length(nominal, state.units),
        set_on=tuple(
            c
            for c in _all_gauges(state, known)
            if not c.comparator and c.kind.endswith("micrometer")
        ),
        condition=known.condition,
        last_condition=_last_condition(state, known),
        last_temperatures=_temperatures(last),
        past=_past(state, known, where),
        fits=tuple(fit_view(fit, state.units) for fit in resting),
        answer=_answer(state, entry),
        finished=finished,
    )


def _place(state: State, steps: tuple[Step, ...], feature: str, station: str) -> tuple[int, bool]:
    if not steps:
        sentence = "This engine file has nothing to measure."
        raise NotFoundError(sentence, hint="Add fits or features to the engine file.")
    if not feature:
        found = next_step(state.plan)
        if found is None:
            return 0, True
        feature, station = found[1].feature, found[1].station
    matching = [i for i, s in enumerate(steps) if s.feature == feature]
    if not matching:
        sentence = f"This engine has no feature '{feature[:80]}'."
        raise NotFoundError(sentence, hint="The stand shows every feature it has.")
    if station:
        exact = [i for i in matching if steps[i].station == station]
        if not exact:
            sentence = f"{state.features[feature].feature.name} has no station '{station[:80]}'."
            raise NotFoundError(sentence)
        return exact[0], False
    waiting = [i for i in matching if steps[i].done < max(steps[i].needed, 1)]
    return (waiting or matching)[0], False


def _last_reading(state: State) -> Reading | None:
    for numbered in reversed(state.entries):
        if isinstance(numbered.entry, Reading):
            return numbered.entry
    return None


def _last_condition(state: State, feature: Feature) -> str:
    """Return the state noted last with a feature of this kind."""
    for numbered in reversed(state.entries):
        entry = numbered.entry
        if not isinstance(entry, Reading) or entry.feature not in state.features:
            continue
        if state.features[entry.feature].feature.kind == feature.kind:
            return entry.condition
    return ""


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
        held.setting is not None and _is_far(held.setting.size.si, feature.nominal),
        gauge.gauge_kind == feature.gauge,
    )


def _is_far(setting: float, nominal: float | None) -> bool:
    return nominal is not None and abs(setting - nominal) > 0.01 * abs(nominal)


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
        station=names.get(reading.station, reading.station),
        here=reading.station == here,
        text=reading.text,
        size=both(reading.size, state.units),
        at=when(reading.at),
        by=reading.by,
        gauge=reading.gauge,
        standing=reading.standing,
        why=reading.why,
        doubts=tuple(d.sentence for d in reading.doubts),
    )


def _answer(state: State, entry: str) -> Answer | None:
    """Return what an entry said, if it is a reading of this build."""
    if not entry.isdecimal() or not 0 < int(entry[:9]) <= len(state.entries):
        return None
    numbered = state.entries[int(entry[:9]) - 1]
    if not isinstance(numbered.entry, Reading):
        return None
    return _said(state, numbered, numbered.entry)


def _said(state: State, numbered: Numbered, entry: Reading) -> Answer | None:
    feature = state.features[entry.feature]
    reading = next((r for r in feature.readings if r.id == entry.id), None)
    if reading is None or reading.standing != "counts":
        return None
    where = next((s for s in feature.feature.stations if s.id == entry.station), None)
    name = feature.feature.name
    resting = fits_on(state)[entry.feature]
    return Answer(
        number=numbered.number,
        name=f"{name}, {where.name}" if where and where.name else name,
        echo=deviation(entry.value.si, state.units),
        words=words(entry.value.si, state.units),
        size="" if entry.setting == "" else both(reading.size, state.units),
        doubts=tuple(d.sentence for d in reading.doubts),
        fits=tuple(fit_view(fit, state.units) for fit in resting if fit.value is not None),
        hash=numbered.hash[:12],
    )
