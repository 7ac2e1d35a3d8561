"""Sizes as an order needs them: at 20 °C, rounded to a step, measured late enough."""

from __future__ import annotations

from math import floor

from bedplate.metrology.temperature import REFERENCE
from bedplate.record.entries import Reading
from bedplate.shop.model import FeatureState, State


def at_reference(state: State, feature: FeatureState) -> float | None:
    """Return a feature's mean size at 20 °C, m: as measured where no temperature was noted."""
    if feature.size is None:
        return None
    return float(feature.size.mean.nominal_value) + moved(state, feature)


def moved(state: State, feature: FeatureState) -> float:
    """Return how far a feature's size is still to be moved to be that at 20 °C, m."""
    return 0.0 if state.engine.measuring.reduce else feature.reduction or 0.0


def rounded(size: float, step: float | None) -> float:
    """Return a size rounded to the nearest step, halves up, as an exact multiple of it.

    :param size: m
    :param step: m, None to leave the size as it is
    :returns: m
    """
    if not step:
        return size
    return floor(size / step + 0.5 + 1e-9) * step


_NEAR = 1.0
"""K: a part nearer to 20 °C than this is at 20 °C (common practice, no source)."""


def warm_words(state: State, held: FeatureState) -> str:
    """Return the temperature of a part that its size cannot be reduced from, '' if there is none.

    A gauge whose expansion nobody knows leaves a warm part's size at 20 °C unknown.
    """
    if held.reduction is not None:
        return ""
    for reading in held.readings:
        entry = state.entries[reading.number - 1].entry
        if reading.standing != "counts" or not isinstance(entry, Reading):
            continue
        temperature = entry.part_temperature
        if temperature is not None and abs(temperature.si - REFERENCE) > _NEAR:
            return temperature.text
    return ""


def measured_after(held: FeatureState, number: int) -> bool:
    """Tell whether a feature was measured after an entry."""
    return held.size is not None and all(
        reading > number for station in held.size.stations for reading in station.readings
    )


def middle_of(low: float | None, high: float | None) -> float | None:
    """Return the middle of two limits, None where one of them is open."""
    return None if low is None or high is None else (low + high) / 2
