"""What was read of a measured trace, to look at before it is taken."""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees

import numpy as np

from bedplate.engine.traces import MeasuredTrace
from bedplate.physics.trace import PressureTrace
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.sense import doubts_of
from bedplate.shop.duty.traces import even_trace


@dataclass(frozen=True, slots=True)
class TraceLook:
    """What was read of a trace, to look at before it is taken.

    :param finest, widest: steps between points, rad
    :param least: pressure, Pa
    :param doubts: what is strange, as sentences
    """

    trace: PressureTrace
    points: int
    finest: float
    widest: float
    least: float
    doubts: tuple[str, ...]

    @property
    def peak(self) -> tuple[float, float]:
        """Return the greatest pressure, Pa, and its angle after firing top dead centre, rad."""
        return self.trace.peak


def look_at(given: Given, one: MeasuredTrace) -> TraceLook:
    """Return what was read of a trace.

    :raises InputError: it cannot be used, with what is wrong in it
    """
    trace = even_trace(one, given.engine.layout.cycle)
    steps = np.diff(one.points.angle)
    return TraceLook(
        trace, len(steps) + 1, float(steps.min()), float(steps.max()),
        float(trace.pressure.min()), doubts_of(given, one),
    )  # fmt: skip


def look_words(look: TraceLook, units: Units) -> str:
    """Return what was read of a trace as a sentence."""
    fine, wide = degrees(look.finest), degrees(look.widest)
    even = wide - fine < 1e-3 * wide
    steps = f"every {wide:.3g}°" if even else f"{fine:.3g}° to {wide:.3g}° apart"
    least = show(look.least, Dimension.PRESSURE, units, uncertainty=look.least / 100)
    return (
        f"{look.points} points, {steps}; peak {peak_words(look.trace, units)} at"
        f" {degrees(look.peak[1]):.0f}° after firing top dead centre, least {least}, absolute."
    ).replace(" -", " −")


def peak_words(trace: PressureTrace, units: Units) -> str:
    """Return the peak with its unit."""
    peak = trace.peak[0]
    return show(peak, Dimension.PRESSURE, units, uncertainty=peak / 50)
