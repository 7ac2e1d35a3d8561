"""An engine's layout in words, the same wherever it is named."""

from __future__ import annotations

from bedplate.engine.model import Engine
from bedplate.quantity import Dimension, show


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
