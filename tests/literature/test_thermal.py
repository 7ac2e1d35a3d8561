"""What temperature does: worked numbers and the way back to 20 °C."""

from __future__ import annotations

from math import sqrt

import GTC
import pytest
from tests.metrology_makers import IRON, REDUCED, bench, feature, gauge, measured, reading

from bedplate.metrology import Source, combine, standard_uncertainty
from bedplate.metrology.sources import value_of
from bedplate.metrology.temperature import (
    at_reference,
    clearance_at,
    clearance_change,
    growth,
    temperature_rise,
)

STEEL, ALUMINIUM, GREY_IRON = 11.5e-6, 23e-6, 11e-6
FORGED_2618, FORGED_4032 = 22.3e-6, 19.4e-6
CAST_356 = 21.5e-6
"""1/K; 356.0 as Callister, Materials Science and Engineering, appendix B (11.9e-6/°F); the rest are
handbook values of the worked examples."""


# ISO 1: ΔL = L·α·(T − 20 °C). Arithmetic checked by hand.
@pytest.mark.parametrize(
    ("length", "alpha", "rise", "micrometres"),
    [
        (0.100, STEEL, 5, 5.75),
        (0.100, ALUMINIUM, 5, 11.5),
        (0.100, FORGED_2618, 8, 17.84),
        (0.100, 10.8e-6, 60, 64.8),
        (0.086, CAST_356, 100, 184.9),
        (0.086, GREY_IRON, 100, 94.6),
        (0.086, FORGED_4032, 160, 266.9),
        (0.086, FORGED_2618, 160, 306.8),
    ],
)
def test_growth(length, alpha, rise, micrometres):
    assert growth(length, alpha, rise) * 1e6 == pytest.approx(micrometres, abs=0.06)


# Worked examples, arithmetic checked by hand. Bore 20 → 120 °C, piston 20 → 180 °C.
@pytest.mark.parametrize(
    ("size", "hole", "shaft", "micrometres"),
    [
        (0.065, (ALUMINIUM, 1), (STEEL, 1), 0.7475),
        (0.086, (CAST_356, 100), (FORGED_4032, 160), -82.0),
        (0.086, (CAST_356, 100), (FORGED_2618, 160), -121.9),
        (0.086, (GREY_IRON, 100), (FORGED_4032, 160), -172.3),
        (0.086, (GREY_IRON, 100), (FORGED_2618, 160), -212.2),
        (0.060, (CAST_356, 80), (STEEL, 80), 48.0),
        (0.060, (GREY_IRON, 80), (STEEL, 80), -2.4),
    ],
)
def test_clearance_change(size, hole, shaft, micrometres):
    assert clearance_change(size, hole, shaft) * 1e6 == pytest.approx(micrometres, abs=0.06)


def test_a_warm_part_measures_less_at_20_degrees():
    assert at_reference(0.100, STEEL, 298.15) == pytest.approx(0.100 - 5.75e-6, abs=1e-12)


def test_clearance_at_temperature_by_reference_library():
    # GTC 1.5.1 on c + D·(α_h·ΔT_h − α_s·ΔT_s), first order.
    c, size = GTC.ureal(40e-6, 2e-6), 0.065
    hole, shaft = GTC.ureal(ALUMINIUM, 0.6e-6), GTC.ureal(STEEL, 0.5e-6)
    warm, warmer = GTC.ureal(70.0, 2.0), GTC.ureal(75.0, 3.0)
    expected = c + size * (hole * warm - shaft * warmer)
    ours = clearance_at(
        value_of(40e-6, {Source(2e-6, "clearance"): 1.0}),
        size,
        (Source(0.6e-6, "hole"), ALUMINIUM, temperature_rise(70.0, 2.0, "block")),
        (Source(0.5e-6, "shaft"), STEEL, temperature_rise(75.0, 3.0, "crank")),
    )
    assert ours.nominal_value == pytest.approx(expected.x, rel=1e-12)
    assert standard_uncertainty(ours) == pytest.approx(expected.u, rel=1e-9)


def test_one_material_on_both_sides_shares_its_error():
    error = Source(0.5e-6, "steel")
    rise = temperature_rise(50.0, 0.0, "both")
    ours = clearance_at(value_of(40e-6, {}), 0.06, (error, STEEL, rise), (error, STEEL, rise))
    assert ours.nominal_value == pytest.approx(40e-6, abs=1e-12)
    assert standard_uncertainty(ours) == pytest.approx(0.0, abs=1e-15)


def test_reading_reduced_to_20_degrees_by_reference_library():
    # L20 = L·(1 + α_g·(T_g − 20) − α_p·(T_p − 20)), GUM H.1.2; GTC 1.5.1, first order, each input
    # at the uncertainty that the model states for it.
    mic = gauge("mic", expansion="11.5e-6 1/K")
    held = bench([mic], measuring=REDUCED, materials=[IRON])
    warm = reading("86.020 mm", part_temperature="28 °C", gauge_temperature="24 °C")
    ours = measured(held, feature("bore", material="grey iron"), [warm]).mean
    length = 86.020e-3 + GTC.ureal(0, 1.5e-6) + GTC.ureal(0, 1e-6) + GTC.ureal(0, 1e-6 / sqrt(12))
    alpha_g, alpha_p = GTC.ureal(11.5e-6, 1e-6 / sqrt(3)), GTC.ureal(11e-6, 0.5e-6)
    gauge_at, part_at = GTC.ureal(4.0, 0.5), GTC.ureal(8.0, 0.5)
    expected = length * (1 + alpha_g * gauge_at - alpha_p * part_at)
    assert ours.nominal_value == pytest.approx(expected.x, rel=1e-12)
    # The product of both corrections, 1e-8 of u, is left out.
    assert standard_uncertainty(ours) == pytest.approx(expected.u, rel=1e-3)
    assert combine([(1.0, ours)]).nominal_value < 86.020e-3
