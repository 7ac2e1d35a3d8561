"""Journal orbits over published load cycles, by maps, by full Reynolds, and as others print them.

Of each cycle the load is at hand, as numbers or as a formula. A constant load that turns and a load
to and fro have their film from Butenschön's tables; the others are held to a Reynolds solve at each
stage of a general integrator, and to the superposition of rotation and squeeze of the same tables.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, cos, hypot, pi, sin

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline
from tests.bearing_tables import (
    ATTITUDE,
    SQUEEZING,
    SQUEEZING_LOAD,
    TURNING,
    TURNING_LOAD,
    WIDTHS,
    rounding,
    without_slips,
)
from tests.published_loads import BEARING_LOAD, DIESEL_TRACE

from bedplate.physics.crank_train import crank_layout, masses_from_ends, moving_masses
from bedplate.physics.loads import cylinder_loads, main_bearing_loads, seen_by_rod
from bedplate.physics.mobility import BearingShape, LoadCycle, journal_orbit
from bedplate.physics.reynolds import Groove, film_mobility, film_pressure
from bedplate.physics.trace import PressureTrace, even_angles, measured_trace

RPM = 2 * pi / 60
CYCLE = 4 * pi
STEPS = 240


@dataclass(frozen=True, slots=True)
class Case:
    """A bearing and what it carries."""

    shape: BearingShape
    cycle: LoadCycle
    viscosity: float


# ---- The cycles


def digitised(wedge: float) -> Case:
    """The bearing load of Flores, Claro and Ambrósio (2006), as PDSim (MIT licence) digitised it.

    D 63.5, L 25.4 mm, c 35.56 µm, 4.16 mPa·s, 2000 rev/min. PDSim turns the film with the crank,
    which is a journal at twice its speed in a shell at rest; `wedge` 1 is a journal at its speed.
    """
    speed = 2000 * RPM
    at = np.arange(STEPS) * 720 / STEPS
    load = np.interp(at, BEARING_LOAD[:, 0], BEARING_LOAD[:, 1] * 1e3, period=720)
    return Case(
        BearingShape(63.5e-3, 25.4e-3, 71.12e-6),
        LoadCycle(np.column_stack((load, 0 * load)), np.full(STEPS, wedge * speed), speed, CYCLE),
        4.16e-3,
    )


def diesel(speed: float, width: float, *, main: bool = False) -> Case:
    """The published diesel of `DIESEL_TRACE` with its crank, rod and piston mass.

    Journals, widths, clearances and oil are ours: none were published with it.
    """
    trace = measured_trace(
        np.radians(DIESEL_TRACE[:, 0]), DIESEL_TRACE[:, 1] * 1e6, CYCLE, firing=2 * pi
    )
    layout = crank_layout(0.0685, 0.207, 0.0, [0.0], [0.05])
    masses = moving_masses(1, 2.521, 0.0, 0.0, 0.207)
    found = cylinder_loads(layout, masses, trace, bore=0.105, firing=[0.0], speed=speed)
    every = found.angle.size // STEPS
    if main:
        load = main_bearing_loads(layout, found, [0.0, 0.1], speed)[0][::every]
        cycle = LoadCycle(load, np.full(STEPS, speed), speed, CYCLE)
        return Case(BearingShape(0.090, 0.090 * width, 80e-6), cycle, 0.010)
    turning = speed - found.rod_velocity[0, ::every]
    cycle = LoadCycle(seen_by_rod(found)[0, ::every], turning, speed, CYCLE)
    return Case(BearingShape(0.085, 0.085 * width, 65e-6), cycle, 0.010)


def inertia(speed: float, width: float) -> Case:
    """A rod's bearing with no gas: what an exact slider-crank gives (86 mm stroke, 150 mm rod)."""
    angle = even_angles(2 * pi)
    layout = crank_layout(0.043, 0.150, 0.0, [0.0], [0.0])
    masses = masses_from_ends(1, 0.45, 0.16, 0.42, 0.150)
    still = PressureTrace(angle, np.full(angle.size, 101_325.0), 2 * pi)
    found = cylinder_loads(layout, masses, still, bore=0.086, firing=[0.0], speed=speed)
    every = angle.size // 180
    turning = speed - found.rod_velocity[0, ::every]
    cycle = LoadCycle(seen_by_rod(found)[0, ::every], turning, speed, 2 * pi)
    return Case(BearingShape(0.048, 0.048 * width, 48e-6), cycle, 0.006)


CASES = {
    "digitised": digitised(1.0),
    "digitised, as PDSim turns it": digitised(2.0),
    "diesel rod, B/D 1/2": diesel(2000 * RPM, 1 / 2),
    "diesel rod, B/D 1/3": diesel(1200 * RPM, 1 / 3),
    "diesel main, B/D 1/3": diesel(2000 * RPM, 1 / 3, main=True),
    "inertia, 3000 rev/min": inertia(3000 * RPM, 1 / 2.5),
    "inertia, 7000 rev/min": inertia(7000 * RPM, 1 / 2.5),
}
"""Widths are columns of the tables."""


# ---- Other ways to the film


def even_steps(case: Case) -> tuple[np.ndarray, np.ndarray]:
    """Return the ends of the steps, rad of crank, and load and half the relative speed there."""
    cycle = case.cycle
    rows = np.column_stack((cycle.load, cycle.relative_speed / (2 * cycle.crank_speed)))
    places = np.arange(rows.shape[0] + 1) * cycle.period / rows.shape[0]
    return places, np.vstack((rows, rows[:1]))


def followed(case: Case, right, laps: int) -> np.ndarray:
    """Return the film over the last of some laps of a right side, from half the clearance."""
    places, rows = even_steps(case)
    size = hypot(*rows[0, :2])
    position = 0.5 * rows[0, :2] / size if size else np.array([0.5, 0.0])
    for _ in range(laps):
        found = solve_ivp(
            right, (0, places[-1]), position, method="LSODA", t_eval=places, rtol=1e-4,
            atol=1e-6, max_step=6 * places[1],
        )  # fmt: skip
        position = found.y[:, -1]
    assert np.hypot(*(found.y[:, 0] - position)) < 5e-3 * (1 - np.hypot(*position))
    return case.shape.diametral_clearance / 2 * (1 - np.hypot(*found.y[:, :-1]))


def by_reynolds(case: Case, laps: int = 2) -> np.ndarray:
    """Return the film over the cycle by the solver itself, not by the maps nor by their stepper."""
    shape, (places, rows) = case.shape, even_steps(case)
    scale = (shape.diametral_clearance / shape.diameter) ** 2 / (
        case.viscosity * case.cycle.crank_speed * shape.width * shape.diameter
    )

    def right(angle: float, e: np.ndarray) -> tuple[float, float]:
        k = min(int(angle / places[1]), rows.shape[0] - 2)
        u, v, spin = rows[k] + (angle / places[1] - k) * (rows[k + 1] - rows[k])
        way, size = atan2(e[1], e[0]), scale * hypot(u, v)
        if size == 0.0:
            return -spin * e[1], spin * e[0]
        begin = shape.groove_middle - shape.groove_extent / 2 - way
        share = shape.groove_width / shape.width
        radial, tangential = film_mobility(
            min(hypot(*e), 0.999), shape.width / shape.diameter, atan2(v, u) - way,
            around=96, across=25 if share else 17,
            groove=Groove(share, begin, shape.groove_extent) if share else (),
        ).mobility  # fmt: skip
        return (
            size * (radial * cos(way) - tangential * sin(way)) - spin * e[1],
            size * (radial * sin(way) + tangential * cos(way)) + spin * e[0],
        )

    return followed(case, right, laps)


def by_superposition(case: Case, laps: int = 3) -> np.ndarray:
    """Return the film by rotation and squeeze, each with its printed load, added as forces.

    Holland (1959), Lang and Steinhilper (1978) and Butenschön (1976), the method from memory: the
    turning film gives what the load has across the line of centres, and so the speed at which that
    line turns; the squeezed film gives what is left along it.
    """
    shape, (places, rows) = case.shape, even_steps(case)
    ratio = shape.width / shape.diameter
    column = int(np.argmin(np.abs(np.array(WIDTHS) - ratio)))
    assert ratio == pytest.approx(WIDTHS[column])
    turning = CubicSpline(np.arctanh(TURNING), np.log(TURNING_LOAD[:, column] / TURNING))
    angle_of = CubicSpline([0, *TURNING, 1], np.radians([90, *ATTITUDE[:, column], 0]))
    squeezing = CubicSpline(np.arctanh(SQUEEZING), np.log(without_slips(SQUEEZING_LOAD)[:, column]))
    unit = (shape.diametral_clearance / shape.diameter) ** 2 / (
        case.viscosity * shape.width * shape.diameter * case.cycle.crank_speed
    )

    def right(angle: float, e: np.ndarray) -> tuple[float, float]:
        k = min(int(angle / places[1]), rows.shape[0] - 2)
        u, v, spin = rows[k] + (angle / places[1] - k) * (rows[k + 1] - rows[k])
        size = min(max(hypot(*e), 1e-5), 0.9999)
        x, y = e[0] / hypot(*e), e[1] / hypot(*e)
        along, across = unit * (u * x + v * y), unit * (v * x - u * y)
        attitude = float(angle_of(size))
        strength = size * np.exp(float(turning(max(np.arctanh(size), np.arctanh(0.1)))))
        # 2 (spin − rate of the line of centres), positive where the load lags.
        resulting = -across / (strength * sin(attitude))
        left = along - strength * abs(resulting) * cos(attitude)
        rate = left / np.exp(float(squeezing(np.arctanh(size if left > 0 else -size))))
        around = size * (spin - resulting / 2)
        return rate * x - around * y, rate * y + around * x

    return followed(case, right, laps)


# ---- Maps against the full solution, over the set


@pytest.mark.parametrize("name", CASES)
def test_least_film_of_the_full_solution(name):
    # 2 % was asked; 0.2 % is held, most of it the coarser mesh of the reference. Nothing in the
    # reference is the map's: another mesh, another integrator, another start.
    case = CASES[name]
    found = journal_orbit(case.shape, case.cycle, case.viscosity)
    assert found.state == "settled"
    film = by_reynolds(case)
    assert found.least_film == pytest.approx(film.min(), rel=2e-3)
    assert np.abs(found.film / film - 1).max() < 1.5e-2


@pytest.mark.parametrize("name", CASES)
def test_superposition_of_rotation_and_squeeze(name):
    # The superposition is 3 to 12 % thicker than the full solution of the same equation and
    # boundary, and never thinner: each of its films drops the pull of the other (below).
    case = CASES[name]
    found = journal_orbit(case.shape, case.cycle, case.viscosity)
    assert 1.02 < by_superposition(case).min() / found.least_film < 1.13


@pytest.mark.parametrize("squeeze", [0.05, 0.3, -0.3])
@pytest.mark.parametrize("eccentricity", [0.4, 0.8, 0.95])
def test_why_superposition_is_thicker(eccentricity, squeeze):
    # Where the film ends the two sources are not added but cut. The least p ≥ 0 that bears both is
    # at most the sum of those that bear each: nowhere more, and less where one would pull.
    turning, squeezing = (0.0, -0.5 * eccentricity), (squeeze, 0.0)
    both = (squeeze, -0.5 * eccentricity)

    def pressure(velocity):
        film = film_pressure(eccentricity, 0.5, velocity, around=240, across=17)
        return film.angle, film.pressure[:, 0] * hypot(*film.load)

    angle, true = pressure(both)
    added = sum(np.interp(angle, *pressure(each), period=2 * pi) for each in (turning, squeezing))
    assert (true - added).max() < 2e-3 * true.max()
    assert (added - true).max() > 0.02 * true.max()


@pytest.mark.parametrize("wedge", [1.0, 2.0])
def test_short_bearing_of_a_digitised_cycle(wedge):
    # Flores, Claro and Ambrósio's equations in ε and φ, as PDSim has them, by SciPy's LSODA. Their
    # minimum film was not at hand; ours is 6.38 and 9.11 µm, and 5.29 and 7.88 µm with the width.
    case = digitised(wedge)
    places, rows = even_steps(case)
    ratio, clearance = 0.4, 35.56e-6
    strength = (clearance / 31.75e-3) ** 2 / (4.16e-3 * 25.4e-3 * 63.5e-3 * 2000 * RPM)

    def right(angle: float, state: np.ndarray) -> tuple[float, float]:
        size, phi = state
        force = float(np.interp(angle, places, rows[:, 0]))
        sign = 1.0 if force > 0 else -1.0
        left = 1 - sign * size * cos(phi)
        along = sign * left**2.5 / (pi * ratio**2)
        across = -4 * size * sin(phi) * left**1.5 / (pi**2 * ratio**2)
        force = strength * abs(force)
        radial = force * (along * cos(phi) + across * sin(phi))
        around = force * (across * cos(phi) - along * sin(phi)) / size
        return radial, around + wedge / 2

    state = np.array([0.5, 0.1])
    for _ in range(3):
        found = solve_ivp(
            right, (0, CYCLE), state, method="LSODA", t_eval=places, rtol=1e-6, atol=1e-8,
            max_step=4 * places[1],
        )  # fmt: skip
        state = found.y[:, -1]
    film = clearance * (1 - found.y[0].max())
    orbit = journal_orbit(case.shape, case.cycle, case.viscosity, short=True)
    assert orbit.least_film == pytest.approx(film, rel=2e-3)
    expected = {1.0: (6.38e-6, 5.29e-6), 2.0: (9.11e-6, 7.88e-6)}[wedge]
    assert film == pytest.approx(expected[0], abs=0.02e-6)
    wide = journal_orbit(case.shape, case.cycle, case.viscosity)
    assert wide.least_film == pytest.approx(expected[1], abs=0.02e-6)


# ---- Cycles whose film is printed


SHAPES = {width: BearingShape(0.05, 0.05 * width, 50e-6) for width in WIDTHS}
OIL, SPEED = 0.01, 300.0


def strength(width: float, rate: float) -> float:
    """Return the load of So 1 at a rate of turning or squeezing, N."""
    return 0.05**2 * width * OIL * rate / 1e-3**2


@pytest.mark.parametrize("eccentricity", [0.4, 0.8, 0.95])
@pytest.mark.parametrize("load_speed", [-1.0, 0.25, 1.0, 2.0])
@pytest.mark.parametrize("width", [1 / 2, 1 / 4])
def test_a_constant_load_that_turns(width, load_speed, eccentricity):
    # ISO 7902-1 (2020), scope: also for a constant force that rotates at any speed; then the
    # journal turns in its load with ω − 2ωF (Booker 1965). The tables give the load of each ε.
    row, column = TURNING.index(eccentricity), WIDTHS.index(width)
    printed = TURNING_LOAD[row, column]
    load = printed * strength(width, abs(1 - 2 * load_speed) * SPEED)
    turns = 4 if load_speed == 0.25 else 1
    angle = np.arange(96 * turns) * 2 * pi / 96
    way = load_speed * angle
    cycle = LoadCycle(
        load * np.column_stack((np.cos(way), np.sin(way))), np.full(angle.size, SPEED), SPEED,
        2 * pi * turns,
    )  # fmt: skip
    found = journal_orbit(SHAPES[width], cycle, OIL)
    assert found.state == "settled"
    near = 3e-3 + float(rounding(TURNING_LOAD)[row, column] / printed)
    assert found.film / 25e-6 == pytest.approx(1 - eccentricity, rel=near)
    # Ahead of the load in the sense of what turns in it, to what the films' beginnings differ by.
    ahead = np.arctan2(found.position[:, 1], found.position[:, 0]) - way
    sense = 1 if load_speed < 0.5 else -1
    apart = np.degrees((sense * ahead + pi) % (2 * pi) - pi) - ATTITUDE[row, column]
    assert np.abs(apart).max() < 0.15 + 7 * (width * (1 - eccentricity)) ** 2


def impulse(width: float, eccentricity: float) -> float:
    """Return the time integral of the printed squeezing load from −ε to ε."""
    column = WIDTHS.index(width)
    curve = CubicSpline(np.arctanh(SQUEEZING), np.log(without_slips(SQUEEZING_LOAD)[:, column]))
    places = np.linspace(-eccentricity, eccentricity, 4001)
    return float(np.trapezoid(np.exp(curve(np.arctanh(places))), places))


@pytest.mark.parametrize("journal_turns", [False, True])
@pytest.mark.parametrize("eccentricity", [0.8, 0.95, 0.98])
@pytest.mark.parametrize("width", [1, 1 / 2, 1 / 3, 1 / 5])
def test_a_load_to_and_fro(width, eccentricity, journal_turns):
    # W sin ωt takes a journal that stands from −ε to ε and back; half a wave of it is 2W/ω, and so
    # is the integral of the squeezing load. So it is along a line that turns with half the speed of
    # the journal, where no wedge is. (The impulse of J. F. Booker, CRC Handbook of Lubrication II
    # (1983), from memory.) Within 0.45 % at B/D 1, where the table is; 0.2 % at ½ and less.
    angle = np.arange(STEPS) * 2 * pi / STEPS
    way = angle if journal_turns else 0 * angle
    load = impulse(width, eccentricity) * strength(width, SPEED) / 2 * np.sin(angle)
    cycle = LoadCycle(
        load[:, None] * np.column_stack((np.cos(way), np.sin(way))),
        np.full(STEPS, 2 * SPEED if journal_turns else 0.0), SPEED, 2 * pi,
    )  # fmt: skip
    found = journal_orbit(SHAPES[width], cycle, OIL)
    assert found.state == "settled"
    near = 4.5e-3 if width == 1 else 2e-3
    assert found.least_film / 25e-6 == pytest.approx(1 - eccentricity, rel=near)


def test_a_load_to_and_fro_by_the_solver():
    angle = np.arange(STEPS) * 2 * pi / STEPS
    load = impulse(1 / 2, 0.95) * strength(1 / 2, SPEED) / 2 * np.sin(angle)
    turned = load[:, None] * np.column_stack((np.cos(angle), np.sin(angle)))
    cycle = LoadCycle(turned, np.full(STEPS, 2 * SPEED), SPEED, 2 * pi)
    film = by_reynolds(Case(SHAPES[1 / 2], cycle, OIL))
    assert film.min() / 25e-6 == pytest.approx(0.05, rel=3e-3)


@pytest.mark.parametrize(
    ("name", "middle"),
    # Where the groove's half has its middle, from the first axis: over the loaded half, off it,
    # beside it.
    [
        ("digitised", 0.0),
        ("diesel rod, B/D 1/2", pi / 2),
        ("diesel main, B/D 1/3", pi),
        ("inertia, 7000 rev/min", 0.0),
    ],
)
def test_half_grooved_shells_under_the_same_loads(name, middle):
    # An eighth of the width grooved over half the turn. 2 % was asked, 1 % is held: 0.8 % where the
    # film is a fiftieth of the clearance; of the others a mesh of 240 by 49 nodes leaves 0.3 %.
    case = CASES[name]
    shape = replace(
        case.shape, groove_width=0.12 * case.shape.width, groove_middle=middle, groove_extent=pi
    )
    grooved = Case(shape, case.cycle, case.viscosity)
    found = journal_orbit(shape, case.cycle, case.viscosity)
    assert found.state == "settled"
    film = by_reynolds(grooved)
    assert found.least_film == pytest.approx(film.min(), rel=1e-2)
    assert np.abs(found.film / film - 1).max() < 2e-2
