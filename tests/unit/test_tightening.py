"""The tightening run: one bolt at a time, nothing taken as done that nobody said."""

import pytest
from tests.contract.memory_store import MemoryStore

from bedplate.engine import examples
from bedplate.errors import EntryError, NotFoundError, NotPossibleError, QuantityError
from bedplate.shop.fasteners import Again, bolts
from bedplate.shop.model import QuestionKind
from bedplate.shop.tightening.runs import joints
from bedplate.workshop import Workshop

BY = "Ann (invented)"
ENGINE = examples()["in-line-four-frame"]
ORDER = (5, 6, 3, 4, 7, 8, 1, 2, 9, 10)


@pytest.fixture
def shop():
    workshop = Workshop(MemoryStore())
    workshop.start(ENGINE, by=BY, build="k")
    return workshop


def begin(shop, plan="frame", purpose="trial", **more):
    return shop.begin_tightening("k", plan, by=BY, purpose=purpose, **more)


def run_of(shop, plan="frame", joint=""):
    return joints(shop.state("k"))[plan, joint].runs[-1]


def pull(shop, run, bolt, **more):
    return shop.tighten("k", str(run), bolt, by=BY, **more)


def draw_down(shop):
    run = begin(shop).run
    for bolt in (5, 6, 3):
        receipt = pull(shop, run, bolt)
    return run, receipt


def to_angle(shop):
    """Return the run, with everything before the angle done."""
    run, _ = draw_down(shop)
    for bolt in ORDER:
        pull(shop, run, bolt)
    shop.finish_stage("k", str(run), by=BY, value="3 N·m")
    return run


def whole(shop, purpose="trial", **more):
    run = begin(shop, purpose=purpose, **more).run
    if purpose == "final":
        shop.apply_sealant("k", "frame", by=BY)
    while True:
        found = run_of(shop)
        if found.next is None:
            return run
        if found.next.bolt is None:
            shop.finish_stage("k", str(run), by=BY, value="3 N·m")
        else:
            pull(shop, run, found.next.bolt)


def test_the_run_follows_the_printed_order_stage_by_stage(shop):
    run, receipt = draw_down(shop)
    assert (receipt.next.stage, receipt.next.bolt, receipt.next.sets) == (2, 5, "42 N·m")
    done = []
    for _ in ORDER:
        bolt = run_of(shop).next.bolt
        done.append(bolt)
        receipt = pull(shop, run, bolt)
    assert tuple(done) == ORDER
    assert receipt.next.name == "turn the crank"
    receipt = shop.finish_stage("k", str(run), by=BY, value="3 N·m")
    assert (receipt.next.name, receipt.next.sets) == ("frame inner 5", "75°")


def test_a_whole_run_ends_tight(shop):
    whole(shop)
    assert run_of(shop).standing == "tight"
    assert len([s for s in run_of(shop).stages if s.done]) == 6


def test_an_angle_left_part_way_resumes_at_its_degrees(shop):
    run = to_angle(shop)
    receipt = pull(shop, run, 5, angle="40")
    assert receipt.done == "frame inner 5: 40° so far"
    assert receipt.next.bolt == 5
    assert receipt.next.sets == "35°"
    assert pull(shop, run, 5).next.bolt == 6


def test_an_angle_nobody_knows_blocks_and_says_what_to_do(shop):
    run = to_angle(shop)
    receipt = pull(shop, run, 5, unknown_angle=True)
    assert "nobody knows how far it was turned" in receipt.blocked
    assert "fit new bolts" in receipt.to_do, "they are single use"
    with pytest.raises(NotPossibleError, match="nobody knows"):
        pull(shop, run, 6)
    shop.stop_tightening("k", str(run), "angle lost", by=BY)
    with pytest.raises(NotPossibleError, match="single use, and it was tightened"):
        begin(shop)
    shop.fit_fasteners("k", "frame inner", by=BY, condition="new")
    assert begin(shop).next.stage == 1


def test_one_pull_that_was_parted_needs_a_reason(shop):
    run = begin(shop, "rods", joint="3").run
    for bolt in (1, 2):
        pull(shop, run, bolt)
    receipt = pull(shop, run, 1, angle="20 deg")
    assert "in one pull" in receipt.blocked
    with pytest.raises(NotPossibleError, match="one pull"):
        pull(shop, run, 1)
    assert pull(shop, run, 1, remark="the sheet allows a second pull").next.bolt == 2


def test_a_stage_with_a_gap_is_not_complete(shop):
    run, _ = draw_down(shop)
    for bolt in ORDER[:-1]:
        pull(shop, run, bolt)
    with pytest.raises(NotPossibleError, match="frame inner 10 is not done"):
        shop.finish_stage("k", str(run), by=BY, value="3 N·m")


def test_a_bolt_undone_in_an_earlier_stage_is_a_gap(shop):
    run = to_angle(shop)
    pull(shop, run, 5)
    step = next(s for s in run_of(shop).stages[1].bolts if s.bolt == 7)
    shop.withdraw("k", str(step.entry), "that one was not done", by=BY)
    found = run_of(shop)
    assert found.block.code == "gap"
    assert "frame inner 7" in found.block.sentence
    with pytest.raises(NotPossibleError, match="gap"):
        pull(shop, run, 6, stage=4)
    pull(shop, run, 7, stage=2, remark="done, it was the wrong entry")
    assert run_of(shop).block is None


@pytest.mark.parametrize(
    ("bolt", "more", "error", "sentence"),
    [
        (11, {}, EntryError, "no bolt 11 in 'frame inner'; it has 1 to 10"),
        (3, {}, NotPossibleError, "asks for frame inner 6 next, not for frame inner 3"),
        (5, {}, NotPossibleError, "Frame inner 5 is done in stage 4"),
        (6, {"angle": "0"}, QuantityError, "cannot be: stage 4 turns by 75 deg"),
        (6, {"angle": "900"}, QuantityError, "cannot be: stage 4 turns by 75 deg"),
        (6, {"stage": 2}, NotPossibleError, "Stage 4 is on, not stage 2"),
        (6, {"stage": 9}, EntryError, "there is no stage 9"),
    ],
)
def test_bad_input_is_one_sentence_and_nothing_is_taken(shop, bolt, more, error, sentence):
    run = to_angle(shop)
    pull(shop, run, 5)
    before = shop.state("k").checkpoint
    with pytest.raises(error, match=sentence):
        pull(shop, run, bolt, **more)
    assert shop.state("k").checkpoint == before


def test_out_of_order_can_be_said_with_its_reason(shop):
    run = to_angle(shop)
    receipt = pull(shop, run, 3, remark="misread the number")
    assert receipt.next.bolt == 5


def test_a_torque_in_the_wrong_unit_is_asked_about(shop):
    run, _ = draw_down(shop)
    with pytest.raises(QuantityError, match=r"differ by twelve"):
        pull(shop, run, 5, torque="31 lbf·in")
    with pytest.raises(QuantityError) as refused:
        pull(shop, run, 5, torque="504 N·m")
    assert "twelve" not in refused.value.sentence, "newton metres are not out by twelve"
    assert pull(shop, run, 5, torque="31 lbf·ft").next.bolt == 6


def test_the_wrench_is_set_lower_with_an_adapter_in_line(shop):
    """60 N·m with 50 mm on 400 mm is set to 53.3 N·m: 60 × 400/450 (statics)."""
    text = ENGINE.replace('value = "42 N·m"', 'value = "60 N·m"')
    shop.revise("k", text, reason="other bolts", by=BY)
    run = begin(shop, arm="400 mm", adapter="50 mm", reads_in="Nm").run
    for bolt in (5, 6, 3):
        receipt = pull(shop, run, bolt)
    assert receipt.next.sets == "53.3 N·m"
    pull(shop, run, 5)
    assert run_of(shop).stages[1].bolts[0].wrench_set.si == pytest.approx(160 / 3)


def test_another_lubricant_is_refused_with_what_it_does_to_the_clamp(shop):
    with pytest.raises(NotPossibleError, match=r"'moly paste' is on the bolts.*% more clamp"):
        begin(shop, lubricants={"frame inner": "moly paste"})
    with pytest.raises(NotPossibleError, match=r"'dry' is on the bolts.*% less clamp"):
        begin(shop, lubricants={"frame inner": "dry"})
    receipt = begin(shop, lubricants={"frame inner": "dry"}, reason="trial of the reading")
    assert run_of(shop).begun.reason == "trial of the reading"
    assert receipt.standing == "on"


def test_a_plan_without_a_figure_blocks_and_none_is_made_up(shop):
    begin(shop, "damper")
    found = run_of(shop, "damper")
    assert found.block.code == "figure"
    with pytest.raises(NotPossibleError, match="gives no torque for 'damper bolt'"):
        pull(shop, found.number, 1)
    assert any("gives no torque" in q.sentence for q in shop.state("k").questions)


def test_a_plan_edited_while_a_run_is_on_blocks_it_and_loses_nothing(shop):
    run = to_angle(shop)
    shop.revise("k", ENGINE.replace('"75 deg"', '"90 deg"'), reason="new bulletin", by=BY)
    found = run_of(shop)
    assert found.block.code == "changed"
    assert found.stages[1].done, "what was done is kept"
    with pytest.raises(NotPossibleError, match="was changed in the engine file"):
        pull(shop, run, 5)


def test_a_crank_that_turns_hard_blocks_until_it_turns_or_a_reason_is_given(shop):
    run, _ = draw_down(shop)
    for bolt in ORDER:
        pull(shop, run, bolt)
    receipt = shop.finish_stage("k", str(run), by=BY, value="7 N·m")
    assert "turns at 7 N·m" in receipt.blocked
    with pytest.raises(NotPossibleError):
        pull(shop, run, 5)
    assert shop.finish_stage("k", str(run), by=BY, value="4 N·m").blocked == ""


def test_the_odd_bolt_is_pointed_out(shop):
    run = to_angle(shop)
    for bolt, torque in zip(ORDER, (70, 72, 71, 69, 96, 70, 71, 73, 72, 70), strict=True):
        pull(shop, run, bolt, torque=f"{torque} N·m")
    assert [(odd.bolt, odd.torque) for odd in run_of(shop).odd] == [(7, 96.0)]


def test_bolts_of_all_rods_are_compared_since_one_rod_has_two(shop):
    torques = iter((30, 31, 30, 29, 48, 30, 31, 30))
    for joint in "1234":
        shop.begin_tightening("k", "rods", by=BY, joint=joint, purpose="trial")
        run = joints(shop.state("k"))["rods", joint].run
        shop.tighten_in_order("k", str(run.number), (1, 2), by=BY)
        for bolt in (1, 2):
            shop.tighten("k", str(run.number), bolt, torque=f"{next(torques)} N·m", by=BY)
    state = shop.state("k")
    odd = {joint: joints(state)["rods", joint].run.odd for joint in "1234"}
    assert {joint: [one.bolt for one in found] for joint, found in odd.items()} == {
        "1": [], "2": [], "3": [1], "4": [],
    }  # fmt: skip
    [asked] = [q for q in state.questions if q.kind is QuestionKind.TIGHTENING]
    assert asked.sentence.startswith("rod bolts 1, cylinder 3 ended at 48 N·m")


def test_a_joint_is_not_tightened_twice_without_being_loosened(shop):
    whole(shop)
    with pytest.raises(NotPossibleError, match="is tight"):
        begin(shop)
    shop.loosen("k", "frame", "strip after the trial", by=BY)
    assert run_of(shop).standing == "loosened"
    assert begin(shop).standing == "on"


def test_bolts_ticked_on_paper_are_typed_back_in_order_or_not_at_all(shop):
    run, _ = draw_down(shop)
    before = shop.state("k").checkpoint
    with pytest.raises(NotPossibleError, match=r"asks for 3 there\. None was taken"):
        shop.tighten_in_order("k", str(run), (5, 6, 4), by=BY)
    assert shop.state("k").checkpoint == before
    receipt = shop.tighten_in_order("k", str(run), (5, 6, 3, 4), by=BY, id="b" * 32)
    assert receipt.next.bolt == 7
    assert shop.tighten_in_order("k", str(run), (5, 6, 3, 4), by=BY, id="b" * 32).repeated
    with pytest.raises(NotPossibleError, match="asks for no other there"):
        shop.tighten_in_order("k", str(run), (7, 8, 1, 2, 9, 10, 5), by=BY)
    assert shop.tighten_in_order("k", str(run), (7, 8, 1, 2, 9, 10), by=BY).next.bolt == 0


def test_one_answer_for_one_id(shop):
    run, _ = draw_down(shop)
    first = pull(shop, run, 5, id="a" * 32)
    again = pull(shop, run, 5, id="a" * 32)
    assert (again.number, again.repeated, first.repeated) == (first.number, True, False)
    assert again.next.bolt == 6


def test_the_life_of_a_bolt(shop):
    def bolt(group, number, joint=""):
        return bolts(shop.state("k"))[group, joint, number]

    assert bolt("frame inner", 5).again is Again.CANNOT_TELL, "nobody said that it is new"
    shop.fit_fasteners("k", "frame inner", by=BY, condition="new", identity="bag 7")
    assert bolt("frame inner", 5).again is Again.CANNOT_TELL, "its length is not known"
    shop.measure_bolt("k", "frame inner", 5, "length", "92.10 mm", by=BY)
    assert bolt("frame inner", 5).again is Again.KEEP
    whole(shop)
    used = bolt("frame inner", 5)
    assert (used.cycles, used.total, used.again) == (1, 1, Again.REPLACE)
    assert used.source == "invented manual 2-40"
    shop.measure_bolt("k", "frame inner", 5, "length", "92.55 mm", by=BY)
    assert "92.550 mm" in bolt("frame inner", 5).why
    assert bolt("frame inner", 5).grown == pytest.approx(0.45e-3)
    shop.fit_fasteners("k", "rod bolts", joint="2", by=BY, condition="used", cycles=5)
    assert "5 times of 5" in bolt("rod bolts", 1, "2").why
    assert bolt("balancer carrier", 1).why.startswith("never loosen")
    with pytest.raises(NotPossibleError, match="never to be taken out"):
        shop.fit_fasteners("k", "balancer carrier", by=BY, condition="new")


def test_used_single_use_bolts_are_refused_for_good_and_taken_on_trial(shop):
    shop.fit_fasteners("k", "frame inner", by=BY, condition="used", cycles=1)
    assert begin(shop).standing == "on"
    shop.stop_tightening("k", str(run_of(shop).number), "enough", by=BY)
    with pytest.raises(NotPossibleError):
        begin(shop, purpose="final")


def test_what_is_not_there_is_named(shop):
    with pytest.raises(NotFoundError, match="tightening plan 'fram'"):
        begin(shop, "fram")
    with pytest.raises(NotFoundError, match="cylinder of the plan 'rods' '9'"):
        begin(shop, "rods", joint="9")
    with pytest.raises(EntryError, match="there once"):
        begin(shop, joint="2")


@pytest.fixture
def six():
    """Return the straight six, whose rods are tightened by stretch."""
    workshop = Workshop(MemoryStore())
    workshop.start(examples()["straight-six"], by=BY, build="k")
    run = workshop.begin_tightening("k", "rods", joint="2", by=BY, purpose="trial").run
    for bolt in (1, 2):
        workshop.tighten("k", str(run), bolt, by=BY)
    return workshop, run


def test_a_bolt_tightened_by_stretch_says_its_stretch(six):
    shop, run = six
    with pytest.raises(EntryError, match="tightens by stretch, and none is given"):
        pull(shop, run, 1)
    with pytest.raises(QuantityError, match=r"is not what is permitted: 0\.0055\.\.0\.0060 in"):
        pull(shop, run, 1, stretch="0.0047 in")
    assert pull(shop, run, 1, stretch="0.0057 in").next.bolt == 2
    assert pull(shop, run, 2, stretch="0.0063 in", remark="yielded; replaced").standing == "tight"
    one = bolts(shop.state("k"))["rod bolts", "2", 1]
    assert [(m.what, m.value.text) for m in one.measured] == [("stretch", "0.0057 in")]
    two = bolts(shop.state("k"))["rod bolts", "2", 2]
    assert two.again is Again.REPLACE


def test_only_a_stretch_stage_takes_a_stretch(shop):
    run, _ = draw_down(shop)
    with pytest.raises(EntryError, match="not measured by stretch"):
        pull(shop, run, 5, stretch="0.1 mm")


def test_loosen_and_repeat_counts_two_tightenings():
    again = (
        '  { do = "loosen", group = "damper bolt", value = "180 deg" },\n'
        '  { do = "wait", value = "10 min" },\n'
        '  { do = "torque", group = "damper bolt", value = "90 N·m" },\n]\n\n[assembly]'
    )
    text = ENGINE.replace(
        '{ do = "torque", group = "damper bolt", note',
        '{ do = "torque", group = "damper bolt", value = "60 N·m", note',
    ).replace("]\n\n[assembly]", again)
    workshop = Workshop(MemoryStore())
    workshop.start(text, by=BY, build="k")
    run = begin(workshop, "damper").run
    assert pull(workshop, run, 1).next.name == "damper bolt 1"
    assert pull(workshop, run, 1).next.name == "wait"
    workshop.finish_stage("k", str(run), by=BY)
    assert pull(workshop, run, 1).standing == "tight"
    assert bolts(workshop.state("k"))["damper bolt", "", 1].cycles == 2


def started(text):
    workshop = Workshop(MemoryStore())
    workshop.start(text, by=BY, build="k")
    return workshop


NEVER = 'group     = "frame side"\nnever     = "loosen: bored with it in place"'


def test_what_must_never_be_loosened_is_not_loosened():
    shop = started(ENGINE.replace('group     = "frame side"', NEVER, 1))
    whole(shop)
    with pytest.raises(NotPossibleError, match=r"'frame side' must stay.* bored with it in place"):
        shop.loosen("k", "frame", "to look", by=BY)
    assert run_of(shop).standing == "tight"


def test_a_plan_that_loosens_what_must_never_be_loosened_is_not_begun():
    text = ENGINE.replace('group     = "frame side"', NEVER, 1).replace(
        '{ do = "torque", group = "frame side", order = "2 3 1 4", value = "27 N·m" },',
        '{ do = "loosen", group = "frame side", order = "2 3 1 4" },',
    )
    with pytest.raises(NotPossibleError, match="bored with it in place"):
        begin(started(text))


@pytest.mark.parametrize("torque", ["80 lbf·in", "840 lbf·ft"])
def test_a_torque_in_the_wrong_unit_after_an_angle_is_asked_about(shop, torque):
    run = to_angle(shop)
    with pytest.raises(QuantityError, match="the angle began from 42 N·m"):
        pull(shop, run, 5, torque=torque)
    pull(shop, run, 5, torque="80 lbf·ft")
    with pytest.raises(QuantityError, match="bolt 5 of its group ended at 108"):
        pull(shop, run, 6, torque="300 lbf·ft")
    assert pull(shop, run, 6, torque="300 lbf·ft", remark="it is so").next.bolt == 3
