"""Journal orbits against closed forms, the full Reynolds solution and a general integrator."""

from __future__ import annotations

import time
from math import atan2, cos, degrees, exp, hypot, log, pi, sin, sqrt

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from bedplate.errors import InputError
from bedplate.physics import make_maps
from bedplate.physics._orbit_kernels import motion
from bedplate.physics._reynolds_kernels import full_orbit
from bedplate.physics.map_tables import spline_tables
from bedplate.physics.mobility import (
    BearingShape,
    LoadCycle,
    journal_orbit,
    kernel_cycle,
    kernel_rate,
    kernel_shell,
    mobility,
)
from bedplate.physics.reynolds import _lines, film_mobility, mesh_across, steady_bearing
from bedplate.physics.short_bearing import short_mobility, short_steady_bearing

STEPS = 720
ANGLE = np.arange(STEPS) * 4 * pi / STEPS


def cycle(speed, gas, inertia):
    """Make an invented four-stroke load: gas pressing down, inertia turning with the throw."""
    peak = gas * np.exp(-(((ANGLE - 2 * pi - 0.3) / 0.35) ** 2))
    load = np.column_stack(
        (
            -0.25 * peak * np.sin(ANGLE) + 0.5 * inertia * np.sin(ANGLE),
            -peak + inertia * (np.cos(ANGLE) + 0.28 * np.cos(2 * ANGLE)),
        )
    )
    load += 0.6 * inertia * np.column_stack((np.cos(ANGLE), np.sin(ANGLE)))
    return LoadCycle(load, np.full(STEPS, speed), speed, 4 * pi)


def steady(load, speed, steps=48, load_speed=0.0):
    turn = np.arange(steps) * 2 * pi / steps
    way = turn * load_speed / speed
    return LoadCycle(
        load * np.column_stack((np.cos(way), np.sin(way))), np.full(steps, speed), speed, 2 * pi
    )


def full_film(shape, loads, viscosity, path, *, around=96, across=17, laps=2):
    """Return the film over the cycle by a Reynolds solve at every stage of every step."""
    load, spin, step = kernel_cycle(loads)
    share = shape.groove_width / shape.width
    begin = shape.groove_middle - shape.groove_extent / 2
    lines = _lines(across, share)[1]
    groove = np.array([(lines, begin, shape.groove_extent)] if share else []).reshape(-1, 3)
    scale = (shape.diametral_clearance / shape.diameter) ** 2 / (
        viscosity * loads.crank_speed * shape.width * shape.diameter
    )
    ratio = (shape.diameter / shape.width) ** 2
    mesh = mesh_across(across, share)
    path = path.copy()
    full_orbit(load, spin, step, scale, ratio, groove, np.zeros(around), mesh, laps, path)
    return shape.diametral_clearance / 2 * (1 - np.hypot(path[:, 0], path[:, 1]))


@pytest.mark.parametrize("width_ratio", [0.1, 0.4, 1.5])
def test_stored_maps_are_what_the_solver_gives(width_ratio):
    ratios, maps = np.load(make_maps.MAP_FILE).values()
    table = maps[list(ratios).index(np.float64(width_ratio))]
    for row, column in ((1, 5), (12, 0), (25, 11), (33, 23), (40, 2)):
        eccentricity = make_maps.eccentricity_at(row)
        angle = make_maps.load_angle_at(eccentricity, column)
        expected = make_maps.node(width_ratio, eccentricity, angle)
        # Stored in single precision.
        assert table[row, column] == pytest.approx(expected, abs=2e-6, rel=2e-6)


def test_between_the_nodes():
    # Against solves on the maps' own mesh, at random; widths, films and angles between the nodes.
    rng = np.random.default_rng(3)
    worst = 0.0
    for _ in range(60):
        ratio = exp(rng.uniform(log(0.1), log(1.5)))
        eccentricity = 1 - 10 ** -rng.uniform(0, 3)
        angle = min(abs(rng.normal()) * 3 * sqrt(1 - eccentricity), pi)
        radial, tangential = film_mobility(
            eccentricity, ratio, angle, around=288, across=33
        ).mobility
        along = radial * cos(angle) + tangential * sin(angle)
        across = tangential * cos(angle) - radial * sin(angle)
        found = mobility(ratio, eccentricity * cos(angle), -eccentricity * sin(angle))
        size = hypot(along, across)
        worst = max(worst, abs(found[0] / along - 1), abs(found[1] - across) / size)
    # 0.18 % is the worst of ten thousand; most are fifty times nearer.
    assert worst < 3e-3


def test_the_maps_are_even_about_the_load_line():
    assert mobility(0.5, 0.3, 0.4) == pytest.approx(
        tuple(np.array(mobility(0.5, 0.3, -0.4)) * (1, -1))
    )
    assert mobility(0.5, 0.0, 0.0)[1] == 0.0


@pytest.mark.parametrize("eccentricity", [0.3, 0.7, 0.95, 0.99])
@pytest.mark.parametrize("ratio", [0.25, 1.0])
def test_a_steady_load_gives_the_steady_bearing(eccentricity, ratio):
    # The load that the Reynolds solver finds for an eccentricity must bring that eccentricity back.
    expected = steady_bearing(eccentricity, ratio, around=360, across=33, begins_at_widest=False)
    shape, viscosity, speed = BearingShape(0.05, 0.05 * ratio, 50e-6), 0.01, 300.0
    pressure = viscosity * speed / (2 * pi) / expected.sommerfeld * 1000.0**2
    found = journal_orbit(shape, steady(pressure * 0.05**2 * ratio, speed), viscosity)
    assert found.state == "settled"
    assert found.least_film == pytest.approx(25e-6 * (1 - eccentricity), rel=5e-3)
    # The journal runs ahead of the load by the attitude.
    ahead = atan2(found.position[0, 1], found.position[0, 0])
    assert ahead == pytest.approx(expected.attitude, abs=2e-3)


@pytest.mark.parametrize("load", [0.5, 5.0, 50.0])
def test_a_light_journal_that_whirls_for_long(load):
    # Next to no load: each lap takes little from the whirl, and an orbit that only looks closed is
    # far from the steady bearing, here Ocvirk's at L/D 0.1, which a finite width of that hardly
    # leaves at these eccentricities.
    shape, viscosity, speed = BearingShape(0.05, 0.005, 50e-6), 0.01, 300.0
    found = journal_orbit(shape, steady(load, speed), viscosity)
    sommerfeld = viscosity * speed / (2 * pi) / (load / (0.05 * 0.005)) * 1000.0**2
    low, high = 1e-6, 0.99
    for _ in range(60):
        middle = (low + high) / 2
        if short_steady_bearing(middle, 0.1).sommerfeld < sommerfeld:
            high = middle
        else:
            low = middle
    assert found.state == "settled"
    assert 1 - found.least_film / 25e-6 == pytest.approx(low, rel=0.02)


@pytest.mark.parametrize(
    ("eccentricity", "fitted", "attitude"),
    [(0.3, 0.2990, 68.31), (0.5, 0.4976, 54.07), (0.7, 0.6975, 39.30), (0.9, 0.8988, 21.35)],
)
def test_a_steady_load_on_the_short_fit(eccentricity, fitted, attitude):
    # Ocvirk's load through Booker's fit; where the fit then sits was solved by an own script.
    expected = short_steady_bearing(eccentricity, 0.3)
    speed, viscosity = 300.0, 0.01
    pressure = viscosity * speed / (2 * pi) / expected.sommerfeld * 1000.0**2
    shape = BearingShape(0.05, 0.015, 50e-6)
    found = journal_orbit(shape, steady(pressure * 0.05 * 0.015, speed), viscosity, short=True)
    assert 1 - found.least_film / 25e-6 == pytest.approx(fitted, abs=2e-4)
    place = degrees(atan2(found.position[0, 1], found.position[0, 0]))
    assert place == pytest.approx(attitude, abs=0.05)


@pytest.mark.parametrize("load_speed", [300.0, 75.0])
def test_a_load_that_turns(load_speed):
    # Seen from the load, the bearing is steady with |1 − 2ωW/ω| of its speed: all of it when the
    # load turns with the journal, half at a quarter of the speed. J. F. Booker (1965).
    shape, viscosity, speed, load = BearingShape(0.05, 0.02, 50e-6), 0.01, 300.0, 3000.0
    turning = steady(load, speed, load_speed=load_speed)
    if load_speed < speed:
        # A quarter turn of the load a crank turn: the cycle closes after four.
        way = np.arange(192) * 2 * pi / 48
        turned = load * np.column_stack((np.cos(way / 4), np.sin(way / 4)))
        turning = LoadCycle(turned, np.full(192, speed), speed, 8 * pi)
    slower = abs(1 - 2 * load_speed / speed) * speed
    still = journal_orbit(shape, steady(load, slower), viscosity)
    found = journal_orbit(shape, turning, viscosity)
    assert found.state == still.state == "settled"
    assert found.least_film == pytest.approx(still.least_film, rel=2e-3)


def test_a_load_at_half_speed_carries_nothing():
    shape, speed = BearingShape(0.05, 0.02, 50e-6), 300.0
    way = np.arange(96) * 4 * pi / 96
    load = 3000.0 * np.column_stack((np.cos(way / 2), np.sin(way / 2)))
    found = journal_orbit(shape, LoadCycle(load, np.full(96, speed), speed, 4 * pi), 0.01)
    assert found.state in {"film breaks down", "not settled"}
    assert np.isnan(found.least_film)
    assert np.isnan(found.least_angle)
    assert found.least_step == -1


def test_pure_squeeze_closed_form():
    # Booker's fit: t/τ = (π/3)[(1 − ε)^−1.5 − 1], τ = μRL³/(Wc²): 32.068097 from 0 to 0.9. The
    # kernel's right side is integrated by a general integrator; its own stepper is met elsewhere.
    shape, viscosity, speed, load = BearingShape(0.05, 0.02, 50e-6), 0.01, 100.0, 5000.0
    rate = kernel_rate(shape, viscosity, speed)
    shell, _ = kernel_shell(shape, short=True)

    def right(_, e):
        return motion(e[0], e[1], load, 0.0, 0.0, rate, shell)

    def reached(_, e):
        return e[0] - 0.9

    reached.terminal = True
    found = solve_ivp(right, (0, 100), (0.0, 0.0), events=reached, rtol=1e-9, atol=1e-12)
    unit = viscosity * 0.025 * 0.02**3 / (load * 25e-6**2)
    expected = pi / 3 * ((1 - 0.9) ** -1.5 - 1)
    assert expected == pytest.approx(32.068097, abs=1e-6)
    assert found.t_events[0][0] / speed == pytest.approx(expected * unit, rel=1e-6)


CASES = [
    # L/D, diametral clearance µm, rad/s, gas N, inertia N, viscosity: bearings of all kinds.
    (0.20, 67.0, 215.0, 9e3, 0.2e3, 0.010),
    (0.30, 43.0, 700.0, 12e3, 4e3, 0.006),
    (0.42, 32.0, 190.0, 30e3, 0.6e3, 0.008),
    (0.67, 64.0, 310.0, 40e3, 2e3, 0.012),
    (0.85, 62.0, 510.0, 60e3, 6e3, 0.007),
]


@pytest.mark.parametrize(
    ("ratio", "clearance", "speed", "gas", "inertia", "viscosity"), CASES[1:4:2]
)
def test_least_film_of_the_full_solution(ratio, clearance, speed, gas, inertia, viscosity):
    # The maps against a Reynolds solve at each stage, over invented four-stroke cycles: the least
    # film within 2 % was asked, 0.3 % is held, nearly all of it the coarser mesh of the reference.
    shape = BearingShape(0.05, 0.05 * ratio, clearance * 1e-6)
    loads = cycle(speed, gas, inertia)
    every = slice(None, None, 3)
    loads = LoadCycle(loads.load[every], loads.relative_speed[every], speed, 4 * pi)
    found = journal_orbit(shape, loads, viscosity)
    assert found.state == "settled"
    film = full_film(shape, loads, viscosity, found.position, around=72, laps=1)
    assert found.least_film == pytest.approx(film.min(), rel=3e-3)
    assert np.abs(found.film / film - 1).max() < 5e-3


@pytest.mark.parametrize(("ratio", "clearance", "speed", "gas", "inertia", "viscosity"), CASES)
@pytest.mark.parametrize("short", [False, True])
def test_the_stepper_by_a_general_integrator(
    ratio, clearance, speed, gas, inertia, viscosity, short
):
    # The same right side through SciPy's LSODA at a tight tolerance, from the same point.
    shape, loads = BearingShape(0.05, 0.05 * ratio, clearance * 1e-6), cycle(speed, gas, inertia)
    found = journal_orbit(shape, loads, viscosity, short=short)
    film, _ = by_scipy(shape, loads, viscosity, found.position[0], short=short, rtol=1e-7)
    assert found.state == "settled"
    assert found.film == pytest.approx(film, rel=4e-3)
    assert found.least_film == pytest.approx(film.min(), rel=2e-3)


def by_scipy(shape, loads, viscosity, begin, *, short, rtol, method="LSODA"):
    load, spin, step = kernel_cycle(loads)
    rate = kernel_rate(shape, viscosity, loads.crank_speed)
    shell, _ = kernel_shell(shape, short=short)
    places = np.arange(load.shape[0] + 1) * step
    closed = np.vstack((load, load[:1]))

    def right(t, e):
        u, v = np.interp(t, places, closed[:, 0]), np.interp(t, places, closed[:, 1])
        return motion(e[0], e[1], u, v, spin[0], rate, shell)

    begun = time.perf_counter()
    found = solve_ivp(
        right, (0, places[-1]), begin, method=method, t_eval=places[:-1], rtol=rtol,
        atol=1e-3 * rtol, max_step=4 * step,
    )  # fmt: skip
    took = time.perf_counter() - begun
    return shape.diametral_clearance / 2 * (1 - np.hypot(*found.y)), took


def test_a_groove_all_round_is_two_narrow_bearings():
    loads = cycle(400.0, 10e3, 2e3)
    grooved = BearingShape(0.05, 0.025, 45e-6, 0.005, 0.0, 2 * pi)
    land = BearingShape(0.05, 0.010, 45e-6)
    halved = LoadCycle(loads.load / 2, loads.relative_speed, 400.0, 4 * pi)
    assert journal_orbit(grooved, loads, 0.01).least_film == pytest.approx(
        journal_orbit(land, halved, 0.01).least_film, rel=1e-9
    )


def test_the_frame_does_not_matter():
    # Loads turned by any angle, the groove with them: the same film, elsewhere.
    loads = cycle(450.0, 18e3, 4e3)
    turned = loads.load @ np.array([[cos(0.7), sin(0.7)], [-sin(0.7), cos(0.7)]])
    first = journal_orbit(BearingShape(0.055, 0.022, 45e-6, 0.003, 1.0, pi), loads, 0.008)
    second = journal_orbit(
        BearingShape(0.055, 0.022, 45e-6, 0.003, 1.7, pi),
        LoadCycle(turned, loads.relative_speed, 450.0, 4 * pi),
        0.008,
    )
    assert second.least_film == pytest.approx(first.least_film, rel=1e-3)
    assert (second.least_angle - first.least_angle) % (2 * pi) == pytest.approx(0.7, abs=0.01)


def test_finite_width_carries_less_than_short():
    for ratio, *rest in CASES:
        clearance, speed, gas, inertia, viscosity = rest
        shape = BearingShape(0.05, 0.05 * ratio, clearance * 1e-6)
        loads = cycle(speed, gas, inertia)
        finite = journal_orbit(shape, loads, viscosity).least_film
        short = journal_orbit(shape, loads, viscosity, short=True).least_film
        assert finite < short


def test_a_load_beyond_the_film():
    found = journal_orbit(BearingShape(0.05, 0.01, 50e-6), cycle(100.0, 900e3, 0.0), 0.002)
    assert found.state == "film breaks down"
    assert np.isnan(found.least_film)
    assert np.isnan(found.film).any()


def test_an_orbit_given_up_says_so():
    shape, loads = BearingShape(0.05, 0.02, 60e-6), cycle(500.0, 20e3, 4e3)
    found = journal_orbit(shape, loads, 0.01, most_laps=1)
    assert found.state == "not settled"
    assert np.isnan(found.least_film)
    assert found.laps == 1


def test_an_unloaded_journal_is_turned_about():
    loads = LoadCycle(np.zeros((48, 2)), np.full(48, 300.0), 300.0, 2 * pi)
    found = journal_orbit(BearingShape(0.05, 0.02, 50e-6), loads, 0.01)
    assert found.least_film == pytest.approx(25e-6)


def test_short_mobility_of_the_kernel_is_the_closed_form():
    assert mobility(0.5, 0.3, 0.4, short=True) == pytest.approx(short_mobility(0.3, 0.4, 0.5))


def test_tables_are_kept():
    assert spline_tables(0.5) is spline_tables(0.5)


GOOD = BearingShape(0.05, 0.02, 50e-6)
LOADS = cycle(300.0, 1e4, 1e3)


@pytest.mark.parametrize(
    "deed",
    [
        lambda: journal_orbit(BearingShape(0.05, 0.02, 0.0), LOADS, 0.01),
        lambda: journal_orbit(BearingShape(0.05, 0.02, -1e-6), LOADS, 0.01),
        lambda: journal_orbit(BearingShape(0.05, 0.02, 5e-3), LOADS, 0.01),
        lambda: journal_orbit(BearingShape(0.05, 0.09, 5e-5), LOADS, 0.01),
        lambda: journal_orbit(BearingShape(0.05, 0.02, 5e-5, 0.02, 0.0, pi), LOADS, 0.01),
        lambda: journal_orbit(BearingShape(0.05, 0.02, 5e-5, 0.015, 0.0, pi), LOADS, 0.01),
        lambda: journal_orbit(BearingShape(0.05, 0.02, 5e-5, 0.003, 0.0, 7.0), LOADS, 0.01),
        lambda: journal_orbit(BearingShape(0.05, float("nan"), 5e-5), LOADS, 0.01),
        lambda: journal_orbit(GOOD, LOADS, 0.0),
        lambda: journal_orbit(GOOD, LoadCycle(LOADS.load[:12], np.ones(12), 1.0, 1.0), 0.01),
        lambda: journal_orbit(GOOD, LoadCycle(LOADS.load, np.ones(12), 1.0, 1.0), 0.01),
        lambda: journal_orbit(GOOD, LoadCycle(LOADS.load * np.nan, ANGLE, 1.0, 1.0), 0.01),
        lambda: journal_orbit(GOOD, LoadCycle(LOADS.load, ANGLE, 0.0, 1.0), 0.01),
        lambda: mobility(0.5, 0.9995, 0.0),
        lambda: mobility(2.0, 0.5, 0.0),
    ],
)
def test_refused(deed):
    with pytest.raises(InputError):
        deed()
