"""The pressure of a press, by Lamé's equations solved another way."""

import numpy as np
import pytest

from bedplate.errors import InputError
from bedplate.physics.press import contact_pressure

STEEL, IRON = (207e9, 0.292), (100e9, 0.211)
"""Shigley, Mechanical Engineering Design, table A-5, from memory: carbon steel, grey cast iron."""


def lame(interference, inner, middle, outer, inside, around):
    """Return the pressure from u(r) = A·r + B/r in both parts, solved as four linear equations.

    Stress from strain in plane stress (any text on elasticity): free inner and outer faces, equal
    radial stress at the joint, and displacements there that differ by half the interference.
    """

    def stress(elastic, r):
        modulus, ratio = elastic
        return [modulus / (1 - ratio), -modulus / (1 + ratio) / r**2]

    a, b, c = inner / 2, middle / 2, outer / 2
    rows = np.array(
        [
            [*stress(inside, a), 0, 0],
            [0, 0, *stress(around, c)],
            [*stress(inside, b), *(-x for x in stress(around, b))],
            [-b, -1 / b, b, 1 / b],
        ]
    )
    scale = np.abs(rows).max(axis=1)
    solved = np.linalg.solve(rows / scale[:, None], np.array([0, 0, 0, interference / 2]) / scale)
    return -float(np.dot(stress(inside, b), solved[:2]))


@pytest.mark.parametrize(
    ("inner", "outer", "around"),
    [(0.058, 0.090, IRON), (0.02, 0.06 * 1.2, STEEL), (0.05, 0.3, IRON)],
)
def test_two_rings_press_as_lames_equations_say(inner, outer, around):
    made = contact_pressure(
        50e-6, 0.06, inner, outer,
        modulus=STEEL[0], ratio=STEEL[1], outer_modulus=around[0], outer_ratio=around[1],
    )  # fmt: skip
    assert made == pytest.approx(lame(50e-6, inner, 0.06, outer, STEEL, around), rel=1e-9)


def test_a_solid_shaft_in_a_hub_of_the_same_material_is_the_books_formula():
    # p = E·δ/(2·d)·(1 − d²/D²) with δ on the diameter (any text on machine design).
    made = contact_pressure(
        30e-6, 0.04, 0.0, 0.08,
        modulus=STEEL[0], ratio=STEEL[1], outer_modulus=STEEL[0], outer_ratio=STEEL[1],
    )  # fmt: skip
    assert made == pytest.approx(207e9 * 30e-6 / (2 * 0.04) * (1 - 0.25), rel=1e-12)


def test_a_thin_shell_in_what_does_not_give_is_a_hoop():
    # Hoop stress p·d/(2·t) = E·δ/d: right to the wall's share of the radius.
    wall, diameter = 0.1e-3, 0.06
    made = contact_pressure(50e-6, diameter, diameter - 2 * wall)
    assert made == pytest.approx(2 * 207e9 * wall * 50e-6 / diameter**2, rel=5e-3)
    assert made > contact_pressure(50e-6, diameter, diameter - 2 * wall, outer_modulus=100e9)


def test_no_overlap_presses_nothing_and_wrong_order_is_refused():
    assert contact_pressure(0.0, 0.06, 0.05) == 0
    assert contact_pressure(-1e-5, 0.06, 0.05) == 0
    with pytest.raises(InputError, match="inside"):
        contact_pressure(1e-5, 0.06, 0.07)
