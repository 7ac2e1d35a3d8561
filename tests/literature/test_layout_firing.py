"""Throws and firing orders.

Firing orders and throw maps are common practice, no source; that they belong together is crank
geometry: in an engine that fires evenly every cylinder fires at its own dead centre, so its firing
angle modulo 360 deg is its dead centre.
"""

import re
from math import degrees

import pytest
from tests.engine_makers import (
    LEFT_FIRST,
    RIGHT_FIRST,
    an_engine,
    dead_centres,
    engine_text,
    fault_at,
)

from bedplate.engine.layout import dead_centre, free_primary

EVEN = [
    ("in-line 3", "1-3-2", "", [0, 120, 240]),
    ("in-line 4", "1-3-4-2", "", [0, 180, 180, 0]),
    ("in-line 4", "1-2-4-3", "", [0, 180, 180, 0]),
    ("in-line 5", "1-2-4-5-3", "", [0, 144, 216, 288, 72]),
    ("in-line 6", "1-5-3-6-2-4", "", [0, 120, 240, 240, 120, 0]),
    ("V8, 90 deg", "1-8-4-3-6-5-7-2", RIGHT_FIRST, [0, 270, 270, 180, 90, 0, 180, 90]),
    ("V8, 90 deg", "1-8-7-2-6-5-4-3", RIGHT_FIRST, [0, 270, 270, 180, 90, 0, 180, 90]),
    ("V8, 90 deg", "1-5-4-2-6-3-7-8", "", [0, 270, 90, 180, 90, 0, 180, 270]),
    ("V8, 90 deg", "1-3-7-2-6-5-4-8", "", [0, 270, 90, 180, 90, 0, 180, 270]),
    ("V12, 60 deg", "1-7-5-11-3-9-6-12-2-8-4-10", "",
     [0, 120, 240, 240, 120, 0, 60, 180, 300, 300, 180, 60]),
]  # fmt: skip


@pytest.mark.parametrize(("layout", "firing", "numbering", "centres"), EVEN)
def test_usual_orders_agree_with_usual_cranks(layout, firing, numbering, centres):
    assert dead_centres(an_engine(layout, firing, numbering)) == centres


@pytest.mark.parametrize(
    ("pins", "layout"), [("", "V10, 72 deg"), ('pins = "split 18 deg"', "V10, 90 deg")]
)
def test_the_pairs_of_a_v10_fire_72_deg_apart(pins, layout):
    engine = an_engine(layout, "1-6-5-10-2-7-3-8-4-9", pins)
    centres = dead_centres(engine)
    pairs = {
        (left, left + 5): (centres[left + 4] - centres[left - 1]) % 360 for left in range(1, 6)
    }
    assert set(pairs.values()) == {72}


@pytest.mark.parametrize(
    ("layout", "firing", "numbering", "partners"),
    [
        ("flat 4", "1-3-2-4", LEFT_FIRST, [(1, 2), (3, 4)]),
        ("flat 4", "1-4-3-2", "", [(1, 3), (2, 4)]),
        ("flat 6", "1-6-2-4-3-5", "", [(1, 4), (2, 5), (3, 6)]),
    ],
)
def test_opposed_pistons_reach_their_dead_centres_together(layout, firing, numbering, partners):
    centres = dead_centres(an_engine(layout, firing, numbering))
    for one, other in partners:
        assert centres[one - 1] == centres[other - 1]


@pytest.mark.parametrize(
    ("layout", "firing", "throws"),
    [
        ("V8, 90 deg", "1-5-4-2-6-3-7-8", [0, 90, 270, 180]),
        ("in-line 4", "1-3-4-2", [0, 180, 180, 0]),
        ("in-line 6", "1-5-3-6-2-4", [0, 240, 120, 120, 240, 0]),
    ],
)
def test_the_usual_throws_are_those_of_the_trade(layout, firing, throws):
    """Counted in the direction of rotation: a throw that lies ahead is up sooner."""
    cylinders = an_engine(layout, firing).layout.cylinders
    by_pin = {cylinder.crankpin: cylinder.throw_angle for cylinder in cylinders}
    assert [round(degrees(by_pin[pin])) for pin in sorted(by_pin)] == throws


def test_an_order_that_puts_all_pins_in_line_is_questioned():
    """Numbered along the left bank first, 1-3-2-4 has opposed pistons go the same way together.

    The trade's 1-3-2-4 of a flat four counts from side to side, which gives a boxer's throws.
    """
    engine = an_engine("flat 4", "1-3-2-4")
    asked = engine.layout.doubt
    assert asked in engine.remarks
    assert "0-0-0-0 deg" in asked
    assert "add up to 4 times one cylinder's" in asked
    assert "Numbered from side to side it fits 0-180-180-0 deg, which leave none" in asked


@pytest.mark.parametrize(
    ("layout", "firing", "more"),
    [
        ("flat 4", "1-4-3-2", ""),
        ("flat 4", "1-3-2-4", LEFT_FIRST),
        ("flat 4", "1-3-2-4", 'throws = "0-0-0-0 deg"'),  # Whoever writes them means them.
        ("flat 6", "1-6-2-4-3-5", ""),
        ("in-line 2", "1-2", ""),  # Parallel twins are built with both pins up together.
        *((layout, firing, more) for layout, firing, more, _ in EVEN),
    ],
)
def test_usual_cranks_are_not_questioned(layout, firing, more):
    assert an_engine(layout, firing, more).layout.doubt == ""


@pytest.mark.parametrize(
    ("layout", "firing", "more", "left"),
    # Bevan, The Theory of Machines: a V-twin at 90° leaves a force of one cylinder that turns, at
    # 60° on one pin 3/2 along its middle; a parallel twin leaves two, an in-line three none.
    [
        ("single", "1", "", 1),
        ("in-line 2", "1-2", "", 2),
        ("in-line 2", "1-2", 'throws = "0-180 deg"\nintervals = "180-540 deg"', 0),
        ("in-line 3", "1-3-2", "", 0),
        ("V2, 90 deg", "1-2", 'intervals = "450-270 deg"', 1),
        ("V2, 60 deg", "1-2", 'intervals = "420-300 deg"', 1.5),
    ],
)
@pytest.mark.parametrize("way", ["clockwise", "anticlockwise"])
def test_primary_force_that_pistons_leave(layout, firing, more, left, way):
    if way == "anticlockwise" and layout.startswith("V"):
        first, last = re.findall(r"\d+", more)
        more = f'intervals = "{last}-{first} deg"'
    engine = an_engine(layout, firing, more, rotation=f"{way} seen from the free end")
    clockwise = way == "clockwise"
    places = [
        (one.bank_angle, dead_centre(one.bank_angle, one.throw_angle, clockwise=clockwise))
        for one in engine.layout.cylinders
    ]
    assert free_primary(places, clockwise=clockwise) == pytest.approx(left, abs=1e-6)


def test_a_single():
    assert dead_centres(an_engine("single", "1", mains=2)) == [0]


def test_a_v_twin_fires_unevenly_by_its_bank_angle():
    """45 deg between the banks and one pin: 360 + 45, then 360 − 45."""
    assert dead_centres(an_engine("V2, 45 deg", "1-2", 'intervals = "405-315 deg"')) == [0, 45]
    even = engine_text("V2, 45 deg", "1-2")
    assert fault_at(even, "engine.firing").wrong.startswith("cylinder 2 does not agree")


def test_a_90_degree_twin_needs_its_intervals_the_right_way_round():
    intervals = 'intervals = "270-450 deg"'
    one_way = an_engine(
        "V2, 90 deg", "1-2", intervals, rotation="anticlockwise seen from the free end"
    )
    other_numbering = an_engine(
        "V2, 90 deg", "1-2", f"{intervals}\nnumbering = {{ A1 = 2, B1 = 1 }}"
    )
    assert dead_centres(one_way) == dead_centres(other_numbering) == [0, 270]
    assert (
        "cylinder 2" in fault_at(engine_text("V2, 90 deg", "1-2", intervals), "engine.firing").wrong
    )


def test_a_90_degree_v6_fires_evenly_on_pins_split_30_deg_and_unevenly_on_shared_ones():
    split = an_engine("V6, 90 deg", "1-6-5-4-3-2", f'{RIGHT_FIRST}\npins = "split 30 deg"')
    assert dead_centres(split) == [0, 240, 120, 0, 240, 120]
    assert split.layout.crankpins == 6
    assert round(degrees(split.layout.pin_offset)) == 30
    odd = an_engine("V6, 90 deg", "1-6-5-4-3-2", f'{RIGHT_FIRST}\nintervals = "150-90 deg"')
    assert dead_centres(odd) == [0, 270, 120, 30, 240, 150]
    assert odd.layout.crankpins == 3
    shared = engine_text("V6, 90 deg", "1-6-5-4-3-2", RIGHT_FIRST)
    assert fault_at(shared, "engine.firing")


def test_an_order_with_two_numbers_swapped_names_the_cylinders_and_the_throws():
    fault = fault_at(engine_text("in-line 6", "1-5-3-6-4-2"), "engine.firing")
    assert fault.line == 5
    assert "cylinders 2, 4 do not agree with the crank" in fault.wrong
    assert "0-240-120-120-240-0 deg" in fault.wrong


def test_an_order_of_another_numbering_is_refused():
    """The zig-zag order in a file that counts bank by bank."""
    fault = fault_at(engine_text("V8, 90 deg", "1-8-4-3-6-5-7-2"), "engine.firing")
    assert "cylinders 3, 8" in fault.wrong


def test_throws_in_the_file_are_what_the_order_is_held_to():
    flat_plane = 'throws = "0-180-0-180 deg"'
    order = "1-5-4-8-3-7-2-6"
    assert dead_centres(an_engine("V8, 90 deg", order, flat_plane))[:4] == [0, 180, 0, 180]
    wrong = engine_text("V8, 90 deg", order, 'throws = "0-90-270-180 deg"')
    assert "throws as given: 0-90-270-180 deg" in fault_at(wrong, "engine.firing").wrong


def test_a_two_stroke_fires_every_cylinder_each_turn():
    engine = an_engine("in-line 3", "1-2-3", 'cycle = "two-stroke"')
    assert dead_centres(engine) == [0, 120, 240]
    assert [round(degrees(i)) for i in engine.layout.intervals] == [120, 120, 120]
