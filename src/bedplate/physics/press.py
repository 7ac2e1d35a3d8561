"""Pressure between two round parts that are pressed together."""

from __future__ import annotations

from math import inf

from bedplate.errors import InputError
from bedplate.physics.checks import require_finite, require_positive

STEEL_MODULUS, STEEL_RATIO = 207e9, 0.292
"""Pa, and Poisson's ratio: carbon steel, Shigley, Mechanical Engineering Design, table A-5, from
memory."""


def contact_pressure(
    interference: float,
    diameter: float,
    inner: float,
    outer: float = inf,
    *,
    modulus: float = STEEL_MODULUS,
    ratio: float = STEEL_RATIO,
    outer_modulus: float = inf,
    outer_ratio: float = STEEL_RATIO,
) -> float:
    """Return the pressure between a ring and what it is pressed into.

    Both are long enough to bear alike along the axis, elastic, and round.

    :param interference: on the diameter, m; not above zero: nothing presses
    :param diameter: where they touch, m
    :param inner: inner diameter of the inner part, m; 0 for a solid one
    :param outer: outer diameter of the outer part, m; infinite: as big as it likes
    :param modulus, ratio: of the inner part, Pa and 1
    :param outer_modulus, outer_ratio: of the outer part; an infinite modulus does not give at all,
        so the pressure is the most it can be
    :returns: Pa; refused where the parts are not inside one another
    :source: Lamé's thick cylinders, as Shigley, Mechanical Engineering Design, section 3-16
    """
    require_positive(diameter=diameter, modulus=modulus)
    require_finite(interference=interference, inner=inner)
    if not 0 <= inner < diameter < outer:
        raise InputError("Of two parts pressed together the inner one must be inside the outer.")
    if interference <= 0:
        return 0.0
    gives = (_widened(diameter, inner) - ratio) / modulus
    if outer_modulus < inf:
        around = 1.0 if outer == inf else _widened(outer, diameter)
        gives += (around + outer_ratio) / outer_modulus
    return interference / (diameter * gives)


def _widened(wide: float, narrow: float) -> float:
    return (wide**2 + narrow**2) / (wide**2 - narrow**2)
