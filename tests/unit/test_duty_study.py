"""Studies give the same bits whoever runs them, and go on where they were stopped."""

import gc
import os
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from math import pi

import numpy as np
import pytest
from tests.engine_makers import six

from bedplate.engine import read_engine
from bedplate.shop.duty.bearings import film_bearings, loads_at
from bedplate.shop.duty.gas import pressure_at
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.study import (
    GridTask,
    MonteCarloTask,
    doubt_of,
    film_study,
    run_study,
    run_task,
    spread_at_once,
    spread_of,
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
    assert run_study(tasks, executor=Backwards()).tobytes() == alone.tobytes()
    assert threads.tobytes() == alone.tobytes()
    assert whole.tobytes() == alone.tobytes()


def test_processes_give_the_same_bits_too(tasks):
    alone = np.concatenate([run_task(task) for task in tasks])
    assert run_study(tasks).tobytes() == alone.tobytes()


def test_what_is_done_is_not_done_again(tasks, tmp_path):
    first, then = Backwards(), Backwards()
    half = run_study(tasks[:2], executor=first, folder=tmp_path)
    steps = []
    whole = run_study(
        tasks, executor=then, folder=tmp_path, progress=lambda done, of: steps.append((done, of))
    )
    assert (first.ran, then.ran) == (2, 1)
    assert steps == [(2, 3), (3, 3)]
    assert whole[: len(half)].tobytes() == half.tobytes()
    (tmp_path / f"{task_name(tasks[0])}.npy").write_bytes(b"half a file")
    again = run_study(tasks, executor=then, folder=tmp_path)
    assert again.tobytes() == whole.tobytes()


def test_another_task_has_another_name(tasks, setting):
    _, bearing, load = setting
    clearances = np.array([3.8e-5, 4.8e-5])
    warm = np.full(2, 380.0)
    grid = GridTask(bearing.bearing, load.cycle, clearances, warm)
    other = GridTask(bearing.bearing, load.cycle, clearances + 1e-9, warm)
    assert len({task_name(task) for task in (*tasks, grid, other)}) == 5
    rows = run_study([grid], executor=Backwards())
    assert rows[0, 0] > rows[1, 0] > 0


def test_a_distribution_is_more_than_one_number(setting):
    given = setting[0]
    with ThreadPoolExecutor(2) as pool:
        study = film_study(given, "rod-1", [SPEED], band=True, cases=64, executor=pool)
    spread, band = study.spread, study.band
    assert spread.low <= spread.middle <= spread.high
    assert spread.films.size == 64
    assert band.lowest <= band.best_clearance <= band.highest


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
    assert found.tobytes() == alone.tobytes()


def test_threads_of_a_page_give_the_same_bits(setting):
    given, bearing, load = setting
    page = spread_at_once(given, bearing, load, 24, seed=7)
    study = spread_of(given, bearing, load, 24, seed=7, executor=Backwards())
    assert page.films.tobytes() == study.films.tobytes()
