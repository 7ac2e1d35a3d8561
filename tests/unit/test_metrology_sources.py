"""Values that share sources: sums, means, budgets."""

from __future__ import annotations

import subprocess
import sys

import pytest

from bedplate.metrology import (
    Source,
    budget,
    combine,
    mean,
    repeatable_variance,
    standard_uncertainty,
)
from bedplate.metrology.sources import repeated, value_of


def test_shared_source_cancels_in_a_difference():
    shared, one, two = Source(3.0, "shared"), Source(1.0, "one"), Source(2.0, "two")
    first = value_of(10.0, {shared: 1.0, one: 1.0})
    second = value_of(4.0, {shared: 1.0, two: 1.0})
    difference = combine([(1.0, first), (-1.0, second)], 0.5)
    assert difference.nominal_value == 6.5
    assert [(row.source, row.amount) for row in budget(difference)] == [("two", -2.0), ("one", 1.0)]


def test_budget_is_largest_first_and_says_what_readings_do_not_average_out():
    calibration, own = Source(2.0, "calibration"), Source(3.0, "reading", "journal/a")
    rows = budget(value_of(1.0, {calibration: -1.0, own: 1.0}))
    assert [(r.source, r.amount, r.shared) for r in rows] == [
        ("reading", 3.0, False),
        ("calibration", -2.0, True),
    ]


def test_equal_contributions_are_in_order_of_name():
    sources = [Source(1.0, name) for name in ("c", "a", "b")]
    rows = budget(value_of(0.0, dict.fromkeys(sources, 1.0)))
    assert [row.source for row in rows] == ["a", "b", "c"]


def test_combining_leaves_the_values_as_they_were():
    source = Source(1.0, "one")
    value = value_of(1.0, {source: 1.0})
    combine([(5.0, value), (5.0, value)])
    mean([value, value])
    assert value.derivatives == {source: 1.0}


def test_repeatable_part_falls_by_station():
    # Station a has two readings of u = 2, station b one of u = 1: 2²/2 + 1². With two more each:
    # 2²/4 + 1²/3, by hand.
    a = [Source(2.0, str(n), "a") for n in range(2)]
    b, fixed = Source(1.0, "b", "b"), Source(5.0, "fixed")
    value = value_of(0.0, {a[0]: 0.5, a[1]: 0.5, b: -1.0, fixed: 1.0})
    assert repeatable_variance(value) == pytest.approx(3.0)
    assert repeatable_variance(value, 2) == pytest.approx(1.0 + 1.0 / 3.0)
    assert repeated(value) == ((2.0, 2), (1.0, 1))
    assert standard_uncertainty(value) == pytest.approx(28.0**0.5)


def test_measuring_loads_no_arrays():
    code = "import sys, bedplate.metrology; print('numpy' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"


def test_numpy_still_loads_afterwards():
    code = "import bedplate.metrology, numpy; print(numpy.float64(2.0) + 1)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "3.0"
