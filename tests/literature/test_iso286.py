"""Standard fits of ISO 286 as limits: table values by the `pressfit` package."""

from __future__ import annotations

import pytest
from pressfit import fit

from bedplate.metrology import Source, Verdict, combine, judge
from bedplate.metrology.sources import value_of


def limits_of(spec):
    """Return (least, greatest) interference of a fit, m, shaft less hole."""
    table = fit(spec)
    least = table.shaft_ei_um - table.hole_es_um
    greatest = table.shaft_es_um - table.hole_ei_um
    return least * 1e-6, greatest * 1e-6


def test_table_limits_of_a_press_fit():
    # ISO 286-2: 50 H7 is 0/+25 µm, 50 p6 is +26/+42 µm: interference 1 to 42 µm.
    assert limits_of("50 H7/p6") == pytest.approx((1e-6, 42e-6))


@pytest.mark.parametrize(
    ("hole", "shaft", "verdict"),
    [
        (0.050000, 0.050025, Verdict.INSIDE),
        (0.050010, 0.050036, Verdict.INSIDE),
        (0.050025, 0.050026, Verdict.UNDECIDED),
        (0.050000, 0.050042, Verdict.UNDECIDED),
        (0.050030, 0.050026, Verdict.OUTSIDE),
        (0.049990, 0.050042, Verdict.OUTSIDE),
    ],
)
def test_press_judged_by_its_table_limits(hole, shaft, verdict):
    # u of each diameter 0.7 µm, so U of the press is 2 µm.
    bore = value_of(hole, {Source(0.7e-6, "hole"): 1.0})
    hub = value_of(shaft, {Source(0.7e-6, "shaft"): 1.0})
    press = combine([(1.0, hub), (-1.0, bore)])
    assert judge(press, press, *limits_of("50 H7/p6"), coverage=2.0).verdict is verdict


def test_running_fit_is_a_clearance():
    # ISO 286-2: 25 H7/g6 is +21/0 and −7/−20 µm: clearance 7 to 41 µm, a negative interference.
    low, high = limits_of("25 H7/g6")
    assert (-high, -low) == pytest.approx((7e-6, 41e-6))
    gap = combine(
        [
            (1.0, value_of(0.025010, {Source(1e-6, "hole"): 1.0})),
            (-1.0, value_of(0.024988, {Source(1e-6, "shaft"): 1.0})),
        ]
    )
    assert judge(gap, gap, -high, -low, coverage=2.0).verdict is Verdict.INSIDE
