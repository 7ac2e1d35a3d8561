"""Placing half shells: rules one by one, bad input, what is fitted, what to buy, what is proved."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import pytest

from bedplate.errors import ConflictError, EntryError, InputError, NotFoundError, NotPossibleError
from bedplate.shop.selection import shell_search
from bedplate.shop.selection.by_hand import moved_by_hand
from bedplate.shop.selection.model import (
    Bearing,
    Estimate,
    Grade,
    HalfShell,
    Proof,
    ShellRules,
    ShellSelection,
)
from bedplate.shop.selection.programme import Answer
from bedplate.shop.selection.shell_question import ShellQuestion
from bedplate.shop.selection.shells import select_shells, shells_to_buy

UM = 1e-6


def bearing(id="main-1", walls=4000, role="main", **more):
    """Return a bearing whose target of 40 µm needs these walls, in µm; limits are ± 20 µm."""
    return Bearing(id, role, Estimate(walls * UM, UM), 40 * UM, 20 * UM, 60 * UM, **more)


def shell(id, wall, grade="a", **more):
    return HalfShell(id, grade, Estimate(wall * UM, 0.5 * UM), **more)


def where(selection):
    return [(p.bearing, p.upper, p.lower) for p in selection.placed]


def test_over_all_bearings_the_worst_counts_before_the_total():
    # Alone, main-1 would take the two exact shells and leave main-2 8 µm off (total 8).
    # Shared, each is 4 µm off (total 8, worst 4).
    bearings = [bearing("main-1"), bearing("main-2")]
    stock = [shell("exact", 2000, count=2), shell("thick", 2004, count=2)]
    found = select_shells(bearings, stock, ShellRules())
    assert [round(p.deviation / UM) for p in found.placed] == [-4, -4]
    worst, total, grades = found.proof.goals
    assert (worst.value, total.value, grades.value) == pytest.approx((4 * UM, 8 * UM, 1))
    assert found.proof.word == "optimal"


def test_fewest_grades_decide_between_equals():
    bearings = [bearing("main-1"), bearing("main-2")]
    stock = [
        shell("a", 2000, "a", count=2),
        shell("b", 2000, "b", count=2),
        shell("c", 2000, "c", count=4),
    ]
    found = select_shells(bearings, stock, ShellRules())
    assert {p.upper_grade for p in found.placed} | {p.lower_grade for p in found.placed} == {"c"}
    assert found.left_over == (("a", 2), ("b", 2))


@pytest.mark.parametrize(("role", "upper"), [("main", "thin"), ("rod", "thick")])
def test_the_thicker_half_goes_to_the_loaded_side(role, upper):
    stock = [shell("thin", 1999), shell("thick", 2001)]
    found = select_shells([bearing(role=role)], stock, ShellRules(thicker="loaded"))
    assert found.placed[0].upper == upper
    other = select_shells([bearing(role=role)], stock, ShellRules(thicker="unloaded"))
    assert other.placed[0].lower == upper


def test_halves_that_differ_less_than_can_be_measured_go_either_way():
    stock = [shell("thin", 1999, side="lower"), shell("thick", 2001, side="upper")]
    assert not select_shells([bearing()], stock, ShellRules(thicker="loaded")).placed
    free = ShellRules(thicker="loaded", alike_within=2 * UM)
    assert select_shells([bearing()], stock, free).placed


def test_the_grooved_half_stays_on_its_side():
    stock = [shell("plain", 2000), shell("grooved", 2000, grooved=True)]
    for side, expected in (("upper", "grooved"), ("lower", "plain")):
        found = select_shells([bearing(groove=side)], stock, ShellRules())
        assert found.placed[0].upper == expected
    assert not select_shells([bearing(groove="neither")], stock, ShellRules()).placed


@pytest.mark.parametrize(
    "rules",
    [
        ShellRules(forbidden=frozenset({("b", "a")})),
        ShellRules(wall_difference=1 * UM),
        ShellRules(mixed_coating=False),
    ],
)
def test_what_a_rule_forbids_is_not_placed(rules):
    stock = [shell("one", 1999, "a"), shell("two", 2001, "b", coated=True)]
    assert select_shells([bearing()], stock, ShellRules()).placed
    found = select_shells([bearing()], stock, rules)
    assert found.placed == ()
    assert found.proof.word == ""
    assert found.why_not == "No legal pair in the box brings main-1 inside the limits."


def test_shells_that_do_not_reach_for_all_at_once():
    bearings = [bearing("main-1"), bearing("main-2")]
    stock = [shell("good", 2000, count=3), shell("far", 2100)]
    found = select_shells(bearings, stock, ShellRules())
    assert found.placed == ()
    assert found.why_not.endswith("not all of them at once.")
    assert found.left_over == (("good", 3), ("far", 1))


def test_what_to_buy_is_the_fewest_pieces_with_their_grade_and_side():
    bearings = [bearing("main-1"), bearing("main-2", 4012)]
    stock = [shell("good", 2000, count=3), shell("far", 2100)]
    catalogue = [
        Grade("a", Estimate.within(2000 * UM, UM)),
        Grade("b", Estimate.within(2012 * UM, UM)),
    ]
    rules = ShellRules(thicker="loaded")
    found = select_shells(bearings, stock, rules, catalogue=catalogue)
    assert found.placed == ()
    (piece,) = found.purchase.pieces
    assert (piece.grade, piece.side, piece.count) == ("b", "lower", 1)
    assert [p.deviation for p in found.purchase.placed] == pytest.approx([0, 0])
    assert found.purchase.proof.goals[0].value == 1
    assert found.purchase.proof.word == "optimal"
    nothing = shells_to_buy([bearing(walls=9000)], stock, rules, catalogue)
    assert nothing is None


def test_what_is_fitted_stays_and_keeps_its_own_shells():
    bearings = [bearing("main-1"), bearing("main-2")]
    stock = [shell("x1", 2000), shell("x2", 2000), shell("x3", 2003), shell("x4", 2003)]
    found = select_shells(bearings, stock, ShellRules(), fitted={"main-2": ("x2", "x1")})
    assert where(found) == [("main-1", "x3", "x4"), ("main-2", "x2", "x1")]


def test_a_forbidden_pair_already_fitted_is_refused():
    stock = [shell("x1", 2000, "a"), shell("x2", 2000, "b")]
    rules = ShellRules(forbidden=frozenset({("a", "b")}))
    with pytest.raises(NotPossibleError, match="main-1 is not allowed: b and a are a forbidden"):
        select_shells([bearing()], stock, rules, fitted={"main-1": ("x2", "x1")})
    with pytest.raises(NotFoundError, match="x9"):
        select_shells([bearing()], stock, rules, fitted={"main-1": ("x9", "x1")})
    with pytest.raises(NotFoundError, match="main-7"):
        select_shells([bearing()], stock, rules, fitted={"main-7": ("x2", "x1")})


def test_bad_input_is_refused_in_one_sentence():
    pair = [shell("x1", 2000), shell("x2", 2000)]
    with pytest.raises(NotPossibleError, match="2 bearings take 4 half shells; 2 are there"):
        select_shells([bearing("a"), bearing("b")], pair, ShellRules())
    with pytest.raises(ConflictError, match="Two shells are called x1"):
        select_shells([bearing()], [pair[0], pair[0]], ShellRules())
    with pytest.raises(ConflictError, match="Two bearings are called main-1"):
        select_shells([bearing(), bearing()], pair, ShellRules())
    with pytest.raises(InputError, match="stock of -1"):
        shell("x", 2000, count=-1)
    with pytest.raises(InputError, match="thicker than nothing"):
        shell("x", 0)
    with pytest.raises(InputError, match="within its limits"):
        replace(bearing(), low=50 * UM)
    with pytest.raises(InputError, match="grooved, and nothing says"):
        select_shells([bearing()], [*pair, shell("g", 2000, grooved=True)], ShellRules())


def test_a_book_that_asks_for_grades_is_followed():
    stock = [shell("one", 2000, "a"), shell("two", 2000, "b"), shell("three", 2000, "c")]
    asked = bearing(upper_grades=frozenset({"c"}), lower_grades=frozenset({"a", "b"}))
    found = select_shells([asked], stock, ShellRules())
    assert where(found) == [("main-1", "three", "one")]


def test_uncertainty_of_what_is_predicted():
    stock = [shell("one", 2000, measured=True), shell("two", 2000)]
    found = select_shells([bearing()], stock, ShellRules(), wall_setting=2 * UM)
    # 1 (housing − journal), 0.5 and 0.5 (walls), 2 once: only one wall was measured.
    assert found.placed[0].clearance.uncertainty == pytest.approx((1 + 0.25 + 0.25 + 4) ** 0.5 * UM)


def test_a_placement_by_hand_is_judged():
    bearings = (bearing("main-1"), bearing("main-2"))
    stock = (shell("x1", 2000), shell("x2", 2003), shell("far", 2100))
    question = ShellQuestion(
        "main shells", bearings, stock, ShellRules(), (), {}, {}, missing=(), basis=()
    )
    nothing = ShellSelection((), (), Proof())
    first = {"main-1 upper": "x1", "main-1 lower": "x2"}
    judged = moved_by_hand(
        question, nothing, {**first, "main-2 upper": "x1", "main-2 lower": "far"}
    )
    assert judged.faults[0] == "main-2: a clearance of -0.0600 mm is outside the limits"
    assert judged.faults[1] == "'x1' lies in 2 places, and there is 1"
    assert judged.worst == pytest.approx(100 * UM)
    assert judged.total == pytest.approx(103 * UM)
    alone = moved_by_hand(question, nothing, first)
    assert (alone.faults, alone.pairs[0].bearing) == ((), "main-1")
    with pytest.raises(EntryError, match="x9"):
        moved_by_hand(question, nothing, {"main-1 upper": "x9"})
    with pytest.raises(EntryError, match="main-3"):
        moved_by_hand(question, nothing, {"main-3 upper": "x1"})


def test_without_a_proof_the_word_optimal_is_not_used(monkeypatch):
    solve = shell_search.solve

    def tired(cost, rows, clock):
        answer = solve(cost, rows, clock)
        return answer if answer.impossible else replace(answer, bound=answer.value // 2)

    monkeypatch.setattr(shell_search, "solve", tired)
    stock = [shell("x1", 2000), shell("x2", 2003)]
    found = select_shells([bearing()], stock, ShellRules())
    assert found.proof.word == "best found"
    # Of 3000 nm in all, half was proved.
    assert found.proof.gap == pytest.approx(0.5)


def test_a_time_that_is_up_is_not_called_impossible(monkeypatch):
    monkeypatch.setattr(shell_search, "solve", lambda *_: Answer(None, 0, 0))
    stock = [shell("x1", 2000), shell("x2", 2003)]
    found = select_shells([bearing()], stock, ShellRules())
    assert found.placed == ()
    assert found.why_not.startswith("The time was up")


def test_no_bearings_take_no_shells():
    found = select_shells([], [shell("x1", 2000)], ShellRules())
    assert (found.placed, found.left_over) == ((), (("x1", 1),))


def test_the_solver_is_loaded_only_when_asked():
    code = "import sys, bedplate.shop.selection, bedplate.shop.ring_filing\n"
    code += "print({'numpy', 'scipy'} & set(sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "set()"
