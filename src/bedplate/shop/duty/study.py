"""Studies of one bearing: at its speeds, against clearance, and over what is not known.

Each is cut into tasks for any executor, and goes on where it was stopped.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from math import nan
from pathlib import Path

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import Array
from bedplate.physics.clearance_band import ClearanceBand, closed_band
from bedplate.physics.film import STATES, FilmCases, film_over_cases, require_bearing
from bedplate.physics.film_spread import FilmDoubt, film_distribution
from bedplate.shop.duty.bearings import (
    AS_IT_IS,
    BearingLoad,
    Choice,
    FilmBearing,
    film_bearings,
    loads_at,
)
from bedplate.shop.duty.films import FilmAt, films_of, in_need, wrong_with
from bedplate.shop.duty.gas import Pressures
from bedplate.shop.duty.given import Given, How
from bedplate.shop.duty.tasks import (
    GRID,
    TASK,
    GridTask,
    MonteCarloTask,
    Progress,
    cases_of,
    run_study,
)
from bedplate.shop.duty.train import crank_train

_SHARES = (0.025, 0.5, 0.975)
_WIDEST = 1.5
"""The clearances tried first reach so far beyond limits and value, as a factor."""
_LEAST = 2e-6
"""m: no clearance is tried below."""


@dataclass(frozen=True, slots=True)
class Distribution:
    """The least film as a distribution, not one number.

    :param films: of every case, m; 0 where there is no full film, nan where nobody can tell
    :param carried: share of the cases with a film
    :param broken: share of those without
    :param untold: (state, share) of those of which nobody can tell, the commonest first
    :param carried_on: share with a film hotter than the oil's data, by their line carried on
    :param low: the film that 2.5 % of the cases told stay under, m; then the median, and 97.5 %;
        nan where none is told
    """

    films: Array
    carried: float
    broken: float
    untold: tuple[tuple[str, float], ...]
    carried_on: float
    low: float
    middle: float
    high: float
    doubt: FilmDoubt


@dataclass(frozen=True, slots=True)
class FilmStudy:
    """One bearing, looked at closely.

    :param rows: (speed in rad/s, its film)
    :param worst: speed at which there is no film, else that of the least one, rad/s
    :param least: the film there
    :param band: film over clearance at that speed; None where not asked for
    :param spread: the film there as a distribution; None where not asked for
    """

    bearing: FilmBearing
    rows: tuple[tuple[float, FilmAt], ...]
    worst: float
    least: FilmAt
    band: ClearanceBand | None
    spread: Distribution | None


def film_study(
    given: Given,
    bearing: str,
    speeds: Sequence[float],
    choice: Choice = AS_IT_IS,
    *,
    band: bool = False,
    cases: int = 0,
    seed: int = 1,
    executor: Executor | None = None,
    folder: Path | None = None,
    progress: Progress | None = None,
) -> FilmStudy:
    """Return one bearing at its speeds; at the worst of them against clearance, and spread.

    :param bearing: 'rod-5'; '' for the one with the least film
    :param speeds: rad/s
    :param cases: of the Monte Carlo; 0 for none
    :param executor: of all; None: the Monte Carlo by processes of this machine, the rest here
    :param folder: where what is done is kept, and found again; None: nowhere
    :param progress: told how many tasks of how many are done, of the band, then of the Monte Carlo
    :raises InputError: there is no such bearing, or the file does not give what it needs
    """
    train = crank_train(given)
    every = film_bearings(given, choice)
    wanted = [one for one in every if not bearing or one.id == bearing]
    if not wanted:
        raise InputError(f"There is no bearing '{bearing[:40]}'.")
    every_speed: list[tuple[float, FilmBearing, BearingLoad]] = []
    pressures = Pressures(given)
    for speed in speeds:
        _, loads, _ = loads_at(given, train, pressures.at(speed).traces, speed)
        every_speed += [(speed, one, loads[one.id]) for one in wanted]
    films = films_of(
        [(one, load) for _, one, load in every_speed], executor=executor, folder=folder
    )
    rows = [(speed, film) for (speed, *_), film in zip(every_speed, films, strict=True)]
    least = in_need(films)
    if least is None:
        raise InputError("A film needs one speed at least.")
    worst = next(speed for speed, film in rows if film is least)
    own = tuple((speed, film) for speed, film in rows if film.bearing.id == least.bearing.id)
    return FilmStudy(
        bearing=least.bearing,
        rows=own,
        worst=worst,
        least=least,
        band=film_band(given, least, executor=executor, folder=folder, progress=progress)
        if band
        else None,
        spread=spread_of(given, least.bearing, least.load, cases, seed=seed, executor=executor,
                         folder=folder, progress=progress) if cases else None,
    )  # fmt: skip


def film_band(
    given: Given,
    one: FilmAt,
    steps: int = 31,
    *,
    executor: Executor | None = None,
    folder: Path | None = None,
    progress: Progress | None = None,
) -> ClearanceBand:
    """Return the film over the range of clearance around limits and value, till its band closes.

    What was added to try it does not move the range: it is the bearing's own.

    :param executor: None: threads of this process, or one after the other where there is a folder
    :param folder, progress: as for `film_study`
    """
    value = one.bearing.clearance.value
    limits = given.engine.fits[one.bearing.fit].limits[0].range
    known = [size for size in (limits.low, limits.high, value) if size is not None and size > 0]
    low, high = (min(known), max(known)) if known else (_LEAST, 2 * _LEAST)
    lowest, highest, cycle = max(low / _WIDEST, _LEAST), high * _WIDEST, one.load.cycle
    bearing = one.bearing.bearing
    # Its own clearance is not used but has to be one, and the same whatever was added.
    own = value if value > 0 else lowest
    bearing = replace(bearing, shape=replace(bearing.shape, diametral_clearance=own))
    here = executor is None and folder is None

    def solve(tried: Array) -> FilmCases:
        if here:
            return film_over_cases(bearing, cycle, clearance=tried)
        supply = np.full(tried.size, bearing.supply.temperature)
        tasks = [
            GridTask(bearing, cycle, tried[first : first + GRID], supply[first : first + GRID])
            for first in range(0, tried.size, GRID)
        ]
        rows = run_study(tasks, executor=executor, here=True, folder=folder, progress=progress)
        return cases_of(np.concatenate(rows))

    return closed_band(solve, np.linspace(lowest, highest, steps))


def film_by_oil(
    given: Given,
    one: FilmAt,
    grades: Sequence[str],
    choice: Choice = AS_IT_IS,
    *,
    executor: Executor | None = None,
    folder: Path | None = None,
) -> tuple[tuple[str, FilmAt], ...]:
    """Return the film of one bearing under the same load with other oils.

    :param grades: SAE J300 grades
    :param executor, folder: as for `films_of`
    """
    others = [_other(given, one, replace(choice, oil=grade)) for grade in grades]
    return tuple(zip(grades, films_of(others, executor=executor, folder=folder), strict=True))


def _other(given: Given, one: FilmAt, choice: Choice) -> tuple[FilmBearing, BearingLoad]:
    """Return the same bearing under the same load with another choice."""
    bearings = film_bearings(given, choice)
    return next(bearing for bearing in bearings if bearing.id == one.bearing.id), one.load


def film_by_temperature(
    given: Given,
    one: FilmAt,
    temperatures: Sequence[float],
    choice: Choice = AS_IT_IS,
    *,
    executor: Executor | None = None,
    folder: Path | None = None,
) -> tuple[tuple[float, FilmAt], ...]:
    """Return the film of one bearing under the same load with oil of other temperatures.

    :param temperatures: of the oil supplied, K
    :param executor, folder: as for `films_of`
    """
    others = [_other(given, one, replace(choice, temperature=warm)) for warm in temperatures]
    films = films_of(others, executor=executor, folder=folder)
    return tuple(zip(temperatures, films, strict=True))


def doubt_of(given: Given, bearing: FilmBearing) -> FilmDoubt:
    """Return how well the things are known on which a film depends.

    A clearance that was measured is normal with its uncertainty; one that was not lies anywhere
    within its limits, one as likely as another.
    """
    duty = given.duty
    between = None
    if bearing.clearance.how is not How.MEASURED and bearing.clearance.standard:
        limits = given.engine.fits[bearing.fit].limits[0].range
        added = bearing.bearing.shape.diametral_clearance - bearing.clearance.value
        if limits.low is not None and limits.high is not None:
            between = (limits.low + added, limits.high + added)
    return FilmDoubt(
        clearance=bearing.clearance.standard,
        between=between,
        form=_form(given, bearing),
        viscosity=duty.value("oil.viscosity_uncertainty", 0.1),
        supply_temperature=duty.value("oil.temperature_uncertainty", 5.0),
        pressure=duty.value("combustion.uncertainty", 0.1),
    )


def span_of(given: Given, bearing: FilmBearing) -> tuple[float, float]:
    """Return between which clearances a bearing's lies, m; a measured one by its ±U."""
    between = doubt_of(given, bearing).between
    if between is not None:
        return between
    value = bearing.bearing.shape.diametral_clearance
    expanded = given.engine.measuring.coverage * bearing.clearance.standard
    return value - expanded, value + expanded


def _form(given: Given, bearing: FilmBearing) -> float:
    """Return half of what least and greatest measured clearance differ by, on the radius."""
    state = given.state.fits.get(bearing.fit) if given.state is not None else None
    if state is None or state.least is None or state.greatest is None or state.stale:
        return 0.0
    return max(0.0, state.greatest - state.least) / 4


def spread_of(
    given: Given,
    bearing: FilmBearing,
    load: BearingLoad,
    cases: int,
    *,
    seed: int = 1,
    executor: Executor | None = None,
    folder: Path | None = None,
    progress: Progress | None = None,
) -> Distribution:
    """Return the least film of one bearing over what is not known of it.

    :param cases: how many, 1 or more
    :raises InputError: the bearing cannot be, with its name
    """
    try:
        require_bearing(bearing.bearing)
    except InputError as error:
        raise InputError(wrong_with(bearing, error), hint=error.hint) from error
    doubt = doubt_of(given, bearing)
    tasks = [
        MonteCarloTask(
            bearing.bearing, load.cycle, load.gas, doubt, seed, first, min(TASK, cases - first)
        )
        for first in range(0, cases, TASK)
    ]
    rows = run_study(tasks, executor=executor, folder=folder, progress=progress)
    found = np.concatenate(rows)
    return _distribution(bearing, found[:, 0], found[:, 1], found[:, 3], doubt)


def spread_at_once(
    given: Given, bearing: FilmBearing, load: BearingLoad, cases: int, *, seed: int = 1
) -> Distribution:
    """Return what `spread_of` does, to the bit, by threads of this process: for a page.

    :param cases: how many, 1 or more
    """
    doubt = doubt_of(given, bearing)
    found = film_distribution(
        bearing.bearing, load.cycle, doubt, seed=seed, cases=cases, pressure_load=load.gas
    )
    every = found.cases
    return _distribution(
        bearing, found.least_film, every.film_temperature, every.state.astype(np.float64), doubt
    )


def _distribution(
    bearing: FilmBearing, films: Array, temperature: Array, states: Array, doubt: FilmDoubt
) -> Distribution:
    told = films[~np.isnan(films)]
    low, middle, high = (
        float(np.quantile(told, share)) if told.size else nan for share in _SHARES
    )  # fmt: skip
    found = Counter(STATES[int(place)] for place in states[np.isnan(films)].tolist())
    hot = (films > 0) & (temperature > bearing.bearing.oil.told)
    return Distribution(
        films=films,
        carried=float((films > 0).mean()),
        broken=float((films == 0).mean()),
        untold=tuple((state, count / films.size) for state, count in found.most_common()),
        carried_on=float(hot.mean()),
        low=low,
        middle=middle,
        high=high,
        doubt=doubt,
    )
