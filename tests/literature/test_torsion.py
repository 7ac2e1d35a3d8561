"""Torsional vibration against textbook tables, closed forms and dense algebra."""

from __future__ import annotations

from dataclasses import replace
from math import exp, pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import eigh

from bedplate.errors import InputError
from bedplate.physics.crank_geometry import (
    CrankThrow,
    carter_length,
    ker_wilson_length,
    running_gear_inertia,
    sector_inertia,
    shaft_stiffness,
    throw_inertia,
    throw_stiffness,
)
from bedplate.physics.crank_model import CrankEnds, RubberDamper, ViscousDamper, crank_model
from bedplate.physics.torsion import (
    frequency_band,
    holzer,
    modes,
    scaled_to_frequency,
    stiffness_matrix,
    strain_share,
    torsional_chain,
    with_branch,
)
from bedplate.physics.torsion_response import (
    critical_speeds,
    phase_vector_sum,
    shaft_torque,
    shear_stress,
    speed_sweep,
    steady_response,
    torque_harmonics,
)

HERTZ = 2 * pi
INCH, FOOT, TON, POUND = 0.0254, 0.3048, 2240 * 0.45359237, 0.45359237 * 9.80665


@pytest.mark.parametrize(
    ("inertia", "stiffness", "hertz", "close"),
    [
        # Two masses, √(k(J₁ + J₂)/(J₁J₂)): test data of openTorsion (MIT licence).
        ([211.4, 8.3], [9.775e6], [176.0767], 1e-6),
        # Friswell et al., Dynamics of Rotating Machines, Ex 9.7.1.
        ([0.0035] * 3 + [0.15, 0.05], [12e3, 12e3, 14e3, 10e3], [81.21, 141.21, 378.95, 536.36],
         1e-4),
        # Thomson, Theory of Vibration, Ex 12.4-1: 123.666 and 202.658 rad/s.
        ([5, 11, 22], [1e5, 2e5], [123.666 / HERTZ, 202.658 / HERTZ], 1e-5),
    ],
)  # fmt: skip
def test_natural_frequencies(inertia, stiffness, hertz, close):
    found = modes(torsional_chain(inertia, stiffness))
    assert found.frequency / HERTZ == pytest.approx(hertz, rel=close)
    for frequency in found.frequency:  # and Holzer's residual is nil there
        _, torque = holzer(torsional_chain(inertia, stiffness), float(frequency))
        assert abs(torque[-1]) < 1e-9 * np.abs(torque).max()


def test_thomsons_shapes():
    """Ex 12.4-1: 1, 0.2353, −0.3449 and 1, −1.0535, 0.2995."""
    found = modes(torsional_chain([5, 11, 22], [1e5, 2e5]))
    for shape, printed in zip(
        found.shape, [(1, 0.2353, -0.3449), (1, -1.0535, 0.2995)], strict=True
    ):
        assert shape / shape[0] == pytest.approx(printed, abs=2e-4)


def test_strain_lies_where_the_shafts_twist():
    """Thomson, Ex 12.4-1, first mode 1, 0.2353, −0.3449: ½·k·(difference)² by hand."""
    model = torsional_chain([5, 11, 22], [1e5, 2e5])
    first, second = 1e5 * (1 - 0.2353) ** 2, 2e5 * (0.2353 + 0.3449) ** 2
    share = strain_share(model, modes(model).shape, 1)
    assert share[0] == pytest.approx(first / (first + second), rel=1e-3)
    assert strain_share(model, modes(model).shape, 2) == pytest.approx([1, 1])


def test_bevans_marine_shaft():
    """Bevan, The Theory of Machines, chapter 15, Ex 9: 961 and 1784 a minute printed.

    2.5, 7.5 and 3 ton·ft², 9.5 ft and 25 ft of 8.5 in shaft, 11.8e6 lbf/in², g = 32.2. Exact values
    for those inputs are 960.69 and 1787.48.
    """
    gravity = 9.80665 / FOOT / 32.2
    inertia = np.array([2.5, 7.5, 3.0]) * TON * FOOT**2 * gravity
    modulus = 11.8e6 * POUND / INCH**2
    stiffness = [shaft_stiffness(8.5 * INCH, feet * FOOT, modulus) for feet in (9.5, 25)]
    a_minute = modes(torsional_chain(inertia, stiffness)).frequency / HERTZ * 60
    assert a_minute == pytest.approx([960.69, 1787.48], rel=1e-5)
    assert a_minute == pytest.approx([961, 1784], rel=2.5e-3)


chains = st.integers(2, 12).flatmap(
    lambda n: st.tuples(
        st.lists(st.floats(1e-3, 1.0), min_size=n, max_size=n),
        st.lists(st.floats(1e3, 1e6), min_size=n - 1, max_size=n - 1),
    )
)


@given(chains)
@settings(deadline=None)
def test_modes_solve_the_general_eigenproblem(chain):
    model = torsional_chain(*chain)
    squares, vectors = eigh(stiffness_matrix(model), np.diag(model.inertia))
    found = modes(model)
    assert found.frequency**2 == pytest.approx(squares[1:], rel=1e-8)
    for shape, vector in zip(found.shape, vectors[:, 1:].T, strict=True):
        assert np.abs(shape).max() == pytest.approx(1)
        assert abs(shape @ (model.inertia * vector)) == pytest.approx(
            sqrt(float(shape**2 @ model.inertia)), rel=1e-6
        )


@given(chains, st.integers(0, 11), st.floats(0.05, 2.5))
@settings(max_examples=60, deadline=None)
def test_forced_response_is_the_dense_solution(chain, node, times):
    model = torsional_chain(*chain, damping=2.0, loss=0.05, drag=0.3)
    model = with_branch(model, min(node, model.nodes - 1), 0.02, 0.0, damping=5.0)
    model = with_branch(model, 0, 0.01, 2e4, loss=0.2)
    first = float(modes(model).frequency[0])
    omega = np.array([0.3, 1.0, 1.7]) * times * first
    torque = np.exp(1j * np.arange(model.nodes))
    damping = stiffness_matrix(model, model.damping) + np.diag(model.drag)
    rubber = stiffness_matrix(model, model.loss * model.stiffness)
    for w, row in zip(omega, steady_response(model, omega, torque), strict=True):
        dynamic = (
            stiffness_matrix(model) + 1j * (w * damping + rubber) - w**2 * np.diag(model.inertia)
        )
        assert row == pytest.approx(np.linalg.solve(dynamic, torque), rel=1e-8, abs=1e-18)


def test_a_resonance_is_as_high_as_its_damping_ratio_says():
    model = torsional_chain([0.02, 0.1], [5e4], damping=0.5, drag=0.02)
    found = modes(model)
    push = np.array([10.0, 0.0])
    swing = steady_response(model, found.frequency, push)[0, 0]
    static = 10.0 * found.shape[0, 0] ** 2 / (found.inertia[0] * found.frequency[0] ** 2)
    assert abs(swing) == pytest.approx(static / (2 * found.damping_ratio[0]), rel=1e-3)
    rubber = torsional_chain([0.02, 0.1], [5e4], loss=0.1)
    assert modes(rubber).damping_ratio[0] == pytest.approx(0.05)


def test_the_untuned_viscous_damper():
    """Den Hartog, Mechanical Vibrations, section 3.3: best damping and the height it leaves.

    c/(2·J_d·Ω_n) = 1/√(2(1 + μ)(2 + μ)), greatest amplification 1 + 2/μ.
    """
    inertia, stiffness, share = 0.1, 4e4, 0.5
    natural = sqrt(stiffness / inertia)
    best = 2 * share * inertia * natural / sqrt(2 * (1 + share) * (2 + share))
    omega = np.linspace(0.3, 1.5, 6001) * natural

    def height(damping: float) -> float:
        wall = torsional_chain([inertia, 1e9], [stiffness])
        model = with_branch(wall, 0, share * inertia, 0.0, damping=damping)
        swing = steady_response(model, omega, np.array([1.0, 0.0, 0.0]))[:, 0]
        return float(np.abs(swing).max()) * stiffness

    assert height(best) == pytest.approx(1 + 2 / share, rel=1e-4)
    assert height(0.7 * best) > height(best) < height(1.4 * best)


def test_the_tuned_damper():
    """Den Hartog, Mechanical Vibrations, section 3.3: tuning 1/(1 + μ), greatest √(1 + 2/μ).

    Damping √(3μ/(8(1 + μ)³)); his mean of two values, right to a per cent.
    """
    inertia, stiffness, share = 0.1, 4e4, 0.2
    natural = sqrt(stiffness / inertia)
    tuned = natural / (1 + share)
    damping = 2 * share * inertia * natural * sqrt(3 * share / (8 * (1 + share) ** 3))
    wall = torsional_chain([inertia, 1e9], [stiffness])
    model = with_branch(wall, 0, share * inertia, share * inertia * tuned**2, damping=damping)
    omega = np.linspace(0.3, 1.7, 6001) * natural
    swing = np.abs(steady_response(model, omega, np.array([1.0, 0, 0]))[:, 0]) * stiffness
    assert swing.max() == pytest.approx(sqrt(1 + 2 / share), rel=0.015)
    low, high = swing[omega < 0.85 * natural].max(), swing[omega > 0.95 * natural].max()
    assert low == pytest.approx(high, rel=0.02)


def test_shear_stress_of_a_shaft():
    """1 kN·m in a 50 mm shaft: 40.74 MPa, by hand."""
    assert shear_stress(1000.0, 0.05) == pytest.approx(40.744e6, rel=1e-4)
    assert shear_stress(1000.0, 0.05, 0.025) == pytest.approx(40.744e6 / (1 - 1 / 16), rel=1e-4)
    with pytest.raises(InputError):
        shear_stress(1.0, 0.05, 0.05)


def test_torques_in_the_shafts_carry_what_is_beyond_them():
    model = torsional_chain([0.01, 0.02, 0.3], [2e4, 4e4], damping=1.0, loss=0.02)
    omega = np.array([300.0, 900.0])
    torque = np.array([5.0, 3.0j, 0.0])
    swing = steady_response(model, omega, torque)
    inside = shaft_torque(model, swing, omega)
    beyond = torque[:2].cumsum() + omega[:, np.newaxis] ** 2 * np.cumsum(
        model.inertia[:2] * swing[:, :2], axis=1
    )
    assert inside == pytest.approx(beyond, rel=1e-9)


SIX_FIRING = np.radians([0, 480, 240, 600, 120, 360])  # order 1-5-3-6-2-4


def test_major_orders_of_an_in_line_six():
    """Den Hartog, Mechanical Vibrations, section 5.4: orders 3, 6, 9 of a four-stroke six."""
    orders = np.arange(0.5, 9.6, 0.5)
    sums = phase_vector_sum(np.ones(6), SIX_FIRING, orders)
    major = np.isin(orders, [3, 6, 9])
    assert sums[major] == pytest.approx([6, 6, 6])
    assert np.abs(sums[~major]).max() < 1e-9
    # With the node at the flywheel the half orders 4½ push too: 1st and 6th are in phase, 2nd
    # and 5th, 3rd and 4th likewise.
    swinging = phase_vector_sum(np.linspace(1, 0.2, 6), SIX_FIRING, [4.5, 3])
    assert 0 < swinging[0] < swinging[1]


def test_harmonics_of_a_torque():
    angle = np.arange(1440) * 4 * pi / 1440
    torque = 7 + 3 * np.cos(0.5 * angle - 1) + 2 * np.sin(4 * angle)
    order, vectors = torque_harmonics(torque[np.newaxis], 4 * pi, 6)
    assert order == pytest.approx(np.arange(1, 13) / 2)
    assert vectors[0, 0] == pytest.approx(3 * np.exp(-1j))
    assert vectors[0, 7] == pytest.approx(-2j)
    assert np.abs(np.delete(vectors[0], [0, 7])).max() < 1e-12
    with pytest.raises(InputError, match="need more"):
        torque_harmonics(torque[np.newaxis], 4 * pi, 1000)


def test_a_sweep_adds_gas_and_inertia():
    model = torsional_chain([0.01] * 6 + [0.2], [4e5] * 6, loss=0.03, drag=0.01)
    orders = np.arange(0.5, 12.1, 0.5)
    gas = np.exp(-1j * np.outer(SIX_FIRING, orders)) * 300 / orders
    mass = np.zeros((6, orders.size), dtype=complex)
    mass[:, 3] = 1e-3 * np.exp(-2j * SIX_FIRING)
    speeds = np.linspace(100, 700, 301)
    sweep = speed_sweep(model, range(6), orders, gas, mass, speeds)
    assert sweep.response.shape == (24, 301, 7)
    torque = np.zeros(7, dtype=complex)
    torque[:6] = gas[:, 5] + mass[:, 5]
    alone = steady_response(model, orders[5] * speeds, torque)
    assert sweep.response[5] == pytest.approx(alone)
    # The sixth order peaks where it meets the first natural frequency.
    sixth = np.abs(sweep.response[11, :, 0])
    first = float(modes(model).frequency[0])
    inside = [c for c in critical_speeds([first], orders, 100, 700) if c.order == 6]
    assert speeds[int(sixth.argmax())] == pytest.approx(inside[0].speed, abs=2)
    # All orders together: no more than their sum, no less than any one of them.
    together = sweep.greatest(0)
    each = np.abs(sweep.response[:, :, 0])
    assert (together <= each.sum(axis=0) * (1 + 1e-9)).all()
    assert (together >= 0.98 * each.max(axis=0)).all()
    # What the last shaft is twisted by is what its torque is, but for its loss.
    twisted = sweep.greatest(5, against=6) * 4e5
    assert sweep.greatest_torque(5) == pytest.approx(twisted, rel=2e-2)
    assert sweep.twist(5, 6).shape == (24, 301)
    by_speed = np.broadcast_to(gas, (301, 6, 24))
    again = speed_sweep(model, range(6), orders, by_speed, mass, speeds)
    assert again.response == pytest.approx(sweep.response)


def test_critical_speeds_lie_in_the_range():
    found = critical_speeds([100.0, 250.0], [0.5, 1, 2, 4], 50, 150)
    assert [(c.mode, c.order, c.speed) for c in found] == [
        (0, 2, 50), (1, 4, 62.5), (0, 1, 100), (1, 2, 125),
    ]  # fmt: skip


def test_the_band_is_as_wide_as_the_estimates():
    """f ∝ √k: a shared uncertainty u of stiffness makes u/2 of every frequency."""
    model = torsional_chain([0.01] * 4 + [0.2], [3e5] * 4)
    band = frequency_band(model, shared_stiffness=0.1, stiffness=0.0, inertia=0.0, draws=20_000)
    natural = modes(model).frequency
    assert band.middle == pytest.approx(natural, rel=2e-3)
    assert band.high / band.middle == pytest.approx(np.full(4, exp(1.96 * 0.05)), rel=5e-3)
    assert band.low / band.middle == pytest.approx(np.full(4, exp(-1.96 * 0.05)), rel=5e-3)
    own = frequency_band(model, shared_stiffness=0.0, stiffness=0.1, inertia=0.0)
    assert (own.high - own.low < band.high - band.low).all()  # errors apart average out
    again = frequency_band(model, shared_stiffness=0.0, stiffness=0.1, inertia=0.0)
    assert (again.low == own.low).all()


def test_a_measured_frequency_corrects_the_model():
    model = torsional_chain([0.01] * 4 + [0.2], [3e5] * 4)
    better = scaled_to_frequency(model, 0, 1500.0)
    assert modes(better).frequency[0] == pytest.approx(1500.0)


# ---- From the drawing

THROW = CrankThrow(
    journal_diameter=0.060, journal_length=0.028, pin_diameter=0.050, pin_length=0.026,
    throw=0.043, web_thickness=0.020, web_width=0.085,
)  # fmt: skip


def test_equivalent_lengths():
    """Both formulas by hand: 169.54 and 152.49 mm of 60 mm shaft, 11 % apart."""
    assert ker_wilson_length(THROW, 0.06) == pytest.approx(0.16954, abs=1e-5)
    assert carter_length(THROW, 0.06) == pytest.approx(0.15249, abs=1e-5)
    band = throw_stiffness(THROW, 82e9)
    assert dict(band.by_formula) == pytest.approx(
        {"Ker Wilson": 6.154e5, "Carter": 6.842e5}, rel=1e-3
    )
    assert band.middle / (1 + band.half_width) == pytest.approx(6.154e5, rel=1e-3)
    assert band.middle * (1 + band.half_width) == pytest.approx(6.842e5, rel=1e-3)
    # A plain shaft's diameter cancels.
    assert ker_wilson_length(THROW, 0.03) * 16 == pytest.approx(ker_wilson_length(THROW, 0.06))


def test_the_band_is_an_uncertainty():
    band = throw_stiffness(THROW, 82e9)
    # Half of ln(6.842/6.154) over √3.
    assert band.relative_uncertainty == pytest.approx(0.0306, abs=2e-4)


ENDS = CrankEnds(nose=0.006, nose_stiffness=8e5, flywheel=0.15, flange_stiffness=2e6)


def test_a_crank_is_a_chain_of_half_throws():
    """A crank of n equal throws without ends is a shaft of n throws: the same twist."""
    made = crank_model([0.01] * 4, 6e5, ENDS)
    assert made.throws == (1, 2, 3, 4)
    assert made.flywheel == 5
    assert made.ring is None
    k = made.model.stiffness
    assert k[1:4] == pytest.approx([6e5] * 3)
    assert np.sum(1 / k) == pytest.approx(1 / 8e5 + 4 / 6e5 + 1 / 2e6)
    uneven = crank_model([0.01] * 2, [4e5, 8e5], ENDS).model.stiffness
    assert uneven[1] == pytest.approx(1 / (0.5 / 4e5 + 0.5 / 8e5))


def test_a_damper_takes_the_peak_down():
    speed = np.linspace(500, 4000, 4001)
    bare = crank_model([0.01] * 6, 5e5, ENDS, drag=0.05)
    natural = float(modes(bare.model).frequency[0])
    rubber = RubberDamper(0.006, 0.006 * (0.85 * natural) ** 2, 0.25)
    viscous = ViscousDamper(0.006, 0.006 * natural * 0.6)
    peaks = []
    for damper in (None, rubber, viscous):
        made = crank_model([0.01] * 6, 5e5, ENDS, damper, drag=0.05)
        torque = np.zeros(made.model.nodes)
        torque[list(made.throws)] = 50.0
        swing = np.abs(steady_response(made.model, speed, torque)[:, made.nose])
        peaks.append(swing[speed > 0.5 * natural].max())
        assert made.ring == (None if damper is None else 8)
    assert max(peaks[1:]) < 0.4 * peaks[0]


def test_inertias_from_the_drawing():
    """Against sums over small squares, and ½ of the reciprocating mass by the books."""
    steel = 7850.0
    x, y = np.meshgrid(np.linspace(-0.1, 0.1, 2001), np.linspace(-0.1, 0.1, 2001))
    cell = (x[0, 1] - x[0, 0]) ** 2
    square = x**2 + y**2
    web = (np.abs(x) <= 0.0425) & (y >= -0.030) & (y <= 0.043 + 0.025)
    journal = x**2 + y**2 <= 0.03**2
    pin = x**2 + (y - 0.043) ** 2 <= 0.025**2
    by_squares = steel * cell * np.sum(square * (2 * 0.020 * web + 0.028 * journal + 0.026 * pin))
    assert throw_inertia(THROW, steel) == pytest.approx(by_squares, rel=5e-3)
    assert sector_inertia(0.08, 0.03, 2 * pi, 0.02, steel) == pytest.approx(
        steel * 0.02 * pi / 2 * (0.08**4 - 0.03**4)
    )
    mean = running_gear_inertia(0.43, 0.67, 0.043, 0.1435)
    ratio = 0.043 / 0.1435
    by_book = (0.43 + 0.67 * (0.5 + ratio**2 / 8)) * 0.043**2
    assert mean == pytest.approx(by_book, rel=1e-3)  # λ⁴ and up left out


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: torsional_chain([1.0], []),
        lambda: crank_model([0.01], 0.0, ENDS),
        lambda: crank_model([0.01, 0.01], [1e5], ENDS),
        lambda: crank_model([0.01], 1e5, replace(ENDS, flywheel=0.0)),
        lambda: torsional_chain([1.0, -1.0], [1.0]),
        lambda: torsional_chain([1.0, 1.0], [-1.0]),
        lambda: torsional_chain([1.0, 1.0], [0.0]),
        lambda: torsional_chain([1.0, 1.0], [1.0, 2.0]),
        lambda: torsional_chain([1.0, 1.0], [1.0], damping=-1.0),
        lambda: with_branch(torsional_chain([1, 1], [1]), 5, 1.0, 1.0),
        lambda: steady_response(torsional_chain([1, 1], [1]), [0.0], [1.0, 0.0]),
        lambda: steady_response(torsional_chain([1, 1], [1]), [1.0], [1.0]),
        lambda: holzer(with_branch(torsional_chain([1, 1], [1]), 0, 1.0, 1.0), 1.0),
        lambda: holzer(torsional_chain([1, 1], [0], damping=1.0), 1.0),
        lambda: scaled_to_frequency(torsional_chain([1, 1], [1]), 3, 1.0),
        lambda: frequency_band(
            torsional_chain([1, 1], [1]), shared_stiffness=0.1, stiffness=0, inertia=0, draws=5
        ),
        lambda: speed_sweep(torsional_chain([1, 1], [1]), [7], [1.0], [[1.0]], [[0.0]], [1.0]),
        lambda: speed_sweep(torsional_chain([1, 1], [1]), [0], [1.0], [[1, 2]], [[0.0]], [1.0]),
        lambda: shaft_stiffness(0.05, 0.1, 8e10, 0.06),
        lambda: sector_inertia(0.05, 0.06, 1.0, 0.02, 7850),
        lambda: throw_stiffness(CrankThrow(0.06, 0.02, 0.05, 0.02, 0.04, 0.02, 0.0), 8e10),
        lambda: throw_inertia(
            CrankThrow(0.06, 0.02, 0.05, 0.02, 0.04, 0.02, 0.08, pin_bore=0.05), 7850
        ),
    ],
)
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(InputError):
        wrong()
