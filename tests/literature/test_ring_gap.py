"""End gaps worked out by hand; the tables themselves are common practice, no source."""

from math import pi

import pytest

from bedplate.shop.ring_filing import (
    COMMON_PRACTICE,
    PRACTICE,
    GapRule,
    disagreement,
    gap_in,
    offers,
)

MM, INCH = 1e-3, 0.0254


@pytest.mark.parametrize(("factor", "gap"), [(0.0045, 0.387), (0.0055, 0.473), (0.0065, 0.559)])
def test_factor_times_bore(factor, gap):
    # By hand: 86.00 mm × 0.0045 = 0.387 mm = 0.0152 in.
    assert GapRule("x", "top", "", factor).target(86 * MM) == pytest.approx(gap * MM)


def test_the_gap_in_both_units():
    assert GapRule("x", "top", "", 0.0045).target(86 * MM) / INCH == pytest.approx(0.0152, abs=5e-5)


def test_a_ring_opens_by_pi_for_each_unit_of_bore():
    # Circumference of a circle; by hand: 0.01 mm of bore opens the gap by 0.0314 mm.
    assert gap_in(0.387 * MM, 86 * MM, 86.01 * MM) == pytest.approx(0.387 * MM + pi * 0.01 * MM)
    assert gap_in(0, 86 * MM, 86.01 * MM) == pytest.approx(0.0314 * MM, abs=5e-8)


def test_both_tables_for_a_bore_of_4_030_inches():
    # Common practice, no source: at 4.030 in a street engine takes 0.018 above, 0.020 second.
    top, second = (offers(4.030 * INCH, groove, "street") for groove in ("top", "second"))
    assert top[-1].gap / INCH == pytest.approx(0.018, abs=5e-4)
    assert second[0].gap / INCH == pytest.approx(0.020, abs=5e-4)


def test_where_the_tables_disagree_it_shows():
    second = offers(86 * MM, "second", "street")
    assert [o.rule.name for o in second] == ["table 1, street", "table 2, street"]
    # 86 × (1.25 × 0.0045 − 0.0050) = 0.05375 mm
    assert disagreement(second) == pytest.approx(0.05375 * MM)
    assert disagreement([]) == 0


def test_common_practice_is_called_so():
    assert {rule.source for rule in PRACTICE} == {COMMON_PRACTICE}
    assert len({(rule.name, rule.groove) for rule in PRACTICE}) == len(PRACTICE)
