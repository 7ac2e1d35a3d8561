"""What was read of a measured trace, to look at before it is taken."""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, radians

import numpy as np

from bedplate.engine.traces import MeasuredTrace
from bedplate.physics.trace import PressureTrace
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.duty.traces import even_trace

_EARLIEST_PEAK, _LATEST_PEAK = 0.0, radians(40)
"""After firing top dead centre: where a burning cylinder peaks. Common practice, no source."""


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


def look_at(one: MeasuredTrace, cycle: float) -> TraceLook:
    """Return what was read of a trace.

    :param cycle: rad
    :raises InputError: it cannot be used, with what is wrong in it
    """
    trace = even_trace(one, cycle)
    steps = np.diff(one.points.angle)
    angle = trace.peak[1]
    doubts = []
    if not _EARLIEST_PEAK <= angle <= _LATEST_PEAK:
        doubts.append(
            f"It peaks at {degrees(angle):.0f}°, where a burning cylinder seldom does: does firing"
            " top dead centre lie where you said?"
        )
    return TraceLook(
        trace, len(steps) + 1, float(steps.min()), float(steps.max()),
        float(trace.pressure.min()), tuple(doubts),
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
