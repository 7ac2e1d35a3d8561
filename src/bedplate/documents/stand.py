"""The stand: a drawing of this very short block, made from its engine file.

The plan is a developed view: the crank lies along the middle with the free end on the left, bank A
above it and bank B below, each bore turned into the sheet and its piston beside it. Every main,
crankpin, bore and piston is where it is on the engine; what is too small to touch there is drawn in
the sections.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import pi

from bedplate.documents import ink
from bedplate.documents.crank_line import (
    caps_drawn,
    cheeks_drawn,
    ends_drawn,
    main_drawn,
    pin_drawn,
)
from bedplate.documents.end_view import end_view
from bedplate.documents.places import (
    BORE,
    HALF,
    PISTON,
    Columns,
    Looks,
    Sheet,
    columns,
    features_in_plan,
)
from bedplate.engine.model import Cylinder, Engine, Feature

__all__ = ["NUMBERINGS", "end_view", "plan"]

NUMBERINGS = {
    "maker": "maker's labels",
    "iso": "ISO 1204",
    "din": "DIN 73021",
}
"""The ways of numbering cylinders that a drawing can carry."""

_SCALE = 0.9
"""What is touched is 54 units or more, so 48 pixels at the least (WCAG 2.5.8 asks for 24)."""


def plan(engine: Engine, looks: Looks, *, labels: str = "maker") -> str:
    """Return the plan of the short block as SVG.

    :param labels: which numbers the bores carry, a key of NUMBERINGS
    """
    places = features_in_plan(engine)
    left = 88.0 + (70.0 if "hub" in places else 0.0)
    at = columns(engine.layout, left)
    radius = _bore_radius(engine, at)
    above = 18.0 + (PISTON + 14.0 if "piston" in _kinds(places) else 0.0) + 2 * radius + 22.0
    banks = {cylinder.bank for cylinder in engine.layout.cylinders}
    axis = (above if "A" in banks else 20.0) + HALF
    below = (above if "B" in banks else 10.0) + HALF
    sheet = Sheet(engine, looks, at, places, axis, radius, labels)
    right = at.last + 64.0 + (70.0 if "float" in places else 0.0)
    height = axis + below + 44.0
    body = "".join(
        (
            ink.line(10, axis, right - 8, axis, "centre"),
            caps_drawn(sheet),
            cheeks_drawn(sheet),
            "".join(main_drawn(sheet, number) for number in at.mains),
            "".join(pin_drawn(sheet, number) for number in at.pins),
            ends_drawn(sheet),
            "".join(_cylinder(sheet, cylinder) for cylinder in engine.layout.cylinders),
            _captions(sheet, right, height),
        )
    )
    name = f"Plan of {engine.name}, free end on the left"
    kind = "plan two-banks" if len(banks) > 1 else "plan"
    return ink.drawing(right, height, body, name=name, kind=kind, links=True, scale=_SCALE)


def _kinds(places: Mapping[str, Feature]) -> set[str]:
    return {place.split()[0] for place in places}


def _bore_radius(engine: Engine, at: Columns) -> float:
    cylinders = engine.layout.cylinders
    pitch = min(
        (
            abs(at.bores[a.place] - at.bores[b.place])
            for a in cylinders
            for b in cylinders
            if a.bank == b.bank and a.place != b.place
        ),
        default=2.4 * BORE,
    )
    return max(26.0, min(BORE, 0.46 * pitch))


def _cylinder(sheet: Sheet, cylinder: Cylinder) -> str:
    up = -1.0 if cylinder.bank == "A" else 1.0
    x, r = sheet.at.bores[cylinder.place], sheet.radius
    y = sheet.axis + up * (HALF + 22.0 + r)
    number = {
        "maker": cylinder.label,
        "iso": cylinder.iso_1204,
        "din": cylinder.din_73021,
    }[sheet.labels]
    bore = ink.ring(x, y, r, "heavy") + ink.ring(x, y, r - 5, "thin")
    bore = f'<g class="face">{bore}</g>' + "".join(
        (
            ink.line(x - r - 7, y, x - r + 12, y, "thin"),
            ink.line(x + r - 12, y, x + r + 7, y, "thin"),
            ink.line(x, y - r - 7, x, y - r + 10, "thin"),
            ink.line(x, y + r - 10, x, y + r + 7, "thin"),
        )
    )
    size = 26.0 if r > 40 else 18.0
    label = ink.text(x, y - r * 0.28, number, size, "number")
    parts = [
        ink.line(x, y - up * r, x, sheet.axis + up * 60, "centre"),
        sheet.link(f"bore {cylinder.label}", x, y + r * 0.36, bore + label, height=22),
    ]
    if f"piston {cylinder.label}" in sheet.places:
        parts.append(_piston(sheet, cylinder, x, y + up * (r + 14 + PISTON / 2), up))
    return "".join(parts)


def _piston(sheet: Sheet, cylinder: Cylinder, x: float, y: float, up: float) -> str:
    half = min(sheet.radius - 4, 42.0)
    crown = y + up * (PISTON / 2 - 3)
    skirt = y - up * (PISTON / 2 - 3)
    outline = ink.path(
        f"M{x - half:.1f} {skirt:.1f}V{crown:.1f}H{x + half:.1f}V{skirt:.1f}"
        f"Q{x:.1f} {skirt + up * 9:.1f} {x - half:.1f} {skirt:.1f}Z"
    )
    rings = "".join(
        ink.line(x - half, crown - up * depth, x + half, crown - up * depth, "thin")
        for depth in (8, 12, 18, 22)
    )
    shapes = ink.box(x, y, 2 * half, PISTON, "hit") + f'<g class="face">{outline}</g>' + rings
    return sheet.link(f"piston {cylinder.label}", x, y - up * 9, shapes, height=18)


def _captions(sheet: Sheet, right: float, height: float) -> str:
    layout, y = sheet.engine.layout, height - 18
    front_left = layout.front == "free end"
    x, turn = (14.0, pi) if front_left else (right - 14.0, 0.0)
    tail = x + (58 if front_left else -58)
    anchor, end = ("start", "end") if front_left else ("end", "start")
    words = x + (66 if front_left else -66)
    other = right - 14.0 if front_left else 14.0
    banks = "".join(
        ink.text(16, sheet.axis + up * (HALF + 22 + sheet.radius), bank, 22, "bank")
        for bank, up in (("A", -1), ("B", 1))
        if len({c.bank for c in layout.cylinders}) > 1
    )
    free, drive = "free end", "drive end"
    return banks + "".join(
        (
            ink.line(x, y, tail, y, "outline"),
            ink.arrow_head(x, y, turn, 12),
            ink.text(words, y, f"front ({free if front_left else drive})", 14, "caption", anchor),
            ink.text(other, y, drive if front_left else free, 14, "caption", end),
        )
    )
