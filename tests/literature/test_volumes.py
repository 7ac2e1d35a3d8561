"""Compression ratios that others printed, and the ways in which one goes wrong."""

from __future__ import annotations

from dataclasses import replace
from math import pi, radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplate.errors import InputError
from bedplate.physics.volumes import (
    ClearanceSpace,
    compression,
    compression_sensitivity,
    effective_ratio,
    piston_below_deck,
    rod_stretch,
    squish,
    swept_volume,
    volume_at,
)

INCH = 25.4e-3
CC = 1e-6
MM = 1e-3

SHOP_PAGE = ClearanceSpace(
    chamber=64 * CC,
    gasket_bore=4.25 * INCH,
    gasket_thickness=0.051 * INCH,
    piston_below_deck=0.005 * INCH,
    dish=3.9 * CC,
)
PLAIN = ClearanceSpace(64 * CC, 104.14 * MM, 1 * MM, 0.25 * MM, dish=5 * CC)


@pytest.mark.parametrize(
    ("bore", "stroke", "cylinders", "cubic_inches"),
    # Displacements as magazines and catalogues print them; arithmetic.
    [(4.000, 3.48, 8, 349.848), (4.030, 3.48, 8, 355.115), (4.250, 4.00, 8, 453.960),
     (4.250, 3.76, 8, 426.723)],
)  # fmt: skip
def test_displacement(bore, stroke, cylinders, cubic_inches):
    volume = cylinders * swept_volume(bore * INCH, stroke * INCH)
    assert volume / INCH**3 == pytest.approx(cubic_inches, rel=2e-6)


def test_a_machine_shops_printed_example():
    """4.25 × 4.00 in, 64 cc: the page rounds its parts and prints 10.60."""
    dish_in_inches = replace(SHOP_PAGE, chamber=64 * CC, dish=1.22 * INCH**3)
    shown = compression(dish_in_inches, 4.25 * INCH, 4.00 * INCH)
    assert shown.terms.gasket / INCH**3 == pytest.approx(0.72, abs=0.005)
    assert shown.terms.deck / INCH**3 == pytest.approx(0.07, abs=0.002)
    assert shown.swept / INCH**3 == pytest.approx(56.74, abs=0.01)
    chamber_as_printed = replace(dish_in_inches, chamber=3.9 * INCH**3)
    assert compression(chamber_as_printed, 4.25 * INCH, 4.00 * INCH).ratio == pytest.approx(
        10.60, rel=2e-3
    )


def test_each_term_stands_by_itself():
    """101.6 × 88.39 mm, computed by hand."""
    shown = compression(PLAIN, 101.6 * MM, 88.39 * MM)
    assert shown.swept / CC == pytest.approx(716.606, rel=1e-6)
    assert shown.terms.gasket / CC == pytest.approx(8.5178, rel=1e-5)
    assert shown.terms.deck / CC == pytest.approx(2.0268, rel=1e-4)
    assert shown.clearance / CC == pytest.approx(79.5446, rel=1e-6)
    assert shown.ratio == pytest.approx(10.00886, rel=1e-6)


@pytest.mark.parametrize(
    ("below", "dish", "dome", "ratio"),
    # 87 × 86 mm, 52 cc, gasket 88 × 1.0 mm: the signs that decide (arithmetic).
    [(0.10, 8, 0, 8.67), (-0.10, 8, 0, 8.81), (0.10, 0, 8, 11.09)],
)
def test_dish_dome_and_a_proud_piston(below, dish, dome, ratio):
    space = ClearanceSpace(52 * CC, 88 * MM, 1 * MM, below * MM, dish * CC, dome * CC)
    assert compression(space, 87 * MM, 86 * MM).ratio == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize(
    ("closing", "ratio"),
    # Computed apart from this code with the exact piston position; rod 144.78 mm.
    [(0, 10.0089), (50, 8.8089), (65, 7.9840), (75, 7.3263)],
)
def test_the_ratio_from_inlet_closing(closing, ratio):
    clearance = compression(PLAIN, 101.6 * MM, 88.39 * MM).clearance
    effective = effective_ratio(
        radians(closing), 101.6 * MM, 88.39 / 2 * MM, 144.78 * MM, clearance
    )
    assert effective == pytest.approx(ratio, abs=6e-5)


def test_a_stack_of_a_piston_makers_page():
    """Block 9.025 in, stroke 3.50, rod 6.00, compression height 1.250: 0.025 in below."""
    below = piston_below_deck(9.025 * INCH, 1.75 * INCH, 6.0 * INCH, 1.25 * INCH)
    assert below == pytest.approx(0.025 * INCH, abs=1e-9)
    assert squish(replace(PLAIN, piston_below_deck=below)) == pytest.approx(below + 1 * MM)


def test_rod_stretch_at_speed():
    """0.55 kg at 50 011 m/s², steel shank 139 mm × 200 mm²: about 0.09 mm."""
    assert rod_stretch(0.55, 50_011, 0.139, 200e-6, 206e9) == pytest.approx(0.09e-3, abs=0.005e-3)


spaces = st.builds(
    ClearanceSpace,
    chamber=st.floats(30e-6, 90e-6),
    gasket_bore=st.floats(0.08, 0.11),
    gasket_thickness=st.floats(0.2e-3, 2e-3),
    piston_below_deck=st.floats(-0.5e-3, 2e-3),
    dish=st.floats(0, 20e-6),
    dome=st.floats(0, 10e-6),
    crevice=st.floats(0, 2e-6),
)


@given(spaces, st.floats(0.075, 0.11), st.floats(0.06, 0.12))
@settings(deadline=None)
def test_sensitivities_are_the_slopes(space, bore, stroke):
    slope = compression_sensitivity(space, bore, stroke)

    def ratio(**change: float) -> float:
        return compression(replace(space, **change), bore, stroke).ratio

    for name, step in (
        ("piston_below_deck", 1e-6),
        ("gasket_thickness", 1e-6),
        ("gasket_bore", 1e-6),
    ):
        now = getattr(space, name)
        measured = (ratio(**{name: now + step}) - ratio(**{name: now - step})) / (2 * step)
        assert getattr(slope, name) == pytest.approx(measured, rel=1e-5)
    for name, sign in (("chamber", 1), ("dome", -1)):
        now = getattr(space, name) + 1e-8
        measured = (ratio(**{name: now + 1e-9}) - ratio(**{name: now - 1e-9})) / 2e-9
        assert sign * slope.volume == pytest.approx(measured, rel=2e-3)
    for name in ("bore", "stroke"):
        up, down = (
            compression(space, bore + d * (name == "bore"), stroke + d * (name == "stroke")).ratio
            for d in (1e-6, -1e-6)
        )
        assert getattr(slope, name) == pytest.approx((up - down) / 2e-6, rel=1e-5, abs=1e-5)


@given(st.floats(-0.01, 0.01))
@settings(deadline=None)
def test_volume_runs_from_clearance_to_clearance_and_sweep(offset):
    clearance, bore, throw, rod = 50e-6, 0.086, 0.043, 0.1435
    assert volume_at(0.0, bore, throw, rod, clearance, offset) == pytest.approx(clearance)
    widest = max(
        volume_at(radians(a), bore, throw, rod, clearance, offset) for a in range(160, 201)
    )
    assert widest - clearance >= pi / 4 * bore**2 * 2 * throw * 0.9999


@pytest.mark.parametrize(
    "change",
    [{"dome": 90e-6}, {"dish": -8e-6}, {"gasket_bore": 0.0}, {"chamber": float("nan")},
     {"piston_below_deck": -0.01}],
)  # fmt: skip
def test_an_impossible_space_is_refused(change):
    with pytest.raises(InputError):
        compression(replace(PLAIN, **change), 101.6 * MM, 88.39 * MM)


def test_an_inlet_that_traps_nothing_is_refused():
    with pytest.raises(InputError, match="traps nothing"):
        effective_ratio(radians(200), 0.1, 0.04, 0.14, 5e-5)
