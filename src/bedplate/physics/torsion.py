"""Torsional vibration of a crankshaft as lumped inertias on shafts without mass.

Inertias are nodes, shafts join two of them, and no shafts close a ring. Angles in rad, torques in
N·m, frequencies as angular frequencies in rad/s. A vibration of order q at crank speed Ω is
Re(θ·exp(i·q·Ω·t)).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bedplate.errors import InputError
from bedplate.physics.checks import Array, as_row, require_not_negative, require_positive

Phasors = NDArray[np.complex128]

_STILL = 1e-6
"""Below this share of the highest frequency a mode is the train turning as a whole."""


@dataclass(frozen=True, slots=True)
class TorsionalModel:
    """Inertias and the shafts between them; made by `torsional_chain` and `with_branch`.

    :param inertia: kg·m², shape (n,)
    :param first: node at one end of each shaft, shape (n − 1,)
    :param second: node at the other
    :param stiffness: N·m/rad; nil where only a fluid couples, shape (n − 1,)
    :param damping: viscous, between the shaft's ends, N·m·s/rad, shape (n − 1,)
    :param loss: loss factor of the shaft's stiffness (rubber), shape (n − 1,)
    :param drag: viscous, from node to ground, N·m·s/rad, shape (n,)
    """

    inertia: Array
    first: NDArray[np.int64]
    second: NDArray[np.int64]
    stiffness: Array
    damping: Array
    loss: Array
    drag: Array

    @property
    def nodes(self) -> int:
        """How many inertias there are."""
        return int(self.inertia.size)


@dataclass(frozen=True, slots=True)
class Modes:
    """Natural frequencies and shapes without damping, slowest first, turning as a whole left out.

    :param frequency: rad/s, shape (m,)
    :param shape: greatest amplitude of each is 1, shape (m, n)
    :param damping_ratio: of critical, from the energy each mode loses, shape (m,)
    :param inertia: modal, Σ J·shape², kg·m², shape (m,)
    """

    frequency: Array
    shape: Array
    damping_ratio: Array
    inertia: Array


def torsional_chain(
    inertia: ArrayLike,
    stiffness: ArrayLike,
    damping: ArrayLike = 0.0,
    loss: ArrayLike = 0.0,
    drag: ArrayLike = 0.0,
) -> TorsionalModel:
    """Return inertias one after another, shaft i between node i and i + 1.

    :param inertia: kg·m², above zero, shape (n,), at least two
    :param stiffness: N·m/rad, not below zero, shape (n − 1,)
    :param damping: N·m·s/rad, one a shaft or one for all
    :param loss: one a shaft or one for all
    :param drag: to ground, N·m·s/rad, one a node or one for all
    """
    inertias = as_row(inertia, "inertia")
    if inertias.size < 2:
        raise InputError("One inertia alone has nothing to twist against; two are the least.")
    shafts = inertias.size - 1
    place = np.arange(shafts)
    model = TorsionalModel(
        inertias,
        place,
        place + 1,
        as_row(stiffness, "stiffness", shafts),
        _spread(damping, "shaft damping", shafts),
        _spread(loss, "loss factor", shafts),
        _spread(drag, "damping to ground", inertias.size),
    )
    _require_sound(model)
    return model


def with_branch(
    model: TorsionalModel,
    node: int,
    inertia: float,
    stiffness: float,
    *,
    damping: float = 0.0,
    loss: float = 0.0,
) -> TorsionalModel:
    """Return the model with one more inertia on a node: a damper's ring, or an accessory.

    Rubber has stiffness and a loss factor; a viscous damper has damping and no stiffness. An
    accessory that turns at i times the crank's speed counts with i² times its inertia and
    stiffness.

    :param node: that it hangs on, from 0
    :param inertia: kg·m²
    :param stiffness: N·m/rad
    :param damping: viscous, N·m·s/rad
    :param loss: loss factor of the stiffness
    """
    if not 0 <= node < model.nodes:
        raise InputError(f"There is no inertia number {node + 1} to hang a branch on.")
    grown = TorsionalModel(
        np.append(model.inertia, inertia),
        np.append(model.first, node),
        np.append(model.second, model.nodes),
        np.append(model.stiffness, stiffness),
        np.append(model.damping, damping),
        np.append(model.loss, loss),
        np.append(model.drag, 0.0),
    )
    _require_sound(grown)
    return grown


def stiffness_matrix(model: TorsionalModel, values: Array | None = None) -> Array:
    """Return the matrix of the shafts, N·m/rad, shape (..., n, n).

    :param values: one a shaft instead of the model's stiffness, shape (..., n − 1)
    """
    k = model.stiffness if values is None else np.asarray(values)
    matrix = np.zeros((*k.shape[:-1], model.nodes, model.nodes))
    for shaft, (i, j) in enumerate(zip(model.first, model.second, strict=True)):
        matrix[..., i, i] += k[..., shaft]
        matrix[..., j, j] += k[..., shaft]
        matrix[..., i, j] -= k[..., shaft]
        matrix[..., j, i] -= k[..., shaft]
    return matrix


def modes(model: TorsionalModel) -> Modes:
    """Return natural frequencies, shapes and damping ratios.

    Frequencies and shapes leave damping out. The ratios are right to first order: a few per cent
    of critical. A fluid-coupled ring takes no part in the shapes.

    :source: generalised eigenproblem K·φ = ω²·J·φ; Den Hartog, Mechanical Vibrations, chapter 5
    """
    root = np.sqrt(model.inertia)
    matrix = stiffness_matrix(model) / np.outer(root, root)
    squares, vectors = np.linalg.eigh(matrix)
    frequency = np.sqrt(np.maximum(squares, 0.0))
    moving = frequency > _STILL * frequency[-1]
    frequency, shape = frequency[moving], (vectors[:, moving] / root[:, np.newaxis]).T
    peak = np.take_along_axis(shape, np.abs(shape).argmax(axis=1)[:, np.newaxis], axis=1)
    shape = shape / peak
    inertia = (shape**2) @ model.inertia
    twist = shape[:, model.first] - shape[:, model.second]
    viscous = (twist**2) @ model.damping + (shape**2) @ model.drag
    rubber = (twist**2) @ (model.loss * model.stiffness)
    ratio = viscous / (2 * frequency * inertia) + rubber / (2 * frequency**2 * inertia)
    return Modes(frequency, shape, np.asarray(ratio), np.asarray(inertia))


def holzer(model: TorsionalModel, frequency: float) -> tuple[Array, Array]:
    """Return Holzer's table for a chain: amplitudes, and the torque behind each inertia.

    The first inertia swings by 1. The last torque is the residual: nil at a natural frequency.

    :param frequency: tried, rad/s
    :returns: rad, shape (n,); N·m, shape (n,); refused for a branched train or a soft shaft
    :source: Den Hartog, Mechanical Vibrations, section 5.2
    """
    place = np.arange(model.nodes - 1)
    if (model.first != place).any() or (model.second != place + 1).any():
        raise InputError("Holzer's table is for inertias in one line; this train has a branch.")
    if (model.stiffness == 0).any():
        raise InputError("Holzer's table needs stiffness in every shaft.")
    amplitude, torque = np.ones(model.nodes), np.zeros(model.nodes)
    for i in range(model.nodes):
        if i:
            amplitude[i] = amplitude[i - 1] - torque[i - 1] / model.stiffness[i - 1]
            torque[i] = torque[i - 1]
        torque[i] += model.inertia[i] * frequency**2 * amplitude[i]
    return amplitude, torque


def steady_response(model: TorsionalModel, frequency: ArrayLike, torque: ArrayLike) -> Phasors:
    """Return the steady vibration of every inertia under torques of one frequency each.

    The train is cut from its leaves to its root, all frequencies at once; the train's turning as
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
    complex_stiffness = model.stiffness * (1 + 1j * model.loss)
    coupling = complex_stiffness[:, np.newaxis] + 1j * omega * model.damping[:, np.newaxis]
    diagonal = 1j * omega * model.drag[:, np.newaxis] - omega**2 * model.inertia[:, np.newaxis]
    for shaft in range(model.nodes - 1):
        diagonal[model.first[shaft]] += coupling[shaft]
        diagonal[model.second[shaft]] += coupling[shaft]
    cuts = _leaves_first(model)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for leaf, towards, shaft in cuts:
            share = coupling[shaft] / diagonal[leaf]
            diagonal[towards] -= share * coupling[shaft]
            load[towards] += share * load[leaf]
        root = cuts[-1][1]
        load[root] /= diagonal[root]
        for leaf, towards, shaft in reversed(cuts):
            load[leaf] = (load[leaf] + coupling[shaft] * load[towards]) / diagonal[leaf]
    return np.asarray(load.T)


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

    def greatest(self, node: int, samples: int = 720) -> Array:
        """Return the greatest swing of a node from its mean over a cycle, all orders, rad."""
        return _greatest_sum(self.order, self.response[:, :, node], samples)

    def greatest_torque(self, shaft: int, samples: int = 720) -> Array:
        """Return the greatest vibratory torque in a shaft over a cycle, all orders, N·m."""
        return _greatest_sum(self.order, self.torque[:, :, shaft], samples)


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


@dataclass(frozen=True, slots=True)
class FrequencyBand:
    """Natural frequencies when stiffness and inertia are only estimates, rad/s, shape (m,).

    :param low: 2.5 % of the draws lie below
    :param middle: half
    :param high: 2.5 % lie above
    """

    low: Array
    middle: Array
    high: Array


def frequency_band(
    model: TorsionalModel,
    *,
    shared_stiffness: float,
    stiffness: ArrayLike,
    inertia: ArrayLike,
    draws: int = 2000,
    seed: int = 0,
) -> FrequencyBand:
    """Return the band of natural frequencies by drawing stiffness and inertia at random.

    Logarithms are drawn from normal distributions, so nothing falls below zero. What a formula
    gets wrong it gets wrong for every throw: that part is drawn once for all shafts.

    :param shared_stiffness: relative standard uncertainty common to all shafts
    :param stiffness: relative, of each shaft on its own, or one for all
    :param inertia: relative, of each inertia on its own, or one for all
    :param draws: 100 to 100 000
    :param seed: the same seed gives the same band
    :source: JCGM 101 (propagation of distributions by Monte Carlo)
    """
    if not 100 <= draws <= 100_000:
        raise InputError("Between 100 and 100 000 draws make a band.")
    require_not_negative(shared_uncertainty=shared_stiffness)
    own_k = _spread(stiffness, "stiffness uncertainty", model.stiffness.size)
    own_j = _spread(inertia, "inertia uncertainty", model.nodes)
    random = np.random.default_rng(seed)
    common = shared_stiffness * random.standard_normal((draws, 1))
    k = model.stiffness * np.exp(common + own_k * random.standard_normal((draws, own_k.size)))
    root = np.sqrt(model.inertia * np.exp(own_j * random.standard_normal((draws, own_j.size))))
    matrix = stiffness_matrix(model, k) / (root[:, :, np.newaxis] * root[:, np.newaxis, :])
    frequency = np.sqrt(np.maximum(np.linalg.eigvalsh(matrix), 0.0))
    count = modes(model).frequency.size
    low, middle, high = np.percentile(frequency[:, -count:], [2.5, 50, 97.5], axis=0)
    return FrequencyBand(low, middle, high)


def scaled_to_frequency(model: TorsionalModel, mode: int, measured: float) -> TorsionalModel:
    """Return the model with all shafts made stiffer or softer alike, so that a mode is as measured.

    :param mode: from 0, as `modes` counts
    :param measured: its natural frequency, rad/s
    """
    require_positive(measured_frequency=measured)
    found = modes(model).frequency
    if not 0 <= mode < found.size:
        raise InputError(f"The train has {found.size} modes; there is no mode {mode + 1}.")
    factor = (measured / float(found[mode])) ** 2
    return replace(model, stiffness=model.stiffness * factor)


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


def _greatest_sum(order: Array, vectors: Phasors, samples: int) -> Array:
    """Return the greatest absolute value of Re Σ over a cycle, one a speed."""
    whole = bool((np.mod(order, 1.0) == 0).all())
    angle = np.linspace(0.0, 2 * pi if whole else 4 * pi, samples, endpoint=False)
    turning = np.exp(1j * np.outer(angle, order))
    return np.asarray(np.abs((turning @ vectors).real).max(axis=0))


def _spread(values: ArrayLike, name: str, count: int) -> Array:
    row = as_row(np.broadcast_to(values, count) if np.ndim(values) == 0 else values, name, count)
    if (row < 0).any():
        raise InputError(f"The {name} must not be below zero.")
    return row


def _require_sound(model: TorsionalModel) -> None:
    if not (np.isfinite(model.inertia) & (model.inertia > 0)).all():
        raise InputError("Every inertia must be above zero.")
    for name, values in (
        ("stiffness", model.stiffness),
        ("damping", model.damping),
        ("loss factor", model.loss),
    ):
        if not (np.isfinite(values) & (values >= 0)).all():
            raise InputError(f"A shaft's {name} must not be below zero.")
    if not ((model.stiffness > 0) | (model.damping > 0)).all():
        raise InputError("A shaft needs stiffness or damping, or it joins nothing.")
