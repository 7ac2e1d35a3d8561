"""What a typed quantity is once it has been read."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.quantity.dimension import Dimension


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its unit, as typed.

    :param text: what was typed, unchanged
    :param value: SI value (nearest double to the exact fraction)
    :param unit: the unit as the program prints it: 'mm', 'in', 'thou', 'N·m'
    :param resolution: SI size of one step of the last digit typed (1/n of the unit for a fraction)
    """

    text: str
    value: float
    dimension: Dimension
    unit: str
    resolution: float


@dataclass(frozen=True, slots=True)
class Range:
    """Limits as typed; at least one of `low` and `high` is there.

    :param low: SI value, or None where there is no lower limit
    :param high: SI value, or None where there is no upper limit
    :param nominal: SI value where one was typed ('86 +0.01/-0 mm'), else None
    """

    text: str
    low: float | None
    high: float | None
    nominal: float | None
    dimension: Dimension
    unit: str
    resolution: float


@dataclass(frozen=True, slots=True)
class Tightening:
    """A tightening value: a torque, an angle, or a torque and then an angle."""

    text: str
    torque: Quantity | None
    angle: Quantity | None
