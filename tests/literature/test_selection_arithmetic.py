"""Shell arithmetic worked in print or by hand, and assignments from textbooks."""

import pytest

from bedplate.shop.selection.model import Bearing, Estimate, HalfShell, ShellRules
from bedplate.shop.selection.shells import predicted, select_shells

INCH = 0.0254
MICRON = 1e-6


def half(id, wall, uncertainty=0.0):
    return HalfShell(id, "", Estimate(wall, uncertainty))


def test_housing_less_two_walls_less_journal():
    # Worked by hand: 2.6410 − 2 × 0.0952 − 2.4481 = 0.0025 in; one half 0.0005 in thicker: 0.0020.
    room = Estimate(2.6410 * INCH).less(Estimate(2.4481 * INCH))
    bearing = Bearing.measured("main", "main", room, (0.0, 0.0025 * INCH, 0.01 * INCH))
    thin, thick = half("thin", 0.0952 * INCH), half("thick", 0.0957 * INCH)
    assert predicted(bearing, thin, thin).value == pytest.approx(0.0025 * INCH, abs=1e-12)
    assert predicted(bearing, thick, thin).value == pytest.approx(0.0020 * INCH, abs=1e-12)


def test_uncertainty_of_a_clearance_from_two_expanded_uncertainties():
    # GUM 5.1.2: 3 and 4 µm (k = 2 each) of two sizes that share nothing make 5 µm (k = 2).
    room = Estimate(2.6, 1.5e-6).less(Estimate(2.4, 2e-6))
    assert 2 * room.uncertainty == pytest.approx(5e-6)


def test_a_tolerance_is_known_as_a_rectangle():
    # GUM 4.3.7: limits ± a, nothing else known: u = a/√3.
    assert Estimate.within(2e-3, 3e-6).uncertainty == pytest.approx(1.7320508e-6)


def test_taha_jobs_and_children_through_the_programme():
    # H. A. Taha, Operations Research: An Introduction, 8th ed., section 5.4, example 5.4-1
    # (costs from memory): 15 10 9 / 9 15 10 / 10 12 8 has its optimum at 27.
    import numpy as np

    from bedplate.shop.selection.programme import Clock, Rows, solve

    costs = np.array([[15, 10, 9], [9, 15, 10], [10, 12, 8]])
    row, column = np.divmod(np.arange(9), 3)
    place, one = np.arange(9), np.ones(3)
    answer = solve(
        costs.ravel(),
        [Rows(row, place, one, one), Rows(column, place, one, one)],
        Clock(5),
    )
    assert (answer.value, answer.bound) == (27, 27)
    assert [divmod(int(n), 3) for n in answer.taken] == [(0, 1), (1, 0), (2, 2)]


@pytest.mark.parametrize("columns", [(0, 1, 2), (2, 0, 1)])
def test_one_bearing_takes_the_nearest_sum(columns):
    bearing = Bearing("rod", "rod", Estimate(4e-3), 50 * MICRON, 0, 200 * MICRON)
    walls = [1995, 2002, 2010]
    stock = [half(f"shell-{walls[c]}", walls[c] * MICRON) for c in columns]
    placed = select_shells([bearing], stock, ShellRules()).placed[0]
    assert {placed.upper, placed.lower} == {"shell-1995", "shell-2002"}
    assert placed.deviation == pytest.approx(3 * MICRON)
