"""Readings that are questioned, and those that are not."""

from __future__ import annotations

import pytest
from tests.metrology_makers import bench, feature, gauge, measured, reading, setting, station

from bedplate.metrology import doubts, reduction_doubt, scatter_doubt, setting_doubts

MIC = gauge("mic")
INCH_MIC = gauge("mic", resolution="0.0001 in", repeatability="0.00005 in")
DIAL = gauge("dbg", comparator=True, dial_turn="0.2 mm")
JOURNAL = feature("journal", nominal=54.988e-3, play=0.15e-3)
UNKNOWN = feature("journal")


def asked(text, of=JOURNAL, by=MIC, others=(), repeats=(), base=0.0, **more):
    taken = reading(text, by=by.gauge)
    mm = [[x * 1e-3 for x in values] for values in (others, repeats)]
    return doubts(taken, base * 1e-3 + taken.value.si, of, by, mm[0], repeats=mm[1], **more)


def one(*args, **kwargs):
    (doubt,) = asked(*args, **kwargs)
    return doubt


def test_nothing_speaks_against_an_ordinary_reading():
    assert asked("54.990 mm", others=[54.989, 54.992], repeats=[54.991]) == ()
    assert asked("54.990 mm", of=UNKNOWN) == ()


@pytest.mark.parametrize(
    ("text", "by", "instead"),
    [
        ("54.490 mm", MIC, 54.990),
        ("55.490 mm", MIC, 54.990),
        ("2.1399 in", INCH_MIC, 54.98846),
        ("2.1899 in", INCH_MIC, 54.98846),
    ],
)
def test_one_thimble_turn(text, by, instead):
    doubt = one(text, by=by)
    assert doubt.code == "one turn"
    assert doubt.instead == pytest.approx(instead * 1e-3, abs=1e-9)
    assert "thimble turn" in doubt.sentence
    assert doubt.sentence.endswith("?")


def test_one_thimble_turn_off_the_other_stations():
    doubt = one("54.492 mm", of=UNKNOWN, others=[54.990, 54.991])
    assert (doubt.code, doubt.instead) == ("one turn", pytest.approx(54.992e-3))
    assert "other stations" in doubt.sentence


def test_the_sentence_shows_what_it_is_and_what_it_would_be():
    sentence = one("54.490 mm").sentence
    assert "54.490 mm = 2.1453 in" in sentence
    assert "54.990 mm = 2.1650 in" in sentence
    assert one("2.1399 in", by=INCH_MIC).sentence.startswith("2.1399 in = 54.353 mm")


def test_one_dial_turn():
    doubt = one("0.212 mm", by=DIAL, base=54.980)
    assert (doubt.code, doubt.instead) == ("one turn", pytest.approx(54.992e-3))
    assert "dial turn" in doubt.sentence


def test_a_dial_without_a_known_turn_makes_no_guess_at_it():
    plain = gauge("dbg", comparator=True)
    assert one("0.555 mm", by=plain, base=54.980).code == "unlikely size"


def test_calliper_turn():
    calliper = gauge("cal", gauge_kind="dial calliper", resolution="0.001 in")
    doubt = one("2.266 in", by=calliper)
    assert (doubt.code, doubt.instead) == ("one turn", pytest.approx(2.166 * 25.4e-3))


def test_needle_sign_among_the_other_stations():
    # Deviations about −12 µm; +12 µm is 24 µm off, less than stations may differ by.
    near = [54.988, 54.9875, 54.989, 54.988]
    doubt = one("0.012 mm", by=DIAL, base=55.000, others=near)
    assert (doubt.code, doubt.instead) == ("needle sign", pytest.approx(54.988e-3))
    assert asked("-0.012 mm", by=DIAL, base=55.000, others=near) == ()
    assert asked("0.020 mm", by=DIAL, base=55.000, others=near) == ()


def test_needle_sign_a_few_steps_from_zero():
    doubt = one("0.004 mm", by=DIAL, base=55.000, others=[54.996] * 3)
    assert (doubt.code, doubt.instead) == ("needle sign", pytest.approx(54.996e-3))


def test_needle_sign_against_the_size_expected():
    doubt = one("0.160 mm", by=DIAL, base=55.010, of=feature("j", nominal=54.85e-3, play=5e-5))
    assert (doubt.code, doubt.instead) == ("needle sign", pytest.approx(54.850e-3))


def test_stations_that_straddle_the_zero_by_a_step_are_no_slip():
    near = [55.001, 55.001, 55.001]
    assert asked("-0.001 mm", by=DIAL, base=55.000, others=near) == ()


def test_an_absolute_gauge_has_no_needle_sign():
    assert asked("0.160 mm", of=feature("j", nominal=-0.16e-3, play=5e-5))[0].code != "needle sign"


def test_inch_for_metric():
    doubt = one("54.990 in")
    assert (doubt.code, doubt.instead) == ("inch for metric", pytest.approx(54.990e-3))
    doubt = one("2.165 mm")
    assert (doubt.code, doubt.instead) == ("inch for metric", pytest.approx(2.165 * 25.4e-3))


def test_a_dial_is_asked_about_the_other_unit_only():
    doubt = one("0.012 in", by=DIAL, base=54.980)
    assert (doubt.code, doubt.instead) == ("inch for metric", pytest.approx(54.992e-3))
    inch = gauge("dbg", comparator=True, resolution="0.0001 in", repeatability="0.00005 in")
    assert one("0.0120 in", by=inch, base=54.980).instead is None


def test_decimal_point():
    assert one("549.900 mm").instead == pytest.approx(54.990e-3)
    assert one("5.499 mm").code == "decimal point"


@pytest.mark.parametrize(
    ("text", "meant"), [("45.990 mm", 54.990e-3), ("59.490 mm", 54.990e-3)]
)  # fmt: skip
def test_digits_swapped(text, meant):
    doubt = one(text)
    assert (doubt.code, doubt.instead) == ("digits swapped", pytest.approx(meant, abs=1e-7))


def test_a_guess_must_fit_all_that_is_known():
    # One turn would fit the size expected, yet not the repeats at the same station.
    doubt = one("54.420 mm", repeats=[54.990, 54.991])
    assert doubt.instead is None


def test_outlying_repeat():
    doubt = one("54.997 mm", repeats=[54.990, 54.991, 54.990])
    assert (doubt.code, doubt.instead) == ("outlying repeat", None)
    assert "0.007 mm" in doubt.sentence
    assert asked("54.993 mm", repeats=[54.990, 54.991, 54.990]) == ()


def test_repeats_one_step_apart_are_alike():
    # 0.0001 in is one step as typed, though the gauge itself reads finer: 2.54 µm and
    # 3.5 × 2.54/2 × √(4/3) = 5.13 µm are allowed, by hand, which is 3.02 steps.
    fine = gauge("mic", repeatability="0.0001 mm")
    three = [2.1649 * 25.4] * 3
    assert asked("2.1652 in", of=UNKNOWN, by=fine, repeats=three) == ()
    assert one("2.1653 in", of=UNKNOWN, by=fine, repeats=three).code == "outlying repeat"


def test_scattered_repeats_make_no_outlier():
    assert asked("54.997 mm", repeats=[54.984, 54.991, 54.999, 54.988]) == ()


def test_unlikely_size_without_a_guess():
    doubt = one("54.700 mm")
    assert (doubt.code, doubt.instead) == ("unlikely size", None)


def test_stations_may_differ_as_worn_parts_do():
    assert asked("55.060 mm", others=[54.990, 54.991]) == ()
    assert one("55.120 mm", others=[54.990, 54.991]).code == "unlike the others"


def test_a_wrong_companion_speaks_against_nobody():
    assert asked("54.990 mm", others=[54.490], repeats=[55.490]) == ()


def test_gauge_overdue():
    due = gauge("mic", due="2026-01-31")
    doubt = one("54.990 mm", by=due, today_overdue=True)
    assert doubt.code == "gauge overdue"
    assert "2026-01-31" in doubt.sentence
    assert asked("54.990 mm", by=due) == ()


def test_resolution_too_coarse_for_the_tolerance():
    assert one("54.990 mm", tolerance=3.9e-6).code == "resolution"
    assert asked("54.990 mm", tolerance=4.1e-6) == ()


def test_digits_left_out():
    assert one("54.99 mm").code == "typed coarsely"
    assert one("55 mm").code == "typed coarsely"
    assert asked("54.990 mm") == ()
    assert asked("0 mm", by=DIAL, base=54.990) == ()


@pytest.mark.parametrize(("found", "asked_about"), [("0.0029 mm", False), ("-0.003 mm", True)])
def test_zero_that_drifted(found, asked_about):
    # Two zeroings differ by at most 2·√2·√(1² + 1²/12) = 2.94 µm, by hand.
    checked = setting("dbg", "55.000 mm", on_gauge="mic", found=found)
    codes = [doubt.code for doubt in setting_doubts(checked, DIAL)]
    assert codes == (["zero drifted"] if asked_about else [])


def test_master_without_uncertainty():
    (doubt,) = setting_doubts(setting("dbg", "55.000 mm", master="ring 55"), DIAL)
    assert doubt.code == "master without uncertainty"
    assert "ring 55" in doubt.sentence
    known = setting("dbg", "55.000 mm", master="ring 55", size_uncertainty="0.001 mm")
    assert setting_doubts(known, DIAL) == ()


def spread(*texts):
    of = feature("journal", [station("a"), station("b")])
    held = bench([MIC])
    taken = [reading(t, station=s) for s in ("a", "b") for t in texts]
    return measured(held, of, taken)


def test_repeats_that_scatter():
    doubt = scatter_doubt(spread("54.990 mm", "54.994 mm", "54.986 mm"), 1e-6)
    assert doubt.code == "scatter"
    assert scatter_doubt(spread("54.990 mm", "54.991 mm", "54.989 mm"), 1e-6) is None


def test_rounding_is_no_scatter():
    # Half the readings on one step of 0.0001 in and half on the next: s is half a step and more.
    assert scatter_doubt(spread("2.1650 in", "2.1651 in", "2.1650 in"), 0.5e-6) is None
    assert scatter_doubt(spread("2.1650 in", "2.1653 in", "2.1647 in"), 0.5e-6) is not None


def test_sizes_that_could_not_be_reduced():
    doubt = reduction_doubt([(), ("the temperature of block",), ("the temperature of block",)])
    assert doubt.code == "not reduced"
    assert doubt.sentence.endswith("not known: the temperature of block.")
    assert reduction_doubt([(), ()]) is None


def test_few_repeats_say_nothing_of_scatter():
    assert scatter_doubt(spread("54.990 mm", "54.999 mm"), 1e-6) is None
