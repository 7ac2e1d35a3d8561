"""Figures of the engine file that say where they come from."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.engine.lines import Path
from bedplate.engine.sheet import Sheet
from bedplate.quantity import Quantity, Units, show


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure and where it comes from.

    :param value: SI
    :param text: as typed
    :param source: never empty
    """

    value: float
    text: str
    source: str


_NAMES = {
    "inlet_closes": "angle after bottom dead centre at which an inlet closes",
    "exhaust_opens": "angle before bottom dead centre at which an exhaust opens",
    "at_40": "viscosity of an oil at 40 °C",
    "at_100": "viscosity of an oil at 100 °C",
    "hths": "viscosity of an oil under high shear",
}
"""What a key stands for that does not say it by itself."""


def figure_within(
    sheet: Sheet, path: Path, read: Quantity | None, low: float, high: float, source: str
) -> Figure | None:
    """Return a figure, None where there is none; one that cannot be is a fault of the file.

    :param read: what stands at the path
    :param low: SI, the least that can be
    :param high: SI, the most that can be
    """
    if read is None:
        return None
    if not low <= read.value <= high:
        key = str(path[-1])
        name = _NAMES.get(key, key.replace("_", " "))
        least, most = (show(end, read.dimension, Units.METRIC) for end in (low, high))
        right = f"it lies between {least} and {most}; check number, sign and unit"
        sheet.fault(path, f"'{read.text}' is no {name}", right)
        return None
    return Figure(read.value, read.text, source)
