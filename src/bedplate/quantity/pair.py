"""Do two printings of one size agree?

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
class Size:
    """One value, or two limits, exact and in SI units.

    :param low: None where there is no lower limit; the value itself where there is but one
    :param step: one step of the last digit typed
    :param exact: typed as a fraction, so not rounded
    """

    low: Fraction | None
    high: Fraction | None
    nominal: Fraction | None
    step: Fraction
    unit: Unit
    exact: bool = False


def split_pair(line: str) -> tuple[str, list[str]]:
    """Split 'A (B, C)', 'A = B', 'A / B' into what counts and what is printed beside it."""
    if "(" in line or "[" in line:
        brackets = _BRACKETS.fullmatch(line)
        if brackets and not brackets[1].endswith("/"):
            return brackets[1].strip(), [part.strip() for part in _LIST.split(brackets[2])]
    if "=" in line and len(parts := _EQUALS.split(line)) > 1:
        return parts[0].strip(), [part.strip() for part in parts[1:]]
    if "/" in line and len(parts := _SLASH.split(line)) > 1:
        return parts[0], parts[1:]
    return line, []


def agree(one: Fraction, other: Fraction, first: Size, second: Size) -> bool:
    """Tell whether two values agree within the rounding of their printed digits.

    :param one: SI value of the first printing
    :param other: SI value of the second printing
    :param first: the printing `one` comes from, for its last digit
    :param second: the printing `other` comes from
    """
    steps = [Fraction(0) if size.exact else size.step for size in (first, second)]
    allowance = min(max(steps) / 2, max(abs(one), abs(other)) / 20)
    return abs(one - other) <= sum(steps) / 2 + allowance


def check_pair(first: Size, second: Size, typed: str, beside: str) -> None:
    """Refuse two printings that contradict each other, naming both."""
    for one, other in ((first.low, second.low), (first.high, second.high)):
        if (one is None) != (other is None):
            raise QuantityError(f"'{typed}' and '{beside}' do not limit the same end.")
        if one is None or other is None or agree(one, other, first, second):
            continue
        right = _shown(one, second, first)
        raise QuantityError(
            f"'{typed}' and '{beside}' contradict each other: {_shown(one, first, first)} is"
            f" {right}, not {_shown(other, second, second)}."
        )


def _shown(value: Fraction, size: Size, source: Size) -> str:
    """Print an SI value in a size's unit, with the digits of the source."""
    unit = size.unit
    number = float(value / unit.factor - unit.offset)
    return f"{number:.4g} {unit.symbol}"
