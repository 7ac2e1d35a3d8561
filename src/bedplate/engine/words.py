"""An engine's layout in words, the same wherever it is named."""

from __future__ import annotations

from collections.abc import Iterable
from math import degrees, tau

from bedplate.engine.model import Cylinder, Engine
from bedplate.quantity import Dimension, show

_HAIR = 1e-9
"""rad: a pin so little short of a turn is at nought."""


def layout_in_words(engine: Engine) -> str:
    """Return form, cylinders, angle between the banks and pins: 'V 8, 90° between the banks, …'."""
    layout = engine.layout
    count = f"{layout.form} {len(layout.cylinders)}"
    if layout.form == "in-line":
        return count
    pins = "shared crankpins" if layout.shared_pins else "a crankpin for each rod"
    if layout.shared_pins and layout.pin_offset:
        offset = show(layout.pin_offset, Dimension.ANGLE, engine.units)
        pins = f"split crankpins, {offset} apart"
    if layout.form == "flat":
        return f"{count}, {pins}"
    angle = show(layout.bank_angle, Dimension.ANGLE, engine.units)
    return f"{count}, {angle} between the banks, {pins}"


def crankpins_of(cylinders: Iterable[Cylinder]) -> tuple[tuple[str, float], ...]:
    """Return the rods of each crankpin from the free end, by label, and where it stands.

    :returns: labels, and rad in the direction of rotation from the first crankpin, 0 to 2π
    """
    pins: dict[int, list[str]] = {}
    angles: dict[int, float] = {}
    for cylinder in sorted(cylinders, key=lambda one: one.crankpin):
        pins.setdefault(cylinder.crankpin, []).append(cylinder.label)
        angles[cylinder.crankpin] = cylinder.throw_angle
    start = next(iter(angles.values()), 0.0)
    return tuple(
        (" and ".join(labels), max((angles[pin] - start + _HAIR) % tau - _HAIR, 0.0))
        for pin, labels in pins.items()
    )


def crankpins_in_words(cylinders: Iterable[Cylinder]) -> str:
    """Return where the crankpins stand, named by their cylinders."""
    pins = crankpins_of(cylinders)
    each = ", ".join(f"{labels} at {degrees(angle):.4g}°" for labels, angle in pins)
    return f"Crankpins by their cylinders, in the direction of rotation: {each}."
