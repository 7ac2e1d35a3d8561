"""Pistons, pins, rods and rings put together for an invented straight six."""

from __future__ import annotations

from math import hypot, pi
from pathlib import Path

import pytest

from bedplate import demo
from bedplate.cli import main
from bedplate.engine import examples
from bedplate.errors import InputError, NotPossibleError
from bedplate.shop.ordering import draft
from bedplate.shop.rings import rings_of
from bedplate.shop.selection.outcomes import selections_of
from bedplate.web.views.sets import sets_view
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


def packs(*gaps: str, gauge: str = "84.500 mm") -> bytes:
    """Return invented ring packs with their top gaps in a gauge bore, as CSV."""
    head = "identity,part,top ring gap,top ring gap uncertainty,gauge bore,gauge bore uncertainty"
    lines = [f"K{n + 1},ring pack,{gap},0.02 mm,{gauge},0.002 mm" for n, gap in enumerate(gaps)]
    return "\n".join([head, *lines]).encode()


@pytest.fixture
def bored(tmp_path: Path) -> Workshop:
    """Return a workshop with the bores of the six measured."""
    workshop = Workshop.open(tmp_path)
    demo.fill(
        workshop, examples()["straight-six"], SIX, seed=6,
        wanted=lambda f: f.kind in {"cylinder bore", "piston"},
    )  # fmt: skip
    return workshop


def test_ring_packs_go_to_the_bores_by_their_gaps(bored: Workshop) -> None:
    """The target is 0.0055 of the bore; a gap grows by π for each unit of bore."""
    free = [0.40, 0.42, 0.44, 0.41, 0.43, 0.45]
    bored.add_parts(SIX, packs(*(f"{gap:.2f} mm" for gap in free)), "packs.csv", by=WHO)
    question, found = bored.set_selection(SIX)
    assert [fit.name for fit in question.fits] == ["ring pack gaps"]
    rings = {ring.cylinder: ring for ring in rings_of(bored.state(SIX)) if ring.groove == "top"}
    for one in found.sets:
        (gap,) = one.fits
        ring = rings[one.parts["cylinder bore"]]
        bore = ring.smallest.bore.value
        first = free[int(one.parts["ring pack"][1:]) - 1] * 1e-3
        assert gap.clearance.value == pytest.approx(first + pi * (bore - 84.5e-3), abs=1e-9)
        assert gap.to_file == pytest.approx(0.0055 * bore - gap.clearance.value, abs=1e-9)
        # 0.02 mm of the gap with k = 2, and π times the two bores.
        across = hypot(ring.smallest.bore.uncertainty, 0.001e-3)
        assert gap.clearance.uncertainty == pytest.approx(hypot(0.01e-3, pi * across))
    assert found.proof.word == "optimal"
    total = sum(gap.to_file for one in found.sets for gap in one.fits)
    assert found.proof.goals[0].value == pytest.approx(total, abs=1e-8)


def test_a_chosen_ring_asks_to_be_measured_before_it_is_filed(bored: Workshop) -> None:
    bored.add_parts(SIX, packs(*["0.40 mm"] * 6), "packs.csv", by=WHO)
    bored.select_sets(SIX, by=WHO)
    (made,) = selections_of(bored.state(SIX))
    assert {o.fit for o in made.outcomes} == {f"top-ring-gap-{n}" for n in range(1, 7)}
    assert {o.measured for o in made.outcomes} == {None}
    predicted = {o.fit: o.predicted for o in made.outcomes}
    bored.register_gauge(
        SIX, "feelers", by=WHO, gauge_kind="feeler gauge", comparator=False,
        resolution="0.01 mm", expanded_uncertainty="0.01 mm", repeatability="0.005 mm",
    )  # fmt: skip

    def read(number: str, more: float) -> None:
        feature = bored.state(SIX).features[f"top-ring-gap-{number}"].feature
        value = f"{(predicted[feature.id] + more) * 1e3:.3f} mm"
        for station in feature.stations:
            bored.read(SIX, feature.id, station.id, value, "feelers", by=WHO)

    read("1", 0.0)
    read("2", 0.08e-3)
    bored.file_ring(SIX, "top-ring-gap-1", 6, by=WHO, bag="1 top")
    read("1", 0.06e-3)  # filed: wider than predicted, and rightly so
    (made,) = selections_of(bored.state(SIX))
    outcomes = {o.fit: o for o in made.outcomes}
    assert outcomes["top-ring-gap-1"].difference == pytest.approx(0.0, abs=1e-6)
    assert not outcomes["top-ring-gap-1"].off
    assert outcomes["top-ring-gap-2"].off
    bored.file_ring(SIX, "top-ring-gap-3", 6, by=WHO, bag="3 top")
    read("3", 0.05e-3)
    (made,) = selections_of(bored.state(SIX))
    # Filed before anybody measured: what was predicted can no longer be checked.
    assert {o.fit: o.measured for o in made.outcomes}["top-ring-gap-3"] is None


def test_a_bore_that_is_honed_after_the_choice_ends_its_predictions(bored: Workshop) -> None:
    bored.add_parts(SIX, packs(*["0.40 mm"] * 6), "packs.csv", by=WHO)
    bored.select_sets(SIX, by=WHO)
    bored.rework(SIX, "block", ["cylinder-bore-3"], "honed again", by=WHO)
    (made,) = selections_of(bored.state(SIX))
    assert {o.fit for o in made.outcomes} == {f"top-ring-gap-{n}" for n in (1, 2, 4, 5, 6)}
    (changed,) = made.changed
    assert "Top ring gap 3 does not hold: Cylinder bore 3 was reworked: honed again" in changed


def test_a_pack_without_its_gauge_bore_is_left_out_in_words(bored: Workshop) -> None:
    bored.add_parts(SIX, packs(*["0.40 mm"] * 6), "packs.csv", by=WHO)
    bored.add_part(SIX, {"identity": "K3", "part": "ring pack", "top ring gap": "0.4 mm",
                         "top ring gap uncertainty": "0.02 mm"}, by=WHO)  # fmt: skip
    question, _ = bored.set_selection(SIX)
    assert question.fits == ()
    assert "'K3' has no gauge bore" in question.missing


def test_single_rings_go_by_their_gaps_too(bored: Workshop) -> None:
    lines = packs(*["0.40 mm"] * 6).replace(b"ring pack", b"top ring")
    bored.add_parts(SIX, lines, "rings.csv", by=WHO)
    question, found = bored.set_selection(SIX)
    assert [kind.name for kind in question.kinds] == ["cylinder bore", "top ring"]
    assert [fit.name for fit in found.sets[0].fits] == ["top ring gap"]


def test_packs_that_are_too_wide_for_every_bore_are_refused(bored: Workshop) -> None:
    bored.add_parts(SIX, packs("0.95 mm", *["0.40 mm"] * 5), "packs.csv", by=WHO)
    before = bored.state(SIX).checkpoint
    with pytest.raises(NotPossibleError, match="ring pack gaps: no pairing"):
        bored.select_sets(SIX, by=WHO)
    assert bored.state(SIX).checkpoint == before


@pytest.mark.parametrize("over", ["bare metal", ""])
def test_a_piston_measured_before_it_was_coated_is_put_nowhere(bored: Workshop, over: str) -> None:
    """The engine file has pistons measured over bare metal, so what nobody says is that."""
    bored.add_parts(SIX, parts(), "parts.csv", by=WHO)
    coated = {"identity": "P4", "part": "piston", "size": "84.415 mm", "weight": "411.2 g",
              "size uncertainty": "0.002 mm", "coated": "yes", "measured over": over}  # fmt: skip
    bored.add_part(SIX, coated, by=WHO)
    before = bored.state(SIX).checkpoint
    with pytest.raises(NotPossibleError) as caught:
        bored.select_sets(SIX, by=WHO)
    assert caught.value.sentence == "'P4' was measured before it was coated."
    assert bored.state(SIX).checkpoint == before
    bored.add_part(SIX, {**coated, "measured over": "coating"}, by=WHO)
    assert len(bored.set_selection(SIX)[1].sets) == 6


def test_fewer_pistons_than_bores_are_said_with_both_counts(bored: Workshop) -> None:
    bored.add_parts(SIX, parts(5), "parts.csv", by=WHO)
    with pytest.raises(InputError, match="There are 5 of piston and 6 of cylinder bore"):
        bored.select_sets(SIX, by=WHO)


def test_page_and_terminal_say_what_is_to_be_filed(
    bored: Workshop, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bored.add_parts(SIX, packs(*["0.40 mm"] * 6), "packs.csv", by=WHO)
    bored.select_sets(SIX, by=WHO)
    bored.rework(SIX, "block", ["cylinder-bore-3"], "honed", by=WHO)
    bored.register_gauge(
        SIX, "three-point", by=WHO, gauge_kind="three-point bore gauge", comparator=False,
        resolution="0.001 mm", expanded_uncertainty="0.002 mm", repeatability="0.0005 mm",
    )  # fmt: skip
    for station in bored.state(SIX).features["cylinder-bore-3"].feature.stations:
        bored.read(SIX, "cylinder-bore-3", station.id, "84.520 mm", "three-point", by=WHO)
    view = sets_view(bored, bored.state(SIX))
    assert all(off.endswith("to file") for one in view.sets for _, _, off, _ in one.fits)
    assert len(view.sets) == 6
    assert any("Top ring gap 3 does not hold" in line for line in view.changed)
    assert main(["--data", str(tmp_path), "select", SIX, "sets"]) == 0
    said = capsys.readouterr().out
    assert said.count("top ring gap") == 6
    assert said.count("  file 0.0") == 6
    assert "A prediction is no record: measure each fit." in said
