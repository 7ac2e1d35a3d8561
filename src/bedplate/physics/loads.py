"""Forces in the crank train over a cycle: pins, rods, bearings, walls and torque.

Rigid parts at steady speed, no friction, no gravity, no clearance. Forces are given in the axes of
`crank_train` unless a name says otherwise. A bearing's load is the force of the journal on the
shell; the journal sees the opposite one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import ArrayLike

from bedplate.errors import InputError
from bedplate.physics.checks import Array, as_row, require_not_negative, require_positive
from bedplate.physics.crank_train import (
    NO_UNBALANCE,
    CrankLayout,
    MovingMasses,
    Unbalance,
    require_firing,
)
from bedplate.physics.slider_crank import Motion, motion
from bedplate.physics.trace import PressureTrace


@dataclass(frozen=True, slots=True)
class CylinderLoads:
    """Forces of each cylinder over the cycle; c cylinders, n angles.

    :param angle: crank angle, rad, shape (n,)
    :param gas: on the piston, N, positive away from the head, shape (c, n)
    :param piston_pin: of the pin on the rod's small end, N, shape (c, n, 2)
    :param rod_bearing: of the crankpin on the rod's shell, N, shape (c, n, 2)
    :param side_thrust: of the piston on its wall, N, positive on the thrust side, shape (c, n)
    :param torque: on the crank about its axis, N·m, shape (c, n)
    :param rod_direction: from big end to small end, rad from axis 1, shape (c, n)
    :param rod_velocity: of the rod's turning, rad/s, shape (c, n)
    """

    angle: Array
    gas: Array
    piston_pin: Array
    rod_bearing: Array
    side_thrust: Array
    torque: Array
    rod_direction: Array
    rod_velocity: Array


def cylinder_loads(
    layout: CrankLayout,
    masses: MovingMasses,
    traces: PressureTrace | Sequence[PressureTrace],
    *,
    bore: ArrayLike,
    firing: ArrayLike,
    speed: float,
    crankcase_pressure: float = 101_325.0,
) -> CylinderLoads:
    """Return the forces that gas and inertia put on every pin, rod and wall.

    The rod is a rigid body with its own mass, centre and inertia; nothing is lumped.

    :param traces: pressure, the same for all cylinders or one each, all on one grid
    :param bore: m, one for all or one a cylinder, above zero
    :param firing: crank angle of each cylinder's firing top dead centre, rad
    :param speed: rad/s, not below zero
    :param crankcase_pressure: absolute, Pa
    :source: equilibrium of piston and rod (any textbook on dynamics of machinery, such as Khurmi &
        Gupta, Theory of Machines, chapter 15)
    """
    bores = np.broadcast_to(bore, layout.cylinders) if np.ndim(bore) == 0 else bore
    areas = pi / 4 * as_row(bores, "bore", layout.cylinders) ** 2
    require_positive(bore=float(np.min(bores)))
    require_not_negative(speed=speed, crankcase_pressure=crankcase_pressure)
    each = _one_each(traces, layout.cylinders)
    start = require_firing(layout, firing, each[0].cycle)
    angle = each[0].angle
    pressure = np.stack([t.at(angle - f) for t, f in zip(each, start, strict=True)])
    gas = (pressure - crankcase_pressure) * areas[:, np.newaxis]
    own = angle + (layout.throw_angle - layout.bank)[:, np.newaxis]
    moved = motion(own, layout.throw, layout.rod, layout.offset, speed)
    small, big = _rod_forces(layout, masses, gas, own, moved, speed)
    crankpin = layout.throw * np.stack([np.cos(own), np.sin(own)], axis=-1)
    turned = layout.bank[:, np.newaxis]
    return CylinderLoads(
        angle=angle,
        gas=gas,
        piston_pin=in_axes(small, -turned),
        rod_bearing=in_axes(big, -turned),
        side_thrust=small[..., 1],
        torque=-_cross(crankpin, big),
        rod_direction=turned - moved.rod_angle,
        rod_velocity=-moved.rod_velocity,
    )


def _rod_forces(
    layout: CrankLayout, masses: MovingMasses, gas: Array, own: Array, moved: Motion, speed: float
) -> tuple[Array, Array]:
    """Return the forces on the rod's small and big end, axis 1 along the cylinder.

    Along the cylinder the piston gives the force at the small end; across it, the rod's moments
    about its centre of mass do; the big end follows from the rod's own acceleration.
    """
    length = layout.rod
    share = (masses.rod_centre / length)[:, np.newaxis]
    rod = masses.rod[:, np.newaxis]
    along = np.stack([np.cos(moved.rod_angle), -np.sin(moved.rod_angle)], axis=-1) * length
    outward = np.stack([np.cos(own), np.sin(own)], axis=-1)
    pin = np.stack([moved.acceleration, np.zeros_like(own)], axis=-1)
    centre = (1 - share)[..., np.newaxis] * (-layout.throw * speed**2) * outward
    centre = centre + share[..., np.newaxis] * pin
    axial = -(gas + masses.piston[:, np.newaxis] * moved.acceleration)
    turning = masses.rod_inertia[:, np.newaxis] * -moved.rod_acceleration
    lateral = (turning + along[..., 1] * axial + share * rod * _cross(along, centre)) / along[
        ..., 0
    ]
    small = np.stack([axial, lateral], axis=-1)
    return small, rod[..., np.newaxis] * centre - small


def _one_each(
    traces: PressureTrace | Sequence[PressureTrace], cylinders: int
) -> Sequence[PressureTrace]:
    each = [traces] * cylinders if isinstance(traces, PressureTrace) else traces
    if len(each) != cylinders:
        raise InputError(f"{cylinders} cylinders need one pressure trace or {cylinders} of them.")
    if any(t.cycle != each[0].cycle or t.angle.size != each[0].angle.size for t in each):
        raise InputError("The pressure traces of the cylinders must share one grid.")
    return each


def _cross(first: Array, second: Array) -> Array:
    return np.asarray(first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0])


def in_axes(force: Array, angle: float | Array) -> Array:
    """Return forces as seen in axes that are turned; the picture of a polar load diagram.

    Turned with the crank angle plus a throw's, it is the journal's view; with `rod_direction`, the
    rod's; with the direction of the main caps, the block's.

    :param force: shape (..., 2)
    :param angle: of the new axis 1 from the old one, rad, of the shape of the forces or one
    :returns: shape (..., 2)
    :source: plane geometry
    """
    cosine, sine = np.cos(angle), np.sin(angle)
    one, two = force[..., 0], force[..., 1]
    return np.stack([one * cosine + two * sine, two * cosine - one * sine], axis=-1)


def seen_by_rod(loads: CylinderLoads) -> Array:
    """Return each rod bearing's load in the rod's own axes, N, shape (c, n, 2).

    Axis 1 runs from big end to small end: the rod's half of the shell is there.

    :source: `in_axes`
    """
    return in_axes(loads.rod_bearing, loads.rod_direction)


def seen_by_crankpin(layout: CrankLayout, loads: CylinderLoads) -> Array:
    """Return what each rod puts on its crankpin, in the crankpin's axes, N, shape (c, n, 2).

    Axis 1 points away from the crank's axis: where oil holes and wear are told from.

    :source: `in_axes`
    """
    turned = loads.angle + layout.throw_angle[:, np.newaxis]
    return in_axes(-loads.rod_bearing, turned)


def seen_by_journal(load: Array, angle: Array) -> Array:
    """Return what the shell puts on a main journal, in the crank's axes, N, shape (..., n, 2).

    Axis 1 points where throw zero does.

    :param load: of the journal on the shell, N, shape (..., n, 2)
    :param angle: crank angle, rad, shape (n,)
    :source: `in_axes`
    """
    return in_axes(-load, angle)


def main_bearing_loads(
    layout: CrankLayout,
    loads: CylinderLoads,
    mains: ArrayLike,
    speed: float,
    turning: Unbalance = NO_UNBALANCE,
) -> Array:
    """Return the load of each main bearing by the statically determinate span method.

    The crank counts as cut at every main: each span between two mains carries what stands in it,
    by the lever rule; what stands beyond the last main hangs on the last span. A real crank is
    continuous and its block yields, so single mains differ from this by tens of per cent; the sum
    over all mains does not.

    :param loads: as from `cylinder_loads`
    :param mains: positions along the crank, m, rising, at least two, shape (m,)
    :param speed: rad/s
    :param turning: masses that turn with the crank
    :returns: of the journal on the shell, N, shape (m, n, 2)
    :source: span method as in textbooks on engine design (common practice)
    """
    places = as_row(mains, "main bearing position")
    if places.size < 2 or (np.diff(places) <= 0).any():
        raise InputError("Main bearings stand at two places or more, in rising order.")
    pins = _share(layout.position, places)
    total = np.einsum("mc,cnk->mnk", pins, -loads.rod_bearing)
    if turning.amount.size:
        around = loads.angle[np.newaxis, :] + turning.angle[:, np.newaxis]
        outward = np.stack([np.cos(around), np.sin(around)], axis=-1)
        force = (turning.amount * speed**2)[:, np.newaxis, np.newaxis] * outward
        total = total + np.einsum("mc,cnk->mnk", _share(turning.position, places), force)
    return np.asarray(total)


def crankpin_load(loads: CylinderLoads, cylinders: list[int]) -> Array:
    """Return what all rods of one crankpin together put on it, N, shape (n, 2).

    :param cylinders: indices of the cylinders whose rods share the pin, from 0
    """
    return np.asarray(-loads.rod_bearing[cylinders].sum(axis=0))


def shaking_force(
    layout: CrankLayout, masses: MovingMasses, speed: float, angle: ArrayLike
) -> Array:
    """Return the inertia force of pistons and rods on the engine, exact, N, shape (n, 2).

    :param speed: rad/s
    :param angle: crank angle, rad, shape (n,)
    :source: minus mass times acceleration of every centre of mass
    """
    theta = as_row(angle, "crank angle")
    return np.asarray(inertia_of_cylinders(layout, masses, speed, theta).sum(axis=0))


def inertia_of_cylinders(
    layout: CrankLayout, masses: MovingMasses, speed: float, angle: Array
) -> Array:
    """Return the inertia force of each cylinder's piston and rod, N, shape (c, n, 2).

    :param speed: rad/s
    :param angle: crank angle, rad, shape (n,)
    :source: minus mass times acceleration of every centre of mass
    """
    own = angle + (layout.throw_angle - layout.bank)[:, np.newaxis]
    pin = motion(own, layout.throw, layout.rod, layout.offset, speed).acceleration
    up_and_down = masses.reciprocating(layout.rod)[:, np.newaxis] * pin
    around = masses.rotating(layout.rod)[:, np.newaxis] * layout.throw * speed**2
    force = np.stack([around * np.cos(own) - up_and_down, around * np.sin(own)], axis=-1)
    return in_axes(force, -layout.bank[:, np.newaxis])


def _share(position: Array, mains: Array) -> Array:
    """Return the share of a load at each position that each main carries, shape (m, c)."""
    span = np.clip(np.searchsorted(mains, position, side="right") - 1, 0, mains.size - 2)
    far = (position - mains[span]) / (mains[span + 1] - mains[span])
    shares = np.zeros((mains.size, position.size))
    places = np.arange(position.size)
    shares[span, places] = 1 - far
    shares[span + 1, places] += far
    return shares
