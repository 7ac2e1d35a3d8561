"""Layouts of any shape: the same engine, whichever end it is looked at from."""

from math import degrees, pi, tau

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.engine_makers import engine_text, faults_of

from bedplate.engine import read_engine
from bedplate.engine.layout import (
    DRIVE_END,
    FREE_END,
    Arrangement,
    apart,
    bank_by_bank,
    crankpin_throws,
    dead_centre,
    dead_centres,
    din_73021,
    iso_1204,
    print_angles,
    zig_zag,
)

QUICK = settings(max_examples=150, deadline=None, database=None)


@st.composite
def arrangements(draw):
    form = draw(st.sampled_from(["in-line", "V", "flat"]))
    count = draw(st.integers(1 if form == "in-line" else 2, 16))
    pins = "own" if form == "in-line" else draw(st.sampled_from(["shared", "split", "own"]))
    angle = {"in-line": 0.0, "flat": pi}.get(form, draw(st.integers(10, 180)) / 180 * pi)
    return Arrangement(form, count, angle, pins, draw(st.booleans()))


@st.composite
def cranks(draw):
    arrangement = draw(arrangements())
    throws = [draw(st.integers(0, 359)) / 180 * pi for _ in range(arrangement.throws)]
    return arrangement, throws, draw(st.integers(0, 90)) / 180 * pi, draw(st.booleans())


@QUICK
@given(arrangements())
def test_places_labels_and_crankpins_are_each_there_once(arrangement):
    places = arrangement.places
    assert len({place.name for place in places}) == arrangement.count
    for label in (din_73021, iso_1204):
        assert len({label(arrangement, place) for place in places}) == arrangement.count
    for number in (bank_by_bank, zig_zag):
        for end in (FREE_END, DRIVE_END):
            made = number(arrangement, end, left_first=True, seen_from=end)
            assert sorted(made.values(), key=int) == [
                str(n) for n in range(1, arrangement.count + 1)
            ]
    pins = {arrangement.crankpin(place) for place in places}
    assert pins == set(range(1, arrangement.crankpins + 1))


@QUICK
@given(cranks())
def test_a_pair_comes_to_its_dead_centres_bank_angle_and_offset_apart(made):
    arrangement, throws, offset, clockwise = made
    pins = crankpin_throws(arrangement, throws, offset, clockwise=clockwise)
    centres = dead_centres(arrangement, pins, clockwise=clockwise)
    widened = arrangement.bank_angle + (offset if arrangement.pins != "shared" else 0.0)
    for place in arrangement.places:
        if place.bank == "B":
            pair = centres[place.name] - centres[f"A{place.position}"]
            assert apart(pair, widened if clockwise else -widened) < 1e-9


@QUICK
@given(cranks())
def test_turning_the_view_round_changes_no_dead_centre(made):
    """Seen from the other end the engine turns the other way and its banks change sides."""
    arrangement, throws, offset, clockwise = made
    pins = crankpin_throws(arrangement, throws, offset, clockwise=clockwise)
    seen = dead_centres(arrangement, pins, clockwise=clockwise)
    mirrored = {
        place.name: dead_centre(
            -arrangement.bank_at(place.bank),
            pins[arrangement.crankpin(place) - 1],
            clockwise=not clockwise,
        )
        for place in arrangement.places
    }
    assert all(apart(seen[name], mirrored[name]) < 1e-9 for name in seen)


@QUICK
@given(cranks(), st.data())
def test_an_order_made_from_a_crank_agrees_with_it_and_a_false_one_does_not(made, data):
    arrangement, throws, offset, clockwise = made
    if arrangement.form == "in-line" or arrangement.pins == "shared":
        offset = 0.0
    pins = crankpin_throws(arrangement, throws, offset, clockwise=clockwise)
    centres = dead_centres(arrangement, pins, clockwise=clockwise)
    labels = {place.name: din_73021(arrangement, place) for place in arrangement.places}
    turns = {name: data.draw(st.integers(0, 1)) * tau for name in centres}
    fires = sorted((angle + turns[name], labels[name]) for name, angle in centres.items())
    times = [at for at, _ in fires]
    gaps = [b - a for a, b in zip(times, [*times[1:], times[0] + 2 * tau], strict=True)]
    more = "\n".join((
        f'pins = "{"own" if arrangement.pins == "split" else arrangement.pins}"',
        f'first_pin = "{"right" if arrangement.right_first else "left"}"',
        f'throws = "{print_angles(pins)}"',
        "intervals = [" + ", ".join(f'"{max(degrees(gap), 0.0):.9f} deg"' for gap in gaps) + "]",
    ))  # fmt: skip
    layout = {"in-line": f"in-line {arrangement.count}", "flat": f"flat {arrangement.count}"}.get(
        arrangement.form, f"V{arrangement.count}, {degrees(arrangement.bank_angle):.0f} deg"
    )
    way = "clockwise" if clockwise else "anticlockwise"
    order = [label for _, label in fires]
    rotation = f"{way} seen from the free end"
    engine = read_engine(engine_text(layout, "-".join(order), more, rotation=rotation))
    zero = min(times) % tau
    for cylinder in engine.layout.cylinders:
        assert apart(cylinder.dead_centre, centres[cylinder.place] - zero) < 1e-6
    late = next((n for n in range(1, len(order)) if apart(times[n], times[n - 1]) > 0.02), None)
    if late is not None and len(order) > 2:
        order[late], order[late - 1] = order[late - 1], order[late]
        faults = faults_of(engine_text(layout, "-".join(order), more, rotation=rotation))
        assert [fault.key for fault in faults] == ["engine.firing"]
