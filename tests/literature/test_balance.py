"""Balance of the common layouts, against textbooks and against the sum of exact motions."""

from __future__ import annotations

from math import pi, radians, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplate.errors import InputError
from bedplate.physics.balance import (
    BalanceShaft,
    balances_itself,
    bob_weight,
    bob_weight_factor,
    engine_balance,
    exact_balance,
    piston_harmonics,
    throw_factor,
)
from bedplate.physics.crank_train import crank_layout, masses_from_ends, unbalance

THROW, ROD, PISTON = 0.043, 0.1435, 0.5
SPEED = 6000 * 2 * pi / 60
ONE = PISTON * THROW * SPEED**2
"""Primary force of a cylinder: 8487.86 N."""
RATIO = THROW / ROD


def engine(bank, throws, places):
    layout = crank_layout(
        THROW, ROD, np.radians(bank) if np.ndim(bank) else radians(bank), np.radians(throws), places
    )
    return layout, masses_from_ends(layout.cylinders, PISTON, 0.0, 0.0, ROD)


def balance(bank, throws, places, **more):
    orders = {b.order: b for b in engine_balance(*engine(bank, throws, places), **more)}
    assert pytest.approx(8487.86, rel=1e-6) == ONE
    return orders


IN_LINE_FOUR = (0.0, [0, 180, 180, 0], [0.0, 0.1, 0.2, 0.3])


def test_harmonics_are_the_series_of_the_books():
    """h₂ = λ + λ³/4 + 15λ⁵/128, h₄ = −(λ³/4 + 3λ⁵/16), λ = r/l: any textbook."""
    harmonics = piston_harmonics(THROW, ROD)
    assert harmonics[1] == pytest.approx(1)
    second = RATIO + RATIO**3 / 4 + 15 * RATIO**5 / 128
    assert harmonics[2].real == pytest.approx(second, rel=1e-4)
    assert harmonics[4].real == pytest.approx(-(RATIO**3 / 4 + 3 * RATIO**5 / 16), rel=1e-2)
    assert np.abs(harmonics[[0, 3, 5, 7]]).max() < 1e-12
    assert abs(piston_harmonics(THROW, ROD, 0.005)[3]) > 1e-4


def test_in_line_four():
    """Stroke 86, rod 143.5, 0.5 kg, 6000 rpm: the second order, and little of the fourth."""
    left = balance(*IN_LINE_FOUR, orders=(1, 2, 3, 4, 5, 6))
    for order in (1, 3, 5):
        assert left[order].force(SPEED).greatest < 1e-6
    second = left[2].force(SPEED)
    assert second.greatest == pytest.approx(10_412.1, rel=1e-5)
    assert second.least == pytest.approx(0, abs=1e-6)
    assert second.direction % pi == pytest.approx(0, abs=1e-9)
    assert pytest.approx(10_173.6, rel=1e-5) == 4 * ONE * RATIO  # the two-term figure
    assert left[4].force(SPEED).greatest == pytest.approx(244.8, abs=0.05)
    assert left[6].force(SPEED).greatest == pytest.approx(6.5, abs=0.05)
    _, force, _ = exact_balance(*engine(*IN_LINE_FOUR), SPEED)
    assert force[:, 0].max() == pytest.approx(10_173.6, abs=0.1)
    assert force[:, 0].min() == pytest.approx(-10_663.6, abs=0.1)
    middle = balance(*IN_LINE_FOUR, reference=0.15)
    assert all(b.couple(SPEED).greatest < 1e-6 for b in middle.values())


def test_in_line_six():
    """0-240-120-120-240-0: nothing up to the fifth order, 9.7 N of the sixth."""
    places = np.arange(6) * 0.1
    left = balance(0.0, [0, 240, 120, 120, 240, 0], places, orders=(1, 2, 3, 4, 5, 6))
    for order in range(1, 6):
        assert left[order].force(SPEED).greatest < 1e-6
        assert left[order].couple(SPEED).greatest < 1e-6
    assert left[6].force(SPEED).greatest == pytest.approx(9.715, abs=5e-3)


def test_in_line_three():
    """Primary couple √3·a·mrω², secondary √3·a·mrω²·h₂ (Bevan, The Theory of Machines)."""
    left = balance(0.0, [0, 120, 240], [0, 0.1, 0.2])
    assert left[1].force(SPEED).greatest < 1e-6
    assert left[2].force(SPEED).greatest < 1e-6
    assert left[1].couple(SPEED).greatest == pytest.approx(sqrt(3) * 0.1 * ONE)
    second = abs(piston_harmonics(THROW, ROD)[2])
    assert left[2].couple(SPEED).greatest == pytest.approx(sqrt(3) * 0.1 * ONE * second)
    moved = balance(0.0, [0, 120, 240], [0, 0.1, 0.2], reference=0.3)
    assert moved[1].couple(SPEED).greatest == pytest.approx(left[1].couple(SPEED).greatest)


@pytest.mark.parametrize(("throws", "primary", "couple"), [([0, 180], 0, 0.1), ([0, 0], 2, 0.0)])
def test_parallel_twins(throws, primary, couple):
    """Textbook: opposed throws leave a couple a·mrω², equal throws a force 2·mrω²."""
    left = balance(0.0, throws, [0, 0.1], reference=0.05)
    assert left[1].force(SPEED).greatest == pytest.approx(primary * ONE, abs=1e-6)
    assert left[1].couple(SPEED).greatest == pytest.approx(couple * ONE, abs=1e-6)
    assert left[2].force(SPEED).greatest == pytest.approx(2 * ONE * 0.3067, rel=1e-3)


def test_two_pistons_at_ninety_degrees_on_a_pin_make_a_turning_force():
    """Constant mrω², turning with the crank: why half the reciprocating mass balances a V8."""
    left = balance([-45, 45], [0, 0], [0, 0])[1].force(SPEED)
    assert (left.greatest, left.least) == pytest.approx((ONE, ONE))
    assert left.forward


CROSS_PLANE = ([-45, 45] * 4, np.repeat([0, 90, 270, 180], 2), np.repeat(np.arange(4) * 0.11, 2))


def test_cross_plane_v8():
    """No force up to the fourth; primary couple √10·a·mrω², 18.43° from the first throw's line."""
    left = balance(*CROSS_PLANE)
    for order in (1, 2, 3):
        assert left[order].force(SPEED).greatest < 1e-6
    couple = left[1].couple(SPEED)
    assert couple.greatest == pytest.approx(sqrt(10) * 0.11 * ONE)
    assert couple.greatest == pytest.approx(2952.5, rel=1e-4)
    assert couple.least == pytest.approx(couple.greatest)
    assert np.degrees(np.angle(-left[1].couple_forward)) == pytest.approx(18.4349, abs=1e-3)
    assert left[2].couple(SPEED).greatest < 1e-6


def test_counterweights_of_half_the_reciprocating_mass_balance_it():
    layout, _ = engine(*CROSS_PLANE)
    masses = masses_from_ends(8, 0.5, 0.17, 0.43, ROD)
    weight = bob_weight(2 * 0.43, 2 * 0.67, bob_weight_factor(pi / 2).factor)
    throws, places = layout.throw_angle[::2], layout.position[::2]
    counter = unbalance(np.full(4, weight * THROW), throws + pi, places)
    left = engine_balance(layout, masses, counter, orders=(1,))[0]
    assert left.force(SPEED).greatest < 1e-6
    assert left.couple(SPEED).greatest < 1e-6
    _, force, couple = exact_balance(layout, masses, SPEED, counter)
    order_one = np.abs(np.fft.rfft(couple[:, 0])[1]) / 360
    assert order_one < 1e-6
    high = engine_balance(layout, masses, counter, orders=(4, 8))
    left_over = sum(order.force(SPEED).greatest for order in high)
    assert np.abs(force).max() == pytest.approx(left_over, rel=0.05)


def test_flat_four():
    """Opposed pins: no force of either order, no primary couple, a secondary couple 2s·mrω²·h₂."""
    shift, pitch = 0.03, 0.12
    places = [0, shift, pitch, pitch + shift]
    left = balance([0, 180, 0, 180], [0, 180, 180, 0], places)
    for order in (1, 2):
        assert left[order].force(SPEED).greatest < 1e-6
    assert left[1].couple(SPEED).greatest < 1e-6
    second = abs(piston_harmonics(THROW, ROD)[2])
    assert left[2].couple(SPEED).greatest == pytest.approx(2 * shift * ONE * second)


def test_v12_and_flat_plane_v8():
    six, places = [0, 240, 120, 120, 240, 0], np.arange(6) * 0.1
    left = balance([-30, 30] * 6, np.repeat(six, 2), np.repeat(places, 2))
    assert all(b.force(SPEED).greatest < 1e-6 for b in left.values() if b.order < 6)
    assert all(b.couple(SPEED).greatest < 1e-6 for b in left.values() if b.order < 6)
    # Two in-line fours at 90°: their second orders add up across the engine, √2 of one.
    flat = balance([-45, 45] * 4, np.repeat([0, 180, 180, 0], 2), np.repeat(np.arange(4) * 0.11, 2))
    assert flat[1].force(SPEED).greatest < 1e-6
    second = flat[2].force(SPEED)
    assert second.greatest == pytest.approx(sqrt(2) * 10_412.1, rel=1e-5)
    assert second.direction == pytest.approx(pi / 2)


def test_balance_shafts_take_the_second_order_of_a_four():
    """Two shafts at twice the speed, one each way: each 4·m·r·h₂/8 (Lanchester's balancer)."""
    layout, masses = engine(*IN_LINE_FOUR)
    second = abs(piston_harmonics(THROW, ROD)[2])
    amount = PISTON * THROW * second / 2
    shafts = [BalanceShaft(way, amount, pi, 0.15) for way in (2, -2)]
    left = engine_balance(layout, masses, shafts=shafts, reference=0.15, orders=(1, 2))
    assert left[1].force(SPEED).greatest < 1e-6
    assert left[1].couple(SPEED).greatest < 1e-6
    # What is left of the exact force is the fourth and the sixth order: 244.8 and 6.5 N.
    _, force, couple = exact_balance(layout, masses, SPEED, shafts=shafts, reference=0.15)
    assert np.abs(force).max() == pytest.approx(244.8 + 6.5, abs=0.3)
    assert np.abs(couple).max() < 1e-6


cylinders = st.lists(
    st.tuples(st.floats(0, 6.28), st.floats(0, 6.28), st.floats(0, 1), st.floats(0.3, 0.7)),
    min_size=1,
    max_size=16,
)


@given(cylinders, st.floats(-0.004, 0.004))
@settings(max_examples=25, deadline=None)
def test_closed_form_and_exact_motion_agree(rows, offset):
    bank, throws, places, pistons = (np.array(column) for column in zip(*rows, strict=True))
    layout = crank_layout(THROW, ROD, bank, throws, places, offset)
    masses = masses_from_ends(len(rows), pistons, 0.18, 0.4, ROD)
    counter = unbalance([0.02, 0.01], [1.0, 4.0], [0.1, 0.7])
    shafts = [BalanceShaft(-1, 0.01, 0.3, 0.2), BalanceShaft(2, 0.004, 2.0, 0.6)]
    angle, force, couple = exact_balance(layout, masses, SPEED, counter, shafts, reference=0.4)
    orders = tuple(range(1, 33))
    parts = engine_balance(layout, masses, counter, shafts, reference=0.4, orders=orders)
    total = sum(p.force_at(angle, SPEED) for p in parts)
    turning = sum(p.couple_at(angle, SPEED) for p in parts)
    assert force == pytest.approx(total, abs=1e-6 * ONE * len(rows))
    assert couple == pytest.approx(turning, abs=1e-6 * ONE * len(rows))
    tip = np.hypot(*parts[1].force_at(np.linspace(0, pi, 20_001), SPEED).T)
    ellipse = parts[1].force(SPEED)
    assert tip.max() == pytest.approx(ellipse.greatest, rel=1e-6, abs=1e-6)
    assert tip.min() == pytest.approx(ellipse.least, rel=1e-3, abs=1e-3 * ellipse.greatest)


# ---- Bob-weights


@pytest.mark.parametrize(
    ("bank", "split", "forward", "backward", "planar"),
    # First-order derivation from direct and reverse cranks, worked by hand; the trade carries 50 %
    # and 36.6 % for the same even-firing 90° V6.
    [
        (90, 0, 1.000, 0.0, 0.5),
        (90, 30, 0.966, 0.259, 0.366),
        (90, 18, 0.988, 0.156, 0.421),
        (60, 60, 0.866, 0.0, 0.5),
        (72, 0, 1.000, 0.309, 0.3455),
        (120, 0, 1.000, 0.500, 0.25),
    ],
)
def test_bob_weight_factors(bank, split, forward, backward, planar):
    found = bob_weight_factor(radians(bank), radians(split))
    assert (found.forward, found.backward) == pytest.approx((forward, backward), abs=5e-4)
    assert found.planar == pytest.approx(planar, abs=5e-4)
    assert found.factor == found.planar
    with_shaft = bob_weight_factor(radians(bank), radians(split), taken=1.0)
    assert with_shaft.factor == 0.5
    for advice in (found, with_shaft):
        assert advice.reason.endswith(".")


@pytest.mark.parametrize(("bank", "split"), [(90, 0), (90, 30), (60, 60), (72, 0), (45, 0)])
def test_the_factor_does_what_it_says(bank, split):
    """Put the counterweights on and look: forward part gone, or the shake in one plane."""
    banks = np.array([-bank / 2, bank / 2])
    pins = np.array([split / 2, -split / 2])
    layout, masses = engine(banks, pins, [0.0, 0.0])
    advice = bob_weight_factor(radians(bank), radians(split))
    for factor in (advice.rotation, advice.planar):
        counter = unbalance(
            np.full(2, factor * PISTON * THROW), layout.throw_angle + pi, [0.0, 0.0]
        )
        left = engine_balance(layout, masses, counter, orders=(1,))[0]
        turning = left.force(SPEED)
        assert abs(left.force_backward) == pytest.approx(advice.backward * PISTON * THROW, abs=1e-9)
        if factor == advice.planar:
            assert turning.least == pytest.approx(0, abs=1e-6 * ONE)
        else:
            assert abs(left.force_forward) < 1e-12


def test_factors_from_the_engines_own_angles():
    """An in-line three, and an even-firing 90° V6 whose rods stand on pins 30° apart."""
    in_line = throw_factor(np.zeros(1), np.array([radians(120)]))
    assert (in_line.forward, in_line.backward, in_line.planar) == pytest.approx((1, 1, 0))
    assert in_line.factor == 0.5
    assert "compromise" in in_line.reason
    banks, pins = np.radians([-45, 45]), np.radians([135, 105])
    split = throw_factor(banks, pins)
    assert split.factor == pytest.approx(0.366, abs=5e-4)
    assert "split" in split.reason
    # Top dead centres 120° apart: the angles are those of an even-firing engine.
    assert np.degrees((banks - pins)[1] - (banks - pins)[0]) == pytest.approx(120)
    # Where more turns against the crank than with it, no factor makes the shake planar.
    odd = throw_factor(np.radians([-15, 15]), np.radians([-30, 30]))
    assert odd.backward > odd.forward
    assert (odd.planar, odd.factor) == (0.0, 0.5)
    with pytest.raises(InputError, match="opposite"):
        throw_factor(np.radians([0, 180]), np.radians([0, 180]))


def test_a_bob_weight_of_the_trade():
    """Piston 412, pin 118, locks 3, rings 38, small end 168; big end 432, shells 46, oil 4 g."""
    reciprocating = 412 + 118 + 3 + 38 + 168
    rotating = 2 * (432 + 46) + 4
    assert (reciprocating, rotating) == (739, 960)
    for factor, grams in ((0.5, 1699), (0.52, 1728.56)):
        total = bob_weight(rotating * 1e-3, 2 * reciprocating * 1e-3, factor)
        assert total == pytest.approx(grams * 1e-3)


@pytest.mark.parametrize(
    ("throws", "itself"),
    # Common practice: which cranks are balanced without bob-weights.
    [
        ([0, 180, 180, 0], True),
        ([0, 240, 120, 120, 240, 0], True),
        ([0, 90, 270, 180], False),
        ([0, 120, 240], False),
        ([0, 144, 216, 288, 72], False),
        ([0], False),
        ([0, 180], False),
    ],
)
def test_cranks_that_need_no_bob_weights(throws, itself):
    assert balances_itself(np.radians(throws), np.arange(len(throws)) * 0.1) is itself


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: bob_weight(1.0, 1.0, 1.2),
        lambda: bob_weight(-1.0, 1.0, 0.5),
        lambda: bob_weight_factor(radians(200)),
        lambda: bob_weight_factor(1.0, pi),
        lambda: piston_harmonics(THROW, ROD, highest=100),
    ],
)
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(InputError):
        wrong()


def test_angles_are_told_in_the_direction_of_rotation():
    left = balance([0], [0], [0])[1].force(SPEED)
    assert left.direction == pytest.approx(0)
    turned = balance([30], [0], [0])[1].force(SPEED)
    assert turned.direction == pytest.approx(radians(30))
