"""What is in the balance, what is due, and that nothing is called balanced before its time."""

from dataclasses import replace

import msgspec
import pytest
from starlette.testclient import TestClient
from tests.balance_makers import LEFT, a_workshop, say, take_card
from tests.engine_makers import an_engine, engine_text

from bedplate.cli.main import main
from bedplate.errors import EntryError, NotFoundError, NotPossibleError
from bedplate.shop.balance.ledger import ledger_of
from bedplate.shop.model import QuestionKind
from bedplate.web.app import create_app
from bedplate.workshop import Workshop

ALL = "All that turns is in."
APART = ("flywheel", "clutch cover", "flywheel bolts")


@pytest.fixture
def bench(tmp_path):
    workshop = a_workshop(tmp_path)
    yield workshop
    workshop.close()


@pytest.fixture
def outside(tmp_path):
    """Return a build whose crank carries some of its balance in the flywheel."""
    workshop = a_workshop(tmp_path, "flat-four")
    yield workshop
    workshop.close()


def due(workshop):
    return [part.part for part in workshop.balance_ledger("b").due]


def part(workshop, name):
    return next(one for one in workshop.balance_ledger("b").parts if one.part == name)


def own(workshop, name, residual="20 g·mm", identity="1"):
    say(workshop, name, "balanced on its own", identity=identity, residual=residual)


def all_in(workshop):
    take_card(workshop)
    for name in APART:
        own(workshop, name)


def asked(workshop):
    return [q for q in workshop.state("b").questions if q.kind is QuestionKind.BALANCE]


def test_choosing_a_flywheel_walks_the_builder_through_closing_it(bench):
    assert due(bench) == ["crank", "damper", "timing gear", *APART]
    assert asked(bench)[0].to_do == "Have it balanced, and take in the card."
    take_card(bench)
    assert due(bench) == list(APART)
    with pytest.raises(NotPossibleError, match="flywheel, clutch cover, flywheel bolts are"):
        bench.close_balance("b", ALL, by="t")
    say(bench, "flywheel", "chosen", identity="F-12")
    # G 16 for 25.2 kg at 7000 rpm is 550 g·mm (ISO 21940-11); 210 are in the crank, 3 are due.
    to_do = asked(bench)[0].to_do
    assert to_do == (
        "Have the flywheel balanced to nothing by itself (0.157 oz·in = 113 g·mm at most)."
    )
    assert bench.balance_ledger("b").allowance.shared == ", an even share for each of 3"
    own(bench, "flywheel", "90 g·mm", identity="")
    assert part(bench, "flywheel").identity == "F-12"
    assert "125 g·mm" in part(bench, "clutch cover").to_do
    own(bench, "clutch cover", "100 g·mm")
    assert "clutch cover" not in due(bench)
    assert asked(bench)[0].sentence == "Not balanced: still due are the flywheel bolts."
    assert asked(bench)[0].to_do == (
        "Choose them, balanced to nothing by themselves (0.208 oz·in = 150 g·mm at most)."
    )
    assert bench.balance_ledger("b").allowance.shared == ""
    own(bench, "flywheel bolts", "0 g·mm")
    assert due(bench) == []
    assert not bench.balance_ledger("b").balanced
    assert asked(bench)[0].to_do == "Call it balanced, or say what has changed."
    bench.close_balance("b", ALL, by="t")
    assert bench.balance_ledger("b").balanced
    assert not asked(bench)


@pytest.mark.parametrize(
    ("standing", "said", "match"),
    [
        ("balanced on its own", {"residual": "20 g·mm"}, "which flywheel it is"),
        ("balanced on its own", {"identity": "F-12"}, "how much unbalance is left"),
        ("balanced with the crank", {}, "which flywheel it is"),
        ("balanced with the crank", {"identity": "F-12", "residual": "9 g·mm"}, "on the balancer"),
        ("not fitted", {"identity": "F-12"}, "why there is no flywheel"),
    ],
)
def test_no_standing_goes_without_what_it_rests_on(bench, standing, said, match):
    take_card(bench)
    with pytest.raises(EntryError, match=match):
        say(bench, "flywheel", standing, **said)
    assert "flywheel" in due(bench)


def test_bolts_are_many(bench):
    with pytest.raises(EntryError, match="which flywheel bolts they are"):
        say(bench, "flywheel bolts", "chosen")
    assert part(bench, "flywheel bolts").due == "not chosen yet"


def test_a_part_on_the_crank_has_marks_too(bench):
    take_card(bench, on_crank=["damper", "timing gear: T-1"])
    assert part(bench, "damper").due == "which one it is, nobody has said"
    assert part(bench, "timing gear").identity == "T-1"
    say(bench, "damper", "balanced with the crank", identity="D-7")
    assert "damper" not in due(bench)
    say(bench, "damper", "balanced with the crank", identity="D-8")
    assert part(bench, "damper").due == "on the crank was D-7, not D-8"
    say(bench, "timing gear", "balanced with the crank", identity="T-2")
    assert part(bench, "timing gear").due == "on the crank was T-1, not T-2"


def test_what_is_chosen_after_the_card_was_not_on_the_crank(bench):
    take_card(bench)
    say(bench, "damper", "chosen", identity="D-8")
    assert part(bench, "damper").due == "chosen, not balanced"


def test_balanced_with_the_crank_is_held_against_the_card(bench):
    take_card(bench)
    say(bench, "flywheel", "balanced with the crank", identity="F-12")
    assert part(bench, "flywheel").due == "the card does not say that it was on the crank"
    take_card(bench, on_crank=["damper: D-7", "timing gear: T-1", "flywheel"])
    assert "flywheel" not in due(bench)


@pytest.mark.parametrize("said", ["flywheel", "card", "withdrawn", "rework"])
def test_it_lapses_when_anything_changes(bench, said):
    all_in(bench)
    receipt = bench.note("b", "", "nothing", by="t")
    bench.close_balance("b", ALL, by="t")
    bench.withdraw("b", str(receipt.number), "no note", by="t")
    assert bench.balance_ledger("b").balanced
    if said == "flywheel":
        own(bench, "flywheel", "120 g·mm")
    elif said == "card":
        take_card(bench)
    elif said == "withdrawn":
        own(bench, "flywheel")
        bench.withdraw("b", str(part(bench, "flywheel").number), "wrong part", by="t")
        assert bench.balance_ledger("b").balanced
        bench.withdraw("b", str(part(bench, "flywheel").number), "wrong part", by="t")
        assert due(bench) == ["flywheel"]
        own(bench, "flywheel")
    else:
        bench.rework("b", "crank", ["crankpin-1"], "ground", by="t")
        assert "crank" in due(bench)
        take_card(bench)
    ledger = bench.balance_ledger("b")
    assert (ledger.balanced, ledger.lapsed, ledger.due) == (False, True, ())
    assert "changed since" in ledger.sentence
    bench.close_balance("b", ALL, by="t")
    assert bench.balance_ledger("b").balanced


CLAIMS = ("Crank balanced.", "Balanced to G 16, ready to run", "Not cheap, and balanced")
DENIALS = (
    "The flywheel is not balanced; the customer knows.",
    "The engine is not yet balanced.",
    "It has to be balanced.",
    "Pistons balanced to 1 g.",
)
SOUNDS = ("Balance complete", "Balancing done", "fully in balance to G16", "never balanced better")


@pytest.mark.parametrize("words", CLAIMS)
def test_nobody_signs_it_as_balanced_while_something_is_due(bench, words):
    take_card(bench)
    with pytest.raises(NotPossibleError, match="still due"):
        bench.sign("b", "builder", words, by="t")
    with pytest.raises(NotPossibleError):
        bench.step("b", "assembly", remark=words, by="t")


@pytest.mark.parametrize("words", [*DENIALS, *SOUNDS])
def test_whatever_is_written_the_ledgers_own_words_stand_beside_it(bench, words):
    from bedplate.documents.book_record import signatures
    from bedplate.shop.sentences import sentence

    take_card(bench)
    before = bench.balance_ledger("b").sentence
    bench.sign("b", "builder", words, by="t")
    bench.step("b", words, by="t")
    bench.note("b", "", words, by="t")
    state = bench.state("b")
    for row in state.entries[-3:]:
        assert f"[Balance then, by the ledger: {before}]" in sentence(state, row.entry)
    assert before in signatures(state)[0]


def test_what_is_put_down_reads_as_sentences(bench):
    from bedplate.shop.sentences import sentence

    take_card(bench, lines=[], bob_weight="")
    say(bench, "flywheel", "balanced on its own", identity="F-1", residual="20 g·mm")
    say(bench, "clutch cover", "not fitted", reason="torque converter")
    bench.weigh("b", "shells", "44 g", number="2", uncertainty="0.1 g", scale="bench", by="t")
    own(bench, "flywheel bolts", "0 g·mm")
    bench.close_balance("b", ALL, by="t")
    state = bench.state("b")
    card = (
        f"Balanced by invented shop, by its card: left {', '.join(LEFT)}; crank 25.2 kg; "
        "G 16 claimed; on the crank damper (D-7), timing gear (T-1)."
    )
    assert [sentence(state, row.entry) for row in state.entries[1:]] == [
        card,
        "The flywheel (F-1) is balanced on its own, 20 g·mm left.",
        "The clutch cover is not fitted: torque converter.",
        "The shells of cylinder 2 weigh 44 g ± 0.1 g (bench).",
        "The flywheel bolts (1) are balanced on their own, 0 g·mm left.",
        f"Called balanced (crank, damper, timing gear, {', '.join(APART)}): {ALL}",
    ]


def test_a_signature_keeps_its_words_when_the_engine_file_changes(bench):
    from bedplate.shop.sentences import sentence

    bench.sign("b", "builder", "Balancing done", by="t")
    before = bench.balance_ledger("b").sentence
    text = bench.engine_text("b")
    named, other = '"timing gear", "flywheel", ', '"timing gear", "rear flywheel", '
    assert text.count(named) == 1
    bench.revise("b", text.replace(named, other), reason="as on the drawing", by="t")
    assert bench.balance_ledger("b").sentence != before
    state = bench.state("b")
    assert before in sentence(state, state.entries[1].entry)


def test_a_crank_that_turns_out_to_be_external_opens_what_was_closed(bench):
    all_in(bench)
    bench.close_balance("b", ALL, by="t")
    text, inside = bench.engine_text("b"), 'way      = "internal"'
    assert text.count(inside) == 1
    outside = 'way = "external"\nweighted = ["flywheel"]'
    bench.revise("b", text.replace(inside, outside), reason="as on the drawing", by="t")
    assert part(bench, "flywheel").due == "it carries some of the crank's balance"
    assert not bench.balance_ledger("b").balanced
    bench.revise("b", text, reason="it was right before", by="t")
    assert due(bench) == []


def test_a_match_falls_when_the_crank_turns_out_to_be_internal(outside):
    match = {"identity": "F-2", "residual": "90 g·mm", "reason": "F-1"}
    say(outside, "flywheel", "matched", **match)
    text = outside.engine_text("b")
    for old in ('way      = "external"', 'weighted = ["flywheel"]'):
        assert text.count(old) == 1
    text = text.replace('way      = "external"', 'way = "internal"')
    text = text.replace('weighted = ["flywheel"]', "")
    outside.revise("b", text, reason="as on the drawing", by="t")
    assert "carries none" in part(outside, "flywheel").due


def test_a_record_from_elsewhere_is_held_to_the_same(bench):
    take_card(bench)
    own(bench, "flywheel", "20 g·mm", "F-1")
    state = bench.state("b")
    last = state.entries[-1]
    for change, why in (
        ({"residual": None}, "how much is left in it, nobody has said"),
        ({"identity": ""}, "which one it is, nobody has said"),
    ):
        entry = msgspec.structs.replace(last.entry, **change)
        rows = (*state.entries[:-1], msgspec.structs.replace(last, entry=entry))
        ledger = ledger_of(replace(state, entries=rows))
        assert {one.part: one.due for one in ledger.parts}["flywheel"] == why


def test_who_signs_sees_what_will_stand_beside_it(bench, tmp_path, capsys):
    client = TestClient(create_app(bench), base_url="http://localhost")
    sentence = bench.balance_ledger("b").sentence
    assert f"Beside your words will stand: {sentence}" in client.get("/builds/b/record").text
    words = ["sign", "b", "builder", "Balance complete"]
    assert main(["--data", str(tmp_path), "--by", "t", *words]) == 0
    assert f"Signed; beside it stands: {sentence}" in capsys.readouterr().out


def test_a_step_that_says_nothing_of_balance_carries_nothing(bench):
    from bedplate.shop.sentences import sentence

    bench.step("b", "block washed", by="t")
    state = bench.state("b")
    assert sentence(state, state.entries[-1].entry) == "Done: block washed."


def test_the_record_keeps_how_it_stood_when_it_was_signed(bench):
    bench.sign("b", "builder", "Balancing done", by="t")
    all_in(bench)
    bench.close_balance("b", ALL, by="t")
    signed = bench.state("b").entries[1].entry
    assert signed.balance.startswith("Not balanced: still due are crank")


def test_a_part_on_the_crank_has_no_share_of_what_is_left(bench):
    take_card(bench, on_crank=["damper", "timing gear: T-1"])
    assert due(bench) == ["damper", *APART]
    assert "113 g·mm at most" in part(bench, "flywheel").to_do


def test_the_terminal_says_what_is_next_for_the_part_just_chosen(bench, tmp_path, capsys):
    take_card(bench, on_crank=["damper", "timing gear: T-1"])
    words = ["balance", "b", "--part", "flywheel", "--standing", "chosen", "--identity", "F-12"]
    assert main(["--data", str(tmp_path), "--by", "t", *words]) == 0
    assert "Next: Have the flywheel balanced to nothing" in capsys.readouterr().out


def test_stand_and_plain_state_say_how_it_stands(bench, tmp_path, capsys):
    client = TestClient(create_app(bench), base_url="http://localhost")
    for _ in range(2):
        sentence = bench.balance_ledger("b").sentence
        assert f'/builds/b/balance#ledger">{sentence}</a>' in client.get("/builds/b").text
        assert main(["--data", str(tmp_path), "state", "b"]) == 0
        assert sentence in capsys.readouterr().out
        all_in(bench)


def test_it_is_an_open_question_before_the_first_start(bench):
    assert len(asked(bench)) == 1
    assert "flywheel" in asked(bench)[0].sentence


def test_a_file_that_says_nothing_of_balance_is_asked_too(tmp_path):
    bench = Workshop.open(tmp_path)
    bench.start(engine_text(), by="t", file="x.toml", build="b")
    assert "still due are crank, damper, flywheel" in asked(bench)[0].sentence
    bench.close()


def test_where_the_file_does_not_say_how_the_crank_is_balanced_the_page_says_so(tmp_path):
    bench = Workshop.open(tmp_path)
    bench.start(engine_text(), by="t", file="x.toml", build="b")
    client = TestClient(create_app(bench), base_url="http://localhost")
    html = client.get("/builds/b/balance").text
    assert "does not say if the crank is balanced internally or externally" in html
    bench.close()


def test_a_flywheel_is_among_what_turns_though_the_file_forgets_it():
    tail = '[balance]\nway = "internal"\nturning = {}\n'
    assert an_engine(tail=tail.format('["damper"]')).balancing.turning == (
        "crank", "damper", "flywheel",
    )  # fmt: skip
    for name in ("flywheel", "Dual-mass flywheel"):
        said = an_engine(tail=tail.format(f'["damper", "{name}", "flywheel bolts"]'))
        assert said.balancing.turning == ("crank", "damper", name, "flywheel bolts")


def test_an_engine_without_a_flywheel_says_why(bench):
    take_card(bench)
    say(bench, "flywheel", "not fitted", reason="a propeller takes its place")
    assert "flywheel" not in due(bench)


def test_a_card_says_nothing_of_a_crank_that_was_reworked_after_it(bench):
    take_card(bench)
    bench.rework("b", "crank", ["crankpin-1"], "ground", by="t")
    assert "crank" in due(bench)
    assert "damper" in due(bench)


def test_a_residual_above_what_is_left_keeps_a_part_due_and_costs_the_others_nothing(bench):
    take_card(bench)
    own(bench, "clutch cover", "20 g·mm")
    own(bench, "flywheel", "50000 g·mm")
    assert "50000 g·mm" in part(bench, "flywheel").due
    assert "320 g·mm" in part(bench, "flywheel").due
    assert "clutch cover" not in due(bench)
    own(bench, "flywheel", "200 g·mm")
    assert "flywheel" not in due(bench)
    assert bench.balance_ledger("b").allowance.left == pytest.approx(120e-6, rel=0.01)


def test_a_crank_that_does_not_keep_its_grade_stays_due(bench):
    take_card(bench, residual=["front 1.5 oz·in", "rear 0.5 oz·in"])
    assert "crank" in due(bench)


def test_the_grade_is_kept_at_the_highest_speed_whatever_speed_the_card_names(bench):
    # ISO 21940-11: the permissible residual goes by the highest speed in service.
    take_card(bench, speed="600 rpm", residual=["front 2500 g·mm", "rear 2500 g·mm"])
    assert "crank" in due(bench)
    assert "550 g·mm" in part(bench, "crank").due
    assert "at 7000 rpm" in bench.balance_ledger("b").allowance.words


def test_without_a_limit_it_says_so(tmp_path):
    tail = '[balance]\nway = "internal"\nturning = ["flywheel"]\n'
    bench = Workshop.open(tmp_path)
    bench.start(engine_text(tail=tail), by="t", file="x.toml", build="b")
    bench.take_balance_card("b", "invented shop", ["front 9 g·mm", "rear 9 g·mm"], by="t")
    own(bench, "flywheel")
    bench.close_balance("b", ALL, by="t")
    assert "nothing was held against a limit" in bench.balance_ledger("b").sentence
    bench.close()


def test_an_external_balance_wants_its_flywheel_matched(outside):
    with pytest.raises(NotPossibleError, match="carries some of this crank's balance"):
        own(outside, "flywheel")
    with pytest.raises(NotPossibleError, match="bring a weight along"):
        say(outside, "clutch cover", "matched", identity="1", reason="the old one")
    said = {"identity": "F-2", "residual": "90 g·mm", "reason": "the flywheel it came with"}
    for missing, match in (("reason", "matched to"), ("residual", "how much"), ("identity", "whi")):
        with pytest.raises(EntryError, match=match):
            say(outside, "flywheel", "matched", **{**said, missing: ""})
    say(outside, "flywheel", "matched", **said)
    assert "flywheel" not in due(outside)


def test_a_match_counts_by_what_it_leaves(outside):
    given = {"lines": [], "bob_weight": "", "mass": "12.6 kg", "grade": "G 40"}
    take_card(outside, on_crank=["crank pulley: 1", "flywheel: F-1"], **given)
    left = outside.balance_ledger("b").allowance.left
    match = {"identity": "F-2", "reason": "F-1"}
    say(outside, "flywheel", "matched", residual="50000 g·mm", **match)
    assert "50000 g·mm" in part(outside, "flywheel").due
    say(outside, "flywheel", "matched", residual="90 g·mm", **match)
    assert "flywheel" not in due(outside)
    assert outside.balance_ledger("b").allowance.left == pytest.approx(left - 90e-6)


def test_an_external_crank_balanced_bare_has_nothing_to_match_to(outside):
    take_card(outside, on_crank=[], lines=[], bob_weight="", mass="12.6 kg", grade="G 40")
    say(outside, "flywheel", "balanced with the crank", identity="F-1")
    assert "does not say" in part(outside, "flywheel").due
    say(outside, "flywheel", "matched", identity="F-2", residual="9 g·mm", reason="F-1")
    assert "does not say" in part(outside, "flywheel").due
    with pytest.raises(NotPossibleError):
        outside.close_balance("b", ALL, by="t")


@pytest.mark.parametrize(
    ("name", "standing", "error", "match"),
    [
        ("propeller", "chosen", NotFoundError, "propeller"),
        ("flywheel", "fine", NotFoundError, "fine"),
        ("flywheel", "chosen", EntryError, "which flywheel"),
        ("flywheel", "not fitted", EntryError, "why there is no flywheel"),
        ("crank", "not fitted", EntryError, "balancer's card"),
    ],
)
def test_what_makes_no_sense_is_refused(bench, name, standing, error, match):
    with pytest.raises(error, match=match):
        say(bench, name, standing)
    assert bench.state("b").checkpoint.count == 1


def test_an_engine_without_a_clutch_says_so(bench):
    take_card(bench)
    say(bench, "clutch cover", "not fitted", reason="torque converter")
    assert "clutch cover" not in due(bench)
