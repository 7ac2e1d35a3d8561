"""How much a bolt stretches and its joint gives, for each newton of clamp.

Resilience is the word of VDI 2230 for metres per newton, the inverse of stiffness: along one line
of force resiliences add. A turn of the wrench is shared between bolt and joint by it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import log, pi

from bedplate.errors import InputError
from bedplate.physics.checks import require_finite, require_not_negative, require_positive
from bedplate.physics.thread import Thread


class Head(StrEnum):
    """Shape of a bolt's head, which gives a little too."""

    HEXAGON = "hexagon"
    CYLINDRICAL = "cylindrical"


class Held(StrEnum):
    """What holds the other end of the bolt."""

    NUT = "nut"
    TAPPED_HOLE = "tapped hole"


_HEAD_LENGTH = {Head.HEXAGON: 0.5, Head.CYLINDRICAL: 0.4}
_SHIFT_LENGTH = {Held.NUT: 0.4, Held.TAPPED_HOLE: 0.33}


@dataclass(frozen=True, slots=True)
class Section:
    """A length of the bolt between head and engaged thread.

    :param length: m
    :param diameter: of the area that carries, m; of a free thread d3 (VDI) or d_s (textbooks)
    """

    length: float
    diameter: float

    @property
    def area(self) -> float:
        """Carrying area, m²."""
        return pi / 4 * self.diameter**2


@dataclass(frozen=True, slots=True)
class Layer:
    """A clamped part, from the head downwards.

    :param thickness: m
    :param modulus: Young's modulus, Pa
    :param outer: diameter of the material around the hole, m; the widest circle that fits
    """

    thickness: float
    modulus: float
    outer: float


@dataclass(frozen=True, slots=True)
class Joint:
    """Bolt and clamped parts as two springs.

    :param bolt: resilience δ_S, m/N
    :param parts: resilience δ_P of the clamped parts, m/N
    """

    bolt: float
    parts: float

    @property
    def whole(self) -> float:
        """Resilience of both, m/N: how far the nut must travel for each newton."""
        return self.bolt + self.parts

    @property
    def load_factor(self) -> float:
        """Share Φ of a load on the joint that the bolt feels, if it acts under head and nut."""
        return self.parts / self.whole


def bolt_resilience(
    thread: Thread,
    sections: Sequence[Section],
    modulus: float,
    head: Head | None = Head.HEXAGON,
    held: Held | None = Held.TAPPED_HOLE,
    holder_modulus: float | None = None,
) -> float:
    """Return the resilience of a bolt, stepped shank, free thread, head and engagement, m/N.

    Σ l/(E·A) over the sections; to them the head as 0.5·d (hexagon) or 0.4·d (cylindrical) of
    nominal area, the engaged core as 0.5·d of root area, and what the engaged flanks shift as
    0.4·d (nut, of the bolt's modulus) or 0.33·d (tapped hole, of the hole's) of nominal area.

    :param thread: of basic size
    :param sections: between bearing face and first engaged thread; their lengths are the grip
    :param modulus: E of the bolt, Pa
    :param head: None leaves the head rigid, as textbooks do
    :param held: None leaves the engagement rigid
    :param holder_modulus: E of the part with the tapped hole, Pa; None: the bolt's
    :source: VDI 2230-1:2003, 5.1.1.1 (equations R3/1 to R3/4)
    """
    require_positive(modulus=modulus)
    if not sections:
        raise InputError("A bolt needs at least one length between head and engaged thread.")
    for section in sections:
        require_positive(section_length=section.length, section_diameter=section.diameter)
    holder = modulus if holder_modulus is None else holder_modulus
    require_positive(modulus_of_the_tapped_part=holder)
    whole = sum(section.length / section.area for section in sections) / modulus
    size, nominal = thread.diameter, thread.nominal_area
    if head is not None:
        whole += _HEAD_LENGTH[head] * size / (modulus * nominal)
    if held is not None:
        whole += 0.5 * size / (modulus * thread.minor_area)
        shifting = modulus if held is Held.NUT else holder
        whole += _SHIFT_LENGTH[held] * size / (shifting * nominal)
    return whole


def twist_resilience(sections: Sequence[Section], shear_modulus: float) -> float:
    """Return how far a bolt's free length winds up for each newton metre in its thread, rad/(N·m).

    Some of the angle on the wrench goes there and not into clamp.

    :param sections: between bearing face and first engaged thread
    :param shear_modulus: G, Pa; about 80 GPa for steel
    :source: torsion of a round bar, Σ 32·l/(π·G·d⁴)
    """
    require_positive(shear_modulus=shear_modulus)
    for section in sections:
        require_positive(section_length=section.length, section_diameter=section.diameter)
    return sum(32 * s.length / (pi * shear_modulus * s.diameter**4) for s in sections)


def cone_tangent(grip: float, bearing: float, outer: float, held: Held) -> float:
    """Return the tangent of the angle at which clamp spreads below the head.

    Through bolt: 0.362 + 0.032·ln(β/2) + 0.153·ln y; tapped hole: 0.348 + 0.013·ln β +
    0.193·ln y; β = grip/d_w, y = D_A/d_w.

    :param grip: l_K, m
    :param bearing: d_w, of the bearing face, m
    :param outer: D_A of the material around, m; taken as d_w where smaller
    :param held: nut or tapped hole
    :returns: about 0.3 to 0.9; fitted for β of 0.5 to 10 and y up to 10, taken at the edge beyond
    :source: VDI 2230-1:2003, 5.1.2.1 (equations 38 to 41), from memory
    """
    require_positive(grip=grip, bearing_diameter=bearing, outer_diameter=outer)
    ratio = min(max(grip / bearing, 0.5), 10.0)
    width = min(max(outer / bearing, 1.0), 10.0)
    if held is Held.NUT:
        return 0.362 + 0.032 * log(ratio / 2) + 0.153 * log(width)
    return 0.348 + 0.013 * log(ratio) + 0.193 * log(width)


def parts_resilience(
    layers: Sequence[Layer],
    bearing: float,
    hole: float,
    held: Held,
    tangent: float | None = None,
) -> float:
    """Return the resilience of the clamped parts, each of its own material, m/N.

    The clamp is even over a cone that begins at the bearing face, and over the whole part once
    the cone has reached its edge: a part narrower than the bearing face is a cylinder. A through
    bolt has a cone from either end that meet half way; a bolt in a tapped hole has one.

    :param layers: from the bearing face to the nut or to the face of the tapped part
    :param bearing: d_w, m
    :param hole: d_h, m; below `bearing` and every part's outer diameter
    :param held: nut or tapped hole
    :param tangent: of the cone's angle; None: VDI's, with the narrowest part for D_A
    :source: VDI 2230-1:2003, 5.1.2.1, integrated layer by layer; with tangent 0.577 the frustum
        of Shigley, Mechanical Engineering Design, 8-5
    """
    require_positive(bearing_diameter=bearing, hole_diameter=hole)
    if not layers:
        raise InputError("A joint needs at least one clamped part.")
    for layer in layers:
        require_positive(
            thickness=layer.thickness, modulus=layer.modulus, outer_diameter=layer.outer
        )
    narrowest = min(layer.outer for layer in layers)
    if hole >= min(bearing, narrowest):
        raise InputError(
            f"A hole of {hole * 1e3:g} mm leaves nothing to clamp under a bearing face of"
            f" {bearing * 1e3:g} mm in a part of {narrowest * 1e3:g} mm."
        )
    grip = sum(layer.thickness for layer in layers)
    spread = cone_tangent(grip, bearing, narrowest, held) if tangent is None else tangent
    require_positive(tangent_of_the_cone=spread)
    middle = grip / 2 if held is Held.NUT else grip
    whole = above = 0.0
    for layer in layers:
        ends = (above, above + layer.thickness)
        for begin, end in _sides(*ends, middle, grip):
            whole += _spread(begin, end, bearing, hole, layer.outer, spread) / layer.modulus
        above = ends[1]
    return whole


def nut_travel(angle: float, pitch: float) -> float:
    """Return how far an angle moves the nut along the thread, m, shared by bolt and joint.

    :param angle: rad
    :param pitch: P, m
    :source: lead of a single start, P·φ/2π
    """
    return pitch * angle / (2 * pi)


def angle_preload(angle: float, pitch: float, resilience: float) -> float:
    """Return the preload that an angle adds once the joint is seated, N.

    Elastic, no wind-up of the shank (see `angle_tightening` for both).

    :param angle: from snug, rad; not below 0
    :param pitch: P, m
    :param resilience: of bolt and joint together, m/N
    :source: VDI 2230-1:2003, 5.1: F = P·φ/(2π·(δ_S + δ_P))
    """
    require_not_negative(angle=angle)
    require_positive(pitch=pitch, resilience=resilience)
    return nut_travel(angle, pitch) / resilience


def stretch(preload: float, resilience: float) -> float:
    """Return how much longer a bolt is under a preload, m, over its ends.

    :param preload: N, in the elastic range
    :param resilience: of the bolt alone, m/N
    :source: Hooke's law
    """
    require_finite(preload=preload)
    require_positive(resilience=resilience)
    return preload * resilience


def stretch_preload(longer: float, resilience: float) -> float:
    """Return the preload that a measured stretch stands for, N.

    :param longer: how much longer the bolt is than relaxed, m; not below 0
    :param resilience: of the bolt alone between the points measured on, m/N
    :returns: true in the elastic range only: what has yielded is longer without more clamp
    :source: Hooke's law
    """
    require_not_negative(stretch=longer)
    require_positive(resilience=resilience)
    return longer / resilience


def _sides(begin: float, end: float, middle: float, grip: float) -> tuple[tuple[float, float], ...]:
    """Return a layer's depths as they count from the nearer bearing face."""
    upper = (begin, min(end, middle))
    lower = (grip - end, grip - max(begin, middle))
    return tuple((a, b) for a, b in (upper, lower) if b > a)


def _spread(
    begin: float, end: float, bearing: float, hole: float, outer: float, tangent: float
) -> float:
    """Return ∫ dz/A from one depth to another, 1/m: a cone as far as the part is wide enough."""
    reached = max((outer - bearing) / (2 * tangent), 0.0)
    turn = min(max(reached, begin), end)
    first, last = bearing + 2 * tangent * begin, bearing + 2 * tangent * turn
    whole = 0.0
    if turn > begin:
        narrowing = (last - hole) * (first + hole) / ((last + hole) * (first - hole))
        whole += log(narrowing) / (pi * tangent * hole)
    if end > turn:
        whole += (end - turn) / (pi / 4 * (outer**2 - hole**2))
    return whole
