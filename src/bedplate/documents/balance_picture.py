"""Throws and masses in their angles, and the vectors that add up: drawn as seen from the free end.

Axis 1, midway between the banks, points up; angles grow the way the crank turns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, cos, hypot, pi, sin

from bedplate.documents import ink
from bedplate.engine import Engine
from bedplate.engine.balancing import ShaftSaid
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.balance.bob_weight import Throw, ThrowCard, throws_of

_SIDE = 300.0
_REACH = 82.0


@dataclass(frozen=True, slots=True)
class Vector:
    """One vector of a sum.

    :param along: part along axis 1
    :param across: part along axis 2, a quarter turn on in the direction of rotation
    """

    name: str
    along: float
    across: float


def throws_picture(engine: Engine, cards: Sequence[ThrowCard] = ()) -> str:
    """Return throws, counterweights and balance shafts in their angles while throw 1 is at 0°.

    Each throw has its number, cylinders and bob-weight.
    """
    way = 1.0 if engine.layout.clockwise else -1.0
    middle = _SIDE / 2
    parts = [ink.ring(middle, middle, 16, "heavy"), _turning(middle, way)]
    banks = dict.fromkeys(cylinder.bank_angle for cylinder in engine.layout.cylinders)
    axes = (_place(bank, 98.0, 1.0) for bank in banks)
    parts += [ink.line(middle, middle, middle + x, middle - y, "centre") for x, y in axes]
    groups: dict[tuple[int, int], list[Throw]] = {}
    for throw in throws_of(engine):
        x, y = _place(throw.angles[0], 1.0, way)
        groups.setdefault((round(100 * x), round(100 * y)), []).append(throw)
    by_number = {card.throw.number: card for card in cards}
    for together in groups.values():
        parts.append(_throws(together, by_number, middle, way))
    weights = [weight.angle for weight in engine.duty.counterweights]
    if engine.duty.value("crank.opposite"):
        weights += [_mean(together[0].angles) + pi for together in groups.values()]
    parts += [_counterweight(angle, middle, way) for angle in weights]
    shafts = engine.balancing.shafts
    parts += [
        _shaft(shaft, middle + 100 * (number - (len(shafts) - 1) / 2), _SIDE + 26, way)
        for number, shaft in enumerate(shafts)
    ]
    height = _SIDE + (72 if shafts else 0)
    name = f"{engine.name}: throws seen from the free end"
    if weights:
        name += ", hatched counterweights"
    return ink.drawing(_SIDE, height, "".join(parts), name=name, kind="throws", links=False)


def _mean(angles: Sequence[float]) -> float:
    """Return the direction midway between the pins of a throw."""
    return atan2(sum(sin(angle) for angle in angles), sum(cos(angle) for angle in angles))


def _counterweight(angle: float, middle: float, way: float) -> str:
    """Return a counterweight as a sector with a few hatching lines."""
    inner, outer, half = 38.0, 56.0, 0.55
    corners = [
        _place(angle + turn, reach, way)
        for turn, reach in ((-half, inner), (-half, outer), (half, outer), (half, inner))
    ]
    (x1, y1), (x2, y2), (x3, y3), (x4, y4) = (
        (middle + right, middle - up) for right, up in corners
    )
    out, back = (1, 0) if way > 0 else (0, 1)
    edge = (
        f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}A{outer:g} {outer:g} 0 0 {out} {x3:.1f} {y3:.1f}"
        f"L{x4:.1f} {y4:.1f}A{inner:g} {inner:g} 0 0 {back} {x1:.1f} {y1:.1f}Z"
    )
    lines = []
    for step in range(-3, 4):
        near, far = (
            _place(angle + half * (step + lean) / 4, reach, way)
            for reach, lean in ((inner, -0.5), (outer, 0.5))
        )
        lines.append(
            ink.line(middle + near[0], middle - near[1], middle + far[0], middle - far[1], "hatch")
        )
    return ink.path(edge, "thin") + "".join(lines)


def _shaft(shaft: ShaftSaid, x: float, y: float, way: float) -> str:
    """Return a balance shaft with its heavy side, its name and its turns."""
    right, up = _place(shaft.angle.value, 12.0, way)
    turns = f"{abs(shaft.ratio)} × {'with' if shaft.ratio > 0 else 'against'} the crank"
    return (
        ink.ring(x, y, 18)
        + ink.line(x, y, x + right, y - up)
        + ink.ring(x + right, y - up, 4, "solid")
        + ink.text(x, y + 26, shaft.name, 10)
        + ink.text(x, y + 38, turns, 10)
    )


def _place(angle: float, reach: float, way: float) -> tuple[float, float]:
    """Return right and up of an angle."""
    return way * reach * sin(angle), reach * cos(angle)


def _turning(middle: float, way: float) -> str:
    """Return the arrow of rotation."""
    radius = 26.0
    start, end = 0.5, 2.2
    x1, y1 = _place(start, radius, way)
    x2, y2 = _place(end, radius, way)
    sweep = 1 if way > 0 else 0
    arc = f"M{middle + x1:.1f} {middle - y1:.1f}A{radius:g} {radius:g} 0 0 {sweep} "
    arc += f"{middle + x2:.1f} {middle - y2:.1f}"
    tangent = atan2(sin(end), way * cos(end))
    return ink.path(arc, "thin") + ink.arrow_head(middle + x2, middle - y2, tangent, 6)


def _throws(together: list[Throw], cards: dict[int, ThrowCard], middle: float, way: float) -> str:
    parts = []
    for throw in together[:1]:
        for angle in dict.fromkeys(throw.angles):
            x, y = _place(angle, _REACH, way)
            parts.append(ink.line(middle, middle, middle + x, middle - y, "heavy"))
            parts.append(ink.ring(middle + x, middle - y, 10))
    mean = _mean(together[0].angles)
    x, y = _place(mean, _REACH + 40, way)
    said = ", ".join(str(throw.number) for throw in together)
    parts.append(ink.text(middle + x, middle - y - 6, said, 15))
    labels = " ".join(label for throw in together for label in throw.labels)
    parts.append(ink.text(middle + x, middle - y + 8, f"cyl. {labels}", 10))
    found = [cards[throw.number] for throw in together if throw.number in cards]
    shown = dict.fromkeys(show(one.bob_weight, Dimension.MASS, Units.METRIC) for one in found)
    if shown:
        parts.append(ink.text(middle + x, middle - y + 20, ", ".join(shown), 10))
    return "".join(parts)


def sum_picture(engine: Engine, vectors: Sequence[Vector], title: str, shown: Sequence[str]) -> str:
    """Return vectors laid end to end, and what is left over as an arrow of its own.

    :param shown: what each vector amounts to, in words; last what is left
    """
    way = 1.0 if engine.layout.clockwise else -1.0
    points = [(0.0, 0.0)]
    for vector in vectors:
        x, y = points[-1]
        points.append((x + way * vector.across, y + vector.along))
    left, right = min(p[0] for p in points), max(p[0] for p in points)
    low, high = min(p[1] for p in points), max(p[1] for p in points)
    size = max(right - left, high - low, 1e-12)
    scale = 170.0 / size

    def place(point: tuple[float, float]) -> tuple[float, float]:
        x = _SIDE / 2 + (point[0] - (left + right) / 2) * scale
        return x, 130.0 - (point[1] - (low + high) / 2) * scale

    parts = [ink.text(_SIDE / 2, 16, title, 13)]
    for number, vector in enumerate(vectors):
        parts.append(
            _arrow(place(points[number]), place(points[number + 1]), vector.name, "outline")
        )
    rest = hypot(points[-1][0], points[-1][1])
    if rest > 0.01 * size:
        parts.append(_arrow(place(points[0]), place(points[-1]), "", "accent"))
        parts.append(ink.text(_SIDE / 2, 248, f"left over: {shown[-1]}", 13, "wanted"))
    else:
        x, y = place(points[0])
        parts.append(ink.ring(x, y, 6, "heavy"))
        parts.append(ink.text(_SIDE / 2, 248, "closed: nothing is left over", 13))
    words = f"{title}: " + "; ".join(
        f"{vector.name} {text}" for vector, text in zip(vectors, shown, strict=False)
    )
    return ink.drawing(
        _SIDE, 262, "".join(parts), name=f"{words}; left {shown[-1]}", kind="vectors", links=False
    )


def _arrow(start: tuple[float, float], end: tuple[float, float], name: str, kind: str) -> str:
    (x1, y1), (x2, y2) = start, end
    length = hypot(x2 - x1, y2 - y1)
    if length < 1.5:
        return ""
    angle = atan2(y2 - y1, x2 - x1)
    aside = (-(y2 - y1) / length * 10, (x2 - x1) / length * 10)
    label = ""
    if name:
        label = ink.text((x1 + x2) / 2 + aside[0], (y1 + y2) / 2 + aside[1], name, 11)
    return ink.line(x1, y1, x2, y2, kind) + ink.arrow_head(x2, y2, angle, 9) + label


def path_picture(
    engine: Engine, points: Sequence[tuple[float, float]], title: str, greatest: str
) -> str:
    """Return the path that the tip of a force or couple runs over in a turn.

    :param points: along axis 1 and axis 2
    :param greatest: its greatest size, in words
    """
    way = 1.0 if engine.layout.clockwise else -1.0
    size = max((hypot(*point) for point in points), default=0.0)
    middle = 132.0
    parts = [
        ink.text(_SIDE / 2, 16, title, 13),
        ink.line(_SIDE / 2 - 100, middle, _SIDE / 2 + 100, middle, "centre"),
        ink.line(_SIDE / 2, middle - 100, _SIDE / 2, middle + 100, "centre"),
        ink.text(_SIDE / 2, 252, f"at most {greatest}", 13),
    ]
    if size > 0:
        scale = 92.0 / size
        drawn = "L".join(
            f"{_SIDE / 2 + way * across * scale:.1f} {middle - along * scale:.1f}"
            for along, across in points
        )
        parts.append(ink.path(f"M{drawn}Z", "outline"))
    name = f"{title}: at most {greatest}"
    return ink.drawing(_SIDE, 266, "".join(parts), name=name, kind="vectors", links=False)
