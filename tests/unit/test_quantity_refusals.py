"""What is refused, and the sentence that says why and what would be right."""

import pytest

from bedplate.errors import QuantityError
from bedplate.quantity import Dimension, parse, parse_range, parse_tightening

LENGTH_WANTED = "a length is wanted, such as '0.0015 in' or '0.04 mm'"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", f"Nothing was typed; {LENGTH_WANTED}."),
        ("   ", f"Nothing was typed; {LENGTH_WANTED}."),
        ("12", f"'12' has no unit; {LENGTH_WANTED}."),
        ("0", f"'0' has no unit; {LENGTH_WANTED}."),
        ("1/4", f"'1/4' has no unit; {LENGTH_WANTED}."),
        ("35 N·m", f"'35 N·m' is a torque; {LENGTH_WANTED}."),
        ("35 ft-lb", f"'35 ft-lb' is a torque; {LENGTH_WANTED}."),
        ("nan mm", f"'nan mm' is not a finite number; {LENGTH_WANTED}."),
        ("-inf in", f"'-inf in' is not a finite number; {LENGTH_WANTED}."),
        ("mm", f"'mm' does not begin with a number; {LENGTH_WANTED}."),
        ("5 cubits", "'5 cubits' has a unit that is not known, 'cubits'."),
        ("5 M", "'5 M' has a unit that is not known, 'M'; perhaps 'm'."),
        (
            "1,234 rpm",
            "'1,234 rpm' could be either 1.234 rpm or 1234 rpm; write '1.234 rpm' or '1234 rpm'.",
        ),
        ("2 in 3 thou", "'2 in 3 thou' holds more than one number; give one number with one unit."),
        ("0015 in", "'0015 in' begins with nought but has no point; write '0.0015 in' or '15 in'."),
        ("9**9 mm", "'9**9 mm' holds more than one number; give one number with one unit."),
        ("1e400 mm", "'1e400 mm' has a power of ten beyond 30."),
        ("1/0 in", "'1/0 in' divides by zero."),
        ("2 5/4 in", "'2 5/4 in' has a fraction that is not below one, '5/4'."),
        ("1.2.3 mm", "'1.2.3 mm' has a number that cannot be read, '1.2.3'."),
        ("2³ mm", "'2³ mm' raises a number to a power, which is not read."),
        ("0.02-0.03 mm", "'0.02-0.03 mm' looks like limits; one value is wanted here."),
        ("86.00 ±0.01 mm", "'86.00 ±0.01 mm' looks like limits; one value is wanted here."),
        ("max 0.2 mm", "'max 0.2 mm' looks like limits; one value is wanted here."),
        (
            "2 mil",
            (
                "'2 mil': 'mil' is a thousandth of an inch to some and a millimetre to others:"
                " write 'thou' or 'mm'."
            ),
        ),
        ("35 nm", "'35 nm': 'nm' can be newton metres or nanometres: write 'N·m' or 'µm'."),
        (
            "0.030 in (0.30 mm)",
            "'0.030 in' and '0.30 mm' contradict each other: 0.03 in is 0.762 mm, not 0.3 mm.",
        ),
        (
            "6 mm (2.5 in)",
            "'6 mm' and '2.5 in' contradict each other: 6 mm is 0.2362 in, not 2.5 in.",
        ),
        ("6 mm (2.5)", f"'6 mm (2.5)' has no unit; {LENGTH_WANTED}."),
    ],
)
def test_one_value(text, sentence):
    with pytest.raises(QuantityError) as refusal:
        parse(text, Dimension.LENGTH)
    assert refusal.value.sentence == sentence


def test_a_pair_of_two_kinds():
    with pytest.raises(QuantityError, match="is a mass; a torque is wanted"):
        parse("35 N·m (26 lb)")


def test_a_temperature_below_absolute_zero():
    for text in ("-300 °C", "-460 °F", "-1 K"):
        with pytest.raises(QuantityError, match="is below absolute zero"):
            parse(text, Dimension.TEMPERATURE)
    with pytest.raises(QuantityError, match="is below absolute zero"):
        parse_range("-300..20 °C")


def test_a_pound_is_no_force_and_says_how_to_write_one():
    with pytest.raises(QuantityError, match=r"is a mass; a force is wanted, such as .*lbf"):
        parse("250 lb", Dimension.FORCE)


def test_too_long_a_text_is_refused_and_not_printed_whole():
    with pytest.raises(QuantityError) as refusal:
        parse("1" * 101 + " mm")
    assert "longer than a quantity can be, 100 characters" in refusal.value.sentence
    assert len(refusal.value.sentence) < 120


def test_what_cannot_be_printed_is_not_printed():
    with pytest.raises(QuantityError) as refusal:
        parse("5 mm\x00\x1b")
    assert refusal.value.sentence.isprintable()


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("0.052..0.028 mm", "'0.052..0.028 mm' has its lower limit above its upper."),
        (
            "0.0020-0030 in",
            (
                "'0.0020-0030 in' begins with nought but has no point; write '0.0020-0.0030 in' or"
                " '0.0020-30 in'."
            ),
        ),
        ("0.02..0.03", f"'0.02..0.03' has no unit; {LENGTH_WANTED}."),
        ("at most 0.2", f"'at most 0.2' has no unit; {LENGTH_WANTED}."),
        (
            "5 mm",
            (
                "'5 mm' gives no limits; write both, such as '0.0020..0.0030 in', or one, such as"
                " 'at most 0.2 mm'."
            ),
        ),
        (
            "86 +0.01 mm",
            (
                "'86 +0.01 mm' gives no limits; write both, such as '0.0020..0.0030 in', or one,"
                " such as 'at most 0.2 mm'."
            ),
        ),
        ("30..35 N·m", f"'30..35 N·m' is a torque; {LENGTH_WANTED}."),
        (
            ".020...030 in",
            (
                "'.020...030 in' has three dots, the last of which could be a decimal point; write"
                " '..'."
            ),
        ),
        (
            "0.031-0.058 mm (0.012-0.023 in)",
            (
                "'0.031-0.058 mm' and '0.012-0.023 in' contradict each other: 0.031 mm is"
                " 0.00122 in, not 0.012 in."
            ),
        ),
        (
            "at most 0.01 mm (0.01..0.02 mm)",
            "'at most 0.01 mm (0.01..0.02 mm)' looks like limits; one value is wanted here.",
        ),
    ],
)
def test_limits(text, sentence):
    with pytest.raises(QuantityError) as refusal:
        parse_range(text, Dimension.LENGTH)
    assert refusal.value.sentence == sentence


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("35 mm", "is no tightening; a torque, an angle or a torque and then an angle is wanted"),
        ("60 deg + 35 N·m", "is no tightening"),
        ("35 N·m + 60 deg + 60 deg", "is no tightening"),
        ("35 N·m + 60", "'60' has no unit"),
        ("0 N·m", "tightens by nothing; torque and angle must be above nought"),
        ("35 N·m + -60 deg", "must be above nought"),
        ("35 N·m + 900 deg", "turns a fastener by more than 360 deg"),
        ("42 nm", "newton metres or nanometres"),
    ],
)
def test_tightening(text, part):
    with pytest.raises(QuantityError) as refusal:
        parse_tightening(text)
    assert part in refusal.value.sentence
