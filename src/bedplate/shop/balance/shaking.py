"""What the engine shakes with: forces and couples by order, with its counterweights and shafts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot, pi

import numpy as np

from bedplate.engine import Engine
from bedplate.errors import InputError
from bedplate.physics.balance import (
    BalanceShaft,
    Ellipse,
    OrderBalance,
    engine_balance,
    exact_balance,
)
from bedplate.physics.checks import Array
from bedplate.physics.crank_train import MovingMasses, masses_from_ends
from bedplate.shop.balance.bob_weight import throws_of
from bedplate.shop.balance.weights import RECIPROCATING, ROTATING, Weights, weights_of
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.train import Train, crank_train
from bedplate.shop.model import State

ORDERS = (1, 2, 3, 4, 6)


@dataclass(frozen=True, slots=True)
class OrderShake:
    """One order at the highest speed.

    :param force: N
    :param couple: about the middle of the crank, N·m
    """

    order: int
    balance: OrderBalance
    force: Ellipse
    couple: Ellipse


@dataclass(frozen=True, slots=True)
class Shaking:
    """What the engine shakes with at one speed.

    :param speed: rad/s
    :param reference: plane that couples are taken about, m from the first throw
    :param orders: in closed form, counterweights and shafts in
    :param bare: the same without balance shafts
    :param angle, force, couple: exact, over a turn: rad (n,), N (n, 2), N·m (n, 2); shafts in
    """

    train: Train
    weights: Weights
    shafts: tuple[BalanceShaft, ...]
    speed: float
    reference: float
    orders: tuple[OrderShake, ...]
    bare: tuple[OrderShake, ...]
    angle: Array
    force: Array
    couple: Array


def shaking_of(engine: Engine, state: State | None = None, speed: float | None = None) -> Shaking:
    """Return what the engine shakes with.

    :param speed: rad/s; None: the highest that the file says
    :raises InputError: the file does not say a weight, a place or a speed that is needed
    """
    train = crank_train(Given(engine, state), with_mains=False)
    weights = weights_of(engine, state)
    masses = each_mass(engine, weights)
    top = engine.duty.speed
    at = speed or (top.value if top else 0.0)
    if not at > 0:
        raise InputError(
            "The engine file does not say how fast it turns.", hint="Give engine.speed."
        )
    shafts = shafts_of(engine)
    middle = float(train.layout.position.min() + train.layout.position.max()) / 2
    closed, bare = (
        engine_balance(train.layout, masses, train.turning, some, reference=middle, orders=ORDERS)
        for some in (shafts, ())
    )
    angle, force, couple = exact_balance(
        train.layout, masses, at, train.turning, shafts, reference=middle, samples=360
    )
    asked = (*train.unknown, *([engine.layout.doubt] if engine.layout.doubt else ()))
    return Shaking(
        replace(train, masses=masses, unknown=asked), weights, shafts, at, middle,
        tuple(_at(one, at) for one in closed), tuple(_at(one, at) for one in bare),
        angle, force, couple,
    )  # fmt: skip


def each_mass(engine: Engine, weights: Weights) -> MovingMasses:
    """Return the masses of every cylinder, as weighed."""

    def each(*parts: str) -> Array:
        return np.array(
            [sum(weights.of(p, label).value for p in parts) for label in weights.labels]
        )

    piston = each(*(part for part in RECIPROCATING if part != "small end"))
    return masses_from_ends(
        len(weights.labels), piston, each("small end"), each(*ROTATING), engine.rod
    )


def taken_by_shafts(engine: Engine, weights: Weights) -> float:
    """Return the share that balance shafts take of what turns against the crank, to first order.

    Force and couple about the crank's middle count together, the force at half the crank's length.
    Shafts that make it worse take nothing.

    :returns: 0 to 1
    :raises InputError: the file does not say where the throws stand, or a weight
    """
    train = crank_train(Given(engine), with_mains=False)
    layout, masses = train.layout, each_mass(engine, weights)
    middle = float(layout.position.min() + layout.position.max()) / 2
    reach = max(float(np.ptp(layout.position)) / 2, layout.throw)
    bare, left = (
        _against(engine_balance(layout, masses, shafts=some, reference=middle, orders=(1,))[0])
        for some in ((), shafts_of(engine))
    )
    whole = hypot(bare[0], bare[1] / reach)
    if whole < 1e-9 * layout.throw * float(masses.reciprocating(layout.rod).max()):
        return 0.0
    return max(1.0 - hypot(left[0], left[1] / reach) / whole, 0.0)


def _against(order: OrderBalance) -> tuple[float, float]:
    return abs(order.force_backward), abs(order.couple_backward)


def shafts_of(engine: Engine) -> tuple[BalanceShaft, ...]:
    """Return the balance shafts, as the kernels take them."""
    return tuple(
        BalanceShaft(one.ratio, one.unbalance.value, one.angle.value, one.at.value)
        for one in engine.balancing.shafts
    )


def _at(balance: OrderBalance, speed: float) -> OrderShake:
    return OrderShake(balance.order, balance, balance.force(speed), balance.couple(speed))


@dataclass(frozen=True, slots=True)
class TurningVector:
    """What turns with the crank at one throw, to first order.

    :param force: mass times radius, kg·m, complex: axis 1 real
    :param couple: the same times its distance from the crank's middle, kg·m²
    """

    name: str
    force: complex
    couple: complex


def turning_vectors(engine: Engine, shaking: Shaking) -> tuple[TurningVector, ...]:
    """Return the vectors of every throw that counterweights have to cancel, and the counterweights.

    What rotates counts whole, what reciprocates by half: the part that turns with the crank.
    """
    layout, masses = shaking.train.layout, shaking.train.masses
    amount = masses.rotating(layout.rod) + masses.reciprocating(layout.rod) / 2
    each = amount * layout.throw * np.exp(1j * layout.throw_angle)
    arms = layout.position - shaking.reference
    index = {label: n for n, label in enumerate(shaking.weights.labels)}
    found = []
    for throw in throws_of(engine):
        places = [index[label] for label in throw.labels]
        found.append(
            TurningVector(
                str(throw.number), complex(each[places].sum()), complex((arms * each)[places].sum())
            )
        )
    weights = shaking.train.turning
    turned = weights.amount * np.exp(1j * weights.angle)
    if weights.amount.size:
        couple = complex(((weights.position - shaking.reference) * turned).sum())
        found.append(TurningVector("counterweights", complex(turned.sum()), couple))
    return tuple(found)


def rpm(speed: float) -> float:
    """Return a speed in turns a minute."""
    return speed * 30 / pi
