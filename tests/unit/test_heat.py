"""Fits at running temperature: each by hand, each with its sources, and what cannot be told."""

from math import pi

import pytest
from tests.engine_makers import six

from bedplate.engine import examples, read_engine
from bedplate.physics.press import contact_pressure
from bedplate.quantity import Units
from bedplate.shop.duty.bearings import film_bearings
from bedplate.shop.duty.check import duty_check
from bedplate.shop.duty.given import Given, How
from bedplate.shop.duty.heat import alike, hot_fits

RPM = pi / 30


def given(*changes, name="straight-six"):
    return Given(read_engine(six(*changes) if changes else examples()[name]))


def found(known):
    fits, unknown = hot_fits(known, film_bearings(known))
    return {fit.name: fit for fit in fits}, unknown


def test_a_press_gains_what_the_shaft_grows_more_than_the_hole():
    fit = found(given(name="v8"))[0]["damper press"]
    # Ductile iron hub (11.0e-6) on an alloy steel snout (12.3e-6) of 31.69285 mm, both at 238 °F,
    # 1.0 thou aimed at: by hand.
    warm = (238 - 32) * 5 / 9 - 20
    assert fit.hot == pytest.approx(25.4e-6 + 31.69285e-3 * 1.3e-6 * warm, abs=1e-9)
    assert dict(fit.sources)["outer temperature"].how is How.ESTIMATED
    assert "sits on" in dict(fit.sources)["outer temperature"].source
    assert "238 °F, engine file" in fit.warm(Units.INCH)


def test_shells_whose_press_the_maker_gives_have_a_press_and_a_pressure_when_hot():
    known = given(('shell_width  = "19.4 mm"', 'shell_width = "19.4 mm"\nshell_press = "0.06 mm"'))
    fits, unknown = found(known)
    fit = fits["shells of main 3 in their housing"]
    # 64.008 mm at 112 °C in grey iron against steel shells at 105 °C.
    gained = 64.008e-3 * (11.5e-6 * 85 - 11.0e-6 * 92)
    assert fit.hot == pytest.approx(60e-6 + gained, abs=1e-9)
    assert fit.pressure[1] < fit.pressure[0]
    wall = film_bearings(known)[2].bearing.expansion.shell_wall
    assert fit.pressure[0] == pytest.approx(
        contact_pressure(60e-6, 64.008e-3, 64.008e-3 - 2 * wall)
    )
    # A thin ring squeezed by δ stands under p = 2·E·t·δ/d² (hoop stress p·r/t), to its thickness.
    thin = 2 * 207e9 * wall * 60e-6 / 64.008e-3**2
    assert fit.pressure[0] == pytest.approx(thin, rel=0.08)
    assert "at most" in fit.says(Units.METRIC)
    assert not any("main shells" in sentence for sentence in unknown)
    assert any("rods.shell_press" in sentence for sentence in unknown)


def test_a_press_that_the_heat_takes_is_said():
    iron = ('block  = "grey iron"', 'block  = "aluminium"')
    press = ('shell_width  = "19.4 mm"', 'shell_width = "19.4 mm"\nshell_press = "0.03 mm"')
    fit = found(given(iron, press))[0]["shells of main 1 in their housing"]
    assert fit.hot < 0
    assert fit.pressure[1] == 0
    assert "nothing of the press is left" in fit.says(Units.METRIC)


def test_a_ring_whose_ends_meet_and_a_piston_without_clearance_are_said():
    fits, _ = found(given(('ring   = "190 °C"', 'ring   = "520 °C"'), ('"108 °C"', '"190 °C"')))
    assert "its ends meet" in fits["top ring gap, cylinder 1"].says(Units.METRIC)
    assert "no clearance is left" in fits["piston 1 in its bore"].says(Units.METRIC)
    assert all(
        fit.says(Units.METRIC) == "" for name, fit in found(given())[0].items() if "piston" in name
    )


def test_every_hot_figure_names_temperatures_and_expansions_with_their_sources():
    for name in examples():
        fits, _ = found(given(name=name))
        for fit in fits.values():
            names = [what for what, _ in fit.sources]
            assert sum(what.endswith("temperature") for what in names) >= 2, fit.name
            assert sum(what.startswith("expansion") for what in names) >= 2, fit.name
            assert all(value.source for _, value in fit.sources)
            assert fit.standard >= fit.cold.standard


def test_nothing_known_is_unknown_and_said_once():
    _, unknown = found(given(name="flat-four"))
    assert "Gap of the top ring: the expansion of block or ring is not known." in unknown
    bare = given(('crank  = "steel"\n', ""))
    _, unknown = found(bare)
    assert any(
        sentence.startswith("Damper press: the expansion of the crank") for sentence in unknown
    )
    assert any(sentence.startswith("Clearance of main 1 when hot") for sentence in unknown)
    assert len(set(unknown)) == len(unknown)


def test_estimated_temperatures_follow_the_oil():
    known = given(('rod    = "112 °C"', "#"))
    assert 'rod    = "112 °C"' in examples()["straight-six"]
    fits, _ = found(known)
    housing = dict(fits["clearance of rod 1"].sources)["housing temperature"]
    assert (housing.value - 273.15, housing.how) == (pytest.approx(113), How.ESTIMATED)


def test_the_check_carries_them_with_their_sources():
    check = duty_check(given(), (3000 * RPM,))
    assert {fit.kind for fit in check.hot} == {"clearance", "gap", "press"}
    assert any(what.startswith("ring temperature, top ring gap") for what, _ in check.sources)
    assert any("shell_press" in sentence for sentence in check.unknown)


def test_fits_that_are_alike_are_told_in_one_line():
    told = dict(alike(found(given(name="v8"))[0].values(), Units.INCH))
    assert "pistons in their bores 1, 2, 3, 4, 5, 6, 7, 8" in told
    assert "clearance of main 1, 2, 3, 4" in told
    assert "clearance of main 5" in told
    assert "damper press" in told
