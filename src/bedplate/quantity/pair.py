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
    :param exact: typed as a fraction, so not rounded
    """

    value: Fraction
    step: Fraction
    unit: Unit
    exact: bool = False

    @property
    def ends(self) -> tuple[Fraction | None, ...]:
        """The value alone."""
        return (self.value,)


@dataclass(frozen=True, slots=True)
class Limits:
    """Two limits, or one, exact and in SI units.

    :param low: None where there is no lower limit
    :param high: None where there is no upper limit
    :param nominal: None where none was typed
    :param step: one step of the last digit typed
    :param exact: typed as fractions, so not rounded
    """

    low: Fraction | None
    high: Fraction | None
    nominal: Fraction | None
    step: Fraction
    unit: Unit
    exact: bool = False

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


def agree(one: Fraction, other: Fraction, first: Printed, second: Printed) -> bool:
    """Tell whether two values agree within the rounding of their printed digits.

    :param one: SI value of the first printing
    :param other: SI value of the second printing
    :param first: the printing `one` comes from, for its last digit
    :param second: the printing `other` comes from
    """
    steps = [Fraction(0) if size.exact else size.step for size in (first, second)]
    allowance = min(max(steps) / 2, max(abs(one), abs(other)) / 20)
    return abs(one - other) <= sum(steps) / 2 + allowance


def check_pair(first: Printed, second: Printed, typed: str, beside: str) -> None:
    """Refuse two printings that contradict each other, naming both."""
    for one, other in zip(first.ends, second.ends, strict=True):
        if (one is None) != (other is None):
            raise QuantityError(f"'{typed}' and '{beside}' do not limit the same end.")
        if one is None or other is None or agree(one, other, first, second):
            continue
        raise QuantityError(
            f"'{typed}' and '{beside}' contradict each other: {_in_unit(one, first.unit)} is"
            f" {_in_unit(one, second.unit)}, not {_in_unit(other, second.unit)}."
        )


def _in_unit(value: Fraction, unit: Unit) -> str:
    number = float(value / unit.factor - unit.offset)
    return f"{number:.4g} {unit.symbol}"
