"""What temperature does to a size, and the way back to 20 °C (ISO 1)."""

from __future__ import annotations

from math import sqrt

from bedplate.metrology.affine import AffineScalarFunc
from bedplate.metrology.sources import Source, combine, value_of

REFERENCE = 293.15
"""K: 20 °C, the temperature at which sizes are meant (ISO 1)."""


def expansion_known_to() -> float:
    """Return how well a gauge's expansion is known where nobody says, 1/K.

    Rectangular over ±1e-6/K, which GUM H.1.3.5 takes for the difference of two steel coefficients.

    :returns: standard uncertainty, 1e-6/√3 1/K
    """
    return 1e-6 / sqrt(3.0)


def growth(length: float, expansion: float, rise: float) -> float:
    """Return by how much a length grows when it warms: L·α·ΔT.

    One coefficient over the whole rise, the body free to grow, evenly warm.

    :param length: m
    :param expansion: linear, 1/K
    :param rise: K, negative where it cools
    :returns: m; linear in the rise, good to some percent below 200 K, where α itself drifts
    Source: definition of the mean linear coefficient; ISO 1 gives the reference temperature.
    """
    return length * expansion * rise


def at_reference(length: float, expansion: float, temperature: float) -> float:
    """Return what a body that was warm when it was measured measures at 20 °C: L·(1 − α·(T − 20)).

    The gauge is taken to be true at its own temperature.

    :param length: at that temperature, m
    :param expansion: linear, of the body, 1/K
    :param temperature: of the body, K
    :returns: m; first order in α·(T − 20 °C), off by less than 1e-6 of the length below 40 K
    Source: ISO 1; GUM H.1.2, equation H.3 to first order.
    """
    return length - growth(length, expansion, temperature - REFERENCE)


def clearance_change(size: float, hole: tuple[float, float], shaft: tuple[float, float]) -> float:
    """Return by how much a clearance opens when hole and shaft warm: D·(α_h·ΔT_h − α_s·ΔT_s).

    Both free to grow, each evenly warm, and near enough of one size. A press loses as much as a
    clearance gains.

    :param size: the common diameter, m
    :param hole: expansion, 1/K, and rise, K, of what carries the hole
    :param shaft: the same of what runs in it
    :returns: m over the diameter, negative where it closes
    Source: twice `growth`; a clearance is small against its diameter.
    """
    return growth(size, *hole) - growth(size, *shaft)


def clearance_at(
    clearance: AffineScalarFunc,
    size: float,
    hole: tuple[Source, float, AffineScalarFunc],
    shaft: tuple[Source, float, AffineScalarFunc],
) -> AffineScalarFunc:
    """Return a clearance at other temperatures, with the uncertainty of expansions and rises.

    :param clearance: as measured, m
    :param size: the common diameter, m
    :param hole: error of the expansion, 1/K; the expansion, 1/K; the rise with its uncertainty, K
    :param shaft: the same of what runs in it; two bodies of one material share the source
    :returns: m; first order, so an expansion error times a temperature error is left out
    Source: `clearance_change`; GUM 5.1.2.
    """
    terms = [(1.0, clearance)]
    for sign, (error, expansion, rise) in ((1.0, hole), (-1.0, shaft)):
        terms.append((sign * size * expansion, rise))
        terms.append((sign * size * float(rise.nominal_value), error))
    return combine(terms)


def temperature_rise(rise: float, standard_uncertainty: float, name: str) -> AffineScalarFunc:
    """Return a rise in temperature as a value with one source of its own.

    :param rise: K
    :param standard_uncertainty: K
    :param name: of the source, as a budget prints it
    :returns: K
    """
    return value_of(rise, {Source(standard_uncertainty, name): 1.0})
