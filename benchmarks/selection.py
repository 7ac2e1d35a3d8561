"""Which part goes where: time to the proof, and agreement with two independent searches."""

from __future__ import annotations

import importlib.util
import random
import time
from collections.abc import Callable
from typing import Any

from tests.selection_makers import (
    by_constraints,
    engine_box,
    exhaustive,
    medium_case,
    random_case,
    reached,
    set_case,
)

from bedplate.shop.selection.sets import select_sets
from bedplate.shop.selection.shells import select_shells
from benchmarks.figures import Figure, middle, percentile

_BOXES = 20
_SETS = 8
_GOOD = 0.25


def run(*, quick: bool) -> list[Figure]:
    """Time shells and sets; hold small and medium boxes to what other searches find."""
    select_shells(*engine_box(random.Random(0), {"main": 2}, 40, 3))
    figures = [
        *_shells(
            "shells of a V12: 7 mains, 12 rods, 200 shells", {"main": 7, "rod": 12}, 200, 0.05
        ),
        *_shells("shells of 16 mains, 60 shells, 9 grades", {"main": 16}, 60, 0.1),
        *_sets(8, 3.0),
    ]
    small, medium = (500, 10) if quick else (10_000, 200)
    print(_agreement("trying every placement", small, random_case, exhaustive), flush=True)
    if importlib.util.find_spec("ortools"):
        print(_agreement("a constraint solver", medium, medium_case, by_constraints), flush=True)
    else:
        print("NOT HELD to a constraint solver: ortools is not installed.", flush=True)
    return figures


def _shells(what: str, counts: dict[str, int], shells: int, wanted: float) -> list[Figure]:
    times, theirs = [], []
    have = importlib.util.find_spec("ortools") is not None
    for seed in range(_BOXES):
        case = engine_box(random.Random(seed), counts, shells, 9)
        begin = time.perf_counter()
        found = select_shells(*case)
        times.append(time.perf_counter() - begin)
        assert found.proof.word in {"optimal", ""}
        assert found.proof.word or not found.why_not.startswith("The time")
        if have and seed < 5:
            theirs.append(_constraints_take(case))
    peer = "the same by CP-SAT" if theirs else ""
    return [
        Figure(f"{what}, middle of {_BOXES}", middle(times), wanted, peer, middle(theirs or [0.0])),
        Figure(f"{what}, slowest", max(times), wanted),
    ]


def _constraints_take(case: tuple[Any, ...]) -> float:
    begin = time.perf_counter()
    by_constraints(*case)
    return time.perf_counter() - begin


def _sets(number: int, wanted: float) -> list[Figure]:
    times, quick, gaps = [], [], []
    for seed in range(_SETS):
        kinds, fits = set_case(random.Random(seed), number)
        begin = time.perf_counter()
        best = select_sets(kinds, fits, first="weight", tolerance=5e-4)
        times.append(time.perf_counter() - begin)
        assert best.proof.word == "optimal"
        begin = time.perf_counter()
        good = select_sets(kinds, fits, first="weight", tolerance=5e-4, time_limit=_GOOD)
        quick.append(time.perf_counter() - begin)
        assert good.proof.goals[0].value >= best.proof.goals[0].value - 1e-9
        gaps.append(good.proof.goals[1].value / best.proof.goals[1].value - 1)
    what = f"{number} sets of five parts"
    print(f"{what}: an answer in {_GOOD} s lies {100 * max(gaps):.0f} % above the best at most.")
    return [
        Figure(f"{what}, a good answer, slowest", max(quick), 0.3),
        Figure(f"{what}, proved, middle of {_SETS}", middle(times), wanted),
        Figure(f"{what}, proved, slowest", percentile(times, 1), wanted),
    ]


def _agreement(who: str, count: int, make: Callable[..., Any], other: Callable[..., Any]) -> str:
    """Place random boxes both ways; return how many agreed, and stop at one that does not."""
    source, placed = random.Random(7), 0
    for number in range(count):
        case = make(source)
        mine, theirs = reached(select_shells(*case)), other(*case)
        assert mine == theirs, f"box {number}: {mine} here, {theirs} by {who}"
        placed += mine is not None
    return f"{count} random boxes ({placed} can be placed) agree with {who}."
