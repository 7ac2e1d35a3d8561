"""The journal bearing at rest in its load, against published tables and closed forms."""

from __future__ import annotations

from math import atan2, cos, degrees, hypot, pi, radians, sin, sqrt

import numpy as np
import pytest

from bedplate.errors import InputError
from bedplate.physics.reynolds import (
    Groove,
    film_mobility,
    film_pressure,
    steady_bearing,
    steady_eccentricity,
    steady_grooved_bearing,
)
from bedplate.physics.short_bearing import (
    exact_short_mobility,
    short_mobility,
    short_squeeze_time,
    short_steady_bearing,
    speed_factor,
)

# Raimondi and Boyd (1958), full bearing, by its public reprints: S and friction as printed there;
# attitude, flow and pressure from memory and found again by an independent solver. S at L/D 1,
# ε 0.4 is printed 0.264, which its own friction does not bear; 0.2605 does.
RAIMONDI_BOYD = [
    # L/D, ε, S, attitude °, (R/c)f, Q/(RcNL), Qs/Q, P/pmax
    (1.0, 0.1, 1.33, 79.5, 26.4, 3.37, 0.150, 0.540),
    (1.0, 0.2, 0.631, 74.02, 12.8, 3.59, 0.280, 0.529),
    (1.0, 0.4, 0.2605, 63.10, 5.79, 3.99, 0.497, 0.484),
    (1.0, 0.6, 0.121, 50.58, 3.22, 4.33, 0.680, 0.415),
    (1.0, 0.8, 0.0446, 36.24, 1.70, 4.62, 0.842, 0.313),
    (1.0, 0.9, 0.0188, 26.45, 1.05, 4.74, 0.919, 0.247),
    (1.0, 0.97, 0.00474, 15.47, 0.514, 4.82, 0.973, 0.152),
    (0.5, 0.1, 4.31, 81.62, 85.6, 3.43, 0.173, 0.523),
    (0.5, 0.2, 2.03, 74.94, 40.9, 3.72, 0.318, 0.506),
    (0.5, 0.4, 0.779, 61.45, 17.0, 4.29, 0.552, 0.441),
    (0.5, 0.6, 0.319, 48.14, 8.10, 4.85, 0.730, 0.365),
    (0.5, 0.8, 0.0923, 33.31, 3.26, 5.41, 0.874, 0.267),
    (0.5, 0.9, 0.0313, 23.66, 1.60, 5.69, 0.939, 0.206),
    (0.5, 0.97, 0.00609, 13.75, 0.610, 5.88, 0.980, 0.126),
]


@pytest.mark.parametrize("row", RAIMONDI_BOYD)
def test_raimondi_and_boyd(row):
    # 2 % on S and 5 % on the peak: their mesh of 1958 was coarse at the highest eccentricity.
    ratio, eccentricity, sommerfeld, attitude, friction, flow, side, peak = row
    found = steady_bearing(eccentricity, ratio)
    assert found.sommerfeld == pytest.approx(sommerfeld, rel=0.02)
    assert degrees(found.attitude) == pytest.approx(attitude, abs=0.55)
    assert found.friction == pytest.approx(friction, rel=0.02)
    assert found.flow == pytest.approx(flow, rel=0.005)
    assert found.side_flow / found.flow == pytest.approx(side, abs=0.005)
    assert 1 / found.peak == pytest.approx(peak, rel=0.065)


@pytest.mark.parametrize(
    ("eccentricity", "sommerfeld"),
    [(0.1, 0.240), (0.2, 0.123), (0.4, 0.0626), (0.6, 0.0389), (0.8, 0.021), (0.9, 0.0115)],
)
def test_the_endless_bearing(eccentricity, sommerfeld):
    # Raimondi and Boyd, L/D infinite, from memory; a width of 1000 diameters stands for it.
    found = steady_bearing(eccentricity, 1000.0, around=180, across=129)
    assert found.sommerfeld == pytest.approx(sommerfeld, rel=0.012)


def test_worked_design():
    # Shigley, Mechanical Engineering Design, examples 12-1 to 12-4, from memory: S 0.135, L/D 1;
    # read from charts: film 0.42 c, attitude 53°, (R/c)f 3.50, Q 4.28, Qs/Q 0.655, P/pmax 0.42.
    eccentricity = steady_eccentricity(0.135, 1.0)
    found = steady_bearing(eccentricity, 1.0)
    assert 1 - eccentricity == pytest.approx(0.42, abs=0.01)
    assert degrees(found.attitude) == pytest.approx(53.0, abs=1.0)
    assert found.friction == pytest.approx(3.50, rel=0.01)
    assert found.flow == pytest.approx(4.28, rel=0.005)
    assert found.side_flow / found.flow == pytest.approx(0.655, abs=0.005)
    assert 1 / found.peak == pytest.approx(0.42, abs=0.01)


OCVIRK = [
    # ε, S(L/D)², attitude °: closed form, checked by a quadrature of its own.
    (0.1, 0.98998, 82.708),
    (0.3, 0.27218, 68.178),
    (0.5, 0.106049, 53.680),
    (0.7, 0.032964, 38.704),
    (0.9, 0.0033149, 20.826),
    (0.95, 0.00081, 14.475),
]


@pytest.mark.parametrize(("eccentricity", "modified", "attitude"), OCVIRK)
def test_ocvirk(eccentricity, modified, attitude):
    found = short_steady_bearing(eccentricity, 0.5)
    assert found.modified_sommerfeld == pytest.approx(modified, rel=1e-4, abs=5e-6)
    assert found.sommerfeld == pytest.approx(4 * found.modified_sommerfeld)
    assert degrees(found.attitude) == pytest.approx(attitude, abs=1e-3)


def test_friswell_example_5_5_1():
    # Friswell, Penny, Garvey and Lees, Dynamics of Rotating Machines (2010), p. 181: D 100 mm,
    # L 30 mm, c 0.1 mm, 0.1 Pa·s, 1500 rev/min, 525 N give ε 0.2663 and S 3.5714.
    speed, load = 1500 / 60, 525.0
    sommerfeld = 0.1 * speed * 0.1 * 0.03 / load * (0.05 / 1e-4) ** 2
    assert sommerfeld == pytest.approx(3.5714, rel=1e-4)
    found = short_steady_bearing(0.266298, 0.3)
    assert found.sommerfeld == pytest.approx(sommerfeld, rel=1e-4)
    assert degrees(found.attitude) == pytest.approx(70.6, abs=0.05)
    assert found.load * 0.1 * speed * 2 * pi * 0.05 * 0.03 * 500**2 == pytest.approx(load, rel=1e-4)
    # The finite bearing carries less at the same eccentricity: it rides lower in its clearance.
    assert 0.2663 < steady_eccentricity(sommerfeld, 0.3) < 0.28


@pytest.mark.parametrize("eccentricity", [0.1, 0.5, 0.8, 0.9])
def test_a_narrow_bearing_is_a_short_bearing(eccentricity):
    # Closed form; the width goes to 0. What is left falls with (L/D)², faster at thin films.
    found = steady_bearing(eccentricity, 0.01, around=360)
    exact = short_steady_bearing(eccentricity, 0.01)
    assert found.sommerfeld == pytest.approx(exact.sommerfeld, rel=2e-3)
    assert found.attitude == pytest.approx(exact.attitude, abs=1e-3)
    assert found.side_flow == pytest.approx(exact.side_flow, rel=2e-3)


def test_friction_does_the_work_that_turns_to_heat():
    # The identity holds of the closed form of the short bearing at any eccentricity; at ε 0 it is
    # Petroff's law, f R/c = 2π²S.
    found = short_steady_bearing(1e-4, 0.5)
    assert found.friction == pytest.approx(2 * pi**2 * found.sommerfeld, rel=1e-6)


@pytest.mark.parametrize("eccentricity", [0.3, 0.8, 0.95, 0.99])
@pytest.mark.parametrize("ratio", [0.2, 1.0, 1.5])
def test_mesh_converges(eccentricity, ratio):
    # Second order: the answer of the mesh of 72 × 9 is within 1.5 % of a fine one at 0.99, and a
    # mesh of twice the nodes takes away more than half of that.
    found = [
        film_pressure(eccentricity, ratio, (0.2, -1.0), around=n, across=m).load
        for n, m in ((72, 9), (144, 17), (576, 65))
    ]
    sizes = [hypot(*load) for load in found]
    coarse, middle = (abs(size / sizes[2] - 1) for size in sizes[:2])
    assert coarse < 0.015
    assert middle < max(0.5 * coarse, 1e-3)


def gauss_seidel(n, m, eccentricity, ratio, velocity, held):
    """Return load and peak by projected Gauss-Seidel on an even mesh; rows held stay at 0."""
    step, gap = 2 * pi / n, 1 / m
    theta = np.arange(n) * step
    face = (1 - eccentricity * np.cos(theta + step / 2)) ** 3 / step**2
    axial = (1 - eccentricity * np.cos(theta)) ** 3 / ratio**2 / gap**2
    source = 12 * (velocity[0] * np.cos(theta) + velocity[1] * np.sin(theta))
    p = np.zeros((n, m + 1))
    for _ in range(1500):
        before = p.copy()
        for i in np.flatnonzero(~held):
            for j in range(m):
                inner = p[i, j - 1] if j else p[i, 1]
                near = face[i] * p[(i + 1) % n, j] + face[i - 1] * p[i - 1, j]
                total = source[i] + near + axial[i] * (inner + p[i, j + 1])
                p[i, j] = max(0.0, total / (face[i] + face[i - 1] + 2 * axial[i]))
        if np.abs(p - before).max() < 1e-7 * p.max():
            break
    line = (p[:, 0] + p[:, -1] + 4 * p[:, 1:-1:2].sum(1) + 2 * p[:, 2:-1:2].sum(1)) * gap / 3
    return (line @ np.cos(theta) * step / 2, line @ np.sin(theta) * step / 2), p.max()


def test_pressure_holds_the_boundary_of_swift_and_stieber():
    # Independent path: projected Gauss-Seidel on the same equation at an even, coarse mesh.
    load, peak = gauss_seidel(48, 8, 0.5, 0.7, (0.6, -0.8), np.zeros(48, bool))
    found = film_pressure(0.5, 0.7, (0.6, -0.8), around=240, across=33)
    assert found.load == pytest.approx(load, rel=4e-3)
    assert found.peak * hypot(*found.load) == pytest.approx(peak, rel=4e-3)
    assert found.pressure.min() >= 0.0


EXACT_SHORT = [
    # Along, across the load: mobility of the half film by quadrature, and Booker's fit; L/D 1.
    ((0.0, 0.0), (0.31831, 0.0), (0.31831, 0.0)),
    ((0.5, 0.0), (0.05485, 0.0), (0.05627, 0.0)),
    ((0.3, 0.4), (0.13234, -0.09717), (0.13050, -0.09494)),
    ((0.4, -0.3), (0.08880, 0.05791), (0.08876, 0.05651)),
    ((0.6, 0.6), (0.03455, -0.06566), (0.03221, -0.06152)),
    ((0.2, 0.8), (0.19566, -0.24330), (0.18221, -0.23200)),
]


@pytest.mark.parametrize(("place", "exact", "fit"), EXACT_SHORT)
def test_short_mobility(place, exact, fit):
    assert short_mobility(*place, 1.0) == pytest.approx(fit, abs=6e-6)
    assert exact_short_mobility(*place, 1.0) == pytest.approx(exact, abs=6e-6)


@pytest.mark.parametrize("place", [place for place, _, _ in EXACT_SHORT])
def test_mobility_of_a_narrow_film_is_the_short_one(place):
    along, across = place
    eccentricity, angle = hypot(along, across), -atan2(across, along)
    found = film_mobility(eccentricity, 0.02, angle, around=240, across=17).mobility
    turned = (
        found[0] * cos(angle) + found[1] * sin(angle),
        found[1] * cos(angle) - found[0] * sin(angle),
    )
    exact = exact_short_mobility(along, across, 0.02)
    assert turned == pytest.approx(exact, rel=3e-3, abs=1e-3 * hypot(*exact))


@pytest.mark.parametrize("angle", [0.0, 40.0, 90.0, 150.0, 180.0, -70.0])
@pytest.mark.parametrize("eccentricity", [0.0, 0.5, 0.95])
def test_mobility_is_the_pressure_solve_turned_round(eccentricity, angle):
    mobility = film_mobility(eccentricity, 0.6, radians(angle)).mobility
    load = film_pressure(eccentricity, 0.6, mobility).load
    assert load == pytest.approx((cos(radians(angle)), sin(radians(angle))), abs=1e-9)


def test_squeeze_closed_form():
    # πε/(1 − ε²)^1.5 against a quadrature of its own: 2.418399 and 34.139879.
    assert short_squeeze_time(0.0, 0.5) == pytest.approx(2.418399, abs=1e-6)
    assert short_squeeze_time(0.0, 0.9) == pytest.approx(34.139879, abs=1e-6)
    # 0.01 Pa·s, R 25 mm, L 20 mm, 5 kN, c 25 µm: 21.85 ms.
    unit = 0.01 * 0.025 * 0.02**3 / (5000 * 25e-6**2)
    assert short_squeeze_time(0.0, 0.9) * unit == pytest.approx(21.85e-3, abs=5e-6)


def test_half_film_squeeze_closed_form():
    # Half film by quadrature: 1.945599 and 33.501701 for 0 → 0.5 and 0 → 0.9; dε/dτ is πM of the
    # fit's unit, τ over μRL³/(Wc²) being 1/(2 M (L/D)²) a unit of ε.
    nodes, weights = np.polynomial.legendre.leggauss(40)
    for end, expected in ((0.5, 1.945599), (0.9, 33.501701)):
        places = end / 2 * (nodes + 1)
        rates = [0.5 / exact_short_mobility(place, 0.0, 1.0)[0] for place in places]
        assert end / 2 * float(weights @ rates) == pytest.approx(expected, rel=1e-6)


def test_a_load_that_turns_at_half_speed_finds_no_wedge():
    assert speed_factor(50.0, 100.0) == 0.0
    assert speed_factor(0.0, 100.0) == speed_factor(100.0, 100.0) == 1.0
    assert speed_factor(25.0, 100.0) == 0.5


def test_a_groove_all_round_makes_two_narrow_bearings():
    # Each land of (B − b)/2 carries its own half: same pressures, half the width ratio.
    groove = Groove(0.2, 0.0, 2 * pi)
    whole = film_pressure(0.7, 0.5, (0.0, -0.7), around=120, across=65, groove=groove)
    land = film_pressure(0.7, 0.2, (0.0, -0.7), around=120, across=33)
    # Both lands over the whole width: 0.8 of the pressure.
    assert whole.load == pytest.approx(tuple(0.8 * w for w in land.load), rel=4e-3)


def test_a_groove_on_the_idle_side_changes_little():
    plain = film_mobility(0.9, 0.4, radians(20.0))
    away = film_mobility(0.9, 0.4, radians(20.0), groove=Groove(0.2, radians(110), pi))
    under = film_mobility(0.9, 0.4, radians(20.0), groove=Groove(0.2, radians(-70), pi))
    assert away.mobility == pytest.approx(plain.mobility, rel=0.1)
    assert hypot(*under.mobility) > 1.5 * hypot(*plain.mobility)


def test_a_groove_along_the_widest_film_is_the_published_feed():
    # Raimondi and Boyd feed where the film is widest: a groove there, with the film free to begin
    # anywhere else, is the same bearing.
    fed = steady_bearing(0.6, 1.0)
    opposite = pi + fed.attitude
    found = steady_grooved_bearing(0.6, 1.0, (Groove(1.0, opposite, 0.0),))
    assert found.sommerfeld == pytest.approx(fed.sommerfeld, rel=1e-3)
    assert found.attitude == pytest.approx(fed.attitude, abs=1e-3)
    assert found.friction == pytest.approx(fed.friction, rel=1e-3)


def test_two_grooves_along_the_axis_by_gauss_and_seidel():
    # Independent path: the loop of above on an even mesh, with the rows of two grooves of 20° at
    # right angles to the load held at 0, at the attitude that was found.
    grooves = tuple(Groove(1.0, radians(side - 10), radians(20)) for side in (90, -90))
    found = steady_grooved_bearing(0.5, 0.5, grooves, around=240, across=33)
    degrees_from_load = np.degrees(np.arange(72) * 2 * pi / 72 + found.attitude)
    held = np.abs(np.abs((degrees_from_load + 180) % 360 - 180) - 90) <= 10
    load, _ = gauss_seidel(72, 8, 0.5, 0.5, (0.0, -0.5), held)
    assert 1 / (pi * hypot(*load)) == pytest.approx(found.sommerfeld, rel=0.03)
    assert atan2(-load[1], load[0]) == pytest.approx(found.attitude, abs=0.03)
    # They take from the plain bearing: it carries more at the same eccentricity.
    plain = steady_bearing(0.5, 0.5, begins_at_widest=False)
    assert plain.sommerfeld < found.sommerfeld < 1.6 * plain.sommerfeld


def test_side_flow_of_pure_squeeze():
    # At ε 0 a narrow film is pressed on its half turn: 2RLcV out, cΩRL the unit.
    assert film_pressure(0.0, 0.02, (1.0, 0.0), around=360).side_flow == pytest.approx(
        2.0, rel=1e-3
    )


def test_a_film_that_cannot_carry():
    assert np.isnan(steady_eccentricity(1e-9, 0.5))


@pytest.mark.parametrize(
    "deed",
    [
        lambda: film_pressure(0.9995, 1.0, (1.0, 0.0)),
        lambda: film_pressure(-0.1, 1.0, (1.0, 0.0)),
        lambda: film_pressure(0.5, 2.0, (1.0, 0.0)),
        lambda: film_pressure(0.5, 1.0, (0.0, 0.0)),
        lambda: film_pressure(0.5, 1.0, (float("nan"), 0.0)),
        lambda: film_pressure(0.5, 1.0, (1.0, 0.0), around=71),
        lambda: film_pressure(0.5, 1.0, (1.0, 0.0), across=8),
        lambda: film_pressure(0.5, 1.0, (1.0, 0.0), groove=Groove(0.9, 0.0, 1.0)),
        lambda: film_pressure(0.5, 1.0, (1.0, 0.0), groove=Groove(0.2, float("nan"), 1.0)),
        lambda: film_pressure(
            0.5, 1.0, (1.0, 0.0), groove=(Groove(0.2, 0.0, 1.0), Groove(0.3, 2.0, 1.0))
        ),
        lambda: steady_grooved_bearing(0.0, 1.0, ()),
        lambda: steady_bearing(0.0, 1.0),
        lambda: steady_bearing(0.5, 2.0, begins_at_widest=False),
        lambda: steady_eccentricity(-1.0, 1.0),
        lambda: short_steady_bearing(1.0, 1.0),
        lambda: short_steady_bearing(0.5, 0.0),
        lambda: short_mobility(0.8, 0.8, 1.0),
        lambda: short_squeeze_time(0.5, 1.0),
        lambda: speed_factor(1.0, 2.0, -2.0),
    ],
)
def test_refused(deed):
    with pytest.raises(InputError):
        deed()


def test_the_closed_forms_agree_with_each_other():
    # A steady load held by the exact short mobility sits where Ocvirk says: V across e is −ε.
    eccentricity = 0.6
    found = short_steady_bearing(eccentricity, 0.5)
    # Load over μΩ(R/c)²LD with Ω half the journal's speed: 1/(πS).
    load = 1 / (pi * found.sommerfeld)
    along, across = eccentricity * cos(found.attitude), -eccentricity * sin(found.attitude)
    mobility = exact_short_mobility(along, across, 0.5)
    speed = sqrt(mobility[0] ** 2 + mobility[1] ** 2) * load
    assert speed == pytest.approx(eccentricity, rel=1e-6)
