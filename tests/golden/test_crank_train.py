"""One V8 against itself: whatever moves these figures was meant to move them."""

from __future__ import annotations

from math import degrees, pi, radians

import numpy as np
import pytest

from bedplate.physics.balance import engine_balance
from bedplate.physics.crank_model import CrankEnds, RubberDamper, crank_model
from bedplate.physics.crank_train import crank_layout, masses_from_ends, unbalance
from bedplate.physics.cylinder import Burn, CombustionChamber, Walls, closed_cycle, trapped_charge
from bedplate.physics.gas import PETROL
from bedplate.physics.loads import cylinder_loads, main_bearing_loads
from bedplate.physics.torsion import modes
from bedplate.physics.torsion_response import speed_sweep, torque_harmonics

BORE, THROW, ROD = 0.1055, 0.0442, 0.1524
SPEED = 6000 * 2 * pi / 60
BANK = np.radians([-45, 45] * 4)
THROWS = np.radians(np.repeat([0, 270, 90, 180], 2))
PLACES = np.array([0.04, 0.065, 0.15, 0.175, 0.26, 0.285, 0.37, 0.395])
FIRING = np.radians([315, 45, 405, 135, 225, 675, 495, 585])
MAINS = [0.0, 0.11, 0.22, 0.33, 0.44]


def golden(figures: dict[str, float]):
    return pytest.approx(figures, rel=1e-6)


@pytest.fixture(scope="module")
def run():
    layout = crank_layout(THROW, ROD, BANK, THROWS, PLACES)
    masses = masses_from_ends(8, 0.55, 0.18, 0.45, ROD)
    clearance = pi / 4 * BORE**2 * 2 * THROW / 9.5
    chamber = CombustionChamber(BORE, THROW, ROD, clearance, 4 * pi, radians(60), radians(60))
    charge = trapped_charge(
        chamber, PETROL, manifold_pressure=98e3, manifold_temperature=310,
        volumetric_efficiency=0.95, equivalence_ratio=1.1,
    )  # fmt: skip
    burn = Burn(radians(-22), radians(55), efficiency=0.96)
    cycle = closed_cycle(chamber, charge, burn, Walls(), SPEED, inlet_pressure=98e3)
    counter = unbalance(np.full(4, 1.6 * THROW), THROWS[::2] + pi, PLACES[::2] + 0.0125)
    loads = cylinder_loads(layout, masses, cycle.trace, bore=BORE, firing=FIRING, speed=SPEED)
    return layout, masses, counter, cycle, loads


def test_cycle(run):
    cycle = run[3]
    found = {
        "peak": cycle.trace.peak[0],
        "at": degrees(cycle.trace.peak[1]),
        "mean": cycle.mean_effective_pressure,
        "lost": cycle.heat_lost,
        "hottest": float(cycle.temperature.max()),
    }
    assert found == golden(
        {
            "peak": 6372268.53,
            "at": 14.5,
            "mean": 1297250.24,
            "lost": 164.056442,
            "hottest": 2586.25587,
        }
    )


def test_loads(run):
    layout, _, counter, _, loads = run
    mains = main_bearing_loads(layout, loads, MAINS, SPEED, counter)
    worst = np.hypot(mains[..., 0], mains[..., 1]).max(axis=1)
    rod = np.hypot(loads.rod_bearing[..., 0], loads.rod_bearing[..., 1]).max(axis=1)
    found = {f"main {i + 1}": float(value) for i, value in enumerate(worst)}
    found |= {"rod 1": float(rod[0]), "torque": float(loads.torque.sum(axis=0).mean())}
    assert found == golden(
        {
            "main 1": 31142.5604,
            "main 2": 33788.1461,
            "main 3": 31435.4607,
            "main 4": 32125.1115,
            "main 5": 27923.7964,
            "rod 1": 32070.5085,
            "torque": 638.192638,
        }
    )


def test_balance(run):
    layout, masses, counter, *_ = run
    parts = engine_balance(layout, masses, counter, reference=0.22, orders=(1, 4))
    found = {
        "couple": parts[0].couple(SPEED).greatest,
        "fourth": parts[1].force(SPEED).greatest,
    }
    assert found == golden(
        {
            "couple": 182.09413,
            "fourth": 469.012544,
        }
    )


def test_torsion(run):
    layout, masses, _, cycle, loads = run
    ends = CrankEnds(0.01, 9e5, 0.25, 3e6)
    damper = RubberDamper(0.012, 3.5e4, 0.2)
    train = crank_model(np.full(4, 0.018), 9e5, ends, damper, drag=0.2)
    still = cylinder_loads(layout, masses, cycle.trace, bore=BORE, firing=FIRING, speed=0.0)
    order, gas = torque_harmonics(still.torque, 4 * pi)
    _, both = torque_harmonics(loads.torque, 4 * pi)
    nodes = [train.throws[i // 2] for i in range(8)]
    speeds = np.linspace(200, 750, 56)
    sweep = speed_sweep(train.model, nodes, order, gas, (both - gas) / SPEED**2, speeds)
    swing = sweep.greatest(train.nose, against=train.flywheel)
    found = {f"mode {i + 1}": float(f) for i, f in enumerate(modes(train.model).frequency[:3])}
    found |= {"nose": degrees(swing.max()), "at": float(speeds[swing.argmax()])}
    assert found == golden(
        {
            "mode 1": 1566.1519,
            "mode 2": 2773.93359,
            "mode 3": 6553.36381,
            "nose": 0.979452744,
            "at": 690,
        }
    )
