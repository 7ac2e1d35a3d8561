"""The oil film: one Reynolds solve, one orbit, eight bearings, ten thousand cases, a cold start."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from math import hypot, pi

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import coo_array
from scipy.sparse.linalg import spsolve

from bedplate.engine import examples, read_engine
from bedplate.physics._compiled import kernel
from bedplate.physics._orbit_kernels import forces, motion
from bedplate.physics.checks import Array
from bedplate.physics.film import Bearing, Supply, bearing_film
from bedplate.physics.film_spread import FilmDoubt, film_distribution
from bedplate.physics.mobility import (
    BearingShape,
    LoadCycle,
    Shell,
    journal_orbit,
    kernel_cycle,
    kernel_rate,
    kernel_shell,
    start,
)
from bedplate.physics.oil import oil_of_grade
from bedplate.physics.reynolds import film_pressure
from bedplate.shop.duty.bearings import loads_at
from bedplate.shop.duty.gas import pressure_at
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.train import crank_train
from benchmarks.figures import Figure, middle

_RUNS = 31
_STEPS = 720
_VISCOSITY = 0.008
_SHAPE = BearingShape(0.055, 0.021, 45e-6)
_GROOVED = BearingShape(0.055, 0.021, 45e-6, 0.003, pi / 2, pi)
_COLD = """
import numpy as np
from bedplate.physics.film import Bearing, Supply, bearing_film
from bedplate.physics.mobility import BearingShape, LoadCycle
from bedplate.physics.oil import oil_of_grade
way = np.arange(720) * np.pi / 180
load = 1e4 * np.column_stack((np.cos(way), np.sin(2 * way)))
shape = BearingShape(0.055, 0.021, 45e-6, 0.003, 0.0, np.pi)
bearing = Bearing(shape, oil_of_grade("5W-30"), Supply(363.15))
found = bearing_film(bearing, LoadCycle(load, np.full(720, 600.0), 600.0, 4 * np.pi))
assert found.state == "settled"
"""


def run() -> list[Figure]:
    """Compare each answer with its peer's, then time both."""
    return [_reynolds(), *_orbit(), _eight(), *_many(), *_cold()]


def _reynolds() -> Figure:
    """Return the solve of 72 × 9 nodes beside SciPy's sparse solver on an even mesh of as many."""

    def ours() -> float:
        return hypot(*film_pressure(0.7, 0.5, (0.3, -0.7), around=72, across=9).load)

    def peer() -> float:
        return hypot(*_sparse_load(0.7, 0.5, (0.3, -0.7)))

    assert abs(ours() / peer() - 1) < 0.02
    return Figure(
        "Reynolds solve, 72 × 9 nodes",
        _timed(ours),
        1e-4,
        "SciPy sparse, same boundary",
        _timed(peer, 5),
    )


def _orbit() -> list[Figure]:
    """Return the orbit of 720 steps beside `solve_ivp` on the same equations.

    The load is what rod 1 of the shipped straight six carries at its highest speed. Both begin at
    one point and end at the crank angle at which ours has closed, so the peer need not look for
    it. Both are held to the closed orbit at a tolerance of 1e-10: of each method that SciPy has,
    the loosest tolerance that is as near as ours in the least film, or a ten-thousandth, and in
    the film anywhere in the cycle. SciPy's own choice of method is RK45; where another is faster,
    it stands beside. Its right side is the same equations in plain Python, or our compiled ones.
    """
    loads = _rod_loads()
    half = _timed(partial(journal_orbit, _GROOVED, loads, _VISCOSITY))
    figures = [Figure("orbit of 720 steps until it closes, half grooved", half, 1e-3)]
    for name, short in (("maps", False), ("short bearing", True)):
        found = journal_orbit(_SHAPE, loads, _VISCOSITY, short=short)
        exact = by_scipy(loads, 6 + found.laps, "DOP853", 1e-10, short=short)
        # The last lap of the peer ends where ours does.
        first = int((found.laps - 1) * _STEPS) + 1
        allowed = _off(np.roll(found.film, -first), exact)
        assert max(allowed) < 2e-3
        near = dict(_as_near(loads, found.laps, exact, allowed, short=short))

        def compiled(
            way: tuple[str, float], laps: float = found.laps, *, short: bool = short
        ) -> float:
            return _timed(partial(by_scipy, loads, laps, *way, short=short), 5)

        ours = _timed(partial(journal_orbit, _SHAPE, loads, _VISCOSITY, short=short))
        what = f"orbit of 720 steps until it closes, {name}"
        figures.append(Figure(what, ours, 1e-3))
        ways = {("RK45", near["RK45"]): "as it comes", min(near.items(), key=compiled): "fastest"}
        for way, which in ways.items():
            plain = _in_plain_python(loads, found.laps, way, short=short)
            for took, side in ((plain, "plain Python"), (compiled(way), "compiled")):
                peer = f"`solve_ivp`, {which}: {way[0]}, rtol {way[1]:g}, right side {side}"
                figures.append(Figure(what, ours, took / 200, peer, took))
    return figures


def _off(film: Array, exact: Array) -> tuple[float, float]:
    """Return how far the least film is off, and the film anywhere."""
    least, anywhere = abs(film.min() / exact.min() - 1), np.abs(film / exact - 1).max()
    return max(float(least), 1e-4), float(anywhere)


def _as_near(
    loads: LoadCycle, laps: float, exact: Array, allowed: tuple[float, float], *, short: bool
) -> list[tuple[str, float]]:
    """Return each method with the loosest tolerance that brings the film as near."""
    found = []
    for method in ("RK23", "RK45", "DOP853", "LSODA", "BDF", "Radau"):
        for tolerance in (1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 3e-6, 1e-6):
            off = _off(by_scipy(loads, laps, method, tolerance, short=short), exact)
            if off[0] <= allowed[0] and off[1] <= allowed[1]:
                found.append((method, tolerance))
                break
    return found


def _in_plain_python(
    loads: LoadCycle, laps: float, way: tuple[str, float], *, short: bool
) -> float:
    """Return the time of the peer with Numba switched off, in a process of its own."""
    with tempfile.TemporaryDirectory(prefix="bedplate-loads-") as folder:
        file = f"{folder}/loads.npy"
        np.save(file, np.column_stack((loads.load, loads.relative_speed)))
        code = (
            "from benchmarks.physics_film import timed_peer\n"
            f"print(timed_peer({file!r}, {loads.crank_speed}, {laps}, {way}, short={short}))"
        )
        done = subprocess.run(
            [sys.executable, "-c", code],
            check=True,
            capture_output=True,
            text=True,
            env={**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": os.pathsep.join(sys.path)},
        )
    return float(done.stdout)


def timed_peer(
    file: str, speed: float, laps: float, way: tuple[str, float], *, short: bool
) -> float:
    """Return the time of `solve_ivp` on loads that were put down in a file."""
    rows = np.load(file)
    loads = LoadCycle(rows[:, :2].copy(), rows[:, 2].copy(), speed, 4 * pi)
    return _timed(partial(by_scipy, loads, laps, *way, short=short), 3)


def _rod_loads() -> LoadCycle:
    given = Given(read_engine(examples()["straight-six"]))
    speed = max(given.duty.speeds)
    traces = pressure_at(given, speed).traces
    return loads_at(given, crank_train(given), traces, speed)[1]["rod-1"].cycle


def _eight() -> Figure:
    bearing = Bearing(_GROOVED, oil_of_grade("10W-40"), Supply(363.15, 4e5))
    cycles = [_loads(200.0 + 60.0 * k) for k in range(8)]
    assert all(bearing_film(bearing, cycle).state == "settled" for cycle in cycles)
    return Figure(
        "film of 8 bearings, heat balanced",
        _timed(lambda: [bearing_film(bearing, cycle) for cycle in cycles]),
        0.1,
    )


def _many() -> list[Figure]:
    doubt = FilmDoubt(4e-6, 0.5e-6, 0.05, 4.0, 0.05)
    figures = []
    for name, shape in (("plain", _SHAPE), ("half-grooved", _GROOVED)):
        bearing = Bearing(shape, oil_of_grade("10W-40"), Supply(363.15, 4e5, 0.005))
        loads = _loads(600.0)

        def ours(cases: int, bearing: Bearing = bearing, loads: LoadCycle = loads) -> Array:
            return film_distribution(
                bearing, loads, doubt, seed=1, cases=cases, threads=2
            ).least_film

        begun = time.perf_counter()
        found = ours(10_000)
        took = time.perf_counter() - begun
        assert np.array_equal(ours(500), found[:500], equal_nan=True)
        figures.append(Figure(f"10,000 cases of one {name} bearing, two threads", took, 5.0))
    return figures


def _cold() -> list[Figure]:
    command = [sys.executable, "-c", _COLD]

    def once(**more: str) -> float:
        begun = time.perf_counter()
        subprocess.run(command, check=True, env={**os.environ, **more})
        return time.perf_counter() - begun

    once()
    cached = middle([once() for _ in range(5)])
    with tempfile.TemporaryDirectory(prefix="bedplate-kernels-") as folder:
        first = once(NUMBA_CACHE_DIR=folder)
    return [
        Figure("film of one half-grooved bearing, cold process, kernels cached", cached, 1.5),
        Figure("the same, first ever: kernels compiled", first),
    ]


def _loads(speed: float) -> LoadCycle:
    """Make an invented four-stroke load: gas pressing down, inertia turning with the throw."""
    way = np.arange(_STEPS) * 4 * pi / _STEPS
    peak = 25e3 * np.exp(-(((way - 2 * pi - 0.3) / 0.35) ** 2))
    load = np.column_stack((-0.25 * peak * np.sin(way), -peak))
    load += 5e3 * (speed / 600.0) ** 2 * np.column_stack((1.1 * np.sin(way), 1.6 * np.cos(way)))
    return LoadCycle(load, np.full(_STEPS, speed), speed, 4 * pi)


def by_scipy(loads: LoadCycle, laps: float, method: str, tolerance: float, *, short: bool) -> Array:
    """Return the film at the nodes of the last lap by `solve_ivp`, from where our orbit starts."""
    load, spin, step = kernel_cycle(loads)
    rate = kernel_rate(_SHAPE, _VISCOSITY, loads.crank_speed)
    (shell, _), turn = kernel_shell(_SHAPE, short=short), _STEPS * step
    nodes = np.arange(int((laps - 1) * _STEPS) + 1, int(laps * _STEPS) + 1) * step

    def right(t: float, e: Array) -> tuple[float, float]:
        return _right(t % turn / step, e[0], e[1], load, spin, rate, shell)

    found = solve_ivp(
        right, (0, max(laps * turn, nodes[-1])), start(load)[0], method=method, t_eval=nodes,
        rtol=tolerance, atol=1e-3 * tolerance,
    )  # fmt: skip
    film: Array = (1 - np.hypot(*found.y)) * _SHAPE.diametral_clearance / 2
    return film


@kernel
def _right(
    place: float, x: float, y: float, load: Array, spin: Array, rate: float, shell: Shell
) -> tuple[float, float]:
    u, v, w = forces(load, spin, place)
    return motion(x, y, u, v, w, rate, shell)


def _sparse_load(
    eccentricity: float, ratio: float, velocity: tuple[float, float]
) -> tuple[float, float]:
    """Return the load by SciPy's sparse solver: half of 72 × 9 nodes, dry nodes taken out."""
    n, m = 72, 4
    step, gap = 2 * pi / n, 1 / m
    theta = np.arange(n) * step
    h = 1 - eccentricity * np.cos(theta)
    face = (1 - eccentricity * np.cos(theta + step / 2)) ** 3 / step**2
    axial = h**3 / ratio**2 / gap**2
    source = 12 * (velocity[0] * np.cos(theta) + velocity[1] * np.sin(theta))
    i, j = (index.ravel() for index in np.mgrid[0:n, 0:m])
    here = i * m + j
    row = [here, here, here, here[j > 0], here[j < m - 1]]
    column = [here, (i + 1) % n * m + j, (i - 1) % n * m + j, here[j > 0] - 1, here[j < m - 1] + 1]
    value = [
        face[i] + face[i - 1] + 2 * axial[i], -face[i], -face[i - 1], -axial[i][j > 0],
        np.where(j == 0, -2 * axial[i], -axial[i])[j < m - 1],
    ]  # fmt: skip
    matrix = coo_array(
        (np.concatenate(value), (np.concatenate(row), np.concatenate(column))), (n * m, n * m)
    ).tocsr()
    wet, right = np.ones(n * m, bool), np.repeat(source, m)
    for _ in range(60):
        p = np.zeros(n * m)
        p[wet] = spsolve(matrix[wet][:, wet].tocsc(), right[wet])
        now = np.where(wet, p > 0, right - matrix @ p > 1e-9)
        if (now == wet).all():
            break
        wet = now
    line = p.reshape(n, m) @ (np.array([1, 4, 2, 4]) * gap / 3) * step / 2
    return float(line @ np.cos(theta)), float(line @ np.sin(theta))


def _timed(deed: Callable[[], object], runs: int = _RUNS) -> float:
    times = []
    for _ in range(runs):
        begun = time.perf_counter()
        deed()
        times.append(time.perf_counter() - begun)
    return middle(times)
