"""The engine seen from its free end: banks, direction of rotation, throws, deck heights."""

from __future__ import annotations

from math import cos, pi, sin

from bedplate.documents import ink
from bedplate.documents.places import Looks, linked
from bedplate.engine.features import Per
from bedplate.engine.model import Engine, Layout


def end_view(engine: Engine, looks: Looks) -> str:
    """Return the engine seen from its free end: banks, direction of rotation, throws, decks."""
    layout = engine.layout
    banks = sorted({c.bank for c in layout.cylinders})
    spread = layout.bank_angle if len(banks) > 1 else 0.0
    angles = {banks[0]: -spread / 2} | ({banks[1]: spread / 2} if len(banks) > 1 else {})
    x, y = 210.0, 236.0 if spread < 2.6 else 150.0
    height = 350.0 if spread < 2.6 else 270.0
    body = "".join(_bank(engine, looks, bank, angle, x, y) for bank, angle in angles.items())
    body += (
        ink.ring(x, y, 24, "outline") + ink.ring(x, y, 62, "hidden") + ink.ring(x, y, 2, "solid")
    )
    turn = 1.0 if layout.clockwise else -1.0
    for angle, pins in _throws(layout, turn).items():
        px, py = x + 40 * sin(angle), y - 40 * cos(angle)
        body += f'<g class="face">{ink.ring(px, py, 12)}</g>' + ink.text(
            px, py, ",".join(pins), 10, "small"
        )
    body += _rotation(x, y, turn)
    body += ink.text(x, height - 12, "seen from the free end", 14, "caption")
    return ink.drawing(
        420, height, body, name="The engine seen from its free end", kind="end", links=True
    )


def _throws(layout: Layout, turn: float) -> dict[float, list[str]]:
    """Return which crankpins stand at which angle, clockwise from the top, seen from the free end.

    A crankpin stands behind its cylinder's axis by the angle left until that dead centre.
    """
    seen: dict[float, list[str]] = {}
    for cylinder in layout.cylinders:
        angle = (cylinder.bank_angle - turn * cylinder.dead_centre) % (2 * pi)
        near = next((a for a in seen if abs(cos(a - angle) - 1) < 1e-6), angle)
        pins = seen.setdefault(near, [])
        if str(cylinder.crankpin) not in pins:
            pins.append(str(cylinder.crankpin))
            pins.sort(key=int)
    return seen


def _rotation(x: float, y: float, turn: float) -> str:
    radius, start, stop = 76.0, 0.62 * pi, 0.38 * pi
    first, second = (start, stop) if turn < 0 else (stop, start)
    x1, y1 = x + radius * cos(first), y + radius * sin(first)
    x2, y2 = x + radius * cos(second), y + radius * sin(second)
    sweep = 1 if turn > 0 else 0
    arc = ink.path(f"M{x1:.1f} {y1:.1f}A{radius} {radius} 0 0 {sweep} {x2:.1f} {y2:.1f}", "outline")
    return arc + ink.arrow_head(x2, y2, second + turn * pi / 2, 12)


def _bank(engine: Engine, looks: Looks, bank: str, angle: float, x: float, y: float) -> str:
    def at(along: float, aside: float) -> tuple[float, float]:
        return (
            x + along * sin(angle) + aside * cos(angle),
            y - along * cos(angle) + aside * sin(angle),
        )

    def stroke(a: tuple[float, float], b: tuple[float, float], kind: str) -> str:
        return ink.line(*a, *b, kind)

    near, deck, half = 78.0, 172.0, 34.0
    body = stroke(at(0, 0), at(deck + 18, 0), "centre")
    for side in (-half, half):
        body += stroke(at(near, side), at(deck, side), "outline")
    body += stroke(at(deck, -half - 16), at(deck, half + 16), "heavy")
    body += ink.text(*at(deck + 30, 0), bank, 20, "bank")
    feature = next(
        (f for f in engine.features.values() if f.kind == "deck height" and f.number == bank), None
    )
    if feature is None or feature.per is not Per.BANK:
        return body
    outer = 62.0 if bank == "B" or engine.layout.form == "in-line" else -62.0
    mark_at = at(deck * 0.62, outer * 1.5)
    shapes = (
        stroke(at(0, 0), at(0, outer + outer * 0.1), "thin")
        + stroke(at(deck, outer * 0.55), at(deck, outer * 1.1), "thin")
        + ink.dimension(*at(0, outer), *at(deck, outer), angle - pi / 2)
        + ink.box(*mark_at, 56, 52, "hit")
        + ink.text(mark_at[0], mark_at[1] + 18, "deck", 11, "small")
    )
    return body + linked(feature, looks, shapes, *mark_at)
