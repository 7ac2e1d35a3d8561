"""A gear pressed on the crank and a cam in its tunnel, from the plan to the verdict."""

from __future__ import annotations

from pathlib import Path

import pytest

from bedplate import demo
from bedplate.documents.sheet import contents
from bedplate.engine import examples
from bedplate.metrology import Verdict
from bedplate.shop import State
from bedplate.workshop import Workshop

BY = "a tester"


def _filled(folder: Path, example: str, off: dict[str, float] | None = None) -> State:
    workshop = Workshop.open(folder)
    names = ("crank gear", "camshaft")
    demo.fill(
        workshop, examples()[example], "b", off=off,
        wanted=lambda feature: feature.name.lower().startswith(names),
    )  # fmt: skip
    return workshop.state("b")


@pytest.mark.parametrize(
    ("example", "name", "target"),
    [
        ("in-line-four-frame", "crank-gear-bore-press", 34e-6),
        ("flat-four", "camshaft-clearance", 40e-6),
    ],
)
def test_an_invented_build_comes_out_near_the_target(
    tmp_path: Path, example: str, name: str, target: float
) -> None:
    fit = _filled(tmp_path, example).fits[name]
    assert fit.value == pytest.approx(target, abs=12e-6)
    assert fit.verdict is Verdict.INSIDE


def test_a_wide_gear_is_a_press_too_loose(tmp_path: Path) -> None:
    state = _filled(tmp_path, "in-line-four-frame", {"crank-gear-bore": 30e-6})
    fit = state.fits["crank-gear-bore-press"]
    assert fit.value == pytest.approx(4e-6, abs=12e-6)
    assert fit.verdict is Verdict.OUTSIDE


def test_least_press_is_least_shaft_less_greatest_hole(tmp_path: Path) -> None:
    state = _filled(tmp_path, "in-line-four-frame")
    fit, hole, shaft = (
        state.fits["crank-gear-bore-press"],
        state.features["crank-gear-bore"],
        state.features["crank-gear-seat"],
    )
    assert hole.size is not None
    assert shaft.size is not None
    least = shaft.size.least.nominal_value - hole.size.greatest.nominal_value
    greatest = shaft.size.greatest.nominal_value - hole.size.least.nominal_value
    assert (fit.least, fit.greatest) == (pytest.approx(least), pytest.approx(greatest))
    assert fit.least < fit.value < fit.greatest


def test_rework_of_either_part_makes_the_press_stale(tmp_path: Path) -> None:
    workshop = Workshop.open(tmp_path)
    demo.fill(workshop, examples()["in-line-four-frame"], "b")
    workshop.rework("b", "crank gear", ["crank-gear-bore"], "honed", by=BY)
    state = workshop.state("b")
    assert {f.fit.id for f in state.fits.values() if f.stale} == {"crank-gear-bore-press"}


def test_the_plan_asks_for_the_shaft_first_each_with_its_own_gauge(tmp_path: Path) -> None:
    workshop = Workshop.open(tmp_path)
    workshop.start(examples()["in-line-four-frame"], by=BY, build="b")
    groups = [(g.title, g.gauge_kind) for g in workshop.state("b").plan]
    shaft = groups.index(("Crank gear seat", "outside micrometer"))
    assert shaft < groups.index(("Crank gear bore", "bore gauge"))


def test_the_sheet_calls_a_press_by_its_name_and_draws_its_parts_apart(tmp_path: Path) -> None:
    workshop = Workshop.open(tmp_path)
    workshop.start(examples()["in-line-four-frame"], by=BY, build="b")
    groups = {g["title"]: g for g in contents(workshop.state("b"))["groups"]}
    bore, seat = groups["Crank gear bore"], groups["Crank gear seat"]
    assert "Crank gear bore press" in str(bore)
    pictures = [g["features"][0]["rows"][0]["picture"] for g in (bore, seat)]
    assert pictures[0] != pictures[1]


@pytest.mark.parametrize(("kind", "crown_counts"), [("press", False), ("clearance", True)])
def test_only_a_bearing_has_a_crown_that_differs_from_its_sides(
    tmp_path: Path, kind: str, crown_counts: bool
) -> None:
    """Where the file says that the crown counts, it does; a press says nothing of its sides."""
    words = ('kind   = "clearance"  ', 'limits = "0.020..0.062 mm"', 'target = "0.040 mm"')
    text = examples()["flat-four"]
    for old, new in zip(words, (f'kind = "{kind}"  ', 'limits = "1..90 µm"', ""), strict=True):
        assert old in text
        text = text.replace(old, new, 1)
    text = text.replace('name   = "camshaft clearance"', 'axis = ["crown"]')
    workshop = Workshop.open(tmp_path)
    demo.fill(workshop, text, "b", wanted=lambda f: f.name.startswith("Camshaft"))
    state = workshop.state("b")
    fit, hole = state.fits[f"camshaft-bearing-bore-{kind}"], state.features["camshaft-bearing-bore"]
    assert (fit.eccentricity is not None) is crown_counts
    assert hole.size is not None
    crown = [s.value.nominal_value for s in hole.size.stations if s.station.startswith("crown")]
    shaft = state.features["camshaft-journal"].size
    assert shaft is not None
    gap = sum(crown) / len(crown) - shaft.mean.nominal_value
    assert fit.value == pytest.approx(gap if kind == "clearance" else -gap)
