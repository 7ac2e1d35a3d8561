"""Quantities of the duty check beside what parts are rated for: by place, and without a film."""

from dataclasses import replace
from math import isnan, nan, pi

import numpy as np
import pytest
from tests.engine_makers import six

from bedplate.engine import examples, read_engine
from bedplate.errors import InputError
from bedplate.physics.loads import cylinder_loads
from bedplate.quantity import Units
from bedplate.shop.duty.bearings import Choice, film_bearings
from bedplate.shop.duty.check import duty_check
from bedplate.shop.duty.films import in_need, least_film
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.items import Standing, flow_words, items_at, power_words, step_words
from bedplate.shop.duty.reasons import lacking_words, reached_words, whole_reason, why
from bedplate.shop.duty.study import film_study

RPM = pi / 30
RATING = '[[rating]]\nof = "{}"\nlimit = "{}"\nsource = "invented sheet"\n\n'


def v8(*ratings, drop=""):
    text = examples()["v8"]
    if drop:
        begin = text.index(f'[[rating]]\nof     = "{drop}"')
        text = text[:begin] + text[text.index("\n\n", begin) :]
    at = text.index("[[rating]]")
    made = "".join(RATING.format(*rating) for rating in ratings)
    return Given(read_engine(text[:at] + made + text[at:]))


def items_of(check, place=0):
    return {item.name: item for item in check.rows[place].items}


def test_what_pulls_the_rod_by_hand_at_either_end():
    # At the dead centre of gas exchange (Khurmi & Gupta, Theory of Machines, chapter 15): the pin
    # pulls what goes up and down with the piston by rω²(1 + r/l); the crankpin that, the rod's
    # small end by the same and its big end by rω². V8: piston 482, pin 130, locks 2, rings 56 g.
    check = duty_check(v8(), (7000 * RPM,))
    items, given = items_of(check), v8()
    weight = {name: value.value for name, value in check.train.sources}
    throw, rod, turn = given.engine.stroke / 2, given.engine.rod, 7000 * RPM
    top, around = throw * turn**2 * (1 + throw / rod), throw * turn**2
    piston = sum(weight[name] for name in ("piston", "pin", "locks", "rings"))
    big = weight["big end"] + weight["shells"]
    at_pin = piston * top
    at_crankpin = at_pin + weight["small end"] * top + big * around
    # Gas at exhaust pressure is left out of the hand calculation: under a newton in a thousand.
    assert items["rod tension, small end"].value == pytest.approx(at_pin, rel=1.5e-3)
    assert items["rod tension, big end"].value == pytest.approx(at_crankpin, rel=1.5e-3)
    assert items["rod tension, big end"].value == pytest.approx(37.8e3, rel=2e-3)
    pressed = items["rod compression, small end"].value, items["rod compression, big end"].value
    loads = check.rows[0].loads
    assert pressed[0] == pytest.approx(34.5e3, rel=5e-3)
    # What the rod's own mass takes of the gas force never reaches the crankpin.
    assert pressed[1] < pressed[0] < loads.gas.max()


@pytest.mark.parametrize(
    ("of", "big", "small"),
    [
        ("rod bolts", Standing.BEYOND, Standing.UNKNOWN),
        ("rod cap", Standing.BEYOND, Standing.UNKNOWN),
        ("rod tension", Standing.BEYOND, Standing.WITHIN),
    ],
)
def test_bolts_cap_and_rod_are_held_against_the_pull_they_carry(of, big, small):
    # 30 kN is more than the pin pulls and less than the crankpin does.
    items = items_of(duty_check(v8((of, "30 kN"), drop="rod tension"), (7000 * RPM,)))
    assert items["rod tension, big end"].standing is big
    assert items["rod tension, small end"].standing is small
    assert f"30 kN ({of})" in items["rod tension, big end"].rating_words(Units.METRIC)


def test_the_tightest_of_several_ratings_counts_and_what_is_unrated_is_named():
    check = duty_check(v8(("rod bolts", "30 kN")), (7000 * RPM,))
    item = items_of(check)["rod tension, big end"]
    assert (item.standing, item.rated, item.unrated) == (Standing.BEYOND, "rod bolts", ("rod cap",))
    assert item.rating_words(Units.METRIC) == "30 kN (rod bolts); rod cap unknown"
    assert item.rating_words(Units.INCH) == "30 kN = 6744 lbf (rod bolts); rod cap unknown"
    assert "The rating of rod cap: nobody gave one." in check.unknown
    assert "The rating of rod bolts: nobody gave one." not in check.unknown


def test_a_rod_that_is_never_pulled_says_so_and_has_no_tension_below_zero():
    # Slow, with gas at 3 bar that never lets go, as scavenging at speed does in a two-stroke.
    known, check = v8(), duty_check(v8(), (300 * RPM,))
    train, row = check.train, check.rows[0]
    traces = [replace(one, pressure=one.pressure + 2e5) for one in row.pressure.traces]
    loads = cylinder_loads(
        train.layout, train.masses, traces, bore=0.1, firing=train.firing, speed=row.speed
    )
    bearings = {one.bearing.id: one.load for one in row.films}
    made = items_at(known, row.speed, loads, row.pressure, bearings, row.films)
    item = next(item for item in made if item.name == "rod tension, small end")
    assert item.value == 0.0
    assert item.words(Units.METRIC) == "0.0 kN, never pulled"


@pytest.fixture(scope="module")
def whole():
    known = v8()
    return known, duty_check(known, (6500 * RPM, 7000 * RPM))


def broken(row, *ids, state="film breaks down"):
    """Return the films of a row, those of some bearings without a film."""
    return tuple(
        one
        if one.bearing.id not in ids
        else replace(one, film=replace(one.film, state=state, least_film=nan, peak_pressure=nan))
        for one in row.films
    )


def items_with(known, row, films):
    bearings = {one.bearing.id: one.load for one in films}
    made = items_at(known, row.speed, row.loads, row.pressure, bearings, films)
    return {item.name: item for item in made}


def test_a_broken_film_is_beyond_its_rating_and_leaves_the_others_told(whole):
    known, check = whole
    row = check.rows[-1]
    items = items_with(known, row, broken(row, "rod-1", "main-4"))
    rods = [one.film.least_film for one in row.films if one.bearing.kind == "rod"]
    item = items["least rod film"]
    assert item.standing is Standing.BEYOND
    assert item.value == pytest.approx(min(rods[1:]), rel=1e-3)
    assert item.words(Units.METRIC).endswith("µm, no film in rod 1")
    # Nobody rated the mains: a film that breaks down is still not merely unrated.
    assert items["least main film"].standing is Standing.NO_FILM
    assert not isnan(items["least main film"].value)
    assert not isnan(items["film pressure"].value)


def test_films_that_could_not_be_told_are_neither_within_nor_broken(whole):
    known, check = whole
    row = check.rows[0]
    films = broken(row, "rod-1", "rod-2", state="beyond the oil's data")
    item = items_with(known, row, films)["least rod film"]
    assert (item.standing, item.note) == (Standing.NO_VALUE, "not known in 2 of 8")


def test_without_any_film_the_rows_are_the_same_and_say_so(whole):
    known, check = whole
    row = check.rows[0]
    items = items_with(known, row, broken(row, *(one.bearing.id for one in row.films)))
    assert list(items) == [item.name for item in row.items]
    assert items["least rod film"].words(Units.METRIC) == "no film in any"
    assert items["film pressure"].words(Units.METRIC) == "no film in any"


def test_the_least_is_one_with_a_film_and_the_sentence_names_those_without(whole):
    _, check = whole
    row = check.rows[-1]
    films = broken(row, "main-4")
    assert in_need(films).bearing.id == "main-4"
    assert least_film(films).holds
    said = whole_reason(check.train, films, row.rpm, Units.METRIC)
    assert said.startswith("Main 4: the film breaks down at 7000 rpm")
    assert f"{least_film(films).bearing.name.capitalize()}: " in said
    words = lacking_words([(6500, check.rows[0].films), (7000, films)])
    assert words == "The film breaks down in main 4 at 7000 rpm."
    both = broken(check.rows[0], "main-4", "main-5")
    words = lacking_words([(6500, both), (6800, films), (7000, films)])
    assert words == (
        "The film breaks down in main 4 and main 5 at 6500 rpm; in main 4 at 6800, 7000 rpm."
    )


def test_what_was_reached_is_told_where_no_film_could_be(whole):
    _, check = whole
    one = check.rows[0].films[0]
    film = one.film
    assert film.laps > 0.5
    assert film.change <= 1e-3
    assert abs(film.missing) < 0.05
    unsettled = replace(
        film, state="not settled", laps=225.0, change=0.0042, film_temperature=413.15
    )
    said = reached_words(unsettled, Units.METRIC)
    assert said.startswith("after 225 cycles the film stood at 140 °C and its orbit still changed")
    assert "by 0.42 % of what is left" in said
    hot = replace(unsettled, state="heat not balanced", missing=-3.2)
    assert reached_words(hot, Units.METRIC).endswith("and wanted 3.2 K less")
    lost = replace(one, film=hot)
    said = why(check.train, check.rows[0].films, lost, 6500, Units.METRIC)
    assert "After 225 cycles the film stood at 140 °C" in said
    never = replace(film, state="no clearance left", laps=0.0)
    assert reached_words(never, Units.METRIC) == ""


def test_a_film_that_could_not_be_told_says_how_hot_it_was():
    # Hardly any clearance: the heat has nowhere to go.
    least = film_bearings(v8())[0].bearing.shape.diametral_clearance
    check = duty_check(v8(), (7000 * RPM,), Choice(clearance=-0.7 * least), units=Units.METRIC)
    untold = [one for one in check.rows[0].films if not one.holds and one.film.laps]
    assert untold
    assert all(one.film.film_temperature > 380 for one in untold)
    assert "cycles the film stood at" in check.rows[0].why


def test_what_is_said_is_in_the_builders_units(whole):
    known, check = whole
    assert "lbf" in check.lead
    assert "psi on its projected area" in check.lead
    assert "kN" not in check.lead + "".join(row.why for row in check.rows)
    metric = duty_check(known, (7000 * RPM,), units=Units.METRIC)
    assert "kN" in metric.lead
    assert "lbf" not in metric.lead


def test_oil_power_and_small_steps_are_in_the_builders_units():
    # NIST SP 811, appendix B: a US quart 0.9463529 l, a horsepower of 550 ft·lbf/s 745.6999 W.
    litre_a_minute = 1e-3 / 60
    assert flow_words(litre_a_minute, Units.METRIC) == "1.00 l/min"
    assert flow_words(litre_a_minute, Units.INCH) == "1.06 qt/min"
    assert power_words(745.7, Units.METRIC) == "746 W"
    assert power_words(745.7, Units.INCH) == "1.00 hp"
    assert step_words(Units.INCH) == ("A thousandth of an inch", 2.54)


def test_what_is_beyond_its_rating_leads_then_the_least_film_with_its_oil_and_clearance():
    check = duty_check(v8(("rod bolts", "30 kN")), (6500 * RPM, 7000 * RPM))
    lead = check.lead
    assert lead.startswith("Beyond its rating: rod tension, big end 8")
    assert " at 7000 rpm, rated 30 kN = 6744 lbf (rod bolts)" in lead
    assert "6500 rpm" not in lead
    one = check.least.least
    begin = f"Least film of all: {one.bearing.name.capitalize()}: {one.film.least_film * 1e6:.2f}"
    assert lead.index("rod tension, big end") < lead.index(begin)
    assert f"oil {one.bearing.bearing.oil.name}, cold clearance 0.00" in lead
    assert "Beyond" not in duty_check(v8(drop="rod tension"), (3000 * RPM,)).lead


def test_a_bearing_without_clearance_ends_no_check_and_has_no_film():
    known = Given(read_engine(six()))
    least = min(
        film_bearings(known), key=lambda one: one.bearing.shape.diametral_clearance
    ).bearing.shape.diametral_clearance
    check = duty_check(known, (6000 * RPM,), Choice(clearance=-least - 1e-6))
    gone = [one for one in check.rows[0].films if one.film.state == "no clearance left"]
    assert gone
    assert all(np.isnan(one.film.least_film) for one in gone)
    assert "There is no clearance left in" in check.lead


def test_a_bearing_that_cannot_be_is_named_and_the_others_are_looked_at():
    wide = six(('groove_width = "4.0 mm"', 'groove_width = "17.2 mm"'))
    check = duty_check(Given(read_engine(wide)), (6000 * RPM,))
    assert any(said.startswith("Main 1: ") for said in check.unknown)
    assert {one.bearing.kind for one in check.rows[0].films} == {"rod"}
    with pytest.raises(InputError, match=r"^Main 1: "):
        film_study(Given(read_engine(wide)), "main-1", (6000 * RPM,))


def test_a_difference_of_clearance_is_told_in_the_builders_units():
    check = duty_check(v8(), (2000 * RPM,))
    row = check.rows[0]
    main = next(one for one in row.films if one.bearing.id == "main-4")
    # The fifth main is meant 0.2 thou wider than the fourth; both grow alike.
    said = [why(check.train, row.films, main, row.rpm, units) for units in Units]
    assert "5.2 µm less clearance in the film" in said[0]
    assert "0.00020 in less clearance in the film" in said[1]
