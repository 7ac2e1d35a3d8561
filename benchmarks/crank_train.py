"""The crank train: loads of a V8 over speed, balance, and torsional response beside its peer."""

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
from bedplate.physics.torsion import (
    TorsionalModel,
    frequency_band,
    modes,
    stiffness_matrix,
    torsional_chain,
)
from bedplate.physics.torsion_response import speed_sweep, steady_response
from benchmarks.figures import Figure, middle

_RUNS = 9
_BORE, _THROW, _ROD = 0.1055, 0.0442, 0.1524


def run() -> list[Figure]:
    """Compare the answers first, then time them."""
    layout, masses = _sixteen()
    return [
        Figure("cycle, rod and main loads of a V8 at 20 speeds, warm", _timed(_duty), 2.0),
        Figure(
            "16 cylinders balanced, 5 orders", _timed(lambda: engine_balance(layout, masses)), 0.010
        ),
        _response(),
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


def _train() -> TorsionalModel:
    return torsional_chain([0.012] * 6 + [0.25, 0.05], [4e5] * 6 + [1.2e6], damping=3.0, drag=0.5)


def _response() -> Figure:
    """Time 8 inertias at 7,200 frequencies, beside openTorsion or else dense algebra."""
    model, omega = _train(), np.linspace(10, 12_000, 7200)
    torque = np.zeros(8, dtype=np.complex128)
    torque[0], torque[3] = 100.0, 50.0j
    name, peer = _peer(model, omega, torque)
    answer, expected = steady_response(model, omega, torque), peer()
    assert np.abs(answer - expected).max() <= 1e-9 * np.abs(expected).max()
    return Figure(
        "forced response of 8 inertias at 7,200 frequencies",
        _timed(lambda: steady_response(model, omega, torque)),
        0.005,
        name,
        _timed(peer, 3),
    )


def _peer(
    model: TorsionalModel, omega: np.ndarray, torque: np.ndarray
) -> tuple[str, Callable[[], np.ndarray]]:
    try:
        import opentorsion
    except ImportError:
        stiff = stiffness_matrix(model)
        damp = stiffness_matrix(model, model.damping) + np.diag(model.drag)
        inertia = np.diag(model.inertia)

        def dense() -> np.ndarray:
            square = (omega**2)[:, np.newaxis, np.newaxis]
            matrix = stiff + 1j * omega[:, np.newaxis, np.newaxis] * damp - square * inertia
            return np.linalg.solve(matrix, np.broadcast_to(torque, (omega.size, 8))[..., None])[
                ..., 0
            ]

        return "dense algebra", dense
    shafts = [opentorsion.Shaft(i, i + 1, k=float(model.stiffness[i]), c=3.0) for i in range(7)]
    disks = [opentorsion.Disk(i, float(model.inertia[i]), c=0.5) for i in range(8)]
    train = opentorsion.Assembly(shafts, disk_elements=disks)
    excited = np.tile(torque[:, np.newaxis], (1, omega.size))
    return "opentorsion", lambda: train.ss_response(excited, omega)[0].T


def _torsion() -> None:
    model = _train()
    modes(model)
    frequency_band(model, shared_stiffness=0.05, stiffness=0.02, inertia=0.02)
    orders = np.arange(0.5, 12.1, 0.5)
    push = np.exp(-1j * np.outer(np.radians([0, 480, 240, 600, 120, 360]), orders)) * 300 / orders
    sweep = speed_sweep(model, range(6), orders, push, push * 1e-5, np.linspace(80, 750, 300))
    sweep.greatest(0)
    sweep.greatest_torque(5)
