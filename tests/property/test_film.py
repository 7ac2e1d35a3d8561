"""What holds of any film: mirrors, scales, and more of what carries."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bedplate.physics.mobility import BearingShape, LoadCycle, journal_orbit
from bedplate.physics.reynolds import film_mobility, film_pressure

STEPS = 120
WAY = np.arange(STEPS) * 4 * pi / STEPS

bearings = st.builds(
    BearingShape,
    diameter=st.floats(0.03, 0.1),
    width=st.floats(0.01, 0.03),
    diametral_clearance=st.floats(20e-6, 100e-6),
)
waves = st.lists(st.floats(-6e3, 6e3), min_size=10, max_size=10)
speeds = st.floats(80.0, 900.0)
viscosities = st.floats(0.003, 0.03)


def cycle(sizes, speed):
    load = np.zeros((STEPS, 2))
    for k, (a, b) in enumerate(zip(sizes[::2], sizes[1::2], strict=True)):
        load += np.column_stack((a * np.cos(k * WAY / 2), b * np.sin(k * WAY / 2 + 0.3)))
    return LoadCycle(load, np.full(STEPS, speed), speed, 4 * pi)


def orbits(shape, loads, viscosity):
    found = journal_orbit(shape, loads, viscosity)
    assume(found.state == "settled")
    return found


# 2e-3 of film below: where steps fall, and when an orbit counts as closed, is not in proportion.
@settings(max_examples=40, deadline=None)
@given(bearings, waves, speeds, viscosities)
def test_in_a_mirror_the_film_is_the_same(shape, sizes, speed, viscosity):
    loads = cycle(sizes, speed)
    found = orbits(shape, loads, viscosity)
    mirrored = LoadCycle(
        loads.load * (1, -1), -loads.relative_speed, loads.crank_speed, loads.period
    )
    other = journal_orbit(shape, mirrored, viscosity)
    assert other.least_film == pytest.approx(found.least_film, rel=2e-3)


@settings(max_examples=40, deadline=None)
@given(bearings, waves, speeds, viscosities, st.floats(0.3, 3.0))
def test_film_depends_on_load_over_viscosity_and_speed_alone(
    shape, sizes, speed, viscosity, factor
):
    # Sommerfeld's number: load and viscosity, or load and speed, in one proportion.
    found = orbits(shape, cycle(sizes, speed), viscosity)
    more = [size * factor for size in sizes]
    thick = journal_orbit(shape, cycle(more, speed), viscosity * factor)
    fast = journal_orbit(shape, cycle(more, speed * factor), viscosity)
    assert thick.least_film == pytest.approx(found.least_film, rel=2e-3)
    assert fast.least_film == pytest.approx(found.least_film, rel=2e-3)


@settings(max_examples=40, deadline=None)
@given(bearings, st.floats(300.0, 9e3), speeds, viscosities)
def test_a_steady_load_rides_higher_on_thicker_oil(shape, load, speed, viscosity):
    loads = LoadCycle(np.tile((load, 0.0), (48, 1)), np.full(48, speed), speed, 2 * pi)
    found = orbits(shape, loads, viscosity)
    thick = orbits(shape, loads, 1.3 * viscosity)
    assert thick.least_film > found.least_film


@settings(max_examples=60, deadline=None)
@given(st.floats(0.0, 0.995), st.floats(0.1, 1.5), st.floats(-pi, pi))
def test_the_load_always_does_work_on_the_film(eccentricity, ratio, angle):
    # Dissipation is positive: the journal yields to its load, in whatever place.
    found = film_mobility(eccentricity, ratio, angle)
    along = found.mobility[0] * np.cos(angle) + found.mobility[1] * np.sin(angle)
    assert along > 0.0
    assert found.pressure.min() >= 0.0
    assert found.side_flow > 0.0


@settings(max_examples=60, deadline=None)
@given(st.floats(0.0, 0.99), st.floats(0.1, 1.5), st.floats(-pi, pi), st.floats(0.1, 10.0))
def test_pressure_is_in_proportion_to_velocity(eccentricity, ratio, way, factor):
    velocity = (np.cos(way), np.sin(way))
    first = film_pressure(eccentricity, ratio, velocity)
    second = film_pressure(eccentricity, ratio, (factor * velocity[0], factor * velocity[1]))
    mirrored = film_pressure(eccentricity, ratio, (velocity[0], -velocity[1]))
    size = np.hypot(*first.load)
    assert np.array(second.load) / factor == pytest.approx(np.array(first.load), abs=1e-9 * size)
    assert np.array(mirrored.load) * (1, -1) == pytest.approx(np.array(first.load), abs=1e-9 * size)
