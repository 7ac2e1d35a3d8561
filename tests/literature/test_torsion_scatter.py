"""The band of the twist, against trains whose answer is known in closed form."""

from math import pi

import numpy as np
import pytest

from bedplate.errors import InputError
from bedplate.physics.torsion import KnownFrequency, frequency_band, modes, torsional_chain
from bedplate.physics.torsion_response import greatest_sum, speed_sweep
from bedplate.physics.torsion_scatter import Doubt, drawn_models, twist_band

# Three throws and a flywheel as in Friswell, Penny, Garvey & Lees, Dynamics of Rotating Machines,
# example 9.7.1, without its load: 3 × 0.0035 and 0.15 kg·m², 12, 12 and 14 kN·m/rad.
CHAIN = torsional_chain([0.0035] * 3 + [0.15], [12e3, 12e3, 14e3], drag=[0.2, 0.2, 0.2, 0.0])
NODES = (0, 1, 2)
ORDERS = np.array([0.5, 1.0, 1.5, 3.0])
SPEEDS = np.linspace(50.0, 700.0, 40)


def torques(seed=3):
    random = np.random.default_rng(seed)
    shape = (SPEEDS.size, len(NODES), ORDERS.size)
    return random.standard_normal(shape) + 1j * random.standard_normal(shape)


def test_without_doubt_the_band_is_the_forced_response():
    # Maxwell-Betti: one load between the ends tells what every torque twists them by.
    push = torques()
    band = twist_band(CHAIN, NODES, ORDERS, push, SPEEDS, (0, 3), Doubt(0.0, 0.0, 0.0), draws=20,
                      samples=720)  # fmt: skip
    sweep = speed_sweep(CHAIN, NODES, ORDERS, push, np.zeros(push.shape[1:]), SPEEDS)
    exact = sweep.greatest(0, 3, samples=720)
    assert band.low == pytest.approx(exact, rel=1e-9)
    assert band.high == pytest.approx(exact, rel=1e-9)
    assert band.worst == pytest.approx((exact.max(), exact.max()), rel=1e-9)


def test_a_peak_is_as_uncertain_as_its_damping():
    # One mode, lightly damped: its peak is T/(c·ω) (Den Hartog, Mechanical Vibrations, section
    # 2.10), so a damping that lies between half and twice, every ratio as likely, has 95 % of the
    # peaks between 2^−0.95 and 2^0.95 of the middle one.
    two = torsional_chain([1.0, 1e9], [1e4], drag=[2.0, 0.0])
    speeds = np.linspace(95.0, 105.0, 401)
    push = np.ones((speeds.size, 1, 1), dtype=complex)
    doubt = Doubt(0.0, 0.0, 0.0, least_drag=0.5, most_drag=2.0)
    band = twist_band(two, (0,), [1.0], push, speeds, (0, 1), doubt, draws=400, samples=360)
    middle = 1.0 / (2.0 * 100.0)
    assert band.worst[0] == pytest.approx(middle * 2**-0.95, rel=0.01)
    assert band.worst[1] == pytest.approx(middle * 2**0.95, rel=0.01)


def test_shared_stiffness_moves_the_frequency_by_half():
    # ω = √(k/J): a tenth of standard uncertainty in k is a twentieth in ω.
    drawn = list(drawn_models(CHAIN, Doubt(0.1, 0.0, 0.0), 400))
    first = np.log([modes(one).frequency[0] for one in drawn])
    assert float(np.std(first)) == pytest.approx(0.05, rel=0.02)


def test_every_draw_keeps_to_a_frequency_that_is_known():
    exact = float(modes(CHAIN).frequency[0])
    known = KnownFrequency(4, 1.02 * exact, 0.0)
    doubt = Doubt(0.06, 0.03, 0.03, known=known)
    for one in drawn_models(CHAIN, doubt, 20):
        assert modes(one).frequency[0] == pytest.approx(1.02 * exact, rel=1e-9)
    sure = KnownFrequency(4, exact, 0.01)
    band = frequency_band(CHAIN, shared_stiffness=0.06, stiffness=0.03, inertia=0.03, known=sure,
                          draws=4000)  # fmt: skip
    assert band.high[0] / band.low[0] == pytest.approx(np.exp(2 * 1.96 * 0.01), rel=2e-3)
    wide = frequency_band(CHAIN, shared_stiffness=0.06, stiffness=0.03, inertia=0.03, draws=4000)
    assert wide.high[0] / wide.low[0] > 1.1


@pytest.mark.parametrize("orders", [[0.5, 1.0, 2.5], [1.0, 2.0, 6.0], [0.75, 2.1]])
def test_the_greatest_over_a_cycle_is_found_where_it_is(orders):
    # Orders of an engine are summed by their transform, others one by one: both on one grid.
    random = np.random.default_rng(5)
    vectors = random.standard_normal((len(orders), 3)) + 1j * random.standard_normal(
        (len(orders), 3)
    )
    whole = all(order % 1 == 0 for order in orders)
    angle = np.linspace(0, 2 * pi if whole else 4 * pi, 720, endpoint=False)
    by_hand = np.abs((np.exp(1j * np.outer(angle, orders)) @ vectors).real).max(axis=0)
    assert greatest_sum(np.array(orders), vectors, 720) == pytest.approx(by_hand, rel=1e-12)


def test_one_order_swings_by_its_amplitude():
    assert greatest_sum(np.array([3.0]), np.array([[3 + 4j]]), 720) == pytest.approx([5], rel=1e-4)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: list(drawn_models(CHAIN, Doubt(0.1, 0.1, 0.1), 3)),
        lambda: list(drawn_models(CHAIN, Doubt(-0.1, 0.1, 0.1), 30)),
        lambda: list(drawn_models(CHAIN, Doubt(0.1, 0.1, 0.1, least_drag=0.0), 30)),
        lambda: twist_band(CHAIN, NODES, ORDERS, torques()[:, :2], SPEEDS, (0, 3),
                           Doubt(0.0, 0.0, 0.0)),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(InputError):
        wrong()
