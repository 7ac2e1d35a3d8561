"""Residual unbalance and its removal: the standard's figures and published trial runs."""

from __future__ import annotations

from cmath import polar, rect
from math import degrees, pi, radians, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplate.errors import InputError
from bedplate.physics.rotor import (
    allocate,
    correction_masses,
    drilled_hole,
    drilling_depth,
    grade_within,
    heavy_metal_length,
    influence_coefficients,
    move_to_planes,
    permissible_residual,
    residual,
    split_into_angles,
)

GRAM_MM = 1e-6
OUNCE_INCH = 28.349523125e-3 * 25.4e-3
RPM = 2 * pi / 60


def vector(amount: float, angle: float) -> complex:
    return rect(amount, radians(angle))


def test_the_standards_turbine():
    """ISO 21940-11, annex (from memory, recomputed): 28.6, 10.7 and 17.9 kg·mm.

    3600 kg, 3000 rpm, G 2.5, bearings 2400 mm apart, centre of mass 1500 mm from A.
    """
    whole = permissible_residual(2.5, 3600, 3000 * RPM)
    assert whole / 3600 == pytest.approx(7.958e-6, rel=1e-4)
    assert whole / GRAM_MM == pytest.approx(28.648e3, rel=1e-4)
    split = allocate(whole, 0.0, 2.4, 1.5)
    assert split.plane_a / GRAM_MM == pytest.approx(10.743e3, rel=1e-4)
    assert split.plane_b / GRAM_MM == pytest.approx(17.905e3, rel=1e-4)
    assert not split.limited


@pytest.mark.parametrize(
    ("mass", "rpm", "grade", "gram_mm"),
    # U = 9549·G·m/n, as balancing-machine makers print it.
    [
        (25, 6000, 16, 636.62),
        (25, 6000, 6.3, 250.67),
        (25, 8000, 40, 1194),
        (25, 8000, 16, 477),
        (25, 8000, 6.3, 188),
        (25, 8000, 2.5, 75),
    ],
)
def test_permissible_residual(mass, rpm, grade, gram_mm):
    found = permissible_residual(grade, mass, rpm * RPM)
    assert found / GRAM_MM == pytest.approx(gram_mm, rel=6e-3)
    assert found / GRAM_MM == pytest.approx(9549 * grade * mass / rpm, rel=1e-4)
    assert residual(found, mass, rpm * RPM).grade == pytest.approx(grade)
    assert grade_within(grade) == grade


@pytest.mark.parametrize(
    ("rpm", "newtons"), [(2000, 63.2), (4000, 252.7), (8000, 1010.8), (9000, 1279)]
)
def test_two_ounce_inches_at_speed(rpm, newtons):
    assert pytest.approx(720.08, abs=0.005) == OUNCE_INCH / GRAM_MM
    assert residual(2 * OUNCE_INCH, 25, rpm * RPM).force == pytest.approx(newtons, rel=1e-3)


@pytest.mark.parametrize(("each", "grade"), [(0.1, 4.8), (0.25, 12), (0.5, 24), (1, 48), (2, 97)])
def test_what_a_shop_card_says_in_grades(each, grade):
    """25 kg at 8000 rpm, the same residual at both ends and in phase; arithmetic."""
    found = residual(2 * each * OUNCE_INCH, 25, 8000 * RPM).grade
    assert found == pytest.approx(grade, rel=0.02)
    assert grade_within(300.0) == 630.0
    assert grade_within(5000.0) is None


def test_single_plane_trial_run():
    """Brüel & Kjær's example: 3.4∠116° → 1.8∠42° with 2 g∠0° : 2.01 g∠−30.8°."""
    influence = influence_coefficients([vector(3.4, 116)], [[vector(1.8, 42)]], [2.0])
    amount, angle = polar(complex(correction_masses([vector(3.4, 116)], influence)[0]))
    assert amount == pytest.approx(2.0117, abs=1e-4)
    assert degrees(angle) == pytest.approx(-30.789, abs=1e-3)


TWO = [vector(7.2, 238), vector(13.5, 296)]
RUNS = [[vector(4.9, 114), vector(9.2, 347)], [vector(4.0, 79), vector(12.0, 292)]]


def test_two_plane_trial_runs():
    """Brüel & Kjær's two-plane example, 2.5 g trial masses: 2.95 g∠50.2° and 2.84 g∠−81.9°."""
    influence = influence_coefficients(TWO, RUNS, [2.5, 2.5])
    one, two = (polar(complex(m)) for m in correction_masses(TWO, influence))
    assert one == pytest.approx((2.95138, radians(50.1889)), abs=1e-4)
    assert two == pytest.approx((2.84414, radians(-81.8841)), abs=1e-4)


masses = st.complex_numbers(min_magnitude=0.5, max_magnitude=5)


@given(st.lists(masses, min_size=6, max_size=6), st.tuples(masses, masses))
@settings(deadline=None)
def test_corrections_cancel_what_a_linear_rotor_shows(numbers, heavy):
    matrix = np.array([[8 + numbers[0], numbers[1]], [numbers[2], 8 - numbers[3]]])
    first = matrix @ np.array(heavy)
    trial = np.array(numbers[4:])
    runs = first + (matrix * trial).T
    found = correction_masses(first, influence_coefficients(first, runs, trial))
    assert found == pytest.approx(-np.array(heavy), rel=1e-6, abs=1e-6)


def test_dependent_trial_runs_are_refused():
    same = [RUNS[0], RUNS[0]]
    with pytest.raises(InputError, match="linearly dependent"):
        correction_masses(TWO, influence_coefficients(TWO, same, [2.5, 2.5]))
    with pytest.raises(InputError, match="shows nothing"):
        influence_coefficients(TWO, RUNS, [2.5, 0.0])
    with pytest.raises(InputError, match="2 runs of 2 readings"):
        influence_coefficients(TWO, RUNS[:1], [2.5, 2.5])
    with pytest.raises(InputError, match="no number"):
        influence_coefficients([np.nan, 1.0], RUNS, [2.5, 2.5])
    with pytest.raises(InputError, match="as many pick-ups"):
        correction_masses([1.0], [[1.0, 2.0]])


angles = st.lists(st.integers(0, 35), min_size=3, max_size=12, unique=True)


@given(st.floats(0.1, 10), st.floats(-7, 7), angles)
@settings(deadline=None)
def test_two_angles_carry_a_correction_together(amount, angle, tens):
    wanted = rect(amount, angle)
    available = [radians(10 * ten) for ten in tens]
    places = np.sort(np.mod(available, 2 * pi))
    gaps = np.diff(np.append(places, places[0] + 2 * pi))
    if gaps.max() > radians(179):
        return
    pairs = split_into_angles(wanted, available)
    assert sum(rect(mass, place) for place, mass in pairs) == pytest.approx(wanted)
    assert all(mass >= -1e-9 for _, mass in pairs)


def test_angles_that_cannot_carry_it_are_refused():
    with pytest.raises(InputError, match="No two available angles"):
        split_into_angles(rect(1, pi), [0.0, 0.5])
    with pytest.raises(InputError, match="differ"):
        split_into_angles(1.0, [0.0, 0.0])
    assert split_into_angles(rect(2, pi / 2), [0.0, pi / 2]) == ((pi / 2, pytest.approx(2)),)


def test_bounds_of_the_allocation():
    near = allocate(1.0, 0.0, 1.0, 0.1)
    assert (near.plane_a, near.plane_b) == pytest.approx((0.7, 0.3))
    assert near.limited
    overhung = allocate(1.0, 0.0, 1.0, 1.2)
    assert (overhung.plane_a, overhung.plane_b) == pytest.approx((0.3, 1.2))
    # ISO 21940-11 (from memory): the levers are distances. 0.8 of the span outside A the planes
    # would get 1.8 and 0.8, and the first is held to 1.3.
    far = allocate(1.0, 0.0, 1.0, -0.8)
    assert (far.plane_a, far.plane_b) == pytest.approx((1.3, 0.8))
    assert far.limited
    turned = allocate(1.0, 1.0, 0.0, -0.2)
    assert (turned.plane_a, turned.plane_b) == pytest.approx((0.3, 1.2))
    assert allocate(1.0, 0.0, 1.0, 1.3).limited is False
    with pytest.raises(InputError, match="apart"):
        allocate(1.0, 0.5, 0.5, 0.5)


def test_moving_unbalance_keeps_force_and_moment():
    vectors, places = [1 + 2j, -3j, 0.5], [0.1, 0.4, 0.9]
    a, b = move_to_planes(vectors, places, 0.0, 0.5)
    assert a + b == pytest.approx(sum(vectors))
    assert b * 0.5 == pytest.approx(sum(v * z for v, z in zip(vectors, places, strict=True)))
    with pytest.raises(InputError):
        move_to_planes(vectors, places, 0.5, 0.5)


@given(st.floats(4e-3, 20e-3), st.floats(0.05, 0.1), st.floats(2e-3, 25e-3))
@settings(deadline=None)
def test_drilling_takes_what_it_says(diameter, radius, depth):
    """The hole's moment by adding up discs."""
    density, point = 7200.0, diameter / 2 / tan(radians(59))
    along = np.linspace(0, depth + point, 20_001)
    middle = (along[1:] + along[:-1]) / 2
    width = np.clip((depth + point - middle) / point, 0, 1) * diameter / 2
    taken = density * np.sum(pi * width**2 * (radius - middle)) * (along[1] - along[0])
    assert drilling_depth(taken, diameter, radius, density) == pytest.approx(depth, rel=1e-4)


def test_what_comes_out_of_a_hole():
    """12 mm drill, 118° point, 5 mm at full diameter in steel of 7850 kg/m³ from 80 mm, by hand.

    Point 6/tan 59° = 3.6052 mm. Cylinder 565.49 mm³ centred at 77.5 mm, cone 135.91 mm³ at
    80 − 5 − 0.9013 = 74.0987 mm: together 701.40 mm³, 5.5060 g, centred at 76.841 mm.
    """
    hole = drilled_hole(5.5060e-3 * 76.841e-3, 12e-3, 80e-3, 7850)
    assert hole.depth == pytest.approx(5e-3, rel=1e-3)
    assert hole.bottom == pytest.approx(71.395e-3, abs=5e-6)
    assert hole.mass == pytest.approx(5.506e-3, rel=1e-3)
    assert hole.centre == pytest.approx(76.841e-3, abs=5e-6)


def test_a_hole_that_cannot_take_enough_is_refused():
    with pytest.raises(InputError, match="at most"):
        drilling_depth(0.1, 0.01, 0.07, 7200)
    assert drilling_depth(0.0, 0.01, 0.07, 7200) == 0


def test_heavy_metal_adds_the_difference():
    """25 mm slug of 17 000 in steel of 7850 kg/m³ at 65 mm: 0.29 kg·mm a millimetre, by hand."""
    length = heavy_metal_length(2.919e-3, 0.025, 0.065, 7850, 17_000)
    assert length == pytest.approx(10e-3, rel=1e-3)
    with pytest.raises(InputError, match="denser"):
        heavy_metal_length(1e-3, 0.025, 0.065, 7850, 7200)
