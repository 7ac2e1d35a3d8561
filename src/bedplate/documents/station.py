"""Where a reading is taken, large enough to be seen from the bench."""

from __future__ import annotations

from math import cos, pi, sin

from bedplate.documents import ink
from bedplate.engine.features import Shape
from bedplate.engine.model import Engine, Feature, Station
from bedplate.quantity import Dimension, show

WIDTH, HEIGHT = 400.0, 190.0
_END_X, _SIDE_X, _MIDDLE = 100.0, 300.0, 96.0
_RADIUS = 56.0
_TURNED = ("thrust", "0 deg across")


def station_picture(feature: Feature, station: Station, engine: Engine) -> str:
    """Return where on a feature a station is, as SVG: seen along its axis, and from the side."""
    if feature.shape in {Shape.HOLE, Shape.SHAFT}:
        body = _along(feature, station) + _aside(feature, station, engine)
    elif "ring gap" in feature.kind or "rail gap" in feature.kind:
        body = _ring_gap() + _places(feature, station)
    elif feature.shape is Shape.GAP:
        body = _gap(feature) + _places(feature, station)
    elif feature.shape is Shape.WALL:
        body = _wall(feature) + _places(feature, station)
    else:
        body = _height() + _places(feature, station)
    name = f"Where: {feature.name}, {station.name}" if station.name else f"Where: {feature.name}"
    return ink.drawing(WIDTH, HEIGHT, body, name=name, kind="station", links=False)


def _along(feature: Feature, station: Station) -> str:
    hole = feature.shape is Shape.HOLE
    body = ink.ring(_END_X, _MIDDLE, _RADIUS, "heavy")
    body += ink.line(_END_X - 66, _MIDDLE, _END_X + 66, _MIDDLE, "centre")
    body += ink.line(_END_X, _MIDDLE - 66, _END_X, _MIDDLE + 66, "centre")
    if hole and ("main" in feature.kind or "rod" in feature.kind):
        for side in (-1, 1):
            body += ink.line(_END_X + side * _RADIUS, _MIDDLE, _END_X + side * 84, _MIDDLE, "heavy")
        body += ink.text(_END_X + 90, _MIDDLE - 12, "split", 11, "small", "end")
    angle = angle_on_paper(feature, station)
    if angle is None:
        return body + ink.dimension(_END_X - _RADIUS, _MIDDLE, _END_X + _RADIUS, _MIDDLE, 0.0)
    dx, dy = sin(angle), -cos(angle)
    start, stop = (-_RADIUS + 2, _RADIUS - 2) if hole else (-_RADIUS - 24, -_RADIUS)
    strokes = [(start, stop)] if hole else [(start, stop), (_RADIUS + 24, _RADIUS)]
    for one, two in strokes:
        ends = (_END_X + one * dx, _MIDDLE + one * dy, _END_X + two * dx, _MIDDLE + two * dy)
        towards = angle - pi / 2 + (0.0 if two > one else pi)
        body += ink.line(*ends, "accent") + ink.arrow_head(ends[2], ends[3], towards, 12, "wanted")
        if hole:
            body += ink.arrow_head(ends[0], ends[1], towards + pi, 12, "wanted")
    reach = _RADIUS + (22 if hole else 34)
    x, y = _END_X + reach * dx, _MIDDLE + reach * dy
    anchor = "middle" if abs(dx) < 0.4 else ("start" if dx > 0 else "end")
    if anchor == "end" and x < 8 * len(station.direction):
        # It would run out of the picture: it stands over the surface, or under it, from the edge.
        x, y, anchor = 4.0, _MIDDLE + (-1 if dy <= 0 else 1) * (_RADIUS + 14), "start"
    x = min(max(x, 4.0), WIDTH / 2 + 6)
    return body + ink.text(x, y, station.direction, 14, "direction", anchor)


def angle_on_paper(feature: Feature, station: Station) -> float | None:
    """Return the direction of a reading seen along the axis, rad clockwise from the top.

    Where directions count from thrust or across, they lie level: the crank runs up the paper.
    """
    first = feature.stations[0].direction if feature.stations else ""
    if station.angle is None:
        return None
    return station.angle + (pi / 2 if first.startswith(_TURNED) else 0.0)


def sections_on_paper(feature: Feature, engine: Engine) -> list[str]:
    """Return the sections of a feature from left to right, the free end at the left."""
    sections = list(dict.fromkeys(s.section for s in feature.stations if s.section))
    if engine.layout.front != "free end" and all(s.depth is None for s in feature.stations):
        sections.reverse()
    return sections


def dots_on_paper(
    feature: Feature, x: float, y: float, radius: float, width: float
) -> list[tuple[float, float]]:
    """Return a place for each station: round a circle where all have an angle, else in a line.

    :param x, y: the middle
    :param radius, width: of the circle, and of the line
    """
    stations = feature.stations
    if all(s.angle is not None for s in stations):
        angles = [s.angle or 0.0 for s in stations]
        return [(x + radius * sin(angle), y - radius * cos(angle)) for angle in angles]
    step = width / len(stations)
    return [(x - width / 2 + step * (i + 0.5), y) for i in range(len(stations))]


def _aside(feature: Feature, station: Station, engine: Engine) -> str:
    if station.depth is not None:
        return _bore_side(feature, station, engine)
    sections = sections_on_paper(feature, engine)
    wide, tall = 96.0, 84.0
    kind = "heavy" if feature.shape is Shape.SHAFT else "outline"
    body = ink.box(_SIDE_X, _MIDDLE, wide, tall, kind)
    if feature.shape is Shape.HOLE:
        body += ink.hatch(_SIDE_X, _MIDDLE - tall / 2 - 12, wide, 24)
        body += ink.hatch(_SIDE_X, _MIDDLE + tall / 2 + 12, wide, 24)
    body += ink.line(_SIDE_X - 66, _MIDDLE, _SIDE_X + 66, _MIDDLE, "centre")
    for index, section in enumerate(sections):
        at = _SIDE_X + wide * ((index + 0.5) / len(sections) - 0.5) * 0.78
        wanted = section == station.section
        kind = "accent" if wanted else "hidden"
        body += ink.line(at, _MIDDLE - tall / 2, at, _MIDDLE + tall / 2, kind)
        if wanted:
            body += ink.text(
                at, _MIDDLE + tall / 2 + 16, section.replace("-", " "), 14, "direction"
            )
    front = -1 if engine.layout.front == "free end" else 1
    body += ink.line(_SIDE_X + front * 62, 24, _SIDE_X + front * 90, 24)
    body += ink.arrow_head(_SIDE_X + front * 90, 24, pi if front < 0 else 0.0, 9)
    return body + ink.text(
        _SIDE_X + front * 58, 24, "front", 12, "small", "start" if front < 0 else "end"
    )


def _bore_side(feature: Feature, station: Station, engine: Engine) -> str:
    depths = sorted({s.depth for s in feature.stations if s.depth is not None})
    top, deep, half = 30.0, 148.0, 44.0
    longest = max(*depths, 1e-9) * 1.12
    body = ink.line(_SIDE_X - 76, top, _SIDE_X + 76, top, "heavy")
    for side in (-1, 1):
        body += ink.line(_SIDE_X + side * half, top, _SIDE_X + side * half, top + deep, "outline")
        body += ink.hatch(_SIDE_X + side * (half + 12), top + deep / 2, 24, deep)
    body += ink.line(_SIDE_X, top - 8, _SIDE_X, top + deep + 8, "centre")
    for depth in depths:
        y = top + deep * depth / longest
        wanted = depth == station.depth
        kind = "accent" if wanted else "hidden"
        body += ink.line(_SIDE_X - half, y, _SIDE_X + half, y, kind)
        if wanted:
            x = _SIDE_X - half - 32
            words = _depth_words(station, depth, engine)
            body += ink.line(x - 6, y, _SIDE_X - half, y) + ink.dimension(x, top, x, y, pi / 2)
            body += ink.text(x - 8, (top + y) / 2 if y - top > 24 else y + 14, words, 14,
                             "direction", "end")  # fmt: skip
    return body + ink.text(_SIDE_X + 76, top - 12, "deck", 12, "small", "end")


def _depth_words(station: Station, depth: float, engine: Engine) -> str:
    """Return the depth as the engine file says it, or else as the builder would read it."""
    said, found, _ = station.name.partition(" down")
    return said if found else show(depth, Dimension.LENGTH, engine.units)


def _ring_gap() -> str:
    return (
        ink.ring(_END_X, _MIDDLE, _RADIUS + 8, "heavy")
        + ink.path(
            f"M{_END_X - 8} {_MIDDLE - 54}A55 55 0 1 0 {_END_X + 8} {_MIDDLE - 54}", "outline"
        )
        + ink.path(
            f"M{_END_X - 7} {_MIDDLE - 46}A47 47 0 1 0 {_END_X + 7} {_MIDDLE - 46}", "outline"
        )
        + ink.line(_END_X, _MIDDLE - 84, _END_X, _MIDDLE - 40, "accent")
        + ink.text(_END_X, _MIDDLE, "ring in its bore", 12, "small")
    )


def _gap(feature: Feature) -> str:
    label = "pushed both ways" if feature.kind == "end float" else "gap"
    return (
        ink.box(56, _MIDDLE, 44, 110, "outline")
        + ink.hatch(56, _MIDDLE, 44, 110)
        + ink.box(150, _MIDDLE, 44, 110, "outline")
        + ink.hatch(150, _MIDDLE, 44, 110)
        + ink.line(78, _MIDDLE, 128, _MIDDLE, "accent")
        + ink.arrow_head(128, _MIDDLE, 0.0, 10, "wanted")
        + ink.arrow_head(78, _MIDDLE, pi, 10, "wanted")
        + ink.text(103, _MIDDLE + 72, label, 12, "small")
    )


def _wall(feature: Feature) -> str:
    if "shell" not in feature.kind:
        return (
            ink.box(_END_X, _MIDDLE, 90, 110, "outline")
            + ink.hatch(_END_X, _MIDDLE, 90, 110)
            + ink.line(_END_X - 80, _MIDDLE, _END_X - 46, _MIDDLE, "accent")
            + ink.arrow_head(_END_X - 46, _MIDDLE, 0.0, 12, "wanted")
            + ink.line(_END_X + 80, _MIDDLE, _END_X + 46, _MIDDLE, "accent")
            + ink.arrow_head(_END_X + 46, _MIDDLE, pi, 12, "wanted")
        )
    return (
        ink.path("M30 130A70 70 0 0 1 170 130L152 130A52 52 0 0 0 48 130Z", "heavy")
        + ink.line(100, 30, 100, 58, "accent")
        + ink.arrow_head(100, 60, pi / 2, 12, "wanted")
        + ink.line(100, 112, 100, 80, "accent")
        + ink.arrow_head(100, 78, -pi / 2, 12, "wanted")
        + ink.text(100, 160, "wall, at the crown", 12, "small")
    )


def _height() -> str:
    return (
        ink.path("M20 140H180", "heavy")
        + ink.path("M20 60H96V140", "outline")
        + ink.hatch(58, 100, 76, 80)
        + ink.path("M96 60H160", "hidden")
        + ink.line(140, 64, 140, 138, "accent")
        + ink.arrow_head(140, 60, -pi / 2, 12, "wanted")
        + ink.arrow_head(140, 140, pi / 2, 12, "wanted")
    )


def _places(feature: Feature, station: Station) -> str:
    """Return one dot for each station, the wanted one large and named."""
    stations = feature.stations
    if len(stations) < 2:
        return ""
    body = (
        ink.ring(_SIDE_X, _MIDDLE, 44, "thin")
        if all(s.angle is not None for s in stations)
        else ink.line(_SIDE_X - 75, _MIDDLE, _SIDE_X + 75, _MIDDLE, "centre")
    )
    places = dots_on_paper(feature, _SIDE_X, _MIDDLE, 44, 150)
    for (x, y), one in zip(places, stations, strict=True):
        wanted = one.id == station.id
        body += ink.ring(x, y, 9 if wanted else 5, "wanted" if wanted else "outline")
    return body + ink.text(_SIDE_X, _MIDDLE + 72, station.name, 14, "direction")
