"""The crosshatch of a bore, drawn: which angle is meant, and which other one people mean by it."""

from __future__ import annotations

from math import atan2, cos, degrees, pi, sin, tan

from bedplate.documents import ink

_WIDTH, _HEIGHT = 300.0, 190.0
_MIDDLE = (104.0, 88.0)
_HALF = 76.0


def included_about_horizontal(stroke_speed: float, surface_speed: float) -> float:
    """Return the angle between the two sets of honing lines about the horizontal.

    The hone moves up and down the bore at one speed while its stones turn at another; each line
    rises at atan(Va/Vt), and the two sets lie twice that apart.

    :param stroke_speed: mean speed along the bore, m/s
    :param surface_speed: of the stones along the circumference, m/s, above 0
    :returns: rad, 0 to π; π less it is the same crosshatch counted about the axis
    """
    return 2.0 * atan2(stroke_speed, surface_speed)


def crosshatch_picture(low: float, high: float) -> str:
    """Return the drawing of a crosshatch with both angles marked.

    :param low, high: included about the horizontal, rad
    """
    angle = (low + high) / 2
    body = _patch(angle) + _marks(angle)
    body += _labels(low, high)
    name = (
        f"Crosshatch: lines {degrees(low):.0f} to {degrees(high):.0f} degrees apart about the "
        f"horizontal, which is {degrees(pi - high):.0f} to {degrees(pi - low):.0f} degrees about "
        "the axis of the bore"
    )
    return ink.drawing(_WIDTH, _HEIGHT, body, name=name, kind="crosshatch", links=False)


def _patch(angle: float) -> str:
    """Draw an unrolled patch of the bore with both sets of lines."""
    x, y = _MIDDLE
    body = ink.box(x, y, 2 * _HALF, 2 * _HALF, "outline")
    slope = tan(angle / 2)
    lines = [_clipped(step * 26.0, sign * slope) for sign in (1, -1) for step in range(-5, 6)]
    body += ink.path("".join(lines), "hatch")
    body += ink.line(x - _HALF - 10, y, x + _HALF + 10, y, "centre")
    return body + ink.line(x, y - _HALF - 8, x, y + _HALF + 8, "centre")


def _clipped(offset: float, slope: float) -> str:
    """Return a line through (0, offset) with a slope, cut at the edges of the patch."""
    x, y = _MIDDLE
    ends = []
    for at in (-_HALF, _HALF):
        rise = offset + slope * at
        if abs(rise) <= _HALF:
            ends.append((at, rise))
        elif slope:
            edge = _HALF if rise > 0 else -_HALF
            ends.append(((edge - offset) / slope, edge))
    inside = [(a, b) for a, b in ends if abs(a) <= _HALF + 1e-9]
    if len(inside) < 2:
        return ""
    (x1, y1), (x2, y2) = inside
    return f"M{x + x1:.1f} {y - y1:.1f}L{x + x2:.1f} {y - y2:.1f}"


def _marks(angle: float) -> str:
    """Draw the two lines through the middle, and the arcs of both angles."""
    x, y = _MIDDLE
    half = angle / 2
    body = ""
    for turn in (half, -half):
        reach = min(_HALF / max(cos(turn), 1e-6), _HALF / max(abs(sin(turn)), 1e-6))
        body += ink.line(
            x - reach * cos(turn), y + reach * sin(turn),
            x + reach * cos(turn), y - reach * sin(turn), "heavy",
        )  # fmt: skip
    return body + _arc(52.0, -half, half, "outline") + _arc(30.0, half, pi - half, "thin")


def _arc(radius: float, start: float, stop: float, kind: str) -> str:
    x, y = _MIDDLE
    from_x, from_y = x + radius * cos(start), y - radius * sin(start)
    to_x, to_y = x + radius * cos(stop), y - radius * sin(stop)
    return ink.path(
        f"M{from_x:.1f} {from_y:.1f}A{radius:.1f} {radius:.1f} 0 0 0 {to_x:.1f} {to_y:.1f}", kind
    )


def _labels(low: float, high: float) -> str:
    about = f"{degrees(low):.0f}…{degrees(high):.0f}°"
    other = f"{degrees(pi - high):.0f}…{degrees(pi - low):.0f}°"
    x = _MIDDLE[0] + _HALF + 14
    return (
        ink.text(x, _MIDDLE[1] - 10, about, 19, "number", "start")
        + ink.text(x, _MIDDLE[1] + 9, "about the horizontal,", 10.5, "", "start")
        + ink.text(x, _MIDDLE[1] + 22, "included: this one", 10.5, "", "start")
        + ink.text(x, 24, other, 13, "", "start")
        + ink.text(x, 39, "the same lines", 10.5, "", "start")
        + ink.text(x, 51, "about the axis", 10.5, "", "start")
        + ink.text(_MIDDLE[0], _HEIGHT - 8, "dash-dotted: bore axis upright", 10, "small")
    )
