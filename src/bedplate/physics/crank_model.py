"""The torsional model of a whole crank: nose, throws, flywheel, damper."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from bedplate.errors import InputError
from bedplate.physics.checks import Array, as_row, require_not_negative, require_positive
from bedplate.physics.torsion import TorsionalModel, torsional_chain, with_branch


@dataclass(frozen=True, slots=True)
class RubberDamper:
    """A ring on rubber.

    :param ring: inertia, kg·m²
    :param stiffness: of the rubber, N·m/rad
    :param loss: loss factor of the rubber
    """

    ring: float
    stiffness: float
    loss: float


@dataclass(frozen=True, slots=True)
class ViscousDamper:
    """A ring in thick oil, held by nothing else.

    :param ring: inertia, kg·m²
    :param damping: N·m·s/rad
    """

    ring: float
    damping: float


@dataclass(frozen=True, slots=True)
class CrankEnds:
    """What the crank carries at its ends.

    :param nose: inertia of hub, pulley and gears at the free end, kg·m²; a damper's hub too
    :param nose_stiffness: of the shaft from the middle of the first main to the hub, N·m/rad
    :param flywheel: inertia of flywheel, clutch cover and ring gear, kg·m²
    :param flange_stiffness: from the middle of the last main to the flange, N·m/rad
    """

    nose: float
    nose_stiffness: float
    flywheel: float
    flange_stiffness: float


@dataclass(frozen=True, slots=True)
class CrankModel:
    """A torsional model, and which node is what.

    :param throws: node of each throw, free end first
    :param ring: node of the damper's ring; None without damper
    """

    model: TorsionalModel
    nose: int
    throws: tuple[int, ...]
    flywheel: int
    ring: int | None


def crank_model(
    inertia: ArrayLike,
    stiffness: ArrayLike,
    ends: CrankEnds,
    damper: RubberDamper | ViscousDamper | None = None,
    *,
    drag: float = 0.0,
    loss: float = 0.0,
) -> CrankModel:
    """Return the chain nose, throws, flywheel, with a damper's ring on the nose.

    Each throw's inertia sits in its middle; from middle to middle lie two half throws in a row.

    :param inertia: of each throw with its share of rods and pistons, kg·m², shape (t,)
    :param stiffness: of each throw from main to main, N·m/rad, one a throw or one for all
    :param drag: at each throw, to ground, N·m·s/rad: what pistons and bearings damp; there is no
        agreed value
    :param loss: loss factor of the crank's own steel
    :source: common practice of lumping; Ker Wilson, Practical Solution of Torsional Vibration
        Problems
    """
    throws = as_row(inertia, "throw inertia")
    spread = np.broadcast_to(stiffness, throws.size) if np.ndim(stiffness) == 0 else stiffness
    each = as_row(spread, "throw stiffness", throws.size)
    if (each <= 0).any():
        raise InputError("Every throw needs a stiffness above zero.")
    require_positive(
        nose_inertia=ends.nose,
        nose_stiffness=ends.nose_stiffness,
        flywheel_inertia=ends.flywheel,
        flange_stiffness=ends.flange_stiffness,
    )
    require_not_negative(drag=drag, loss=loss)
    model = torsional_chain(
        [ends.nose, *throws, ends.flywheel],
        _in_a_row(each, ends),
        loss=loss,
        drag=[0.0, *np.full(throws.size, drag), 0.0],
    )
    places = tuple(range(1, throws.size + 1))
    if damper is None:
        return CrankModel(model, 0, places, throws.size + 1, None)
    if isinstance(damper, RubberDamper):
        model = with_branch(model, 0, damper.ring, damper.stiffness, loss=damper.loss)
    else:
        model = with_branch(model, 0, damper.ring, 0.0, damping=damper.damping)
    return CrankModel(model, 0, places, throws.size + 1, throws.size + 2)


def _in_a_row(each: Array, ends: CrankEnds) -> Array:
    """Return the stiffness from node to node: half throws and end shafts in series."""
    give = np.concatenate([[1 / ends.nose_stiffness], 0.5 / each])
    after = np.concatenate([0.5 / each, [1 / ends.flange_stiffness]])
    return np.asarray(1 / (give + after))
