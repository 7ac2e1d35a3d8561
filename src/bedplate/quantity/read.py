"""Typed text to one quantity."""

from __future__ import annotations

import re
from fractions import Fraction
from math import tau

from bedplate.errors import QuantityError
from bedplate.quantity.dimension import Dimension
from bedplate.quantity.model import Quantity, Tightening
from bedplate.quantity.number import NUMBER, Number, plain, read_number
from bedplate.quantity.pair import Value, check_pair, split_pair
from bedplate.quantity.refusal import mismatch, quoted, refuse, wanted
from bedplate.quantity.units import DOUBTFUL, FOLDED, SPELLINGS, Unit, to_si

_SEPARATORS = re.compile(r"[ .·-]+")
_LEADING = re.compile(NUMBER)
_SPOKEN = re.compile(r"(an?|one|half an?|half)(?= [a-z])|(?=tenth$)", re.IGNORECASE)
_LIMIT_SIGNS = re.compile(
    r"±|\+/?-|\.\.|^ ?[-~+] ?[0-9.]| [-~] ?[0-9.]|[-~] ?[0-9.]+ ?[a-z\"°]"
    r"|\b(?:to|max|min|or)\b",
    re.IGNORECASE,
)
_LIMIT_WORDS = re.compile(r"[<>]|(?:at|max|min|no|not|up|from|between)\b", re.IGNORECASE)
_MORE_NUMBERS = re.compile(r"[0-9]")
_SIMPLE = re.compile(r"([+-]?)(0|[1-9][0-9]{0,14})?(?:\.([0-9]{1,15}))? ?([^0-9.\s][^0-9]{0,9})")
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
    if _LIMIT_SIGNS.search(typed):
        raise refuse(text, "looks like limits; one value is wanted here")
    if _MORE_NUMBERS.search(typed):
        raise refuse(text, "holds more than one number; give one number with one unit")
    near = SPELLINGS.get(spelling.lower()) or SPELLINGS.get(spelling.upper())
    advice = f"; perhaps '{near[0].symbol}'" if near else ""
    raise refuse(text, f"has a unit that is not known, {quoted(typed)}{advice}")


def parse(text: str, dimension: Dimension | None = None, *, default_unit: str = "") -> Quantity:
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
    read = read_value(plain(text), text, dimension, default_unit)
    return Quantity(
        text, float(read.value), read.unit.dimension, read.unit.symbol, float(read.step)
    )


def _from_decimal(text: str, simple: re.Match[str], unit: Unit) -> Quantity:
    """Build the quantity of a plain decimal: whole numbers only, so that it is exact and quick."""
    decimals = simple[3] or ""
    number = int((simple[2] or "") + decimals)
    scale = 10 ** len(decimals)
    top, bottom = unit.factor.numerator, unit.factor.denominator * scale
    signed = -number if simple[1] == "-" else number
    if unit.dimension is Dimension.TEMPERATURE:
        value = float(si_value(Fraction(signed, scale), unit, text))
    else:
        value = signed * top / bottom
    return Quantity(text, value, unit.dimension, unit.symbol, top / bottom)


def si_value(value: Fraction, unit: Unit, text: str) -> Fraction:
    """Return the exact SI value; refuse a temperature below absolute zero."""
    found = to_si(value, unit)
    if found < 0 and unit.dimension is Dimension.TEMPERATURE:
        raise refuse(text, "is below absolute zero")
    return found


def read_value(line: str, text: str, dimension: Dimension | None, default_unit: str) -> Value:
    """Read one value, and check what is printed beside it; `line` is plain, `text` as typed."""
    first, others = split_pair(line)
    value = _read_one(first, text, dimension, default_unit)
    for other in others:
        check_pair(value, _read_one(other, text, value.unit.dimension, ""), first, other)
    return value


def _read_one(line: str, text: str, dimension: Dimension | None, default_unit: str) -> Value:
    number, typed = _split_unit(line, text, default_unit, wanted(dimension))
    typed = typed or default_unit
    if not typed:
        raise refuse(text, f"has no unit; {wanted(dimension)}")
    unit = find_unit(typed, dimension, text)
    value = si_value(number.value, unit, text)
    factor = unit.factor
    return Value(value, number.step * factor, number.rounding * factor, unit)


def _split_unit(line: str, text: str, default: str, right: str) -> tuple[Number, str]:
    """Split '0.0015 in' into its number and its unit's spelling."""
    leading = _LEADING.match(line)
    if leading:
        number, rest = leading[0], line[leading.end() :].strip()
        return read_number(number, text if rest else f"{text} {default}".rstrip()), rest
    spoken = _SPOKEN.match(line)
    if spoken:
        half = spoken[0].lower().startswith("half")
        value = Fraction(1, 2) if half else Fraction(1)
        return Number(value, value), line[spoken.end() :].strip()
    if not line:
        raise QuantityError(f"Nothing was typed; {right}.")
    if _NOT_FINITE.match(line):
        raise refuse(text, f"is not a finite number; {right}")
    if _LIMIT_WORDS.match(line):
        raise refuse(text, "looks like limits; one value is wanted here")
    raise refuse(text, f"does not begin with a number; {right}")


_WHOLE_TURN = tau * (1 + 1e-9)
_STAGES = re.compile(r",? ?(?:(?<![0-9][eE])\+|\bthen\b|\band\b|&) ?", re.IGNORECASE)


def parse_tightening(text: str) -> Tightening:
    """Read a torque, an angle, or a torque and then an angle: '35 N·m + 60 deg'.

    :param text: as typed, at most 100 characters
    :return: the torque and the angle, each None where none was typed
    :raises QuantityError: anything else, a value that is not above nought, or an angle of more than
        a whole turn
    """
    parts = [part.strip() for part in _STAGES.split(plain(text).removeprefix("+"))]
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
    if kinds[-1] is Dimension.ANGLE and sizes[-1].value > _WHOLE_TURN:
        raise refuse(text, "turns a fastener by more than 360 deg; is the angle right?")
    torque = sizes[0] if kinds[0] is Dimension.TORQUE else None
    return Tightening(text, torque, sizes[-1] if kinds[-1] is Dimension.ANGLE else None)
