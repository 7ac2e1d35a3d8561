"""Measured pressure: any step, pegged, and never with a hole in it."""

from __future__ import annotations

from math import pi, radians

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from bedplate.errors import InputError
from bedplate.physics.trace import even_angles, measured_trace

CYCLE = 4 * pi


def bell(angle: np.ndarray) -> np.ndarray:
    turned = np.mod(angle + CYCLE / 2, CYCLE) - CYCLE / 2
    return 1e5 + 60e5 * np.exp(-(((turned - radians(12)) / radians(35)) ** 2))


def test_the_curve_between_points_is_the_monotone_cubic():
    angle = np.linspace(0.2, CYCLE, 150) - np.random.default_rng(1).uniform(0, 0.05, 150)
    made = measured_trace(angle, bell(angle), CYCLE)
    wide = np.concatenate([angle - CYCLE, angle, angle + CYCLE])
    peer = PchipInterpolator(wide, bell(wide))
    assert made.pressure == pytest.approx(peer(made.angle), rel=1e-9)


@given(st.integers(90, 2000), st.floats(0, 4 * pi))
@settings(max_examples=30, deadline=None)
def test_any_even_step_gives_the_same_trace(count, firing):
    angle = even_angles(CYCLE, 36)[0] + np.arange(count) * CYCLE / count
    made = measured_trace(angle, bell(angle - firing), CYCLE, firing=firing)
    assert made.peak[0] == pytest.approx(60e5 + 1e5, rel=0.02)
    assert made.peak[1] == pytest.approx(radians(12), abs=CYCLE / count)


def test_pegging_moves_the_whole_trace():
    angle = np.linspace(-2 * pi, 2 * pi, 721)[:-1]
    made = measured_trace(angle, bell(angle) - 3e5, CYCLE, pegged_to=1e5)
    assert made.at(-pi * 1.08) == pytest.approx(1e5, rel=0.02)
    assert made.peak[0] == pytest.approx(61e5, rel=1e-3)


ANGLE = np.linspace(0, CYCLE, 721)[:-1]


@pytest.mark.parametrize(
    ("angle", "pressure", "says"),
    [
        (np.delete(ANGLE, slice(100, 120)), np.delete(bell(ANGLE), slice(100, 120)), "gap"),
        (ANGLE[:600], bell(ANGLE[:600]), "gap of 121"),
        (ANGLE[::20], bell(ANGLE[::20]), None),
        (ANGLE[::30], bell(ANGLE[::30]), "gap"),
        (ANGLE[::-1], bell(ANGLE), "does not rise at point 2"),
        (ANGLE * 180 / pi, bell(ANGLE), "more than one cycle"),
        (ANGLE * 2, bell(ANGLE), "more than one cycle"),
        (np.append(ANGLE, CYCLE), bell(np.append(ANGLE, CYCLE)), "more than one cycle"),
        (ANGLE, bell(ANGLE) / 1e5, "unit"),
        (ANGLE, bell(ANGLE) * 100, "unit"),
        (ANGLE, bell(ANGLE) - 2e5, "above zero"),
        (ANGLE, bell(ANGLE)[:-1], "needs 720 numbers"),
        (ANGLE, np.where(ANGLE > 5, np.nan, bell(ANGLE)), "is no number"),
        (ANGLE[:5], bell(ANGLE[:5]), "5 points"),
    ],
)
def test_a_trace_that_cannot_be_used_is_refused(angle, pressure, says):
    if says is None:
        assert measured_trace(angle, pressure, CYCLE).angle.size == 1440
        return
    with pytest.raises(InputError, match=says):
        measured_trace(angle, pressure, CYCLE)


def test_a_cycle_is_one_turn_or_two():
    assert even_angles(2 * pi).size == 720
    with pytest.raises(InputError, match="one turn or two"):
        even_angles(3 * pi)
    with pytest.raises(InputError, match="too few"):
        even_angles(2 * pi, 10)


def test_wide_steps_are_allowed_where_nothing_happens():
    angle = np.concatenate(
        [np.radians(np.arange(-90, 90, 2.5)), np.radians(np.arange(90, 629, 36))]
    )
    made = measured_trace(angle, bell(angle), CYCLE)
    assert made.peak[0] == pytest.approx(61e5, rel=1e-2)
    with pytest.raises(InputError, match=r"gap of 27\.5"):
        measured_trace(
            np.delete(angle, slice(36, 46)), bell(np.delete(angle, slice(36, 46))), CYCLE
        )
