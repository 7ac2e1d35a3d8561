"""What an engine file says of balance and torsion."""

import re
from math import pi

import pytest
from tests.balance_makers import WEIGHTS
from tests.engine_makers import engine_text, fault_at, faults_of, six

from bedplate.engine import examples, read_engine
from bedplate.quantity import parse

FOUR = examples()["in-line-four-frame"]


def test_every_figure_keeps_its_text_and_its_source():
    said = read_engine(six()).balancing
    ring = said.figure("torsion.ring_inertia")
    assert (ring.value, ring.text) == (pytest.approx(0.0095), "0.0095 kg·m²")
    assert ring.source == "invented crank and damper drawings"
    assert said.value("torsion.rubber_stiffness") == pytest.approx(36e3)
    assert said.turning[0] == "crank"
    assert said.on_crank == ("crank gear",)
    assert said.grade == 16


def test_shafts_and_frequencies_are_read():
    said = read_engine(FOUR).balancing
    assert [shaft.ratio for shaft in said.shafts] == [2, -2]
    assert said.value("torsion.known_frequency") == pytest.approx(2 * pi * 421)
    assert "flywheel" in said.turning


@pytest.mark.parametrize(
    ("old", "new", "key", "wrong"),
    [
        ('way      = "internal"', 'way      = "external"', "balance.way", "does not name"),
        ('scale    = "0.2 g"', 'scale    = "20 kg"', "balance.scale", "no scale"),
        (
            'on_crank = ["crank gear"]',
            'on_crank = ["crank bear"]',
            "balance.on_crank",
            "not among the parts",
        ),
        (
            'on_crank = ["crank gear"]',
            'weighted = ["flywheel"]',
            "balance.weighted",
            "balanced internally",
        ),
        (
            'turning  = ["damper", "crank gear",',
            'turning  = ["damper", "damper",  "crank gear",',
            "balance.turning",
            "twice",
        ),
        ('ring_inertia     = "0.0095 kg·m²"\n', "", "torsion.damper", "ring inertia"),
        ('web_width      = "80.0 mm"', 'web_width      = "80 kg"', "torsion.web_width", "mass"),
    ],
)
def test_what_cannot_be_is_refused(old, new, key, wrong):
    assert wrong in fault_at(six((old, new)), key).wrong


def test_a_balance_shaft_turns_a_whole_number_of_times():
    assert (
        "does not turn 0"
        in fault_at(FOUR.replace("ratio     = 2", "ratio     = 0"), "balance_shaft[1].ratio").wrong
    )


def test_a_figure_that_cannot_be_is_refused_with_its_range():
    said = faults_of(six(('web_width      = "80.0 mm"', 'web_width = "80 m"')))
    assert any("between 1" in fault.right and "2000" in fault.right for fault in said)


def test_the_weights_of_a_large_engine_are_taken():
    big = re.sub(r'(?m)^piston +=.*g"', 'piston = "650 kg"', WEIGHTS)
    big = re.sub(r'(?m)^big_end +=.*g"', 'big_end = "1100 kg"', big)
    head, _, rest = big.partition("[weights]")
    tail = f"[weights]{rest}"
    text = engine_text(layout="in-line 4", firing="1-3-4-2", more=head, mains=5, tail=tail)
    assert read_engine(text).duty.value("weights.big_end") == 1100
    assert parse("1.2 MN·m/rad").value == pytest.approx(1.2e6)


@pytest.mark.parametrize(
    ("key", "text"),
    [("piston", "380 kg"), ("piston", "3.8 g"), ("piston", "4 kg"), ("small_end", "9 kg")],
)
def test_a_weight_far_from_what_the_bore_suggests_is_asked_about(key, text):
    odd = re.sub(rf'(?m)^{key} +=.*g"', f'{key} = "{text}"', FOUR)
    assert odd != FOUR
    assert not any("unusual for a bore" in one for one in read_engine(FOUR).remarks)
    asked = [one for one in read_engine(odd).remarks if "unusual for a bore" in one]
    assert len(asked) == 1
    assert asked[0].startswith(f"weights.{key} is {text}, ")


def test_a_pin_offset_beyond_a_tenth_of_the_bore_is_asked_about():
    odd = re.sub(r"(?m)^pin_offset.*$", "", FOUR)
    odd = odd.replace("[geometry]", '[geometry]\npin_offset = "20 mm to thrust side"', 1)
    assert any(one.startswith("geometry.pin_offset is 20 mm") for one in read_engine(odd).remarks)
