"""The assembly run: gates, proofs, counts, turning torque, waivers, and what goes stale."""

import pytest
from starlette.testclient import TestClient
from tests.assembly_makers import BY, ENGINE, closed_mains, do, measured_build, tighten, trial
from tests.contract.memory_store import MemoryStore

from bedplate.documents.assembly_json import assembly_as_dict
from bedplate.documents.book_assembly import assembly_pages
from bedplate.engine import examples, read_engine
from bedplate.errors import EntryError, NotFoundError, NotPossibleError
from bedplate.shop.assembly import assembly
from bedplate.shop.steps import steps_of
from bedplate.web.app import create_app
from bedplate.workshop import Workshop

PLAN = "plan frame"


@pytest.fixture(scope="module")
def measured():
    store = MemoryStore()
    measured_build(Workshop(store))
    return list(store.rows("k"))


@pytest.fixture
def shop(measured):
    store = MemoryStore()
    store.append(measured)
    return Workshop(store)


def states(shop):
    return assembly(shop.state("k")).steps


def test_the_steps_follow_each_other():
    steps = steps_of(read_engine(ENGINE))
    seen = set()
    for step in steps.values():
        assert set(step.after) <= seen, step.id
        seen.add(step.id)
    assert steps["oil-jets"].after == ("clean",)
    assert steps["crank"].after == ("oil-jets",), "what rested on cleaning rests on the jets now"
    assert [s for s in steps if s.startswith("piston")] == [f"piston-{n}" for n in (4, 3, 2, 1)]
    assert steps["mains"].joints == (("frame", ""),)


def test_a_step_waits_for_what_it_rests_on(shop):
    with pytest.raises(NotPossibleError, match="'Clean for the trial' is not done"):
        do(shop, "trial-mains")


def test_a_caution_is_shown_before_the_work_and_recorded(shop):
    known = steps_of(shop.state("k").engine)["trial-clean"]
    with pytest.raises(NotPossibleError, match="caution before 'Clean for the trial'"):
        shop.do_step("k", "trial-clean", by=BY, proofs=known.proofs)
    shop.show_caution("k", "trial-clean", by=BY)
    assert states(shop)["trial-clean"].cautioned


def test_each_proof_is_asked_for(shop):
    shop.show_caution("k", "trial-clean", by=BY)
    with pytest.raises(NotPossibleError, match="needs to be seen: burrs dressed"):
        shop.do_step("k", "trial-clean", by=BY)


def test_a_gate_refuses_while_questions_are_open_and_a_waiver_is_seen(shop):
    state = shop.state("k")
    fit = state.fits["main-clearance-1"]
    shop.rework("k", "block", ["main-housing-1"], "line honed", by=BY)
    assert shop.state("k").fits[fit.fit.id].stale
    do(shop, "trial-clean")
    tighten(shop, "frame")
    do(shop, "trial-mains")
    with pytest.raises(
        NotPossibleError,
        match="open before closing the mains",
    ):
        do(shop, "trial-measure")
    do(shop, "trial-measure", reason="measured by the shop, sheet in the box")
    held = states(shop)["trial-measure"]
    assert held.standing == "done"
    assert held.waived.startswith("measured by the shop")
    assert assembly(shop.state("k")).waivers == (held,)


def test_a_torque_that_looks_wrong_for_its_size_stands_against_run_and_gate():
    workshop = Workshop(MemoryStore())
    measured_build(workshop, engine=ENGINE.replace('"42 N·m"', '"504 lbf·ft"', 1))
    [note] = [n for n in workshop.state("k").entries if getattr(n.entry, "about", "") == PLAN]
    workshop.withdraw("k", str(note.number), "asked again", by=BY)
    do(workshop, "trial-clean")
    with pytest.raises(NotPossibleError, match=r"would clamp about 402.* Is it lbf·in"):
        tighten(workshop, "frame")
    tighten(workshop, "frame", reason="to see what the gate says")
    do(workshop, "trial-mains")
    with pytest.raises(NotPossibleError, match=r"open before closing the mains: .* lbf·in\?"):
        do(workshop, "trial-measure")


def test_a_note_that_was_taken_back_answers_nothing(shop):
    about = "gauge-of-nobody"
    receipt = shop.note("k", about, "it will do", by=BY)
    assert about in shop.state("k").notes
    shop.withdraw("k", str(receipt.number), "it will not", by=BY)
    assert about not in shop.state("k").notes


def test_what_was_issued_and_never_counted_again_keeps_the_block_open(shop):
    shop.count_parts("k", "rod bolts in the bag", "issued", "8", by=BY)
    against = states(shop)["short-block"].against
    assert "Rod bolts in the bag: 8 issued, and nobody counted how many were used." in against
    shop.count_parts("k", "rod bolts in the bag", "used", "8", by=BY)
    assert not any("bag" in sentence for sentence in states(shop)["short-block"].against)


def test_what_is_left_is_asked_at_a_stages_end_and_later_counts_leave_it(shop):
    locks = steps_of(shop.state("k").engine)["piston-1"].counts[0]
    assert locks.ways == ("issued", "used", "left")
    shop.count_parts("k", "cap dowels", "issued", "10", by=BY)
    lacking = "Cap dowels: 10 issued, and nobody counted how many were used."
    assert lacking in states(shop)["mains"].against
    shop.count_parts("k", "cap dowels", "used", "8", by=BY)
    assert "Cap dowels: 10 issued, 8 used and 0 left." in states(shop)["mains"].against
    shop.count_parts("k", "cap dowels", "left", "2", by=BY)
    assert assembly(shop.state("k")).ledger["cap dowels"].said == "10 issued, 8 used, 2 left"
    closed_mains(shop)
    shop.count_parts("k", "rod bolts in the bag", "issued", "8", by=BY)
    assert states(shop)["mains"].standing == "done", "they are issued for what comes later"
    assert any("Rod bolts" in one for one in states(shop)["short-block"].against)


def unlike_stock(shop):
    return [row.unlike_stock for row in assembly(shop.state("k")).ledger.values() if row.amiss]


def test_counts_and_parts_on_hand_are_held_against_each_other(shop):
    shop.add_part("k", {"identity": "bag 7", "part": "pin lock", "count": "10"}, by=BY)
    for label in "12":
        shop.count_parts("k", f"Pin locks, cylinder {label}", "issued", "2", by=BY)
        shop.count_parts("k", f"Pin locks, cylinder {label}", "used", "2", by=BY)
    assert unlike_stock(shop) == ["pin lock: 4 used by the count, and 0 by the parts on hand"]
    shop.use_part("k", "bag 7", 1, "scrap", by=BY)
    shop.use_part("k", "bag 7", 3, "pistons 1 and 2", by=BY)
    sentence = "pin lock: 4 used by the count, and 3 by the parts on hand"
    assert unlike_stock(shop) == [sentence]
    # The step that closes the block waits for it; page, paper and data say it.
    assert f"{sentence.capitalize()}." in states(shop)["short-block"].against
    state = shop.state("k")
    assert [row["unlike_stock"] for row in assembly_as_dict(state)["counts"]] == [sentence, ""]
    page = TestClient(create_app(shop, allowed_hosts=["bench"]), base_url="http://bench")
    assert sentence in page.get("/builds/k/assembly").text
    assert sentence in str(assembly_pages(state)["counts"])
    shop.use_part("k", "bag 7", 1, "piston 2", by=BY)
    assert unlike_stock(shop) == []


def test_no_more_is_issued_than_was_ever_on_hand(shop):
    shop.add_part("k", {"identity": "rod bolts", "part": "bolt", "count": "6"}, by=BY)
    shop.count_parts("k", "rod bolts", "issued", "8", by=BY)
    assert unlike_stock(shop) == ["rod bolt: 8 issued, and 6 were ever on hand"]


def test_counts_of_parts_that_nobody_keeps_a_stock_of_stand_alone(shop):
    shop.add_part("k", {"identity": "U1", "part": "main shell", "count": "4"}, by=BY)
    shop.count_parts("k", "cap dowels", "issued", "10", by=BY)
    shop.count_parts("k", "cap dowels", "used", "10", by=BY)
    assert unlike_stock(shop) == []


def test_plugs_out_are_plugs_in(shop):
    trial(shop)
    shop.show_caution("k", "clean", by=BY)
    proofs = steps_of(shop.state("k").engine)["clean"].proofs
    shop.count_parts("k", "gallery plugs", "out", "5", by=BY)
    with pytest.raises(NotPossibleError, match="nobody counted how many went in"):
        shop.do_step("k", "clean", by=BY, proofs=proofs)
    shop.count_parts("k", "gallery plugs", "in", "4", by=BY)
    with pytest.raises(NotPossibleError, match="5 came out and 4 went in"):
        shop.do_step("k", "clean", by=BY, proofs=proofs)
    shop.count_parts("k", "gallery plugs", "in", "5", by=BY)
    shop.do_step("k", "clean", by=BY, proofs=proofs)


def test_the_mains_are_not_closed_before_they_are_tight(shop):
    trial(shop)
    for step in ("clean", "oil-jets", "crank", "seal"):
        do(shop, step)
    with pytest.raises(NotPossibleError, match="Frame is not tightened"):
        do(shop, "mains")


def test_loosening_makes_what_rested_on_it_stale(shop):
    closed_mains(shop)
    assert states(shop)["mains"].standing == "done"
    shop.loosen("k", "frame", "a shell was left out", by=BY)
    held = states(shop)["mains"]
    assert held.standing == "stale"
    assert "was loosened" in " ".join(held.against)


def test_what_reaches_a_step_by_two_ways_is_said_once(shop):
    closed_mains(shop)
    do(shop, "thrust", reason="measured by the shop")
    do(shop, "rings")
    shop.withdraw("k", str(states(shop)["clean"].entry), "a drilling was left out", by=BY)
    do(shop, "clean")
    assert [s for s in states(shop)["piston-4"].against if "stale" in s] == [
        "'Oil jets' is stale: 'Clean for good' was done again after it."
    ]


def test_single_use_bolts_of_the_trial_are_refused_for_good(shop):
    trial(shop)
    for step in ("clean", "oil-jets", "crank", "seal"):
        do(shop, step)
    with pytest.raises(NotPossibleError, match="single use"):
        shop.begin_tightening("k", "frame", by=BY, purpose="final")


def test_the_end_float_is_measured_again_with_the_mains_closed_mains(shop):
    closed_mains(shop)
    with pytest.raises(NotPossibleError, match="end float was not measured since"):
        do(shop, "thrust")


def test_the_jump_of_the_turning_torque_points_to_its_step(shop):
    for after, torque in (
        ("mains", "3 N·m"), ("piston-4", "6 N·m"), ("piston-3", "9 N·m"),
        ("piston-2", "19 N·m"), ("piston-1", "22 N·m"),
    ):  # fmt: skip
        shop.turn_crank("k", after, torque, by=BY)
    turnings = assembly(shop.state("k")).turnings
    assert [turning.after for turning in turnings if turning.jump] == ["piston-2"]
    assert turnings[3].rise == 10.0


def test_the_crank_is_turned_after_whatever_can_hold_it(shop):
    steps = steps_of(read_engine(examples()["straight-six"])).values()
    turned = {step.id for step in steps if step.turning}
    assert {"mains", "seal", "oil-pump", "short-block", "damper"} <= turned
    assert {f"piston-{n}" for n in range(1, 7)} <= turned
    closed_mains(shop)
    proofs = steps_of(shop.state("k").engine)["oil-pump"].proofs
    with pytest.raises(NotPossibleError, match="The turning torque after it is not noted"):
        shop.do_step("k", "oil-pump", by=BY, proofs=proofs)
    do(shop, "oil-pump")


def test_bad_input_is_one_sentence(shop):
    with pytest.raises(NotFoundError, match="step of the assembly 'mane'"):
        shop.do_step("k", "mane", by=BY)
    with pytest.raises(EntryError, match="'many' is no count"):
        shop.count_parts("k", "gallery plugs", "out", "many", by=BY)
    with pytest.raises(EntryError, match="not 'lost'"):
        shop.count_parts("k", "gallery plugs", "lost", "1", by=BY)


@pytest.mark.parametrize("name", list(examples()))
def test_every_shipped_engine_has_its_steps(name):
    steps = steps_of(read_engine(examples()[name]))
    assert {"clean", "crank", "mains", "short-block", "first-start"} <= set(steps)


def test_the_damper_waits_for_its_press_as_measured():
    store = MemoryStore()
    workshop = Workshop(store)
    workshop.start(examples()["straight-six"], by=BY, build="k")
    held = assembly(workshop.state("k")).steps["damper"]
    assert "Damper press is not measured." in held.against


def test_a_step_that_follows_no_step_is_an_open_question():
    text = ENGINE.replace('after  = "clean"', 'after  = "kleen"')
    workshop = Workshop(MemoryStore())
    workshop.start(text, by=BY, build="k")
    sentences = [question.sentence for question in workshop.state("k").questions]
    assert "The engine file's step 'oil jets' follows 'kleen', which is no step." in sentences


def test_a_step_of_the_makers_may_be_called_like_a_usual_one():
    steps = steps_of(read_engine(ENGINE.replace('name   = "oil jets"', 'name   = "crank"')))
    assert {"crank", "crank-2"} <= set(steps)
