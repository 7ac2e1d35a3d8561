"""Typed text to one quantity."""

from __future__ import annotations

import re
from fractions import Fraction

from bedplate.errors import QuantityError
from bedplate.quantity.dimension import Dimension
from bedplate.quantity.model import Quantity, Tightening
from bedplate.quantity.number import NUMBER, Number, plain, read_number
from bedplate.quantity.pair import Size, check_pair, split_pair
from bedplate.quantity.refusal import LONGEST, mismatch, quoted, refuse, wanted
from bedplate.quantity.units import DOUBTFUL, FOLDED, SPELLINGS, Unit

_SEPARATORS = re.compile(r"[ .·-]+")
_LEADING = re.compile(NUMBER)
_SPOKEN = re.compile(r"(an?|one|half an?|half)(?= [a-z])|(?=tenth$)", re.IGNORECASE)
_LIMIT_SIGNS = re.compile(
    rf"±|\+/-|\.\.|[<>]|(?:^|\b)(?:to|at least|at most|max|min)\b|[0-9a-z\"] ?[-~] ?{NUMBER}\s*[a-z\"]",
    re.IGNORECASE,
)
_TWO_NUMBERS = re.compile(r"[a-z\"°%].*[0-9]", re.IGNORECASE)
_SIMPLE = re.compile(r"([+-]?)([0-9]{1,15})?(?:\.([0-9]{1,15}))? ?([^0-9.\s][^0-9]{0,9})")
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf(?:inity)?)\b", re.IGNORECASE)


def find_unit(typed: str, dimension: Dimension | None, text: str) -> Unit:
    """Return the unit a spelling stands for, of the dimension that is wanted."""
    units = SPELLINGS.get(typed) or _look_closer(typed, text)
    if dimension is None:
        return units[0]
    for unit in units:
        if unit.dimension is dimension:
            return unit
    raise mismatch(text, units[0].dimension, dimension)


def _look_closer(typed: str, text: str) -> tuple[Unit, ...]:
    spelling = _SEPARATORS.sub("·", typed).rstrip("·")
    for spelled in (typed, spelling, spelling.lower()):
        if spelled in DOUBTFUL:
            raise QuantityError(f"{quoted(text)}: {DOUBTFUL[spelled]}.")
    units = SPELLINGS.get(spelling) or FOLDED.get(spelling.lower())
    if units:
        return units
    if _TWO_NUMBERS.search(typed):
        raise refuse(text, "holds more than one number; give one number with one unit")
    near = SPELLINGS.get(spelling.lower()) or SPELLINGS.get(spelling.upper())
    advice = f"; perhaps '{near[0].symbol}'" if near else ""
    raise refuse(text, f"has a unit that is not known, '{typed}'{advice}")


def to_si(value: Fraction, unit: Unit) -> Fraction:
    """Return the exact SI value of a number in a unit."""
    return (value + unit.offset) * unit.factor


def parse(
    text: str, dimension: Dimension | None = None, *, default_unit: str = ""
) -> Quantity:
    """Read one quantity with its unit.

    A second value in brackets, or after '=' or '/', must say the same; the first one counts.

    :param text: as typed, at most 100 characters
    :param dimension: what is wanted; a unit of another kind is refused. None takes any
    :param default_unit: unit of a bare number; '' refuses a bare number, nought included
    :return: value in SI units, the nearest double to the exact typed number
    :raises QuantityError: the text cannot be read, is doubtful, or contradicts itself
    """
    simple = _SIMPLE.fullmatch(text)
    if simple and (simple[2] or simple[3]) and (units := SPELLINGS.get(simple[4])):
        for unit in units:
            if dimension is None or unit.dimension is dimension:
                return _from_decimal(text, simple, unit)
    size = read_size(plain(text), text, dimension, default_unit)
    return Quantity(
        text, float(size.low), size.unit.dimension, size.unit.symbol, float(size.step)
    )


def _from_decimal(text: str, simple: re.Match[str], unit: Unit) -> Quantity:
    """Build the quantity of a plain decimal: whole numbers only, so that it is exact and quick."""
    decimals = simple[3] or ""
    number = int((simple[2] or "") + decimals)
    scale = 10 ** len(decimals)
    factor, offset = unit.factor, unit.offset
    top, bottom = factor.numerator, factor.denominator * scale
    signed = -number if simple[1] == "-" else number
    if offset:
        value = float(to_si(Fraction(signed, scale), unit))
        _above_absolute_zero(value, unit, text)
    else:
        value = signed * top / bottom
    return Quantity(text, value, unit.dimension, unit.symbol, top / bottom)


def _above_absolute_zero(value: float | Fraction, unit: Unit, text: str) -> None:
    if value < 0 and unit.dimension is Dimension.TEMPERATURE:
        raise refuse(text, "is below absolute zero")


def read_size(line: str, text: str, dimension: Dimension | None, default_unit: str) -> Size:
    """Read one value, and check what is printed beside it; `line` is plain, `text` as typed."""
    first, others = split_pair(line)
    size = _read_one(first, text, dimension, default_unit)
    for other in others:
        check_pair(size, _read_one(other, text, size.unit.dimension, ""), first, other)
    return size


def _read_one(line: str, text: str, dimension: Dimension | None, default_unit: str) -> Size:
    number, typed = _split_unit(line, text, dimension)
    typed = typed or default_unit
    if not typed:
        raise refuse(text, f"has no unit; {wanted(dimension)}")
    unit = find_unit(typed, dimension, text)
    value = to_si(number.value, unit)
    _above_absolute_zero(value, unit, text)
    return Size(value, value, None, number.step * unit.factor, unit, exact=number.fraction)


def _split_unit(line: str, text: str, dimension: Dimension | None) -> tuple[Number, str]:
    """Split '0.0015 in' into its number and its unit's spelling."""
    leading = _LEADING.match(line)
    if leading:
        number, rest = leading[0], line[leading.end() :].strip()
        if _LIMIT_SIGNS.search(line[1:]) and rest not in SPELLINGS:
            raise refuse(text, f"looks like limits; one value is wanted here")
        return read_number(number, text), rest
    spoken = _SPOKEN.match(line)
    if spoken:
        half = spoken[0].lower().startswith("half")
        value = Fraction(1, 2) if half else Fraction(1)
        return Number(value, value), line[spoken.end() :].strip()
    if not line:
        raise QuantityError(f"Nothing was typed; {wanted(dimension)}.")
    if _NOT_FINITE.match(line):
        raise refuse(text, f"is not a finite number; {wanted(dimension)}")
    raise refuse(text, f"does not begin with a number; {wanted(dimension)}")


_STAGES = re.compile(r",? ?(?:(?<![0-9][eE])\+|\bthen\b|\band\b|&) ?", re.IGNORECASE)


def parse_tightening(text: str) -> Tightening:
    """Read a torque, an angle, or a torque and then an angle: '35 N·m + 60 deg'.

    :param text: as typed, at most 100 characters
    :return: the torque and the angle, each None where none was typed
    :raises QuantityError: anything else, or a value that is not above nought
    """
    parts = [part.strip() for part in _STAGES.split(plain(text))]
    sizes = [parse(part) for part in parts]
    kinds = tuple(size.dimension for size in sizes)
    if kinds not in {
        (Dimension.TORQUE,), (Dimension.ANGLE,), (Dimension.TORQUE, Dimension.ANGLE)
    }:  # fmt: skip
        raise refuse(
            text,
            "is no tightening; a torque, an angle or a torque and then an angle is wanted, such"
            " as '35 N·m + 60 deg'",
        )
    if any(size.value <= 0 for size in sizes):
        raise refuse(text, "tightens by nothing; torque and angle must be above nought")
    torque = sizes[0] if kinds[0] is Dimension.TORQUE else None
    return Tightening(text, torque, sizes[-1] if kinds[-1] is Dimension.ANGLE else None)
