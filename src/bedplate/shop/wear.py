"""What wore since the previous build: the same stations, old and new."""

from __future__ import annotations

from bedplate.engine import Feature
from bedplate.metrology import Size
from bedplate.shop.model import FeatureState, State


def wear_of(
    feature: Feature, size: Size | None, previous: State | None
) -> tuple[float | None, str]:
    """Return how far a feature's mean moved since the previous build, and a note on that.

    :returns: m, new less old over the stations that both builds measured, None if there are none;
        and a sentence on how the two compare, '' otherwise
    """
    before = previous.features.get(feature.id) if previous else None
    if size is None or before is None or before.size is None:
        return None, ""
    old = {s.station: float(s.value.nominal_value) for s in before.size.stations}
    pairs = [
        (float(s.value.nominal_value), old[s.station]) for s in size.stations if s.station in old
    ]
    if not pairs:
        return None, "The previous build measured other stations."
    moved = sum(now - then for now, then in pairs) / len(pairs)
    return moved, _note(before, len(pairs), len(size.stations))


def _note(before: FeatureState, both: int, now: int) -> str:
    gauges = sorted({r.gauge for r in before.readings if r.standing == "counts"})
    note = f"Previous build measured with {', '.join(gauges)}."
    return note if both == now else f"{note} Only {both} of {now} stations are in both."
