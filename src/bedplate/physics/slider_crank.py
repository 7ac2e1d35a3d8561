"""The slider-crank, exact: where the piston is, how fast, how hard it is pulled.

Throughout, the crank angle is the throw's angle from the cylinder axis, turning so that the throw
swings to the *positive* side on the downstroke. `offset` is the distance of the line on which the
piston pin travels from the crank axis, positive to that same side (the anti-thrust side); the
offset of the crank and the offset of the pin in the piston add up to it. Heights and rates count
along the cylinder axis, positive towards the head.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import asin, pi, sqrt

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import Array, require_finite, require_positive


@dataclass(frozen=True, slots=True)
class Motion:
    """Motion of piston and rod at each crank angle; all of the shape of the angle.

    :param height: piston pin above the crank axis, m
    :param travel: how far the piston is below its top dead centre, m
    :param velocity: m/s
    :param acceleration: m/s²
    :param rod_angle: of the rod from the cylinder axis, rad; positive where the big end stands on
        the positive side of the pin
    :param rod_velocity: rad/s
    :param rod_acceleration: rad/s²
    """

    height: Array
    travel: Array
    velocity: Array
    acceleration: Array
    rod_angle: Array
    rod_velocity: Array
    rod_acceleration: Array


@dataclass(frozen=True, slots=True)
class DeadCentres:
    """Where the piston turns back.

    :param top_angle: crank angle of top dead centre, rad; 0 without offset
    :param bottom_angle: crank angle of bottom dead centre, rad; π without offset
    :param top_height: piston pin above the crank axis at top dead centre, m
    :param bottom_height: the same at bottom dead centre, m
    """

    top_angle: float
    bottom_angle: float
    top_height: float
    bottom_height: float

    @property
    def stroke(self) -> float:
        """Distance between the dead centres, m; a little above twice the throw with an offset."""
        return self.top_height - self.bottom_height


def require_turning(throw: float, rod: float, offset: float = 0.0) -> None:
    """Refuse a crank that cannot turn: the rod must be longer than throw and offset together.

    :param throw: m
    :param rod: length between centres, m
    :param offset: of the pin's line from the crank axis, m, signed
    """
    require_positive(throw=throw, rod_length=rod)
    require_finite(offset=offset)
    if rod <= throw + abs(offset):
        raise InputError(
            f"A rod of {rod * 1e3:g} mm is too short for a throw of {throw * 1e3:g} mm"
            f" and an offset of {abs(offset) * 1e3:g} mm: the crank cannot turn.",
            hint="The throw is half the stroke.",
        )


def motion(
    angle: float | Array, throw: float, rod: float, offset: float = 0.0, speed: float = 1.0
) -> Motion:
    """Return the exact motion of piston and rod at steady speed.

    Rigid parts, no clearance. With r the throw, l the rod, e the offset, s = r·sin θ − e and
    L = √(l² − s²): height y = r·cos θ + L, and its derivatives by the chain rule.

    :param angle: crank angle θ, rad, any shape, any value
    :param throw: r, m
    :param rod: l, m, between centres; must be above throw + |offset|, else refused
    :param offset: e, m, signed as the module says
    :param speed: of the crank, rad/s; 1 gives the derivatives by angle
    :returns: SI, each of the shape of `angle`
    :source: plane geometry; Khurmi & Gupta, Theory of Machines, chapter 15, gives the centred case
    """
    require_turning(throw, rod, offset)
    theta = np.asarray(angle, dtype=np.float64)
    sine, cosine = throw * np.sin(theta), throw * np.cos(theta)
    side = sine - offset
    upright = np.sqrt(rod**2 - side**2)
    height = cosine + upright
    return Motion(
        height=height,
        travel=sqrt((rod + throw) ** 2 - offset**2) - height,
        velocity=speed * (-sine - side * cosine / upright),
        acceleration=speed**2
        * (-cosine - (cosine**2 - side * sine) / upright - (side * cosine) ** 2 / upright**3),
        rod_angle=np.arcsin(side / rod),
        rod_velocity=speed * cosine / upright,
        rod_acceleration=speed**2 * (-sine / upright + side * cosine**2 / upright**3),
    )


def dead_centres(throw: float, rod: float, offset: float = 0.0) -> DeadCentres:
    """Return the crank angles and heights at which rod and throw lie in one line.

    :param throw: r, m
    :param rod: l, m; above throw + |offset|, else refused
    :param offset: e, m, signed as the module says
    :source: plane geometry: heights √((l ± r)² − e²), angles asin(e/(l + r)), π + asin(e/(l − r))
    """
    require_turning(throw, rod, offset)
    longest, shortest = rod + throw, rod - throw
    return DeadCentres(
        top_angle=asin(offset / longest),
        bottom_angle=pi + asin(offset / shortest),
        top_height=sqrt(longest**2 - offset**2),
        bottom_height=sqrt(shortest**2 - offset**2),
    )


def throw_for_stroke(stroke: float, rod: float, offset: float = 0.0) -> float:
    """Return the throw that gives a stroke; half the stroke without an offset.

    r² = a²·(1 − e²/(l² − a²)) with a half the stroke: the dead centres are the foci of an ellipse
    through the crank axis, whose distances from it add up to 2l and differ by 2r.

    :param stroke: m
    :param rod: l, m
    :param offset: e, m, signed as the module says
    :returns: m; refused where no throw gives that stroke
    :source: plane geometry, the inverse of `dead_centres`
    """
    require_positive(stroke=stroke, rod_length=rod)
    require_finite(offset=offset)
    half = stroke / 2
    spare = rod**2 - half**2
    if spare <= offset**2:
        raise InputError(
            f"No throw gives a stroke of {stroke * 1e3:g} mm with a rod of {rod * 1e3:g} mm."
        )
    throw = half * sqrt(1 - offset**2 / spare)
    require_turning(throw, rod, offset)
    return throw


def two_term_motion(
    angle: float | Array, throw: float, rod: float, speed: float = 1.0
) -> tuple[Array, Array]:
    """Return velocity and acceleration by the two-term series; for reference, never for results.

    v = −ωr(sin θ + λ/2·sin 2θ), a = −ω²r(cos θ + λ·cos 2θ), λ = r/l: what most handbooks print.
    Centred crank only. About 0.3 % off at λ = 0.3.

    :param angle: θ, rad, any shape
    :param throw: r, m
    :param rod: l, m; above the throw, else refused
    :param speed: ω, rad/s
    :returns: m/s and m/s², positive towards the head
    :source: Khurmi & Gupta, Theory of Machines, chapter 15
    """
    require_turning(throw, rod)
    theta = np.asarray(angle, dtype=np.float64)
    ratio = throw / rod
    velocity = -speed * throw * (np.sin(theta) + ratio / 2 * np.sin(2 * theta))
    acceleration = -(speed**2) * throw * (np.cos(theta) + ratio * np.cos(2 * theta))
    return velocity, acceleration


def mean_piston_speed(stroke: float, speed: float) -> float:
    """Return twice the stroke per turn, m/s.

    :param stroke: m
    :param speed: of the crank, rad/s
    :source: common practice: 2·S·n
    """
    return stroke * speed / pi


def peak_piston_speed(throw: float, rod: float, offset: float = 0.0, speed: float = 1.0) -> float:
    """Return the greatest piston speed of the turn, m/s.

    :param throw: m
    :param rod: m; above throw + |offset|, else refused
    :param offset: m, signed as the module says
    :param speed: of the crank, rad/s
    :returns: exact to 1e-9 of itself
    :source: search over `motion`
    """
    return _greatest(lambda angle: np.abs(motion(angle, throw, rod, offset, speed).velocity))


def peak_acceleration(throw: float, rod: float, offset: float = 0.0, speed: float = 1.0) -> float:
    """Return the greatest piston acceleration of the turn, m/s²; without offset rω²(1 + r/l).

    :param throw: m
    :param rod: m; above throw + |offset|, else refused
    :param offset: m, signed as the module says
    :param speed: of the crank, rad/s
    :returns: exact to 1e-9 of itself
    :source: search over `motion`
    """
    return _greatest(lambda angle: np.abs(motion(angle, throw, rod, offset, speed).acceleration))


def rod_force(force: float | Array, rod_angle: float | Array) -> Array:
    """Return the force along a massless rod, N, positive in compression.

    :param force: on the piston pin along the cylinder, N, positive away from the head
    :param rod_angle: rad, as in `Motion`
    :source: equilibrium of the pin
    """
    return np.asarray(force / np.cos(rod_angle), dtype=np.float64)


def side_thrust(force: float | Array, rod_angle: float | Array) -> Array:
    """Return the force of piston on wall, N, positive on the thrust side.

    Friction of pin and skirt left out.

    :param force: on the piston pin along the cylinder, N, positive away from the head
    :param rod_angle: rad, as in `Motion`
    :source: equilibrium of the pin
    """
    return np.asarray(force * np.tan(rod_angle), dtype=np.float64)


def _greatest(curve: Callable[[Array], Array]) -> float:
    """Return the greatest value of a smooth curve over a turn, by closing in on its best point."""
    centre, half, best = pi, pi, 0.0
    for _ in range(6):
        angle = centre + np.linspace(-half, half, 721)
        values = curve(angle)
        place = int(np.argmax(values))
        centre, half, best = float(angle[place]), half / 180, float(values[place])
    return best
