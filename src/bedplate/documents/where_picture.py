"""The picture of where a reading is taken, small and without words, for a row of a sheet."""

from __future__ import annotations

from math import cos, pi, sin

from bedplate.documents import ink
from bedplate.documents.station import angle_on_paper, dots_on_paper, sections_on_paper
from bedplate.engine.features import Shape
from bedplate.engine.model import Engine, Feature, Station

WIDTH, HEIGHT = 84.0, 40.0

_END_X, _SIDE_X, _MIDDLE = 20.0, 62.0, 20.0
_RADIUS, _HALF = 14.0, 14.0


def where_picture(feature: Feature, station: Station, engine: Engine) -> str:
    """Return the picture as SVG: on the left seen along the axis, on the right from the side."""
    if feature.shape in {Shape.HOLE, Shape.SHAFT}:
        body = _round(feature, station, engine)
    elif feature.shape is Shape.GAP:
        body = _gap()
    elif feature.shape is Shape.WALL:
        body = _shell() if "shell" in feature.kind else _plate()
    else:
        body = _height()
    if feature.shape not in {Shape.HOLE, Shape.SHAFT}:
        body += _of_several(feature, station)
    name = f"{feature.name}: {station.name}" if station.name else feature.name
    return ink.drawing(WIDTH, HEIGHT, body, name=name, kind="where", links=False)


def _round(feature: Feature, station: Station, engine: Engine) -> str:
    body = ink.ring(_END_X, _MIDDLE, _RADIUS, "thin")
    angle = angle_on_paper(feature, station)
    if angle is None:
        body += ink.dimension(_END_X - _RADIUS, _MIDDLE, _END_X + _RADIUS, _MIDDLE, 0.0)
    else:
        dx, dy = sin(angle), -cos(angle)
        x1, y1 = _END_X - _RADIUS * dx, _MIDDLE - _RADIUS * dy
        x2, y2 = _END_X + _RADIUS * dx, _MIDDLE + _RADIUS * dy
        body += ink.line(x1, y1, x2, y2, "outline")
        body += ink.arrow_head(x2, y2, angle - pi / 2, 6)
        body += ink.arrow_head(x1, y1, angle + pi / 2, 6)
    upright = station.depth is not None
    return body + _side(sections_on_paper(feature, engine), station.section, upright=upright)


def _side(sections: list[str], wanted: str, *, upright: bool) -> str:
    body = ink.box(_SIDE_X, _MIDDLE, 2 * _HALF, 2 * _HALF, "thin")
    for index, section in enumerate(sections):
        share = (index + 0.5) / len(sections) * 2 - 1
        at = share * _HALF
        kind = "heavy" if section == wanted else "hidden"
        if upright:
            body += ink.line(_SIDE_X - _HALF, _MIDDLE + at, _SIDE_X + _HALF, _MIDDLE + at, kind)
        else:
            body += ink.line(_SIDE_X + at, _MIDDLE - _HALF, _SIDE_X + at, _MIDDLE + _HALF, kind)
    return body


def _gap() -> str:
    return (
        ink.box(10, _MIDDLE, 8, 26, "thin")
        + ink.box(34, _MIDDLE, 8, 26, "thin")
        + ink.dimension(14, _MIDDLE, 30, _MIDDLE, 0.0)
    )


def _shell() -> str:
    return (
        ink.path("M6 30A17 17 0 0 1 40 30L33 30A10 10 0 0 0 13 30Z", "thin")
        + ink.line(23, 1, 23, 12, "outline")
        + ink.arrow_head(23, 13, pi / 2, 6)
        + ink.line(23, 38, 23, 22, "outline")
        + ink.arrow_head(23, 20, -pi / 2, 6)
    )


def _plate() -> str:
    return (
        ink.box(22, _MIDDLE, 12, 28, "thin")
        + ink.line(4, _MIDDLE, 15, _MIDDLE, "outline")
        + ink.arrow_head(16, _MIDDLE, 0.0, 6)
        + ink.line(40, _MIDDLE, 29, _MIDDLE, "outline")
        + ink.arrow_head(28, _MIDDLE, pi, 6)
    )


def _height() -> str:
    return (
        ink.path("M4 32H38", "outline")
        + ink.path("M4 10H18V32", "thin")
        + ink.dimension(28, 10, 28, 32, pi / 2)
        + ink.path("M18 10H34", "hidden")
    )


def _of_several(feature: Feature, station: Station) -> str:
    """Return one mark per station, the wanted one filled."""
    stations = feature.stations
    if len(stations) < 2:
        return ""
    body = ""
    if all(s.angle is not None for s in stations):
        body = ink.ring(_SIDE_X, _MIDDLE, 9, "thin")
    places = dots_on_paper(feature, _SIDE_X, _MIDDLE, 13, 32)
    for place, one in zip(places, stations, strict=True):
        wanted = one.id == station.id
        body += ink.ring(*place, 3.4 if wanted else 2.2, "solid" if wanted else "thin")
    return body
