"""Which end an engine is looked at from.

ISO 1204: cylinders are designated from the driving end, A1 A2 ... in the bank that is left seen
from there and B1 B2 ... in the other, and rotation is said as seen from there (as an engine maker's
manual applies it; the standard itself was not read). DIN 73021: seen from the end opposite the
drive, counted from there, left bank first; clockwise from there is a right-hand engine (as public
accounts of the standard tell it; the standard itself was not read).
"""

import pytest
from tests.engine_makers import an_engine

from bedplate.engine.layout import DRIVE_END, FREE_END, clockwise_from


def by_place(engine, standard):
    return {c.place: getattr(c, standard) for c in engine.layout.cylinders}


V6 = ("V6, 60 deg", "1-4-2-5-3-6", 'pins = "own"')


def test_din_73021_counts_from_the_free_end_left_bank_first():
    assert by_place(an_engine(*V6), "din_73021") == {
        "A1": "1", "A2": "2", "A3": "3", "B1": "4", "B2": "5", "B3": "6",
    }  # fmt: skip


def test_iso_1204_counts_from_the_driving_end_and_its_left_is_the_other_bank():
    assert by_place(an_engine(*V6), "iso_1204") == {
        "A3": "B1", "A2": "B2", "A1": "B3", "B3": "A1", "B2": "A2", "B1": "A3",
    }  # fmt: skip


def test_in_line_the_two_standards_count_from_opposite_ends():
    engine = an_engine("in-line 4", "1-3-4-2")
    assert by_place(engine, "din_73021") == {"A1": "1", "A2": "2", "A3": "3", "A4": "4"}
    assert by_place(engine, "iso_1204") == {"A1": "4", "A2": "3", "A3": "2", "A4": "1"}


@pytest.mark.parametrize(("standard", "labels"), [("DIN 73021", "123456"), ("ISO 1204", "A1")])
def test_an_engine_may_be_labelled_by_either(standard, labels):
    firing = "1-4-2-5-3-6" if standard.startswith("DIN") else "A1-B1-A2-B2-A3-B3"
    engine = an_engine(V6[0], firing, f'{V6[2]}\nnumbering = "{standard}"')
    field = "din_73021" if standard.startswith("DIN") else "iso_1204"
    assert all(c.label == getattr(c, field) for c in engine.layout.cylinders)
    assert labels[0] in "".join(c.label for c in engine.layout.cylinders)


def test_clockwise_from_one_end_is_anticlockwise_from_the_other():
    seen_free = an_engine(rotation="clockwise seen from the free end")
    seen_drive = an_engine(rotation="anticlockwise seen from the drive end")
    assert seen_free.layout.clockwise is True
    assert seen_drive.layout.clockwise is True
    assert an_engine(rotation="clockwise seen from the flywheel end").layout.clockwise is False


@pytest.mark.parametrize("clockwise", [True, False])
@pytest.mark.parametrize("end", [FREE_END, DRIVE_END])
def test_a_rotation_turned_to_the_other_view_twice_is_the_same(clockwise, end):
    other = DRIVE_END if end == FREE_END else FREE_END
    turned = clockwise_from(clockwise, end, other)
    assert turned is not clockwise
    assert clockwise_from(turned, other, end) is clockwise


@pytest.mark.parametrize("end", ["free end", "drive end"])
def test_seen_from_the_front_means_the_end_the_file_calls_the_front(end):
    engine = an_engine(more=f'front = "{end}"', rotation="clockwise seen from the front")
    assert engine.layout.clockwise is (end == "free end")
    assert engine.layout.mains_from == end
