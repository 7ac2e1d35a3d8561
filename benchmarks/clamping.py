"""The scatter of a bolt's clamp: a million trials on one core."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from math import radians

from bedplate.physics.bolt_resilience import Section
from bedplate.physics.clamp import TRIALS, Clamp, by_angle, by_stretch, by_torque, wrench
from bedplate.physics.clamp_models import Bolted
from bedplate.physics.hardening import Hardening
from bedplate.physics.spread import Spread, between
from bedplate.physics.thread import thread
from bedplate.physics.tightening import bearing_diameter
from benchmarks.figures import Figure

_WANTED = 0.300
_RUNS = 5


def run() -> list[Figure]:
    """Check the spread of each way of tightening an M10, then time it in processor time."""
    bolted, steel = _bolted(), Hardening(940e6, 1040e6, 0.05)
    yielding = replace(bolted, hardening=steel, strength=Spread(1.06, 0.06))
    angle = Spread(radians(90), radians(4))
    ways: dict[str, tuple[Callable[[], Clamp], float, float]] = {
        "by torque": (lambda: by_torque(bolted, wrench(50.0)), 0.23, 0.28),
        "by torque and angle": (lambda: by_angle(bolted, wrench(25.0), angle), 0.08, 0.15),
        "by torque and angle, yielding": (
            lambda: by_angle(yielding, wrench(25.0), angle),
            0.05,
            0.12,
        ),
        "by stretch": (lambda: by_stretch(bolted, Spread(0.25e-3, 0.01e-3)), 0.05, 0.10),
    }
    figures = []
    for name, (way, least, most) in ways.items():
        assert way().scatter.trials == TRIALS
        assert least < way().scatter.plus_minus < most, name
        took = min(_timed(way) for _ in range(_RUNS))
        figures.append(Figure(f"clamp scatter {name}, 10⁶ trials, one core", took, _WANTED))
    return figures


def _bolted() -> Bolted:
    size, oiled = thread("M10"), between(0.08, 0.16)
    return Bolted(
        size,
        bearing_diameter(0.01463, 0.011),
        oiled,
        oiled,
        Spread(7.7e-9, 0.5e-9),
        Spread(2.5e-9, 0.6e-9),
        sections=(Section(0.060, 0.010), Section(0.030, size.stress_diameter)),
        shear_modulus=80e9,
    )


def _timed(way: Callable[[], Clamp]) -> float:
    begin = time.process_time()
    way()
    return time.process_time() - begin
