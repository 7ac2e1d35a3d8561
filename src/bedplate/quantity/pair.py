"""Whether two printings of one size agree.

They agree when they differ by no more than half a last digit of each, as rounding does, plus
another half of the coarser one, since a maker may round an end inward or outward; this last never
counts for more than a twentieth of the size. A fraction ('2 1/2') has no last digit: it is exact.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from bedplate.errors import QuantityError
from bedplate.quantity.units import Unit

_BRACKETS = re.compile(r"([^()\[\]]*(?:/\([^()]*\))?[^()\[\]]*)[(\[]([^\[\]]*[0-9][^\[\]]*)[)\]]")
_EQUALS = re.compile(r"(?<![<>=])=(?!=)")
_SLASH = re.compile(r"(?<=[A-Za-zµ\"°%³²]) ?/ ?(?=[0-9.])")
_LIST = re.compile(r"; ?|, (?=[0-9.])")


@dataclass(frozen=True, slots=True)
class Value:
    """One value, exact and in SI units.

    :param step: one step of the last digit typed
    :param rounding: the step it was rounded to; nought for a fraction
    """

    value: Fraction
    step: Fraction
    rounding: Fraction
    unit: Unit

    @property
    def ends(self) -> tuple[Fraction | None, ...]:
        """The value alone."""
        return (self.value,)

    @property
    def roundings(self) -> tuple[Fraction, ...]:
        """Its rounding alone."""
        return (self.rounding,)


@dataclass(frozen=True, slots=True)
class Limits:
    """Two limits, or one, exact and in SI units.

    :param low: None where there is no lower limit
    :param high: None where there is no upper limit
    :param nominal: None where none was typed
    :param step: the finest step typed
    :param roundings: the step each end was rounded to
    """

    low: Fraction | None
    high: Fraction | None
    nominal: Fraction | None
    step: Fraction
    roundings: tuple[Fraction, Fraction]
    unit: Unit

    @property
    def ends(self) -> tuple[Fraction | None, ...]:
        """The lower and the upper limit."""
        return (self.low, self.high)


Printed = Value | Limits


def split_pair(line: str) -> tuple[str, list[str]]:
    """Split 'A (B, C)', 'A = B', 'A / B' into what counts and what is printed beside it."""
    if "(" in line or "[" in line:
        brackets = _BRACKETS.fullmatch(line)
        if brackets and not brackets[1].endswith("/"):
            return brackets[1].strip(), [part.strip() for part in _LIST.split(brackets[2])]
    if "=" in line and all(parts := _EQUALS.split(line)) and len(parts) > 1:
        return parts[0].strip(), [part.strip() for part in parts[1:]]
    if "/" in line and len(parts := _SLASH.split(line)) > 1:
        return parts[0], parts[1:]
    return line, []


def agree(one: Fraction, other: Fraction, roundings: tuple[Fraction, Fraction]) -> bool:
    """Tell whether two values agree within the rounding of their printed digits.

    :param one: SI value of the first printing
    :param other: SI value of the second printing
    :param roundings: SI size of the last digit of each
    """
    allowance = min(max(roundings) / 2, max(abs(one), abs(other)) / 20)
    return abs(one - other) <= sum(roundings) / 2 + allowance


def check_pair(first: Printed, second: Printed, typed: str, beside: str) -> None:
    """Refuse two printings that contradict each other, naming both."""
    roundings = zip(first.roundings, second.roundings, strict=True)
    for one, other, digits in zip(first.ends, second.ends, roundings, strict=True):
        if (one is None) != (other is None):
            raise QuantityError(f"'{typed}' and '{beside}' do not limit the same end.")
        if one is None or other is None or agree(one, other, digits):
            continue
        raise QuantityError(
            f"'{typed}' and '{beside}' contradict each other: {_in_unit(one, first.unit)} is"
            f" {_in_unit(one, second.unit)}, not {_in_unit(other, second.unit)}."
        )


def _in_unit(value: Fraction, unit: Unit) -> str:
    number = float(value / unit.factor - unit.offset)
    return f"{number:.4g} {unit.symbol}"
