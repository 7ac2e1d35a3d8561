"""Loads of the crank train: books, and the laws that any set of forces must obey."""

from __future__ import annotations

from math import pi, radians

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.published_loads import DIESEL_TRACE

from bedplate.errors import InputError
from bedplate.physics.crank_train import (
    NO_UNBALANCE,
    crank_layout,
    masses_from_ends,
    moving_masses,
    require_firing,
    unbalance,
)
from bedplate.physics.loads import (
    crankpin_load,
    cylinder_loads,
    in_axes,
    inertia_of_cylinders,
    main_bearing_loads,
    seen_by_crankpin,
    seen_by_journal,
    seen_by_rod,
    shaking_force,
)
from bedplate.physics.slider_crank import motion
from bedplate.physics.trace import PressureTrace, even_angles, measured_trace

RPM = 2 * pi / 60
CYCLE = 4 * pi
BORE = 0.086
AMBIENT = 101_325.0
GRID = even_angles(CYCLE)


def quiet() -> PressureTrace:
    return PressureTrace(GRID, np.full(GRID.size, AMBIENT), CYCLE)


def burning(peak: float = 60e5) -> PressureTrace:
    turned = np.mod(GRID + CYCLE / 2, CYCLE) - CYCLE / 2
    bell = peak * np.exp(-(((turned - radians(12)) / radians(35)) ** 2))
    return PressureTrace(GRID, AMBIENT + bell, CYCLE)


V8_BANK = np.radians([-45, 45] * 4)
V8_THROW = np.radians([0, 0, 90, 90, 270, 270, 180, 180])
V8_PLACE = np.array([0.04, 0.065, 0.15, 0.175, 0.26, 0.285, 0.37, 0.395])
V8_MAINS = np.array([0, 0.11, 0.22, 0.33, 0.44])


def v8(rod: float = 0.15, offset: float = 0.0):
    return crank_layout(0.043, rod, V8_BANK, -V8_THROW, V8_PLACE, offset)


# ---- One cylinder, by the book


def test_the_books_forces_on_one_cylinder():
    """Khurmi & Gupta, Theory of Machines, Ex 15.9: r 50, l 200, bore 80 mm, 1 kg, 33°, 0.7 MPa.

    Pin 1848 N, along the rod 1865.8 N, side 254 N, by the two-term series; exact +0.3 %.
    """
    layout = crank_layout(0.05, 0.2, 0.0, [0.0], [0.0])
    pressure = PressureTrace(GRID, np.full(GRID.size, AMBIENT + 0.7e6), CYCLE)
    masses = moving_masses(1, 1.0, 0.0, 0.0, 0.2)
    found = cylinder_loads(layout, masses, pressure, bore=0.08, firing=[0.0], speed=1800 * RPM)
    place = 66  # 33°
    assert -found.piston_pin[0, place, 0] == pytest.approx(1848, rel=5e-3)
    assert np.hypot(*found.piston_pin[0, place]) == pytest.approx(1865.8, rel=5e-3)
    assert found.side_thrust[0, place] == pytest.approx(254, rel=5e-3)
    # A massless rod carries along itself alone, and turns the crank by F·r·sin(θ+φ)/cos φ.
    assert found.rod_bearing[0, place] == pytest.approx(-found.piston_pin[0, place])
    tilt = float(motion(radians(33), 0.05, 0.2).rod_angle)
    force = -found.piston_pin[0, place, 0]
    turning = force * 0.05 * np.sin(radians(33) + tilt) / np.cos(tilt)
    assert found.torque[0, place] == pytest.approx(turning)


def test_pull_on_the_rod_at_overlap():
    """No gas: at top dead centre the shell takes (m + m_small)·rω²(1+λ) + m_big·rω²."""
    layout = crank_layout(0.043, 0.1435, 0.0, [0.0], [0.0])
    masses = masses_from_ends(1, 0.4, 0.18, 0.42, 0.1435)
    speed = 9000 * RPM
    found = cylinder_loads(layout, masses, quiet(), bore=BORE, firing=[0.0], speed=speed)
    one = 0.043 * speed**2
    pull = 0.58 * one * (1 + 0.043 / 0.1435) + 0.42 * one
    assert found.rod_bearing[0, 0] == pytest.approx([-pull, 0], abs=1e-6 * pull)
    assert found.piston_pin[0, 0, 0] == pytest.approx(0.4 * one * (1 + 0.043 / 0.1435))


def test_torque_of_a_published_diesel():
    """Bore 105, stroke 137, rod 207 mm: mean torque of a cylinder 178.86 N·m, IMEP 18.947 bar.

    Those were computed apart from this code with straight lines between the points; the curve
    between them is another here, hence 0.5 %.
    """
    trace = measured_trace(
        np.radians(DIESEL_TRACE[:, 0]), DIESEL_TRACE[:, 1] * 1e6, CYCLE, firing=2 * pi
    )
    assert trace.peak[0] == pytest.approx(15.199e6, rel=1e-3)
    assert trace.peak[1] == pytest.approx(radians(7.68), abs=radians(0.25))
    layout = crank_layout(0.0685, 0.207, 0.0, [0.0], [0.0])
    masses = moving_masses(1, 2.521, 0.0, 0.0, 0.207)
    found = cylinder_loads(layout, masses, trace, bore=0.105, firing=[0.0], speed=2000 * RPM)
    assert found.torque.mean() == pytest.approx(178.86, rel=5e-3)
    swept = pi / 4 * 0.105**2 * 0.137
    assert found.torque.mean() * CYCLE / swept == pytest.approx(18.947e5, rel=5e-3)


# ---- Laws

trains = st.tuples(
    st.floats(0.13, 0.2), st.floats(-0.002, 0.002), st.floats(0.1, 0.9), st.floats(0.3, 1.5)
)


@given(trains)
@settings(max_examples=15, deadline=None)
def test_forces_on_the_block_are_the_inertia_of_all_that_moves(train):
    """Mains, walls and heads together give exactly the shaking force; gas cancels inside."""
    rod, offset, centre, stiffness = train
    layout = v8(rod, offset)
    inertia = stiffness * 0.6 * centre * (1 - centre) * rod**2
    masses = moving_masses(8, 0.5, 0.6, centre * rod, rod, inertia)
    speed = 6000 * RPM
    found = cylinder_loads(
        layout, masses, burning(), bore=BORE, firing=layout.top_dead_centre, speed=speed
    )
    mains = main_bearing_loads(layout, found, V8_MAINS, speed).sum(axis=0)
    along = np.stack([np.cos(layout.bank), np.sin(layout.bank)], axis=-1)
    across = np.stack([-np.sin(layout.bank), np.cos(layout.bank)], axis=-1)
    heads = np.einsum("cn,ck->nk", found.gas, along)
    walls = -np.einsum("cn,ck->nk", found.side_thrust, across)
    expected = shaking_force(layout, masses, speed, GRID)
    assert mains + heads + walls == pytest.approx(expected, abs=1e-6 * np.abs(mains).max())


@given(trains)
@settings(max_examples=15, deadline=None)
def test_power_goes_into_motion(train):
    """Gas power less torque times speed is the change of kinetic energy of piston and rod."""
    rod, offset, centre, stiffness = train
    layout = crank_layout(0.043, rod, 0.3, [0.7], [0.0], offset)
    inertia = stiffness * 0.6 * centre * (1 - centre) * rod**2
    masses = moving_masses(1, 0.5, 0.6, centre * rod, rod, inertia)
    speed = 500.0
    found = cylinder_loads(
        layout, masses, burning(), bore=BORE, firing=layout.top_dead_centre, speed=speed
    )

    def energy(theta: np.ndarray) -> np.ndarray:
        own = theta + 0.7 - 0.3
        now = motion(own, 0.043, rod, offset, speed)
        crankpin = 0.043 * speed * np.stack([-np.sin(own), np.cos(own)])
        pin = np.stack([now.velocity, np.zeros_like(own)])
        middle = (1 - centre) * crankpin + centre * pin
        return 0.5 * (
            0.5 * now.velocity**2 + 0.6 * (middle**2).sum(axis=0) + inertia * now.rod_velocity**2
        )

    step = 1e-5
    rate = (energy(GRID + step) - energy(GRID - step)) / (2 * step) * speed
    velocity = motion(GRID + 0.4, 0.043, rod, offset, speed).velocity
    power = -found.gas[0] * velocity - found.torque[0] * speed
    assert power == pytest.approx(rate, abs=1e-6 * np.abs(rate).max())


def test_two_rods_on_a_pin_add_up():
    layout = v8()
    masses = masses_from_ends(8, 0.5, 0.18, 0.42, 0.15)
    found = cylinder_loads(
        layout, masses, burning(), bore=BORE, firing=layout.top_dead_centre, speed=600.0
    )
    both = crankpin_load(found, [0, 1])
    assert both == pytest.approx(-found.rod_bearing[0] - found.rod_bearing[1])


def test_counterweights_take_the_turning_part_off_the_mains():
    """A rotating mass m·r on a pin and a counterweight of the same m·r facing it: nothing left."""
    layout = crank_layout(0.04, 0.15, 0.0, [0.0], [0.05])
    masses = masses_from_ends(1, 0.0, 0.0, 0.8, 0.15)
    found = cylinder_loads(layout, masses, quiet(), bore=BORE, firing=[0.0], speed=700.0)
    weights = unbalance([0.016, 0.016], [pi, pi], [0.03, 0.07])
    left = main_bearing_loads(layout, found, [0.0, 0.1], 700.0, weights)
    bare = main_bearing_loads(layout, found, [0.0, 0.1], 700.0, NO_UNBALANCE)
    assert np.hypot(bare[0, :, 0], bare[0, :, 1]) == pytest.approx(0.016 * 700.0**2)
    assert np.abs(left).max() < 1e-9 * np.abs(bare).max()


def test_a_span_carries_by_the_lever_rule():
    layout = crank_layout(0.04, 0.15, 0.0, [0.0], [0.02])
    masses = masses_from_ends(1, 0.5, 0.2, 0.4, 0.15)
    found = cylinder_loads(layout, masses, burning(), bore=BORE, firing=[0.0], speed=500.0)
    one, two, three = main_bearing_loads(layout, found, [0.0, 0.1, 0.2], 500.0)
    assert one == pytest.approx(-0.8 * found.rod_bearing[0])
    assert two == pytest.approx(-0.2 * found.rod_bearing[0])
    assert np.abs(three).max() == 0
    overhung = crank_layout(0.04, 0.15, 0.0, [0.0], [0.25])
    hung = main_bearing_loads(overhung, found, [0.0, 0.1, 0.2], 500.0)
    # Beyond the last main: the lever of the last span, −0.5 and 1.5.
    assert hung[1] == pytest.approx(0.5 * found.rod_bearing[0])
    assert hung[2] == pytest.approx(-1.5 * found.rod_bearing[0])


def test_polar_loads_in_the_rods_and_the_journals_view():
    layout = crank_layout(0.043, 0.15, 0.2, [0.0], [0.0])
    heavy = masses_from_ends(1, 0.5, 0.0, 0.0, 0.15)
    found = cylinder_loads(
        layout, heavy, burning(), bore=BORE, firing=layout.top_dead_centre, speed=300.0
    )
    # With no mass in the rod its load runs along it.
    seen = seen_by_rod(found)[0]
    assert np.abs(seen[:, 1]).max() < 1e-9 * np.abs(seen).max()
    turning = masses_from_ends(1, 0.0, 0.0, 0.5, 0.15)
    around = cylinder_loads(
        layout, turning, quiet(), bore=BORE, firing=layout.top_dead_centre, speed=300.0
    )
    mains = main_bearing_loads(layout, around, [-0.1, 0.1], 300.0)
    seen = seen_by_journal(mains, around.angle)
    assert seen[0] == pytest.approx(
        np.tile([-0.25 * 0.043 * 300.0**2, 0], (GRID.size, 1)), abs=1e-6
    )
    fixed = seen_by_crankpin(layout, around)[0]
    assert fixed == pytest.approx(np.tile([0.5 * 0.043 * 300.0**2, 0], (GRID.size, 1)), abs=1e-6)


def test_the_rods_turning_is_the_slope_of_its_direction():
    layout = v8()
    masses = masses_from_ends(8, 0.5, 0.18, 0.42, 0.15)
    found = cylinder_loads(
        layout, masses, quiet(), bore=BORE, firing=layout.top_dead_centre, speed=400.0
    )
    slope = np.gradient(found.rod_direction, GRID, axis=1)[:, 1:-1] * 400.0
    assert found.rod_velocity[:, 1:-1] == pytest.approx(slope, abs=0.02)


def test_measured_masses_may_differ_by_cylinder():
    layout = v8()
    masses = masses_from_ends(8, np.linspace(0.5, 0.51, 8), 0.18, 0.42, 0.15)
    each = inertia_of_cylinders(layout, masses, 500.0, GRID)
    assert each.shape == (8, GRID.size, 2)
    assert np.abs(shaking_force(layout, masses, 500.0, GRID)).max() > 10


def test_gas_and_inertia_add_up_at_any_speed():
    """Torque is that of the gas alone plus the speed squared times the inertia's at 1 rad/s."""
    layout, masses = v8(), masses_from_ends(8, 0.5, 0.18, 0.42, 0.15)

    def torque(trace: PressureTrace, speed: float) -> np.ndarray:
        firing = layout.top_dead_centre
        return cylinder_loads(layout, masses, trace, bore=BORE, firing=firing, speed=speed).torque

    both = torque(burning(), 0.0) + 700.0**2 * torque(quiet(), 1.0)
    assert torque(burning(), 700.0) == pytest.approx(both, abs=1e-6 * np.abs(both).max())
    # Inertia takes no work from a cycle.
    assert torque(quiet(), 700.0).mean(axis=1) == pytest.approx(np.zeros(8), abs=1e-6)


def test_turned_axes_are_turned_back():
    force = np.array([[3.0, 4.0], [-1.0, 2.0]])
    assert in_axes(in_axes(force, 0.7), -0.7) == pytest.approx(force)
    assert in_axes(np.array([1.0, 0.0]), pi / 2) == pytest.approx([0, -1], abs=1e-15)


# ---- Refusals


def test_a_firing_order_that_the_throws_cannot_give_is_refused():
    layout = crank_layout(0.043, 0.15, 0.0, np.radians([0, 180, 180, 0]), [0, 0.1, 0.2, 0.3])
    good = require_firing(layout, np.radians([0, 180, 540, 360]), CYCLE)
    assert np.degrees(good) == pytest.approx([0, 180, 540, 360])
    with pytest.raises(InputError, match="Cylinder 2 in this list cannot fire"):
        require_firing(layout, np.radians([0, 90, 540, 360]), CYCLE)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: crank_layout(0.043, 0.04, 0.0, [0.0], [0.0]),
        lambda: crank_layout(0.043, 0.15, 0.0, [0.0, 1.0], [0.0]),
        lambda: moving_masses(1, -0.1, 0.5, 0.05, 0.15),
        lambda: moving_masses(1, 0.1, 0.5, 0.2, 0.15),
        lambda: masses_from_ends(1, 0.1, -0.2, 0.3, 0.15),
        lambda: unbalance([-1.0], [0.0], [0.0]),
        lambda: cylinder_loads(
            v8(), moving_masses(8, 0.5, 0.5, 0.05, 0.15), [quiet()] * 3, bore=0.1,
            firing=v8().top_dead_centre, speed=1.0,
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(InputError):
        wrong()


def test_mains_must_rise():
    layout = crank_layout(0.043, 0.15, 0.0, [0.0], [0.0])
    masses = masses_from_ends(1, 0.5, 0.18, 0.42, 0.15)
    found = cylinder_loads(layout, masses, quiet(), bore=BORE, firing=[0.0], speed=1.0)
    with pytest.raises(InputError, match="rising order"):
        main_bearing_loads(layout, found, [0.1, 0.0], 1.0)
