"""How the clamp of each way of tightening is spread: one row each, on one scale."""

from __future__ import annotations

from bedplate.documents import ink
from bedplate.shop.clamping.answer import Answer, Way

_LEFT, _RIGHT, _ROW = 150.0, 690.0, 96.0


def clamp_picture(found: Answer) -> str:
    """Return the spreads as SVG."""
    ends = [edge for way in found.ways for edge in (way.edges[0], way.edges[-1])]
    least, most = min(ends), max(ends)
    room = 0.06 * (most - least) or 1.0
    least, most = max(least - room, 0.0), most + room
    height = 34 + _ROW * len(found.ways) + 34

    def x(force: float) -> float:
        return _LEFT + (force - least) / (most - least) * (_RIGHT - _LEFT)

    body = ""
    for index, way in enumerate(found.ways):
        body += _row(way, 34 + _ROW * index, x)
    base = 34 + _ROW * len(found.ways) + 4
    body += ink.line(_LEFT, base, _RIGHT, base, "outline")
    step = _step(most - least)
    tick = step * (int(least / step) + 1)
    while tick <= most:
        body += ink.line(x(tick), base, x(tick), base + 6, "outline")
        body += ink.text(x(tick), base + 18, f"{tick / 1e3:g}", 13, "small")
        tick += step
    body += ink.text(_RIGHT + 8, base + 18, "kN", 13, "small", "start")
    words = "; ".join(f"{way.name} ±{way.plus_minus * 100:.0f} %" for way in found.ways)
    return ink.drawing(740, height, body, name=f"Clamp: {words}", kind="clamp-picture", links=False)


def _step(span: float) -> float:
    for step in (500.0, 1e3, 2e3, 5e3, 10e3, 20e3, 50e3, 100e3):
        if span / step <= 9:
            return step
    return 500e3


def _row(way: Way, top: float, x: object) -> str:
    place = x if callable(x) else float
    floor = top + _ROW - 22
    highest = max(way.shares) or 1.0
    points = [f"M{place(way.edges[0]):.1f} {floor:.1f}"]
    for share, low, high in zip(way.shares, way.edges, way.edges[1:], strict=False):
        y = floor - share / highest * (_ROW - 38)
        points.append(f"L{place(low):.1f} {y:.1f}L{place(high):.1f} {y:.1f}")
    points.append(f"L{place(way.edges[-1]):.1f} {floor:.1f}Z")
    body = ink.path("".join(points), "outline").replace(
        'fill="none"', 'fill="currentColor" fill-opacity="0.12"', 1
    )
    body += ink.line(place(way.low), floor + 8, place(way.high), floor + 8, "heavy")
    for end in (way.low, way.high):
        body += ink.line(place(end), floor + 3, place(end), floor + 13, "heavy")
    body += ink.ring(place(way.middle), floor + 8, 4, "solid")
    body += ink.text(8, floor - 22, way.name, 15, "number", "start")
    return body + ink.text(8, floor - 2, f"±{way.plus_minus * 100:.0f} %", 19, "number", "start")
