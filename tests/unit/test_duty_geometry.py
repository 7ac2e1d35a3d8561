"""What the engine file says by its lengths and materials counts without a fit that measures it."""

import re
from dataclasses import replace

import pytest
from tests.engine_makers import six

from bedplate.engine import read_engine
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.volumes import volumes


def without(*kinds):
    """Return the straight six without the fits of these kinds."""
    text = six()
    for kind in kinds:
        text, count = re.subn(rf'\[\[fit\]\]\nkind +?= "{kind}".*\n(?:\w.*\n)*', "", text)
        assert count == 1, kind
    return text


def ratio_by_hand(below):
    """Return (V + v)/v from the file's own figures, the deck of the first cylinder apart."""
    one = volumes(Given(read_engine(six()))).cylinders[0]
    clearance = one.clearance - one.terms.deck + one.swept * below / read_engine(six()).stroke
    return (one.swept + clearance) / clearance


def test_the_deck_follows_from_the_four_lengths_where_no_fit_measures_it():
    engine = read_engine(without("deck clearance"))
    # Deck 217.30 less half the stroke, rod and compression height.
    below = 217.30e-3 - engine.stroke / 2 - engine.rod - 31.00e-3
    found = volumes(Given(engine))
    assert [dict(one.sources)["deck clearance"].value for one in found.cylinders] == [
        pytest.approx(below, abs=1e-9)
    ] * 6
    assert found.cylinders[0].ratio == pytest.approx(ratio_by_hand(below), rel=1e-9)
    assert not any("Deck clearance" in sentence for sentence in found.unknown)


def test_limits_that_disagree_with_the_four_lengths_are_said_and_do_not_count():
    engine = read_engine(six(('"217.30 mm"', '"217.40 mm"'), ('"0.20..0.40 mm"', '"0.0..0.2 mm"'),
                             ('target = "0.30 mm"\n', "")))  # fmt: skip
    found = volumes(Given(engine))
    below = 217.40e-3 - engine.stroke / 2 - engine.rod - 31.00e-3
    assert found.cylinders[0].ratio == pytest.approx(ratio_by_hand(below), rel=1e-9)
    said = [sentence for sentence in found.unknown if sentence.startswith("Deck clearance")]
    assert len(said) == 1
    assert "0.400 mm by deck" in said[0] or "0.40 mm by deck" in said[0]
    assert "by its limits in 1, 2, 3, 4, 5, 6" in said[0]


def test_files_that_agree_say_nothing_of_it():
    engine = read_engine(six())
    found = volumes(Given(engine))
    assert not any("Deck clearance" in sentence for sentence in found.unknown)
    bare = replace(engine, deck_clearance=None)
    assert volumes(Given(bare)).cylinders == found.cylinders
