"""Studies of one bearing: at its speeds, against clearance, and over what is not known.

A study is cut into tasks that do not know of each other. Any executor may run them, in any order;
each task's numbers depend on nothing but the task, so the result is the same to the bit. What is
done is kept in a folder, named by what the task is, and not done again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed
from dataclasses import dataclass, fields, is_dataclass, replace
from multiprocessing import get_context
from os import cpu_count, getpid
from pathlib import Path

import numpy as np

from bedplate.errors import InputError, StorageError
from bedplate.physics.checks import Array
from bedplate.physics.film import (
    Bearing,
    ClearanceBand,
    FilmDoubt,
    clearance_band,
    film_distribution,
    film_over_cases,
)
from bedplate.physics.mobility import LoadCycle
from bedplate.shop.duty.bearings import (
    AS_IT_IS,
    BearingLoad,
    Choice,
    FilmBearing,
    film_bearings,
    loads_at,
)
from bedplate.shop.duty.films import FilmAt, film_at, in_need
from bedplate.shop.duty.gas import Pressures
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.train import crank_train

TASK = 1000
"""Cases of one task: a second or so of one core."""

_SHARES = (0.025, 0.5, 0.975)
_WIDEST = 1.5
"""The band of clearance tried reaches so far beyond limits and value, as a factor."""

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class MonteCarloTask:
    """Cases `first` to `first + cases` of a Monte Carlo of one bearing."""

    bearing: Bearing
    cycle: LoadCycle
    gas: Array
    doubt: FilmDoubt
    seed: int
    first: int
    cases: int

    def run(self) -> Array:
        """Return least film, film temperature, peak pressure and state of each case."""
        found = film_distribution(
            self.bearing, self.cycle, self.doubt, seed=self.seed, first=self.first,
            cases=self.cases, pressure_load=self.gas, threads=1,
        )  # fmt: skip
        cases = found.cases
        return np.column_stack(
            [found.least_film, cases.film_temperature, cases.peak_pressure, cases.state]
        )


@dataclass(frozen=True, slots=True)
class GridTask:
    """Cases of one bearing that are given one by one.

    :param clearance: diametral at 20 °C, m, shape (cases,)
    :param supply_temperature: K, shape (cases,)
    """

    bearing: Bearing
    cycle: LoadCycle
    clearance: Array
    supply_temperature: Array

    def run(self) -> Array:
        """Return least film, film temperature, peak pressure and state of each case."""
        cases = film_over_cases(
            self.bearing, self.cycle, clearance=self.clearance,
            supply_temperature=self.supply_temperature, threads=1,
        )  # fmt: skip
        return np.column_stack(
            [cases.least_film, cases.film_temperature, cases.peak_pressure, cases.state]
        )


Task = MonteCarloTask | GridTask


def run_task(task: Task) -> Array:
    """Run one task; what an executor is given."""
    return task.run()


def run_study(
    tasks: Sequence[Task],
    *,
    executor: Executor | None = None,
    folder: Path | None = None,
    progress: Progress | None = None,
) -> Array:
    """Return the rows of all tasks in their order, whoever ran them.

    :param executor: None: processes on this machine, as many as it has cores
    :param folder: where what is done is kept, and found again; None: nowhere
    :param progress: told how many tasks of how many are done
    :raises StorageError: the folder cannot be written
    """
    kept = [_read(folder, task) for task in tasks]
    missing = [place for place, rows in enumerate(kept) if rows is None]
    if progress is not None:
        progress(len(tasks) - len(missing), len(tasks))
    if missing:
        if executor is None:
            with _processes(len(missing)) as own:
                _run(tasks, missing, kept, own, folder, progress)
        else:
            _run(tasks, missing, kept, executor, folder, progress)
    return np.concatenate([rows for rows in kept if rows is not None])


def _processes(tasks: int) -> ProcessPoolExecutor:
    workers = max(1, min(cpu_count() or 1, tasks))
    return ProcessPoolExecutor(workers, mp_context=get_context("spawn"))


def _run(
    tasks: Sequence[Task],
    missing: Sequence[int],
    kept: list[Array | None],
    executor: Executor,
    folder: Path | None,
    progress: Progress | None,
) -> None:
    waiting: dict[Future[Array], int] = {
        executor.submit(run_task, tasks[place]): place for place in missing
    }
    done = len(tasks) - len(missing)
    for future in as_completed(waiting):
        place = waiting[future]
        kept[place] = future.result()
        _write(folder, tasks[place], future.result())
        done += 1
        if progress is not None:
            progress(done, len(tasks))


def task_name(task: Task) -> str:
    """Return the name under which a task's rows are kept: a hash of all that it is."""
    digest = hashlib.sha256(b"film study 1")
    _feed(digest, task)
    return digest.hexdigest()[:32]


def _feed(digest: hashlib._Hash, part: object) -> None:
    if is_dataclass(part) and not isinstance(part, type):
        digest.update(type(part).__name__.encode())
        for field in fields(part):
            digest.update(field.name.encode())
            _feed(digest, getattr(part, field.name))
    elif isinstance(part, np.ndarray):
        digest.update(repr(part.shape).encode())
        digest.update(np.ascontiguousarray(part, np.float64).tobytes())
    else:
        digest.update(repr(part).encode())


def _read(folder: Path | None, task: Task) -> Array | None:
    if folder is None:
        return None
    try:
        found: Array = np.load(folder / f"{task_name(task)}.npy", allow_pickle=False)
    except (OSError, ValueError):
        return None
    return found if found.ndim == 2 and found.shape[1] == 4 else None


def _write(folder: Path | None, task: Task, rows: Array) -> None:
    if folder is None:
        return
    name = folder / f"{task_name(task)}.npy"
    half = folder / f".{name.name}.{getpid()}.part"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with half.open("wb") as file:
            np.save(file, rows, allow_pickle=False)
        half.replace(name)
    except OSError as error:
        half.unlink(missing_ok=True)
        reason = (error.strerror or "unknown reason").lower()
        raise StorageError(f"What the study found cannot be kept: {reason}.") from error


@dataclass(frozen=True, slots=True)
class Distribution:
    """The least film as a distribution, not one number.

    :param films: of every case, m; 0 where the film breaks down
    :param carried: share of the cases with a film
    :param low: the film that 2.5 % of the cases stay under, m; then the median, and 97.5 %
    """

    films: Array
    carried: float
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
    :raises InputError: there is no such bearing, or the file does not give what it needs
    """
    train = crank_train(given)
    every = film_bearings(given, choice)
    wanted = [one for one in every if not bearing or one.id == bearing]
    if not wanted:
        raise InputError(f"There is no bearing '{bearing[:40]}'.")
    rows: list[tuple[float, FilmAt]] = []
    pressures = Pressures(given)
    for speed in speeds:
        _, loads, _ = loads_at(given, train, pressures.at(speed).traces, speed)
        rows += [(speed, film_at(one, loads[one.id])) for one in wanted]
    least = in_need([film for _, film in rows])
    if least is None:
        raise InputError("A film needs one speed at least.")
    worst = next(speed for speed, film in rows if film is least)
    own = tuple((speed, film) for speed, film in rows if film.bearing.id == least.bearing.id)
    return FilmStudy(
        bearing=least.bearing,
        rows=own,
        worst=worst,
        least=least,
        band=film_band(given, least) if band else None,
        spread=spread_of(given, least.bearing, least.load, cases, seed=seed, executor=executor,
                         folder=folder, progress=progress) if cases else None,
    )  # fmt: skip


def film_band(given: Given, one: FilmAt, steps: int = 31) -> ClearanceBand:
    """Return the film over the range of clearance around limits and value."""
    value = one.bearing.bearing.shape.diametral_clearance
    fit = given.engine.fits[one.bearing.fit]
    limits = fit.limits[0].range
    low = min(limits.low or value, value)
    high = max(limits.high or value, value)
    lowest = max(low / _WIDEST, 0.1 * value, 2e-6)
    return clearance_band(one.bearing.bearing, one.load.cycle, lowest, high * _WIDEST, steps=steps)


def film_by_oil(
    given: Given, one: FilmAt, grades: Sequence[str], choice: Choice = AS_IT_IS
) -> tuple[tuple[str, FilmAt], ...]:
    """Return the film of one bearing under the same load with other oils.

    :param grades: SAE J300 grades
    """
    found = []
    for grade in grades:
        bearings = film_bearings(given, replace(choice, oil=grade))
        other = next(bearing for bearing in bearings if bearing.id == one.bearing.id)
        found.append((grade, film_at(other, one.load)))
    return tuple(found)


def film_by_temperature(
    given: Given, one: FilmAt, temperatures: Sequence[float], choice: Choice = AS_IT_IS
) -> tuple[tuple[float, FilmAt], ...]:
    """Return the film of one bearing under the same load with oil of other temperatures.

    :param temperatures: of the oil supplied, K
    """
    found = []
    for warm in temperatures:
        bearings = film_bearings(given, replace(choice, temperature=warm))
        other = next(bearing for bearing in bearings if bearing.id == one.bearing.id)
        found.append((warm, film_at(other, one.load)))
    return tuple(found)


def doubt_of(given: Given, bearing: FilmBearing) -> FilmDoubt:
    """Return how well the things are known on which a film depends."""
    duty = given.duty
    return FilmDoubt(
        clearance=bearing.clearance.standard,
        form=_form(given, bearing),
        viscosity=duty.value("oil.viscosity_uncertainty", 0.1),
        supply_temperature=duty.value("oil.temperature_uncertainty", 5.0),
        pressure=duty.value("combustion.uncertainty", 0.1),
    )


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
    """
    doubt = doubt_of(given, bearing)
    tasks = [
        MonteCarloTask(
            bearing.bearing, load.cycle, load.gas, doubt, seed, first, min(TASK, cases - first)
        )
        for first in range(0, cases, TASK)
    ]
    rows = run_study(tasks, executor=executor, folder=folder, progress=progress)
    return _distribution(rows[:, 0], doubt)


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
    return _distribution(found.least_film, doubt)


def _distribution(films: Array, doubt: FilmDoubt) -> Distribution:
    low, middle, high = (float(np.quantile(films, share)) for share in _SHARES)
    return Distribution(films, float((films > 0).mean()), low, middle, high, doubt)
