"""The engine file's fasteners and plans: what is read, and each fault with its line."""

from math import radians

import pytest
from tests.engine_makers import engine_text, faults_of

from bedplate.engine import Doing, Gate, Per, examples, read_engine

BOLTS = """
[[fastener]]
group = "caps"
count = 4
thread = "M10 x 1.5"
at = ["main 1 left", "main 1 right", "main 2 left", "main 2 right"]
[[tighten]]
plan = "caps"
gate = "closing the mains"
source = "invented"
stages = [
  { do = "torque", group = "caps", order = "1 3 2 4", value = "40 N·m" },
  { do = "angle", group = "caps", order = "1 3 2 4", value = "90 deg" },
]
"""


def test_the_frame_example_says_all_of_its_plan():
    engine = read_engine(examples()["in-line-four-frame"])
    plan = engine.plans["frame"]
    assert plan.gate is Gate.CLOSING_MAINS
    assert plan.groups == ("frame inner", "frame side")
    assert [s.doing for s in plan.stages][:3] == [Doing.DRAW_DOWN, Doing.TORQUE, Doing.TURN]
    assert plan.stages[1].order == (5, 6, 3, 4, 7, 8, 1, 2, 9, 10), "as printed, never derived"
    assert plan.stages[1].value.value == 42.0
    assert plan.stages[3].value.value == pytest.approx(radians(75))
    assert plan.stages[2].limits.high == 5.0
    assert plan.sealant.open.value == 600.0
    assert engine.fasteners["rod bolts"].per is Per.CYLINDER
    assert engine.fasteners["balancer carrier"].never.startswith("loosen")
    hole = engine.fasteners["frame side"].holes[1]
    assert (hole.number, hole.at, hole.index, hole.side, hole.lane) == (
        2,
        "main",
        2,
        "right",
        "side",
    )


def test_a_torque_that_is_not_said_stays_empty():
    engine = read_engine(examples()["in-line-four-frame"])
    assert engine.plans["damper"].stages[0].value is None


@pytest.mark.parametrize(
    ("old", "new", "wrong"),
    [
        ('value = "90 deg"', 'value = "0 deg"', "tightens by nothing"),
        ('value = "90 deg"', 'value = "900 deg"', "no angle to turn a fastener by"),
        ('value = "90 deg"', 'value = "90 N·m"', "torque"),
        ('value = "40 N·m"', 'value = "40"', "unit"),
        ('value = "40 N·m"', 'value = "40 N·m + 90 deg"', "a torque and an angle"),
        ('"1 3 2 4", value = "90', '"1 3 2 5", value = "90', "there is no bolt 5"),
        ('"1 3 2 4", value = "90', '"1 3 2", value = "90', "bolt 4 is left out"),
        ('"1 3 2 4", value = "90', '"1 3 3 4", value = "90', "bolt 3 is named twice"),
        (
            'group = "caps", order = "1 3 2 4", value = "90',
            'group = "cops", value = "90',
            "no group",
        ),
        ('thread = "M10 x 1.5"', 'thread = "ten"', "is no thread"),
        ('"main 2 right"]', '"upstairs"]', "is not a place"),
        (', "main 2 right"]', "]", "3 places are named for 4"),
    ],
)
def test_each_fault_is_one_sentence(old, new, wrong):
    text = engine_text() + BOLTS
    assert old in text
    faults = faults_of(text.replace(old, new, 1))
    assert len(faults) == 1, faults
    assert wrong in faults[0].wrong


def test_groups_of_two_kinds_cannot_be_one_plan():
    text = engine_text() + BOLTS.replace(
        "stages = [", 'stages = [{ do = "torque", group = "rods" },'
    )
    text += '[[fastener]]\ngroup = "rods"\nper = "cylinder"\ncount = 2\n'
    assert "make a plan of each" in str(faults_of(text)[0])
