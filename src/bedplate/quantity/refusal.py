"""The sentences of a refusal."""

from __future__ import annotations

from bedplate.errors import QuantityError
from bedplate.quantity.dimension import Dimension

LONGEST = 100

_WORDS: dict[Dimension, tuple[str, str]] = {
    Dimension.LENGTH: ("a length", "'0.0015 in' or '0.04 mm'"),
    Dimension.ANGLE: ("an angle", "'60 deg'"),
    Dimension.MASS: ("a mass", "'412 g' or '14.5 oz'"),
    Dimension.TIME: ("a time", "'10 min'"),
    Dimension.TEMPERATURE: ("a temperature", "'20 °C' or '68 °F'"),
    Dimension.TEMPERATURE_DIFFERENCE: ("a temperature difference", "'8 K'"),
    Dimension.EXPANSION: ("a thermal expansion", "'11.5 µm/m/K' or '11.5e-6 /K'"),
    Dimension.FORCE: ("a force", "'250 N' or '56 lbf'"),
    Dimension.TORQUE: ("a torque", "'35 N·m' or '26 lbf·ft'"),
    Dimension.PRESSURE: ("a pressure", "'4 bar' or '60 psi'"),
    Dimension.VOLUME: ("a volume", "'52 cc' or '3.2 in³'"),
    Dimension.ROTATION: ("a rotational speed", "'6800 rpm'"),
    Dimension.UNBALANCE: ("an unbalance", "'1.2 oz·in' or '860 g·mm'"),
    Dimension.RATIO: ("a ratio", "'50 %'"),
    Dimension.VELOCITY: ("a velocity", "'22 m/s' or '4300 ft/min'"),
    Dimension.ACCELERATION: ("an acceleration", "'30000 m/s²'"),
    Dimension.DENSITY: ("a density", "'860 kg/m³'"),
    Dimension.VISCOSITY: ("a dynamic viscosity", "'3.7 mPa·s'"),
    Dimension.KINEMATIC_VISCOSITY: ("a kinematic viscosity", "'100 mm²/s' or '100 cSt'"),
    Dimension.INERTIA: ("a moment of inertia", "'0.012 kg·m²'"),
    Dimension.TORSIONAL_STIFFNESS: ("a torsional stiffness", "'650 kN·m/rad'"),
    Dimension.TORSIONAL_DAMPING: ("a torsional damping", "'2 N·m·s/rad'"),
}


def article(dimension: Dimension) -> str:
    """Return 'a length', 'an angle'."""
    return _WORDS[dimension][0]


def wanted(dimension: Dimension | None) -> str:
    """Return what would be right: "a length is wanted, such as '0.04 mm'"."""
    if dimension is None:
        return "a number with its unit is wanted, such as '0.0015 in'"
    return f"{_WORDS[dimension][0]} is wanted, such as {_WORDS[dimension][1]}"


def quoted(text: str) -> str:
    """Return what was typed, fit to print in a sentence."""
    shown = "".join(c if c.isprintable() else "�" for c in text[: LONGEST + 1].strip())
    return f"'{shown[:37]}…'" if len(text) > LONGEST else f"'{shown}'"


def refuse(text: str, why: str, *, hint: str = "") -> QuantityError:
    """Return the error whose sentence says what was typed and why it cannot be used."""
    return QuantityError(f"{quoted(text)} {why}.", hint=hint)


def mismatch(text: str, found: Dimension, dimension: Dimension) -> QuantityError:
    """Return the error for a unit of another kind than the one that is wanted."""
    return refuse(text, f"is {article(found)}; {wanted(dimension)}")
