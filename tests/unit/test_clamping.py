"""What clamp a tightening gives, what another lubricant does to it, and doubts about a torque."""

from dataclasses import replace
from math import radians

import pytest

from bedplate.engine import Doing, examples, read_engine
from bedplate.quantity import Dimension, Units, parse
from bedplate.shop.clamping.answer import answer
from bedplate.shop.clamping.doubts import doubt_of_torque
from bedplate.shop.clamping.lubricants import lubricant, mismatch
from bedplate.shop.clamping.question import question_of, read_question
from bedplate.shop.order_offers import offer, usual_order

ENGINE = read_engine(examples()["in-line-four-frame"])
INNER = ENGINE.fasteners["frame inner"]
FRAME = ENGINE.plans["frame"]


def stage(text):
    found = next(s for s in FRAME.stages if s.doing is Doing.TORQUE)
    return replace(found, value=parse(text, Dimension.TORQUE))


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("engine oil", "oil or grease"),
        ("SAE 30 oil", "oil or grease"),
        ("Moly paste", "solid lubricant, paste or wax"),
        ("dry", "dry, as it comes"),
        ("snake", None),
    ],
)
def test_a_lubricant_is_known_by_its_words(text, kind):
    found = lubricant(text)
    assert (found.name if found else None) == kind


def test_the_lubricant_that_is_asked_for_is_no_mismatch():
    assert mismatch(INNER, "Engine  oil") is None


def test_a_slipperier_lubricant_clamps_more_and_a_dry_bolt_less():
    """Clamp goes as 1/(K·d) at one torque: K 0.20 to 0.12 is two thirds more (T = K·F·d)."""
    more, less = mismatch(INNER, "moly paste"), mismatch(INNER, "dry")
    assert 1.4 < more.ratio < 1.7
    assert 0.55 < less.ratio < 0.75
    assert more.worst > more.ratio
    assert less.worst < less.ratio
    assert "not known" in mismatch(INNER, "snake").sentence


@pytest.mark.parametrize(
    ("text", "last", "asked"),
    [
        ("42 N·m", False, ""),
        ("31 lbf·ft", False, ""),
        ("60 lbf·in", True, "Is it lbf·ft?"),
        ("720 lbf·ft", True, "Is it lbf·in?"),
        ("0.5 N·m", False, "would clamp about"),
        ("600 N·m", True, "% of the yield"),
    ],
)
def test_a_torque_that_is_strange_for_the_size_is_asked_about(text, last, asked):
    """60 lbf·ft is 720 lbf·in: an inch for a foot is out by twelve (exact)."""
    found = doubt_of_torque(INNER, stage(text), last=last, units=Units.METRIC)
    assert bool(found) == bool(asked)
    assert asked in found


def test_torque_and_angle_are_compared_at_the_same_clamp():
    found = answer(question_of(INNER, FRAME), trials=20_000)
    alone, turned = found.ways
    assert alone.middle == pytest.approx(turned.middle, rel=0.05)
    assert turned.plus_minus < alone.plus_minus / 2
    assert found.verdict.startswith("Yes")
    assert sum(share for _, share in alone.parts) == pytest.approx(1.0)
    assert alone.parts[0][0] == "head friction"
    assert "past it" in found.ends


def test_an_angle_within_the_elastic_range_says_so():
    asked = read_question(
        {"thread": "M10 x 1.5", "tightening": "30 N·m + 30 deg", "grip": "66 mm", "class": "10.9"}
    )
    assert asked.angle == pytest.approx(radians(30))
    assert "elastic" in answer(asked, trials=5_000).ends


def test_the_same_question_has_the_same_answer():
    asked = question_of(INNER, FRAME)
    assert answer(asked, trials=5_000) == answer(asked, trials=5_000)


def test_a_usual_order_is_offered_and_never_used():
    assert usual_order(INNER) == (5, 6, 3, 4, 7, 8, 1, 2, 9, 10)
    assert offer(INNER).startswith("Common practice, not the maker's")
    assert usual_order(ENGINE.fasteners["rod bolts"]) == ()
    text = examples()["in-line-four-frame"].replace('order = "5 6 3 4 7 8 1 2 9 10", ', "")
    assert read_engine(text).plans["frame"].stages[1].order == ()
