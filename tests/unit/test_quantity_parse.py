"""One typed quantity to its SI value."""

import math
from fractions import Fraction

import pytest

from bedplate.quantity import Dimension, parse, parse_tightening

INCH, FOOT_POUND = 0.0254, 4.4482216152605 * 0.3048

CASES = [
    # what a builder types, the SI value, the unit as printed
    ("0.0015 in", 0.0015 * INCH, "in"),
    (".5mm", 0.5e-3, "mm"),
    ("0,05 mm", 0.05e-3, "mm"),
    ("0,125 mm", 0.125e-3, "mm"),
    ("59,006 mm", 59.006e-3, "mm"),
    ("59,006 mm.", 59.006e-3, "mm"),
    ("2,441 in", 2.441 * 0.0254, "in"),
    ("1.8 thou", 1.8e-3 * INCH, "thou"),
    ("3 tenths", 3e-4 * INCH, "tenth"),
    ("a tenth", 1e-4 * INCH, "tenth"),
    ("tenth", 1e-4 * INCH, "tenth"),
    ("half a thou", 0.5e-3 * INCH, "thou"),
    ("12 µm", 12e-6, "µm"),
    ("12 μm", 12e-6, "µm"),
    ("12 um", 12e-6, "µm"),
    ("12 microns", 12e-6, "µm"),
    ("8 µin", 8e-6 * INCH, "µin"),
    ("8 uin", 8e-6 * INCH, "µin"),
    ("8 microinches", 8e-6 * INCH, "µin"),
    ("2 1/2 in", 2.5 * INCH, "in"),
    ("2-1/2 in", 2.5 * INCH, "in"),
    ("2½ in", 2.5 * INCH, "in"),
    ('1/4"', 0.25 * INCH, "in"),
    ("1⁄4″", 0.25 * INCH, "in"),
    ("3.000″", 3 * INCH, "in"),
    ("3.000''", 3 * INCH, "in"),
    ("2.5 in.", 2.5 * INCH, "in"),
    ("59.006 mm.", 59.006e-3, "mm"),
    ("59.006\u00a0mm", 59.006e-3, "mm"),
    ("59.006\u2009mm", 59.006e-3, "mm"),
    ("1 234,5 mm", 1.2345, "mm"),
    ("1\u202f234.5 mm", 1.2345, "mm"),
    ("1,234.5 mm", 1.2345, "mm"),
    ("1.234,5 mm", 1.2345, "mm"),
    ("-0.0005 in", -0.0005 * INCH, "in"),
    ("+.002 mm", 2e-6, "mm"),
    ("−0,5 mm", -0.5e-3, "mm"),
    ("–0.5 mm", -0.5e-3, "mm"),
    ("-1/2 in", -0.5 * INCH, "in"),
    ("0 mm", 0.0, "mm"),
    ("5 MM", 5e-3, "mm"),
    ("35 lbf·ft", 35 * FOOT_POUND, "lbf·ft"),
    ("35 ft-lb", 35 * FOOT_POUND, "lbf·ft"),
    ("35 lb-ft", 35 * FOOT_POUND, "lbf·ft"),
    ("35 lb.ft", 35 * FOOT_POUND, "lbf·ft"),
    ("35 ft lbs", 35 * FOOT_POUND, "lbf·ft"),
    ("35 FT-LB", 35 * FOOT_POUND, "lbf·ft"),
    ("35 lbf×ft", 35 * FOOT_POUND, "lbf·ft"),
    ("35 lbf*ft", 35 * FOOT_POUND, "lbf·ft"),
    ("420 in-lb", 35 * FOOT_POUND, "lbf·in"),
    ("420 in.-lb", 35 * FOOT_POUND, "lbf·in"),
    ("420 lb in", 35 * FOOT_POUND, "lbf·in"),
    ("3.1 kgf·m", 3.1 * 9.80665, "kgf·m"),
    ("3.1 mkg", 3.1 * 9.80665, "kgf·m"),
    ("35 N·m", 35.0, "N·m"),
    ("35 Nm", 35.0, "N·m"),
    ("35 N.m", 35.0, "N·m"),
    ("35 N m", 35.0, "N·m"),
    ("4.2 daN·m", 42.0, "daN·m"),
    ("60 deg", math.radians(60), "°"),
    ("60°", math.radians(60), "°"),
    ("1/4 turn", math.pi / 2, "turn"),
    ("20 °C", 293.15, "°C"),
    ("20 C", 293.15, "°C"),
    ("20 deg C", 293.15, "°C"),
    ("68 °F", 293.15, "°F"),
    ("-40 °F", 233.15, "°F"),
    ("8 K", 8.0, "K"),
    ("412 g", 0.412, "g"),
    ("1.2 kg", 1.2, "kg"),
    ("14.5 oz", 14.5 * 0.45359237 / 16, "oz"),
    ("2 lb", 2 * 0.45359237, "lb"),
    ("250 lbf", 250 * 4.4482216152605, "lbf"),
    ("1.2 oz·in", 1.2 * 0.45359237 / 16 * INCH, "oz·in"),
    ("1.2 oz-in", 1.2 * 0.45359237 / 16 * INCH, "oz·in"),
    ("860 g·mm", 860e-6, "g·mm"),
    ("86 g·cm", 860e-6, "g·cm"),
    ("34 g·in", 34e-3 * INCH, "g·in"),
    ("52 cc", 52e-6, "cm³"),
    ("52 ml", 52e-6, "cm³"),
    ("52 cm³", 52e-6, "cm³"),
    ("350 in³", 350 * INCH**3, "in³"),
    ("350 cu in", 350 * INCH**3, "in³"),
    ("350 cu. in.", 350 * INCH**3, "in³"),
    ("2.1 l", 2.1e-3, "l"),
    ("6800 rpm", 6800 * math.pi / 30, "rpm"),
    ("6800 1/min", 6800 * math.pi / 30, "rpm"),
    ("6800 min⁻¹", 6800 * math.pi / 30, "rpm"),
    ("6 800 r/min", 6800 * math.pi / 30, "rpm"),
    ("60 psi", 60 * 4.4482216152605 / INCH**2, "psi"),
    ("4 bar", 4e5, "bar"),
    ("400 kPa", 4e5, "kPa"),
    ("0.4 MPa", 4e5, "MPa"),
    ("11.5e-6 /K", 11.5e-6, "1/K"),
    ("11.5 µm/m/K", 11.5e-6, "µm/(m·K)"),
    ("11.5 µm/(m·K)", 11.5e-6, "µm/(m·K)"),
    ("11.5 ppm/K", 11.5e-6, "µm/(m·K)"),
    ("11.5×10⁻⁶ /K", 11.5e-6, "1/K"),
    ("11.5·10⁻⁶ K⁻¹", 11.5e-6, "1/K"),
    ("6.4 µin/in/°F", 6.4e-6 * 9 / 5, "µin/(in·°F)"),
    ("50 %", 0.5, "%"),
    ("50 percent", 0.5, "%"),
    ("10.5:1", 10.5, ":1"),
    ("10.5 to 1", 10.5, ":1"),
    ("10 min", 600.0, "min"),
]


@pytest.mark.parametrize(("text", "value", "unit"), CASES)
def test_reads_what_a_builder_types(text, value, unit):
    read = parse(text)
    assert read.value == pytest.approx(value, rel=1e-15, abs=1e-300)
    assert (read.unit, read.text) == (unit, text)


@pytest.mark.parametrize(("text", "value", "unit"), CASES)
def test_says_the_same_when_its_dimension_is_wanted(text, value, unit):
    read = parse(text)
    assert parse(text, read.dimension) == read


@pytest.mark.parametrize(
    ("text", "step"),
    [
        ("0.0015 in", 1e-4 * INCH),
        ("0.00150 in", 1e-5 * INCH),
        (".5mm", 1e-4),
        ("0,05 mm", 1e-5),
        ("59 mm", 1e-3),
        ("1.8 thou", 1e-4 * INCH),
        ("2 1/2 in", INCH / 2),
        ('1/64"', INCH / 64),
        ("20.0 °C", 0.1),
        ("68 °F", 5 / 9),
        ("1.5e-3 m", 1e-4),
        ("12e3 µm", 1e-3),
    ],
)
def test_keeps_the_step_of_the_last_digit(text, step):
    assert parse(text).resolution == pytest.approx(step, rel=1e-15)


def test_value_is_the_nearest_double_to_the_exact_number():
    assert parse("0.1 in").value == 0.00254
    assert parse("25.4 mm").value == parse("1 in").value == 0.0254
    assert parse("1/3 in").value == float(Fraction(127, 15000))
    assert str(parse("-0.0 mm").value) == "0.0"


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("8 K", Dimension.TEMPERATURE_DIFFERENCE, 8.0),
        ("8 °C", Dimension.TEMPERATURE_DIFFERENCE, 8.0),
        ("18 °F", Dimension.TEMPERATURE_DIFFERENCE, 10.0),
        ("293.15 K", Dimension.TEMPERATURE, 293.15),
        ("2 kg·m", Dimension.UNBALANCE, 2.0),
        ("2 kg·m", Dimension.TORQUE, 2 * 9.80665),
    ],
)
def test_the_wanted_dimension_decides_between_two_meanings(text, dimension, value):
    assert parse(text, dimension).value == pytest.approx(value, rel=1e-15)


def test_a_bare_number_takes_the_default_unit_only_where_one_is_given():
    assert parse("12", Dimension.LENGTH, default_unit="mm").value == 0.012
    assert parse("12 thou", Dimension.LENGTH, default_unit="mm").unit == "thou"
    assert parse("2 1/2", Dimension.LENGTH, default_unit="in").value == 0.0635


def test_a_second_printing_that_agrees_is_taken_and_the_first_counts():
    assert parse("0.030 in (0.76 mm)").value == parse("0.030 in").value
    assert parse("25.4 mm = 1 in").unit == "mm"
    assert parse("35 lbf·ft / 47 N·m").unit == "lbf·ft"
    assert parse("42 N·m (4.3 kgf·m, 31 lbf·ft)").value == 42.0


@pytest.mark.parametrize(
    ("text", "torque", "angle"),
    [
        ("35 N·m", 35.0, None),
        ("90°", None, math.pi / 2),
        ("35 N·m + 60 deg", 35.0, math.radians(60)),
        ("35 N·m, then 60°", 35.0, math.radians(60)),
        ("35 N·m and 1/4 turn", 35.0, math.pi / 2),
        ("35 N·m (26 lbf·ft) + 60 deg", 35.0, math.radians(60)),
    ],
)
def test_tightening_is_a_torque_an_angle_or_both(text, torque, angle):
    read = parse_tightening(text)
    assert (read.torque and read.torque.value) == torque
    assert (read.angle and read.angle.value) == (angle and pytest.approx(angle, rel=1e-15))
    assert read.text == text
