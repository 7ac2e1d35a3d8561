"""A crank train as arrays: where each cylinder stands, which throw it has, what moves with it.

Everything is seen along the crank so that it turns in the positive direction. Axis 1 is the
reference direction, axis 2 lies a quarter turn further in the direction of rotation. Bank angles
count from axis 1 and throw angles from throw zero, both in the direction of rotation; at crank
angle zero throw zero points along axis 1. Positions along the crank count from any one place.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, pi

import numpy as np
from numpy.typing import ArrayLike

from bedplate.errors import InputError
from bedplate.physics.checks import Array, as_row, require_positive
from bedplate.physics.slider_crank import dead_centres, require_turning

_SAME_ANGLE = np.radians(0.5)
"""Figures of a firing table are printed to whole degrees at best."""


@dataclass(frozen=True, slots=True)
class CrankLayout:
    """Cylinders along a crank, one entry a cylinder; made by `crank_layout`.

    :param throw: radius of the crankpins, m
    :param rod: between centres, m
    :param bank: direction of each cylinder's axis from the crank, rad
    :param throw_angle: of each cylinder's crankpin on the crank, rad; split pins have their own
    :param position: of each cylinder's rod along the crank, m
    :param offset: of the pin's line from the crank axis, m, as in `slider_crank`
    """

    throw: float
    rod: float
    bank: Array
    throw_angle: Array
    position: Array
    offset: float

    @property
    def cylinders(self) -> int:
        """How many there are."""
        return int(self.bank.size)

    @property
    def top_dead_centre(self) -> Array:
        """Crank angle of each cylinder's top dead centre, rad in [0, 2π)."""
        top = dead_centres(self.throw, self.rod, self.offset).top_angle
        return np.asarray(np.mod(top + self.bank - self.throw_angle, 2 * pi))


@dataclass(frozen=True, slots=True)
class MovingMasses:
    """What moves with each cylinder, one entry a cylinder; made by `moving_masses`.

    :param piston: piston, pin, locks and rings, kg
    :param rod: whole, with its shells, kg
    :param rod_centre: centre of mass from the big end's centre, m
    :param rod_inertia: of the rod about its centre of mass, kg·m²
    """

    piston: Array
    rod: Array
    rod_centre: Array
    rod_inertia: Array

    def reciprocating(self, length: float) -> Array:
        """Return piston plus the rod's share at the small end, kg.

        :param length: of the rod between centres, m
        """
        return np.asarray(self.piston + self.rod * self.rod_centre / length)

    def rotating(self, length: float) -> Array:
        """Return the rod's share at the big end, kg.

        :param length: of the rod between centres, m
        """
        return np.asarray(self.rod * (1 - self.rod_centre / length))


@dataclass(frozen=True, slots=True)
class Unbalance:
    """Masses that turn with the crank: counterweights, webs, crankpins, oil in them.

    :param amount: mass times radius, kg·m, shape (k,)
    :param angle: on the crank, rad, shape (k,)
    :param position: along the crank, m, shape (k,)
    """

    amount: Array
    angle: Array
    position: Array


NO_UNBALANCE = Unbalance(np.zeros(0), np.zeros(0), np.zeros(0))


def crank_layout(
    throw: float,
    rod: float,
    bank: ArrayLike,
    throw_angle: ArrayLike,
    position: ArrayLike,
    offset: float = 0.0,
) -> CrankLayout:
    """Return a layout, its arrays of one length and finite.

    :param throw: m
    :param rod: m
    :param bank: rad, one a cylinder, or one for all
    :param throw_angle: rad, one a cylinder
    :param position: m, one a cylinder
    :param offset: m
    """
    require_turning(throw, rod, offset)
    angles = as_row(throw_angle, "throw angle")
    count = angles.size
    banks = as_row(np.broadcast_to(bank, count) if np.ndim(bank) == 0 else bank, "bank", count)
    return CrankLayout(
        throw, rod, banks, angles, as_row(position, "cylinder position", count), offset
    )


def moving_masses(
    cylinders: int,
    piston: ArrayLike,
    rod: ArrayLike,
    rod_centre: ArrayLike,
    length: float,
    rod_inertia: ArrayLike | None = None,
) -> MovingMasses:
    """Return the masses of each cylinder from whole rods.

    :param piston: piston, pin, locks and rings, kg; one a cylinder, or one for all
    :param rod: with shells, kg; likewise
    :param rod_centre: centre of mass from the big end's centre, m; likewise
    :param length: of the rod between centres, m
    :param rod_inertia: about the centre of mass, kg·m²; None: that of two masses at the centres
    """
    require_positive(rod_length=length)
    pistons = _each(piston, "piston mass", cylinders)
    rods = _each(rod, "rod mass", cylinders)
    centres = _each(rod_centre, "rod's centre of mass", cylinders)
    if (pistons < 0).any() or (rods < 0).any():
        raise InputError("A piston or a rod cannot have a mass below zero.")
    if (centres < 0).any() or (centres > length).any():
        raise InputError("The rod's centre of mass must lie between its two centres.")
    inertia = (
        rods * centres * (length - centres)
        if rod_inertia is None
        else _each(rod_inertia, "rod's inertia", cylinders)
    )
    return MovingMasses(pistons, rods, centres, np.asarray(inertia))


def masses_from_ends(
    cylinders: int, piston: ArrayLike, small_end: ArrayLike, big_end: ArrayLike, length: float
) -> MovingMasses:
    """Return the masses of each cylinder from rods weighed by their ends.

    The ends fix the centre of mass; the rod counts as two masses at its centres.

    :param piston: piston, pin, locks and rings, kg; one a cylinder, or one for all
    :param small_end: kg, weighed with the big end held level
    :param big_end: with shells, kg
    :param length: of the rod between centres, m
    """
    small = _each(small_end, "small end", cylinders)
    big = _each(big_end, "big end", cylinders)
    if (small < 0).any() or (big < 0).any():
        raise InputError("A rod's end cannot weigh less than nothing.")
    rod = small + big
    share = np.divide(small, rod, out=np.zeros_like(rod), where=rod > 0)
    return moving_masses(cylinders, piston, rod, share * length, length)


def unbalance(amount: ArrayLike, angle: ArrayLike, position: ArrayLike) -> Unbalance:
    """Return masses that turn with the crank.

    :param amount: mass times radius, kg·m, one an item; not below zero
    :param angle: on the crank, rad
    :param position: along the crank, m
    """
    amounts = as_row(amount, "unbalance")
    if (amounts < 0).any():
        raise InputError("An unbalance is not below zero; turn its angle by 180° instead.")
    return Unbalance(
        amounts,
        as_row(angle, "unbalance angle", amounts.size),
        as_row(position, "unbalance position", amounts.size),
    )


def require_firing(layout: CrankLayout, firing: ArrayLike, cycle: float) -> Array:
    """Return the crank angles of firing top dead centre, each at a top dead centre of its throw.

    :param firing: crank angle at which each cylinder fires, rad, one a cylinder
    :param cycle: 4π or 2π, rad
    :returns: rad in [0, cycle); refused where a throw cannot give the angle
    """
    angles = as_row(firing, "firing angle", layout.cylinders)
    missed = np.mod(angles - layout.top_dead_centre + pi, 2 * pi) - pi
    if (np.abs(missed) > _SAME_ANGLE).any():
        place = int(np.argmax(np.abs(missed)))
        top = degrees(float(layout.top_dead_centre[place]))
        raise InputError(
            f"Cylinder {place + 1} in this list cannot fire at a crank angle of"
            f" {degrees(float(angles[place])):.4g}°: its throw is on top at {top:.4g}°.",
            hint="The firing order and the crank's throws must belong to one numbering.",
        )
    return np.asarray(np.mod(angles - missed, cycle))


def _each(values: ArrayLike, name: str, cylinders: int) -> Array:
    spread = np.broadcast_to(values, cylinders) if np.ndim(values) == 0 else values
    return as_row(spread, name, cylinders)
