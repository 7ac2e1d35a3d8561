"""What to measure, in an order that sets each gauge up once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from bedplate.engine import FEATURE_KINDS, Feature, Gate, Shape, Station
from bedplate.metrology import Verdict
from bedplate.shop.model import FeatureState, FitState, GaugeState, PlanGroup, PlanStep
from bedplate.wording import capital

_Key = tuple[int, int, int, str, str, float | None]
"""Gate, 0 for what comes first, order of the kind, its name, the condition, the nominal size of a
setting in m."""

_GATES = list(Gate)
_ORDER = {name: index for index, name in enumerate(FEATURE_KINDS)}


def plan_of(
    features: Mapping[str, FeatureState],
    fits: Mapping[str, FitState],
    gauges: Mapping[str, GaugeState],
    known: dict[str, tuple[PlanStep, ...]] | None = None,
) -> tuple[PlanGroup, ...]:
    """Group the stations by gate, kind and setting, in the order of the work.

    A feature is asked for if a fit uses it in the way that the fit is, or would be, worked out.
    Stations already measured stay in the plan with their count, so that a printed sheet is whole.

    :param known: steps by feature that still hold; those that are worked out are added to it
    """
    serves: dict[str, list[FitState]] = {}
    for fit in fits.values():
        for name in fit.rests_on:
            serves.setdefault(name, []).append(fit)
    held = {} if known is None else known
    groups: dict[_Key, list[PlanStep]] = {}
    for name, feature in features.items():
        if name in serves:
            if name not in held:
                held[name] = _steps(feature, serves[name])
            groups.setdefault(_key(feature.feature, serves[name]), []).extend(held[name])
    return tuple(_group(key, groups[key], gauges) for key in sorted(groups, key=_sortable))


def wanted_steps(
    plan: Sequence[PlanGroup], at: tuple[str, str] | None = None
) -> Iterator[tuple[PlanGroup, PlanStep]]:
    """Yield the readings of a plan that are still wanted, in the order to take them.

    In a group every station is read once, in the order of the sheet, before any is read again: a
    second reading is then made with the gauge taken away and brought back, and whoever types from
    a list is not asked for a station twice running.

    :param at: feature and station just read: the walk goes on behind it, and what lies before
        comes last
    """
    groups = list(plan)
    start = next((i for i, g in enumerate(groups) if at and at in _places(g)), 0)
    for group in groups[start:] + groups[:start]:
        steps = list(group.steps)
        places = _places(group)
        behind = places.index(at) + 1 if at in places else 0
        ahead = [s for s in steps[behind:] + steps[:behind] if s.done < s.needed]
        yield from ((group, step) for step in sorted(ahead, key=lambda step: step.done))


def next_step(
    plan: Sequence[PlanGroup], at: tuple[str, str] | None = None
) -> tuple[PlanGroup, PlanStep] | None:
    """Return the first reading of a plan that is still wanted, with its group.

    :param at: feature and station just read, as `wanted_steps` takes it
    """
    return next(wanted_steps(plan, at), None)


def _places(group: PlanGroup) -> list[tuple[str, str]]:
    return [(step.feature, step.station) for step in group.steps]


def _key(feature: Feature, fits: list[FitState]) -> _Key:
    gate = min(_GATES.index(f.fit.gate) for f in fits)
    setting = feature.nominal if feature.gauge == "bore gauge" else None
    kind = feature.kind if feature.kind in FEATURE_KINDS else feature.id.rstrip("-0123456789")
    order = _ORDER.get(feature.kind, len(_ORDER))
    return gate, _measured_first(feature), order, kind, feature.condition, setting


def _sortable(key: _Key) -> tuple[int, int, str, str, float]:
    gate, first, order, kind, condition, setting = key
    return (
        gate,
        first,
        kind if order == len(_ORDER) else f"{order:03}",
        condition,
        (setting or 0.0),
    )


def _measured_first(feature: Feature) -> int:
    """Journals, pins and pistons come first: the bore gauge is set in their micrometer."""
    return 0 if feature.shape is Shape.SHAFT else 1


def _steps(feature: FeatureState, fits: list[FitState]) -> tuple[PlanStep, ...]:
    done: dict[str, int] = {}
    for reading in feature.readings:
        if reading.standing == "counts":
            done[reading.station] = done.get(reading.station, 0) + 1
    more = max((f.judgement.readings_needed or 0 for f in fits if _asks_more(f)), default=0)
    least = min((done.get(s.id, 0) for s in feature.feature.stations), default=0)
    return tuple(
        _step(feature.feature, station, fits, done.get(station.id, 0), max(1, least + more))
        for station in feature.feature.stations
    )


def _asks_more(fit: FitState) -> bool:
    return fit.verdict is Verdict.UNDECIDED and not fit.accepted


def _step(
    feature: Feature, station: Station, fits: list[FitState], done: int, needed: int
) -> PlanStep:
    return PlanStep(
        feature=feature.id,
        station=station.id,
        gauge_kind=feature.gauge,
        condition=feature.condition,
        serves=tuple(f.fit.id for f in fits),
        done=done,
        needed=needed,
    )


def _group(key: _Key, steps: list[PlanStep], gauges: Mapping[str, GaugeState]) -> PlanGroup:
    *_, kind, condition, setting = key
    gauge_kind = steps[0].gauge_kind
    title = capital(kind)
    return PlanGroup(
        title=title.replace("-", " "),
        gauge_kind=gauge_kind,
        condition=condition,
        setting=setting,
        gauges=_gauges(gauges, gauge_kind),
        steps=tuple(steps),
    )


def _gauges(gauges: Mapping[str, GaugeState], kind: str) -> tuple[str, ...]:
    fitting = [g for g in gauges.values() if g.gauge.gauge_kind == kind]
    fitting.sort(key=lambda g: -max(g.number, g.setting_number or 0))
    return tuple(g.gauge.gauge for g in fitting)
