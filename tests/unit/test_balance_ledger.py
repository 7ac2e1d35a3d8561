"""What is in the balance, what is due, and that nothing is called balanced before its time."""

import pytest
from tests.balance_makers import a_workshop, say, take_card

from bedplate.errors import EntryError, NotFoundError, NotPossibleError
from bedplate.shop.model import QuestionKind

ALL = "All that turns is in."


@pytest.fixture
def bench(tmp_path):
    workshop = a_workshop(tmp_path)
    yield workshop
    workshop.close()


def due(workshop):
    return [part.part for part in workshop.balance_ledger("b").due]


def test_choosing_a_flywheel_walks_the_builder_through_closing_it(bench):
    assert due(bench) == ["crank", "damper", "timing gear", "flywheel", "clutch cover",
                          "flywheel bolts"]  # fmt: skip
    take_card(bench)
    assert due(bench) == ["flywheel", "clutch cover", "flywheel bolts"]
    with pytest.raises(NotPossibleError, match="flywheel, clutch cover, flywheel bolts are"):
        bench.close_balance("b", ALL, by="t")
    say(bench, "flywheel", "chosen", identity="F-12")
    part = next(p for p in bench.balance_ledger("b").parts if p.part == "flywheel")
    # G 16 for 25.2 kg at 7000 rpm is 550 g·mm (ISO 21940-11); 210 are in the crank.
    assert "340 g·mm" in part.to_do
    for name in ("flywheel", "clutch cover", "flywheel bolts"):
        say(bench, name, "balanced on its own")
    assert due(bench) == []
    assert not bench.balance_ledger("b").balanced
    bench.close_balance("b", ALL, by="t")
    assert bench.balance_ledger("b").balanced
    assert not [q for q in bench.state("b").questions if q.kind is QuestionKind.BALANCE]


def test_it_lapses_when_a_part_changes(bench):
    take_card(bench)
    for name in ("flywheel", "clutch cover", "flywheel bolts"):
        say(bench, name, "balanced on its own")
    bench.close_balance("b", ALL, by="t")
    say(bench, "flywheel", "chosen", identity="F-13")
    ledger = bench.balance_ledger("b")
    assert (ledger.balanced, ledger.lapsed) == (False, True)
    say(bench, "flywheel", "balanced on its own", identity="F-13")
    assert "changed since" in bench.balance_ledger("b").sentence


def test_nobody_signs_it_as_balanced_while_something_is_due(bench):
    take_card(bench)
    for words in ("Crank balanced.", "Balanced to G 16, ready to run"):
        with pytest.raises(NotPossibleError, match="still due"):
            bench.sign("b", "builder", words, by="t")
    with pytest.raises(NotPossibleError):
        bench.step("b", "assembly balanced", by="t")
    bench.sign("b", "builder", "The flywheel is not balanced; the customer knows.", by="t")


def test_it_is_an_open_question_before_the_first_start(bench):
    found = [q for q in bench.state("b").questions if q.kind is QuestionKind.BALANCE]
    assert len(found) == 1
    assert "flywheel" in found[0].sentence


def test_a_card_says_nothing_of_a_crank_that_was_reworked_after_it(bench):
    take_card(bench)
    bench.rework("b", "crank", ["crankpin-1"], "ground", by="t")
    assert "crank" in due(bench)
    assert "damper" in due(bench)


def test_a_residual_above_what_is_left_keeps_a_part_due(bench):
    take_card(bench)
    say(bench, "flywheel", "balanced on its own", residual="400 g·mm")
    part = next(p for p in bench.balance_ledger("b").parts if p.part == "flywheel")
    assert "400 g·mm" in part.due
    say(bench, "flywheel", "balanced on its own", residual="200 g·mm")
    assert "flywheel" not in due(bench)


def test_a_crank_that_does_not_keep_its_grade_stays_due(bench):
    take_card(bench, residual=["front 1.5 oz·in", "rear 0.5 oz·in"])
    assert "crank" in due(bench)


def test_an_external_balance_wants_its_flywheel_matched(tmp_path):
    bench = a_workshop(tmp_path, "flat-four")
    with pytest.raises(NotPossibleError, match="carries some of this crank's balance"):
        say(bench, "flywheel", "balanced on its own")
    with pytest.raises(NotPossibleError, match="bring a weight along"):
        say(bench, "clutch cover", "matched", reason="the old one")
    with pytest.raises(EntryError, match="matched to"):
        say(bench, "flywheel", "matched")
    say(bench, "flywheel", "matched", reason="the flywheel it came with")
    assert "flywheel" not in due(bench)
    bench.close()


@pytest.mark.parametrize(
    ("part", "standing", "error", "match"),
    [
        ("propeller", "chosen", NotFoundError, "propeller"),
        ("flywheel", "fine", NotFoundError, "fine"),
        ("flywheel", "chosen", EntryError, "which flywheel"),
        ("flywheel", "not fitted", EntryError, "why there is no flywheel"),
        ("crank", "not fitted", EntryError, "without its crank"),
    ],
)
def test_what_makes_no_sense_is_refused(bench, part, standing, error, match):
    with pytest.raises(error, match=match):
        say(bench, part, standing)
    assert bench.state("b").checkpoint.count == 1


def test_an_engine_without_a_clutch_says_so(bench):
    take_card(bench)
    say(bench, "clutch cover", "not fitted", reason="torque converter")
    assert "clutch cover" not in due(bench)
