from itertools import pairwise

import pytest

from bedplate.errors import InputError
from bedplate.physics.friction_class import friction_class, surfaces_of_class


def test_limits_of_a_class():
    # A fastener supplier's example after VDI 2230: zinc-plated without lubricant, 0.14 to 0.24.
    got = friction_class("C")
    assert (got.value - got.half_width, got.value + got.half_width) == pytest.approx((0.14, 0.24))


def test_classes_rise_and_overlap():
    # VDI 2230-1:2003, table A5, from memory.
    bands = [friction_class(letter) for letter in "ABCD"]
    for lower, upper in pairwise(bands):
        assert lower.value < upper.value
        assert upper.value - upper.half_width < lower.value + lower.half_width


def test_a_class_says_what_it_is_for():
    assert "oil" in surfaces_of_class(" b ")


@pytest.mark.parametrize("letter", ["E", "F", ""])
def test_no_class(letter):
    with pytest.raises(InputError):
        friction_class(letter)
