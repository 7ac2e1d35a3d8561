"""The crank train: loads of a V8 over speed, balance, and a torsional sweep."""

from __future__ import annotations

import time
from collections.abc import Callable
from math import pi, radians

import numpy as np

from bedplate.physics.balance import engine_balance
from bedplate.physics.crank_train import CrankLayout, MovingMasses, crank_layout, masses_from_ends
from bedplate.physics.cylinder import Burn, CombustionChamber, Walls, closed_cycle, trapped_charge
from bedplate.physics.gas import PETROL
from bedplate.physics.loads import cylinder_loads, main_bearing_loads
from bedplate.physics.torsion import frequency_band, modes
from bedplate.physics.torsion_response import speed_sweep
from benchmarks.figures import Figure, middle
from benchmarks.peer_models import eight

_RUNS = 9
_BORE, _THROW, _ROD = 0.1055, 0.0442, 0.1524


def run() -> list[Figure]:
    """Time the three."""
    layout, masses = _sixteen()
    return [
        Figure("cycle, rod and main loads of a V8 at 20 speeds, warm", _timed(_duty), 2.0),
        Figure(
            "16 cylinders balanced, 5 orders", _timed(lambda: engine_balance(layout, masses)), 0.010
        ),
        Figure("torsion: modes, band, 24 orders over 300 speeds, warm", _timed(_torsion), 0.150),
    ]


def _timed(work: Callable[[], object], runs: int = _RUNS) -> float:
    work()
    times = []
    for _ in range(runs):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return middle(times)


def _duty() -> None:
    banks, throws = np.radians([-45, 45] * 4), np.radians(np.repeat([0, 270, 90, 180], 2))
    places = np.arange(8) * 0.055 + np.array([0.04, 0.01] * 4)
    layout = crank_layout(_THROW, _ROD, banks, throws, places)
    masses = masses_from_ends(8, 0.55, 0.18, 0.45, _ROD)
    clearance = pi / 4 * _BORE**2 * 2 * _THROW / 9.5
    chamber = CombustionChamber(_BORE, _THROW, _ROD, clearance, 4 * pi, radians(60), radians(60))
    for speed in np.linspace(100, 730, 20):
        charge = trapped_charge(
            chamber,
            PETROL,
            manifold_pressure=98e3,
            manifold_temperature=310,
            volumetric_efficiency=0.95,
            equivalence_ratio=1.1,
        )
        burn = Burn(radians(-22), radians(55))
        cycle = closed_cycle(chamber, charge, burn, Walls(), speed, inlet_pressure=98e3)
        loads = cylinder_loads(
            layout, masses, cycle.trace, bore=_BORE, firing=layout.top_dead_centre, speed=speed
        )
        main_bearing_loads(layout, loads, np.linspace(0, 0.44, 5), speed)


def _sixteen() -> tuple[CrankLayout, MovingMasses]:
    throws = np.repeat(np.radians([0, 180, 90, 270, 270, 90, 180, 0]), 2)
    layout = crank_layout(_THROW, _ROD, np.radians([-22.5, 22.5] * 8), throws, np.arange(16) * 0.05)
    return layout, masses_from_ends(16, 0.55, 0.18, 0.45, _ROD)


def _torsion() -> None:
    model = eight().model
    modes(model)
    frequency_band(model, shared_stiffness=0.05, stiffness=0.02, inertia=0.02)
    orders = np.arange(0.5, 12.1, 0.5)
    push = np.exp(-1j * np.outer(np.radians([0, 480, 240, 600, 120, 360]), orders)) * 300 / orders
    sweep = speed_sweep(model, range(6), orders, push, push * 1e-5, np.linspace(80, 750, 300))
    sweep.greatest(0)
    sweep.greatest_torque(5)
