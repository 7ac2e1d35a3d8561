"""How much the clamped parts give, for each newton of clamp, and how clamp spreads in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, pi

from bedplate.errors import InputError
from bedplate.physics.bolt_resilience import Held
from bedplate.physics.checks import require_positive


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


def cone_tangent(grip: float, bearing: float, outer: float, held: Held) -> float:
    """Return the tangent of the angle at which clamp spreads below the head.

    Through bolt: 0.362 + 0.032·ln(β/2) + 0.153·ln y; tapped hole: 0.348 + 0.013·ln β +
    0.193·ln y; β = grip/d_w, y = D_A/d_w.

    :param grip: l_K, m
    :param bearing: d_w, of the bearing face, m
    :param outer: D_A of the material around, m; taken as d_w where smaller
    :param held: nut or tapped hole
    :returns: about 0.3 to 0.9; fitted for β of 0.5 to 10 and y up to 10, taken at the edge beyond
    :source: VDI 2230-1:2003, 5.1.2.1 ; its constants from memory, as
        several published programs have them
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
