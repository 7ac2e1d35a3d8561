"""What must hold for any text and any value."""

import time

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from bedplate.errors import QuantityError
from bedplate.quantity import (
    UNITS,
    Dimension,
    Units,
    parse,
    parse_range,
    parse_tightening,
    show,
    show_both,
    show_range,
    words,
)

ANY_UNITS = st.sampled_from(Units)
PIECES = st.sampled_from(
    [*"0123456789.,+-−–±/ ()'\"=<>~eE·*x^³⁻½…", "..", " to ", "max ", "at least ", "1/2", "10",
     *(unit.symbol for unit in UNITS)]
)  # fmt: skip
TYPED = st.one_of(st.text(max_size=120), st.lists(PIECES, max_size=40).map("".join))
READERS = (parse, parse_range, parse_tightening)
LENGTHS = st.floats(-2.0, 2.0).map(lambda value: round(value, 9))


@given(TYPED, st.none() | st.sampled_from(Dimension))
@example("1" * 100, None)
@example("1e" + "9" * 98, None)
@example("\ud800 mm", None)
def test_any_text_is_read_or_refused_in_one_sentence(text, dimension):
    for read in (parse, parse_range):
        try:
            found = read(text, dimension)
        except QuantityError as refusal:
            assert_one_sentence(refusal)
        else:
            assert dimension in {None, found.dimension}
            assert found.text == text
            assert found.resolution > 0


@given(TYPED)
def test_any_text_is_a_tightening_or_refused(text):
    try:
        found = parse_tightening(text)
    except QuantityError as refusal:
        assert_one_sentence(refusal)
    else:
        assert found.torque or found.angle


def assert_one_sentence(refusal):
    assert refusal.sentence.endswith(".")
    assert "\n" not in refusal.sentence
    assert len(refusal.sentence) < 500


@given(TYPED)
def test_what_is_read_is_finite_and_its_limits_are_in_order(text):
    try:
        found = parse_range(text)
    except QuantityError:
        return
    ends = [end for end in (found.low, found.high) if end is not None]
    assert ends == sorted(ends)
    assert all(abs(end) < float("inf") for end in ends)
    assert ends


@given(LENGTHS, ANY_UNITS, st.booleans())
def test_a_shown_length_reads_back_within_its_last_digit(value, units, signed):
    read = parse(show(value, Dimension.LENGTH, units, signed=signed), Dimension.LENGTH)
    assert abs(read.value - value) <= read.resolution * 0.5001


@given(st.floats(1e-4, 1e4), ANY_UNITS, st.sampled_from(sorted(set(Dimension))))
def test_any_shown_value_reads_back_within_its_last_digit(value, units, dimension):
    shown = show(value, dimension, units)
    read = parse(shown, dimension)
    # 'K' and '°F' of a difference have no offset, those of a temperature do: same dimension here
    assert abs(read.value - value) <= read.resolution * 0.5001 + 1e-12 * abs(value)


@given(LENGTHS, ANY_UNITS)
def test_both_units_of_one_value_agree_when_read_back(value, units):
    text = show_both(value, Dimension.LENGTH, units)
    assert parse(text).value == parse(text.split(" = ")[0]).value


@given(st.tuples(LENGTHS, LENGTHS).map(sorted), ANY_UNITS, st.booleans())
def test_shown_limits_read_back(ends, units, signed):
    shown = show_range(ends[0], ends[1], Dimension.LENGTH, units, signed=signed)
    read = parse_range(shown, Dimension.LENGTH)
    for found, expected in ((read.low, ends[0]), (read.high, ends[1])):
        assert abs(found - expected) <= 1.3e-6 * 1.01
    for low, high in ((None, ends[1]), (ends[0], None)):
        one = parse_range(show_range(low, high, Dimension.LENGTH, units))
        assert (one.low is None, one.high is None) == (low is None, high is None)


@given(LENGTHS, ANY_UNITS, st.floats(1e-9, 1e-2), st.floats(1e-9, 1e-2))
def test_lengths_show_three_or_four_decimals_and_inches_four_or_five(value, units, one, other):
    for more in ({}, {"uncertainty": one}, {"resolution": other}):
        number, unit = show(value, Dimension.LENGTH, units, **more).split()
        decimals = len(number.partition(".")[2])
        assert decimals in ({"mm": (3, 4), "in": (4, 5)}[unit])


@given(st.floats(allow_nan=True, allow_infinity=True), ANY_UNITS)
def test_words_and_shown_text_never_fail(value, units):
    assert words(value, units).count("\n") == 0
    assert show(value, Dimension.LENGTH, units)


@given(st.integers(-99_999, 99_999), st.sampled_from(("in", "mm", "thou", "N·m", "psi", "g")))
def test_a_comma_and_a_point_say_the_same(number, unit):
    whole, decimals = divmod(abs(number), 100)
    sign = "-" if number < 0 else ""
    point = parse(f"{sign}{whole}.{decimals:02} {unit}")
    comma = parse(f"{sign}{whole},{decimals:02} {unit}")
    assert (point.value, point.resolution) == (comma.value, comma.resolution)


@pytest.mark.parametrize(
    "piece", ["1", "1 ", "1-", "1/", "1.", "1,", ".", " ", "(", "1(", "mm", "m-", "1 mm", "±1", "^"]
)
def test_no_text_takes_long(piece):
    text = (piece * 100)[:99]
    for end in ("", "x", "!"):
        for read in READERS:
            start = time.perf_counter()
            with pytest.raises(QuantityError):
                read(text + end)
            assert time.perf_counter() - start < 0.25  # the slowest takes some milliseconds
