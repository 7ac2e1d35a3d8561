"""Unit factors, conversions and printed pairs held to sources outside the program."""

import math
from fractions import Fraction

import pint
import pytest

from bedplate.errors import QuantityError
from bedplate.quantity import UNITS, Dimension, Unit, parse, parse_range

# NIST SP 811 (2008), appendix B.8, as printed: seven digits, or exact where fewer. Force and torque
# rows were read in a copy of the table; the others are from memory of it.
NIST_SP_811 = [
    ("1 in", 2.54e-2),
    ("1 ft", 3.048e-1),
    ("1 thou", 2.54e-5),
    ("1 µin", 2.54e-8),
    ("1 µm", 1e-6),
    ("1 lb", 4.535924e-1),
    ("1 oz", 2.834952e-2),
    ("1 lbf", 4.448222),
    ("1 ozf", 2.780139e-1),
    ("1 kgf", 9.80665),
    ("1 kp", 9.80665),
    ("1 lbf·ft", 1.355818),
    ("1 lbf·in", 1.129848e-1),
    ("1 ozf·in", 7.061552e-3),
    ("1 kgf·m", 9.80665),
    ("1 psi", 6.894757e3),
    ("1 bar", 1e5),
    ("1 mbar", 1e2),
    ("1 kgf/cm²", 9.80665e4),
    ("1 in³", 1.638706e-5),
    ("1 l", 1e-3),
    ("1 rpm", 1.047198e-1),
    ("1 deg", 1.745329e-2),
    ("1 turn", 6.283185),
    ("1 min", 60.0),
    ("1 h", 3600.0),
]


@pytest.mark.parametrize(("text", "factor"), NIST_SP_811)
def test_factors_as_nist_sp_811_prints_them(text, factor):
    assert parse(text).value == pytest.approx(factor, rel=5e-7)


# Exact by definition: yard and pound agreement of 1959 and standard gravity (CGPM 1901), NIST SP
# 811 appendix B.6 and B.8 (bold type).
@pytest.mark.parametrize(
    ("symbol", "exact"),
    [
        ("in", "0.0254"),
        ("lb", "0.45359237"),
        ("oz", "0.028349523125"),
        ("lbf", "4.4482216152605"),
        ("in³", "0.000016387064"),
        ("lbf·ft", "1.3558179483314004"),
        ("lbf·in", "0.1129848290276167"),
        ("kgf·m", "9.80665"),
        ("oz·in", "0.000720077887375"),
    ],
)
def test_exact_factors(symbol, exact):
    assert next(u for u in UNITS if u.symbol == symbol).factor == Fraction(exact)


PINT_NAMES = {
    "Hz": "turn/second",  # pint takes hertz for rad/s; of a vibration it is turns
    "µm": "micrometer", "in": "inch", "thou": "thou", "tenth": "1e-4 inch", "µin": "microinch",
    "ft": "foot", "°": "degree", "rad": "radian", "oz": "ounce", "lb": "pound", "min": "minute",
    "h": "hour", "µm/(m·K)": "micrometer/meter/kelvin", "1/K": "1/kelvin",
    "µin/(in·°F)": "microinch/inch/delta_degF", "1/°F": "1/delta_degF", "lbf": "force_pound",
    "kgf": "force_kilogram", "ozf": "force_ounce", "lbf·ft": "force_pound*foot",
    "lbf·in": "force_pound*inch", "ozf·in": "force_ounce*inch", "N·m": "newton*meter",
    "N·cm": "newton*centimeter", "daN·m": "decanewton*meter", "kgf·m": "force_kilogram*meter",
    "kgf·cm": "force_kilogram*centimeter", "kgf/cm²": "force_kilogram/centimeter**2",
    "cm³": "centimeter**3", "mm³": "millimeter**3", "m³": "meter**3", "in³": "inch**3",
    "l": "liter", "rpm": "revolution/minute", "rad/s": "radian/second", "g·mm": "gram*millimeter",
    "g·cm": "gram*centimeter", "g·in": "gram*inch", "oz·in": "ounce*inch",
    "kg·m": "kilogram*meter", "kg·mm": "kilogram*millimeter", "kg·cm": "kilogram*centimeter",
    "%": "percent", "ppm": "ppm", ":1": "dimensionless", "m/s": "meter/second",
    "ft/min": "foot/minute", "m/s²": "meter/second**2", "ft/s²": "foot/second**2",
    "kg/m³": "kilogram/meter**3", "g/cm³": "gram/centimeter**3", "mPa·s": "centipoise",
    "Pa·s": "pascal*second", "mm²/s": "centistokes",
}  # fmt: skip
SI_UNITS = {
    Dimension.LENGTH: "meter",
    Dimension.ANGLE: "radian",
    Dimension.MASS: "kilogram",
    Dimension.TIME: "second",
    Dimension.TEMPERATURE: "kelvin",
    Dimension.TEMPERATURE_DIFFERENCE: "kelvin",
    Dimension.EXPANSION: "1/kelvin",
    Dimension.FORCE: "newton",
    Dimension.TORQUE: "newton*meter",
    Dimension.PRESSURE: "pascal",
    Dimension.VOLUME: "meter**3",
    Dimension.ROTATION: "radian/second",
    Dimension.UNBALANCE: "kilogram*meter",
    Dimension.RATIO: "dimensionless",
    Dimension.VELOCITY: "meter/second",
    Dimension.ACCELERATION: "meter/second**2",
    Dimension.DENSITY: "kilogram/meter**3",
    Dimension.VISCOSITY: "pascal*second",
    Dimension.KINEMATIC_VISCOSITY: "meter**2/second",
    Dimension.INERTIA: "kilogram*meter**2",
    Dimension.TORSIONAL_STIFFNESS: "newton*meter/radian",
    Dimension.TORSIONAL_DAMPING: "newton*meter*second/radian",
}


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry()


def pint_name(unit: Unit) -> str:
    if unit.dimension is Dimension.TEMPERATURE:
        return {"°C": "degC", "°F": "degF", "K": "kelvin"}[unit.symbol]
    if unit.dimension is Dimension.TEMPERATURE_DIFFERENCE:
        return {"°C": "delta_degC", "°F": "delta_degF", "K": "kelvin"}[unit.symbol]
    return PINT_NAMES.get(unit.symbol, unit.symbol)


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: f"{unit.symbol} {unit.dimension.value}")
def test_every_unit_against_pint(unit, registry):
    theirs = registry.Quantity(17.25, registry.parse_expression("1").units)
    name, scale = pint_name(unit), 1.0
    if name.startswith("1e-4 "):
        scale, name = 1e-4, name.removeprefix("1e-4 ")
    if name.startswith("1/"):
        theirs = 17.25 / registry.Quantity(1, name.removeprefix("1/"))
    else:
        theirs = registry.Quantity(17.25 * scale, name)
    number = "17.25" if unit.symbol != ":1" else "17.25 "
    ours = parse(f"{number} {unit.symbol}", unit.dimension)
    assert ours.value == pytest.approx(theirs.to(SI_UNITS[unit.dimension]).magnitude, rel=1e-12)


# Workshop equalities worked out by hand from the definitions above.
@pytest.mark.parametrize(
    ("one", "other", "tolerance"),
    [
        ("1 oz·in", "28.3495 g·in", 1e-5),
        ("1 oz·in", "720.08 g·mm", 1e-5),
        ("60 lb-ft", "81.35 N·m", 1e-4),
        ("250 lb-in", "28.25 N·m", 2e-4),
        ("6.2 kgf·m", "60.8 N·m", 1e-4),
        ("72 µin", "1.829 µm", 2e-4),
        ("20 µin", "0.508 µm", 1e-12),
        ("1 tenth", "2.54 µm", 1e-12),
        ("1 thou", "25.4 µm", 1e-12),
        ("55 µm", "0.00217 in", 3e-3),
        ("12 in-lb", "1 ft-lb", 1e-15),
    ],
)
def test_workshop_equalities(one, other, tolerance):
    assert parse(one).value == pytest.approx(parse(other).value, rel=tolerance)


def test_temperature_scales_meet_where_they_should():
    # NIST SP 811 appendix B.8: t/°C = (t/°F − 32)/1.8
    for celsius, fahrenheit in ((-40, -40), (0, 32), (20, 68), (100, 212)):
        assert parse(f"{celsius} °C").value == parse(f"{fahrenheit} °F").value
    assert math.isclose(parse("18 °F", Dimension.TEMPERATURE_DIFFERENCE).value, 10)


# Contradictions of the kind seen in print: an inch figure with a digit shifted, a figure from
# another row, a depth with the wrong unit, a digit lost.
@pytest.mark.parametrize(
    "text",
    [
        "0.031–0.058 mm (0.012–0.023 in)",
        "0.10–0.25 mm (0.004–0.0010 in)",
        "0.010–0.041 mm (0.0006–0.0016 in)",
        "at most 0.01 mm (10.0004 in)",
        "0.75–0.107 mm (0.0030–0.0042 in)",
        "74.97–74.480 mm",
        "0.006..0.004 in",
        "0–0.05 mm (0.0003–0.002 in)",
        "86.25 ±0.01 mm (3.386 ±0.0004 in)",
    ],
)
def test_limits_that_contradict_themselves_are_refused(text):
    with pytest.raises(QuantityError):
        parse_range(text)


@pytest.mark.parametrize(
    "text",
    [
        "6 mm (2.5 in)",
        "2 mm (1 in)",
        "0.5 mm (0.012 in)",
        "0.030 in (0.30 mm)",
        "86.25 mm (3.386 in)",
        "0.020 in (0.05 mm)",
        "35 lbf·ft (35 N·m)",
        "0.25 mm (0.10 in)",
        "0.042 mm (0.0018 in)",
    ],
)
def test_sizes_that_contradict_themselves_are_refused(text):
    with pytest.raises(QuantityError, match="contradict each other"):
        parse(text)


# Printed pairs that are right: each end rounds to the other's last digit, or was rounded inward
# or outward by half a digit more.
@pytest.mark.parametrize(
    "text",
    [
        "0.018–0.054 mm (0.0007–0.00212 in)",
        "0.028–0.052 mm (0.0011–0.0020 in)",
        "0.046–0.066 mm (0.0018–0.0026 in)",
        "0.25–0.40 mm (0.010–0.016 in)",
        "0.0012–0.0023 in (0.031–0.058 mm)",
        "at most 0.36 mm (0.014 in)",
        "0.038–0.043 mm (0.0015–0.0017 in)",
        "0.041–0.060 mm (0.0017–0.0023 in)",
    ],
)
def test_limits_that_agree_within_their_digits_are_taken(text):
    assert parse_range(text).dimension is Dimension.LENGTH


@pytest.mark.parametrize(
    "text",
    [
        "0.25 mm (0.010 in)",
        "0.50 mm (0.020 in)",
        "2 1/2 in (63.5 mm)",
        "2 1/2 in (64 mm)",
        "60 lb-ft (81 N·m)",
        "42 N·m (4.3 kgf·m, 31 lbf·ft)",
        "20 °C (68 °F)",
        "94 °C (201 °F)",
    ],
)
def test_sizes_that_agree_within_their_digits_are_taken(text):
    assert parse(text).value > 0
