"""The least film over what is not known, by Monte Carlo: full films, none, and not to be told.

A case of which no film can be told, because it would be hotter than the oil's data reach say, is
not a broken one: it is counted by itself, and is in no percentile.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, exp, log, pi, sin, sqrt

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import Array, require_finite, require_not_negative
from bedplate.physics.film import NO_FILM, STATES, Bearing, FilmCases, film_over_cases
from bedplate.physics.mobility import LoadCycle

_NOTHING = 1e-9
"""m, K or a factor: what is drawn at or below zero becomes this, and carries nothing."""
_WITHOUT = [place for place, state in enumerate(STATES) if state in NO_FILM]


@dataclass(frozen=True, slots=True)
class FilmDoubt:
    """How well the things are known on which a film depends.

    :param clearance: standard uncertainty of the cold clearance, m; normal
    :param form: how far shell and journal may stand out of a cylinder where the film is least, m;
        anything from none to this, as likely one as another
    :param viscosity: relative standard uncertainty
    :param supply_temperature: standard uncertainty, K
    :param pressure: relative standard uncertainty of what follows cylinder pressure
    :param between: limits of a cold clearance that was not measured, m: anything between them, one
        as likely as another, in the place of `clearance`
    """

    clearance: float = 0.0
    form: float = 0.0
    viscosity: float = 0.0
    supply_temperature: float = 0.0
    pressure: float = 0.0
    between: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class FilmDistribution:
    """The least film as a distribution.

    :param least_film: of each case, less its form, m; 0 where the case has no full film, nan where
        none could be told
    :param cases: the film of each case, of a perfect cylinder
    :param carried: share of the cases with a film
    :param broken: share of those without: broken, touching, or without clearance
    :param untold: share of those of which nobody can tell
    """

    least_film: Array
    cases: FilmCases
    carried: float
    broken: float
    untold: float


def film_distribution(
    bearing: Bearing,
    cycle: LoadCycle,
    doubt: FilmDoubt,
    *,
    seed: int,
    cases: int = 10_000,
    first: int = 0,
    pressure_load: Array | None = None,
    threads: int | None = None,
) -> FilmDistribution:
    """Return the least film over what is not known, by Monte Carlo.

    Case k takes its numbers from a counter at k, whoever draws it: any split into runs by `first`
    and any number of threads give the same bits. Viscosity is drawn as a logarithm. What of the
    expansion follows the oil supply moves with it.

    :param bearing: the best estimates
    :param cycle: the loads in the shell's frame
    :param doubt: the uncertainties, all independent
    :param seed: 0 or more
    :param cases: how many, 1 or more
    :param first: number of the first case
    :param pressure_load: part of the load that follows cylinder pressure, N, shape (n, 2)
    :param threads: as for `film_over_cases`
    :returns: the distribution
    :raises InputError: as `film_over_cases`; an uncertainty below zero, limits the wrong way round
    Source: JCGM 101:2008 for the method, 6.4.2 for the even clearance; numbers by Philox (Salmon et
    al., 2011) and Box-Muller.
    """
    _require_doubt(doubt)
    if seed < 0 or cases < 1 or first < 0:
        raise InputError("A Monte Carlo needs a seed of 0 or more and at least one case.")
    normal, even = _draws(seed, first, cases)
    if doubt.between is None:
        clearance = bearing.shape.diametral_clearance + doubt.clearance * normal[:, 0]
    else:
        low, high = doubt.between
        clearance = low + (high - low) * even[:, 1]
    supply = bearing.supply.temperature + doubt.supply_temperature * normal[:, 2]
    found = film_over_cases(
        bearing,
        cycle,
        clearance=np.maximum(clearance, _NOTHING),
        viscosity_factor=np.array([exp(doubt.viscosity * z) for z in normal[:, 1].tolist()]),
        supply_temperature=np.maximum(supply, _NOTHING),
        pressure_factor=np.maximum(1.0 + doubt.pressure * normal[:, 3], _NOTHING),
        pressure_load=pressure_load,
        threads=threads,
    )
    film = found.least_film - doubt.form * even[:, 0]
    none = np.isin(found.state, _WITHOUT) | (film <= bearing.roughness) | (clearance <= 0.0)
    film = np.where(none, 0.0, film)
    return FilmDistribution(
        least_film=film,
        cases=found,
        carried=float((film > 0.0).mean()),
        broken=float(none.mean()),
        untold=float(np.isnan(film).mean()),
    )


def _require_doubt(doubt: FilmDoubt) -> None:
    require_not_negative(
        clearance_uncertainty=doubt.clearance,
        form=doubt.form,
        viscosity_uncertainty=doubt.viscosity,
        temperature_uncertainty=doubt.supply_temperature,
        pressure_uncertainty=doubt.pressure,
    )
    if doubt.between is None:
        return
    low, high = doubt.between
    require_finite(least_clearance=low, greatest_clearance=high)
    if high < low:
        raise InputError("The limits of the clearance stand the wrong way round.")


def _draws(seed: int, first: int, cases: int) -> tuple[Array, Array]:
    """Return four normal numbers and two even ones for each case, from the counter of each."""
    generator = np.random.Generator(np.random.Philox(key=seed, counter=2 * first))
    even = generator.random((cases, 8))
    # Number by number with the C library: an array's own functions may differ in their last bit
    # with the place in the array.
    normal = np.array(
        [
            [
                size * way
                for u, v in ((row[0], row[1]), (row[2], row[3]))
                for size in (sqrt(-2.0 * log(1.0 - u)),)
                for way in (cos(2.0 * pi * v), sin(2.0 * pi * v))
            ]
            for row in even.tolist()
        ]
    )
    return normal, even[:, 4:6]
