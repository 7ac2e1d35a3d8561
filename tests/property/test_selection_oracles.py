"""Placements held to two independent searches: every placement tried, and a constraint solver."""

import importlib.util
import random

import pytest
from tests.selection_makers import (
    CATALOGUE,
    by_constraints,
    deviation,
    exhaustive,
    fewest_bought,
    medium_case,
    random_case,
    reached,
    set_case,
    sets_by_constraints,
)

from bedplate.shop.selection.sets import select_sets
from bedplate.shop.selection.shells import select_shells, shells_to_buy

constraint_solver = pytest.mark.skipif(
    importlib.util.find_spec("ortools") is None,
    reason="THE CONSTRAINT SOLVER IS NOT INSTALLED, so nothing is held to it: make oracles",
)


@pytest.mark.parametrize("seed", range(10))
def test_small_boxes_are_placed_as_well_as_trying_every_placement(seed):
    source = random.Random(seed)
    placed = 0
    for _ in range(100):
        case = random_case(source)
        selection = select_shells(*case)
        assert reached(selection) == exhaustive(*case)
        assert selection.proof.word == ("optimal" if selection.placed else "")
        placed += bool(selection.placed)
    assert 25 < placed < 95


@pytest.mark.parametrize("seed", range(4))
def test_what_is_placed_is_what_the_goals_say_and_leaves_the_rest(seed):
    source = random.Random(1000 + seed)
    for _ in range(50):
        bearings, stock, rules = random_case(source)
        selection = select_shells(bearings, stock, rules)
        if not selection.placed:
            continue
        shells = {s.id: s for s in stock}
        away = [
            abs(deviation(b, shells[p.upper], shells[p.lower]))
            for b, p in zip(bearings, selection.placed, strict=True)
        ]
        worst, total, _ = reached(selection)
        assert (max(away), sum(away)) == (worst, total)
        used = [id for p in selection.placed for id in (p.upper, p.lower)]
        left = dict(selection.left_over)
        assert all(used.count(s.id) + left.get(s.id, 0) == s.count for s in stock)


@pytest.mark.parametrize("seed", range(4))
def test_no_fewer_pieces_would_do(seed):
    source = random.Random(2000 + seed)
    helped = 0
    for _ in range(40):
        bearings, stock, rules = random_case(source, most_bearings=2, most_kinds=3, spare=2)
        purchase = shells_to_buy(bearings, stock, rules, CATALOGUE)
        fewest = fewest_bought(bearings, stock, rules, CATALOGUE)
        assert (purchase is None) == (fewest is None)
        if purchase:
            assert sum(piece.count for piece in purchase.pieces) == fewest
            assert purchase.proof.word == "optimal"
            helped += fewest > 0
    assert helped > 3


@constraint_solver
@pytest.mark.parametrize("seed", range(20))
def test_medium_boxes_are_placed_as_well_as_by_a_constraint_solver(seed):
    source = random.Random(3000 + seed)
    for _ in range(2):
        case = medium_case(source)
        selection = select_shells(*case)
        assert reached(selection) == by_constraints(*case)
        assert selection.proof.word == ("optimal" if selection.placed else "")


@constraint_solver
@pytest.mark.parametrize(
    ("number", "first", "seed"),
    [(5, "weight", 1), (5, "weight", 0), (5, "weight", 3), (4, "fit", 0), (4, "fit", 2)],
)
def test_sets_are_put_together_as_well_as_by_a_constraint_solver(number, first, seed):
    case = set_case(random.Random(seed), number)
    found = select_sets(*case, first=first, tolerance=5e-4)
    scale = {"kg": 1e5, "m": 1e9}
    goals = tuple(round(goal.value * scale[goal.unit]) for goal in found.proof.goals)
    assert goals == sets_by_constraints(*case, first, 5e-4)
    assert found.proof.word == "optimal"


def test_eight_cylinders_are_proved_and_a_hurry_is_kept():
    case = set_case(random.Random(2), 8)
    best = select_sets(*case, first="weight", tolerance=5e-4, time_limit=60)
    assert best.proof.word == "optimal"
    hasty = select_sets(*case, first="weight", tolerance=5e-4, time_limit=0.02)
    for goal, least in zip(hasty.proof.goals, best.proof.goals, strict=True):
        assert goal.bound <= goal.value
        assert goal.bound <= least.value + 1e-12
    assert hasty.proof.goals[0].value >= best.proof.goals[0].value - 1e-12
