"""The duty check of the shipped engines: which bearing has the least film, at which speed, why."""

import re
from dataclasses import replace
from math import pi, radians

import numpy as np
import pytest
from tests.engine_makers import an_engine, six

from bedplate.engine import examples, read_engine
from bedplate.engine.traces import MeasuredTrace, read_points
from bedplate.errors import InputError
from bedplate.physics.loads import cylinder_loads
from bedplate.physics.volumes import volume_at
from bedplate.quantity import Units
from bedplate.shop.duty.bearings import Choice, film_bearings
from bedplate.shop.duty.check import duty_check
from bedplate.shop.duty.gas import pressure_at
from bedplate.shop.duty.given import Given, How
from bedplate.shop.duty.heat import hot_fits
from bedplate.shop.duty.items import Standing
from bedplate.shop.duty.traces import even_trace
from bedplate.shop.duty.train import crank_train
from bedplate.shop.duty.volumes import squish_words, volumes

RPM = pi / 30
BOTH = ("v8", "straight-six")


def given(name="straight-six", *changes):
    return Given(read_engine(six(*changes) if changes else examples()[name]))


@pytest.fixture(scope="module")
def checks():
    return {name: duty_check(given(name)) for name in BOTH}


@pytest.mark.parametrize("name", BOTH)
def test_it_tells_the_bearing_the_speed_and_why(checks, name):
    check = checks[name]
    least = check.least.least
    films = [one.film.least_film for row in check.rows for one in row.films]
    assert least.film.least_film == pytest.approx(min(films), rel=2e-3)
    assert check.least.why.startswith(least.bearing.name.capitalize())
    assert f"{check.least.rpm:.0f} rpm" in check.least.why
    assert "load press it" in check.least.why


@pytest.mark.parametrize("name", BOTH)
def test_every_number_has_a_source(checks, name):
    check = checks[name]
    assert all(value.source for _, value in check.sources)
    assert all(item.source for row in check.rows for item in row.items)
    assert {
        "oil supply temperature, every bearing",
        "clearance at 20 °C, every rod",
        "pitch of the throws",
        "burn start",
    } <= {what for what, _ in check.sources}


@pytest.mark.parametrize("name", BOTH)
def test_a_thinner_oil_gives_a_thinner_film(checks, name):
    # Any text on journal bearings: film grows with viscosity at the same load and speed.
    thin = duty_check(given(name), (6000 * RPM,), Choice(oil="0W-16"))
    thick = duty_check(given(name), (6000 * RPM,), Choice(oil="20W-50"))
    for one, other in zip(thin.rows[0].films, thick.rows[0].films, strict=True):
        assert one.film.least_film < other.film.least_film
        assert one.film.viscosity < other.film.viscosity


def test_a_grade_asked_for_that_is_none_is_refused():
    with pytest.raises(InputError, match="'5W-35' is no grade"):
        duty_check(given("v8"), (6000 * RPM,), Choice(oil="5W-35"))


@pytest.mark.parametrize("name", BOTH)
def test_a_hundredth_more_clearance_thins_the_rods_film_and_cools_it(checks, name):
    # Beyond the clearance of the thickest film more clearance carries less and lets more oil
    # through (Raimondi and Boyd's charts read along one load).
    plain = duty_check(given(name), (6000 * RPM,)).rows[0]
    wider = duty_check(given(name), (6000 * RPM,), Choice(clearance=1e-5)).rows[0]
    for one, other in zip(plain.films, wider.films, strict=True):
        assert other.film.flow > one.film.flow
        assert other.film.film_temperature < one.film.film_temperature
        if one.bearing.kind == "rod":
            assert other.film.least_film < one.film.least_film


def test_a_missing_rating_is_unknown_and_never_fine(checks):
    items = {item.name: item for item in checks["straight-six"].rows[-1].items}
    assert items["rod tension, big end"].standing is Standing.UNKNOWN
    assert items["mean piston speed"].standing is Standing.WITHIN
    beyond = duty_check(given("straight-six", ('"22 m/s"', '"20 m/s"')), (7200 * RPM,))
    found = {item.name: item.standing for item in beyond.rows[0].items}
    assert found["mean piston speed"] is Standing.BEYOND
    assert "The rating of rod tension: nobody gave one." in beyond.unknown
    assert "The rating of rod bolts: nobody gave one." in beyond.unknown


def test_sixes_rods_are_alike_and_its_mains_symmetric(checks):
    row = checks["straight-six"].rows[0]
    film = {one.bearing.id: one.film.least_film for one in row.films}
    rods = [film[f"rod-{n}"] for n in range(1, 7)]
    assert max(rods) == pytest.approx(min(rods), rel=1e-3)
    # The crank is its own mirror image; mains 1 and 7 carry one throw each.
    assert film["main-1"] == pytest.approx(film["main-7"], rel=1e-2)


def test_the_mains_together_carry_what_the_engine_puts_on_them(checks):
    row = checks["v8"].rows[-1]
    turning = checks["v8"].train.turning
    out = np.stack([np.cos(row.loads.angle[:, None] + turning.angle),
                    np.sin(row.loads.angle[:, None] + turning.angle)], axis=-1)  # fmt: skip
    weights = (turning.amount[None, :, None] * row.speed**2 * out).sum(axis=1)
    whole = -row.loads.rod_bearing.sum(axis=0) + weights
    assert np.abs(row.mains.sum(axis=0) - whole).max() < 1e-6 * np.abs(whole).max() + 1e-3


def test_a_file_that_says_little_is_told_what_it_lacks():
    with pytest.raises(InputError, match="piston weighs") as caught:
        duty_check(Given(an_engine()))
    assert "weights.piston" in caught.value.hint
    without = duty_check(given("straight-six", ('shell_width  = "19.4 mm"', "")), (3000 * RPM,))
    assert without.least is None
    assert any("how wide the main shells carry" in sentence for sentence in without.unknown)


def test_estimates_are_marked():
    bearing = film_bearings(given("straight-six", ('temperature = "105 °C" ', "#")))[0]
    source = dict(bearing.sources)["oil supply temperature"]
    assert source.how is How.ESTIMATED
    assert "common practice" in source.source


@pytest.mark.parametrize("name", sorted(examples()))
def test_all_that_a_film_and_a_load_rest_on_is_named_with_its_source(name):
    found = dict(duty_check(given(name), (3000 * RPM,)).sources)
    bearing = (
        "clearance at 20 °C", "journal", "shell width", "groove", "roughness of the journal",
        "roughness of the shell", "oil supply temperature", "oil supply pressure",
        "housing temperature", "journal temperature", "expansion of the housing",
        "expansion of the shell", "expansion of the crank", "shell's wall", "oil",
        "oil's viscosity at 40 °C", "oil's viscosity at 100 °C", "oil's high-shear viscosity",
        "oil's density at 15 °C", "heat that leaves with the oil",
    )  # fmt: skip
    for kind in ("main", "rod"):
        for what in bearing:
            places = {f"{what}, {kind} 1", f"{what}, every {kind}", f"{what}, every bearing"}
            assert places & set(found), (kind, what)
        fed = {what for what in found if what.startswith(("groove's width, ", "feed hole, "))}
        assert any(kind in what or "every bearing" in what for what in fed)
    train = ("stroke", "rod length", "pin offset", "rod's inertia", "places of the mains",
             "crankcase pressure")  # fmt: skip
    assert set(train) <= set(found)
    assert any(what.startswith("counterweight") for what in found)
    assert any("fuel" in what for what in found)


def test_what_the_file_does_not_say_is_marked_as_an_estimate():
    lacking = (
        ('feed_hole   = "6 mm"', "#"),
        ('temperature = "105 °C" ', "#"),
    )
    text = six(*lacking)
    for key in ("journal_roughness", "shell_roughness", "opposite"):
        text = re.sub(rf"(?m)^{key} .*$", "", text)
    text = re.sub(r"(?ms)^\[temperatures\].*?(?=^\[)", "", text)
    text = re.sub(r"(?ms)^\[\[counterweight\]\].*?(?=^\[)", "", text)
    check = duty_check(Given(read_engine(text)), (3000 * RPM,))
    guessed = {what for what, value in check.sources if value.how is How.ESTIMATED}
    assert {
        "roughness of the journal, every bearing", "roughness of the shell, every bearing",
        "oil supply temperature, every bearing", "journal temperature, every bearing",
        "housing temperature, every bearing", "oil's high-shear viscosity, every bearing",
        "oil's density at 15 °C, every bearing", "feed hole, every rod", "counterweights",
    } <= guessed  # fmt: skip


def test_a_film_that_cannot_be_told_says_so_and_shows_no_number():
    heavy = [
        ('oil      = "SAE 10W-60"', 'oil      = "SAE 8"'),
        ('piston    = "328 g"', 'piston    = "200 kg"'),
    ]
    check = duty_check(given("straight-six", *heavy), (7200 * RPM,))
    assert not check.least.least.holds
    assert np.isnan(check.least.least.film.least_film)
    assert "at 7200 rpm" in check.least.why
    item = next(i for i in check.rows[0].items if i.name == "least rod film")
    # So heavy a piston breaks the film, long before the oil is too hot to be told.
    assert (item.standing, item.note) == (Standing.NO_FILM, "no film in any")


def test_volumes_name_each_term():
    found = volumes(given("v8"))
    first = found.cylinders[0]
    # By hand: 64.0 cc chamber measured 63.8; gasket π/4·4.200²·0.041 in³; deck 0.010 in over the
    # bore; 6.0 cc dish; 0.9 cc crevice.
    gasket = pi / 4 * 4.2**2 * 0.041 * 16.387064
    assert first.terms.chamber * 1e6 == pytest.approx(63.8)
    assert first.terms.gasket * 1e6 == pytest.approx(gasket)
    assert first.terms.dish * 1e6 == pytest.approx(6.0)
    assert first.ratio == pytest.approx(first.swept / first.terms.total + 1)
    assert found.by_ratio[0].label == "4"
    assert first.squish == pytest.approx(0.051 * 0.0254)
    assert dict(first.sources)["chamber"].how is How.MEASURED
    assert 0 < first.effective < first.ratio


def test_squish_is_told_from_the_tightest_on_and_held_to_what_is_wanted():
    found = volumes(given("v8"))
    tight = replace(found.cylinders[3], squish=0.9e-3)
    uneven = replace(found, cylinders=(*found.cylinders[:3], tight, *found.cylinders[4:]))
    said = squish_words(uneven, Units.METRIC)
    assert said.startswith("Squish at rest, tightest first: 0.900 mm in 4; 1.295 mm in 1, 2, 3, 5")
    assert "The tightest is under the 1.016 mm wanted" in said
    assert "not under" in squish_words(found, Units.INCH)


def test_sensitivity_is_per_hundredth_of_a_millimetre():
    plain = volumes(given("straight-six")).cylinders[0]
    thicker = volumes(given("straight-six", ('"1.30 mm"', '"1.31 mm"'))).cylinders[0]
    assert dict(plain.per_step)["gasket thicker"] == pytest.approx(
        thicker.ratio - plain.ratio, rel=2e-3
    )


def test_each_cylinder_has_the_pressure_of_its_own_clearance_volume(checks):
    # The V8's chambers are measured one by one: more ratio, more pressure; like cylinders alike.
    row, found = checks["v8"].rows[-1], checks["v8"].volumes
    traces = row.pressure.traces
    both = zip(found.cylinders, row.pressure.peaks, strict=True)
    by_ratio = sorted(both, key=lambda pair: pair[0].ratio)
    peaks = [peak for _, peak in by_ratio]
    assert peaks == sorted(peaks)
    assert peaks[-1] > 1.004 * peaks[0]
    assert traces[2] is traces[5]
    assert traces[0] is not traces[1]
    worst = next(item for item in row.items if item.name == "cylinder pressure")
    assert (worst.worst, worst.value) == (by_ratio[-1][0].label, peaks[-1])


def test_compression_alone_is_that_of_the_ratio_from_inlet_closing():
    # Before it burns T·V^(γ−1) is constant but for the heat to the walls, and T goes as p·V: so
    # from cylinder to cylinder p·V stands as the ratio from inlet closing to the power γ − 1, with
    # γ of the warm charge between 1.28 and 1.40 (Heywood, figure 4-13: fuel vapour lowers it).
    known = given("v8")
    cylinders = volumes(known).cylinders
    before = [trace.at(radians(-25))[()] for trace in pressure_at(known, 6000 * RPM).traces]
    low, high = int(np.argmin(before)), int(np.argmax(before))
    ends = [_volume_at(known, one, radians(-25)) for one in cylinders]
    closed = [_volume_at(known, one, CLOSES - pi) for one in cylinders]
    ratio = [a / b for a, b in zip(closed, ends, strict=True)]
    energy = [p * v for p, v in zip(before, ends, strict=True)]
    power = np.log(energy[high] / energy[low]) / np.log(ratio[high] / ratio[low])
    assert 0.28 < power < 0.40


CLOSES = radians(66)


def _volume_at(known, one, angle):
    engine = known.engine
    return volume_at(angle, engine.bore, engine.stroke / 2, engine.rod, one.clearance)


def test_each_piston_has_the_gas_force_of_its_own_bore():
    train, known = crank_train(given("v8")), given("v8")
    traces = pressure_at(known, 3000 * RPM).traces
    bores = 0.1 + 1e-4 * np.arange(8)
    loads = cylinder_loads(
        train.layout, train.masses, traces, bore=bores, firing=train.firing, speed=300.0
    )
    for force, trace, bore in zip(loads.gas, traces, bores, strict=True):
        peak = (trace.peak[0] - 101_325) * pi / 4 * bore**2
        assert force.max() == pytest.approx(peak, rel=1e-3)


TRACE = "angle deg,pressure bar\n" + "\n".join(
    f"{a},{1.0 + 60 * max(0.0, 1 - abs(a - 15) / 90):.3f}" for a in range(-360, 360, 2)
)


def test_a_measured_trace_takes_the_place_of_the_computed_one():
    points = MeasuredTrace(read_points(TRACE))
    pressure = pressure_at(given().with_trace(points), 6000 * RPM)
    assert pressure.note.startswith("one measured trace")
    assert pressure.peaks == pytest.approx([61e5] * 6, rel=0.03)
    assert pressure.mean_effective is None


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "no points"),
        ("angle deg\n1\n", "1 columns"),
        ("angle deg,pressure mm\n0,1\n", "no column of pressure"),
        ("angle deg,pressure bar\n0,1\nx,2\n", "Row 3"),
        ("angle deg,pressure bar\n0,nan\n", "no number"),
        (TRACE.replace("bar", "Pa"), "in bar, not Pa"),
        ("\n".join(r for r in TRACE.splitlines() if not r.startswith(("1", "2"))), "gap"),
    ],
)
def test_a_trace_that_cannot_be_is_refused_with_its_place(text, sentence):
    with pytest.raises(InputError, match=sentence):
        even_trace(MeasuredTrace(read_points(text)), 4 * pi)


def test_a_four_with_the_crank_turning_the_other_way_is_its_mirror_image():
    usual = crank_train(given("straight-six"))
    other = six(("clockwise seen", "anticlockwise seen"))
    turned = crank_train(Given(read_engine(other)))
    assert np.allclose(usual.layout.bank, -turned.layout.bank)
    assert np.allclose(usual.firing % (4 * pi), turned.firing % (4 * pi))


def test_hot_fits_by_hand():
    fits, unknown = hot_fits(given("straight-six"))
    found = {fit.name: fit for fit in fits}
    piston = found["piston 1 in its bore"]
    # 84.50 mm bore of grey iron (11.0e-6) at 115 °C, skirt of 2618 (22.3e-6) at 108 °C, 85 µm cold.
    bore, skirt = 84.5e-3, 84.5e-3 - 85e-6
    hot = 85e-6 + bore * 11.0e-6 * 95 - skirt * 22.3e-6 * 88
    assert piston.hot == pytest.approx(hot, abs=1e-9)
    ring = found["top ring gap, cylinder 1"]
    assert ring.hot == pytest.approx(0.46e-3 + pi * bore * (11.0e-6 * 95 - 11.5e-6 * 170), abs=1e-9)
    assert ring.per_kelvin < 0
    assert unknown == ()


def test_the_press_of_shells_says_what_heat_changes_of_it():
    known = given("straight-six")
    _, unknown = hot_fits(known, film_bearings(known))
    # 64.008 mm at 112 °C in grey iron against steel shells at 105 °C.
    change = 64.008e-3 * (11.0e-6 * 92 - 11.5e-6 * 85) * 1e6
    assert f"loses {change:.0f} µm" in unknown[0]


def test_the_centre_main_of_a_four_between_two_like_throws_has_the_least_film():
    # Both neighbours of the centre main pull it the same way: common practice, and any textbook on
    # engine design on the balance of a flat-plane four.
    check = duty_check(given("in-line-four-frame"), (7600 * RPM,))
    mains = [one for one in check.rows[0].films if one.bearing.kind == "main"]
    assert min(mains, key=lambda one: one.film.least_film).bearing.number == "3"


@pytest.mark.parametrize("name", sorted(examples()))
def test_every_shipped_engine_has_a_duty_check(name):
    check = duty_check(given(name))
    assert check.least.least.holds
    layout = check.train.layout
    assert len(check.rows[0].films) == len(check.train.mains) + layout.cylinders
    assert all(np.isfinite(row.mains).all() for row in check.rows)


def test_a_printed_ratio_does_where_its_terms_are_not_known():
    known = given("flat-four")
    pressure = pressure_at(known, 4000 * RPM)
    assert dict(pressure.sources)["compression ratio"].value == pytest.approx(8.4)
    with pytest.raises(InputError, match="below the deck"):
        volumes(known)


def test_motion_by_hand():
    row = duty_check(given("v8"), (7000 * RPM,)).rows[0]
    items = {item.name: item.value for item in row.items}
    stroke, rod = 3.480 * 0.0254, 6.000 * 0.0254
    # Common practice 2·S·n, and rω²(1 + r/l) at top dead centre of a centred crank.
    assert items["mean piston speed"] == pytest.approx(2 * stroke * 7000 / 60)
    ratio = stroke / 2 / rod
    hard = stroke / 2 * (7000 * RPM) ** 2 * (1 + ratio)
    assert items["piston acceleration"] == pytest.approx(hard, rel=1e-6)
    assert items["rod angle"] == pytest.approx(np.arcsin(ratio))
