"""Typed text to limits."""

from __future__ import annotations

import re
from fractions import Fraction

from bedplate.errors import QuantityError
from bedplate.quantity.dimension import Dimension
from bedplate.quantity.model import Range
from bedplate.quantity.number import NUMBER, UNSIGNED, Number, plain, read_number
from bedplate.quantity.pair import Limits, check_pair, split_pair
from bedplate.quantity.read import find_unit, read_value, si_value
from bedplate.quantity.refusal import mismatch, refuse, wanted
from bedplate.quantity.units import Unit

# A unit: from a letter, '/' or '1/x' on, as short as what follows allows.
_UNIT = (
    r"(?:(?!to\b|and\b)(?:1?/)?[A-Za-zµ°℃℉%\"':]"
    r"(?:[^±<>=+~()\[\]0-9]|(?<=[a-z])[23]|(?<=:)1|/\([^()0-9]*\))*?)"
)
_LOWEST = re.compile(
    r"(?:at least|no less than|not less than|min(?:imum)?\b\.?|>=?|from) ?", re.IGNORECASE
)
_GREATEST = re.compile(
    r"(?:at most|no more than|not more than|max(?:imum)?\b\.?|<=?|up to) ?", re.IGNORECASE
)
_TRAILING = re.compile(
    r"(.*[^ ]) (?:(min(?:imum)?|or more)|(?:max(?:imum)?|or less))\.?", re.IGNORECASE
)
_BETWEEN = re.compile(
    rf"(?:between |from )?({NUMBER}) ?({_UNIT})? ?(?:\.\.\.?|-|~|\bto\b|\band\b) ?"
    rf"({NUMBER}) ?({_UNIT})?",
    re.IGNORECASE,
)
_NOUGHT = r"0+(?:[.,]0+)?(?![0-9.,])"
_DEVIATION = rf"(?:[+-] ?{UNSIGNED}|{_NOUGHT})"
_EVEN = re.compile(rf"({NUMBER}) ?({_UNIT})? ?(?:±|\+/-|\+-) ?({UNSIGNED}) ?({_UNIT})?")
_UNEVEN = re.compile(
    rf"({NUMBER})(?![0-9]) ?({_UNIT})?( ?[+-] ?{UNSIGNED}| {_NOUGHT}) ?({_UNIT})?"
    rf"(?: ?[/ ,] ?| ?(?=[+-]))({_DEVIATION}) ?({_UNIT})?"
)
_THREE_DOTS = re.compile(r"\.\.\.[0-9]+(?![0-9.,])")


def parse_range(text: str, dimension: Dimension | None = None, *, default_unit: str = "") -> Range:
    """Read limits: two ends, a size with its tolerance, or one end only.

    '0.028..0.052 mm' (also '-', '–', 'to'), '86 +0.01/-0 mm', '86.00 ±0.01 mm', 'at least 0.35
    mm', '>= 0.35 mm', 'max 0.2 mm', '0.2 mm max'. A second printing in brackets, or after '=' or
    '/', must say the same; the first one counts. A number without a unit takes the other end's.

    :param text: as typed, at most 100 characters
    :param dimension: what is wanted; a unit of another kind is refused. None takes any
    :param default_unit: unit where none is typed; '' refuses that
    :return: limits in SI units
    :raises QuantityError: the text cannot be read, is doubtful, contradicts itself, or has its
        lower limit above its upper
    """
    line = plain(text)
    first, others = (line, []) if _UNEVEN.fullmatch(line) else split_pair(line)
    size = _read_limits(first, text, dimension, default_unit)
    for other in others:
        check_pair(size, _read_beside(other, text, size), first, other)
    return Range(
        text, _double(size.low), _double(size.high), _double(size.nominal),
        size.unit.dimension, size.unit.symbol, float(size.step),
    )  # fmt: skip


def _read_beside(line: str, text: str, size: Limits) -> Limits:
    """Read a second printing; after 'at most 0.2 mm' it may leave the words out."""
    dimension = size.unit.dimension
    if (size.low is None or size.high is None) and not _one_end(line):
        beside = read_value(line, text, dimension, "")
        low, high = (None if end is None else beside.value for end in size.ends)
        roundings = (beside.rounding, beside.rounding)
        return Limits(low, high, None, beside.step, roundings, beside.unit)
    return _read_limits(line, text, dimension, "")


def _double(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def _read_limits(line: str, text: str, dimension: Dimension | None, default_unit: str) -> Limits:
    one_end = _one_end(line)
    if one_end:
        rest, is_low = one_end
        end = read_value(rest, text, dimension, default_unit)
        low, high = (end.value, None) if is_low else (None, end.value)
        return Limits(low, high, None, end.step, (end.rounding, end.rounding), end.unit)
    for pattern, read in ((_EVEN, _even), (_UNEVEN, _uneven), (_BETWEEN, _between)):
        match = pattern.fullmatch(line)
        if match:
            return read(match, text, dimension, default_unit)
    raise _no_limits(line, text, dimension, default_unit)


def _one_end(line: str) -> tuple[str, bool] | None:
    """Return what stands beside 'at least' or 'at most', and whether it is the lower limit."""
    lowest, greatest = _LOWEST.match(line), _GREATEST.match(line)
    if lowest and not _BETWEEN.fullmatch(line):
        return line[lowest.end() :], True
    if greatest:
        return line[greatest.end() :], False
    trailing = _TRAILING.fullmatch(line)
    if trailing:
        return trailing[1], trailing[2] is not None
    return None


def _no_limits(
    line: str, text: str, dimension: Dimension | None, default_unit: str
) -> QuantityError:
    try:
        read_value(line, text, dimension, default_unit)
    except QuantityError as error:
        if not re.search(r"limits", error.sentence):
            return error
    return refuse(
        text,
        "gives no limits; write both, such as '0.0020..0.0030 in', or one, such as 'at most 0.2"
        " mm'",
    )


def _between(
    match: re.Match[str], text: str, dimension: Dimension | None, default_unit: str
) -> Limits:
    if _THREE_DOTS.search(match[0]):
        raise refuse(text, "has three dots, the last of which could be a decimal point; write '..'")
    high_unit = match[4] or match[2] or default_unit
    low_unit = match[2] or high_unit
    low, high = read_number(match[1], text), read_number(match[3], text)
    one = _unit(low_unit, text, dimension)
    other = _unit(high_unit, text, one.dimension)
    least, greatest = si_value(low.value, one, text), si_value(high.value, other, text)
    if least > greatest:
        raise refuse(text, "has its lower limit above its upper")
    step = min(low.step * one.factor, high.step * other.factor)
    roundings = (_rounding(low, one, step), _rounding(high, other, step))
    return Limits(least, greatest, None, step, roundings, one)


def _unit(typed: str, text: str, dimension: Dimension | None) -> Unit:
    if not typed:
        raise refuse(text, f"has no unit; {wanted(dimension)}")
    return find_unit(typed.strip(), dimension, text)


def _rounding(number: Number, unit: Unit, finest: Fraction) -> Fraction:
    """Return the step an end was rounded to; a bare nought was rounded like the other end."""
    return number.rounding * unit.factor if number.value else finest


def _even(
    match: re.Match[str], text: str, dimension: Dimension | None, default_unit: str
) -> Limits:
    unit = _unit(match[2] or match[4] or default_unit, text, dimension)
    nominal, half = read_number(match[1], text), read_number(match[3], text)
    middle = si_value(nominal.value, unit, text)
    deviation, step = _deviation(half, match[4], nominal, unit, text)
    finest = min(step, nominal.step * unit.factor)
    low, high = middle - deviation, middle + deviation
    return Limits(low, high, middle, finest, (finest, finest), unit)


def _uneven(
    match: re.Match[str], text: str, dimension: Dimension | None, default_unit: str
) -> Limits:
    unit = _unit(match[2] or match[6] or match[4] or default_unit, text, dimension)
    nominal = read_number(match[1], text)
    middle = si_value(nominal.value, unit, text)
    typed = [(match[3], match[4] or match[6]), (match[5], match[6] or match[4])]
    ends = [
        _deviation(read_number(number.replace(" ", ""), text), spelling, nominal, unit, text)
        for number, spelling in typed
    ]
    low, high = sorted(end for end, _ in ends)
    step = min(nominal.step * unit.factor, *(step for _, step in ends))
    return Limits(middle + low, middle + high, middle, step, (step, step), unit)


def _deviation(
    number: Number, spelling: str | None, nominal: Number, unit: Unit, text: str
) -> tuple[Fraction, Fraction]:
    """Return a deviation from the nominal size, and its step, in SI units."""
    if not spelling:
        return number.value * unit.factor, number.step * unit.factor
    own = find_unit(spelling.strip(), None, text)
    if own.dimension is Dimension.RATIO is not unit.dimension:
        size = abs(nominal.value) * unit.factor * own.factor
        return number.value * size, number.step * size
    kinds = {own.dimension, unit.dimension}
    if len(kinds) > 1 and kinds != {Dimension.TEMPERATURE, Dimension.TEMPERATURE_DIFFERENCE}:
        raise mismatch(text, own.dimension, unit.dimension)
    return number.value * own.factor, number.step * own.factor
