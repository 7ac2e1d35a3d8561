"""Oil against the standards' own points."""

from __future__ import annotations

import pytest

from bedplate.errors import InputError
from bedplate.physics.oil import (
    CELSIUS,
    density,
    dynamic_viscosity,
    kinematic_viscosity,
    oil_from_viscosities,
    oil_of_grade,
    shear_loss,
    specific_heat,
    viscosity_at_40,
    viscosity_index,
)
from bedplate.physics.oil_grades import grade_limits, usual_viscosity_index

LIGHT = oil_from_viscosities((313.15, 32e-6), (373.15, 5.4e-6))


def test_walther_line_of_a_published_oil():
    # ISO VG 32 example, 32 mm²/s at 40 °C and 5.4 at 100 °C: A 9.5259, B 3.7449, 8.5 at 80 °C,
    # published with T = °C + 273; the 0.15 K move A and B in the fourth place.
    assert LIGHT.intercept == pytest.approx(9.5259, rel=1e-3)
    assert LIGHT.slope == pytest.approx(3.7449, rel=1e-3)
    assert kinematic_viscosity(LIGHT, 353.15) == pytest.approx(8.533e-6, rel=1e-3)


@pytest.mark.parametrize(
    ("celsius", "viscosity"),
    [(20, 276.73), (60, 45.274), (80, 24.129), (120, 9.533), (150, 5.749)],
)
def test_walther_line_by_an_independent_script(celsius, viscosity):
    # 100 mm²/s at 40 °C, 14.5 at 100 °C; a general package prints 45.27 and 5.75.
    oil = oil_from_viscosities((313.15, 100e-6), (373.15, 14.5e-6))
    assert kinematic_viscosity(oil, celsius + CELSIUS) == pytest.approx(viscosity * 1e-6, rel=2e-4)


def test_viscosity_index_of_the_standard():
    # ASTM D2270's own example: 73.30 and 8.86 mm²/s give 92 (92.43 unrounded).
    assert viscosity_index(73.30e-6, 8.86e-6) == pytest.approx(92.43, abs=0.1)


@pytest.mark.parametrize(
    ("at_40", "at_100", "index"),
    [(22.83, 5.05, 156), (53.47, 7.80, 111), (138.9, 18.1, 145)],
)
def test_viscosity_index_by_the_table(at_40, at_100, index):
    # First: the example of procedure B in ASTM D2270, from memory; the others by the tabled L and
    # H in the `chemicals` package, version 1.5.2. The parabolas differ from the table by 0.4.
    assert viscosity_index(at_40 * 1e-6, at_100 * 1e-6) == pytest.approx(index, abs=0.9)


@pytest.mark.parametrize("index", [0.0, 60.0, 99.9, 100.1, 150.0, 210.0])
@pytest.mark.parametrize("at_100", [2.1e-6, 5.4e-6, 10.9e-6, 24e-6, 90e-6])
def test_viscosity_index_turned(index, at_100):
    assert viscosity_index(viscosity_at_40(at_100, index), at_100) == pytest.approx(index, abs=1e-6)


@pytest.mark.parametrize(
    ("celsius", "value"), [(15, 870.0), (40, 854.22), (100, 815.78), (150, 783.28)]
)
def test_density_of_table_54d(celsius, value):
    # ASTM D1250-80 table 54D constants (K0 0, K1 0.6278), 870 kg/m³ at 15 °C.
    assert density(LIGHT, celsius + CELSIUS) == pytest.approx(value, abs=0.01)


def test_heat_of_oil_against_the_plain_bearing_standard():
    # ISO 7902-1 uses ρc = 1.8e6 J/(m³·K) throughout, from memory; within 5 % near 90 °C.
    oil = oil_of_grade("10W-40")
    assert specific_heat(oil, 363.15) * density(oil, 363.15) == pytest.approx(1.8e6, rel=0.05)


def test_grades_of_2015():
    # SAE J300, January 2015, table 1.
    limits = grade_limits("5W-30")
    assert (limits.kinematic_least, limits.kinematic_below) == pytest.approx((9.3e-6, 12.5e-6))
    assert limits.high_shear_least == pytest.approx(2.9e-3)
    assert limits.winter is not None
    assert limits.winter.cranking_most == pytest.approx(6.6)
    assert limits.winter.cranking_temperature == pytest.approx(243.15)
    assert limits.winter.pumping_most == pytest.approx(60.0)
    assert "2015" in limits.edition


@pytest.mark.parametrize(
    ("grade", "least"),
    [("10W-40", 3.5), ("15W-40", 3.7), ("SAE 40", 3.7), ("0W-16", 2.3), ("0W-8", 1.7)],
)
def test_high_shear_of_a_40_depends_on_its_winter_grade(grade, least):
    assert grade_limits(grade).high_shear_least == pytest.approx(least * 1e-3)


@pytest.mark.parametrize("grade", ["0W-16", "5W-30", "10W-40", "15W-40", "20W-50", "30", "60"])
def test_oil_of_a_grade_meets_its_grade(grade):
    oil, limits = oil_of_grade(grade), grade_limits(grade)
    hot = kinematic_viscosity(oil, 373.15)
    assert limits.kinematic_below is not None
    assert limits.kinematic_least <= hot < limits.kinematic_below
    index = viscosity_index(kinematic_viscosity(oil, 313.15), hot)
    assert index == pytest.approx(usual_viscosity_index(grade), abs=1e-6)


def test_shear_goes_through_the_high_shear_point_and_no_further():
    oil = oil_of_grade("10W-40")
    low = dynamic_viscosity(oil, 423.15)
    assert dynamic_viscosity(oil, 423.15, 1e6) == pytest.approx(3.5e-3, rel=1e-9)
    assert dynamic_viscosity(oil, 423.15, 1e8) == pytest.approx(3.5e-3, rel=1e-9)
    assert 3.5e-3 < dynamic_viscosity(oil, 423.15, 1e5) < low
    # Colder oil is thicker, so the same rate thins it more.
    assert dynamic_viscosity(oil, 353.15, 3e5) / dynamic_viscosity(oil, 353.15) < (
        dynamic_viscosity(oil, 423.15, 3e5) / low
    )


def test_shear_loss_closed_form():
    # Cross with exponent 1 through (1, r): half way in reduced rate gives 2r/(1 + r).
    assert shear_loss(0.5, 0.7) == pytest.approx(2 * 0.7 / 1.7)
    assert shear_loss(0.0, 0.7) == 1.0


def test_an_oil_measured_without_thickener_does_not_thin():
    assert dynamic_viscosity(LIGHT, 350.0, 1e6) == dynamic_viscosity(LIGHT, 350.0)


@pytest.mark.parametrize(
    "deed",
    [
        lambda: oil_from_viscosities((313.15, 5e-6), (373.15, 32e-6)),
        lambda: oil_from_viscosities((313.15, 32e-6), (315.15, 31e-6)),
        lambda: oil_from_viscosities((313.15, 32e-6), (373.15, 5.4e-6), density_at_15=87.0),
        lambda: oil_from_viscosities((313.15, 32e-6), (373.15, 5.4e-6), high_shear_viscosity=1e-2),
        lambda: oil_from_viscosities((273.15, 3e-4), (303.15, 5e-5), high_shear_viscosity=2e-3),
        lambda: oil_from_viscosities((313.15, 32e-6), (373.15, float("nan"))),
        lambda: oil_of_grade("10W"),
        lambda: grade_limits("7W-30"),
        lambda: grade_limits("thick"),
        lambda: grade_limits(""),
        lambda: kinematic_viscosity(LIGHT, 500.0),
        lambda: density(LIGHT, 200.0),
        lambda: viscosity_index(5e-6, 8e-6),
        lambda: viscosity_at_40(1e-6, 100.0),
        lambda: viscosity_at_40(1e-5, 900.0),
    ],
)
def test_refused(deed):
    with pytest.raises(InputError):
        deed()
