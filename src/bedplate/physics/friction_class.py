"""Bands of friction by surface and lubricant, where no test of the lubricant is known."""

from __future__ import annotations

from bedplate.errors import InputError
from bedplate.physics.spread import Shape, Spread, between

_CLASSES = {
    "A": (0.04, 0.10, "solid lubricants such as molybdenum disulphide, PTFE or wax, as a paste"),
    "B": (0.08, 0.16, "bright, phosphated or zinc-plated, oiled or greased; wax dispersions"),
    "C": (0.14, 0.24, "as delivered or lightly oiled; zinc-plated without lubricant"),
    "D": (0.20, 0.35, "dry: austenitic steel oiled, zinc-plated or hot-dipped dry"),
}


def friction_class(letter: str, shape: Shape = Shape.RECTANGULAR) -> Spread:
    """Return the friction of a class, in thread and under head alike.

    What a maker or a test says of a lubricant is narrower and comes first.

    :param letter: 'A' to 'D'; class E, from 0.30 without an upper limit, is refused
    :param shape: of the distribution between the limits of the class
    :source: VDI 2230-1:2003, table A5, from memory; class C's limits seen in a fastener
        supplier's worked example
    """
    low, high, _ = _row(letter)
    return between(low, high, shape)


def surfaces_of_class(letter: str) -> str:
    """Return which surfaces and lubricants a class is for."""
    return _row(letter)[2]


def _row(letter: str) -> tuple[float, float, str]:
    row = _CLASSES.get(letter.strip().upper())
    if row is None:
        raise InputError(
            f"“{letter}” is no friction class with two limits.", hint="Right would be A to D."
        )
    return row
