"""Piston motion against printed examples and against the geometry drawn another way."""

from __future__ import annotations

from math import cos, pi, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplate.errors import InputError
from bedplate.physics.slider_crank import (
    dead_centres,
    mean_piston_speed,
    motion,
    peak_acceleration,
    peak_piston_speed,
    rod_force,
    side_thrust,
    throw_for_stroke,
    two_term_motion,
)

RPM = 2 * pi / 60


# Khurmi & Gupta, Theory of Machines, chapter 15. The book prints two-term figures; the exact ones
# were computed apart from this code.
def test_the_books_greatest_velocity():  # Ex 15.3: r 0.3 m, l 1.0 m, 200 rpm
    angle = np.radians(np.linspace(0, 180, 18001))
    velocity, _ = two_term_motion(angle, 0.3, 1.0, 200 * RPM)
    place = int(np.argmax(-velocity))
    assert -velocity[place] == pytest.approx(6.54, abs=0.005)
    assert np.degrees(angle[place]) == pytest.approx(75, abs=0.1)
    exact = -motion(angle, 0.3, 1.0, speed=200 * RPM).velocity
    assert exact.max() == pytest.approx(6.5617, abs=1e-4)
    assert np.degrees(angle[int(np.argmax(exact))]) == pytest.approx(74.53, abs=0.01)
    assert peak_piston_speed(0.3, 1.0, speed=200 * RPM) == pytest.approx(exact.max(), rel=1e-7)


def test_the_books_velocity_and_acceleration():  # Ex 15.4: r 0.3 m, l 1.5 m, 180 rpm, 40°
    velocity, acceleration = two_term_motion(radians(40), 0.3, 1.5, 180 * RPM)
    assert -velocity == pytest.approx(4.19, abs=0.005)
    assert -acceleration == pytest.approx(85.36, abs=0.05)
    exact = motion(radians(40), 0.3, 1.5, speed=180 * RPM)
    assert -exact.velocity == pytest.approx(4.1964, abs=1e-4)
    assert -exact.acceleration == pytest.approx(85.599, abs=1e-3)
    _, at_zero = two_term_motion(radians(79.27), 0.3, 1.5, 180 * RPM)
    assert at_zero == pytest.approx(0, abs=0.02)


def test_the_books_inertia_force():  # Ex 15.6: stroke 0.2 m, l 0.4 m, 500 rpm, 180 kg, 60°
    _, acceleration = two_term_motion(radians(60), 0.1, 0.4, 500 * RPM)
    # The book rounds ω to 52.4 rad/s.
    assert -180 * acceleration == pytest.approx(18_530, rel=2e-3)


def test_the_books_forces_on_the_pin():  # Ex 15.9: r 50, l 200, bore 80 mm, 1 kg, 0.7 MPa, 33°
    angle = radians(33)
    _, acceleration = two_term_motion(angle, 0.05, 0.2, 1800 * RPM)
    force = 0.7e6 * pi / 4 * 0.08**2 + acceleration
    tilt = motion(angle, 0.05, 0.2).rod_angle
    assert force == pytest.approx(1848, rel=1e-3)
    assert rod_force(force, tilt) == pytest.approx(1865.8, rel=1e-3)
    assert side_thrust(force, tilt) == pytest.approx(254, rel=3e-3)


def test_speeds_of_the_trade():
    # 2·S·n: 86 mm at 6000 rpm, and 8.000 in of stroke·rpm as a piston maker prints it.
    assert mean_piston_speed(0.086, 6000 * RPM) == pytest.approx(17.2)
    assert mean_piston_speed(0.086, 9000 * RPM) == pytest.approx(25.80)
    # rω²(1 + r/l), 86 mm stroke, 139 mm rod, 9000 rpm.
    assert peak_acceleration(0.043, 0.139, speed=9000 * RPM) == pytest.approx(50_011, rel=1e-4)


def pin_by_circles(theta: float, throw: float, rod: float, offset: float) -> float:
    """Meet the pin's line with the circle of the rod about the crankpin."""
    x, y = throw * sin(theta), throw * cos(theta)
    return y + sqrt(rod**2 - (offset - x) ** 2)


cranks = st.tuples(
    st.floats(0.02, 0.12), st.floats(1.3, 3.0), st.floats(-0.2, 0.2), st.floats(-7, 7)
).map(lambda t: (t[0], t[0] * t[1], t[0] * t[2], t[3]))


@given(cranks)
@settings(deadline=None)
def test_rates_are_the_derivatives_of_the_position(crank):
    throw, rod, offset, theta = crank
    now = motion(theta, throw, rod, offset)
    assert now.height == pytest.approx(pin_by_circles(theta, throw, rod, offset), abs=1e-12)
    step = 1e-4
    before, after = (motion(theta + d, throw, rod, offset) for d in (-step, step))
    rates = {
        "height": "velocity",
        "velocity": "acceleration",
        "rod_angle": "rod_velocity",
        "rod_velocity": "rod_acceleration",
    }
    for value, rate in rates.items():
        slope = (getattr(after, value) - getattr(before, value)) / (2 * step)
        assert getattr(now, rate) == pytest.approx(slope, abs=2e-6)


@given(cranks)
@settings(deadline=None)
def test_dead_centres_are_where_the_piston_stands_still(crank):
    throw, rod, offset, _ = crank
    ends = dead_centres(throw, rod, offset)
    for angle, height in (
        (ends.top_angle, ends.top_height),
        (ends.bottom_angle, ends.bottom_height),
    ):
        there = motion(angle, throw, rod, offset)
        assert there.velocity == pytest.approx(0, abs=1e-12)
        assert there.height == pytest.approx(height, abs=1e-12)
    # The stroke with an offset: √((l+r)²−e²) − √((l−r)²−e²), never below twice the throw.
    assert ends.stroke >= 2 * throw - 1e-12
    assert throw_for_stroke(ends.stroke, rod, offset) == pytest.approx(throw, rel=1e-12)


@given(cranks)
@settings(deadline=None)
def test_turning_the_other_way_is_the_mirror_image(crank):
    throw, rod, offset, theta = crank
    one, other = motion(theta, throw, rod, offset), motion(-theta, throw, rod, -offset)
    assert one.height == pytest.approx(other.height)
    assert one.velocity == pytest.approx(-other.velocity, abs=1e-12)
    assert one.rod_angle == pytest.approx(-other.rod_angle, abs=1e-12)


def test_the_two_terms_miss_by_the_next_one():  # λ³/4·(cos 2θ − cos 4θ) of the Fourier series
    angle = np.linspace(0, 2 * pi, 721)
    _, short = two_term_motion(angle, 0.043, 0.1435)
    missed = motion(angle, 0.043, 0.1435).acceleration - short
    assert np.abs(missed).max() / 0.043 == pytest.approx((0.043 / 0.1435) ** 3 / 2, rel=0.1)


@pytest.mark.parametrize(
    ("throw", "rod", "offset"),
    [
        (0.05, 0.05, 0),
        (0.05, 0.04, 0),
        (0.05, 0.06, 0.011),
        (-0.05, 0.2, 0),
        (0.05, float("nan"), 0),
    ],
)
def test_a_crank_that_cannot_turn_is_refused(throw, rod, offset):
    with pytest.raises(InputError):
        motion(0.0, throw, rod, offset)
    with pytest.raises(InputError):
        dead_centres(throw, rod, offset)


def test_a_stroke_too_long_for_the_rod_is_refused():
    with pytest.raises(InputError, match="No throw"):
        throw_for_stroke(0.2, 0.09)


def test_side_thrust_changes_sides_with_the_stroke():
    down, up = motion(radians(60), 0.05, 0.15), motion(radians(300), 0.05, 0.15)
    assert side_thrust(1000.0, down.rod_angle) > 0 > side_thrust(1000.0, up.rod_angle)
    assert rod_force(1000.0, down.rod_angle) == pytest.approx(1000 / cos(float(down.rod_angle)))
