"""Layouts: what is read from the words of [engine], and what is refused."""

from math import degrees, radians

import pytest
from tests.engine_makers import LEFT_FIRST, RIGHT_FIRST, an_engine, engine_text, fault_at, faults_of

from bedplate.engine.layout import Arrangement, print_angles, read_angles


def labels(engine):
    return {c.place: c.label for c in engine.layout.cylinders}


@pytest.mark.parametrize(
    ("words", "form", "count", "angle"),
    [
        ("in-line 6", "in-line", 6, 0),
        ("inline 6", "in-line", 6, 0),
        ("straight 6", "in-line", 6, 0),
        ("single", "in-line", 1, 0),
        ("flat 4", "flat", 4, 180),
        ("V8, 90 deg", "V", 8, 90),
        ("V8 90°", "V", 8, 90),
        ("V12, 180 deg", "V", 12, 180),
    ],
)
def test_a_layout_in_words(words, form, count, angle):
    usual = {
        6: "1-5-3-6-2-4", 1: "1", 4: "1-4-3-2", 8: "1-5-4-2-6-3-7-8",
        12: "1-9-5-12-3-8-6-10-2-7-4-11",
    }  # fmt: skip
    layout = an_engine(words, usual[count]).layout
    assert (layout.form, len(layout.cylinders)) == (form, count)
    assert degrees(layout.bank_angle) == pytest.approx(angle)


@pytest.mark.parametrize(
    "words", ["V8", "W12", "in-line 17", "V0, 90 deg", "V1, 90 deg", "in-line 4, 90 deg", "six",
              "V8, 190 deg", "flat 4, 90 deg"],
)  # fmt: skip
def test_a_layout_that_cannot_be_is_refused_with_examples(words):
    fault = fault_at(engine_text(words), "engine.layout")
    assert fault.line == 4
    assert "write" in fault.right


def test_zig_zag_and_bank_by_bank_from_either_end():
    assert labels(an_engine("V8, 90 deg", "1-8-4-3-6-5-7-2", RIGHT_FIRST))["B1"] == "1"
    free = labels(an_engine("flat 4", "1-3-2-4", LEFT_FIRST))
    assert free == {"A1": "1", "B1": "2", "A2": "3", "B2": "4"}
    drive = 'numbering = "bank by bank from the drive end, left bank first"'
    assert labels(an_engine("flat 4", "1-4-3-2", drive)) == {
        "B2": "1", "B1": "2", "A2": "3", "A1": "4",
    }  # fmt: skip
    turned = (
        'numbering = "bank by bank from the drive end, left bank first, seen from the free end"'
    )
    assert labels(an_engine("flat 4", "1-4-3-2", turned))["A2"] == "1"


def test_in_line_may_count_from_the_drive_end():
    engine = an_engine(more='numbering = "from the drive end"')
    assert labels(engine) == {"A4": "1", "A3": "2", "A2": "3", "A1": "4"}


def test_any_map_of_a_maker():
    numbers = "numbering = { A1 = 3, A2 = 4, B1 = 1, B2 = 'X2' }"
    engine = an_engine("flat 4", "1-4-3-X2", numbers)
    assert labels(engine) == {"A1": "3", "A2": "4", "B1": "1", "B2": "X2"}
    assert [c.label for c in engine.layout.cylinders] == ["1", "3", "4", "X2"]


def test_a_map_tells_every_fault_in_it():
    text = engine_text("flat 4", "1-4-3-2", "numbering = { A1 = 1, A2 = 1, C1 = 2, B1 = 'a-b' }")
    wrongs = " / ".join(f.wrong for f in faults_of(text))
    assert "'C1' is not a place" in wrongs
    assert "label 1 stands twice" in wrongs
    assert "'a-b' is not a label" in wrongs
    assert "B2 have no label" in wrongs


@pytest.mark.parametrize(
    ("firing", "said"),
    [
        ("1-3-4", "cylinder 2 does not fire"),
        ("1-3-4-2-5", "no cylinder is labelled 5"),
        ("1-3-4-2-2", "cylinder 2 fires twice"),
    ],
)
def test_a_firing_order_has_every_cylinder_once(firing, said):
    assert said in fault_at(engine_text(firing=firing), "engine.firing").wrong


def test_intervals_sum_to_the_cycle():
    text = engine_text("V2, 90 deg", "1-2", 'intervals = ["90 deg", "600 deg"]')
    fault = fault_at(text, "engine.intervals")
    assert "sum to 690 deg" in fault.wrong
    assert "720 deg" in fault.right


def test_throws_may_be_given_for_each_throw_or_for_each_crankpin():
    pins = 'pins = "split 30 deg"\nthrows = "0-330-240-210-120-90 deg"'
    every = an_engine("V6, 90 deg", "1-4-3-6-2-5", pins)
    throws = an_engine(
        "V6, 90 deg", "1-4-3-6-2-5", 'pins = "split 30 deg"\nthrows = "0-240-120 deg"'
    )
    assert [c.throw_angle for c in every.layout.cylinders] == pytest.approx(
        [c.throw_angle for c in throws.layout.cylinders]
    )
    text = engine_text("V6, 90 deg", "1-4-3-6-2-5", 'pins = "split 30 deg"\nthrows = "0-240 deg"')
    assert "2 throws are given" in fault_at(text, "engine.throws").wrong


def test_a_crank_that_is_not_usual_asks_for_its_throws():
    order = "-".join(str(n) for n in range(1, 8))
    fault = fault_at(engine_text("in-line 7", order), "engine.throws")
    assert "no usual crank with 7 throws" in fault.wrong


@pytest.mark.parametrize("rotation", ["clockwise", "right", "clockwise seen from above"])
def test_a_rotation_needs_the_end_it_is_seen_from(rotation):
    assert fault_at(engine_text(rotation=rotation), "engine.rotation").line == 6


@pytest.mark.parametrize("pins", ["split", "split 0 deg", "split wide", "crossed"])
def test_pins_that_cannot_be_read(pins):
    text = engine_text("V6, 90 deg", "1-4-3-6-2-5", f'pins = "{pins}"')
    assert fault_at(text, "engine.pins")


def test_crankpins_of_pairs_are_counted_from_the_free_end():
    shared = Arrangement("V", 4, radians(90), "shared")
    assert [shared.crankpin(p) for p in shared.places] == [1, 2, 1, 2]
    own = Arrangement("flat", 4, radians(180), "own")
    assert [own.crankpin(p) for p in own.places] == [1, 3, 2, 4]
    right = Arrangement("flat", 4, radians(180), "own", right_first=True)
    assert [right.crankpin(p) for p in right.places] == [2, 4, 1, 3]


def test_angles_are_printed_as_they_are_read():
    assert print_angles(read_angles("0-90-270-180 deg") or ()) == "0-90-270-180 deg"
    assert read_angles("0-90-270-180") is None
    assert read_angles("1..2 deg") is None
