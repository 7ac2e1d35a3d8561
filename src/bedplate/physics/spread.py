"""How far off a quantity may be, and in which shape."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from bedplate.errors import InputError
from bedplate.physics.checks import require_not_negative, require_positive


class Shape(StrEnum):
    """How a quantity is spread about its value."""

    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"
    NORMAL = "normal"


_DIVISOR = {Shape.RECTANGULAR: sqrt(3), Shape.TRIANGULAR: sqrt(6), Shape.NORMAL: 2.0}
_REACH = {Shape.RECTANGULAR: 1.0, Shape.TRIANGULAR: 1.0, Shape.NORMAL: 3.0}


@dataclass(frozen=True, slots=True)
class Spread:
    """A quantity above zero, and how far off it may be.

    Where only limits are known they are rectangular (GUM 4.3.7); triangular where the middle is
    likelier (4.3.9); normal where the half width is two standard deviations.

    :param value: best estimate, in the quantity's SI unit
    :param half_width: in the same unit; 0 for what is taken as exact
    :param shape: rectangular and triangular end at the half width, normal does not
    """

    value: float
    half_width: float = 0.0
    shape: Shape = Shape.RECTANGULAR

    def __post_init__(self) -> None:
        """Refuse a spread that reaches zero (a normal one within six standard deviations)."""
        require_positive(value=self.value)
        require_not_negative(half_width=self.half_width)
        if self.half_width * _REACH[self.shape] > self.value * (1 + 1e-9):
            raise InputError(
                f"{self.value:g} ± {self.half_width:g} ({self.shape}) reaches below zero.",
                hint="A narrower band, or limits instead of a normal distribution.",
            )

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty u, in the quantity's unit (GUM 4.3.7, 4.3.9, 4.3.4)."""
        return self.half_width / _DIVISOR[self.shape]


def between(low: float, high: float, shape: Shape = Shape.RECTANGULAR) -> Spread:
    """Return the spread of a quantity of which two limits are known.

    :param low: lower limit; above 0
    :param high: upper limit; not below `low`
    :param shape: of the distribution between them
    """
    require_positive(lower_limit=low, upper_limit=high)
    if high < low:
        raise InputError(f"The limits {low:g} and {high:g} stand the wrong way round.")
    return Spread((low + high) / 2, (high - low) / 2, shape)
