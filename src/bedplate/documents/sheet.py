"""A blank measuring sheet: to print, to fill by hand, and to type back in the same order."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import groupby

from bedplate.documents import paper
from bedplate.documents.paper import Tree, both, both_range, within
from bedplate.documents.where_picture import where_picture
from bedplate.engine.fits import FitForm
from bedplate.engine.model import Engine, Feature, Station
from bedplate.shop.model import FeatureState, FitState, PlanGroup, PlanStep, State

_ON_ONE_LINE = 16
"""Characters of a feature's name that surely fit on one line."""
_CALLED_BY_NAME = {"own", "press", "clearance"}
"""Kinds of fit that do not say which surfaces they are of."""
_ON_TWO_LINES = 40
"""Characters of a station's name that surely fit on the two lines of a row."""


def measuring_sheet(state: State) -> bytes:
    """Return the measuring sheet as PDF/A-3, in the plan's order.

    :raises BedplateError: the page could not be set
    """
    last = state.entries[-1].entry.at if state.entries else ""
    return paper.typeset("sheet.typ", contents(state), at=paper.moment(last))


def contents(state: State) -> Tree:
    """Return everything the template sets, as text and drawings."""
    pictures = _Pictures(state.engine)
    return {
        "head": paper.heading(state),
        "units": state.units.value,
        "front": state.engine.layout.front,
        "groups": [_group(group, state, pictures) for group in state.plan],
        "pictures": pictures.drawn,
    }


@dataclass(slots=True)
class _Pictures:
    """Where-pictures, each drawn once: the same place on features of one kind looks the same."""

    engine: Engine
    drawn: list[Tree] = field(default_factory=list)
    known: dict[tuple[str, int, str], int] = field(default_factory=dict)

    def index(self, feature: Feature, station: Station) -> int:
        like = feature.name if feature.kind == "own" else feature.kind
        key = like, len(feature.stations), station.id
        if key not in self.known:
            self.known[key] = len(self.drawn)
            alt = f"where: {station.name}" if station.name else "where"
            self.drawn.append(paper.drawing(where_picture(feature, station, self.engine), alt))
        return self.known[key]


def _group(group: PlanGroup, state: State, pictures: _Pictures) -> Tree:
    features = [
        (name, list(steps)) for name, steps in groupby(group.steps, key=lambda step: step.feature)
    ]
    limits = [_limits(steps, state) for _, steps in features]
    shared = [line for line in limits[0] if all(line in own for own in limits)] if limits else []
    setting = None if group.setting is None else " = ".join(both(group.setting, state.units))
    return {
        "title": group.title,
        "gauge": group.gauge_kind,
        "gauges": ", ".join(group.gauges),
        "condition": group.condition,
        "setting": setting,
        "limits": shared,
        "features": [
            _feature(
                state.features[name],
                steps,
                [line for line in own if line not in shared],
                pictures,
            )
            for (name, steps), own in zip(features, limits, strict=True)
        ],
    }


def _limits(steps: list[PlanStep], state: State) -> list[list[str]]:
    """Return what the readings serve, by kind, with the limits in both units."""
    names = dict.fromkeys(name for step in steps for name in step.serves)
    found: dict[tuple[str, str, str], None] = {}
    for name in names:
        fit = state.fits[name]
        for limit in fit.fit.limits:
            first, second = both_range(limit.range.low, limit.range.high, state.units)
            found[_spoken(fit) + within(limit, state.units), first, second] = None
    return [list(one) for one in found]


def _spoken(fit: FitState) -> str:
    own = fit.fit.kind in _CALLED_BY_NAME
    kind = fit.fit.name.removesuffix(fit.fit.number).rstrip() if own else fit.fit.kind
    return f"{kind}, size" if fit.fit.form is FitForm.SIZE and fit.fit.sense == "size" else kind


def _feature(
    state: FeatureState, steps: list[PlanStep], limits: list[list[str]], pictures: _Pictures
) -> Tree:
    stations = {station.id: station for station in state.feature.stations}
    return {
        "name": state.feature.name,
        "limits": limits,
        "tall": len(steps) == 1 and (bool(limits) or len(state.feature.name) > _ON_ONE_LINE),
        "rows": [
            {
                "picture": pictures.index(state.feature, stations[step.station]),
                "station": stations[step.station].name,
                "boxes": max(1, min(3, step.needed - step.done)),
                "taken": step.done,
                "tall": len(stations[step.station].name) > _ON_TWO_LINES,
            }
            for step in steps
            if step.station in stations
        ],
    }
