"""Stiffness and inertia of one throw of a crankshaft, estimated from its drawing.

No formula knows a real crank: the published ones differ from each other by ten per cent and more,
and from a measured crank likewise. So two are given, by name, and the span between them is shown as
a band. A stiffness that was measured, or a natural frequency that is known, is better than both.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import log1p, pi, sqrt

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import Array, require_not_negative, require_positive
from bedplate.physics.slider_crank import motion


@dataclass(frozen=True, slots=True)
class CrankThrow:
    """One throw: half a journal on either side, two webs, a crankpin.

    :param journal_diameter: m
    :param journal_length: of a whole journal, m
    :param pin_diameter: m
    :param pin_length: m
    :param throw: m
    :param web_thickness: along the crank, m
    :param web_width: across, m
    :param journal_bore: of a hole along the journal, m
    :param pin_bore: m
    """

    journal_diameter: float
    journal_length: float
    pin_diameter: float
    pin_length: float
    throw: float
    web_thickness: float
    web_width: float
    journal_bore: float = 0.0
    pin_bore: float = 0.0


@dataclass(frozen=True, slots=True)
class StiffnessBand:
    """Torsional stiffness of a throw by the named formulas, N·m/rad.

    :param by_formula: (name, stiffness), softest first
    :param middle: geometric mean of the outermost
    :param half_width: of the band, as a factor less one: middle/(1 + half_width) to
        middle·(1 + half_width)
    """

    by_formula: tuple[tuple[str, float], ...]
    middle: float
    half_width: float

    @property
    def relative_uncertainty(self) -> float:
        """Relative standard uncertainty: every value of the band is as likely (JCGM 100, 4.3.7)."""
        return log1p(self.half_width) / sqrt(3)


def ker_wilson_length(crank: CrankThrow, diameter: float) -> float:
    """Return the length of a plain shaft as stiff as one throw, after Ker Wilson, m.

    Lₑ = D⁴·[(Lj + 0.4Dj)/(Dj⁴ − dj⁴) + (Lp + 0.4Dp)/(Dp⁴ − dp⁴) + (R − 0.2(Dj + Dp))/(T·W³)]

    :param diameter: D of the plain shaft, m
    :source: W. Ker Wilson, Practical Solution of Torsional Vibration Problems, vol. 1; constants
        from memory
    """
    journal, pin = _fourth_powers(crank)
    require_positive(shaft_diameter=diameter)
    web = crank.throw - 0.2 * (crank.journal_diameter + crank.pin_diameter)
    return diameter**4 * (
        (crank.journal_length + 0.4 * crank.journal_diameter) / journal
        + (crank.pin_length + 0.4 * crank.pin_diameter) / pin
        + web / (crank.web_thickness * crank.web_width**3)
    )


def carter_length(crank: CrankThrow, diameter: float) -> float:
    """Return the length of a plain shaft as stiff as one throw, after Carter, m.

    Lₑ = D⁴·[(Lj + 0.8T)/(Dj⁴ − dj⁴) + 0.75Lp/(Dp⁴ − dp⁴) + 1.5R/(T·W³)]

    :param diameter: D of the plain shaft, m
    :source: B. C. Carter, Engineering 126 (1928) 36, as handbooks repeat it; constants from memory
    """
    journal, pin = _fourth_powers(crank)
    require_positive(shaft_diameter=diameter)
    return diameter**4 * (
        (crank.journal_length + 0.8 * crank.web_thickness) / journal
        + 0.75 * crank.pin_length / pin
        + 1.5 * crank.throw / (crank.web_thickness * crank.web_width**3)
    )


FORMULAS: tuple[tuple[str, Callable[[CrankThrow, float], float]], ...] = (
    ("Ker Wilson", ker_wilson_length),
    ("Carter", carter_length),
)


def throw_stiffness(crank: CrankThrow, shear_modulus: float) -> StiffnessBand:
    """Return the torsional stiffness from middle of journal to middle of journal, as a band.

    :param shear_modulus: Pa; steel about 80e9
    :source: `ker_wilson_length`, `carter_length`
    """
    require_positive(shear_modulus=shear_modulus)
    diameter = crank.journal_diameter
    plain = shear_modulus * pi * diameter**4 / 32
    found = sorted(((name, plain / f(crank, diameter)) for name, f in FORMULAS), key=lambda x: x[1])
    low, high = found[0][1], found[-1][1]
    middle = float(np.sqrt(low * high))
    return StiffnessBand(tuple(found), middle, high / middle - 1)


def shaft_stiffness(
    diameter: float, length: float, shear_modulus: float, bore: float = 0.0
) -> float:
    """Return the torsional stiffness of a plain round shaft, N·m/rad.

    :param diameter: m
    :param length: m
    :param shear_modulus: Pa
    :param bore: m
    :source: G·π(D⁴ − d⁴)/(32·L)
    """
    require_positive(diameter=diameter, length=length, shear_modulus=shear_modulus)
    require_not_negative(bore=bore)
    if bore >= diameter:
        raise InputError("A shaft's bore must be smaller than the shaft.")
    return shear_modulus * pi * (diameter**4 - bore**4) / (32 * length)


def throw_inertia(crank: CrankThrow, density: float, counterweights: float = 0.0) -> float:
    """Return the polar inertia of one throw about the crank's axis, kg·m².

    Two half journals, the crankpin, and two webs as rectangular plates from the journal's far side
    to the pin's far side; counterweights are given besides.

    :param density: kg/m³
    :param counterweights: of this throw about the crank's axis, kg·m²
    :source: parallel-axis theorem
    """
    _fourth_powers(crank)
    require_positive(density=density)
    require_not_negative(counterweight_inertia=counterweights)
    height = crank.throw + (crank.journal_diameter + crank.pin_diameter) / 2
    centre = (crank.throw + (crank.pin_diameter - crank.journal_diameter) / 2) / 2
    web = density * crank.web_thickness * crank.web_width * height
    webs = 2 * web * ((crank.web_width**2 + height**2) / 12 + centre**2)
    journal = _round(crank.journal_diameter, crank.journal_bore, crank.journal_length, density)
    pin = _round(crank.pin_diameter, crank.pin_bore, crank.pin_length, density)
    return counterweights + webs + journal[1] + pin[1] + pin[0] * crank.throw**2


def sector_inertia(
    outer: float, inner: float, angle: float, thickness: float, density: float
) -> float:
    """Return the polar inertia of a ring sector about its centre, kg·m²: a plain counterweight.

    :param outer: radius, m
    :param inner: radius, m
    :param angle: of the sector, rad
    :param thickness: m
    :param density: kg/m³
    :source: ρ·t·φ·(R⁴ − r⁴)/4
    """
    require_positive(outer_radius=outer, angle=angle, thickness=thickness, density=density)
    if not 0 <= inner < outer:
        raise InputError("A sector's inner radius lies between nothing and its outer one.")
    return density * thickness * angle * (outer**4 - inner**4) / 4


def running_gear_inertia(
    rotating: float, reciprocating: float, throw: float, rod: float, offset: float = 0.0
) -> float:
    """Return the mean inertia of one cylinder's piston and rod about the crank's axis, kg·m².

    What reciprocates counts with the mean square of dy/dθ over a turn: near half its mass at the
    throw.

    :param rotating: mass at the big end, kg
    :param reciprocating: mass at the piston pin, kg
    :param throw: m
    :param rod: m
    :param offset: m
    :source: kinetic energy over a turn; Den Hartog, Mechanical Vibrations, section 5.3, takes ½
    """
    require_not_negative(rotating_mass=rotating, reciprocating_mass=reciprocating)
    angle: Array = np.linspace(0.0, 2 * pi, 360, endpoint=False)
    rate = motion(angle, throw, rod, offset).velocity
    return rotating * throw**2 + reciprocating * float(np.mean(rate**2))


def _round(diameter: float, bore: float, length: float, density: float) -> tuple[float, float]:
    """Return mass and own polar inertia of a hollow round."""
    mass = density * pi / 4 * (diameter**2 - bore**2) * length
    return mass, mass * (diameter**2 + bore**2) / 8


def _fourth_powers(crank: CrankThrow) -> tuple[float, float]:
    require_positive(
        journal_diameter=crank.journal_diameter,
        journal_length=crank.journal_length,
        pin_diameter=crank.pin_diameter,
        pin_length=crank.pin_length,
        throw=crank.throw,
        web_thickness=crank.web_thickness,
        web_width=crank.web_width,
    )
    require_not_negative(journal_bore=crank.journal_bore, pin_bore=crank.pin_bore)
    journal = crank.journal_diameter**4 - crank.journal_bore**4
    pin = crank.pin_diameter**4 - crank.pin_bore**4
    if journal <= 0 or pin <= 0:
        raise InputError("The hole in a journal or a crankpin must be smaller than itself.")
    return journal, pin
