"""How far a train may twist when stiffness, inertia and damping are only estimates.

Conventions as in `torsion`: rad, N·m, rad/s.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import log
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

from bedplate.errors import InputError
from bedplate.physics.checks import Array, as_row, require_not_negative, require_positive
from bedplate.physics.torsion import KnownFrequency, TorsionalModel, held_to
from bedplate.physics.torsion_response import Phasors, greatest_sum, steady_response

_TAILS = (2.5, 97.5)


@dataclass(frozen=True, slots=True)
class Doubt:
    """How well a train is known.

    :param shared_stiffness: relative standard uncertainty common to all shafts
    :param stiffness: relative, of each shaft on its own
    :param inertia: relative, of each inertia on its own
    :param known: a measured frequency that every draw keeps to
    :param least_drag, most_drag: factors on the damping to ground; every ratio between them is as
        likely as another
    """

    shared_stiffness: float
    stiffness: float
    inertia: float
    least_drag: float = 1.0
    most_drag: float = 1.0
    known: KnownFrequency | None = None


@dataclass(frozen=True, slots=True)
class TwistBand:
    """Between which bounds 95 % of the draws lie.

    :param speed: rad/s, shape (s,)
    :param low, high: greatest twist over a cycle at each speed, rad, shape (s,)
    :param worst: greatest twist of the whole range, low and high, rad
    """

    speed: Array
    low: Array
    high: Array
    worst: tuple[float, float]


def drawn_models(
    model: TorsionalModel, doubt: Doubt, draws: int, seed: int = 0
) -> Iterator[TorsionalModel]:
    """Yield trains as they may be.

    What stiffness all shafts share and the damping are drawn from layers of equal probability, so
    that few draws cover their whole range evenly.

    :param draws: 20 to 10 000
    :param seed: the same seed gives the same trains
    :source: JCGM 101, 5.10; stratified sampling after McKay, Beckman and Conover, Technometrics 21
        (1979) 239
    """
    if not 20 <= draws <= 10_000:
        raise InputError("Between 20 and 10 000 draws make a band.")
    require_not_negative(shared=doubt.shared_stiffness, own=doubt.stiffness, inertia=doubt.inertia)
    require_positive(least_drag=doubt.least_drag, most_drag=doubt.most_drag)
    random = np.random.default_rng(seed)
    layer = (np.arange(draws) + 0.5) / draws
    normal = np.array([NormalDist().inv_cdf(share) for share in layer])
    common = doubt.shared_stiffness * random.permutation(normal)
    span = log(doubt.most_drag) - log(doubt.least_drag)
    drag = doubt.least_drag * np.exp(span * random.permutation(layer))
    own = doubt.stiffness * random.standard_normal((draws, model.stiffness.size))
    stiffness = model.stiffness * np.exp(common[:, np.newaxis] + own)
    inertia = model.inertia * np.exp(doubt.inertia * random.standard_normal((draws, model.nodes)))
    if doubt.known is not None:
        stiffness = held_to(model, doubt.known, stiffness, inertia, random.permutation(normal))
    for k, mass, factor in zip(stiffness, inertia, drag, strict=True):
        yield replace(model, stiffness=k, inertia=mass, drag=model.drag * factor)


def twist_band(
    model: TorsionalModel,
    nodes: Sequence[int],
    order: ArrayLike,
    torque: Phasors,
    speed: ArrayLike,
    between: tuple[int, int],
    doubt: Doubt,
    *,
    draws: int = 40,
    seed: int = 0,
    samples: int = 240,
) -> TwistBand:
    """Return the band of the twist between two nodes over speed, all orders together.

    What a torque at one node twists between two others is what a torque between those turns the
    node by; so each drawn train is solved for one load only.

    :param nodes: node at which each cylinder acts, from 0, one a cylinder
    :param order: shape (q,)
    :param torque: vectors of the whole torque of each cylinder, N·m, shape (s, c, q)
    :param speed: of the crank, rad/s, shape (s,)
    :param between: the two nodes
    :param samples: angles in a cycle; of an order of 12 its peak is then found within 5 %
    :source: Maxwell-Betti reciprocity of linear trains; JCGM 101, 7.7 for the interval
    """
    orders, speeds = as_row(order, "order"), as_row(speed, "speed")
    wanted = (speeds.size, len(nodes), orders.size)
    if torque.shape != wanted:
        raise InputError(f"The torque needs the shape {wanted}, not {torque.shape}.")
    load = np.zeros(model.nodes)
    load[between[0]] += 1.0
    load[between[1]] -= 1.0
    frequency = np.outer(orders, speeds).ravel()
    push = np.ascontiguousarray(torque.transpose(2, 0, 1))
    swings = []
    for drawn in drawn_models(model, doubt, draws, seed):
        turned = steady_response(drawn, frequency, load)[:, list(nodes)]
        twist = (turned.reshape(orders.size, speeds.size, -1) * push).sum(axis=2)
        swings.append(greatest_sum(orders, twist, samples))
    each = np.array(swings)
    low, high = np.percentile(each, _TAILS, axis=0)
    least, most = np.percentile(each.max(axis=1), _TAILS)
    return TwistBand(speeds, low, high, (float(least), float(most)))
