"""SI values in the builder's units."""

import math

import pytest

from bedplate.errors import QuantityError
from bedplate.quantity import Dimension, Units, show, show_both, show_range

METRIC, INCH = Units.METRIC, Units.INCH
LENGTH, TORQUE = Dimension.LENGTH, Dimension.TORQUE


@pytest.mark.parametrize(
    ("value", "dimension", "units", "more", "shown"),
    [
        (59.006e-3, LENGTH, METRIC, {}, "59.006 mm"),
        (59.006e-3, LENGTH, INCH, {}, "2.3231 in"),
        (86e-3, LENGTH, METRIC, {}, "86.000 mm"),
        (0.0, LENGTH, METRIC, {"signed": True}, "0.000 mm"),
        (-1e-9, LENGTH, METRIC, {}, "0.000 mm"),
        (-12.7e-6, LENGTH, INCH, {}, "−0.0005 in"),
        (12.7e-6, LENGTH, INCH, {"signed": True}, "+0.0005 in"),
        (59.0065e-3, LENGTH, METRIC, {}, "59.007 mm"),
        # the gauge's step decides the digits
        (59.0065e-3, LENGTH, METRIC, {"resolution": 0.5e-6}, "59.0065 mm"),
        (59.006e-3, LENGTH, METRIC, {"resolution": 1e-6}, "59.006 mm"),
        (59.006e-3, LENGTH, METRIC, {"resolution": 1e-9}, "59.0060 mm"),
        (59.006e-3, LENGTH, METRIC, {"resolution": 1e-2}, "59.006 mm"),
        (59.006e-3, LENGTH, INCH, {"resolution": 1e-6}, "2.3231 in"),
        (59.006e-3, LENGTH, INCH, {"resolution": 0.2e-6}, "2.32307 in"),
        (2.54e-6, LENGTH, METRIC, {"resolution": 2.54e-6}, "0.003 mm"),
        (1e-3, LENGTH, METRIC, {"resolution": 25.4e-6}, "1.000 mm"),
        (2.54e-6, LENGTH, INCH, {"resolution": 2.54e-6}, "0.0001 in"),
        # and so does the uncertainty: one digit of it, two where it begins with 1 or 2
        (59.00604e-3, LENGTH, METRIC, {"uncertainty": 1.2e-6}, "59.0060 mm"),
        (59.00604e-3, LENGTH, METRIC, {"uncertainty": 4e-6}, "59.006 mm"),
        (59.00604e-3, LENGTH, METRIC, {"uncertainty": 40e-6}, "59.006 mm"),
        (59.00604e-3, LENGTH, INCH, {"uncertainty": 1.2e-6}, "2.32307 in"),
        (59.00604e-3, LENGTH, INCH, {"uncertainty": 10e-6}, "2.3231 in"),
        (45.72e-6, LENGTH, METRIC, {"unit": "thou"}, "1.8 thou"),
        (12e-6, LENGTH, INCH, {"unit": "µm"}, "12 µm"),
        (35.0, TORQUE, METRIC, {}, "35 N·m"),
        (47.4536, TORQUE, INCH, {}, "35 lbf·ft"),
        (47.4536, TORQUE, INCH, {"unit": "lbf·in"}, "420 lbf·in"),
        (math.radians(60), Dimension.ANGLE, METRIC, {}, "60°"),
        (293.15, Dimension.TEMPERATURE, METRIC, {}, "20 °C"),
        (293.15, Dimension.TEMPERATURE, INCH, {}, "68 °F"),
        (8.0, Dimension.TEMPERATURE_DIFFERENCE, METRIC, {}, "8 K"),
        (8.0, Dimension.TEMPERATURE_DIFFERENCE, INCH, {}, "14.4 °F"),
        (11.5e-6, Dimension.EXPANSION, METRIC, {}, "11.5 µm/(m·K)"),
        (11.5e-6, Dimension.EXPANSION, METRIC, {"unit": "1/K"}, "0.0000115 1/K"),
        (0.412, Dimension.MASS, METRIC, {}, "412 g"),
        (0.412, Dimension.MASS, INCH, {}, "412 g"),
        (52e-6, Dimension.VOLUME, METRIC, {}, "52 cm³"),
        (712.0943, Dimension.ROTATION, INCH, {}, "6800 rpm"),
        (4e5, Dimension.PRESSURE, METRIC, {}, "4 bar"),
        (413685.4, Dimension.PRESSURE, INCH, {}, "60 psi"),
        (860e-6, Dimension.UNBALANCE, METRIC, {}, "860 g·mm"),
        (10.5, Dimension.RATIO, METRIC, {"unit": ":1"}, "10.5:1"),
        (0.5, Dimension.RATIO, METRIC, {}, "50 %"),
        (math.nan, LENGTH, METRIC, {}, "—"),
    ],
)
def test_shows_sensible_digits(value, dimension, units, more, shown):
    assert show(value, dimension, units, **more) == shown


@pytest.mark.parametrize(
    ("value", "dimension", "units", "more", "shown"),
    [
        (59.006e-3, LENGTH, METRIC, {}, "59.006 mm = 2.3231 in"),
        (59.006e-3, LENGTH, INCH, {}, "2.3231 in = 59.006 mm"),
        (45.72e-6, LENGTH, INCH, {"unit": "thou"}, "1.8 thou = 0.046 mm"),
        (12e-6, LENGTH, INCH, {"unit": "µm"}, "12 µm = 0.0005 in"),
        (35.0, TORQUE, METRIC, {}, "35 N·m = 25.8 lbf·ft"),
        (0.412, Dimension.MASS, INCH, {}, "412 g = 14.533 oz"),
        (293.15, Dimension.TEMPERATURE, INCH, {}, "68 °F = 20 °C"),
        (math.radians(60), Dimension.ANGLE, INCH, {}, "60°"),
        (712.0943, Dimension.ROTATION, METRIC, {}, "6800 rpm"),
    ],
)
def test_shows_the_builders_units_first_and_then_the_others(value, dimension, units, more, shown):
    assert show_both(value, dimension, units, **more) == shown


@pytest.mark.parametrize(
    ("low", "high", "units", "more", "shown"),
    [
        (28e-6, 52e-6, METRIC, {}, "0.028…0.052 mm"),
        (28e-6, 52e-6, INCH, {}, "0.0011…0.0020 in"),
        (-48e-6, 1e-6, METRIC, {}, "−0.048…0.001 mm"),
        (-48e-6, 1e-6, METRIC, {"signed": True}, "−0.048…+0.001 mm"),
        (None, 0.2e-3, METRIC, {}, "at most 0.200 mm"),
        (0.35e-3, None, METRIC, {}, "at least 0.350 mm"),
        (None, None, METRIC, {}, "no limits"),
        (50.8e-6, 76.2e-6, METRIC, {"unit": "thou"}, "2…3 thou"),
    ],
)
def test_shows_limits(low, high, units, more, shown):
    assert show_range(low, high, LENGTH, units, **more) == shown


def test_a_unit_of_another_kind_is_refused():
    with pytest.raises(QuantityError, match="'N·m' is no unit of a length"):
        show(1.0, LENGTH, METRIC, unit="N·m")
