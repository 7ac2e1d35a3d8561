"""Reading a typed quantity, against the oracle of the tests."""

from __future__ import annotations

import timeit

from bedplate.quantity import Dimension, parse
from benchmarks.figures import Figure

TEXTS = {
    "0.0015 in": "0.0015 in",
    ".5 mm": "0.5 mm",
    "59.006 mm": "59.006 mm",
    "1.8 thou": "1.8 thou",
    "12 µm": "12 µm",
    "2.3231 in": "2.3231 in",
    "0.05 mm": "0.05 mm",
    "-0.0005 in": "-0.0005 in",
}
"""What a builder types, and how the other library has to be asked for the same."""


def run() -> list[Figure]:
    """Compare the answers, then the times for one quantity."""
    import pint

    registry = pint.UnitRegistry()
    for ours, theirs in TEXTS.items():
        expected = registry.parse_expression(theirs).to("m").magnitude
        assert abs(parse(ours, Dimension.LENGTH).value - expected) <= 1e-15, ours
    number = 2000 // len(TEXTS)
    mine = min(timeit.repeat(_ours, number=number, repeat=5)) / number / len(TEXTS)
    peer = min(timeit.repeat(lambda: _theirs(registry), number=number, repeat=5))
    version = f"pint {pint.__version__}"
    return [Figure("a quantity read", mine, 20e-6, version, peer / number / len(TEXTS))]


def _ours() -> None:
    for text in TEXTS:
        parse(text, Dimension.LENGTH)


def _theirs(registry: object) -> None:
    for text in TEXTS.values():
        registry.parse_expression(text).to("m")  # type: ignore[attr-defined]
