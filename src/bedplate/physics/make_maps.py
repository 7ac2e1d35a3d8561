"""Make the mobility maps that the package ships: `python -m bedplate.physics.make_maps`.

A map holds, for one width ratio, the film under a unit load at each eccentricity and load angle, as
solved by `reynolds`. What is stored is smooth: logarithms of each quantity over a simple factor
that takes most of its range away. Eccentricity is even in ln(1 − ε), load angle is even in the mean
of the angle and of Sommerfeld's, half a step off both ends, about which the map is even.
"""

from __future__ import annotations

from math import atan2, cos, hypot, log, pi, sin, sqrt
from pathlib import Path

import numpy as np

from bedplate.physics.checks import Array
from bedplate.physics.reynolds import GREATEST_ECCENTRICITY, film_mobility

MAP_FILE = Path(__file__).with_name("mobility_maps.npz")
WIDTH_RATIOS = (0.035, 0.05, 0.07, 0.1, 0.12, 0.15, 0.2, 0.3, 0.4, 0.5, 0.65, 0.8, 1.0, 1.25, 1.5)
FILMS, ANGLES = 41, 24
AROUND, ACROSS = 288, 33
_INNER = 0.05
"""Eccentricity from which the middle of the map is taken, where the load has no angle."""


def eccentricity_at(row: int) -> float:
    """Return the eccentricity of a row of the map: ln(1 − ε) goes in even steps to ln 0.001."""
    return float(1.0 - (1.0 - GREATEST_ECCENTRICITY) ** (row / (FILMS - 1)))


def load_angle_at(eccentricity: float, column: int) -> float:
    """Return the load angle of a column of the map, from the direction of eccentricity.

    :param eccentricity: of the row
    :returns: rad, 0 to π
    """
    wanted = (column + 0.5) * pi / ANGLES
    wide, narrow = sqrt(1.0 + eccentricity), sqrt(1.0 - eccentricity)
    low, high = 0.0, pi
    for _ in range(60):
        middle = (low + high) / 2
        image = atan2(wide * sin(middle / 2), narrow * cos(middle / 2))
        if middle / 2 + image > wanted:
            high = middle
        else:
            low = middle
    return (low + high) / 2


def node(width_ratio: float, eccentricity: float, angle: float) -> tuple[float, ...]:
    """Return what the map holds at one node.

    ln of M along the load over (1 − ξ)^1.5, of −M across it over η(1 − ξ), both times (L/D)², of
    the peak pressure over the load's, and of the flow out of both ends over R L and the velocity;
    ξ and η are the eccentricity along and across the load.

    :param width_ratio: width over diameter
    :param eccentricity: over the radial clearance, above 0
    :param angle: from the direction of eccentricity to the load, rad
    :returns: four numbers without units
    """
    film = film_mobility(eccentricity, width_ratio, angle, around=AROUND, across=ACROSS)
    radial, tangential = film.mobility
    along = radial * cos(angle) + tangential * sin(angle)
    across = tangential * cos(angle) - radial * sin(angle)
    left = 1.0 - eccentricity * cos(angle)
    aside = eccentricity * sin(angle)
    square = width_ratio**2
    return (
        log(square * along / (left * sqrt(left))),
        log(square * across / (aside * left)),
        log(film.peak),
        log(film.side_flow / hypot(radial, tangential)),
    )


def one_map(width_ratio: float) -> Array:
    """Return the map of one width ratio.

    :param width_ratio: width over diameter
    :returns: shape (films, angles, 4)
    """
    table = np.empty((FILMS, ANGLES, 4))
    inner = [node(width_ratio, _INNER, load_angle_at(_INNER, k)) for k in range(ANGLES)]
    table[0] = np.mean(inner, axis=0)
    for row in range(1, FILMS):
        eccentricity = eccentricity_at(row)
        for column in range(ANGLES):
            angle = load_angle_at(eccentricity, column)
            table[row, column] = node(width_ratio, eccentricity, angle)
    return table


def main() -> None:
    """Solve every node and write the file beside this module."""
    maps = np.stack([one_map(ratio) for ratio in WIDTH_RATIOS])
    np.savez_compressed(MAP_FILE, width_ratios=np.array(WIDTH_RATIOS), maps=maps.astype(np.float32))


if __name__ == "__main__":
    main()
