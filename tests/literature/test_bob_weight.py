"""Bob-weights of engine files, against sums done by hand and the throws' geometry."""

from math import cos, degrees, radians

import pytest
from tests.engine_makers import LEFT_FIRST, RIGHT_FIRST, an_engine

from bedplate.engine import examples, read_engine
from bedplate.engine.words import crankpins_of
from bedplate.shop.balance.bob_weight import bob_weight_card, swapped
from bedplate.shop.balance.weights import weights_of

WEIGHED = """[weights]
piston    = "412 g"
pin       = "118 g"
locks     = "3 g"
rings     = "38 g"
small_end = "168 g"
big_end   = "432 g"
shells    = "46 g"
[balance]
oil   = "4 g"
scale = "0.2 g"
"""
V8 = {"layout": "V8, 90 deg", "firing": "1-8-4-3-6-5-7-2", "more": RIGHT_FIRST}


def a_card(tail=WEIGHED, **engine):
    read = an_engine(**engine, tail=tail)
    return bob_weight_card(read, weights_of(read))


def test_a_v8_by_hand():
    # 2 × 432 + 2 × 46 + 4 = 960 turning, 412 + 118 + 3 + 38 + 168 = 739 a cylinder up and down;
    # 960 + ½·2·739 = 1699 g (common practice for a shared pin at 90°).
    card = a_card(**V8)
    assert card.needed
    assert len(card.throws) == 4
    for throw in card.throws:
        assert throw.rotating == pytest.approx(0.960)
        assert throw.reciprocating == pytest.approx(2 * 0.739)
        assert throw.bob_weight == pytest.approx(1.699)
        assert sum(line.total for line in throw.lines) == pytest.approx(throw.bob_weight)


@pytest.mark.parametrize(
    ("layout", "firing", "more", "angles"),
    [
        # A cross-plane V8's throws stand at 0-90-270-180 (any textbook). In the V6 the bank of 2 is
        # 90° on and 2 fires 120° after 1, so its pin stands 30° behind; 3 is in the bank of 1 and
        # fires 240° after it, so its pin stands 240° behind, at 120°.
        ("V8, 90 deg", "1-8-4-3-6-5-7-2", RIGHT_FIRST, [0, 90, 270, 180]),
        ("V6, 90 deg", "1-2-3-4-5-6", f'pins = "split 30 deg"\n{LEFT_FIRST}',
         [0, 330, 120, 90, 240, 210]),
    ],
)  # fmt: skip
def test_the_map_of_the_throws(layout, firing, more, angles):
    card = a_card(layout=layout, firing=firing, more=more)
    places = crankpins_of(c for one in card.throws for c in one.throw.cylinders)
    assert [round(degrees(angle), 6) for _, angle in places] == angles
    assert sorted(" and ".join(labels for labels, _ in places).split(" and ")) == [
        str(n + 1) for n in range(6 if len(angles) == 6 else 8)
    ]


def test_an_overbalance_that_the_maker_asks_for():
    # 960 + 0.52·2·739 = 1728.56 g
    card = a_card(tail=WEIGHED + 'factor = 0.52\nfactor_source = "invented manual"\n', **V8)
    assert card.throws[0].bob_weight == pytest.approx(1.72856)
    assert "invented manual" in card.factor_why
    assert "50.0%" in card.factor_why


@pytest.mark.parametrize(
    ("layout", "firing", "more", "factor"),
    [
        # k = ½(1 − |cos(α + δ/2)|/cos(δ/2)), from direct and reverse cranks (Bevan, The Theory of
        # Machines), applied to a pair.
        ("V8, 90 deg", "1-8-4-3-6-5-7-2", RIGHT_FIRST, 0.5),
        ("V6, 90 deg", "1-2-3-4-5-6", f'pins = "split 30 deg"\n{LEFT_FIRST}',
         0.5 * (1 - cos(radians(75)) / cos(radians(15)))),
        ("V6, 60 deg", "1-2-3-4-5-6", f'pins = "split 60 deg"\n{LEFT_FIRST}', 0.5),
        ("V6, 60 deg", "1-2-3-4-5-6", f'pins = "own"\n{LEFT_FIRST}', 0.5),
        ("in-line 3", "1-3-2", "", 0.5),
    ],
)  # fmt: skip
def test_the_factor_of_a_layout(layout, firing, more, factor):
    card = a_card(layout=layout, firing=firing, more=more)
    assert card.needed
    assert card.factor == pytest.approx(factor, abs=1e-9)
    rods = len(card.throws[0].throw.labels)
    by_hand = rods * 0.478 + 0.004 + factor * rods * 0.739
    assert card.throws[0].bob_weight == pytest.approx(by_hand)


PITCH = '[crank]\npitch = "100 mm"\n'


def split_v6(unbalance, pitch=PITCH):
    """Return the card of a split-pin V6 with two opposite weights on a shaft against the crank."""
    shaft = "".join(
        f"""[[balance_shaft]]
ratio = -1
unbalance = "{unbalance}"
angle = "{angle} deg"
at = "{at} mm"
"""
        for angle, at in ((345, 0), (165, 200))
    )
    more = f'pins = "split 30 deg"\n{LEFT_FIRST}'
    tail = WEIGHED + pitch + shaft
    return a_card(layout="V6, 90 deg", firing="1-2-3-4-5-6", more=more, tail=tail, mains=4)


def test_a_split_pin_v6_with_a_balance_shaft_takes_half():
    # Against the crank turn 0.739 kg·43 mm·cos 75° = 8.22 kg·mm a pair of rods (Bevan, direct and
    # reverse cranks); three pairs 100 mm and a third of a turn apart make a couple √3·100 mm of it,
    # so two weights 200 mm apart take it with √3/2·8.22 = 7.12 kg·mm each.
    assert 3**0.5 / 2 * 0.739 * 43 * cos(radians(75)) == pytest.approx(7.12, abs=0.005)
    card = split_v6("7.12 kg·mm")
    assert card.factor == 0.5
    assert "the balance shafts take what turns against it (0.259)" in card.factor_why


@pytest.mark.parametrize(("unbalance", "left"), [("1 g·mm", 1.0), ("3.56 kg·mm", 0.5)])
def test_a_shaft_that_is_too_light_does_not_make_a_half(unbalance, left):
    # k = ½(1 − backward/forward), with what the shaft leaves of the backward part.
    card = split_v6(unbalance)
    by_hand = 0.5 * (1 - left * cos(radians(75)) / cos(radians(15)))
    assert card.factor == pytest.approx(by_hand, abs=2e-4)
    said = "no shaft takes" if left == 1 else "the balance shafts take 50.0% of"
    assert said in card.factor_why


def test_a_shaft_the_wrong_way_round_takes_nothing():
    heavier = [split_v6(unbalance).factor for unbalance in ("1 g·mm", "20 kg·mm")]
    assert heavier[1] == pytest.approx(heavier[0], abs=2e-4)


def test_where_the_throws_stand_unknown_the_shaft_is_believed_and_that_is_said():
    card = split_v6("1 g·mm", pitch="")
    assert card.factor == 0.5
    assert "Whether the shafts are heavy enough for it could not be worked out" in card.factor_why


def test_a_token_shaft_leaves_an_in_line_three_its_compromise():
    shaft = '[[balance_shaft]]\nratio = -1\nunbalance = "1 g·mm"\nangle = "0 deg"\nat = "0 mm"\n'
    card = a_card(layout="in-line 3", firing="1-3-2", tail=WEIGHED + PITCH + shaft, mains=4)
    assert card.factor == 0.5
    assert "no shaft takes it" in card.factor_why


@pytest.mark.parametrize(
    ("layout", "firing", "more"),
    [
        # Throws whose vectors and moments cancel: textbook (Bevan; Khurmi & Gupta, chapter 22).
        ("in-line 4", "1-3-4-2", ""),
        ("in-line 6", "1-5-3-6-2-4", ""),
        ("V12, 60 deg", "1-7-5-11-3-9-6-12-2-8-4-10", ""),
        ("flat 4", "1-3-2-4", LEFT_FIRST),
        ("V8, 90 deg", "1-8-3-6-4-5-2-7", 'throws = "0-180-180-0 deg"'),
    ],
)
def test_layouts_that_need_none_say_why(layout, firing, more):
    card = a_card(layout=layout, firing=firing, more=more)
    assert not card.needed
    assert card.throws == ()
    assert card.why.startswith("No bob-weights")


@pytest.mark.parametrize("name", list(examples()))
def test_the_shipped_engines_print_a_card_or_say_why_none(name):
    engine = read_engine(examples()[name], name)
    card = bob_weight_card(engine, weights_of(engine))
    assert card.missing == ()
    assert card.needed is (name == "v8")
    assert bool(card.throws) is card.needed


def test_the_scale_is_in_the_uncertainty():
    # Parts said to be alike stand on one weighing: it counts for both rods of the throw at once.
    throw = a_card(**V8).throws[0]
    u = 0.1e-3
    by_hand = ((2 * u) ** 2 * 2 + u**2 + (0.5 * 2 * u) ** 2 * 5) ** 0.5
    assert throw.standard == pytest.approx(by_hand)


def test_a_part_that_differs_moves_its_throw():
    card = a_card(**V8)
    assert swapped(card, "piston", 5e-3) == pytest.approx(2.5e-3)
    assert swapped(card, "big end", -3e-3) == pytest.approx(-3e-3)


def test_without_a_weight_there_is_no_sum():
    card = a_card(tail=WEIGHED.replace('piston    = "412 g"\n', ""), **V8)
    assert card.missing == ("piston",)
    assert card.throws == ()
