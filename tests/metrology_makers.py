"""Gauges, settings, readings and features for the tests of measuring; every figure is invented."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import radians
from typing import Any

from bedplate.engine.features import Per, Shape
from bedplate.engine.model import Feature, Material, Measuring, Station
from bedplate.metrology import Bench, Size, size_of
from bedplate.quantity import Dimension, parse
from bedplate.record.entries import ComparatorSet, GaugeRegistered, Reading, Typed

HEADER = {"id": "0" * 32, "at": "2026-11-25T07:00:00.000Z", "by": "tester"}
AS_FOUND = Measuring(coverage=2.0, reduce=False, temperature_uncertainty=0.5)
REDUCED = Measuring(coverage=2.0, reduce=True, temperature_uncertainty=0.5)
IRON = Material("grey iron", 11e-6, 0.5e-6, "test")


def typed(text: str, dimension: Dimension | None = None) -> Typed:
    return Typed(text=text, si=parse(text, dimension).value)


def gauge(name: str = "mic", *, comparator: bool = False, **changes: Any) -> GaugeRegistered:
    """Make a gauge; texts become typed quantities."""
    facts: dict[str, Any] = {
        "gauge_kind": "bore gauge" if comparator else "outside micrometer",
        "name": name,
        "resolution": "0.001 mm",
        "expanded_uncertainty": "0.003 mm",
        "repeatability": "0.001 mm",
        **changes,
    }
    quantities = ("resolution", "expanded_uncertainty", "repeatability", "bias", "dial_turn",
                  "expansion")  # fmt: skip
    facts |= {k: typed(facts[k]) for k in quantities if isinstance(facts.get(k), str)}
    return GaugeRegistered(**HEADER, gauge=name, comparator=comparator, **facts)


def setting(name: str, size: str, **changes: Any) -> ComparatorSet:
    facts = dict(changes)
    for key in ("size_uncertainty", "found", "temperature"):
        if key in facts:
            facts[key] = typed(facts[key])
    return ComparatorSet(**HEADER, gauge=name, size=typed(size), **facts)


def reading(value: str, *, by: str = "mic", station: str = "a", **changes: Any) -> Reading:
    facts = dict(changes)
    for key in ("part_temperature", "gauge_temperature"):
        if key in facts:
            facts[key] = typed(facts[key], Dimension.TEMPERATURE)
    feature = facts.pop("feature", "journal")
    return Reading(
        **HEADER, feature=feature, station=station, gauge=by, value=typed(value), **facts
    )


def station(
    name: str = "a", section: str = "", direction: str = "", degrees: float | None = None,
    depth: float | None = None,
) -> Station:  # fmt: skip
    angle = None if degrees is None else radians(degrees)
    return Station(name, name, section, direction, angle, depth)


def feature(name: str = "journal", stations: Iterable[Station] = (), **changes: Any) -> Feature:
    facts: dict[str, Any] = {
        "kind": "main journal", "per": Per.MAIN, "number": "1", "name": name, "part": "crank",
        "shape": Shape.SHAFT, "gauge": "outside micrometer", "material": "", "nominal": None,
        "play": None, "condition": "", **changes,
    }  # fmt: skip
    return Feature(id=name, stations=tuple(stations) or (station(),), **facts)


def bench(
    gauges: Sequence[GaugeRegistered],
    settings: Sequence[ComparatorSet] = (),
    measuring: Measuring = AS_FOUND,
    materials: Sequence[Material] = (),
) -> Bench:
    """Make a bench: gauges are entries 1, 2, …; settings are 11, 12, … and named s1, s2, …"""
    return Bench(
        measuring,
        {material.name: material for material in materials},
        list(enumerate(gauges, 1)),
        [(10 + n, f"s{n}", entry) for n, entry in enumerate(settings, 1)],
    )


def measured(held: Bench, of: Feature, readings: Sequence[Reading], first: int = 31) -> Size:
    """Return the size of a feature from readings, which are entries `first`, `first` + 1, …"""
    return size_of(
        of,
        [(n, entry.station, held.measure(n, entry, of)) for n, entry in enumerate(readings, first)],
    )
