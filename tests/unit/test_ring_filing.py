"""A ring on its way to its gap."""

import pytest

from bedplate.errors import InputError
from bedplate.shop.ring_filing import (
    GapReading,
    GapRule,
    Section,
    bores_it_suits,
    gap_in,
    ring_filing,
    smallest_section,
)
from bedplate.shop.selection.model import Estimate

MM, UM = 1e-3, 1e-6
RULE = GapRule("sheet", "top", "invented", factor=0.0045, most=0.0060)
BORE = Section(0.03, Estimate(86 * MM, 1 * UM))


def reading(gap, strokes=0, bore=86.0, spread=5):
    return GapReading(Estimate(gap * MM, spread * UM), bore * MM, strokes)


def filed(*readings, rule=RULE, section=BORE):
    return ring_filing("cylinder 1, top", section, rule, readings, feeler_step=0.02 * MM)


def test_first_gap_remaining_and_where_to_stop():
    ring = filed(reading(0.20), reading(0.26, strokes=6))
    assert ring.target == pytest.approx(0.387 * MM)
    assert ring.first == pytest.approx(0.20 * MM)
    assert ring.remaining == pytest.approx(0.127 * MM)
    spread = (5**2 + (3.14159265 - 0.0045) ** 2) ** 0.5 * UM
    assert ring.now.uncertainty == pytest.approx(spread)
    assert ring.stop_before == pytest.approx(0.367 * MM - 2 * spread)
    # 0.01 mm a stroke; from 0.26 to 0.3552 mm are nine.
    assert (ring.strokes, ring.strokes_left) == (6, 9)
    assert ring.standing == "too small"


@pytest.mark.parametrize(
    ("gap", "standing"),
    [
        (0.30, "too small"),
        (0.36, "stop and measure"),
        (0.388, "inside"),
        (0.515, "inside"),
        (0.517, "too big"),
    ],
)
def test_standing(gap, standing):
    ring = filed(reading(0.20), reading(gap, strokes=9))
    assert ring.standing == standing
    assert ring.what_to_do.startswith("cylinder 1, top: ")


def test_over_target_where_no_greatest_gap_is_given():
    open_rule = GapRule("sheet", "top", "invented", factor=0.0045)
    assert filed(reading(0.40), rule=open_rule).standing == "inside"
    over = filed(reading(0.41), rule=open_rule)
    assert over.standing == "over target"
    assert over.remaining < 0
    assert over.strokes_left is None
    assert "sources disagree" in over.what_to_do


def test_strokes_left_are_never_below_nothing():
    assert filed(reading(0.2), reading(0.386, strokes=5)).strokes_left == 0


def test_a_tapered_bore_counts_at_its_smallest_section_within_the_travel():
    sections = [
        Section(0.005, Estimate(85.99 * MM)),
        Section(0.02, Estimate(86.02 * MM)),
        Section(0.09, Estimate(86.00 * MM)),
        Section(0.14, Estimate(85.98 * MM)),
    ]
    smallest = smallest_section(sections, (0.010, 0.1))
    assert smallest.depth == 0.09
    # Measured in the wide part the gap looks π × 0.02 mm wider than where it is tightest.
    ring = filed(reading(0.45, bore=86.02), section=smallest)
    assert ring.now.value == pytest.approx((0.45 - 3.14159265 * 0.02) * MM)
    with pytest.raises(InputError, match="between 40 and 80 mm"):
        smallest_section(sections, (0.080, 0.040))


def test_a_ring_too_big_here_may_suit_a_bigger_gap_elsewhere():
    strict = GapRule("sheet", "top", "invented", size=0.40 * MM, most=0.45 * MM)
    bores = {"1": 86.00 * MM, "2": 85.98 * MM, "3": 85.99 * MM, "4": 85.90 * MM}
    found = bores_it_suits(reading(0.47), strict, bores, tolerance=0)
    assert [name for name, _ in found] == ["2", "3"]
    assert found[0][1] == pytest.approx(gap_in(0.47 * MM, 86 * MM, 85.98 * MM))
    loose = GapRule("sheet", "top", "invented", size=0.40 * MM)
    assert len(bores_it_suits(reading(0.47), loose, bores, tolerance=0.08 * MM)) == 3


@pytest.mark.parametrize(
    ("readings", "step", "match"),
    [
        ([], 0.02, "no gap was measured"),
        ([reading(0.2)], 0, "must have a step"),
        ([reading(-0.2)], 0.02, "below nothing"),
        ([reading(0.2, strokes=5), reading(0.3, strokes=4)], 0.02, "count upwards"),
    ],
)
def test_what_cannot_be_is_refused(readings, step, match):
    with pytest.raises(InputError, match=match):
        ring_filing("cylinder 1, top", BORE, RULE, readings, feeler_step=step * MM)


@pytest.mark.parametrize(
    "figures",
    [{}, {"factor": 0.004, "size": 0.4}, {"factor": -1}, {"factor": 0.005, "most": 0.004}],
)
def test_a_rule_says_one_thing(figures):
    with pytest.raises(InputError, match="The gap rule 'x' must"):
        GapRule("x", "top", "invented", **figures)
