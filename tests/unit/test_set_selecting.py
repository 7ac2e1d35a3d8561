"""Pistons, pins, rods and rings put together for an invented straight six."""

from __future__ import annotations

from pathlib import Path

import pytest

from bedplate import demo
from bedplate.engine import examples
from bedplate.errors import InputError, NotPossibleError
from bedplate.shop.ordering import draft
from bedplate.shop.selecting import selections_of
from bedplate.workshop import Workshop

WHO = "a tester"
SIX = "six"
PISTONS = (411.6, 412.9, 412.1, 411.2, 413.0, 412.4)
PINS = (118.0, 117.2, 117.9, 118.6, 116.9, 117.5)
RODS = (598.2, 597.0, 599.1, 597.7, 598.8, 596.9)


def parts(count: int = 6) -> bytes:
    """Return invented pistons, pins and rods as CSV."""
    lines = [
        (
            "identity,part,size,size uncertainty,pin hole,pin hole uncertainty,pin,pin uncertainty,"
            "small end,small end uncertainty,weight"
        )
    ]
    for n in range(count):
        hole, pin, end = 22.007 + 0.0005 * n, 21.998 + 0.0003 * n, 22.015 + 0.0004 * (n % 3)
        lines += [
            (
                f"P{n + 1},piston,{84.412 + 0.001 * n:.3f} mm,0.002 mm,{hole:.4f} mm,0.002 mm,,,,,"
                f"{PISTONS[n]} g"
            ),
            f"pin {n + 1},piston pin,,,,,{pin:.4f} mm,0.001 mm,,,{PINS[n]} g",
            f"R{n + 1},rod,,,,,,,{end:.4f} mm,0.002 mm,{RODS[n]} g",
        ]
    return "\n".join(lines).encode()


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    workshop = Workshop.open(tmp_path)
    demo.fill(workshop, examples()["straight-six"], SIX, seed=6, wanted=lambda _: False)
    return workshop


def test_pairing_evens_the_sets_out_before_anything_is_ground(workshop: Workshop) -> None:
    workshop.add_parts(SIX, parts(), "parts.csv", by=WHO)
    question, found = workshop.set_selection(SIX)
    assert [kind.name for kind in question.kinds] == ["piston", "piston pin", "rod"]
    assert any("bores are left out" in line for line in question.missing)
    assert len(found.sets) == 6
    totals = sorted(a + b + c for a, b, c in zip(PISTONS, PINS, RODS, strict=True))
    assert found.spread * 1e3 <= totals[-1] - totals[0]
    weights = [one.weight for one in found.sets]
    assert found.spread == pytest.approx(max(weights) - min(weights))
    for one in found.sets:
        assert one.to_remove == pytest.approx(max(0.0, one.to_lightest - 0.001), abs=1e-9)
    workshop.select_sets(SIX, by=WHO)
    (made,) = selections_of(workshop.state(SIX))
    assert len(made.made.placed) == 18
    assert {p.fit for p in made.made.predicted} >= {"pin-in-piston-1", "pin-in-rod-6"}


def test_the_order_is_worked_out_from_the_piston_that_was_chosen(workshop: Workshop) -> None:
    workshop.add_parts(SIX, parts(), "parts.csv", by=WHO)
    workshop.select_sets(SIX, by=WHO)
    (made,) = selections_of(workshop.state(SIX))
    chosen = {placed.place: placed.identity for placed in made.made.placed}
    rows = {row.row: row for row in draft(workshop.state(SIX)).rows}
    for number in "123456":
        identity = chosen[f"piston {number}"]
        size = 84.412e-3 + 1e-6 * (int(identity[1:]) - 1)
        row = rows[f"cylinder-bore-{number}"]
        assert f"({identity})" in row.basis
        assert row.aim == pytest.approx(size + 0.085e-3, abs=2.6e-6)


def test_too_few_of_a_kind_are_refused(workshop: Workshop) -> None:
    with pytest.raises(NotPossibleError):
        workshop.set_selection(SIX)
    workshop.add_parts(SIX, parts(), "parts.csv", by=WHO)
    workshop.use_part(SIX, "R6", 1, "scrap", by=WHO)
    before = workshop.state(SIX).checkpoint
    with pytest.raises((InputError, NotPossibleError)):
        workshop.select_sets(SIX, by=WHO)
    assert workshop.state(SIX).checkpoint == before
