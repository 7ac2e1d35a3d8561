"""Studies cut into tasks that do not know of each other, and what runs and keeps them.

Any executor may run them, in any order; each task's numbers depend on nothing but the task, so the
result is the same to the bit. What is done is kept in a folder, named by what the task is, and not
done again; what is stopped goes on from there.
"""

from __future__ import annotations

import hashlib
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed, wait
from contextlib import contextmanager, suppress
from dataclasses import dataclass, fields, is_dataclass
from multiprocessing import active_children, get_context
from os import cpu_count, getpid
from pathlib import Path

import numpy as np

from bedplate.errors import StorageError
from bedplate.physics.checks import Array
from bedplate.physics.film import (
    STATES,
    Bearing,
    BearingFilm,
    FilmCases,
    bearing_film,
    film_over_cases,
)
from bedplate.physics.film_spread import FilmDoubt, film_distribution
from bedplate.physics.mobility import LoadCycle

TASK = 500
"""Cases of one task: half a second or so of one core, so that little is lost when a study stops."""
GRID = 8
"""Cases of one task of a grid."""
_PATIENCE = 1.0
"""s: what runs when a study is stopped may end within this, and is kept."""
_PATHS = frozenset({"position", "film"})

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

    @property
    def shape(self) -> tuple[int, int]:
        """Return the shape of the rows."""
        return self.cases, 4

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

    @property
    def shape(self) -> tuple[int, int]:
        """Return the shape of the rows."""
        return self.clearance.size, len(fields(FilmCases))

    def run(self) -> Array:
        """Return what `FilmCases` holds of each case, in its order."""
        cases = film_over_cases(
            self.bearing, self.cycle, clearance=self.clearance,
            supply_temperature=self.supply_temperature, threads=1,
        )  # fmt: skip
        return np.column_stack([getattr(cases, field.name) for field in fields(FilmCases)])


@dataclass(frozen=True, slots=True)
class FilmTask:
    """The whole film of one bearing under one load: a cell of a duty table, or of a comparison."""

    bearing: Bearing
    cycle: LoadCycle

    @property
    def shape(self) -> tuple[int, int]:
        """Return the shape of the rows."""
        return 1, len(fields(BearingFilm)) - len(_PATHS) + 3 * self.cycle.load.shape[0]

    def run(self) -> Array:
        """Return the figures of the film in a row, then orbit and film over the cycle."""
        found = bearing_film(self.bearing, self.cycle)
        figures = [
            float(STATES.index(found.state))
            if field.name == "state"
            else getattr(found, field.name)
            for field in fields(BearingFilm)
            if field.name not in _PATHS
        ]
        return np.concatenate([figures, found.position.ravel(), found.film])[np.newaxis]


Task = MonteCarloTask | GridTask | FilmTask


def cases_of(rows: Array) -> FilmCases:
    """Return the cases of grid tasks from their rows."""
    columns = {
        field.name: np.ascontiguousarray(rows[:, place])
        for place, field in enumerate(fields(FilmCases))
    }
    state = columns.pop("state").astype(np.int64)
    return FilmCases(state=state, **columns)


def film_of(row: Array) -> BearingFilm:
    """Return the film of a film task from its row."""
    names = [field.name for field in fields(BearingFilm) if field.name not in _PATHS]
    figures = dict(zip(names, row[: len(names)].tolist(), strict=True))
    paths = row[len(names) :]
    steps = paths.size // 3
    return BearingFilm(
        **{**figures, "state": STATES[int(figures["state"])]},
        position=np.ascontiguousarray(paths[: 2 * steps]).reshape(steps, 2),
        film=np.ascontiguousarray(paths[2 * steps :]),
    )


def run_task(task: Task) -> Array:
    """Run one task; what an executor is given."""
    return task.run()


def run_study(
    tasks: Sequence[Task],
    *,
    executor: Executor | None = None,
    here: bool = False,
    folder: Path | None = None,
    progress: Progress | None = None,
) -> list[Array]:
    """Return the rows of each task in their order, whoever ran them.

    Stopped by a key or an error it asks no more of the executor, waits a second for what runs,
    keeps what is done and passes on what stopped it.

    :param executor: None: processes on this machine, as many as it has cores
    :param here: without an executor one after the other in this process: a few tasks are done
        before processes have begun
    :param folder: where what is done is kept, and found again; None: nowhere
    :param progress: told how many tasks of how many are done
    :raises StorageError: the folder cannot be written
    """
    kept = [_read(folder, task) for task in tasks]
    missing = [place for place, rows in enumerate(kept) if rows is None]
    if progress is not None:
        progress(len(tasks) - len(missing), len(tasks))
    if missing and executor is None and here:
        _run_here(tasks, missing, kept, folder, progress)
    elif missing and executor is None:
        with _processes(len(missing)) as own:
            _run(tasks, missing, kept, own, folder, progress)
    elif executor is not None:
        _run(tasks, missing, kept, executor, folder, progress)
    return [rows for rows in kept if rows is not None]


class _Own(ProcessPoolExecutor):
    """Processes of our own, which end with the study."""


@contextmanager
def _processes(tasks: int) -> Iterator[Executor]:
    """Open processes of this machine; stopped, those that do not end soon are ended."""
    before = set(active_children())
    workers = max(1, min(cpu_count() or 1, tasks))
    own = _Own(workers, mp_context=get_context("spawn"))
    try:
        with _without_interrupts():
            for _ in range(workers):
                own.submit(int)  # Each begins with a call for which none is free.
        yield own
    except BaseException:
        # Not called off first: a task that was cannot be told that its process has gone.
        for process in set(active_children()) - before:
            process.terminate()
        own.shutdown(wait=False)
        raise
    own.shutdown()


@contextmanager
def _without_interrupts() -> Iterator[None]:
    """Let processes begin that a key does not stop: whoever began them ends them."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    usual = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual)


def _run_here(
    tasks: Sequence[Task],
    missing: Sequence[int],
    kept: list[Array | None],
    folder: Path | None,
    progress: Progress | None,
) -> None:
    done = len(tasks) - len(missing)
    for number, place in enumerate(missing, 1):
        rows = kept[place] = tasks[place].run()
        _write(folder, tasks[place], rows)
        if progress is not None:
            progress(done + number, len(tasks))


def _run(
    tasks: Sequence[Task],
    missing: Sequence[int],
    kept: list[Array | None],
    executor: Executor,
    folder: Path | None,
    progress: Progress | None,
) -> None:
    waiting: dict[Future[Array], int] = {}
    done = len(tasks) - len(missing)
    try:
        for place in missing:
            waiting[executor.submit(run_task, tasks[place])] = place
        for future in as_completed(waiting):
            place = waiting[future]
            kept[place] = future.result()
            _write(folder, tasks[place], future.result())
            done += 1
            if progress is not None:
                progress(done, len(tasks))
    except BaseException:
        if not isinstance(executor, _Own):
            for future in waiting:
                future.cancel()
        _keep_what_is_done(tasks, waiting, kept, folder)
        raise


def _keep_what_is_done(
    tasks: Sequence[Task],
    waiting: dict[Future[Array], int],
    kept: list[Array | None],
    folder: Path | None,
) -> None:
    running = [future for future in waiting if future.running()]
    with suppress(KeyboardInterrupt):
        wait(running, timeout=_PATIENCE)
    for future, place in waiting.items():
        ended = future.done() and not future.cancelled() and future.exception() is None
        if ended and kept[place] is None:
            with suppress(StorageError):
                _write(folder, tasks[place], future.result())


def task_name(task: Task) -> str:
    """Return the name under which a task's rows are kept: a hash of all that it is."""
    digest = hashlib.sha256(b"film study 3")
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
    return found if found.shape == task.shape else None


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
