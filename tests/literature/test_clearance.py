"""Clearances: worked examples, and what a shared micrometer is worth."""

from __future__ import annotations

from math import sqrt

import GTC
import numpy as np
import pytest
from tests.metrology_makers import bench, feature, gauge, measured, reading, setting

from bedplate.metrology import budget, combine, standard_uncertainty

INCH = 0.0254
MICROMETER = gauge("mic", expanded_uncertainty="0.0040 mm", repeatability="0.0008 mm")
BORE_GAUGE = gauge(
    "dbg", comparator=True, expanded_uncertainty="0.0010 mm", repeatability="0.0007 mm"
)
IN_MICROMETER = setting("dbg", "54.990 mm", on_gauge="mic")
ON_RING = setting("dbg", "54.990 mm", master="ring 55", size_uncertainty="0.0020 mm")
U_CAL, U_REP, U_RES = 2.0, 0.8, 1 / sqrt(12)
BG_CAL, BG_REP = 0.5, 0.7
"""Standard uncertainties in µm, of the figures above."""


def clearance(on):
    held = bench([MICROMETER, BORE_GAUGE], [on])
    bore = measured(held, feature("bore"), [reading("0.042 mm", by="dbg", setting="s1")])
    journal = measured(held, feature("journal"), [reading("54.991 mm")], 41)
    return combine([(1.0, bore.mean), (-1.0, journal.mean)])


def by_reference_library(*, shared: bool) -> GTC.lib.UncertainReal:
    # The model written out again in GTC 1.5.1, in µm.
    calibration = GTC.ureal(0, U_CAL)
    zero = GTC.ureal(0, sqrt(BG_REP**2 + U_RES**2))
    reference = (
        calibration + GTC.ureal(0, sqrt(U_REP**2 + U_RES**2)) if shared else GTC.ureal(0, 1.0)
    )
    bore = (
        54990 + reference + zero + 42
        + GTC.ureal(0, BG_CAL) + GTC.ureal(0, BG_REP) + GTC.ureal(0, U_RES)
    )  # fmt: skip
    return bore - (54991 + calibration + GTC.ureal(0, U_REP) + GTC.ureal(0, U_RES))


@pytest.mark.parametrize(("on", "shared"), [(IN_MICROMETER, True), (ON_RING, False)])
def test_clearance_by_reference_library(on, shared):
    expected = by_reference_library(shared=shared)
    ours = clearance(on)
    assert ours.nominal_value * 1e6 == pytest.approx(expected.x, abs=1e-6)
    assert standard_uncertainty(ours) * 1e6 == pytest.approx(expected.u, rel=1e-9)


def test_clearance_by_simulation():
    # Monte Carlo (JCGM 101): 400 000 draws, so u is good to 0.2 %.
    rng = np.random.default_rng(20261125)

    def normal(u):
        return rng.normal(0.0, u, 400_000)

    def step():
        return rng.uniform(-0.5, 0.5, 400_000)

    micrometer = normal(U_CAL)
    set_on = 54990 + micrometer + normal(U_REP) + step()
    zeroed = normal(BG_REP) + step()
    bore = set_on + zeroed + 42 + normal(BG_CAL) + normal(BG_REP) + step()
    journal = 54991 + micrometer + normal(U_REP) + step()
    drawn = bore - journal
    ours = clearance(IN_MICROMETER)
    assert ours.nominal_value * 1e6 == pytest.approx(drawn.mean(), abs=0.01)
    assert standard_uncertainty(ours) * 1e6 == pytest.approx(drawn.std(), rel=0.005)


def test_error_of_the_micrometer_cancels_and_that_of_the_ring_does_not():
    # Common practice, no source: a bore gauge zeroed in the micrometer that measured the journal.
    together, apart = clearance(IN_MICROMETER), clearance(ON_RING)
    assert standard_uncertainty(together) < 0.75 * standard_uncertainty(apart)
    assert "calibration of mic" not in {row.source for row in budget(together)}
    assert {"calibration of mic", "master ring 55"} <= {row.source for row in budget(apart)}


def test_sizes_for_themselves_keep_the_error_of_the_micrometer():
    held = bench([MICROMETER, BORE_GAUGE], [IN_MICROMETER])
    bore = measured(held, feature("bore"), [reading("0.042 mm", by="dbg", setting="s1")])
    assert budget(bore.mean)[0].source == "calibration of mic"
    assert budget(bore.mean)[0].amount == pytest.approx(2e-6)


@pytest.mark.parametrize(("thicker", "expected"), [("0.0952 in", 0.0025), ("0.0957 in", 0.0020)])
def test_main_clearance_from_housing_shells_and_journal(thicker, expected):
    # Worked example, arithmetic checked by hand: 2.6410 − 2 × 0.0952 − 2.4481 = 0.0025 in; one
    # shell 0.0005 in thicker takes 0.0005 in off.
    tenths = {"resolution": "0.0001 in", "expanded_uncertainty": "0.00015 in",
              "repeatability": "0.00005 in"}  # fmt: skip
    held = bench([gauge("mic", **tenths), gauge("ball", **tenths)])
    sizes = [
        measured(held, feature(name), [reading(text, by=by)], number).mean
        for number, (name, text, by) in enumerate(
            [
                ("housing", "2.6410 in", "mic"),
                ("upper", "0.0952 in", "ball"),
                ("lower", thicker, "ball"),
                ("journal", "2.4481 in", "mic"),
            ],
            31,
        )
    ]
    gap = combine([(1.0, sizes[0]), *((-1.0, size) for size in sizes[1:])])
    assert gap.nominal_value / INCH == pytest.approx(expected, abs=1e-9)
    # Both shells carry the ball micrometer's error twice; the other micrometer's cancels.
    amounts = {row.source: row.amount / INCH for row in budget(gap)}
    assert amounts["calibration of ball"] == pytest.approx(-2 * 0.000075)
    assert "calibration of mic" not in amounts


def test_uncertainty_of_a_clearance_from_two_gauges():
    # Worked example, arithmetic checked by hand: U 3 µm and 4 µm (k = 2), independent, give 5 µm.
    plain = {"resolution": "0 mm", "repeatability": "0 mm"}
    held = bench(
        [
            gauge("one", expanded_uncertainty="3 µm", **plain),
            gauge("two", expanded_uncertainty="4 µm", **plain),
        ]
    )
    bore = measured(held, feature("bore"), [reading("55.032 mm", by="one")]).mean
    journal = measured(held, feature("journal"), [reading("54.991 mm", by="two")]).mean
    gap = combine([(1.0, bore), (-1.0, journal)])
    # The texts say 1 µm steps, √(2/12) µm, which a worked example in whole µm leaves out.
    steps = 2 * 1e-6 * sqrt(2 / 12)
    assert sqrt((2 * standard_uncertainty(gap)) ** 2 - steps**2) == pytest.approx(5e-6, rel=1e-9)
