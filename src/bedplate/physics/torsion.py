"""Torsional vibration of a crankshaft as lumped inertias on shafts without mass.

Inertias are nodes, shafts join two of them, and no shafts close a ring. Angles in rad, torques in
N·m, frequencies as angular frequencies in rad/s.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bedplate.errors import InputError
from bedplate.physics.checks import Array, as_row, require_not_negative, require_positive

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


def strain_share(model: TorsionalModel, shape: Array, shafts: int) -> Array:
    """Return what share of a mode's strain lies in the first so many shafts of a train.

    :param shape: modes as `modes` gives them, shape (m, n)
    :param shafts: how many of the train's shafts, the first ones
    :returns: 0 to 1, shape (m,)
    :source: energy of a spring, ½·k·(difference of its ends)²
    """
    twist = shape[:, model.first] - shape[:, model.second]
    strain = model.stiffness * twist**2
    return np.asarray(strain[:, :shafts].sum(axis=1) / np.maximum(strain.sum(axis=1), 1e-300))


@dataclass(frozen=True, slots=True)
class KnownFrequency:
    """The first natural frequency of a chain, measured before anything was hung on it.

    :param nodes: of the chain: the first so many of the model
    :param value: rad/s
    :param uncertainty: relative standard uncertainty
    """

    nodes: int
    value: float
    uncertainty: float


def held_to(
    model: TorsionalModel, known: KnownFrequency, stiffness: Array, inertia: Array, normal: Array
) -> Array:
    """Return drawn stiffness, the chain's made softer or stiffer until its frequency is as known.

    :param stiffness: N·m/rad, shape (d, n − 1)
    :param inertia: kg·m², shape (d, n)
    :param normal: draws of the standard normal distribution for the known frequency, shape (d,)
    :source: ω² grows as the stiffness of all shafts together
    """
    shafts = known.nodes - 1
    chain = TorsionalModel(
        model.inertia[: known.nodes], model.first[:shafts], model.second[:shafts],
        model.stiffness[:shafts], model.damping[:shafts], model.loss[:shafts],
        model.drag[: known.nodes],
    )  # fmt: skip
    root = np.sqrt(inertia[:, : known.nodes])
    matrix = stiffness_matrix(chain, stiffness[:, :shafts])
    square = np.linalg.eigvalsh(matrix / (root[:, :, np.newaxis] * root[:, np.newaxis, :]))[:, 1]
    wanted = (known.value * np.exp(known.uncertainty * normal)) ** 2
    held = stiffness.copy()
    held[:, :shafts] *= (wanted / square)[:, np.newaxis]
    return held


def frequency_band(
    model: TorsionalModel,
    *,
    shared_stiffness: float,
    stiffness: ArrayLike,
    inertia: ArrayLike,
    known: KnownFrequency | None = None,
    draws: int = 2000,
    seed: int = 0,
) -> FrequencyBand:
    """Return the band of natural frequencies by drawing stiffness and inertia at random.

    Logarithms are drawn from normal distributions, so nothing falls below zero. What a formula
    gets wrong it gets wrong for every throw: that part is drawn once for all shafts.

    :param shared_stiffness: relative standard uncertainty common to all shafts
    :param stiffness: relative, of each shaft on its own, or one for all
    :param inertia: relative, of each inertia on its own, or one for all
    :param known: a measured frequency that every draw keeps to
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
    mass = model.inertia * np.exp(own_j * random.standard_normal((draws, own_j.size)))
    if known is not None:
        k = held_to(model, known, k, mass, random.standard_normal(draws))
    root = np.sqrt(mass)
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
