"""Make the maps of half-grooved bearings: `python -m bedplate.physics.make_grooved_maps`.

After `make_maps`, on whose maps they rest: a node holds how far the film has gone from that of the
bearing without its groove to that of the same grooved all round. That is smooth, and nearly the
same for all widths, so that few of them do.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from itertools import product
from math import cos, hypot, log, pi, sin

import numpy as np
from numpy.typing import NDArray

from bedplate.physics.checks import Array
from bedplate.physics.map_tables import (
    ANGLES,
    FILMS,
    GREATEST_GROOVE,
    GROOVED_MAP_FILE,
    LEAST_GROOVE,
    PLACES,
    STEPS_PER_UNIT,
    ends,
    film_at,
    groove_begin_at,
    load_angle_at,
    to_share,
)
from bedplate.physics.reynolds import Groove, film_mobility

WIDTH_RATIOS = (0.12, 0.2, 0.35, 0.6, 1.0, 1.5)
GROOVE_SHARES = (LEAST_GROOVE, 0.2, GREATEST_GROOVE)
AROUND, ACROSS = 240, 33


def node(
    width_ratio: float, groove_share: float, eccentricity: float, angle: float, begin: float
) -> tuple[float, ...]:
    """Return a half-grooved bearing's quantities as `map_tables.ends` has them.

    :param width_ratio: width over diameter
    :param groove_share: width of the groove over the bearing's
    :param eccentricity: over the radial clearance
    :param angle: from the direction of eccentricity to the load, rad
    :param begin: from the direction of eccentricity to where the groove begins, rad
    :returns: four numbers without units
    """
    film = film_mobility(
        eccentricity,
        width_ratio,
        angle,
        around=AROUND,
        across=ACROSS,
        groove=Groove(groove_share, begin, pi),
    )
    radial, tangential = film.mobility
    along = radial * cos(angle) + tangential * sin(angle)
    across = tangential * cos(angle) - radial * sin(angle)
    left = 1.0 - eccentricity * cos(angle)
    return (
        log(width_ratio**2 * along / left**1.5),
        across / along,
        log(film.peak),
        log(film.side_flow / hypot(radial, tangential)),
    )


def one_map(width_ratio: float, groove_share: float) -> NDArray[np.int16]:
    """Return the map of one width and one groove, in steps.

    :param width_ratio: width over diameter
    :param groove_share: width of the groove over the bearing's
    :returns: shape (films, angles, places, 4)
    """
    values = np.empty((FILMS, ANGLES, PLACES, 4))
    for row, column, place in product(range(FILMS), range(ANGLES), range(PLACES)):
        size = film_at(row)
        values[row, column, place] = node(
            width_ratio,
            groove_share,
            size,
            load_angle_at(size, column),
            groove_begin_at(size, place),
        )
    return in_steps(to_share(values, *ends(width_ratio, groove_share)))


def in_steps(gone: Array) -> NDArray[np.int16]:
    """Return what is stored of shares.

    :param gone: as `map_tables.to_share` gives it, shape (…, 4)
    """
    steps = np.rint(gone * np.array(STEPS_PER_UNIT))
    if np.abs(steps).max() > np.iinfo(np.int16).max:
        raise OverflowError("A node does not fit the steps in which the maps are stored.")
    found: NDArray[np.int16] = steps.astype(np.int16)
    return found


def main() -> None:
    """Solve every node and write the file beside this module."""
    both = list(product(WIDTH_RATIOS, GROOVE_SHARES))
    with ProcessPoolExecutor() as pool:
        maps = np.stack(list(pool.map(one_map, *zip(*both, strict=True))))
    np.savez_compressed(
        GROOVED_MAP_FILE,
        width_ratios=np.array(WIDTH_RATIOS),
        groove_shares=np.array(GROOVE_SHARES),
        maps=maps.reshape(len(WIDTH_RATIOS), len(GROOVE_SHARES), FILMS, ANGLES, PLACES, 4),
    )


if __name__ == "__main__":
    main()
