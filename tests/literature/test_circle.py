"""Circles, cylinders and run-out against published data and closed forms."""

from __future__ import annotations

from math import pi, radians

import numpy as np
import pytest
from scipy.optimize import least_squares

from bedplate.errors import NotPossibleError
from bedplate.metrology.circle import (
    least_squares_circle,
    least_squares_cylinder,
    profile_from_indicator,
    runout,
)

TURN = np.linspace(0.0, 2 * pi, 73)[:-1]


def test_published_geometric_fit():
    # Gander, Golub, Strebel, "Least-squares fitting of circles and ellipses", BIT 34 (1994) 558:
    # centre (4.7398, 2.9835), radius 4.7142; Σd² 1.2276 recomputed. Four places, as printed.
    circle = least_squares_circle([1, 2, 5, 7, 9, 3], [7, 6, 8, 7, 5, 7])
    assert circle.centre == pytest.approx((4.7398, 2.9835), abs=5e-5)
    assert circle.radius == pytest.approx(4.7142, abs=5e-5)
    # Recomputed to six places with an independent minimiser.
    assert (*circle.centre, circle.radius) == pytest.approx(
        (4.739782, 2.983533, 4.714226), abs=1e-6
    )
    assert sum(d * d for d in circle.residuals) == pytest.approx(1.227599, abs=1e-6)


def three_lobes():
    # Journal of 50 mm with 4 µm of third harmonic, 0.020 and −0.010 mm off the axis (mm).
    r = 25.0 + 0.004 * np.cos(3 * TURN)
    return 0.020 + r * np.cos(TURN), -0.010 + r * np.sin(TURN)


def test_three_lobed_part_by_its_points():
    # Closed form: the third harmonic neither moves the least-squares centre nor hides; RONt = 8 µm.
    circle = least_squares_circle(*three_lobes())
    assert circle.centre == pytest.approx((0.020, -0.010), abs=1e-6)
    assert circle.roundness == pytest.approx(0.008, abs=1e-6)


def test_three_lobed_part_is_round_to_a_two_point_gauge():
    # Closed form: r(θ) + r(θ + π) is constant for any odd harmonic.
    radius = 25.0 + 0.004 * np.cos(3 * TURN)
    diameters = radius + np.roll(radius, len(TURN) // 2)
    assert np.ptp(diameters) < 1e-12


def test_three_lobed_part_under_an_indicator():
    # Limaçon approximation, exact here to the second order of eccentricity over radius: 10 nm.
    theta = np.arctan2(*reversed(three_lobes()))
    readings = np.hypot(*three_lobes())
    circle = profile_from_indicator(theta, readings)
    assert circle.centre == pytest.approx((0.020, -0.010), abs=2e-5)
    assert circle.roundness == pytest.approx(0.008, abs=3e-5)


def test_run_out_of_a_round_journal_is_twice_its_eccentricity():
    # Closed form for a circle off its axis by e: total indicator reading 2e.
    readings = (0.015 * np.cos(TURN)).tolist()
    assert runout(readings) == pytest.approx(0.030, abs=1e-4)


def test_exact_cylinder():
    # Points made on a cylinder; nothing to fit but rounding.
    cylinder = least_squares_cylinder(tilted(np.full((4, len(TURN)), 27.5)))
    assert cylinder.radius == pytest.approx(27.5, abs=1e-9)
    assert cylinder.cylindricity < 1e-9
    assert cylinder.direction == pytest.approx(tuple(TILT[:, 2]), abs=1e-9)


def test_cylinder_by_an_independent_minimiser():
    # scipy.optimize.least_squares on its own statement of the distance from an axis.
    rng = np.random.default_rng(7)
    points = np.array(tilted(27.5 + rng.normal(0.0, 0.003, (4, len(TURN)))))

    def distances(p):
        axis = np.array([np.sin(p[2]) * np.cos(p[3]), np.sin(p[2]) * np.sin(p[3]), np.cos(p[2])])
        away = points - np.array([p[0], p[1], 0.0])
        return np.linalg.norm(away - np.outer(away @ axis, axis), axis=1) - p[4]

    start = [2.0, -1.0, 0.05, 0.3, 27.0]
    other = least_squares(distances, start, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    cylinder = least_squares_cylinder([tuple(p) for p in points])
    assert cylinder.radius == pytest.approx(other.x[4], abs=1e-7)
    assert cylinder.cylindricity == pytest.approx(np.ptp(other.fun), abs=1e-6)


ANGLE, TOWARD = 0.06, radians(20)
TILT = np.array(
    [
        [np.cos(ANGLE) * np.cos(TOWARD), -np.sin(TOWARD), np.sin(ANGLE) * np.cos(TOWARD)],
        [np.cos(ANGLE) * np.sin(TOWARD), np.cos(TOWARD), np.sin(ANGLE) * np.sin(TOWARD)],
        [-np.sin(ANGLE), 0.0, np.cos(ANGLE)],
    ]
)


def tilted(radii):
    points = [
        (r * np.cos(t), r * np.sin(t), z)
        for z, row in zip((-9.0, -3.0, 3.0, 9.0), radii, strict=True)
        for t, r in zip(TURN, row, strict=True)
    ]
    return [tuple(p) for p in np.array(points) @ TILT.T + np.array([2.0, -1.0, 0.0])]


@pytest.mark.parametrize("points", [[(0, 0), (1, 1)], [(0, 0), (1, 1), (2, 2), (3, 3)]])
def test_points_that_fix_no_circle(points):
    with pytest.raises(NotPossibleError):
        least_squares_circle(*zip(*points, strict=True))


def test_points_that_fix_no_cylinder():
    flat = [(x, y, 0.0) for x in (0.0, 1.0, 2.0) for y in (0.0, 1.0, 3.0)]
    with pytest.raises(NotPossibleError):
        least_squares_cylinder(flat)


def test_an_indicator_needs_three_places():
    with pytest.raises(NotPossibleError):
        profile_from_indicator([0.0, pi], [0.0, 1e-5])
