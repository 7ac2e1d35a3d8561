"""What a crank train shakes with: forces and couples by order, for any layout.

A force of order n is written as two vectors that turn at n times the crank's speed, one forward
and one backward, as complex numbers (axis 1 real, axis 2 imaginary; axes as in `crank_train`) in
kg·m, to be multiplied by the speed squared. A couple is the same times the distance along the
crank from the reference plane, in kg·m²; it is told by the direction of the force that makes it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from bedplate.errors import InputError
from bedplate.physics.checks import Array, require_finite, require_not_negative
from bedplate.physics.crank_train import NO_UNBALANCE, CrankLayout, MovingMasses, Unbalance
from bedplate.physics.loads import inertia_of_cylinders
from bedplate.physics.slider_crank import motion

_SAMPLES = 512
"""Of a turn: enough for orders far above any that matters."""


@dataclass(frozen=True, slots=True)
class Ellipse:
    """The path that the tip of a force or couple runs over.

    :param greatest: half the long axis, N or N·m
    :param least: half the short axis
    :param direction: of the long axis, rad from axis 1, in [0, π)
    :param forward: True where the tip runs with the crank
    """

    greatest: float
    least: float
    direction: float
    forward: bool


@dataclass(frozen=True, slots=True)
class OrderBalance:
    """Force and couple of one order; multiply by the speed squared.

    :param order: turns a turn of the crank
    :param force_forward: kg·m, at crank angle zero
    :param force_backward: kg·m
    :param couple_forward: about the reference plane, kg·m²
    :param couple_backward: kg·m²
    """

    order: int
    force_forward: complex
    force_backward: complex
    couple_forward: complex
    couple_backward: complex

    def force(self, speed: float) -> Ellipse:
        """Return the force at a speed in rad/s, N."""
        return _ellipse(self.force_forward * speed**2, self.force_backward * speed**2)

    def couple(self, speed: float) -> Ellipse:
        """Return the couple at a speed in rad/s, N·m."""
        return _ellipse(self.couple_forward * speed**2, self.couple_backward * speed**2)

    def force_at(self, angle: Array, speed: float) -> Array:
        """Return the force at crank angles in rad, N, shape (n, 2)."""
        return _at(self.order, self.force_forward, self.force_backward, angle, speed)

    def couple_at(self, angle: Array, speed: float) -> Array:
        """Return the couple at crank angles in rad, N·m, shape (n, 2)."""
        return _at(self.order, self.couple_forward, self.couple_backward, angle, speed)


@dataclass(frozen=True, slots=True)
class BalanceShaft:
    """A shaft geared to the crank that carries an unbalance.

    :param ratio: turns a turn of the crank, a whole number; below zero where it turns against it
    :param amount: mass times radius, kg·m
    :param angle: of the heavy side at crank angle zero, rad from axis 1
    :param position: along the crank, m
    """

    ratio: int
    amount: float
    angle: float
    position: float


def piston_harmonics(
    throw: float, rod: float, offset: float = 0.0, highest: int = 8
) -> NDArray[np.complex128]:
    """Return the harmonics of minus the piston's acceleration over rω².

    −a/(rω²) = Re Σ hₙ·exp(i·n·θ), θ from the cylinder's axis. Centred: h₁ = 1 and h₂ = λ + λ³/4 +
    15λ⁵/128 + …; odd orders from three up are nil. With an offset every order is there.

    :param throw: r, m
    :param rod: m
    :param offset: m
    :param highest: order, 1 to 64
    :returns: shape (highest + 1,), from order zero
    :source: Fourier analysis of the exact motion; the series in λ = r/l is in any textbook
    """
    if not 1 <= highest <= 64:
        raise InputError(f"Orders run from 1 to 64, not to {highest}.")
    angle: Array = np.linspace(0.0, 2 * pi, _SAMPLES, endpoint=False)
    curve = -motion(angle, throw, rod, offset).acceleration / throw
    spectrum = np.fft.rfft(curve) / _SAMPLES
    return np.asarray(np.concatenate([spectrum[:1], 2 * spectrum[1 : highest + 1]]))


def engine_balance(
    layout: CrankLayout,
    masses: MovingMasses,
    turning: Unbalance = NO_UNBALANCE,
    shafts: Sequence[BalanceShaft] = (),
    *,
    reference: float = 0.0,
    orders: Sequence[int] = (1, 2, 3, 4, 6),
) -> tuple[OrderBalance, ...]:
    """Return what is left of each order, in closed form.

    Each cylinder's reciprocating mass gives to order n half a vector forward and half a vector
    backward; what turns with the crank gives to order one, forward. Inertia of the rod's own
    swinging makes a torque, no force.

    :param reference: plane that couples are taken about, m along the crank
    :param orders: whole numbers from 1 to 64
    :returns: one entry an order
    :source: method of direct and reverse cranks, Thomas Bevan, The Theory of Machines; exact
        harmonics instead of the two-term series
    """
    require_finite(reference_plane=reference)
    harmonics = piston_harmonics(layout.throw, layout.rod, layout.offset, max(orders))
    return tuple(
        _order(layout, masses, turning, shafts, reference, n, complex(harmonics[n])) for n in orders
    )


def _order(
    layout: CrankLayout,
    masses: MovingMasses,
    turning: Unbalance,
    shafts: Sequence[BalanceShaft],
    reference: float,
    order: int,
    harmonic: complex,
) -> OrderBalance:
    half = masses.reciprocating(layout.rod) * layout.throw / 2
    own = order * (layout.throw_angle - layout.bank)
    forward = half * harmonic * np.exp(1j * (layout.bank + own))
    backward = half * np.conj(harmonic) * np.exp(1j * (layout.bank - own))
    arms = layout.position - reference
    sums = np.array([forward.sum(), backward.sum(), arms @ forward, arms @ backward])
    if order == 1:
        round_about = masses.rotating(layout.rod) * layout.throw * np.exp(1j * layout.throw_angle)
        weights = turning.amount * np.exp(1j * turning.angle)
        sums[0] += round_about.sum() + weights.sum()
        sums[2] += arms @ round_about + (turning.position - reference) @ weights
    for shaft in shafts:
        if abs(shaft.ratio) == order:
            vector = shaft.amount * order**2 * np.exp(1j * shaft.angle)
            way = 0 if shaft.ratio > 0 else 1
            sums[way] += vector
            sums[2 + way] += vector * (shaft.position - reference)
    return OrderBalance(order, *(complex(value) for value in sums))


def exact_balance(
    layout: CrankLayout,
    masses: MovingMasses,
    speed: float,
    turning: Unbalance = NO_UNBALANCE,
    shafts: Sequence[BalanceShaft] = (),
    *,
    reference: float = 0.0,
    samples: int = 720,
) -> tuple[Array, Array, Array]:
    """Return force and couple over a turn by adding up the exact motion of every part.

    All orders are in it.

    :param speed: rad/s
    :param reference: plane that couples are taken about, m
    :param samples: of the turn
    :returns: crank angle, rad, shape (n,); force, N, shape (n, 2); couple, N·m, shape (n, 2)
    :source: minus mass times acceleration of every centre of mass
    """
    angle: Array = np.linspace(0.0, 2 * pi, samples, endpoint=False)
    each = inertia_of_cylinders(layout, masses, speed, angle)
    around = angle + turning.angle[:, np.newaxis]
    weights = (turning.amount * speed**2)[:, np.newaxis, np.newaxis] * np.stack(
        [np.cos(around), np.sin(around)], axis=-1
    )
    force = each.sum(axis=0) + weights.sum(axis=0)
    couple = np.einsum("c,cnk->nk", layout.position - reference, each)
    couple = couple + np.einsum("c,cnk->nk", turning.position - reference, weights)
    for shaft in shafts:
        own = shaft.ratio * angle + shaft.angle
        pull = shaft.amount * (shaft.ratio * speed) ** 2
        turned = pull * np.stack([np.cos(own), np.sin(own)], axis=-1)
        force, couple = force + turned, couple + turned * (shaft.position - reference)
    return angle, force, couple


def _ellipse(forward: complex, backward: complex) -> Ellipse:
    with_it, against = abs(forward), abs(backward)
    direction = (np.angle(forward) + np.angle(backward)) / 2 if with_it and against else 0.0
    return Ellipse(
        with_it + against, abs(with_it - against), float(np.mod(direction, pi)), with_it >= against
    )


def _at(order: int, forward: complex, backward: complex, angle: Array, speed: float) -> Array:
    turned = np.exp(1j * order * np.asarray(angle))
    tip = (forward * turned + backward / turned) * speed**2
    return np.stack([tip.real, tip.imag], axis=-1)


_ALL, _NONE = 0.95, 5e-4
"""Shares of the backward part from which shafts count as made for it, and up to which as nothing:
weights of a build differ from those that a shaft was made for (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class BobWeightFactor:
    """How much of the reciprocating mass a bob-weight stands for, and why.

    :param forward: share of the pair's reciprocating inertia that turns with the crank; 1 where
        both rods share a pin
    :param backward: share that turns against it
    :param rotation: factor at which counterweights take the forward part away: one half
    :param planar: factor at which what is left shakes in one plane only
    :param factor: the one that applies
    :param reason: in words
    """

    forward: float
    backward: float
    rotation: float
    planar: float
    factor: float
    reason: str


def bob_weight_factor(
    bank_angle: float, pin_offset: float = 0.0, *, taken: float = 0.0
) -> BobWeightFactor:
    """Return the factor for a pair of rods on one throw of a V engine, to first order.

    The forward part is cos(δ/2) and the backward part |cos(α + δ/2)|; the rest as `throw_factor`.

    :param bank_angle: α, rad, 0 to π
    :param pin_offset: δ, rad, signed so that the pair fires α + δ apart; −π to π
    :param taken: share of the backward part that balance shafts take, 0 to 1
    :returns: refused outside, and where the two pins stand opposite
    :source: as `throw_factor`
    """
    if not (0 <= bank_angle <= pi and -pi < pin_offset < pi):
        raise InputError("A bank angle lies between 0° and 180°, and a pin offset within ±180°.")
    bank = np.array([-bank_angle / 2, bank_angle / 2])
    return throw_factor(bank, np.array([pin_offset / 2, -pin_offset / 2]), taken=taken)


def throw_factor(bank: Array, throw_angle: Array, *, taken: float = 0.0) -> BobWeightFactor:
    """Return the factor for the rods of one throw, from where their cylinders and pins stand.

    Each rod's reciprocating mass turns half forward with its pin and half backward. Counterweights
    at one half take the forward part; only a shaft that turns against the crank takes the backward
    one. With what shafts leave of it, all of it where there are none,
    k = ½(1 − backward/forward) leaves as much forward as backward, and both together shake in one
    plane; where nothing is left that is one half. Where both are equal, as in line, that would be
    nothing at all, and one half is the usual compromise (common practice).

    The maker's rule and the balancing machine's handbook come first.

    :param bank: direction of each cylinder's axis, rad, shape (r,)
    :param throw_angle: of each rod's pin on the crank, rad, shape (r,)
    :param taken: share of the backward part that balance shafts take, 0 to 1
    :returns: refused where the pins of the throw cancel each other, and for a share outside
    :source: method of direct and reverse cranks (Bevan, The Theory of Machines), applied to a throw
    """
    forward = abs(np.exp(1j * throw_angle).mean())
    backward = abs(np.exp(1j * (2 * bank - throw_angle)).mean())
    if not 0 <= taken <= 1:
        raise InputError(f"Balance shafts take a share between 0 and 1, and not {taken:g}.")
    if forward < 1e-9:
        raise InputError("These pins stand opposite each other; each is a throw of its own.")
    backward = 0.0 if backward < 1e-9 else float(backward)
    planar = max(0.5 * (1 - backward * (1 - taken) / forward), 0.0)
    shared = np.ptp(np.mod(throw_angle - throw_angle[0] + pi, 2 * pi)) < 1e-9
    factor, reason = _chosen(float(forward), backward, float(planar), taken, shared=bool(shared))
    return BobWeightFactor(float(forward), backward, 0.5, float(planar), factor, reason)


def _chosen(
    forward: float, backward: float, planar: float, taken: float, *, shared: bool
) -> tuple[float, str]:
    pins = "share a crankpin" if shared else "stand on split crankpins"
    if backward == 0:
        return 0.5, (
            f"The rods {pins} and nothing turns against the crank: half the reciprocating mass"
            " balances the primary force completely."
        )
    if taken >= _ALL:
        return 0.5, (
            "Half the reciprocating mass takes what turns with the crank"
            f" ({forward:.3f}), and the balance shafts take what turns against it ({backward:.3f})."
        )
    shafts = "no shaft takes" if taken < _NONE else f"the balance shafts take {taken:.1%} of"
    if backward > forward - 1e-9:
        return 0.5, (
            f"At least as much turns against the crank as with it, and {shafts} it: half the"
            " reciprocating mass is the usual compromise, which turns half of the shake from along"
            " the cylinders to against the crank. The maker's rule comes first."
        )
    return planar, (
        f"The rods {pins} and {shafts} what turns against the crank ({backward:.3f} of"
        f" {forward:.3f}): {planar:.1%} leaves a shake in one plane, 50 % one that turns against"
        " the crank. Makers choose between them."
    )


def bob_weight(rotating: float, reciprocating: float, factor: float) -> float:
    """Return the weight to hang on a throw, kg: all that rotates and a share of what reciprocates.

    :param rotating: big ends, shells and oil of all rods on the throw, kg
    :param reciprocating: pistons, pins, locks, rings and small ends of the same rods, kg
    :param factor: 0 to 1
    :source: common practice
    """
    require_not_negative(rotating_weight=rotating, reciprocating_weight=reciprocating)
    if not 0 <= factor <= 1:
        raise InputError(f"A bob-weight factor lies between 0 and 1, and is {factor:g}.")
    return rotating + factor * reciprocating


def balances_itself(throw_angle: Array, position: Array, tolerance: float = 1e-6) -> bool:
    """Return whether equal weights on every throw cancel in force and couple: no bob-weights.

    :param throw_angle: of each crankpin, rad, shape (k,)
    :param position: of each crankpin along the crank, m, shape (k,)
    :param tolerance: of the sums, relative to one throw's
    :source: statics of rotating masses
    """
    vectors = np.exp(1j * np.asarray(throw_angle))
    places = np.asarray(position) - np.mean(position)
    reach = max(float(np.abs(places).max()), 1e-12)
    return bool(abs(vectors.sum()) < tolerance and abs(places @ vectors) < tolerance * reach)
