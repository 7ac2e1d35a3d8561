"""Figures that can be, but are far from what the bore suggests: asked about, never refused."""

from __future__ import annotations

from bedplate.engine.duty import Duty
from bedplate.quantity import Dimension, Units, show

_USUAL = {"piston": (100.0, 5000.0), "small_end": (20.0, 4000.0), "big_end": (50.0, 8000.0)}
_USUAL = {
    "piston": (100.0, 5000.0),
    "small_end": (20.0, 4000.0),
    "big_end": (50.0, 8000.0),
}
_GASKET = 0.05
"""Thickest gasket asked nothing about, as a share of the bore. Ours."""
_OFFSET = 0.1
"""Greatest offset of a piston pin asked nothing about, as a share of the bore. Ours."""


def unusual_figures(duty: Duty, bore: float) -> tuple[str, ...]:
    """Return a sentence for each figure far from what the bore suggests.

    :param bore: m; 0 or less where it is not known: nothing is asked
    :source: the bounds are ours, wide on purpose
    """
    if bore <= 0:
        return ()
    found = []
    across = show(bore, Dimension.LENGTH, Units.METRIC)
    for key, (light, heavy) in _USUAL.items():
        said = duty.figure(f"weights.{key}")
        if said is not None and not light <= said.value / bore**3 <= heavy:
            found.append((f"weights.{key}", said.text))
    gasket = duty.figure("chamber.gasket")
    if gasket is not None and gasket.value > _GASKET * bore:
        found.append(("chamber.gasket", gasket.text))
    if duty.pin_offset is not None and abs(duty.pin_offset.value) > _OFFSET * bore:
        found.append(("geometry.pin_offset", duty.pin_offset.text))
    return tuple(
        f"{key} is {text}, unusual for a bore of {across} (bounds ours); it may be meant."
        for key, text in found
    )
