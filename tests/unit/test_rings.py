"""Rings filed in their own bores, on an invented straight six."""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest

from bedplate import demo
from bedplate.engine import examples
from bedplate.errors import EntryError, NotFoundError, NotPossibleError
from bedplate.shop.rings import RingState, rings_of
from bedplate.workshop import Workshop

WHO = "a tester"
SIX = "six"
TOP = "top-ring-gap-3"


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    workshop = Workshop.open(tmp_path)
    demo.fill(
        workshop,
        examples()["straight-six"],
        SIX,
        seed=6,
        wanted=lambda f: f.kind == "cylinder bore" and f.number in "12345",
    )
    workshop.register_gauge(
        SIX, "feelers", by=WHO, gauge_kind="feeler gauge", comparator=False,
        resolution="0.02 mm", expanded_uncertainty="0.013 mm", repeatability="0.006 mm",
    )  # fmt: skip
    return workshop


def ring(workshop: Workshop, feature: str = TOP) -> RingState:
    return next(r for r in rings_of(workshop.state(SIX)) if r.feature.id == feature)


def gap(workshop: Workshop, text: str, feature: str = TOP) -> None:
    workshop.read(SIX, feature, "gap", text, "feelers", by=WHO)


def test_the_target_comes_from_the_smallest_section_of_the_bore_as_measured(
    workshop: Workshop,
) -> None:
    """Gap factor times the bore; sources of the factor are the engine file's own."""
    size = workshop.state(SIX).features["cylinder-bore-3"].size
    assert size is not None
    by_depth = {}
    for station in size.stations:
        by_depth.setdefault(station.station.split("-")[0], []).append(
            float(station.value.nominal_value)
        )
    smallest = min(sum(values) / len(values) for values in by_depth.values())
    held = ring(workshop)
    assert held.smallest is not None
    assert held.smallest.bore.value == pytest.approx(smallest, abs=1e-12)
    assert held.target == pytest.approx(0.0055 * smallest)
    assert held.bag == "3 top"
    assert held.missing == "its gap is not measured yet"
    assert held.offered
    assert held.apart > 0


def test_first_gap_strokes_and_what_remains(workshop: Workshop) -> None:
    gap(workshop, "0.30 mm")
    workshop.file_ring(SIX, TOP, 20, by=WHO, bag="3 top")
    assert ring(workshop).filing is not None
    assert workshop.state(SIX).features[TOP].stale
    gap(workshop, "0.38 mm")
    filing = ring(workshop).filing
    assert filing is not None
    assert filing.first == pytest.approx(0.30e-3)
    assert filing.now.value == pytest.approx(0.38e-3)
    assert filing.strokes == 20
    assert filing.remaining == pytest.approx((ring(workshop).target or 0) - 0.38e-3)
    # 4 µm a stroke; it stops one feeler and the uncertainty before the target.
    assert filing.strokes_left is not None
    assert 0 <= filing.strokes_left * 4e-6 <= filing.remaining - 0.02e-3
    size = workshop.state(SIX).features[TOP].size
    assert size is not None
    assert float(size.mean.nominal_value) == pytest.approx(0.38e-3)


def test_a_ring_that_is_too_big_is_said_with_what_to_do(workshop: Workshop) -> None:
    gap(workshop, "0.60 mm")
    filing = ring(workshop).filing
    assert filing is not None
    assert filing.standing == "too big"
    assert "do not fit it here" in filing.what_to_do


def test_the_bag_in_the_hand_is_checked(workshop: Workshop) -> None:
    gap(workshop, "0.30 mm")
    before = workshop.state(SIX).checkpoint
    with pytest.raises(NotPossibleError) as caught:
        workshop.file_ring(SIX, TOP, 5, by=WHO, bag="2 top")
    assert "says '2 top', and this is ring 3 top" in caught.value.sentence
    with pytest.raises(EntryError):
        workshop.file_ring(SIX, TOP, 0, by=WHO)
    with pytest.raises(NotFoundError):
        workshop.file_ring(SIX, "top-ring-gap-9", 5, by=WHO)
    assert workshop.state(SIX).checkpoint == before


def test_honing_the_bore_again_asks_for_bore_and_gap_anew(workshop: Workshop) -> None:
    for number in "23":
        gap(workshop, "0.44 mm", f"top-ring-gap-{number}")
    assert ring(workshop).filing is not None
    workshop.rework(SIX, "block", ["cylinder-bore-3"], "honed again", by=WHO)
    stale = ring(workshop)
    assert (stale.target, stale.filing) == (None, None)
    assert "Cylinder bore 3 is to be measured again" in stale.missing
    assert "honed again" in stale.missing
    assert ring(workshop, "top-ring-gap-2").filing is not None


def test_a_bore_that_is_not_measured_leaves_its_rings_waiting(workshop: Workshop) -> None:
    held = ring(workshop, "top-ring-gap-6")
    assert held.target is None
    assert "Cylinder bore 6 is to be measured" in held.missing


def test_a_gap_opens_by_pi_for_each_unit_of_bore() -> None:
    """Bore up 0.01 mm, gap up 0.0314 mm: the ring's length stays (circumference is π·bore)."""
    from bedplate.shop.ring_filing import gap_in

    assert gap_in(0.40e-3, 86.00e-3, 86.01e-3) - 0.40e-3 == pytest.approx(pi * 0.01e-3)
