"""Weights, cards of shops, and corrections: what is right, what is refused."""

from math import pi

import pytest
from tests.balance_makers import LINES, a_workshop, take_card

from bedplate.engine import examples
from bedplate.errors import EntryError, InputError, NotFoundError, QuantityError
from bedplate.workshop import Workshop


@pytest.fixture
def bench(tmp_path):
    workshop = a_workshop(tmp_path)
    yield workshop
    workshop.close()


def wrong(workshop):
    return [remark.sentence for remark in workshop.card_remarks("b") if not remark.fine]


def test_a_sound_card_is_right_throughout(bench):
    take_card(bench)
    assert wrong(bench) == []
    said = " ".join(remark.sentence for remark in bench.card_remarks("b"))
    assert "within G 6.3; G 16 was asked for; the card claims G 16." in said
    assert "Not on the crank when it was done: flywheel, clutch cover, flywheel bolts." in said
    assert "In plane 'front' 120 g·mm is left, and its share of G 16" in said


def test_a_card_never_says_what_is_due_after_it_is_in(bench):
    take_card(bench)
    said = " ".join(remark.sentence for remark in bench.card_remarks("b"))
    assert "balanced" not in said


def test_a_card_is_held_to_the_grade_that_was_asked_for(bench):
    # G 16 permits 550 g·mm to 25.2 kg at 7000 rpm, G 40 2.5 times as much (ISO 21940-11).
    take_card(bench, residual=["front 500 g·mm", "rear 500 g·mm"], grade="G 40")
    found = wrong(bench)
    assert any("G 16 was asked for, which it does not keep; the card claims G 40." in line
               for line in found)  # fmt: skip


def test_a_card_that_does_not_keep_its_own_grade_is_found(bench):
    take_card(bench, grade="G 2.5")
    assert any("G 16 was asked for; the card claims G 2.5, which it does not" in line
               for line in wrong(bench))  # fmt: skip


@pytest.mark.parametrize("planes", [("front 540", "rear 0"), ("Flywheel end 0", "nose 540")])
def test_each_plane_is_held_to_its_share(bench, planes):
    # By levers the front has 8.6/17.6 of 550 g·mm, 269 (ISO 21940-11).
    take_card(bench, residual=[f"{plane} g·mm" for plane in planes], grade="G 40")
    found = [line for line in wrong(bench) if "share" in line]
    assert len(found) == 1
    assert "540 g·mm is left" in found[0]
    assert "269 g·mm" in found[0]


def test_the_cards_own_speed_and_mass_are_asked_about(bench):
    take_card(bench, speed="600 rpm", mass="50 kg")
    found = wrong(bench)
    assert "The card's speed is 600 rpm; a grade holds at the highest, 7000 rpm." in found
    assert any("has 50 kg for the crank, and here it is known to be 25.2 kg" in line
               for line in found)  # fmt: skip


def test_a_sum_that_is_wrong_is_found(bench):
    take_card(bench, bob_weight="1848 g")
    found = wrong(bench)
    assert any("add up to 1838 g, not to 1848 g: 10 g unaccounted for." in line for line in found)
    assert any("10 g heavy" in line for line in found)


def test_lines_that_come_to_more_than_the_total_are_told_so(bench):
    take_card(bench, bob_weight="1828 g")
    found = wrong(bench)
    assert any("add up to 1838 g, not to 1828 g: 10 g more than the total." in one for one in found)


def test_a_part_swapped_since_makes_the_card_light(bench):
    take_card(bench)
    bench.weigh("b", "piston", "500 g", number="3", by="t")
    assert any("4 g light" in line for line in wrong(bench))


def test_a_residual_that_does_not_keep_its_grade_is_found(bench):
    take_card(bench, residual=["front 1.0 oz·in", "rear 1.0 oz·in"])
    assert any("does not keep" in line for line in wrong(bench))


def test_a_bob_weight_on_a_crank_that_needs_none_is_questioned(tmp_path):
    bench = a_workshop(tmp_path, "straight-six")
    bench.take_balance_card("b", "invented shop", ["front 90 g·mm", "rear 80 g·mm"], by="t",
                            bob_weight="800 g", lines=["all 800 g"])  # fmt: skip
    assert any("No bob-weights" in line for line in wrong(bench))
    bench.close()


@pytest.mark.parametrize(
    ("said", "match"),
    [
        ({"residual": ["front 120 g·mm", "rear 0.1 oz·in"]}, "planes of this card are in"),
        ({"lines": [*LINES, "lock ring 0.1 oz"]}, "weights of this card are in"),
        ({"residual": ["front 120 g·mm", "Front 100 g·mm"]}, "twice"),
        ({"residual": []}, "nothing of what is left"),
        ({"residual": ["0.2 oz·in per plane", "rear 0.1 oz·in"]}, "stands for all planes"),
        ({"residual": ["each plane 0.2 oz·in @ 40 deg"]}, "stands for all planes"),
        ({"residual": ["120 g·mm"]}, "begin with a name"),
        ({"residual": ["front -120 g·mm"]}, "'-120 g·mm' is below nothing"),
        ({"residual": ["front −5 g·mm @ 40 deg"]}, "'−5 g·mm' is below nothing"),
        ({"lines": ["pin x 2 g"]}, "no line of a card"),
        ({"grade": "G fine"}, "no balance quality grade"),
        ({"on_crank": ["propeller: P-1"]}, "not among the parts"),
        ({"mass": "25.2 mm"}, "mass"),
        ({"mass": "25200 kg"}, "does not weigh 25200 kg"),
    ],
)
def test_a_card_that_cannot_be_is_refused(bench, said, match):
    with pytest.raises(InputError, match=match):
        take_card(bench, **said)
    assert bench.state("b").checkpoint.count == 1


def test_the_last_weight_counts_and_one_by_one_comes_before_all_alike(bench):
    bench.weigh("b", "piston", "490 g", by="t")
    bench.weigh("b", "piston", "495.5 g", number="2", uncertainty="0.1 g", by="t")
    receipt = bench.weigh("b", "piston", "494 g", number="3", by="t")
    card = bench.bob_weights("b")
    assert [round(card.weights.of("piston", n).value * 1e3, 1) for n in "1234"] == [
        490, 495.5, 494, 490,
    ]  # fmt: skip
    assert card.weights.of("piston", "2").standard == pytest.approx(0.05e-3)
    spread = card.weights.spreads()[0]
    assert spread.amount == pytest.approx(5.5e-3)
    bench.withdraw("b", str(receipt.number), "wrong pan", by="t")
    assert bench.bob_weights("b").weights.of("piston", "3").value == pytest.approx(0.490)


@pytest.mark.parametrize(
    ("part", "weight", "number", "error", "match"),
    [
        ("piston", "-3 g", "1", EntryError, "does not weigh"),
        ("piston", "412 kg", "1", EntryError, "piston of this engine does not weigh 412 kg"),
        ("rod", "600 kg", "1", EntryError, "does not weigh"),
        ("crank", "25200 kg", "", EntryError, "does not weigh"),
        ("crank", "0 kg", "", EntryError, "does not weigh"),
        ("shells", "490 g", "1", EntryError, "shells of cylinder 1 would weigh 490 g"),
        ("locks", "0.15 kg", "", EntryError, "locks of cylinder 1 would weigh 150 g"),
        ("piston", "492 mm", "1", QuantityError, "mass"),
        ("piston", "492 g", "9", NotFoundError, "9"),
        ("camshaft", "492 g", "", NotFoundError, "camshaft"),
    ],
)
def test_a_weight_that_cannot_be_is_refused(bench, part, weight, number, error, match):
    with pytest.raises(error, match=match):
        bench.weigh("b", part, weight, number=number, by="t")


def test_a_small_end_does_not_outweigh_its_rod(bench):
    bench.weigh("b", "rod", "630 g", number="1", by="t")
    with pytest.raises(EntryError, match=r"small end of rod 1 would weigh 640 g .* cannot be"):
        bench.weigh("b", "small end", "640 g", number="1", by="t")
    bench.weigh("b", "small end", "190 g", number="1", by="t")
    bench.weigh("b", "big end", "446 g", number="1", by="t")
    assert any("add up to 636 g" in doubt for doubt in bench.bob_weights("b").weights.doubts)
    with pytest.raises(EntryError, match="cannot be"):
        bench.weigh("b", "rod", "180 g", number="1", by="t")


def test_ends_add_up_to_their_rod(bench):
    # An end on a jig and its other end make up the whole rod (statics).
    bench.weigh("b", "rod", "600 g", number="1", by="t")
    bench.weigh("b", "small end", "479 g", number="1", by="t")
    with pytest.raises(EntryError, match="rod 1 would add up to 1078 g"):
        bench.weigh("b", "big end", "599 g", number="1", by="t")
    bench.weigh("b", "big end", "150 g", number="1", by="t")
    with pytest.raises(EntryError, match="rod 1 would add up to 629 g"):
        bench.weigh("b", "rod", "500 g", number="1", by="t")


def test_another_rod_is_weighed_whole_before_its_ends(bench):
    bench.weigh("b", "rod", "500 g", by="t")
    bench.weigh("b", "small end", "150 g", by="t")
    bench.weigh("b", "big end", "350 g", by="t")
    assert not [doubt for doubt in bench.bob_weights("b").weights.doubts if "add up" in doubt]


def test_a_rework_that_was_taken_back_leaves_the_weight(bench):
    bench.weigh("b", "piston", "480 g", number="3", by="t")
    receipt = bench.rework("b", "piston 3", ["piston-3"], "lightened", by="t")
    bench.withdraw("b", str(receipt.number), "another piston", by="t")
    weights = bench.bob_weights("b").weights
    assert weights.of("piston", "3").value == pytest.approx(0.480)
    assert weights.doubts == ()


def test_an_engine_file_whose_crank_has_no_room_permits_nothing(tmp_path):
    bench = Workshop.open(tmp_path)
    text = examples()["v8"]
    assert text.count('crank_mass   = "25.2 kg"') == 1
    text = text.replace('crank_mass   = "25.2 kg"', 'crank_mass   = "25200 kg"')
    bench.start(text, by="t", file="v8", build="b")
    assert bench.balance_ledger("b").allowance is None
    doubts = bench.bob_weights("b").weights.doubts
    assert doubts == ("The engine file says 25200 kg of the crank; is its unit right?",)
    bench.close()


def test_a_part_that_was_reworked_is_weighed_again(bench):
    bench.weigh("b", "piston", "480 g", number="3", by="t")
    bench.rework("b", "piston 3", ["piston-3"], "lightened", by="t")
    weights = bench.bob_weights("b").weights
    assert weights.of("piston", "3").how == "engine file"
    assert any("piston 3 was reworked after" in doubt for doubt in weights.doubts)
    bench.weigh("b", "piston", "478 g", number="3", by="t")
    assert bench.bob_weights("b").weights.of("piston", "3").value == pytest.approx(0.478)


def test_the_crank_on_the_scale_sets_what_may_be_left(bench):
    before = bench.balance_ledger("b").allowance.total
    bench.weigh("b", "crank", "50.4 kg", by="t")
    assert bench.balance_ledger("b").allowance.total == pytest.approx(2 * before)


def test_ends_that_were_exchanged_are_questioned(bench):
    bench.weigh("b", "small end", "450 g", by="t")
    assert any("exchanged" in doubt for doubt in bench.bob_weights("b").weights.doubts)


def test_the_card_prints_the_same_bytes_and_names_what_is_due(bench):
    assert bench.balance_card("b") == bench.balance_card("b")
    take_card(bench)
    assert bench.balance_card("b").startswith(b"%PDF")


def test_what_may_be_left_is_shared_to_the_bearing_planes(bench):
    # 550 g·mm over planes at −2.2 and 15.4 in with the centre of mass at 6.8 in: by levers
    # 8.6/17.6 and 9.0/17.6 of it (ISO 21940-11).
    from bedplate.shop.balance.residual import shares_of

    state = bench.state("b")
    total = bench.balance_ledger("b").allowance.total
    shares = shares_of(state.engine, total, state)
    assert shares.plane_a == pytest.approx(total * 8.6 / 17.6)
    assert shares.plane_b == pytest.approx(total * 9.0 / 17.6)


def test_without_planes_the_outermost_mains_are_taken(tmp_path):
    from bedplate.shop.balance.residual import bearing_planes

    bench = a_workshop(tmp_path, "straight-six")
    state = bench.state("b")
    # Throws 96 mm apart, a main half way before the first and behind the last.
    assert bearing_planes(state.engine, state) == pytest.approx((-0.048, 0.528))
    bench.close()


@pytest.mark.parametrize(
    ("typed", "planes"),
    [
        ("0.2 oz·in per plane", [("front", 144.02), ("rear", 144.02)]),
        ("each plane 144.02 g·mm", [("front", 144.02), ("rear", 144.02)]),
        ("0.4 oz·in in total", [("in total", 288.03)]),
        ("total 288.03 g·mm", [("in total", 288.03)]),
    ],
)
def test_a_card_may_give_what_is_left_per_plane_or_in_all(bench, typed, planes):
    # 1 oz·in = 720.08 g·mm; a plane's figure counts for each of the two.
    take_card(bench, residual=[typed])
    given = bench.balance_ledger("b").card.residual
    assert [(one.plane, pytest.approx(one.amount.si * 1e6, rel=1e-4)) for one in given] == planes
    told = [one.sentence for one in bench.card_remarks("b") if "pointing one way" in one.sentence]
    reached = 288.03e-6 / 25.2 * (7000 * pi / 30) * 1e3
    assert f"is {reached:.3g} mm/s" in told[0]
