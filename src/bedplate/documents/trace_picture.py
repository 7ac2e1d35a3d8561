"""Picture of a cylinder pressure over its cycle, with the peak and its angle."""

from __future__ import annotations

from math import ceil, degrees

import numpy as np

from bedplate.documents import ink
from bedplate.documents.chart import (
    BOTTOM,
    HIGH,
    LEFT,
    RIGHT,
    TOP,
    WIDE,
    Axis,
    chart,
    scales,
    step_of,
)
from bedplate.physics.trace import PressureTrace
from bedplate.quantity import Units
from bedplate.shop.duty.look import peak_words

_UNITS = {Units.METRIC: ("bar", 1e5), Units.INCH: ("psi", 6894.757293168361)}


def pressure_over_angle(trace: PressureTrace, name: str, units: Units) -> str:
    """Return a pressure from half a cycle before firing top dead centre to half a cycle after it.

    :param name: which pressure it is
    """
    unit, pascal = _UNITS[units]
    half = degrees(trace.cycle) / 2
    angle = np.mod(np.degrees(trace.angle) + half, 2 * half) - half
    order = np.argsort(angle, kind="stable")
    peak, at = trace.peak
    across = Axis(-half, half, LEFT, WIDE - RIGHT)
    rise = step_of(peak / pascal, 4)
    upward = Axis(0, rise * ceil(peak / pascal / rise), HIGH - BOTTOM, TOP)
    points = "L".join(
        f"{across(float(a)):.1f} {upward(float(p) / pascal):.1f}"
        for a, p in zip(angle[order], trace.pressure[order], strict=True)
    )
    x, y = across(degrees(at)), upward(peak / pascal)
    words = f"{peak_words(trace, units)} at {degrees(at):.0f}°".replace("-", "−")
    left = x > across(half / 2)
    body = [
        scales(across, upward, half / 4, rise, "crank angle after firing top dead centre, °",
               f"pressure, {unit}"),
        ink.line(across(0), TOP, across(0), HIGH - BOTTOM, "hidden"),
        ink.path(f"M{points}", "outline"),
        ink.ring(x, y, 5, "wanted"),
        ink.text(x + (-12 if left else 12), y + 2, words, 14, "number", "end" if left else "start"),
    ]  # fmt: skip
    return chart("".join(body), f"{name}: peak {words}")
