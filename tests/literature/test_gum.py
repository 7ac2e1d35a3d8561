"""Sums of uncertainty against the GUM's own example, a reference library and certified data."""

from __future__ import annotations

from math import sqrt

import GTC
import pytest

from bedplate.metrology import Source, StationValue, budget, combine, mean, standard_uncertainty
from bedplate.metrology.results import Size
from bedplate.metrology.size import pooled_deviation
from bedplate.metrology.sources import value_of

# GUM (JCGM 100:2008) Annex H.1, end-gauge calibration; lengths in nm, so that the figures are the
# guide's own. l = l_s + d − l_s·(δα·θ + α_s·δθ), table H.1.
STANDARD = 50_000_623.0
DIFFERENCE = 215.0
EXPANSION = 11.5e-6
OFFSET = -0.1


def end_gauge():
    u = {
        "calibration of the standard": (25.0, 1.0),
        "repeated observations": (5.8, 1.0),
        "random effects of comparator": (3.9, 1.0),
        "systematic effects of comparator": (6.7, 1.0),
        "difference in expansion": (1e-6 / sqrt(3), -STANDARD * OFFSET),
        "difference in temperature": (0.05 / sqrt(3), -STANDARD * EXPANSION),
    }
    return value_of(STANDARD + DIFFERENCE, {Source(s, name): c for name, (s, c) in u.items()})


def test_end_gauge_length_and_combined_uncertainty():
    length = end_gauge()
    assert length.nominal_value == 50_000_838.0
    assert standard_uncertainty(length) == pytest.approx(32.0, abs=0.5)  # H.1.5 prints 32 nm
    assert standard_uncertainty(length) == pytest.approx(31.66, abs=0.005)  # unrounded


def test_end_gauge_budget():
    # Table H.1, last column, largest first: 25, 16.6, 6.7, 5.8, 3.9, 2.9 nm.
    amounts = [round(abs(row.amount), 1) for row in budget(end_gauge())]
    assert amounts == [25.0, 16.6, 6.7, 5.8, 3.9, 2.9]


def test_end_gauge_by_reference_library():
    # GTC 1.5.1 on the guide's measurement function, first order.
    standard, d = GTC.ureal(STANDARD, 25.0), GTC.ureal(DIFFERENCE, sqrt(5.8**2 + 3.9**2 + 6.7**2))
    alpha, d_alpha = GTC.ureal(EXPANSION, 2e-6 / sqrt(3)), GTC.ureal(0.0, 1e-6 / sqrt(3))
    theta, d_theta = GTC.ureal(OFFSET, 0.41), GTC.ureal(0.0, 0.05 / sqrt(3))
    expected = standard + d - standard * (d_alpha * theta + alpha * d_theta)
    length = end_gauge()
    assert length.nominal_value == pytest.approx(expected.x, rel=1e-12)
    assert standard_uncertainty(length) == pytest.approx(expected.u, rel=1e-9)


def test_shared_source_in_a_mean_and_a_difference_by_reference_library():
    # Mean of three and difference of two values that share one error; GTC 1.5.1.
    shared, own = GTC.ureal(0.0, 1.5), [GTC.ureal(0.0, 0.8) for _ in range(3)]
    theirs = [55.0 + shared + error for error in own]
    ours_shared, ours_own = Source(1.5, "shared"), [Source(0.8, str(n)) for n in range(3)]
    ours = [value_of(55.0, {ours_shared: 1.0, error: 1.0}) for error in ours_own]
    assert standard_uncertainty(mean(ours)) == pytest.approx((sum(theirs) / 3).u, rel=1e-12)
    difference = combine([(1.0, ours[0]), (-1.0, ours[1])])
    assert standard_uncertainty(difference) == pytest.approx((theirs[0] - theirs[1]).u, rel=1e-12)


def test_mean_and_standard_deviation_of_certified_data():
    # NIST StRD univariate NumAcc4 (higher difficulty): 10000000.2, then 500 times .1 and .3;
    # certified mean 10000000.2 and standard deviation 0.1, both exact.
    values = (10000000.2, *([10000000.1, 10000000.3] * 500))
    middle = mean([value_of(value, {}) for value in values])
    assert middle.nominal_value == pytest.approx(10000000.2, rel=1e-15)
    held = StationValue("a", middle, tuple(range(len(values))), values)
    size = Size(middle, middle, middle, None, None, (held,), complete=True)
    deviation, freedom = pooled_deviation(size)
    assert freedom == 1000
    # The data cannot be held more finely than 2e-9, so seven digits of 0.1 are there to be had.
    assert deviation == pytest.approx(0.1, rel=1e-7)
