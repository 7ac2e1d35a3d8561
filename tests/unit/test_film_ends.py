"""What is said where a film is near the end of what the model stands for."""

from dataclasses import replace

import pytest
from tests.film_makers import RPM, SUPPLY, rod

from bedplate.shop.duty.bearings import Choice
from bedplate.shop.duty.check import duty_check
from bedplate.shop.duty.given import How
from bedplate.shop.duty.items import Standing
from bedplate.shop.duty.study import doubt_of, film_band, spread_at_once

ROUGH = (('shell_roughness   = "0.40 µm"', 'shell_roughness = "1.2 µm"'),) * 2
GUESSED = (('crank  = "118 °C"', ""), ('rod    = "112 °C"', ""))


def test_a_film_thinner_than_the_roughness_is_said_in_words_and_is_beyond_its_rating():
    given, _, one = rod(ROUGH)
    assert one.film.state == "roughness touches"
    assert one.words == "no film"
    row = duty_check(given, (7200 * RPM,)).rows[0]
    assert "Rod 1: the roughness touches and no full film is claimed at 7200 rpm" in row.why
    # By hand: √(0.12² + 1.2²) µm Ra, times √(π/2) taken as 1.25.
    assert "thinner than the roughness of journal and shell together, 1.51 µm." in row.why
    item = next(item for item in row.items if item.name == "least rod film")
    assert item.standing is Standing.NO_FILM
    assert rod()[2].film.least_film < 1.51e-6


def test_roughness_that_nobody_gave_is_estimated_and_marked():
    silent = (('journal_roughness = "0.12 µm"', ""), ('shell_roughness   = "0.40 µm"', ""))
    given, bearing, _ = rod(silent * 2)
    used = dict(bearing.sources)["roughness of the shell"]
    assert (used.value, used.how) == (0.2e-6, How.ESTIMATED)
    assert "Film over roughness (estimated) " in duty_check(given, (7200 * RPM,)).rows[0].why


def test_a_high_peak_is_told_as_stiff_shells_under_oil_that_does_not_thicken():
    slow = duty_check(rod()[0], (2000 * RPM,)).rows[0]
    assert slow.least.film.peak_pressure > 2e8
    assert "which is not reckoned with: for comparing only." in slow.why
    fast = duty_check(rod()[0], (6000 * RPM,)).rows[0]
    assert fast.least.film.peak_pressure < 2e8
    assert "reckoned" not in fast.why


def test_a_film_hotter_than_the_oils_data_says_that_its_line_is_carried_on():
    given, _, one = rod([(SUPPLY, 'temperature = "125 °C"')])
    assert one.is_carried_on
    why = duty_check(given, (7200 * RPM,)).rows[0].why
    assert "above 150 °C the oil's viscosity is carried on, not known." in why
    assert not rod(rpm=3000)[2].is_carried_on


def test_the_band_of_a_bearing_stays_where_the_slider_goes():
    given, _, one = rod()
    band = film_band(given, one)
    for wider in (-8e-6, 10e-6, 30e-6):
        moved = film_band(given, rod(choice=Choice(clearance=wider))[2])
        assert moved.clearance.tobytes() == band.clearance.tobytes()
        assert (moved.lowest, moved.highest) == (band.lowest, band.highest)
    # Tighter than 22 µm the film would be hotter than 200 °C: nobody can tell where it ends.
    assert (band.below, band.above) == ("beyond the oil's data", "")
    assert band.lowest < 25e-6 < band.best_clearance < band.highest


def test_a_clearance_not_measured_lies_evenly_within_its_limits_and_goes_with_the_slider():
    given, bearing, _ = rod()
    assert bearing.clearance.how is not How.MEASURED
    assert doubt_of(given, bearing).between == pytest.approx((20e-6, 52e-6))
    wider = rod(choice=Choice(clearance=5e-6))[1]
    assert doubt_of(given, wider).between == pytest.approx((25e-6, 57e-6))
    known = replace(bearing, clearance=replace(bearing.clearance, how=How.MEASURED))
    assert doubt_of(given, known).between is None


def test_parts_as_much_warmer_than_the_oil_move_with_it_unless_the_file_says_how_warm():
    _, bearing, _ = rod(GUESSED)
    growth = bearing.bearing.expansion
    assert (growth.housing_temperature, growth.journal_temperature) == (None, None)
    assert (growth.housing_over_supply, growth.journal_over_supply) == (8.0, 12.0)
    fixed = rod()[1].bearing.expansion
    assert (fixed.housing_temperature, fixed.journal_temperature) == pytest.approx((385.15, 391.15))


def test_a_distribution_tells_broken_untold_and_carried_on_apart():
    hot = [(SUPPLY, 'temperature = "150 °C"')]
    given, bearing, one = rod(hot)
    spread = spread_at_once(given, bearing, one.load, 200)
    assert spread.carried_on > 0.5
    shares = spread.carried + spread.broken + sum(share for _, share in spread.untold)
    assert shares == pytest.approx(1.0)
    assert 0 <= spread.low <= spread.middle <= spread.high
