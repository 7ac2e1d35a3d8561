"""Volumes and ratios of one cylinder, each term of the clearance volume by its own name.

Nothing here carries a sign that must be guessed: a dish is a dish and a dome is a dome, both above
zero. Only `piston_below_deck` is signed, and its name says which way.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from bedplate.errors import InputError
from bedplate.physics.checks import require_finite, require_not_negative, require_positive
from bedplate.physics.slider_crank import dead_centres, motion


@dataclass(frozen=True, slots=True)
class ClearanceSpace:
    """What encloses the gas at top dead centre.

    :param chamber: volume of the chamber in the head, to the head's face, m³
    :param gasket_bore: diameter of the gasket's own hole, m; seldom the cylinder's
    :param gasket_thickness: crushed, m
    :param piston_below_deck: of the flat of the crown at top dead centre, m; below zero where the
        piston stands proud
    :param dish: all that is sunk into the crown, valve pockets too, m³
    :param dome: all that stands above the flat of the crown, m³
    :param crevice: between piston, top ring and wall, m³
    """

    chamber: float
    gasket_bore: float
    gasket_thickness: float
    piston_below_deck: float
    dish: float = 0.0
    dome: float = 0.0
    crevice: float = 0.0


@dataclass(frozen=True, slots=True)
class ClearanceTerms:
    """What each part adds to the clearance volume, m³; a dome and a proud piston take away."""

    chamber: float
    gasket: float
    deck: float
    dish: float
    dome: float
    crevice: float

    @property
    def total(self) -> float:
        """The clearance volume, m³."""
        return self.chamber + self.gasket + self.deck + self.dish + self.dome + self.crevice


@dataclass(frozen=True, slots=True)
class Compression:
    """Compression ratio of one cylinder, and what it is made of.

    :param swept: m³
    :param terms: of the clearance volume, m³
    :param clearance: their sum, m³
    :param ratio: (swept + clearance)/clearance
    """

    swept: float
    terms: ClearanceTerms
    clearance: float
    ratio: float


@dataclass(frozen=True, slots=True)
class CompressionSensitivity:
    """How the ratio changes, all else kept.

    :param piston_below_deck: per metre that the piston goes down, 1/m
    :param gasket_thickness: per metre, 1/m
    :param gasket_bore: per metre, 1/m
    :param bore: per metre, deck and swept volume with it, 1/m
    :param stroke: per metre, with the piston's top dead centre kept, 1/m
    :param volume: per cubic metre of chamber, dish or crevice; a dome with the other sign, 1/m³
    """

    piston_below_deck: float
    gasket_thickness: float
    gasket_bore: float
    bore: float
    stroke: float
    volume: float


def swept_volume(bore: float, stroke: float) -> float:
    """Return π/4·bore²·stroke of one cylinder, m³.

    :param bore: m, above zero
    :param stroke: m, above zero; with an offset crank the true one, not twice the throw
    :source: geometry
    """
    require_positive(bore=bore, stroke=stroke)
    return pi / 4 * bore**2 * stroke


def clearance_terms(space: ClearanceSpace, bore: float) -> ClearanceTerms:
    """Return what each part of the space adds to the clearance volume.

    The deck term is bore area times `piston_below_deck`; the gasket is a round hole.

    :param bore: of the cylinder, m
    :returns: m³; refused where the sum is not above zero or a part has an impossible size
    :source: geometry
    """
    require_positive(bore=bore, gasket_bore=space.gasket_bore)
    require_finite(piston_below_deck=space.piston_below_deck)
    require_not_negative(
        chamber=space.chamber,
        gasket_thickness=space.gasket_thickness,
        dish=space.dish,
        dome=space.dome,
        crevice=space.crevice,
    )
    terms = ClearanceTerms(
        chamber=space.chamber,
        gasket=pi / 4 * space.gasket_bore**2 * space.gasket_thickness,
        deck=pi / 4 * bore**2 * space.piston_below_deck,
        dish=space.dish,
        dome=-space.dome,
        crevice=space.crevice,
    )
    if terms.total <= 0:
        raise InputError(
            "Nothing is left above the piston at top dead centre: the clearance volume comes to"
            f" {terms.total * 1e6:.4g} cc.",
            hint="Look at the dome, and at how far the piston stands above the deck.",
        )
    return terms


def compression(space: ClearanceSpace, bore: float, stroke: float) -> Compression:
    """Return the geometric compression ratio of one cylinder with each of its terms.

    :param bore: m
    :param stroke: m; with an offset crank the true one
    :source: geometry: (V_s + V_c)/V_c
    """
    swept = swept_volume(bore, stroke)
    terms = clearance_terms(space, bore)
    return Compression(swept, terms, terms.total, (swept + terms.total) / terms.total)


def compression_sensitivity(
    space: ClearanceSpace, bore: float, stroke: float
) -> CompressionSensitivity:
    """Return the derivatives of the compression ratio, exact.

    :param bore: m
    :param stroke: m
    :source: differentiation of (V_s + V_c)/V_c
    """
    now = compression(space, bore, stroke)
    volume = -now.swept / now.clearance**2
    area = pi / 4 * bore**2
    return CompressionSensitivity(
        piston_below_deck=volume * area,
        gasket_thickness=volume * pi / 4 * space.gasket_bore**2,
        gasket_bore=volume * pi / 2 * space.gasket_bore * space.gasket_thickness,
        bore=pi / 2 * bore * (stroke / now.clearance + volume * space.piston_below_deck),
        stroke=area / now.clearance,
        volume=volume,
    )


def squish(space: ClearanceSpace, head_recess: float = 0.0) -> float:
    """Return the cold gap between the flat of the crown and the head above it, m.

    At rest: no stretch of the rod, no rock, no thermal growth. Below zero means contact.

    :param head_recess: how far the head's squish face stands back from its gasket face, m; below
        zero where it stands forward
    :source: geometry
    """
    require_finite(
        piston_below_deck=space.piston_below_deck,
        gasket_thickness=space.gasket_thickness,
        head_recess=head_recess,
    )
    return space.piston_below_deck + space.gasket_thickness + head_recess


def piston_below_deck(
    deck_height: float, throw: float, rod: float, compression_height: float, offset: float = 0.0
) -> float:
    """Return how far the crown's flat stays below the deck at top dead centre, m; proud below zero.

    :param deck_height: of the deck above the crank axis, along the cylinder, m
    :param throw: m; half the stroke
    :param rod: m, between centres
    :param compression_height: crown's flat above the pin's axis, m
    :param offset: of the pin's line from the crank axis, m
    :source: geometry: deck = stroke/2 + rod + compression height + clearance, with an offset exact
    """
    require_positive(deck_height=deck_height, compression_height=compression_height)
    return deck_height - dead_centres(throw, rod, offset).top_height - compression_height


def volume_at(
    angle_after_top: float,
    bore: float,
    throw: float,
    rod: float,
    clearance: float,
    offset: float = 0.0,
) -> float:
    """Return the gas volume at a crank angle, m³.

    :param angle_after_top: crank angle after top dead centre, rad, any value
    :param bore: m
    :param throw: m
    :param rod: m; above throw + |offset|, else refused
    :param clearance: volume at top dead centre, m³
    :param offset: m
    :source: geometry, exact slider-crank
    """
    require_positive(bore=bore, clearance_volume=clearance)
    top = dead_centres(throw, rod, offset).top_angle
    travel = float(motion(top + angle_after_top, throw, rod, offset).travel)
    return clearance + pi / 4 * bore**2 * travel


def effective_ratio(
    closing_after_bottom: float,
    bore: float,
    throw: float,
    rod: float,
    clearance: float,
    offset: float = 0.0,
) -> float:
    """Return the compression ratio counted from where the inlet closes ("dynamic" ratio).

    Geometry alone: trapped volume over clearance volume; no ram, no leak.

    :param closing_after_bottom: crank angle from bottom dead centre to inlet closing, rad, in
        [−π/2, π); refused outside
    :param bore: m
    :param throw: m
    :param rod: m
    :param clearance: volume at top dead centre, m³
    :param offset: m
    :source: geometry, exact slider-crank
    """
    if not -pi / 2 <= closing_after_bottom < pi:
        raise InputError(
            f"An inlet closing {closing_after_bottom * 180 / pi:.4g}° after bottom dead centre"
            " traps nothing.",
            hint="It is counted from bottom dead centre, and lies between −90° and 180°.",
        )
    centres = dead_centres(throw, rod, offset)
    angle = centres.bottom_angle + closing_after_bottom - centres.top_angle
    return volume_at(angle, bore, throw, rod, clearance, offset) / clearance


def rod_stretch(
    mass: float, acceleration: float, length: float, area: float, elastic_modulus: float
) -> float:
    """Return how far a shank stretches under the inertia of what hangs on it, m.

    A plain bar under a force at its end: what the squish gap must leave room for, besides heat and
    clearances.

    :param mass: piston, pin, rings and the rod's upper part, kg
    :param acceleration: at top dead centre, m/s²
    :param length: of the shank, m
    :param area: of the shank's section, m²
    :param elastic_modulus: Pa
    :source: Hooke's law
    """
    require_positive(mass=mass, length=length, area=area, elastic_modulus=elastic_modulus)
    return mass * acceleration * length / (area * elastic_modulus)
