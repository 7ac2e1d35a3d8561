"""The shipped engines as the crank train sees them: same dead centres, firing and balance."""

from __future__ import annotations

from itertools import accumulate
from math import pi

import numpy as np
import pytest

from bedplate.engine.read import read_engine
from bedplate.engine.shipped import examples
from bedplate.physics.balance import balances_itself, engine_balance, throw_factor
from bedplate.physics.crank_train import crank_layout, masses_from_ends, require_firing

THROW, ROD, PITCH = 0.045, 0.150, 0.1
FORCE = 0.5 * THROW


def layout_of(name):
    engine = read_engine(examples()[name], name)
    shape = engine.layout
    turn = 1 if shape.clockwise else -1
    rows = shape.cylinders
    made = crank_layout(
        THROW,
        ROD,
        [turn * c.bank_angle for c in rows],
        [c.throw_angle for c in rows],
        [PITCH * c.crankpin for c in rows],
    )
    return shape, made


@pytest.mark.parametrize("name", sorted(examples()))
def test_dead_centres_and_firing_agree_with_the_engine_file(name):
    shape, made = layout_of(name)
    labels = [c.label for c in shape.cylinders]
    zero = made.top_dead_centre[labels.index(shape.firing[0])]
    expected = np.array([c.dead_centre for c in shape.cylinders])
    apart = np.mod(made.top_dead_centre - zero - expected + pi, 2 * pi) - pi
    assert np.abs(apart).max() < 1e-9
    starts = [0.0, *accumulate(shape.intervals)][:-1]
    at = dict(zip(shape.firing, starts, strict=True))
    firing = require_firing(made, zero + np.array([at[label] for label in labels]), shape.cycle)
    assert len(set(np.round(firing, 6))) == made.cylinders


@pytest.mark.parametrize(
    ("name", "itself"),
    # Common practice: in-line four and six and flat four need none, a cross-plane V8 does.
    [("v8", False), ("straight-six", True), ("flat-four", True), ("in-line-four-frame", True)],
)
def test_which_cranks_need_bob_weights(name, itself):
    shape, made = layout_of(name)
    pins = {c.crankpin: c.throw_angle for c in shape.cylinders}
    angles = np.array([pins[k] for k in sorted(pins)])
    assert balances_itself(angles, np.arange(angles.size) * PITCH) is itself
    masses = masses_from_ends(made.cylinders, 0.5, 0.0, 0.0, ROD)
    first = engine_balance(made, masses, reference=float(made.position.mean()), orders=(1,))[0]
    assert abs(first.force_forward) < 1e-9 * FORCE
    assert (abs(first.couple_forward) < 1e-9) is itself


def test_the_v8_takes_half_of_what_reciprocates():
    shape, made = layout_of("v8")
    for pin in range(1, 5):
        mine = [i for i, c in enumerate(shape.cylinders) if c.crankpin == pin]
        advice = throw_factor(made.bank[mine], made.throw_angle[mine])
        assert advice.factor == 0.5
        assert "completely" in advice.reason
