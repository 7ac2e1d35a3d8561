"""Typed limits to SI values."""

import pytest

from bedplate.quantity import Dimension, parse_range

INCH, FOOT_POUND = 0.0254, 4.4482216152605 * 0.3048


@pytest.mark.parametrize(
    ("text", "low", "high", "nominal"),
    [
        ("0.0020..0.0030 in", 0.002 * INCH, 0.003 * INCH, None),
        ("0.0020...0.0030 in", 0.002 * INCH, 0.003 * INCH, None),
        ("0.028-0.052 mm", 28e-6, 52e-6, None),
        ("0.028–0.052 mm", 28e-6, 52e-6, None),
        ("0.028 to 0.052 mm", 28e-6, 52e-6, None),
        ("0.028…0.052 mm", 28e-6, 52e-6, None),
        ("0,028-0,052 mm", 28e-6, 52e-6, None),
        ("0.028 mm - 0.052 mm", 28e-6, 52e-6, None),
        ("0.028mm-0.052mm", 28e-6, 52e-6, None),
        ("28 µm to 0.052 mm", 28e-6, 52e-6, None),
        ("between 0.028 and 0.052 mm", 28e-6, 52e-6, None),
        ("-0.048..+0.001 mm", -48e-6, 1e-6, None),
        ("−0.048–0.001 mm", -48e-6, 1e-6, None),
        ("-0.048--0.001 mm", -48e-6, -1e-6, None),
        ("0-0.05 mm", 0.0, 50e-6, None),
        ("1/4-1/2 in", INCH / 4, INCH / 2, None),
        ("1-2 1/2 in", INCH, 2.5 * INCH, None),
        ("30 ft-lb - 35 ft-lb", 30 * FOOT_POUND, 35 * FOOT_POUND, None),
        ("30-35 ft-lb", 30 * FOOT_POUND, 35 * FOOT_POUND, None),
        ("-5 to -3 °C", 268.15, 270.15, None),
        ("86 +0.01/-0 mm", 86e-3, 86.01e-3, 86e-3),
        ("86 +0.01/−0 mm", 86e-3, 86.01e-3, 86e-3),
        ("86 mm +0.01/-0", 86e-3, 86.01e-3, 86e-3),
        ("86 mm +0.01/-0 mm", 86e-3, 86.01e-3, 86e-3),
        ("86 +0.01 -0.02 mm", 85.98e-3, 86.01e-3, 86e-3),
        ("86 -0.02/+0.01 mm", 85.98e-3, 86.01e-3, 86e-3),
        ("86 +0.01 0 mm", 86e-3, 86.01e-3, 86e-3),
        ("86 0/-0.01 mm", 85.99e-3, 86e-3, 86e-3),
        ("86 -0.01/-0.02 mm", 85.98e-3, 85.99e-3, 86e-3),
        ("86.00 ±0.01 mm", 85.99e-3, 86.01e-3, 86e-3),
        ("86.00 +/-0.01 mm", 85.99e-3, 86.01e-3, 86e-3),
        ("86 mm ± 10 µm", 85.99e-3, 86.01e-3, 86e-3),
        ("3.386 in ±.5 thou", 3.3855 * INCH, 3.3865 * INCH, 3.386 * INCH),
        ("40 N·m ±5 %", 38.0, 42.0, 40.0),
        ("20 °C ±2 K", 291.15, 295.15, 293.15),
        ("at least 0.35 mm", 0.35e-3, None, None),
        (">= 0.35 mm", 0.35e-3, None, None),
        ("≥0.35 mm", 0.35e-3, None, None),
        ("min 0.35 mm", 0.35e-3, None, None),
        ("0.35 mm min.", 0.35e-3, None, None),
        ("0.35 mm or more", 0.35e-3, None, None),
        ("at most 0.2 mm", None, 0.2e-3, None),
        ("<= 0.2 mm", None, 0.2e-3, None),
        ("max 0.2 mm", None, 0.2e-3, None),
        ("Max. 0.2 mm", None, 0.2e-3, None),
        ("0.2 mm max", None, 0.2e-3, None),
        ("up to 0.2 mm", None, 0.2e-3, None),
        ("at most 0.2 mm (0.008 in)", None, 0.2e-3, None),
        ("at most 10 min", None, 600.0, None),
        ("min 10 min", 600.0, None, None),
        ("0.018–0.054 mm (0.0007–0.00212 in)", 18e-6, 54e-6, None),
        ("0.018-0.054 mm / 0.0007-0.00212 in", 18e-6, 54e-6, None),
        ("0.018-0.054 mm = 0.0007-0.00212 in", 18e-6, 54e-6, None),
        ("86 +0.01/-0 mm (3.3858 +0.0004/-0 in)", 86e-3, 86.01e-3, 86e-3),
        ("35 to 40 lb-ft (47 to 54 N·m)", 35 * FOOT_POUND, 40 * FOOT_POUND, None),
    ],
)
def test_reads_limits(text, low, high, nominal):
    read = parse_range(text)
    for found, expected in ((read.low, low), (read.high, high), (read.nominal, nominal)):
        assert found == (expected and pytest.approx(expected, rel=1e-14))
    assert read.text == text


@pytest.mark.parametrize(
    ("text", "step"),
    [
        ("0.0020..0.0030 in", 1e-4 * INCH),
        ("0..0.05 mm", 1e-5),
        ("86 +0.01/-0 mm", 1e-5),
        ("86.000 ±0.01 mm", 1e-6),
        ("at most 0.20 mm", 1e-5),
    ],
)
def test_keeps_the_finest_step_typed(text, step):
    assert parse_range(text).resolution == pytest.approx(step, rel=1e-14)


def test_a_default_unit_serves_numbers_without_one():
    assert parse_range("0.02..0.03", Dimension.LENGTH, default_unit="mm").high == 30e-6
    assert parse_range("86 ±0.01", Dimension.LENGTH, default_unit="mm").nominal == 86e-3
    assert parse_range("0.02..0.03 in", Dimension.LENGTH, default_unit="mm").unit == "in"
