"""What is told, broken and not known is said apart, in terminal, page and JSON."""

from dataclasses import replace

import numpy as np
import pytest
from tests.film_makers import BROKEN, HOT, SUPPLY, cases, rod, settled

from bedplate.documents.duty_json import study_as_dict
from bedplate.documents.duty_pictures import against_clearance, spread
from bedplate.physics.clearance_band import band_of
from bedplate.physics.film_spread import FilmDoubt
from bedplate.quantity import Units
from bedplate.shop.duty.study import Distribution, FilmStudy, film_band, span_of
from bedplate.shop.duty.telling import (
    band_words,
    doubt_words,
    ends_words,
    shares_words,
    spread_words,
)

TRIED = np.linspace(20e-6, 80e-6, 7)
MM = Units.METRIC


def band(*rows):
    return band_of(TRIED, cases(*rows))


def distribution(films, untold=(), carried_on=0.0):
    films = np.array(films)
    told = films[~np.isnan(films)]
    low, middle, high = np.quantile(told, (0.025, 0.5, 0.975)) if told.size else [np.nan] * 3
    return Distribution(
        films, float((films > 0).mean()), float((films == 0).mean()), untold, carried_on,
        low, middle, high, FilmDoubt(2e-6, viscosity=0.08, supply_temperature=5, pressure=0.1),
    )  # fmt: skip


def test_a_closed_band_is_told_with_its_ends():
    closed = band(BROKEN, *settled(0.8e-6, 0.95e-6, 1e-6, 0.95e-6, 0.7e-6), BROKEN)
    words = band_words(closed, MM)
    assert words.startswith("Within 10 % of its best, 1.00 µm at 0.0500 mm, from 0.0367 mm to ")
    assert "most" not in words
    assert "least" not in words


def test_an_open_band_says_at_most_and_at_least_and_why():
    open_ = band(HOT, HOT, *settled(0.95e-6, 1e-6, 0.99e-6, 0.98e-6, 0.97e-6))
    words = band_words(open_, MM)
    assert "from at most 0.0400 mm to at least 0.0800 mm." in words
    assert (
        "Tighter than 0.0400 mm it is not known: the oil would be hotter than its data reach."
        in words
    )
    assert "Wider than 0.0800 mm nothing was tried." in words
    assert "better one" not in words
    edge = band_words(band(HOT, *settled(1e-6, 0.9e-6, 0.5e-6, 0.4e-6, 0.3e-6, 0.2e-6)), MM)
    assert edge.endswith("The best is that of the clearances told: a better one may lie beyond.")


def test_no_clearance_that_carries_is_not_the_same_as_none_known():
    assert band_words(band(*[BROKEN] * 7), MM) == "No clearance tried carries this load."
    hot = "the oil would be hotter than its data reach."
    assert band_words(band(*[HOT] * 7), MM) == f"Not known at any clearance tried: {hot}"
    assert "not known in 3 of 7 tried" in band_words(band(*[HOT] * 3, *[BROKEN] * 4), MM)


def test_a_distribution_counts_broken_and_not_known_by_themselves():
    films = [1e-6] * 980 + [0.0] * 5 + [np.nan] * 15
    found = distribution(films, (("beyond the oil's data", 0.015),))
    assert shares_words(found) == (
        "Film in 98.0 %, broken or touching in 0.5 %, not known in 1.5 %: the oil would be hotter"
        " than its data reach."
    )
    assert "least film from 1.00 to 1.00 µm (95 % of those told)" in spread_words(found)
    assert shares_words(distribution([1e-6] * 4)) == "Film in all."
    assert "under 0.1 %" in shares_words(distribution([1e-6] * 4999 + [0.0]))
    none = distribution([np.nan] * 4, (("not settled", 1.0),))
    assert spread_words(none).startswith("4 cases. Film in 0.0 %, not known in all: the orbit")
    half = distribution([0.0] * 10 + [1e-6] * 90)
    assert "least film from none to 1.00 µm" in spread_words(half)
    assert "In 12.0 % the oil's viscosity is carried on" in shares_words(
        distribution([1e-6], carried_on=0.12)
    )


def test_what_was_drawn_is_said_as_it_was():
    assert doubt_words(FilmDoubt(2.5e-6), MM).startswith("Standard uncertainties: clearance 2.5 µm")
    assert "form" not in doubt_words(FilmDoubt(2.5e-6), MM)
    inch = doubt_words(FilmDoubt(2.54e-6, supply_temperature=5.0, form=5.08e-6), Units.INCH)
    assert "clearance 0.100 thou" in inch
    assert "oil supplied 9 °F" in inch
    assert inch.endswith("form up to 0.200 thou.")
    even = doubt_words(FilmDoubt(9e-6, between=(20e-6, 52e-6)), MM)
    assert even.startswith("Clearance anywhere from 0.0200 mm to 0.0520 mm, one as likely as")
    assert "clearance 9" not in even


def test_pictures_part_what_is_broken_from_what_is_not_known():
    mixed = band(BROKEN, HOT, HOT, *settled(1e-6, 0.95e-6, 0.8e-6, 0.7e-6))
    drawn = against_clearance(
        mixed, value=50e-6, span=(45e-6, 55e-6), limits=(None, None), measured=True, name="rod 1"
    )
    assert (drawn.count(">×<"), drawn.count(">?<")) == (1, 2)
    assert "within 10 % of the best, open below<" in drawn
    beyond = against_clearance(
        mixed, value=95e-6, span=(90e-6, 99e-6), limits=(None, None), measured=True, name="rod 1"
    )
    assert "beyond what is drawn" in beyond
    some = np.array([1e-6, np.nan, 0.9e-6])
    assert "of the cases told" in spread(some, low=9e-7, middle=1e-6, high=1e-6, name="rod 1")
    lost = spread(some * np.nan, low=np.nan, middle=np.nan, high=np.nan, name="rod 1")
    assert "not known in any case" in lost


def test_the_data_keeps_them_apart_too():
    given, bearing, one = rod()
    study = FilmStudy(
        bearing, ((754.0, one),), 754.0, one, film_band(given, one),
        distribution([1e-6, np.nan], (("not settled", 0.5),)),
    )  # fmt: skip
    data = study_as_dict(study)
    assert data["band"]["open_below"] == "beyond the oil's data"
    assert data["band"]["open_above"] is None
    states = data["band"]["state"]
    assert [film is None for film in data["band"]["least_film"]] == [s != "settled" for s in states]
    assert (data["spread"]["broken"], data["spread"]["not_known"]) == (0.0, {"not settled": 0.5})


def test_where_a_clearance_lies_is_its_limits_or_its_expanded_uncertainty():
    given, bearing, _ = rod()
    assert span_of(given, bearing) == pytest.approx((20e-6, 52e-6))
    known = replace(bearing.clearance, how=bearing.clearance.how.MEASURED, standard=1.5e-6)
    measured = replace(bearing, clearance=known)
    assert span_of(given, measured) == pytest.approx((38e-6 - 3e-6, 38e-6 + 3e-6))


def test_the_ends_of_the_model_are_told_at_the_speed_that_is_nearest():
    slow, fast = rod(rpm=2000)[2], rod([(SUPPLY, 'temperature = "125 °C"')])[2]
    said = ends_words([(2000 * np.pi / 30, slow), (7200 * np.pi / 30, fast)], MM)
    assert [words.split(".")[0] for words in said] == ["2000 rpm", "7200 rpm"]
    assert ends_words([(1.0, rod(rpm=5000)[2])], MM) == ()
