"""The crank in its bearings: caps in their style, mains, crankpins, and what is at the ends."""

from __future__ import annotations

from itertools import pairwise
from math import cos

from bedplate.documents import ink
from bedplate.documents.places import HALF, Sheet
from bedplate.engine.model import CapStyle

_THROW = 36.0


def caps_drawn(sheet: Sheet) -> str:
    """Return what holds the crank where it is one piece: a frame, halves, a tunnel."""
    xs = list(sheet.at.mains.values())
    first, last, y = min(xs), max(xs), sheet.axis
    wide, tall = last - first + 64.0, 2 * HALF - 8.0
    match sheet.engine.caps:
        case CapStyle.FRAME:
            windows = "".join(
                ink.box((a + b) / 2, y, b - a - 54.0, tall - 44.0, "outline", 9)
                for a, b in _neighbours(xs)
            )
            return ink.box((first + last) / 2, y, wide, tall, "heavy", 12) + windows
        case CapStyle.HALVES:
            middle = (first + last) / 2
            split = ink.line(first - 42, y, first - 24, y, "heavy") + ink.line(
                last + 24, y, last + 42, y, "heavy"
            )
            return split + "".join(
                ink.path(
                    f"M{middle - wide / 2:.1f} {y:.1f}v{turn * (tall / 2 - 12):.1f}"
                    f"l12 {turn * 12:.1f}h{wide - 24:.1f}l12 {-turn * 12:.1f}"
                    f"v{-turn * (tall / 2 - 12):.1f}",
                    "heavy",
                )
                for turn in (-1, 1)
            )
        case CapStyle.TUNNEL:
            return ink.box((first + last) / 2, y, wide, tall, "heavy", 4)
        case _:
            return ""


def _neighbours(xs: list[float]) -> list[tuple[float, float]]:
    ordered = sorted(xs)
    return list(pairwise(ordered))


def _bolts(caps: CapStyle, x: float, y: float) -> str:
    """Return the fasteners of one main, seen along them; cross bolts are seen from the side."""
    rows = {
        CapStyle.SINGLE_2: (80.0,),
        CapStyle.SINGLE_4: (80.0, 65.0),
        CapStyle.SINGLE_6: (80.0, 65.0),
        CapStyle.FRAME: (80.0,),
    }.get(caps, ())
    drawn = "".join(
        ink.ring(x, y + turn * row, 5.0, "bolt") + ink.ring(x, y + turn * row, 1.2, "solid")
        for row in rows
        for turn in (-1, 1)
    )
    if caps is CapStyle.SINGLE_6:
        drawn += "".join(
            ink.box(x, y + turn * 97.0, 13, 7, "bolt")
            + ink.line(x, y + turn * 104, x, y + turn * 86, "centre")
            for turn in (-1, 1)
        )
    if caps is CapStyle.HALVES:
        drawn += "".join(
            ink.line(x + 20, y + turn * 100, x + 20, y + turn * 34, "centre")
            + ink.box(x + 20, y + turn * 92, 12, 8, "bolt")
            for turn in (-1, 1)
        )
    return drawn


def main_drawn(sheet: Sheet, number: str) -> str:
    """Return one main: its housing with the fasteners, and its journal."""
    x, y, caps = sheet.at.mains[number], sheet.axis, sheet.engine.caps
    corner = 0.0 if caps in (CapStyle.FRAME, CapStyle.HALVES) else 4.0
    walls = [ink.hatch(x, y + turn * 62, 50, 64) for turn in (-1, 1)]
    if caps in (CapStyle.FRAME, CapStyle.HALVES, CapStyle.TUNNEL):
        outline = "".join(
            ink.line(x + side, y - 94, x + side, y + 94, "thin") for side in (-25, 25)
        )
    else:
        outline = ink.box(x, y, 50, 188, "outline", corner)
    thrust = ""
    if number == sheet.engine.thrust_main:
        thrust = "".join(ink.box(x + side, y, 4, 74, "solid") for side in (-28.5, 28.5))
    web = (
        ink.box(x, y, 54, 188, "hit")
        + outline
        + "".join(walls)
        + _bolts(caps, x, y)
        + _plate(x, y - 47)
    )
    journal = ink.box(x, y, 54, 56, "hit")
    face = ink.box(x, y, 50, 56, "outline")
    return (
        sheet.link(f"web {number}", x, y - 47, web, height=18)
        + thrust
        + sheet.link(f"journal {number}", x, y, f'<g class="face">{face}</g>{journal}')
        + _plate(x, y + 47, 30)
        + ink.text(x, y + 47, number, 17, "number")
    )


def _plate(x: float, y: float, width: float = 36.0) -> str:
    """Return a clear place in the hatching for a mark or a number."""
    return (
        f'<rect class="plate" x="{x - width / 2:.1f}" y="{y - 12:.1f}" width="{width:g}" '
        f'height="24" rx="3" fill="#fff"/>'
    )


def _throw(sheet: Sheet, number: str) -> float:
    """Return how far a crankpin stands off the axis in the drawing, down positive."""
    angle = next(
        (c.throw_angle for c in sheet.engine.layout.cylinders if str(c.crankpin) == number), 0.0
    )
    return -_THROW * cos(angle)


def cheeks_drawn(sheet: Sheet) -> str:
    """Return the cheeks that join mains and pins, drawn under them."""
    stops = sorted(
        [(x, 0.0, 25.0) for x in sheet.at.mains.values()]
        + [(x, _throw(sheet, pin), 25.0) for pin, x in sheet.at.pins.items()]
    )
    cheeks = []
    for (x1, off1, half1), (x2, off2, half2) in pairwise(stops):
        left, right = x1 + half1, x2 - half2
        middle, wide = (left + right) / 2, max(right - left - 2.0, 4.0)
        top = min(off1, off2) - 31.0
        bottom = max(off1, off2) + 31.0
        cheeks.append(
            ink.box(middle, sheet.axis + (top + bottom) / 2, wide, bottom - top, "outline", 3)
        )
    return '<g class="crank">' + "".join(cheeks) + "</g>"


def pin_drawn(sheet: Sheet, number: str) -> str:
    """Return one crankpin, as far off the axis as its throw stands."""
    x, y = sheet.at.pins[number], sheet.axis + _throw(sheet, number)
    shapes = f'<g class="face">{ink.box(x, y, 50, 48, "outline")}</g>' + ink.box(
        x, y, 54, 54, "hit"
    )
    return sheet.link(f"pin {number}", x, y - 7, shapes, height=18) + ink.text(
        x, y + 14, f"pin {number}", 11, "small"
    )


def ends_drawn(sheet: Sheet) -> str:
    """Return the snout with its damper on the left, flange and end float on the right."""
    y, first, last = sheet.axis, sheet.at.first, sheet.at.last
    snout = f'<g class="face">{ink.box(first - 28, y, 56, 40)}</g>'
    snout += ink.box(first - 28, y, 58, 56, "hit")
    parts = [sheet.link("snout", first - 28, y, snout, height=18)]
    if "hub" in sheet.places:
        hub = f'<g class="face">{ink.box(first - 86, y, 56, 124, "outline", 6)}</g>'
        hub += ink.hatch(first - 86, y + 42, 56, 38)
        hub += ink.hatch(first - 86, y - 42, 56, 38) + _plate(first - 86, y, 50)
        hub += ink.box(first - 86, y, 56, 124, "hit")
        parts.append(sheet.link("hub", first - 86, y, hub, height=18))
    parts.append(ink.box(last + 14, y, 24, 92, "outline", 2))
    if "float" in sheet.places:
        x = last + 66
        arrows = ink.dimension(x - 30, y + 22, x + 30, y + 22, 0.0) + ink.line(
            x - 34, y - 30, x - 34, y + 34
        )
        shapes = (
            ink.box(x, y, 64, 76, "hit") + arrows + ink.text(x, y - 22, "end float", 11, "small")
        )
        parts.append(sheet.link("float", x, y, shapes))
    return "".join(parts)
