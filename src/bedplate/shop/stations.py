"""The plan as a walk: one station after the other, and where a walk stands."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.engine import Feature
from bedplate.errors import NotFoundError
from bedplate.record.entries import Reading
from bedplate.shop.model import PlanStep, State
from bedplate.shop.plan import next_step

_FAR = 0.01
"""A bore gauge works over about its own travel: set more than this part of the size away, it must
be set again. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class StationStep:
    """One station of the walk.

    :param name: of feature and station, as they are asked for
    :param needed: readings that the plan wants there, 0 outside the plan
    :param group: the group of the plan it belongs to
    """

    feature: str
    station: str
    name: str
    part: str
    done: int
    needed: int
    group: str

    @property
    def wanted(self) -> bool:
        """Whether the plan still wants a reading here."""
        return self.done < self.needed

    @property
    def again(self) -> bool:
        """Whether it was read already and is wanted once more, to decide what was too close."""
        return self.wanted and self.done > 0


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a walk stands.

    :param place: of the station in `steps`, from 0
    :param finished: the plan wants nothing more; the place is then the first
    """

    steps: tuple[StationStep, ...]
    place: int
    finished: bool

    @property
    def here(self) -> StationStep:
        """Return the station it stands at."""
        return self.steps[self.place]

    @property
    def previous(self) -> StationStep | None:
        """Return the station before."""
        return self.steps[self.place - 1] if self.place else None

    @property
    def following(self) -> StationStep | None:
        """Return the station after."""
        return self.steps[self.place + 1] if self.place + 1 < len(self.steps) else None

    @property
    def skip(self) -> StationStep | None:
        """Return the next station of another feature that wants a reading."""
        after = self.steps[self.place + 1 :] + self.steps[: self.place]
        return next((s for s in after if s.wanted and s.feature != self.here.feature), None)

    @property
    def group(self) -> tuple[StationStep, ...]:
        """Return the stations of this group."""
        return tuple(step for step in self.steps if step.group == self.here.group)


def station_steps(state: State) -> tuple[StationStep, ...]:
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


def step_of(steps: tuple[StationStep, ...], planned: PlanStep) -> StationStep:
    """Return a step of the plan as a station of the walk."""
    return next(s for s in steps if (s.feature, s.station) == (planned.feature, planned.station))


def stations_done(steps: tuple[StationStep, ...]) -> tuple[int, int]:
    """Return how many stations have the readings the plan wants, and how many it asks for."""
    planned = [step for step in steps if step.needed]
    return sum(not step.wanted for step in planned), len(planned)


def stand_at(state: State, feature: str = "", station: str = "") -> Standing:
    """Return the walk at a station; of a feature alone, at its first open one.

    :raises NotFoundError: there is no such feature or station, or nothing to measure
    """
    steps = station_steps(state)
    if not steps:
        sentence = "This engine file has nothing to measure."
        raise NotFoundError(sentence, hint="Add fits or features to the engine file.")
    if not feature:
        found = next_step(state.plan)
        if found is None:
            return Standing(steps, 0, finished=True)
        feature, station = found[1].feature, found[1].station
    matching = [i for i, s in enumerate(steps) if s.feature == feature]
    if not matching:
        sentence = f"This engine has no feature '{feature[:80]}'."
        raise NotFoundError(sentence, hint="The stand shows every feature it has.")
    if station:
        exact = [i for i in matching if steps[i].station == station]
        if not exact:
            sentence = f"{state.features[feature].feature.name} has no station '{station[:80]}'."
            raise NotFoundError(sentence, hint="The measuring page lists those it has.")
        return Standing(steps, exact[0], finished=False)
    waiting = [i for i in matching if steps[i].done < max(steps[i].needed, 1)]
    return Standing(steps, (waiting or matching)[0], finished=False)


def is_set_far(setting: float, nominal: float | None) -> bool:
    """Whether a comparator is set too far from a size to be used there.

    Common practice, no source.

    :param setting: size it is set to, m
    :param nominal: size expected, m; None if it is not known, and then nothing is said
    :return: True beyond one part in a hundred of the size
    """
    return nominal is not None and abs(setting - nominal) > _FAR * abs(nominal)


def last_condition(state: State, feature: Feature) -> str:
    """Return the state of the parts noted last where the same state was asked for.

    Where a feature asks for none, none is offered: what was true of other parts says nothing.
    """
    if not feature.condition:
        return ""
    for numbered in reversed(state.entries):
        entry = numbered.entry
        if not isinstance(entry, Reading) or entry.feature not in state.features:
            continue
        if state.features[entry.feature].feature.condition == feature.condition:
            return entry.condition
    return ""


def _step(
    state: State, feature: str, station: str, done: int, needed: int, group: str
) -> StationStep:
    known = state.features[feature].feature
    return StationStep(feature, station, name_at(known, station), known.part, done, needed, group)


def name_at(feature: Feature, station: str) -> str:
    """Return a feature's name with that of one of its stations, as it is asked for."""
    where = next((s.name for s in feature.stations if s.id == station), "")
    return f"{feature.name}, {where}" if where else feature.name
