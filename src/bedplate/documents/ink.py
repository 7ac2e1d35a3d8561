"""Ink on paper: the few strokes that every drawing is made of, as SVG text.

Line kinds follow ISO 128-2: continuous thick for outlines, continuous thin for dimension and leader
lines, long-dash dot for centre lines, dashed for what is hidden. Each stroke carries a class for a
style sheet and attributes that hold without one.
"""

from __future__ import annotations

from html import escape
from math import cos, sin

_STROKES = {
    "outline": 'fill="none" stroke="currentColor" stroke-width="1.6"',
    "heavy": 'fill="none" stroke="currentColor" stroke-width="2.6"',
    "thin": 'fill="none" stroke="currentColor" stroke-width="0.8"',
    "centre": 'fill="none" stroke="currentColor" stroke-width="0.8" stroke-dasharray="16 3 3 3"',
    "hidden": 'fill="none" stroke="currentColor" stroke-width="0.8" stroke-dasharray="5 3"',
    "bolt": 'fill="none" stroke="currentColor" stroke-width="1"',
    "solid": 'fill="currentColor" stroke="none"',
    "hit": 'fill="none" stroke="none" pointer-events="all"',
    "hatch": 'fill="none" stroke="currentColor" stroke-width="0.6" stroke-opacity="0.45"',
    "accent": 'fill="none" stroke="currentColor" stroke-width="3"',
    "wanted": 'fill="currentColor" stroke="none"',
    "whisker": 'fill="none" stroke="currentColor" stroke-width="1.8"',
}


def _attributes(kind: str) -> str:
    return f'class="{kind}" {_STROKES[kind]}'


def path(d: str, kind: str = "outline") -> str:
    """Return a path."""
    return f'<path d="{d}" {_attributes(kind)}/>'


def line(x1: float, y1: float, x2: float, y2: float, kind: str = "thin") -> str:
    """Return a straight line."""
    return path(f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}", kind)


def box(
    x: float, y: float, width: float, height: float, kind: str = "outline", corner: float = 0.0
) -> str:
    """Return a rectangle by its middle."""
    return (
        f'<rect x="{x - width / 2:.1f}" y="{y - height / 2:.1f}" width="{width:.1f}" '
        f'height="{height:.1f}" rx="{corner:g}" {_attributes(kind)}/>'
    )


def ring(x: float, y: float, radius: float, kind: str = "outline") -> str:
    """Return a circle."""
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" {_attributes(kind)}/>'


def text(
    x: float, y: float, words: str, size: float = 12.0, kind: str = "", anchor: str = "middle"
) -> str:
    """Return words with their middle height at y."""
    return (
        f'<text x="{x:.1f}" y="{y + size * 0.35:.1f}" font-size="{size:g}" text-anchor="{anchor}" '
        f'fill="currentColor" class="words {kind}">{escape(words)}</text>'
    )


def arrow_head(x: float, y: float, angle: float, size: float = 7.0, kind: str = "solid") -> str:
    """Return a filled arrow head whose tip is at (x, y), pointing along `angle` (rad, y down)."""
    spread = 0.28
    points = [(x, y)] + [
        (x - size * cos(angle + turn), y - size * sin(angle + turn)) for turn in (spread, -spread)
    ]
    return path("M" + "L".join(f"{px:.1f} {py:.1f}" for px, py in points) + "Z", kind)


def dimension(x1: float, y1: float, x2: float, y2: float, angle: float) -> str:
    """Return a dimension line with an arrow head at either end; `angle` is its direction, rad."""
    return (
        line(x1, y1, x2, y2)
        + arrow_head(x1, y1, angle + 3.141592653589793)
        + arrow_head(x2, y2, angle)
    )


def hatch(x: float, y: float, width: float, height: float, step: float = 7.0) -> str:
    """Return 45° hatching clipped to a rectangle given by its middle (cut material, ISO 128-3)."""
    left, top, right, bottom = x - width / 2, y - height / 2, x + width / 2, y + height / 2
    strokes = []
    start = left - height
    while start < right:
        x1, y1, x2, y2 = start, bottom, start + height, top
        if x1 < left:
            x1, y1 = left, bottom - (left - start)
        if x2 > right:
            x2, y2 = right, top + (start + height - right)
        if x1 < x2:
            strokes.append(f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}")
        start += step
    return path("".join(strokes), "hatch") if strokes else ""


def drawing(
    width: float,
    height: float,
    body: str,
    *,
    name: str,
    kind: str,
    links: bool,
    scale: float = 1.0,
) -> str:
    """Return a whole SVG drawing.

    :param name: what a reader of the screen hears
    :param links: it holds links, so it is a group and not one picture
    :param scale: of the size it is first shown at
    """
    role = "group" if links else "img"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing {kind}" '
        f'viewBox="0 0 {width:.0f} {height:.0f}" width="{width * scale:.0f}" '
        f'height="{height * scale:.0f}" role="{role}" aria-label="{escape(name)}">{body}</svg>'
    )
