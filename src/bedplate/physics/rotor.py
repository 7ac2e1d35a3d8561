"""Residual unbalance of a rotor: how much is left, how much may be, and how it is taken away.

Unbalance is mass times radius, kg·m; 1 g·mm is 1e-6 kg·m. Vectors with a direction are complex
numbers, the angle counted from the rotor's mark in one direction throughout.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees, pi, radians, sqrt, tan

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bedplate.errors import InputError
from bedplate.physics.checks import (
    require_finite,
    require_not_negative,
    require_positive,
)

Vectors = NDArray[np.complex128]

GRADES = (0.4, 1.0, 2.5, 6.3, 16.0, 40.0, 100.0, 250.0, 630.0, 1600.0, 4000.0)
"""Balance quality grades G of ISO 21940-11, mm/s."""
CRANK_GRADES = {
    "inherently balanced, rigidly mounted": 16.0,
    "inherently balanced, elastically mounted": 40.0,
    "complete engine": 100.0,
    "inherently unbalanced, rigidly mounted": 250.0,
    "inherently unbalanced, elastically mounted": 630.0,
}
"""Crank drives in the guidance table of ISO 21940-11, mm/s; from memory."""

_SINGULAR = 1e-6


@dataclass(frozen=True, slots=True)
class Residual:
    """What an unbalance means at a speed.

    :param eccentricity: of the centre of mass, m
    :param force: turning with the rotor, N
    :param grade: e·ω, mm/s: the number behind G
    """

    eccentricity: float
    force: float
    grade: float


def residual(unbalance: float, mass: float, speed: float) -> Residual:
    """Return eccentricity, force and grade of an unbalance.

    :param unbalance: kg·m
    :param mass: of the rotor, kg
    :param speed: highest in service, rad/s
    :source: ISO 21940-11, clause on balance quality grades: G = e_per·Ω
    """
    require_not_negative(unbalance=unbalance, speed=speed)
    require_positive(rotor_mass=mass)
    eccentricity = unbalance / mass
    return Residual(eccentricity, unbalance * speed**2, eccentricity * speed * 1e3)


def permissible_residual(grade: float, mass: float, speed: float) -> float:
    """Return the permissible residual unbalance of the whole rotor, kg·m.

    :param grade: G, mm/s
    :param mass: of the rotor, kg
    :param speed: highest in service, rad/s
    :source: ISO 21940-11: U_per = G·m/Ω
    """
    require_positive(grade=grade, rotor_mass=mass, speed=speed)
    return grade * 1e-3 * mass / speed


def grade_within(reached: float) -> float | None:
    """Return the finest grade that a reached e·ω keeps, mm/s; None above the coarsest.

    :param reached: e·ω, mm/s
    :source: the steps of ISO 21940-11
    """
    require_not_negative(grade=reached)
    return next((grade for grade in GRADES if reached <= grade), None)


@dataclass(frozen=True, slots=True)
class Allocation:
    """Permissible residual unbalance in the two bearing planes, kg·m.

    :param limited: True where the standard's bounds on the split were at work
    """

    plane_a: float
    plane_b: float
    limited: bool


def allocate(permissible: float, plane_a: float, plane_b: float, centre: float) -> Allocation:
    """Return the permissible residual unbalance in each bearing plane.

    By the distances of the centre of mass, which carry no sign: where it overhangs, each bearing
    feels the unbalance by its own lever. Between the bearings no plane gets less than 0.3 or more
    than 0.7 of the whole, outside them not less than 0.3 nor more than 1.3.

    :param permissible: of the whole rotor, kg·m
    :param plane_a: position of bearing plane A, m
    :param plane_b: of plane B, m
    :param centre: of the centre of mass, m
    :source: ISO 21940-11, allocation to the bearing planes; its bounds, and that its levers carry
        no sign, from memory
    """
    require_not_negative(permissible_residual=permissible)
    require_finite(plane_a=plane_a, plane_b=plane_b, centre_of_mass=centre)
    span = plane_b - plane_a
    if span == 0:
        raise InputError("The two bearing planes must stand apart.")
    share_a, share_b = abs((plane_b - centre) / span), abs((centre - plane_a) / span)
    highest = 0.7 if max(share_a, share_b) <= 1 else 1.3
    bounded_a = min(max(share_a, 0.3), highest)
    bounded_b = min(max(share_b, 0.3), highest)
    limited = (bounded_a, bounded_b) != (share_a, share_b)
    return Allocation(permissible * bounded_a, permissible * bounded_b, limited)


def move_to_planes(
    unbalance: ArrayLike, position: ArrayLike, plane_a: float, plane_b: float
) -> tuple[complex, complex]:
    """Return the unbalances in two planes that act like several in other planes.

    :param unbalance: vectors, kg·m, complex, shape (k,)
    :param position: along the rotor, m, shape (k,)
    :param plane_a: position of the first plane, m
    :param plane_b: of the second, m
    :returns: kg·m, complex
    :source: statics: same force, same moment
    """
    vectors = np.atleast_1d(np.asarray(unbalance, dtype=np.complex128))
    places = np.atleast_1d(np.asarray(position, dtype=np.float64))
    if vectors.shape != places.shape or plane_a == plane_b:
        raise InputError("Each unbalance needs its position, and the two planes must stand apart.")
    far = (places - plane_a) / (plane_b - plane_a)
    return complex(((1 - far) * vectors).sum()), complex((far * vectors).sum())


def influence_coefficients(
    initial: ArrayLike, trials: ArrayLike, trial_masses: ArrayLike
) -> Vectors:
    """Return what a unit mass in each plane does at each pick-up.

    Linear rotor, one speed. Each trial mass stands alone in its plane and is taken off again.

    :param initial: readings without trial mass, complex, shape (pick-ups,)
    :param trials: readings with the trial mass in plane j, complex, shape (planes, pick-ups)
    :param trial_masses: complex (mass and angle), not nil, shape (planes,)
    :returns: reading per unit of mass, shape (pick-ups, planes)
    :source: ISO 21940-1 (terms); method of Goodman, J. Eng. Ind. 86 (1964) 273
    """
    first = np.atleast_1d(np.asarray(initial, dtype=np.complex128))
    runs = np.atleast_2d(np.asarray(trials, dtype=np.complex128))
    weights = np.atleast_1d(np.asarray(trial_masses, dtype=np.complex128))
    if runs.shape != (weights.size, first.size):
        raise InputError(
            f"{weights.size} trial masses and {first.size} pick-ups need"
            f" {weights.size} runs of {first.size} readings each."
        )
    if not (np.isfinite(first).all() and np.isfinite(runs).all() and np.isfinite(weights).all()):
        raise InputError("A reading or a trial mass is no number.")
    if (np.abs(weights) == 0).any():
        raise InputError("A trial mass of nothing shows nothing.")
    return np.asarray(((runs - first) / weights[:, np.newaxis]).T)


def correction_masses(initial: ArrayLike, influence: ArrayLike) -> Vectors:
    """Return the masses that cancel the readings, one a plane.

    With more pick-ups than planes, the sum of squared readings left is least.

    :param initial: readings to cancel, complex, shape (pick-ups,)
    :param influence: as from `influence_coefficients`, shape (pick-ups, planes)
    :returns: complex, in the unit of the trial masses, shape (planes,); refused where the trial
        runs tell no more than fewer would
    :source: as `influence_coefficients`
    """
    first = np.atleast_1d(np.asarray(initial, dtype=np.complex128))
    matrix = np.atleast_2d(np.asarray(influence, dtype=np.complex128))
    if matrix.shape[0] != first.size or matrix.shape[0] < matrix.shape[1]:
        raise InputError("There must be at least as many pick-ups as planes.")
    strengths = np.linalg.svd(matrix, compute_uv=False)
    if strengths[-1] <= _SINGULAR * strengths[0]:
        raise InputError(
            "The trial runs are linearly dependent: they do not tell the planes apart.",
            hint="Take a larger trial mass, or planes that stand farther apart.",
        )
    found, *_ = np.linalg.lstsq(matrix, -first, rcond=None)
    return np.asarray(found)


def split_into_angles(
    correction: complex, available: Sequence[float]
) -> tuple[tuple[float, float], ...]:
    """Return the masses at the two available angles on either side that add up to a correction.

    :param correction: mass and angle, complex
    :param available: angles that can carry a mass, rad
    :returns: (angle, mass) pairs, rad and the correction's unit; one where an angle fits; refused
        where angles repeat or none lie on both sides within half a turn
    :source: parallelogram of vectors
    """
    turn = 2 * pi
    places = np.sort(np.mod(np.asarray(available, dtype=np.float64), turn))
    if places.size == 0 or (np.diff(places) < 1e-9).any():
        raise InputError("The available angles must differ from each other.")
    amount, wanted = abs(correction), float(np.mod(np.angle(correction), turn))
    off = np.mod(places - wanted + pi, turn) - pi
    nearest = int(np.argmin(np.abs(off)))
    if abs(off[nearest]) < 1e-9 or amount == 0:
        return ((float(places[nearest]), amount),)
    ahead = np.mod(places - wanted, turn)
    after, before = int(np.argmin(ahead)), int(np.argmax(ahead))
    opening = float(np.mod(places[after] - places[before], turn))
    if places.size < 2 or opening >= pi - 1e-9:
        raise InputError(
            f"No two available angles hold a correction at {degrees(wanted):.4g}° between them."
        )
    lead = float(np.mod(wanted - places[before], turn))
    sine = float(np.sin(opening))
    return (
        (float(places[before]), amount * float(np.sin(opening - lead)) / sine),
        (float(places[after]), amount * float(np.sin(lead)) / sine),
    )


def drilling_depth(
    unbalance: float, diameter: float, radius: float, density: float, point_angle: float = 118.0
) -> float:
    """Return the depth of a radial hole, at its full diameter, that takes an unbalance away.

    The cone of the drill point below that depth counts; the surface counts as flat.

    :param unbalance: to take away, kg·m
    :param diameter: of the drill, m
    :param radius: of the surface drilled into, m
    :param density: of the material, kg/m³
    :param point_angle: of the drill, degrees; 118 is the usual one (ISO 5419)
    :returns: m; nil where the point alone takes more; refused where the hole would go past the
        place at which deeper takes no more
    :source: geometry: ρ·A·[h(R − h/2) + c/3·(R − h − c/4)] with c the point's height
    """
    require_not_negative(unbalance=unbalance)
    require_positive(
        drill_diameter=diameter, radius=radius, density=density, point_angle=point_angle
    )
    area = pi / 4 * diameter**2
    point = diameter / 2 / tan(radians(point_angle / 2))
    needed = unbalance / (density * area) - point / 3 * (radius - point / 4)
    if needed <= 0:
        return 0.0
    lever = radius - point / 3
    inside = lever**2 - 2 * needed
    if inside <= 0:
        most = density * area * (lever**2 / 2 + point / 3 * (radius - point / 4))
        raise InputError(
            f"A hole of {diameter * 1e3:g} mm takes {most * 1e6:.4g} g·mm away at most;"
            f" {unbalance * 1e6:.4g} g·mm are wanted.",
            hint="Take a larger drill or several holes.",
        )
    return lever - sqrt(inside)


@dataclass(frozen=True, slots=True)
class Hole:
    """A radial hole that takes an unbalance away.

    :param depth: at the drill's full diameter, m; nil where the point alone takes more
    :param bottom: how far the tip of the drill's point is from the axis, m
    :param mass: taken away, kg
    :param centre: how far that mass was from the axis, m
    """

    depth: float
    bottom: float
    mass: float
    centre: float


def drilled_hole(
    unbalance: float, diameter: float, radius: float, density: float, point_angle: float = 118.0
) -> Hole:
    """Return the radial hole that takes an unbalance away, and what comes out of it.

    :param unbalance: to take away, kg·m
    :param diameter: of the drill, m
    :param radius: of the surface drilled into, m
    :param density: of the material, kg/m³
    :param point_angle: of the drill, degrees
    :returns: where the point alone takes more than is wanted, the hole of the whole point; refused
        as `drilling_depth`
    :source: geometry, as `drilling_depth`
    """
    depth = drilling_depth(unbalance, diameter, radius, density, point_angle)
    point = diameter / 2 / tan(radians(point_angle / 2))
    shank, cone = depth, point / 3
    mass = density * pi / 4 * diameter**2 * (shank + cone)
    centre = radius - (shank * depth / 2 + cone * (depth + point / 4)) / (shank + cone)
    return Hole(depth, radius - depth - point, mass, centre)


def heavy_metal_length(
    unbalance: float, diameter: float, radius: float, density: float, heavy_density: float
) -> float:
    """Return the length of a heavy slug, lying along the crank, that adds an unbalance.

    It fills a hole that was bored for it: only the difference of densities counts.

    :param unbalance: to add, kg·m
    :param diameter: of the slug, m
    :param radius: of the slug's axis from the crank's, m
    :param density: of the counterweight, kg/m³
    :param heavy_density: of the slug, kg/m³, above it
    :returns: m
    :source: geometry
    """
    require_not_negative(unbalance=unbalance)
    require_positive(slug_diameter=diameter, radius=radius, density=density)
    if heavy_density <= density:
        raise InputError("A heavy slug must be denser than what it replaces.")
    return unbalance / ((heavy_density - density) * pi / 4 * diameter**2 * radius)
