"""Studies give the same bits whoever runs them, and go on where they were stopped."""

import gc
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import fields
from math import pi

import numpy as np
import pytest
from tests.engine_makers import six

from bedplate.engine import read_engine
from bedplate.physics.film import bearing_film
from bedplate.shop.duty.bearings import film_bearings, loads_at
from bedplate.shop.duty.check import duty_check
from bedplate.shop.duty.films import film_at
from bedplate.shop.duty.gas import pressure_at
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.study import (
    doubt_of,
    film_band,
    film_by_oil,
    film_study,
    spread_at_once,
    spread_of,
)
from bedplate.shop.duty.tasks import (
    TASK,
    FilmTask,
    GridTask,
    MonteCarloTask,
    film_of,
    run_study,
    run_task,
    task_name,
)
from bedplate.shop.duty.train import crank_train

SPEED = 6000 * pi / 30


class Backwards(Executor):
    """Runs what it is given when it is asked, the last first; counts what it ran."""

    def __init__(self):
        self.ran = 0

    def submit(self, function, /, *args, **kwargs):
        future = Future()
        self.ran += 1
        future.set_result(function(*args, **kwargs))
        return future


def joined(rows):
    return np.concatenate(rows)


@pytest.fixture(scope="module")
def setting():
    given = Given(read_engine(six()))
    train = crank_train(given)
    bearing = next(b for b in film_bearings(given) if b.id == "rod-1")
    _, loads, _ = loads_at(given, train, pressure_at(given, SPEED).traces, SPEED)
    return given, bearing, loads["rod-1"]


@pytest.fixture(scope="module")
def tasks(setting):
    given, bearing, load = setting
    doubt = doubt_of(given, bearing)
    return [
        MonteCarloTask(bearing.bearing, load.cycle, load.gas, doubt, 7, first, 8)
        for first in (0, 8, 16)
    ]


def test_any_executor_and_any_split_give_the_same_bits(tasks, setting):
    given, bearing, load = setting
    alone = np.concatenate([run_task(task) for task in tasks])
    with ThreadPoolExecutor(3) as pool:
        threads = run_study(tasks, executor=pool)
    whole = run_task(
        MonteCarloTask(bearing.bearing, load.cycle, load.gas, doubt_of(given, bearing), 7, 0, 24)
    )
    assert joined(run_study(tasks, executor=Backwards())).tobytes() == alone.tobytes()
    assert joined(threads).tobytes() == alone.tobytes()
    assert whole.tobytes() == alone.tobytes()


def test_processes_give_the_same_bits_too(tasks):
    alone = np.concatenate([run_task(task) for task in tasks])
    assert joined(run_study(tasks)).tobytes() == alone.tobytes()


def test_what_is_done_is_not_done_again(tasks, tmp_path):
    first, then = Backwards(), Backwards()
    half = run_study(tasks[:2], executor=first, folder=tmp_path)
    steps = []
    whole = run_study(
        tasks, executor=then, folder=tmp_path, progress=lambda done, of: steps.append((done, of))
    )
    assert (first.ran, then.ran) == (2, 1)
    assert steps == [(2, 3), (3, 3)]
    assert joined(whole[:2]).tobytes() == joined(half).tobytes()
    (tmp_path / f"{task_name(tasks[0])}.npy").write_bytes(b"half a file")
    again = run_study(tasks, executor=then, folder=tmp_path)
    assert joined(again).tobytes() == joined(whole).tobytes()


def test_another_task_has_another_name(tasks, setting):
    _, bearing, load = setting
    clearances = np.array([3.8e-5, 4.8e-5])
    warm = np.full(2, 380.0)
    grid = GridTask(bearing.bearing, load.cycle, clearances, warm)
    other = GridTask(bearing.bearing, load.cycle, clearances + 1e-9, warm)
    assert len({task_name(task) for task in (*tasks, grid, other)}) == 5
    rows = run_study([grid], executor=Backwards())[0]
    assert rows.shape == grid.shape


def test_a_distribution_is_more_than_one_number(setting):
    given = setting[0]
    with ThreadPoolExecutor(2) as pool:
        study = film_study(given, "rod-1", [SPEED], band=True, cases=64, executor=pool)
    spread, band = study.spread, study.band
    assert spread.low <= spread.middle <= spread.high
    assert spread.films.size == 64
    assert band.lowest <= band.best_clearance <= band.highest


def test_a_band_is_cut_for_an_executor_too_and_found_again(setting, tmp_path):
    given, bearing, load = setting
    least = film_at(bearing, load)
    whole = film_band(given, least)
    first, again = Backwards(), Backwards()
    cut = film_band(given, least, executor=first, folder=tmp_path)
    found = film_band(given, least, executor=again, folder=tmp_path)
    assert (first.ran, again.ran) == (4, 0)
    for one in (cut, found):
        assert one.clearance.tobytes() == whole.clearance.tobytes()
        for field in fields(whole.cases):
            ours, theirs = (getattr(band.cases, field.name) for band in (one, whole))
            assert ours.tobytes() == theirs.tobytes(), field.name
        assert (one.lowest, one.best_clearance) == (whole.lowest, whole.best_clearance)


def test_a_film_comes_back_from_its_task_to_the_bit(setting):
    _, bearing, load = setting
    task = FilmTask(bearing.bearing, load.cycle)
    whole, row = bearing_film(bearing.bearing, load.cycle), run_task(task)
    assert row.shape == task.shape
    for field in fields(whole):
        one, other = getattr(film_of(row[0]), field.name), getattr(whole, field.name)
        assert np.array_equal(one, other, equal_nan=isinstance(other, float)), field.name


def test_the_duty_table_runs_on_any_executor_and_goes_on_where_it_was_stopped(tmp_path):
    given, speeds, steps = Given(read_engine(six())), (0.5 * SPEED, SPEED), []
    plain = duty_check(given, speeds)
    first, again = Backwards(), Backwards()
    half = duty_check(given, speeds[:1], executor=first, folder=tmp_path)
    whole = duty_check(given, speeds, progress=lambda done, of: steps.append((done, of)),
                       executor=again, folder=tmp_path)  # fmt: skip
    count = len(plain.rows[0].films)
    assert (first.ran, again.ran) == (count, count)
    assert steps[0] == (count, 2 * count)
    assert steps[-1] == (2 * count, 2 * count)
    assert [row.why for row in whole.rows] == [row.why for row in plain.rows]
    assert half.rows[0].why == plain.rows[0].why
    for one, other in zip(whole.rows[1].films, plain.rows[1].films, strict=True):
        assert one.film.position.tobytes() == other.film.position.tobytes()


def test_other_oils_are_looked_at_by_the_executor(setting):
    given, bearing, load = setting
    runs = Backwards()
    least = film_at(bearing, load)
    cut = film_by_oil(given, least, ("0W-20", "20W-50"), executor=runs)
    plain = film_by_oil(given, least, ("0W-20", "20W-50"))
    assert runs.ran == 2
    assert [one.film.least_film for _, one in cut] == [one.film.least_film for _, one in plain]


class Stopped(Executor):
    """Runs two tasks, then a key is pressed; says what was taken back."""

    def __init__(self):
        self.given = []

    def submit(self, function, /, *args, **kwargs):
        future = Future()
        self.given.append(future)
        if len(self.given) <= 2:
            future.set_result(function(*args, **kwargs))
        return future


def test_what_is_done_when_it_is_stopped_is_kept(tasks, tmp_path):
    runs = Stopped()

    def press(done, _):
        if done:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_study(tasks, executor=runs, folder=tmp_path, progress=press)
    assert runs.given[2].cancelled()
    kept = {path.stem for path in tmp_path.glob("*.npy")}
    assert kept == {task_name(task) for task in tasks[:2]}


@pytest.fixture
def heard_key():
    """Let a child hear the key, even where these tests were started deaf to it."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("heard_key")
def test_a_key_ends_a_long_study_soon_and_what_is_done_is_found_again(tmp_path):
    engine = tmp_path / "six.toml"
    engine.write_text(six(), "utf-8")
    command = ["film", str(engine), "rod-1", "--speed", "6000 rpm", "--cases", "400000"]
    words = [sys.executable, "-m", "bedplate.cli", "--data", str(tmp_path), *command]
    # As from a terminal: the key reaches everyone in its group.
    process = subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    kept = tmp_path / "studies"
    deadline = time.monotonic() + 120
    while len(list(kept.glob("[0-9a-f]*.npy"))) < 8:
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < deadline
        time.sleep(0.05)
    os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=120)
    assert process.returncode == 130
    assert said.strip().endswith("the same command goes on from there.")
    assert "Traceback" not in said
    shapes = [np.load(path).shape for path in kept.glob("[0-9a-f]*.npy")]
    # The film itself, four parts of the band, and what was done of the cases.
    assert 8 <= len(shapes) < 400_000 // TASK // 2
    assert shapes.count((TASK, 4)) == len(shapes) - 5


@pytest.fixture
def cluster_client(tmp_path):
    """Return a client of two worker processes, however long a busy machine takes to start them."""
    distributed = pytest.importorskip("distributed", reason="the extra [cluster] is not installed")
    import dask

    patience = {
        "distributed.comm.timeouts.connect": "120s",
        "distributed.comm.timeouts.tcp": "120s",
        "distributed.deploy.lost-worker-timeout": "120s",
    }
    with (
        dask.config.set(patience),
        distributed.LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            processes=True,
            host="127.0.0.1",
            dashboard_address=None,
            memory_limit=0,  # Else a worker is ended where others fill the memory.
            local_directory=str(tmp_path),
        ) as cluster,
        distributed.Client(cluster, timeout=120) as client,
    ):
        client.wait_for_workers(2, timeout=120)
        yield client
    gc.collect()  # What it leaves open warns here, not in another test.


@pytest.mark.filterwarnings("ignore")
def test_a_cluster_of_two_gives_the_same_bits(tasks, cluster_client):
    alone = np.concatenate([run_task(task) for task in tasks])
    found = run_study(tasks, executor=cluster_client.get_executor())
    ran = cluster_client.run(os.getpid)
    assert len(set(ran.values()) - {os.getpid()}) == 2
    assert joined(found).tobytes() == alone.tobytes()


def test_threads_of_a_page_give_the_same_bits(setting):
    given, bearing, load = setting
    page = spread_at_once(given, bearing, load, 24, seed=7)
    study = spread_of(given, bearing, load, 24, seed=7, executor=Backwards())
    assert page.films.tobytes() == study.films.tobytes()
