"""How a torsional train swings when it is driven: order by order, over speed.

Conventions as in `torsion`: rad, N·m, rad/s, and complex numbers for what swings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bedplate.errors import InputError
from bedplate.physics.checks import Array, as_row, require_not_negative, require_positive
from bedplate.physics.torsion import TorsionalModel

Phasors = NDArray[np.complex128]

_AT_A_TIME = 900
"""Frequencies whose numbers stay in the processor's cache together."""


def steady_response(model: TorsionalModel, frequency: ArrayLike, torque: ArrayLike) -> Phasors:
    """Return the steady vibration of every inertia under torques of one frequency each.

    The train is cut from its leaves to its root, many frequencies at once; the train's turning as
    a whole at zero frequency is refused.

    :param frequency: rad/s, above zero, shape (f,)
    :param torque: complex, N·m, shape (n,) or (f, n)
    :returns: rad, complex, shape (f, n); infinite or not a number only where an undamped train is
        driven exactly at a natural frequency
    :source: (K + iωC − ω²J)·θ = T with complex stiffness k(1 + iη) for rubber
    """
    omega = as_row(frequency, "frequency")
    if (omega <= 0).any():
        raise InputError("A vibration's frequency must be above zero.")
    torques = np.asarray(torque, dtype=np.complex128)
    if torques.shape not in {(model.nodes,), (omega.size, model.nodes)}:
        raise InputError(f"The torque needs one number for each of {model.nodes} inertias.")
    load = np.array(np.broadcast_to(torques, (omega.size, model.nodes)).T, order="C")
    cuts = _leaves_first(model)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for begin in range(0, omega.size, _AT_A_TIME):
            part = slice(begin, begin + _AT_A_TIME)
            _solve_by_cutting(cuts, *_dynamic_stiffness(model, omega[part]), load[:, part])
    return np.asarray(load.T)


def _dynamic_stiffness(model: TorsionalModel, omega: Array) -> tuple[Phasors, Phasors]:
    """Return what couples the ends of each shaft, and what each node alone swings against."""
    lossy = model.loss * model.stiffness
    held, lost, damped = (
        _at_nodes(model, each) for each in (model.stiffness, lossy, model.damping)
    )
    coupling = np.empty((model.nodes - 1, omega.size), dtype=np.complex128)
    coupling.real = model.stiffness[:, np.newaxis]
    coupling.imag = lossy[:, np.newaxis] + np.outer(model.damping, omega)
    diagonal = np.empty((model.nodes, omega.size), dtype=np.complex128)
    diagonal.real = held[:, np.newaxis] - np.outer(model.inertia, omega**2)
    diagonal.imag = lost[:, np.newaxis] + np.outer(damped + model.drag, omega)
    return coupling, diagonal


def _at_nodes(model: TorsionalModel, values: Array) -> Array:
    """Return what the shafts bring to their ends, one value a shaft, shape (n,)."""
    total = np.zeros(model.nodes)
    np.add.at(total, model.first, values)
    np.add.at(total, model.second, values)
    return total


def _solve_by_cutting(
    cuts: list[tuple[int, int, int]], coupling: Phasors, diagonal: Phasors, load: Phasors
) -> None:
    """Turn the load, shape (n, f), into the response, in place."""
    share = np.empty_like(coupling)
    for leaf, towards, shaft in cuts:
        share[shaft] = coupling[shaft] / diagonal[leaf]
        diagonal[towards] -= share[shaft] * coupling[shaft]
        load[towards] += share[shaft] * load[leaf]
    load /= diagonal
    for leaf, towards, shaft in reversed(cuts):
        load[leaf] += share[shaft] * load[towards]


def shaft_torque(model: TorsionalModel, response: Phasors, frequency: ArrayLike) -> Phasors:
    """Return the vibratory torque in every shaft, N·m, complex, shape (f, n − 1).

    :param response: as from `steady_response`, shape (f, n)
    :param frequency: rad/s, shape (f,)
    :source: k(1 + iη)·Δθ + iωc·Δθ
    """
    omega = as_row(frequency, "frequency")[:, np.newaxis]
    twist = response[:, model.first] - response[:, model.second]
    stiff = model.stiffness * (1 + 1j * model.loss) + 1j * omega * model.damping
    return np.asarray(stiff * twist)


def shear_stress(torque: float | Array, diameter: float, bore: float = 0.0) -> Array:
    """Return the nominal shear stress at the surface of a round shaft, Pa; no notch is in it.

    :param torque: N·m, any shape
    :param diameter: m
    :param bore: m
    :source: 16·T·D/(π(D⁴ − d⁴))
    """
    require_positive(diameter=diameter)
    require_not_negative(bore=bore)
    if bore >= diameter:
        raise InputError("A shaft's bore must be smaller than the shaft.")
    return np.asarray(16 * np.abs(torque) * diameter / (pi * (diameter**4 - bore**4)))


def torque_harmonics(torque: Array, cycle: float, highest: float = 12.0) -> tuple[Array, Phasors]:
    """Return the orders of a torque over a cycle, and its vectors.

    T(θ) = T₀ + Re Σ T_q·exp(i·q·θ). A four-stroke has half orders.

    :param torque: on an even grid over the cycle, N·m, shape (c, samples)
    :param cycle: 4π or 2π, rad
    :param highest: order
    :returns: orders, shape (q,), from the lowest above zero; vectors, N·m, shape (c, q)
    :source: discrete Fourier transform
    """
    step = 2 * pi / cycle
    count = round(highest / step)
    samples = torque.shape[-1]
    if not 1 <= count < samples // 2:
        raise InputError(f"Orders up to {highest:g} need more than {samples} points in a cycle.")
    spectrum = 2 * np.fft.rfft(torque, axis=-1)[..., 1 : count + 1] / samples
    orders: Array = np.linspace(step, count * step, count)
    return orders, np.asarray(spectrum)


@dataclass(frozen=True, slots=True)
class SpeedSweep:
    """Vibration by order over speed.

    :param order: shape (q,)
    :param speed: of the crank, rad/s, shape (s,)
    :param response: rad, complex, shape (q, s, n)
    :param torque: in the shafts, N·m, complex, shape (q, s, n − 1)
    """

    order: Array
    speed: Array
    response: Phasors
    torque: Phasors

    def twist(self, node: int, against: int) -> Phasors:
        """Return how far a node swings ahead of another, rad, complex, shape (q, s)."""
        return np.asarray(self.response[:, :, node] - self.response[:, :, against])

    def greatest(self, node: int, against: int | None = None, samples: int = 720) -> Array:
        """Return the greatest swing over a cycle, all orders together, rad, shape (s,).

        Against another node it is a twist; else the train's uneven turning is in it too.
        """
        swing = self.response[:, :, node] if against is None else self.twist(node, against)
        return greatest_sum(self.order, swing, samples)

    def greatest_torque(self, shaft: int, samples: int = 720) -> Array:
        """Return the greatest vibratory torque in a shaft over a cycle, all orders, N·m, (s,)."""
        return greatest_sum(self.order, self.torque[:, :, shaft], samples)


def speed_sweep(
    model: TorsionalModel,
    nodes: Sequence[int],
    order: ArrayLike,
    gas: ArrayLike,
    inertia: ArrayLike,
    speed: ArrayLike,
) -> SpeedSweep:
    """Return how every inertia swings over a range of speeds, order by order.

    :param nodes: node of the model at which each cylinder acts, from 0, one a cylinder
    :param order: shape (q,)
    :param gas: vectors of the gas torque, N·m, shape (c, q), or (s, c, q) by speed
    :param inertia: vectors of the inertia torque at 1 rad/s, N·m·s², shape (c, q)
    :param speed: of the crank, rad/s, shape (s,)
    :source: superposition; gas torque by order and inertia torque growing with the speed squared
        (Taylor, The Internal Combustion Engine in Theory and Practice, vol. II, chapter 8)
    """
    orders, speeds = as_row(order, "order"), as_row(speed, "speed")
    places = np.asarray(nodes, dtype=np.int64)
    push = np.asarray(gas, dtype=np.complex128)
    mass = np.asarray(inertia, dtype=np.complex128)
    wanted = (places.size, orders.size)
    if mass.shape != wanted or push.shape not in {wanted, (speeds.size, *wanted)}:
        raise InputError(f"Each of {places.size} cylinders needs a torque of each order.")
    if places.size == 0 or places.min() < 0 or places.max() >= model.nodes:
        raise InputError("A cylinder acts on an inertia that is not there.")
    both = push + mass * speeds[:, np.newaxis, np.newaxis] ** 2
    torque = np.zeros((orders.size, speeds.size, model.nodes), dtype=np.complex128)
    for cylinder, node in enumerate(places):
        torque[:, :, node] += both[:, cylinder, :].T
    frequency = np.outer(orders, speeds).ravel()
    response = steady_response(model, frequency, torque.reshape(frequency.size, model.nodes))
    inside = shaft_torque(model, response, frequency)
    shape = (orders.size, speeds.size)
    return SpeedSweep(
        orders, speeds, response.reshape(*shape, -1), np.asarray(inside.reshape(*shape, -1))
    )


@dataclass(frozen=True, slots=True)
class CriticalSpeed:
    """A speed at which an order meets a natural frequency.

    :param mode: from 0
    :param order: of the excitation
    :param speed: of the crank, rad/s
    """

    mode: int
    order: float
    speed: float


def critical_speeds(
    frequency: ArrayLike, order: ArrayLike, lowest: float, highest: float
) -> tuple[CriticalSpeed, ...]:
    """Return the critical speeds inside a range, slowest first.

    :param frequency: natural, rad/s, shape (m,)
    :param order: shape (q,)
    :param lowest: speed, rad/s
    :param highest: speed, rad/s
    :source: Ω = ω/q
    """
    found = [
        CriticalSpeed(mode, float(q), float(omega / q))
        for mode, omega in enumerate(as_row(frequency, "natural frequency"))
        for q in as_row(order, "order")
        if lowest <= omega / q <= highest
    ]
    return tuple(sorted(found, key=lambda c: (c.speed, c.mode)))


def phase_vector_sum(shape: ArrayLike, firing: ArrayLike, order: ArrayLike) -> Array:
    """Return how cylinders that do the same work add up in one mode, by order, shape (q,).

    Great where an order is a major one: all cylinders push together.

    :param shape: amplitude of the mode at each cylinder, shape (c,)
    :param firing: crank angle of each cylinder's firing, rad, shape (c,)
    :param order: shape (q,)
    :source: phase-vector diagrams; Den Hartog, Mechanical Vibrations, section 5.4
    """
    amplitudes = as_row(shape, "mode shape")
    angles = as_row(firing, "firing angle", amplitudes.size)
    turned = np.exp(-1j * np.outer(as_row(order, "order"), angles))
    return np.asarray(np.abs(turned @ amplitudes))


def _leaves_first(model: TorsionalModel) -> list[tuple[int, int, int]]:
    """Return (leaf, node towards the root, shaft) in the order in which leaves can be cut off."""
    ends = list(zip(model.first.tolist(), model.second.tolist(), strict=True))
    reached, cuts = {model.nodes - 1}, list[tuple[int, int, int]]()
    while len(reached) < model.nodes:
        for shaft, (i, j) in enumerate(ends):
            if (i in reached) != (j in reached):
                leaf, towards = (i, j) if j in reached else (j, i)
                cuts.append((leaf, towards, shaft))
                reached.add(leaf)
    return cuts[::-1]


def greatest_sum(order: Array, vectors: Phasors, samples: int) -> Array:
    """Return the greatest absolute value of Re Σ vectors·exp(i·order·θ) over a cycle, shape (s,).

    :param order: shape (q,); whole orders repeat each turn, half orders each second one
    :param vectors: any unit, complex, shape (q, s)
    :param samples: angles at which it is looked at
    :source: superposition of the orders
    """
    whole = bool((np.mod(order, 1.0) == 0).all())
    step = 1.0 if whole else 0.5
    place = np.rint(order / step).astype(np.int64)
    if (
        np.unique(place).size == order.size
        and place.max() < samples // 2
        and np.allclose(place * step, order)
    ):
        spectrum = np.zeros((samples // 2 + 1, vectors.shape[1]), dtype=np.complex128)
        spectrum[place] = vectors * (samples / 2)
        return np.asarray(np.abs(np.fft.irfft(spectrum, n=samples, axis=0)).max(axis=0))
    angle = np.linspace(0.0, 2 * pi / step, samples, endpoint=False)
    turning = np.exp(1j * np.outer(angle, order))
    return np.asarray(np.abs((turning @ vectors).real).max(axis=0))
