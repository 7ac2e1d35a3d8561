"""The sentences of a selection."""

from __future__ import annotations

from bedplate.quantity import Dimension, Units, show
from bedplate.shop.selection.model import Proof


def millimetres(value: float) -> str:
    """Write a length, m, in mm to 0.1 µm, whatever the units of the engine file."""
    return show(value, Dimension.LENGTH, Units.METRIC, resolution=1e-7)


def proof_words(proof: Proof) -> str:
    """Say how good a selection is known to be."""
    if not proof.goals:
        return "nothing to choose"
    parts = []
    for goal in proof.goals:
        value = _goal(goal.value, goal.unit)
        if goal.gap == 0:
            parts.append(f"{goal.name} {value}, proved least")
        else:
            bound = _goal(goal.bound, goal.unit)
            parts.append(f"{goal.name} {value}, at least {bound} ({goal.gap:.0%} not proved)")
    return f"{proof.word}: {'; '.join(parts)}"


def _goal(value: float, unit: str) -> str:
    if unit == "m":
        return millimetres(value)
    if unit == "kg":
        return show(value, Dimension.MASS, Units.METRIC, resolution=1e-5)
    return f"{value:g}"
