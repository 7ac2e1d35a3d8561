"""Trials and first order against the guides' own examples and a reference package."""

from math import erf, sqrt

import numpy as np
import pytest
import uncertainties
from GTC import cos, ureal
from scipy.stats import norm, triang, uniform

from bedplate.errors import InputError
from bedplate.physics.first_order import first_order
from bedplate.physics.scatter import propagate
from bedplate.physics.spread import Shape, Spread, between


def four(shape, wide):
    return {name: Spread(100.0, wide, shape) for name in "abcd"}


def total(source):
    return source["a"] + source["b"] + source["c"] + source["d"]


def test_sum_of_four_normal_quantities():
    # JCGM 101:2008, 9.2.2: u(y) = 2.0, 95 % interval ±3.92.
    got = propagate(four(Shape.NORMAL, 2.0), total)
    assert got.standard_deviation == pytest.approx(2.0, abs=0.01)
    assert (got.low - 400, got.high - 400) == pytest.approx((-3.92, 3.92), abs=0.03)
    assert got.first_order.standard_uncertainty == pytest.approx(2.0, rel=1e-12)
    assert got.first_order_holds


def test_sum_of_four_rectangular_quantities():
    # JCGM 101:2008, 9.2.3: u(y) = 2.0, 95 % interval ±3.88 (first order gives ±3.92).
    got = propagate(four(Shape.RECTANGULAR, sqrt(3)), total)
    assert got.standard_deviation == pytest.approx(2.0, abs=0.01)
    assert (got.low - 400, got.high - 400) == pytest.approx((-3.88, 3.88), abs=0.03)


SHAPES = {
    Shape.RECTANGULAR: uniform(9, 2),
    Shape.TRIANGULAR: triang(0.5, 9, 2),
    Shape.NORMAL: norm(10, 0.5),
}


@pytest.mark.parametrize("shape", Shape)
def test_each_shape_is_what_it_says(shape):
    # scipy.stats: percentiles of ±1 about 10; 4/√n of the density's spread is allowed.
    got = propagate({"x": Spread(10.0, 1.0, shape)}, lambda s: s["x"])
    for share, value in got.percentiles:
        assert value == pytest.approx(SHAPES[shape].ppf(share), abs=0.008)
    assert Spread(10.0, 1.0, shape).standard_uncertainty == pytest.approx(SHAPES[shape].std())


def test_first_order_against_two_packages():
    # GTC (MSL) and uncertainties, both of which differentiate exactly: y = a·cos b/(c + d²).
    sources = {"a": between(9.9, 10.1), "b": Spread(0.7, 0.01), "c": Spread(3.0, 0.02),
               "d": Spread(1.3, 0.01, Shape.NORMAL)}  # fmt: skip

    def model(s):
        return s["a"] * np.cos(s["b"]) / (s["c"] + s["d"] ** 2)

    u = {name: spread.standard_uncertainty for name, spread in sources.items()}
    a, b, c, d = (ureal(sources[name].value, u[name]) for name in "abcd")
    by_gtc = a * cos(b) / (c + d**2)
    got = first_order(sources, model)
    assert got.value == pytest.approx(by_gtc.x, rel=1e-12)
    assert got.standard_uncertainty == pytest.approx(by_gtc.u, rel=1e-4)
    a, c, d = (uncertainties.ufloat(sources[name].value, u[name]) for name in "acd")
    flat = first_order({**sources, "b": Spread(0.7)}, model)
    by_other = a * np.cos(0.7) / (c + d**2)
    assert flat.standard_uncertainty == pytest.approx(by_other.std_dev, rel=1e-4)


@pytest.mark.parametrize("correlation", [0.0, 0.4, 1.0])
@pytest.mark.parametrize("shape", Shape)
def test_two_that_go_together(shape, correlation):
    # GUM 5.2.2: u² of a sum is u1² + u2² + 2·r·u1·u2, for trials and for first order alike.
    sources = {"x": Spread(10.0, 1.0, shape), "y": Spread(20.0, 2.0, shape)}
    got = propagate(
        sources, lambda s: s["x"] + s["y"], together=("x", "y"), correlation=correlation
    )
    one, two = (spread.standard_uncertainty for spread in sources.values())
    expected = sqrt(one**2 + two**2 + 2 * correlation * one * two)
    assert got.first_order.standard_uncertainty == pytest.approx(expected, rel=1e-12)
    assert got.standard_deviation == pytest.approx(expected, rel=4e-3)


def test_share_past_a_level():
    # Normal distribution: Φ(1) = 84.13 % below one standard deviation.
    got = propagate(
        {"x": Spread(10.0, 1.0, Shape.NORMAL)},
        lambda s: s["x"],
        strain=lambda source, result: result / 10.5,
        levels=(1.0, 2.0),
    )
    assert got.past[0] == pytest.approx((1 - erf(1 / sqrt(2))) / 2, abs=2e-3)
    assert got.past[1] == 0


def test_the_picture_holds_nearly_all_trials():
    got = propagate({"x": Spread(10.0, 1.0, Shape.TRIANGULAR)}, lambda s: s["x"], trials=50_000)
    assert len(got.edges) == len(got.shares) + 1
    assert sum(got.shares) == pytest.approx(0.999, abs=2e-4)
    assert list(got.edges) == sorted(got.edges)


def test_first_order_does_not_hold_far_off_a_straight_line():
    # JCGM 101:2008, 8.1: the interval of 1/x for ±60 % is skewed, first order's is not.
    got = propagate({"x": Spread(1.0, 0.6)}, lambda s: 1 / s["x"])
    assert not got.first_order_holds
    assert got.mean > got.first_order.value


def test_the_same_seed_gives_the_same_trials():
    def run(seed):
        return propagate({"x": Spread(10.0, 1.0)}, lambda s: s["x"] ** 2, trials=2000, seed=seed)

    assert run(3) == run(3)
    assert run(3) != run(4)


def test_what_is_exact_is_exact():
    got = propagate({"x": Spread(10.0)}, lambda s: s["x"] * 2, trials=1000)
    assert (got.low, got.mean, got.high) == (20, 20, 20)
    assert got.plus_minus == got.standard_deviation == 0
    assert got.first_order_holds


REFUSED = {
    "below zero": lambda: Spread(0.1, 0.11),
    "normal that reaches zero": lambda: Spread(0.1, 0.04, Shape.NORMAL),
    "no value": lambda: Spread(0.0, 0.0),
    "limits turned round": lambda: between(0.2, 0.1),
    "too few": lambda: propagate({"x": Spread(1.0)}, lambda s: s["x"], trials=10),
    "no correlation": lambda: propagate({"x": Spread(1.0)}, lambda s: s["x"], correlation=1.5),
    "two shapes": lambda: first_order(
        {"x": Spread(1.0, 0.1), "y": Spread(1.0, 0.1, Shape.NORMAL)},
        lambda s: s["x"] + s["y"],
        together=("x", "y"),
        correlation=0.5,
    ),
    "share not kept": lambda: propagate({"x": Spread(1.0)}, lambda s: s["x"], trials=1000).at(0.3),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_is_refused(what):
    with pytest.raises(InputError) as caught:
        REFUSED[what]()
    assert caught.value.sentence.endswith(".")
