"""Undersizes: the metric step and the inch step beside it are not the same size."""

from __future__ import annotations

from bedplate.quantity import Dimension, Quantity, Units, show, show_both

INCH = 0.0254

STEPS: tuple[tuple[float, float], ...] = (
    (0.25e-3, 0.010 * INCH),
    (0.50e-3, 0.020 * INCH),
    (0.75e-3, 0.030 * INCH),
    (1.00e-3, 0.040 * INCH),
)
"""The usual steps, metric and inch, m (common practice, no source)."""

_NEAR = 30e-6


def twin(undersize: float) -> float | None:
    """Return the step of the other system that an undersize is taken for, m.

    :param undersize: m
    :returns: m; None where none lies within 30 µm, and where the undersize is no usual step
    """
    for metric, inch in STEPS:
        if abs(undersize - metric) < 1e-7:
            return inch
        if abs(undersize - inch) < 1e-7:
            return metric
    return None


def undersize_words(undersize: Quantity) -> str:
    """Say an undersize so that it cannot be taken for its neighbour."""
    inch = undersize.unit in {"in", "thou", "tenth"}
    units = Units.INCH if inch else Units.METRIC
    said = f"{show_both(undersize.value, Dimension.LENGTH, units, uncertainty=3e-6)} under"
    other = twin(undersize.value)
    if other is None or abs(other - undersize.value) > _NEAR:
        return f"{said}."
    named = show(other, Dimension.LENGTH, Units.METRIC if inch else Units.INCH)
    apart = (other - undersize.value) * 1e6
    more = f"{abs(apart):.0f} µm {'more' if apart > 0 else 'less'}"
    return f"{said}. Not {named}, which is {more}."
