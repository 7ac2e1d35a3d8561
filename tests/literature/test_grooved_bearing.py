"""Half-grooved bearings: maps and orbits against Reynolds solves of the shell with its groove."""

from __future__ import annotations

from dataclasses import replace
from math import atan2, cos, exp, hypot, log, pi, sin, sqrt

import numpy as np
import pytest

from bedplate.errors import InputError
from bedplate.physics import make_grooved_maps, map_tables
from bedplate.physics._orbit_kernels import film_at, motion, orbit_figures
from bedplate.physics._reynolds_kernels import full_orbit
from bedplate.physics.mobility import (
    BearingShape,
    LoadCycle,
    journal_orbit,
    kernel_cycle,
    kernel_rate,
    kernel_shell,
)
from bedplate.physics.reynolds import Groove, _lines, film_mobility, mesh_across

DIAMETER = 0.05


def shape(ratio, share, middle, clearance=45e-6):
    width = ratio * DIAMETER
    return BearingShape(DIAMETER, width, clearance, share * width, middle, pi)


def places(count, seed, thinnest=2.7):
    """Draw places about the least film, where loads press the journal, and some anywhere."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        size = 1 - 10 ** -rng.uniform(0.0, thinnest)
        narrow = sqrt(1 - size)
        load, begin = rng.normal(size=2) * 1.5 * narrow
        if rng.random() < 0.4:
            load, begin = rng.uniform(-pi / 2, pi / 2), rng.uniform(-pi, pi)
        elif rng.random() < 0.5:
            begin += pi
        ratio, share = exp(rng.uniform(log(0.2), log(1.0))), rng.uniform(0.06, 0.35)
        yield ratio, share, size, load, begin


def test_stored_maps_are_what_the_solver_gives():
    with np.load(map_tables.GROOVED_MAP_FILE) as stored:
        ratios, shares, maps = stored["width_ratios"], stored["groove_shares"], stored["maps"]
    rng = np.random.default_rng(11)
    for _ in range(8):
        k, g, row, column, place = (int(rng.integers(n)) for n in maps.shape[:5])
        size = map_tables.film_at(row)
        values = make_grooved_maps.node(
            ratios[k],
            shares[g],
            size,
            map_tables.load_angle_at(size, column),
            map_tables.groove_begin_at(size, place),
        )
        whole, lands = (one[row, column] for one in map_tables.ends(ratios[k], shares[g]))
        found = make_grooved_maps.in_steps(map_tables.to_share(np.array([values]), whole, lands))
        assert np.abs(maps[k, g, row, column, place] - found[0].astype(int)).max() <= 1


def solved(ratio, share, size, load, begin):
    film = film_mobility(size, ratio, load, around=240, across=33, groove=Groove(share, begin, pi))
    return np.array(film.mobility) * ratio**2, film.peak, film.side_flow / hypot(*film.mobility)


def mapped(ratio, share, size, load, begin):
    """Return mobility radial and tangential, peak and flow, with eccentricity along x."""
    shell, more = kernel_shell(shape(ratio, share, begin + pi / 2))
    cosine, sine = cos(load), sin(load)
    along, across, peak, flow = film_at(size, 0.0, cosine, sine, 1.0, shell, more)
    radial, tangential = along * cosine - across * sine, along * sine + across * cosine
    assert motion(size, 0.0, cosine, sine, 0.0, 1.0, shell) == pytest.approx((radial, tangential))
    return np.array((radial, tangential)), peak, flow


def test_between_the_nodes():
    # Widths, grooves, films and angles at random. The worst of four hundred, a tenth, lies where
    # the load presses the journal along the edge of the groove at a film that no orbit reaches.
    off = []
    for place in places(40, 5):
        expected, found = solved(*place), mapped(*place)
        off.append(
            (
                hypot(*(found[0] - expected[0])) / hypot(*expected[0]),
                abs(found[1] / expected[1] - 1),
                abs(found[2] / expected[2] - 1),
            )
        )
    middle, most = np.quantile(off, [0.5, 0.9], axis=0)
    assert (middle < (2e-3, 2e-3, 2e-3)).all()
    assert (most < (0.015, 0.025, 0.015)).all()


def test_away_from_the_groove_it_is_a_plain_bearing_and_within_it_two_lands():
    half = shape(0.4, 0.15, pi)
    plain = BearingShape(DIAMETER, half.width, half.diametral_clearance)
    round_all = replace(half, groove_extent=2 * pi)
    for one, load in ((plain, (1e3, 200.0)), (round_all, (-1e3, 200.0))):
        place = 0.95 * np.array(load) / hypot(*load)
        found, expected = (
            motion(*place, *load, 0.5, kernel_rate(each, 0.01, 300.0), kernel_shell(each)[0])
            for each in (half, one)
        )
        assert found == pytest.approx(expected, rel=3e-3)


@pytest.mark.parametrize("place", [(0.6, 0.3), (-0.6, 0.3), (0.1, -0.97), (1e-12, 0.0), (0.0, 0.0)])
def test_a_mirror_and_a_turn_change_nothing(place):
    load, half, c, s = (800.0, -300.0), shape(0.4, 0.15, 1.2), cos(2.1), sin(2.1)
    rate = kernel_rate(half, 0.01, 300.0)
    x, y = motion(*place, *load, 0.5, rate, kernel_shell(half)[0])

    def turned(a, b):
        return c * a - s * b, s * a + c * b

    shell, _ = kernel_shell(replace(half, groove_middle=1.2 + 2.1))
    # Where the journal is in the middle, the map is read in the direction of the load.
    assert motion(*turned(*place), *turned(*load), 0.5, rate, shell) == pytest.approx(
        turned(x, y), rel=1e-6
    )
    shell, _ = kernel_shell(replace(half, groove_middle=-1.2))
    assert motion(place[0], -place[1], load[0], -load[1], -0.5, rate, shell) == pytest.approx(
        (x, -y), rel=1e-6
    )


STEPS = 240
WAY = np.arange(STEPS) * 4 * pi / STEPS


def cycle(speed, gas, inertia):
    """Make an invented four-stroke load: gas pressing down, inertia turning with the throw."""
    peak = gas * np.exp(-(((WAY - 2 * pi - 0.3) / 0.35) ** 2))
    across = -0.25 * peak * np.sin(WAY) + 0.5 * inertia * np.sin(WAY)
    load = np.column_stack((across, -peak + inertia * (np.cos(WAY) + 0.28 * np.cos(2 * WAY))))
    load += 0.6 * inertia * np.column_stack((np.cos(WAY), np.sin(WAY)))
    return LoadCycle(load, np.full(STEPS, speed), speed, 4 * pi)


def full_path(bearing, loads, viscosity, path):
    """Return a lap by a Reynolds solve at every stage of every step, 96 × 25 nodes."""
    load, spin, step = kernel_cycle(loads)
    share = bearing.groove_width / bearing.width
    begin = bearing.groove_middle - bearing.groove_extent / 2
    arcs = [(_lines(25, share)[1], begin, bearing.groove_extent)] if share else []
    ratio = bearing.width / bearing.diameter
    scale = kernel_rate(bearing, viscosity, loads.crank_speed) * ratio**2
    mesh, path = mesh_across(25, share), path.copy()
    arcs = np.array(arcs).reshape(-1, 3)
    full_orbit(load, spin, step, scale, 1 / ratio**2, arcs, np.zeros(96), mesh, 1, path)
    return path


CYCLES = [
    # L/D, share of the groove, its middle, clearance µm, rad/s, gas N, inertia N, viscosity:
    # pressed into the plain half, into the grooved one, along the edge, turning through both.
    (0.20, 0.00, pi / 2, 67.0, 215.0, 9e3, 0.2e3, 0.010),
    (1.00, 0.00, pi / 2, 80.0, 400.0, 90e3, 8e3, 0.006),
    (0.20, 0.14, -pi / 2, 67.0, 215.0, 9e3, 0.2e3, 0.010),
    (0.30, 0.14, pi / 2, 43.0, 700.0, 12e3, 4e3, 0.006),
    (0.35, 0.10, pi / 2 + 0.9, 45.0, 650.0, 15e3, 9e3, 0.007),
    (0.42, 0.08, 0.0, 32.0, 190.0, 30e3, 0.6e3, 0.008),
    (0.50, 0.14, -pi / 2, 60.0, 600.0, 2e3, 6e3, 0.010),
    (0.85, 0.30, pi / 2 + 0.9, 62.0, 510.0, 60e3, 6e3, 0.007),
    (1.00, 0.14, pi / 2, 80.0, 400.0, 90e3, 8e3, 0.006),
]


@pytest.mark.parametrize(
    ("ratio", "share", "middle", "clearance", "speed", "gas", "inertia", "viscosity"), CYCLES
)
def test_the_film_and_its_figures_against_the_full_solution(
    ratio, share, middle, clearance, speed, gas, inertia, viscosity
):
    # On 192 × 33 nodes, half a per cent is the worst least film of thirty cycles like these, and
    # 1.2 % the worst film anywhere in them; the mesh of this test is coarser.
    bearing = shape(ratio, share, middle, clearance * 1e-6)
    loads = cycle(speed, gas, inertia)
    found = journal_orbit(bearing, loads, viscosity)
    assert found.state == "settled"
    path = full_path(bearing, loads, viscosity, found.position)
    film = bearing.diametral_clearance / 2 * (1 - np.hypot(*path.T))
    assert found.least_film == pytest.approx(film.min(), rel=0.01)
    assert np.abs(found.film / film - 1).max() < 0.015
    peak, flow, work = figures(bearing, loads, viscosity, found.position)
    every = slice(None, None, 3)
    wanted = solved_figures(bearing, loads, viscosity, path, every)
    assert peak[every].max() == pytest.approx(wanted[0].max(), rel=0.02)
    assert flow[every].mean() == pytest.approx(wanted[1].mean(), rel=5e-3)
    # The work of the load on the film; the shear beside it is a closed form of the path.
    assert work[every].mean() == pytest.approx(wanted[2].mean(), rel=5e-3)


def figures(bearing, loads, viscosity, path):
    """Return peak pressure, Pa, flow over cωRL and work on the film, N, from the maps."""
    load, spin, _ = kernel_cycle(loads)
    found, rate = np.zeros((STEPS, 5)), kernel_rate(bearing, viscosity, loads.crank_speed)
    orbit_figures(path, load, spin, rate, *kernel_shell(bearing), 1.0, found)
    return found[:, 1] * np.hypot(*load.T) / (bearing.diameter * bearing.width), *found.T[[2, 4]]


def solved_figures(bearing, loads, viscosity, path, every):
    """Return the same by a Reynolds solve at each node."""
    rows, share = [], bearing.groove_width / bearing.width
    ratio = bearing.width / bearing.diameter
    rate = kernel_rate(bearing, viscosity, loads.crank_speed) * ratio**2
    for (x, y), load in zip(path[every], loads.load[every], strict=True):
        turned, size = atan2(y, x), hypot(*load)
        begin = bearing.groove_middle - pi / 2 - turned
        angle = atan2(load[1], load[0]) - turned
        groove = Groove(share, begin, pi) if share else ()
        film = film_mobility(hypot(x, y), ratio, angle, around=96, across=25, groove=groove)
        along = film.mobility[0] * cos(angle) + film.mobility[1] * sin(angle)
        rows.append((film.peak, film.side_flow * rate, along * rate * size) * np.array(size))
    found = np.array(rows).T
    found[0] /= bearing.diameter * bearing.width
    return found


def test_pressure_dissipates_what_the_load_puts_in():
    # ∫h³(∇p)²/12 over the film, by differences of the pressure found, is W·V: with the shear of
    # the turning journal that is the power loss. Edges and groove are at p = 0 and give nothing.
    ratio, size, angle = 0.4, 0.8, 0.3
    film = film_mobility(size, ratio, angle, around=480, across=65, groove=Groove(0.2, 0.4, pi))
    theta = np.append(film.angle, film.angle[0] + 2 * pi)
    p = np.vstack((film.pressure, film.pressure[:1]))
    h3 = (1 - size * np.cos((theta[1:] + theta[:-1]) / 2)) ** 3
    gap, turn = np.diff(film.across), np.diff(theta)
    around = (np.diff(p, axis=0) / turn[:, None]) ** 2
    aside = (np.diff(p, axis=1) / gap / ratio) ** 2
    both = (around[:, 1:] + around[:, :-1]) / 2 + (aside[1:] + aside[:-1]) / 2
    lost = (both * gap * (turn * h3)[:, None]).sum() / 12
    # p over W/LD and V over W: ∫…RL/2 twice the half film, over L D.
    along = film.mobility[0] * cos(angle) + film.mobility[1] * sin(angle)
    assert lost / 2 == pytest.approx(along, rel=0.02)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"groove_extent": 2.0}, "round half of its bearing or all of it"),
        ({"groove_width": 0.5e-3}, "0.04 to 0.45"),
        ({"groove_width": 10e-3}, "0.04 to 0.45"),
        ({"groove_width": 20e-3}, "narrower than its shell"),
        ({"width": 5.5e-3, "groove_width": 1e-3}, "0.12 to 1.5"),
        (
            {"width": 5.5e-3, "groove_width": 3e-3, "groove_extent": 2 * pi},
            "land beside the groove",
        ),
        ({"groove_middle": float("nan")}, "no number"),
    ],
)
def test_refused(change, said):
    good = BearingShape(0.05, 0.02, 5e-5, 0.003, 0.0, pi)
    with pytest.raises(InputError, match=said):
        journal_orbit(replace(good, **change), cycle(300.0, 1e4, 1e3), 0.01)


def test_the_short_fit_knows_no_half_groove():
    with pytest.raises(InputError, match="half grooved"):
        journal_orbit(shape(0.4, 0.15, 0.0), cycle(300.0, 1e4, 1e3), 0.01, short=True)


def test_tables_are_kept():
    tables = map_tables.grooved_tables
    assert tables(0.4, 0.15) is tables(0.4, 0.15)
