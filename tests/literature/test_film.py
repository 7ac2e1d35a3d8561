"""The film of a bearing: heat, flow, clearance and spread, against what is known outside."""

from __future__ import annotations

from dataclasses import replace
from math import log, pi, radians

import numpy as np
import pytest
from scipy.sparse import lil_matrix
from scipy.sparse.linalg import spsolve

from bedplate.errors import InputError
from bedplate.physics._orbit_kernels import arc_of_cubes, oil_at
from bedplate.physics.clearance_band import clearance_band
from bedplate.physics.film import (
    Bearing,
    Expansion,
    Supply,
    _constants,
    bearing_film,
    film_over_cases,
    hot_clearance,
)
from bedplate.physics.film_spread import FilmDoubt, film_distribution
from bedplate.physics.mobility import BearingShape, LoadCycle, journal_orbit
from bedplate.physics.oil import (
    density,
    dynamic_viscosity,
    oil_from_viscosities,
    oil_of_grade,
    specific_heat,
)
from bedplate.physics.reynolds import steady_bearing, steady_eccentricity

STEPS = 360
ANGLE = np.arange(STEPS) * 4 * pi / STEPS
SHAPE = BearingShape(0.055, 0.021, 45e-6)
OIL = oil_of_grade("10W-40")
WARM = Supply(363.15, 3e5, 0.005)
BEARING = Bearing(SHAPE, OIL, WARM)
# An oil that does not thin, so that one viscosity holds.
PLAIN_OIL = oil_from_viscosities((313.15, 100e-6), (373.15, 11e-6))


def cycle(speed, gas, inertia, steps=STEPS):
    """Make an invented four-stroke load, and the part of it that follows the pressure."""
    angle = np.arange(steps) * 4 * pi / steps
    peak = gas * np.exp(-(((angle - 2 * pi - 0.3) / 0.35) ** 2))
    pressed = np.column_stack((-0.25 * peak * np.sin(angle), -peak))
    turning = inertia * np.column_stack((1.1 * np.sin(angle), 1.6 * np.cos(angle)))
    return LoadCycle(pressed + turning, np.full(steps, speed), speed, 4 * pi), pressed


LOADS, PRESSED = cycle(600.0, 25e3, 5e3)


def steady(load, speed):
    return LoadCycle(np.tile((load, 0.0), (48, 1)), np.full(48, speed), speed, 2 * pi)


def test_worked_design_of_a_steady_bearing():
    # Jindal, Machine Design, example 17-4: d = l = 60 mm, 3 kN, 30 mPa·s, c 0.06 mm, 24 rev/s give
    # S 0.216, film 0.032 mm, f 0.00985, 0.638 l/min, 133.7 W, straight lines between table rows 0.2
    # of ε apart: 3 % of film, 1 % of the others.
    sommerfeld = 0.03 * 24 / (3000 / 0.06**2) * 500**2
    assert sommerfeld == pytest.approx(0.216)
    eccentricity = steady_eccentricity(sommerfeld, 1.0)
    found = steady_bearing(eccentricity, 1.0)
    assert 0.06 * (1 - eccentricity) == pytest.approx(0.032, rel=0.035)
    assert found.friction / 500 == pytest.approx(0.00985, rel=0.01)
    assert found.flow * 0.03 * 6e-5 * 24 * 0.06 * 6e4 == pytest.approx(0.638, rel=0.01)
    power = found.friction / 500 * 3000 * 2 * pi * 24 * 0.03
    assert power == pytest.approx(133.7, rel=0.01)


def test_power_and_flow_of_a_steady_load():
    # Against the Reynolds solver's own friction, flow and peak at the same place. The film begins
    # where it will here, so the flow is what the edges give out.
    speed, load = 300.0, 4000.0
    shape = BearingShape(0.05, 0.025, 60e-6)
    bearing = Bearing(shape, PLAIN_OIL, Supply(353.15))
    found = bearing_film(bearing, steady(load, speed))
    viscosity = dynamic_viscosity(PLAIN_OIL, found.film_temperature)
    assert found.viscosity == pytest.approx(viscosity, rel=2e-3)
    pressure = load / (0.05 * 0.025)
    sommerfeld = viscosity * speed / (2 * pi) / pressure * (0.05 / 60e-6) ** 2
    expected = steady_bearing(
        steady_eccentricity(sommerfeld, 0.5, begins_at_widest=False), 0.5, begins_at_widest=False
    )
    assert found.least_film == pytest.approx(30e-6 * (1 - expected.eccentricity), rel=5e-3)
    power = expected.friction * load * (60e-6 / 0.05) * speed * 0.025
    assert found.power_loss == pytest.approx(power, rel=5e-3)
    unit = 0.025 * 30e-6 * speed / (2 * pi) * 0.025
    assert found.flow == pytest.approx(expected.side_flow * unit, rel=5e-3)
    assert found.peak_pressure == pytest.approx(expected.peak * pressure, rel=0.01)


def test_petroff():
    # A journal that carries next to nothing: 2πμR³Lω²/c (N. P. Petroff, 1883).
    shape = BearingShape(0.05, 0.025, 100e-6)
    found = bearing_film(Bearing(shape, PLAIN_OIL, Supply(353.15, 5e5, 0.006)), steady(10.0, 100.0))
    viscosity = dynamic_viscosity(PLAIN_OIL, found.film_temperature)
    power = 2 * pi * viscosity * 0.025**3 * 0.025 * 100.0**2 / 50e-6
    assert found.power_loss == pytest.approx(power, rel=2e-3)


@pytest.mark.parametrize("grooved", [False, True])
def test_the_heat_balance_closes(grooved):
    shape = replace(SHAPE, groove_width=0.003, groove_middle=pi / 2, groove_extent=pi)
    bearing = replace(BEARING, shape=shape if grooved else SHAPE)
    found = bearing_film(bearing, LOADS)
    assert found.state == "settled"
    warm = found.film_temperature
    carried = 2 * (warm - 363.15) * density(OIL, warm) * specific_heat(OIL, warm) * found.flow
    assert carried == pytest.approx(found.power_loss, rel=0.02)
    assert warm > 363.15


def test_the_orbit_is_the_one_of_its_own_clearance_and_viscosity():
    found = bearing_film(BEARING, LOADS)
    shape = replace(SHAPE, diametral_clearance=found.clearance)
    orbit = journal_orbit(shape, LOADS, found.viscosity)
    assert orbit.least_film == pytest.approx(found.least_film, rel=2e-3)
    assert found.film.min() == found.least_film


def test_oil_of_the_kernel_is_the_oil():
    liquid = _constants(BEARING, LOADS)[2]
    for celsius in (20.0, 90.0, 140.0):
        for rate in (0.0, 3e5, 4e6):
            viscosity, capacity = oil_at(celsius + 273.15, rate, liquid)
            assert viscosity == pytest.approx(dynamic_viscosity(OIL, celsius + 273.15, rate))
            expected = density(OIL, celsius + 273.15) * specific_heat(OIL, celsius + 273.15)
            assert capacity == pytest.approx(expected)


def test_the_film_is_thinned_at_its_mean_shear_rate():
    # Surface speed over the gap, ∮dθ/(2πh) = 1/(c√(1 − ε²)), and its mean over the cycle.
    found = bearing_film(BEARING, LOADS)
    stretch = (1 / np.sqrt(1 - (found.position**2).sum(1))).mean()
    rate = 600.0 * 0.055 / found.clearance * stretch
    thinned = dynamic_viscosity(OIL, found.film_temperature, rate)
    assert found.viscosity == pytest.approx(thinned, rel=2e-3)
    assert thinned < 0.98 * dynamic_viscosity(OIL, found.film_temperature)


def test_groove_flow_closed_form():
    # All round, ∫(1 − ε cos t)³dt = 2π(1 + 1.5 ε²); over any arc by Simpson's rule here.
    assert arc_of_cubes(0.7, -pi, pi) == pytest.approx(2 * pi * (1 + 1.5 * 0.49))
    t = np.linspace(0.3, 2.1, 2001)
    values = (1 - 0.7 * np.cos(t)) ** 3
    simpson = values[0] + values[-1] + 4 * values[1:-1:2].sum() + 2 * values[2:-1:2].sum()
    assert arc_of_cubes(0.7, 0.3, 2.1) == pytest.approx(simpson * (t[1] - t[0]) / 3, rel=1e-9)


def test_flow_of_a_groove_all_round():
    # Two lands l wide and πD long, gap c: 2·πD c³(1 + 1.5ε²)p/(12μl); and what the wedge of each
    # narrow land presses out, 2πε RcNl, of which half goes back into the groove.
    shape = BearingShape(0.05, 0.025, 60e-6, 0.005, 0.0, 2 * pi)
    found = bearing_film(Bearing(shape, PLAIN_OIL, Supply(353.15, 4e5)), steady(5.0, 100.0))
    eccentricity = 1 - found.least_film / 30e-6
    pushed = 2 * pi * 0.05 * 30e-6**3 * 4e5 / (12 * found.viscosity * 0.010)
    wedged = 2 * pi * eccentricity * 0.025 * 30e-6 * 100 / (2 * pi) * 0.010
    expected = pushed * (1 + 1.5 * eccentricity**2) + wedged
    assert 0.05 < eccentricity < 0.1
    assert found.flow == pytest.approx(expected, rel=2e-3)


def test_hole_flow_by_finite_differences():
    # Laplace's equation in a strip one wide with a round hole of 0.2 at 1: flow per h³p/12μ is
    # 2π/ln(4B/πd). A stair-stepped hole on this mesh is good to 4 %.
    n, hole = 60, 0.2
    rows, columns = n - 1, 4 * n + 1
    y, x = np.mgrid[1:n, 0:columns] / n
    inside = (x - 2.0) ** 2 + (y - 0.5) ** 2 <= (hole / 2) ** 2
    matrix, right = lil_matrix((rows * columns, rows * columns)), np.zeros(rows * columns)
    for i in range(rows):
        for j in range(columns):
            k = i * columns + j
            matrix[k, k] = 1.0 if inside[i, j] else 4.0
            if inside[i, j]:
                right[k] = 1.0
                continue
            for a, b in ((i - 1, j), (i + 1, j), (i, j - 1), (i, j + 1)):
                if 0 <= a < rows and 0 <= b < columns:
                    matrix[k, a * columns + b] = -1.0
    p = spsolve(matrix.tocsr(), right).reshape(rows, columns)
    flow = p[0].sum() + p[-1].sum() + p[:, 0].sum() + p[:, -1].sum()
    assert flow == pytest.approx(2 * pi / log(4 / (pi * hole)), rel=0.045)


def test_flow_of_a_hole_in_the_bearing():
    # The same closed form with its gap, and next to nothing from the wedge of a light journal.
    shape = BearingShape(0.05, 0.025, 60e-6)
    supply = Supply(353.15, 4e5, 0.004)
    found = bearing_film(Bearing(shape, PLAIN_OIL, supply), steady(5.0, 100.0))
    eccentricity = 1 - found.least_film / 30e-6
    hole = pi * 30e-6**3 * 4e5 / (6 * found.viscosity * log(4 * 0.025 / (pi * 0.004)))
    wedged = 2 * pi * eccentricity * 0.025 * 30e-6 * 100 / (2 * pi) * 0.025
    assert eccentricity < 0.02
    assert hole < found.flow < hole * (1 + 1.5 * eccentricity**2) + wedged
    assert found.flow - hole == pytest.approx(0.9 * wedged, rel=0.15)


@pytest.mark.parametrize(
    ("housing", "gain"),
    # 60 mm main, steel shaft of 11.5e-6, all 80 K warmer: expansion times size.
    [(21.5e-6, 48.0e-6), (11.0e-6, -2.4e-6)],
)
def test_clearance_of_a_warm_main_bearing(housing, gain):
    shape = BearingShape(0.060, 0.02, 50e-6)
    expansion = Expansion(housing, 0.0, 11.5e-6, 0.0, 373.15, 373.15)
    hot = hot_clearance(shape, expansion, 300.0, 300.0)
    # The bore is 50 µm larger than the journal: 0.1 µm.
    assert hot - 50e-6 == pytest.approx(gain, abs=0.15e-6)


def test_clearance_follows_the_film_where_it_is_not_given():
    expansion = Expansion(21.5e-6, 17e-6, 11.5e-6, 0.002)
    found = bearing_film(replace(BEARING, expansion=expansion), LOADS)
    expected = hot_clearance(SHAPE, expansion, 363.15, found.film_temperature)
    assert found.clearance == pytest.approx(expected, abs=0.1e-6)


def test_directions_that_the_books_give():
    # Thicker oil: a thicker film and more heat. Warmer oil, more load: a thinner film.
    base = bearing_film(BEARING, LOADS)
    thick = bearing_film(replace(BEARING, oil=oil_of_grade("20W-50")), LOADS)
    assert thick.least_film > base.least_film
    assert thick.power_loss > base.power_loss
    warm = bearing_film(replace(BEARING, supply=replace(WARM, temperature=383.15)), LOADS)
    assert warm.least_film < base.least_film
    assert bearing_film(BEARING, cycle(600.0, 40e3, 5e3)[0]).least_film < base.least_film
    wide = bearing_film(replace(BEARING, shape=replace(SHAPE, diametral_clearance=80e-6)), LOADS)
    assert wide.flow > base.flow
    assert wide.film_temperature < base.film_temperature


def test_where_and_when():
    # Gas loads press the journal down: the film is least on the lower shell, after firing.
    found = bearing_film(BEARING, cycle(300.0, 40e3, 1e3)[0])
    assert -0.85 * pi < found.least_shell_angle < -0.15 * pi
    assert 2 * pi < found.least_crank_angle < 2 * pi + radians(90)
    assert found.peak_pressure > 40e3 / (0.055 * 0.021)


def test_film_ratio():
    rough = replace(BEARING, journal_roughness=0.3e-6, shell_roughness=0.4e-6)
    found = bearing_film(rough, LOADS)
    assert found.film_ratio == pytest.approx(found.least_film / 0.5e-6)
    assert np.isnan(bearing_film(BEARING, LOADS).film_ratio)


def nothing_told(found):
    return np.isnan([found.least_film, found.peak_pressure, found.flow, found.power_loss]).all()


def test_no_number_where_there_is_no_film():
    broken = bearing_film(BEARING, cycle(80.0, 9e6, 0.0)[0])
    assert broken.state == "film breaks down"
    assert nothing_told(broken)
    assert np.isnan(broken.film).all()
    shrunk = bearing_film(
        replace(BEARING, expansion=Expansion(0.0, 0.0, 20e-6, 0.0, None, 393.15)), LOADS
    )
    assert shrunk.state == "no clearance left"
    assert nothing_told(shrunk)
    hot = bearing_film(
        Bearing(replace(SHAPE, diametral_clearance=12e-6), OIL, Supply(420.0)),
        cycle(1200.0, 2e3, 2e3)[0],
    )
    assert hot.state == "beyond the oil's data"
    assert nothing_told(hot)


def test_cases_are_the_bearings_they_stand_for():
    clearance = np.array([30e-6, 45e-6, 70e-6])
    found = film_over_cases(
        BEARING,
        LOADS,
        clearance=clearance,
        viscosity_factor=np.array([1.0, 1.1, 0.9]),
        supply_temperature=np.array([363.15, 360.0, 370.0]),
        pressure_factor=np.array([1.0, 1.0, 1.2]),
        pressure_load=PRESSED,
    )
    alone = bearing_film(replace(BEARING, shape=replace(SHAPE, diametral_clearance=30e-6)), LOADS)
    assert found.least_film[0] == pytest.approx(alone.least_film, rel=2e-3)
    heavier = replace(LOADS, load=LOADS.load + 0.2 * PRESSED)
    last = bearing_film(
        replace(
            BEARING,
            shape=replace(SHAPE, diametral_clearance=70e-6),
            supply=replace(WARM, temperature=370.0),
        ),
        heavier,
    )
    assert 0.85 * last.least_film < found.least_film[2] < last.least_film
    assert found.state.tolist() == [0, 0, 0]


def test_a_thinned_cycle_tells_the_same():
    fine = bearing_film(BEARING, cycle(600.0, 25e3, 5e3, 720)[0])
    found = film_over_cases(BEARING, cycle(600.0, 25e3, 5e3, 720)[0], clearance=np.array([45e-6]))
    assert found.least_film[0] == pytest.approx(fine.least_film, rel=2e-3)


DOUBT = FilmDoubt(3e-6, 0.5e-6, 0.05, 3.0, 0.04)


def test_any_split_gives_the_same_bits():
    whole = film_distribution(BEARING, LOADS, DOUBT, seed=7, cases=60, pressure_load=PRESSED)
    alone = film_distribution(
        BEARING, LOADS, DOUBT, seed=7, cases=60, pressure_load=PRESSED, threads=1
    )
    parts = [
        film_distribution(
            BEARING, LOADS, DOUBT, seed=7, cases=n, first=k, pressure_load=PRESSED, threads=3
        ).least_film
        for k, n in ((0, 1), (1, 36), (37, 23))
    ]
    assert whole.least_film.tobytes() == alone.least_film.tobytes()
    assert np.concatenate(parts).tobytes() == whole.least_film.tobytes()
    other = film_distribution(BEARING, LOADS, DOUBT, seed=8, cases=60, pressure_load=PRESSED)
    assert not np.array_equal(other.least_film, whole.least_film)


def test_the_spread_is_the_propagated_one():
    # GUM, first order: the sensitivities by finite differences. 2000 cases tell the standard
    # deviation to 2 %, what is curved adds a little.
    # Gas alone, so that the film is always least at one place.
    loads, pressed = cycle(400.0, 40e3, 1e3)
    found = film_distribution(
        BEARING, loads, replace(DOUBT, form=0.0), seed=1, cases=2000, pressure_load=pressed
    )
    h = 1e-2
    steps = np.eye(4) * h
    moved = film_over_cases(
        BEARING,
        loads,
        clearance=45e-6 + np.r_[steps[0], -steps[0]] * 3e-4,
        viscosity_factor=1 + np.r_[steps[1], -steps[1]] * 5,
        supply_temperature=363.15 + np.r_[steps[2], -steps[2]] * 300,
        pressure_factor=1 + np.r_[steps[3], -steps[3]] * 4,
        pressure_load=pressed,
    ).least_film
    change = (moved[:4] - moved[4:]) / 2
    assert found.least_film.std() == pytest.approx(np.sqrt((change**2).sum()), rel=0.06)
    assert found.carried == 1.0


def test_form_takes_from_the_film():
    smooth = film_distribution(BEARING, LOADS, replace(DOUBT, form=0.0), seed=3, cases=400)
    formed = film_distribution(BEARING, LOADS, DOUBT, seed=3, cases=400)
    lost = smooth.least_film - formed.least_film
    assert lost.min() >= 0.0
    assert lost.max() <= 0.5e-6
    assert lost.mean() == pytest.approx(0.25e-6, rel=0.1)


def test_the_band_of_clearance():
    bearing = replace(BEARING, oil=oil_of_grade("0W-20"))
    band = clearance_band(bearing, LOADS, 10e-6, 160e-6, steps=31)
    film = band.cases.least_film
    assert band.best_film == np.nanmax(film)
    assert band.lowest < band.best_clearance < band.highest
    inside = (band.clearance >= band.lowest) & (band.clearance <= band.highest)
    assert (film[inside] >= 0.9 * band.best_film * (1 - 1e-9)).all()
    outside = film[~inside]
    assert (np.nan_to_num(outside) < 0.9 * band.best_film).all()
    assert outside.size > 0


def test_no_band_where_nothing_carries():
    band = clearance_band(BEARING, cycle(80.0, 9e6, 0.0)[0], 20e-6, 80e-6, steps=5)
    assert np.isnan([band.best_clearance, band.best_film, band.lowest, band.highest]).all()


@pytest.mark.parametrize(
    "deed",
    [
        lambda: bearing_film(replace(BEARING, supply=Supply(900.0)), LOADS),
        lambda: bearing_film(replace(BEARING, supply=Supply(float("nan"))), LOADS),
        lambda: bearing_film(replace(BEARING, supply=Supply(363.0, -1.0)), LOADS),
        lambda: bearing_film(replace(BEARING, supply=Supply(363.0, 1e5, 0.015)), LOADS),
        lambda: bearing_film(replace(BEARING, supply=Supply(363.0, heat_share=0.0)), LOADS),
        lambda: bearing_film(replace(BEARING, journal_roughness=-1e-6), LOADS),
        lambda: bearing_film(replace(BEARING, expansion=Expansion(21.5, 0.0, 0.0)), LOADS),
        lambda: film_over_cases(BEARING, LOADS, clearance=np.array([0.0])),
        lambda: film_over_cases(
            BEARING, LOADS, clearance=np.array([4e-5]), viscosity_factor=np.ones(2)
        ),
        lambda: film_over_cases(
            BEARING, LOADS, clearance=np.array([4e-5]), pressure_load=np.ones((3, 2))
        ),
        lambda: film_distribution(BEARING, LOADS, DOUBT, seed=-1),
        lambda: film_distribution(BEARING, LOADS, FilmDoubt(-1e-6), seed=1),
        lambda: clearance_band(BEARING, LOADS, 5e-5, 4e-5),
        lambda: clearance_band(BEARING, LOADS, 0.0, 4e-5),
    ],
)
def test_refused(deed):
    with pytest.raises(InputError):
        deed()
