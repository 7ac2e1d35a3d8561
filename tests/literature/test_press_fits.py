"""Presses and clearances of an engine file, judged by the limits of standard fits."""

from __future__ import annotations

from pathlib import Path

import pytest
from pressfit import fit
from tests.engine_makers import engine_text

from bedplate.metrology import Verdict
from bedplate.shop import FitState
from bedplate.workshop import Workshop

BY = "a tester"
U_CALIBRATION = 4e-6
REPEATABILITY = 0.3e-6
STEP = 0.1e-6


def _limits(spec: str, *, press: bool) -> tuple[int, int]:
    """Return least and greatest interference or clearance of a standard fit, µm."""
    table = fit(spec)
    least = table.shaft_ei_um - table.hole_es_um
    greatest = table.shaft_es_um - table.hole_ei_um
    return (round(least), round(greatest)) if press else (round(-greatest), round(-least))


def _engine(kind: str, low: int, high: int, nominal: int) -> str:
    return engine_text(
        tail=f"""
[[feature]]
name = "gear bore"
part = "gear"
shape = "hole"
[[feature]]
name = "gear seat"
part = "crank"
shape = "shaft"
nominal = "{nominal} mm"
[[fit]]
kind = "{kind}"
hole = "gear bore"
shaft = "gear seat"
limits = "{low / 1e3:.3f}..{high / 1e3:.3f} mm"
source = "ISO 286-2"
"""
    )


def _measured(
    folder: Path, kind: str, spec: str, hole: str, shaft: str, gauges: tuple[str, str]
) -> FitState:
    """Return the fit with one reading of each surface, mm, hole and shaft by the gauges named."""
    workshop = Workshop.open(folder)
    limits = _limits(spec, press=kind == "press")
    workshop.start(_engine(kind, *limits, int(spec.partition(" ")[0])), by=BY, build="b")
    for gauge in dict.fromkeys(gauges):
        workshop.register_gauge(
            "b", gauge, by=BY, gauge_kind="outside micrometer", resolution="0.0001 mm",
            expanded_uncertainty=f"{U_CALIBRATION * 1e3:.4f} mm",
            repeatability=f"{REPEATABILITY * 1e3:.4f} mm", reads_in="mm",
        )  # fmt: skip
    workshop.read("b", "gear-bore", "diameter", f"{hole} mm", gauges[0], by=BY)
    workshop.read("b", "gear-seat", "diameter", f"{shaft} mm", gauges[1], by=BY)
    (state,) = workshop.state("b").fits.values()
    return state


def test_the_limits_of_a_press_fit_are_the_files_limits(tmp_path: Path) -> None:
    # ISO 286-2: 50 H7 is 0/+25 µm, 50 p6 is +26/+42 µm: interference 1 to 42 µm.
    state = _measured(tmp_path, "press", "50 H7/p6", "50.0100", "50.0350", ("mic", "mic"))
    (limit,) = state.fit.limits
    assert (limit.range.low, limit.range.high) == (pytest.approx(1e-6), pytest.approx(42e-6))
    assert state.value == pytest.approx(25e-6)
    assert state.verdict is Verdict.INSIDE


@pytest.mark.parametrize(
    ("hole", "shaft", "verdict"),
    [
        ("50.0250", "50.0300", Verdict.INSIDE),
        ("50.0250", "50.0260", Verdict.UNDECIDED),
        ("50.0000", "50.0420", Verdict.UNDECIDED),
        ("50.0300", "50.0260", Verdict.OUTSIDE),
        ("49.9900", "50.0420", Verdict.OUTSIDE),
    ],
)
def test_a_press_outside_its_table_is_outside(
    tmp_path: Path, hole: str, shaft: str, verdict: Verdict
) -> None:
    state = _measured(tmp_path, "press", "50 H7/p6", hole, shaft, ("mic", "mic"))
    assert state.verdict is verdict
    assert state.eccentricity is None


def test_a_running_fit_is_a_clearance(tmp_path: Path) -> None:
    # ISO 286-2: 25 H7/g6 is 0/+21 and −20/−7 µm: clearance 7 to 41 µm.
    state = _measured(tmp_path, "clearance", "25 H7/g6", "25.0100", "24.9880", ("mic", "mic"))
    (limit,) = state.fit.limits
    assert (limit.range.low, limit.range.high) == (pytest.approx(7e-6), pytest.approx(41e-6))
    assert state.value == pytest.approx(22e-6)
    assert state.verdict is Verdict.INSIDE


@pytest.mark.parametrize("kind", ["press", "clearance"])
def test_a_shared_micrometer_loses_its_calibration_error(tmp_path: Path, kind: str) -> None:
    """Two readings of one gauge differ without its calibration (GUM 5.2): worked by hand."""
    spec = "50 H7/p6" if kind == "press" else "50 H7/g6"
    own = 2 * (REPEATABILITY**2 + STEP**2 / 12)
    sizes = ("50.0100", "50.0350" if kind == "press" else "49.9850")
    shared = _measured(tmp_path / "one", kind, spec, *sizes, ("mic", "mic"))
    apart = _measured(tmp_path / "two", kind, spec, *sizes, ("mic", "other"))
    assert shared.expanded == pytest.approx(2 * own**0.5, rel=1e-6)
    assert apart.expanded == pytest.approx(2 * (own + 2 * (U_CALIBRATION / 2) ** 2) ** 0.5)
    assert not any("calibration" in line.source for line in shared.budget)
