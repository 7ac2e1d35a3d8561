"""What a film is not: broken, touching and not to be told are three things."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from tests.film_makers import BROKEN, HOT, cases, settled

from bedplate.errors import InputError
from bedplate.physics.clearance_band import RANGE_ENDS, band_of, closed_band
from bedplate.physics.film import (
    STATES,
    Bearing,
    Expansion,
    Supply,
    bearing_film,
    film_over_cases,
    hot_clearance,
)
from bedplate.physics.film_spread import FilmDoubt, film_distribution
from bedplate.physics.mobility import BearingShape, LoadCycle
from bedplate.physics.oil import CELSIUS, oil_from_viscosities, oil_of_grade

ANGLE = np.arange(240) * 4 * pi / 240
SHAPE = BearingShape(0.048, 0.0186, 40e-6)
BEARING = Bearing(SHAPE, oil_of_grade("10W-40"), Supply(100 + CELSIUS, 4e5, 0.006))


def loads(size, speed=600.0):
    """Make an invented load: gas into one half, inertia turning through both."""
    gas = 1.5 * size * np.exp(-(((ANGLE - 2 * pi - 0.3) / 0.35) ** 2))
    turning = size * np.column_stack((0.7 * np.sin(ANGLE), np.cos(ANGLE)))
    load = turning - np.column_stack((0.25 * gas * np.sin(ANGLE), gas))
    return LoadCycle(load, np.full(240, speed), speed, 4 * pi)


def test_a_line_through_two_data_is_carried_on_to_200_degrees_and_marked():
    oil = oil_of_grade("10W-40")
    assert (oil.told - CELSIUS, oil.highest - CELSIUS) == pytest.approx((150, 200))
    # Two data at 20 and 60 °C are no leave to speak of 200 °C; one at 160 °C reaches 50 K on.
    low = oil_from_viscosities((293.15, 3e-4), (333.15, 5e-5))
    assert low.highest - CELSIUS == pytest.approx(160)
    high = oil_from_viscosities((313.15, 3e-4), (433.15, 6e-6))
    assert (high.told, high.highest) == (433.15 + 50, 433.15 + 50)


def test_a_film_between_the_data_and_200_degrees_has_a_number():
    hot = replace(BEARING, supply=Supply(155 + CELSIUS, 4e5, 0.006))
    found = bearing_film(hot, loads(8e3))
    assert found.state == "settled"
    assert found.film_temperature > hot.oil.told
    assert found.least_film > 0


def test_a_search_that_begins_beyond_the_data_may_end_within():
    # 199 °C and the usual 12 K to begin with lie beyond; an idle film is hardly warmer than that.
    idle = replace(BEARING, supply=Supply(199 + CELSIUS, 4e5, 0.006))
    found = bearing_film(idle, loads(10.0, 5.0))
    assert found.state == "settled"
    assert 199 + CELSIUS < found.film_temperature < 199.9 + CELSIUS


def test_a_load_beyond_carrying_breaks_the_film_however_hot_it_would_get():
    warm = replace(BEARING, supply=Supply(190 + CELSIUS))
    assert bearing_film(warm, loads(9e6, 80.0)).state == "film breaks down"


def test_a_case_beyond_the_oils_data_is_unknown_and_not_broken():
    hot = replace(BEARING, supply=Supply(185 + CELSIUS, 4e5, 0.006))
    doubt = FilmDoubt(supply_temperature=12.0)
    found = film_distribution(hot, loads(8e3), doubt, seed=3, cases=200)
    beyond = found.cases.state == STATES.index("beyond the oil's data")
    assert 0.1 < beyond.mean() < 0.9
    assert np.isnan(found.least_film[beyond]).all()
    assert found.untold == beyond.mean()
    assert found.broken == 0.0
    assert found.carried == pytest.approx(1 - found.untold)
    assert (found.least_film[~beyond] > 0).all()


def test_a_broken_case_is_none_and_known():
    # A quarter of the clearances drawn is none, and the film of tight ones breaks or touches.
    doubt = FilmDoubt(between=(-10e-6, 30e-6))
    rough = replace(BEARING, journal_roughness=1.2e-6)
    found = film_distribution(rough, loads(6e4), doubt, seed=3, cases=200)
    assert 0.25 < found.broken < 0.9
    assert (found.least_film == 0).mean() == found.broken
    assert found.carried + found.broken + found.untold == pytest.approx(1.0)


def test_a_film_thinner_than_the_roughness_is_no_full_film():
    plain = bearing_film(BEARING, loads(3e4))
    assert plain.state == "settled"
    half = plain.least_film / 2**0.5
    for share, state in ((0.98, "settled"), (1.02, "roughness touches")):
        rough = replace(BEARING, journal_roughness=share * half, shell_roughness=share * half)
        found = bearing_film(rough, loads(3e4))
        assert found.state == state
        assert np.isnan(found.least_film) == (state != "settled")
        many = film_over_cases(rough, loads(3e4), clearance=np.array([40e-6]))
        assert STATES[many.state[0]] == state
        assert np.isnan(many.peak_pressure[0]) == (state != "settled")
    # The film's temperature and clearance are of the heat, and stay.
    assert found.film_temperature > BEARING.supply.temperature


def test_form_that_eats_a_film_down_to_the_roughness_leaves_none():
    rough = replace(BEARING, shell_roughness=2.2e-6)
    least = bearing_film(rough, loads(3e4)).least_film
    found = film_distribution(rough, loads(3e4), FilmDoubt(form=2e-6), seed=1, cases=64)
    share = (least - 2.2e-6) / 2e-6
    assert 0.05 < share < 0.95
    assert found.carried == pytest.approx(share, abs=0.15)
    assert found.least_film[found.least_film > 0].min() > 2.2e-6


def test_no_figure_is_given_where_two_stiff_circles_mean_nothing():
    # Smooth, and so heavily loaded that the peak passes 500 MPa while the map still carries.
    assert bearing_film(BEARING, loads(6e4)).peak_pressure == pytest.approx(3.5e8, rel=0.02)
    found = bearing_film(BEARING, loads(1e5))
    assert found.state == "beyond stiff shells"
    assert np.isnan([found.least_film, found.peak_pressure]).all()
    every = film_over_cases(BEARING, loads(1e5), clearance=np.array([10e-6, 40e-6]))
    assert [STATES[place] for place in every.state] == ["settled", "beyond stiff shells"]


def test_a_clearance_that_was_not_measured_is_drawn_evenly_between_its_limits():
    doubt = FilmDoubt(clearance=9e-6, between=(25e-6, 55e-6))
    still = Expansion(0.0, 0.0, 0.0)
    found = film_distribution(
        replace(BEARING, expansion=still), loads(8e3), doubt, seed=5, cases=2000
    ).cases.clearance
    assert found.min() >= 25e-6
    assert found.max() <= 55e-6
    # JCGM 101:2008, 6.4.2: mean in the middle, standard deviation of the width over √12.
    assert found.mean() == pytest.approx(40e-6, abs=4 * 30e-6 / 12**0.5 / 2000**0.5)
    assert found.std() == pytest.approx(30e-6 / 12**0.5, rel=0.03)
    quarters = np.histogram(found, bins=4, range=(25e-6, 55e-6))[0]
    assert quarters == pytest.approx([500] * 4, abs=100)
    parts = [
        film_distribution(
            BEARING, loads(8e3), doubt, seed=5, first=first, cases=8, threads=1
        ).least_film
        for first in (0, 8)
    ]
    whole = film_distribution(BEARING, loads(8e3), doubt, seed=5, cases=16).least_film
    assert np.concatenate(parts).tobytes() == whole.tobytes()
    with pytest.raises(InputError, match="wrong way round"):
        film_distribution(BEARING, loads(8e3), FilmDoubt(between=(5e-5, 2e-5)), seed=1, cases=2)


def test_what_is_so_much_warmer_than_the_oil_moves_with_it():
    growth = Expansion(23e-6, 12e-6, 12e-6, 1.5e-3, None, None, 8.0, 12.0)
    fixed = replace(
        growth, housing_temperature=108 + CELSIUS, journal_temperature=112 + CELSIUS,
    )  # fmt: skip
    at = 100 + CELSIUS
    assert hot_clearance(SHAPE, growth, at, at) == pytest.approx(
        hot_clearance(SHAPE, fixed, at, at), rel=1e-12
    )
    # By hand: 10 K more of supply widen the bore by Dα10 and thicken the journal by dα10.
    warmer = hot_clearance(SHAPE, growth, at + 10, at) - hot_clearance(SHAPE, growth, at, at)
    bore = 0.048 + 40e-6 + 3e-3
    assert warmer == pytest.approx(10 * (bore * 23e-6 - 0.048 * 12e-6), rel=1e-9)
    assert hot_clearance(SHAPE, fixed, at + 10, at) == hot_clearance(SHAPE, fixed, at, at)
    moved = film_over_cases(
        replace(BEARING, expansion=growth), loads(8e3), clearance=np.full(2, 40e-6),
        supply_temperature=np.array([at, at + 10]),
    )  # fmt: skip
    wall = 2 * 1.5e-3 * 12e-6 * np.diff(moved.film_temperature)[0]
    assert np.diff(moved.clearance)[0] == pytest.approx(warmer - wall, rel=1e-6)


def test_a_band_is_open_where_nothing_can_be_told_and_where_nobody_tried():
    tried = np.linspace(10e-6, 60e-6, 6)
    band = band_of(tried, cases(HOT, *settled(0.98e-6, 1e-6, 0.95e-6, 0.8e-6, 0.5e-6)))
    assert (band.lowest, band.below, band.best_below) == (20e-6, "beyond the oil's data", "")
    assert band.highest == pytest.approx(40e-6 + 10e-6 * 0.05 / 0.15)
    assert band.above == ""
    edge = band_of(tried, cases(BROKEN, *settled(0.5e-6, 0.8e-6, 0.95e-6, 0.98e-6, 1e-6)))
    assert (edge.highest, edge.above, edge.best_above) == (60e-6, RANGE_ENDS, RANGE_ENDS)
    assert edge.below == ""
    beside = band_of(tried, cases(BROKEN, HOT, *settled(1e-6, 0.9e-6, 0.5e-6, 0.4e-6)))
    assert (beside.lowest, beside.best_below) == (tried[2], "beyond the oil's data")
    none = band_of(tried, cases(*[HOT] * 3, *[BROKEN] * 3))
    assert np.isnan([none.best_film, none.lowest, none.highest]).all()


def test_a_band_is_widened_until_it_closes_or_gives_up():
    def thick(tried):
        # Best at 100 µm, over 0.9 of it from 80 to 120 µm.
        return cases(*settled(*(1e-6 - 0.1e-6 * (np.abs(tried - 1e-4) / 2e-5))))

    band = closed_band(thick, np.linspace(20e-6, 50e-6, 11))
    assert (band.below, band.above, band.best_above) == ("", "", "")
    assert (band.lowest, band.highest) == pytest.approx((80e-6, 120e-6), rel=0.03)
    assert (np.diff(band.clearance) > 0).all()
    ever = closed_band(lambda tried: cases(*settled(*tried)), np.linspace(20e-6, 50e-6, 11))
    assert ever.above == RANGE_ENDS
    assert 100e-6 <= ever.highest <= 160e-6
    tight = closed_band(lambda tried: cases(*settled(*(1e-9 / tried))), np.linspace(2e-5, 5e-5, 11))
    assert tight.below == RANGE_ENDS
    assert tight.lowest == pytest.approx(2e-6)
