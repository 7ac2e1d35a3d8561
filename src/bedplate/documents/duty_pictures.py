"""Pictures of the duty check: the orbit in its bearing, polar loads, film over cycle and clearance.

Clearance is drawn far larger than it is. Up is the crown of the upper shell; the picture is seen
from the free end, so it turns as the engine does from there.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, cos, degrees, hypot, isnan, pi, sin

import numpy as np

from bedplate.documents import ink
from bedplate.documents.chart import (
    BOTTOM,
    HIGH,
    LEFT,
    RIGHT,
    TOP,
    WIDE,
    Axis,
    chart,
    scales,
    step_of,
)
from bedplate.physics.checks import Array
from bedplate.physics.clearance_band import ClearanceBand
from bedplate.physics.film import NO_FILM, STATES
from bedplate.shop.duty.films import FilmAt, no_film

SIZE = 360.0
_MIDDLE, _BORE, _PLAY, _WALL, _HOUSING = SIZE / 2, 112.0, 44.0, 12.0, 20.0
_POUND_FORCE = 4.4482216152605
"""N: exact by the definitions of pound and standard gravity."""
_POINTS = 120
"""Of an orbit in motion: one for every six degrees of a four-stroke cycle."""


def orbit(one: FilmAt, *, clockwise: bool, moving: bool = False) -> str:
    """Return the journal in its bearing and the orbit of its middle, clearance enlarged.

    :param moving: with all it needs to run through the cycle on the page
    """
    way = 1.0 if clockwise else -1.0
    name = f"{one.bearing.name}: orbit of the journal in its clearance"
    if not one.holds:
        words = ink.text(_MIDDLE, _MIDDLE, no_film(one.film.state), 14, "number")
        return _whole(_bearing(one, way) + words, f"{name}; {one.film.state}", "orbit")
    path = [(_MIDDLE + way * _PLAY * y, _MIDDLE - _PLAY * x) for x, y in one.film.position]
    film = one.film
    least = int(np.argmin(film.film))
    body = [
        _bearing(one, way),
        ink.ring(_MIDDLE, _MIDDLE, _PLAY, "hidden"),
        _closed(path),
        _journal(path, least, moving=moving),
        _least(one, way),
        ink.text(_MIDDLE, SIZE - 9, "clearance enlarged; broken line: contact", 12, "small"),
        _turning(way),
    ]
    says = (
        f"{name}; least film {film.least_film * 1e6:.2f} µm at"
        f" {degrees(film.least_shell_angle):.0f}° from the upper crown"
    )
    return _whole("".join(body), says, "orbit")


def _whole(body: str, name: str, kind: str) -> str:
    return ink.drawing(SIZE, SIZE, body, name=name, kind=kind, links=False)


def _bearing(one: FilmAt, way: float) -> str:
    """Return housing, shells with their split, and the groove where there is one."""
    shape = one.bearing.bearing.shape
    parts = [
        ink.ring(_MIDDLE, _MIDDLE, _BORE + _WALL + _HOUSING, "thin"),
        ink.ring(_MIDDLE, _MIDDLE, _BORE + _WALL, "outline"),
        ink.ring(_MIDDLE, _MIDDLE, _BORE, "heavy"),
    ]
    reach = _BORE + _WALL + _HOUSING
    for near, far in ((-reach, -_BORE), (_BORE, reach)):
        ends = (_MIDDLE + near, _MIDDLE, _MIDDLE + far, _MIDDLE)
        if one.bearing.upright:
            ends = (_MIDDLE, _MIDDLE + near, _MIDDLE, _MIDDLE + far)
        parts.append(ink.line(*ends, "centre"))
    if shape.groove_width:
        parts.append(_arc(shape.groove_middle, shape.groove_extent, _BORE + _WALL / 2, way))
    upper = "upper shell, block" if one.bearing.kind == "main" else "upper shell, rod"
    lower = "lower shell, cap"
    if one.bearing.upright:
        upper, lower = "top of the split", "bottom of the split"
    parts.append(ink.text(_MIDDLE, 22, upper, 12, "small"))
    parts.append(ink.text(_MIDDLE, SIZE - 24, lower, 12, "small"))
    return "".join(parts)


def _arc(middle: float, extent: float, radius: float, way: float) -> str:
    if extent >= 2 * pi - 1e-9:
        return ink.ring(_MIDDLE, _MIDDLE, radius, "hidden")
    points = [_at(middle + extent * (k / 48 - 0.5), radius, way) for k in range(49)]
    return ink.path("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points), "hidden")


def _at(angle: float, radius: float, way: float) -> tuple[float, float]:
    """Return where an angle of the shell's frame stands in the picture."""
    return _MIDDLE + way * radius * sin(angle), _MIDDLE - radius * cos(angle)


def _closed(path: Sequence[tuple[float, float]], kind: str = "accent") -> str:
    every = max(1, len(path) // 360)
    points = "L".join(f"{x:.1f} {y:.1f}" for x, y in path[::every])
    return ink.path(f"M{points}Z", kind).replace('stroke-width="3"', 'stroke-width="1.8"')


def _journal(path: Sequence[tuple[float, float]], least: int, *, moving: bool) -> str:
    """Return the journal where the film is least, with its whole way where it is to move."""
    x, y = path[least]
    body = ink.ring(0, 0, _BORE - _PLAY, "outline") + ink.ring(0, 0, 3.5, "solid")
    way = f' data-way="{_way(path)}"' if moving else ""
    return f'<g class="runs" transform="translate({x:.1f} {y:.1f})"{way}>{body}</g>'


def _way(path: Sequence[tuple[float, float]]) -> str:
    """Return the places of a cycle, even in crank angle, for what moves on the page."""
    every = max(1, len(path) // _POINTS)
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in path[::every])


def _least(one: FilmAt, way: float) -> str:
    angle = one.film.least_shell_angle
    x, y = _at(angle, _BORE - 1, way)
    outer = _at(angle, _BORE + _WALL + _HOUSING - 4, way)
    pointing = -pi / 2 + way * angle + pi
    return ink.line(*outer, x, y, "thin") + ink.arrow_head(x, y, pointing, 10, "wanted")


def _turning(way: float) -> str:
    """Return an arrow that shows which way the journal turns."""
    radius = 24.0
    turns = [way * (-0.9 + 1.8 * k / 16) for k in range(17)]
    points = [(_MIDDLE + radius * sin(t), _MIDDLE - radius * cos(t)) for t in turns]
    x, y = points[-1]
    return ink.path(
        "M" + "L".join(f"{px:.1f} {py:.1f}" for px, py in points), "thin"
    ) + ink.arrow_head(x, y, way * 0.9 + (0 if way > 0 else pi), 8)


def polar(
    load: Array,
    *,
    clockwise: bool,
    frame: str,
    name: str,
    up: str,
    moving: bool = False,
    inch: bool = False,
) -> str:
    """Return a polar load diagram: where the tip of the load goes over the cycle.

    :param load: N, shape (n, 2), axis 1 up in the picture
    :param frame: whose axes they are, in words
    :param up: what axis 1 points to
    :param moving: the dot is to run with the journal on the page
    :param inch: rings in lbf
    """
    way = 1.0 if clockwise else -1.0
    unit, word = (_POUND_FORCE, "lbf") if inch else (1e3, "kN")
    load = load / unit
    greatest = float(np.hypot(load[:, 0], load[:, 1]).max()) or 1.0
    step = step_of(greatest, 3)
    reach = step * ceil(greatest / step)
    scale = (_MIDDLE - 34) / reach
    body = [
        ink.line(_MIDDLE, 26, _MIDDLE, SIZE - 34, "centre"),
        ink.line(26, _MIDDLE, SIZE - 26, _MIDDLE, "centre"),
    ]
    for number in range(1, round(reach / step) + 1):
        radius = number * step * scale
        body.append(ink.ring(_MIDDLE, _MIDDLE, radius, "thin"))
        body.append(
            ink.text(
                _MIDDLE + radius * 0.7071 + 3, _MIDDLE + radius * 0.7071 + 3,
                f"{number * step:g} {word}", 11, "small", "start",
            )
        )  # fmt: skip
    path = [(_MIDDLE + way * scale * y, _MIDDLE - scale * x) for x, y in load]
    body.append(_closed(path))
    dot = "the dot runs with the journal" if moving else "dot: crank angle 0"
    body += [
        _dot(path, moving=moving),
        ink.text(_MIDDLE, 12, up, 12, "small"),
        ink.text(_MIDDLE, SIZE - 9, f"{frame}; {dot}", 12, "small"),
    ]
    return _whole("".join(body), f"{name}, {frame}: at most {greatest:.3g} {word}", "polar")


def _dot(path: Sequence[tuple[float, float]], *, moving: bool) -> str:
    """Return the dot at crank angle 0, with its whole way where it is to move."""
    x, y = path[0]
    way = f' data-way="{_way(path)}"' if moving else ""
    ring = ink.ring(0, 0, 4.5, "solid")
    return f'<g class="runs" transform="translate({x:.1f} {y:.1f})"{way}>{ring}</g>'


def over_cycle(one: FilmAt, firing: Sequence[tuple[str, float]]) -> str:
    """Return the film over the cycle.

    :param firing: (label, crank angle in rad) of cylinders to mark
    """
    name = f"{one.bearing.name}: film over the cycle"
    if not one.holds:
        return chart(ink.text(WIDE / 2, HIGH / 2, no_film(one.film.state), 14, "number"), name)
    film = one.film.film * 1e6
    period = degrees(one.load.cycle.period)
    across = Axis(0, period, LEFT, WIDE - RIGHT)
    step = step_of(float(film.max()), 4)
    upward = Axis(0, step * ceil(float(film.max()) / step), HIGH - BOTTOM, TOP)
    every = max(1, film.size // 360)
    places = np.arange(film.size) * (period / film.size)
    points = [
        f"{across(a):.1f} {upward(f):.1f}"
        for a, f in zip(places[::every], film[::every], strict=True)
    ]
    least = degrees(one.film.least_crank_angle) % period
    low = one.film.least_film * 1e6
    body = [
        scales(across, upward, 180, step, "crank angle, °; at 0 the first throw is up", "film, µm"),
        ink.path("M" + "L".join(points), "outline"),
        ink.ring(across(least), upward(low), 5, "wanted"),
        ink.text(across(least) + (9 if least < period * 0.8 else -9), upward(low) - 12,
                 f"{low:.2f} µm", 14, "number", "start" if least < period * 0.8 else "end"),
    ]  # fmt: skip
    sweep = " ".join(f"{across(period * k / _POINTS):.1f},0" for k in range(_POINTS))
    body.append(
        f'<g class="runs cursor" transform="translate({across(least):.1f} 0)" data-way="{sweep}">'
        f"{ink.line(0, TOP, 0, HIGH - BOTTOM, 'thin')}</g>"
    )
    body += [_fires(label, across(degrees(angle) % period)) for label, angle in firing]
    return chart("".join(body), f"{name}: least {low:.2f} µm at {least:.0f}°")


def _fires(label: str, x: float) -> str:
    """Return the mark of a cylinder that fires."""
    line = ink.line(x, TOP + 4, x, HIGH - BOTTOM, "hidden")
    return line + ink.text(max(x, LEFT + 20), TOP - 6, f"{label} fires", 11, "small")


def against_clearance(
    band: ClearanceBand,
    *,
    value: float,
    span: tuple[float, float],
    limits: tuple[float | None, float | None],
    measured: bool,
    name: str,
    inch: bool = False,
) -> str:
    """Return the least film against clearance, with the clearance and its uncertainty drawn on it.

    :param value: diametral at 20 °C, m
    :param span: where it lies, m: by its expanded uncertainty, or within its limits
    :param limits: of the fit, m
    """
    unit, word = (2.54e-5, "thou") if inch else (1e-6, "µm")
    film = np.nan_to_num(band.cases.least_film) * 1e6
    none = [STATES[place] in NO_FILM for place in band.cases.state.tolist()]
    clearance = band.clearance / unit
    across = Axis(float(clearance[0]), float(clearance[-1]), LEFT, WIDE - RIGHT)
    top = float(film.max()) or 1.0
    step = step_of(top, 4)
    upward = Axis(0, step * ceil(top / step), HIGH - BOTTOM, TOP)
    body = [_near_best(band, across, unit)]
    body.append(
        scales(across, upward, step_of(across.high - across.low, 6), step,
                f"diametral clearance at 20 °C, {word}", "least film, µm")
    )  # fmt: skip
    body.append(_curve(clearance, film, none, across, upward))
    foot = HIGH - BOTTOM
    marked = [x / unit for x in limits if x is not None and across.low <= x / unit <= across.high]
    body += [ink.line(across(x), TOP, across(x), foot, "hidden") for x in marked]
    low, high = (end / unit for end in span)
    body.append(_value_on(across, value / unit, (low, high), foot, measured=measured))
    return chart("".join(body), f"{name}: least film against clearance")


def _near_best(band: ClearanceBand, across: Axis, unit: float) -> str:
    if isnan(band.lowest):
        return ""
    x1, x2 = across(band.lowest / unit), across(band.highest / unit)
    sides = [word for word, why in (("below", band.below), ("above", band.above)) if why]
    still = f", open {' and '.join(sides)}" if sides else ""
    middle = min(max((x1 + x2) / 2, LEFT + 110), WIDE - RIGHT - 110)
    words = ink.text(middle, TOP - 7, f"within 10 % of the best{still}", 11, "small")
    return (
        f'<rect class="permitted" x="{x1:.1f}" y="{TOP:.1f}" width="{x2 - x1:.1f}"'
        f' height="{HIGH - BOTTOM - TOP:.1f}" fill="currentColor" fill-opacity="0.08"/>{words}'
    )


def _curve(clearance: Array, film: Array, none: Sequence[bool], across: Axis, upward: Axis) -> str:
    """Return the film where there is one, × where there is none, ? where nobody can tell."""
    runs: list[list[str]] = [[]]
    for place, height in zip(clearance, film, strict=True):
        if height > 0:
            runs[-1].append(f"{across(place):.1f} {upward(height):.1f}")
        elif runs[-1]:
            runs.append([])
    lines = [ink.path("M" + "L".join(run), "outline") for run in runs if len(run) > 1]
    others = [
        ink.text(across(place), upward(0) - 8, "×" if is_none else "?", 12, "small")
        for place, height, is_none in zip(clearance, film, none, strict=True)
        if height <= 0
    ]
    return "".join([*lines, *others])


def _value_on(
    across: Axis, value: float, span: tuple[float, float], foot: float, *, measured: bool
) -> str:
    def inside(x: float) -> float:
        return min(max(x, across.low), across.high)

    x = across(inside(value))
    y = foot - 14
    low, high = (across(inside(end)) for end in span)
    dot = ink.ring(x, y, 5.5, "wanted") if measured else ink.ring(x, y, 5.5, "accent")
    words = "measured, ±U" if measured else "not measured: within its limits"
    if inside(value) != value:
        words = "beyond what is drawn"
    return (
        ink.line(x, TOP, x, foot, "thin")
        + ink.line(low, y, high, y, "whisker")
        + ink.line(low, y - 6, low, y + 6, "whisker")
        + ink.line(high, y - 6, high, y + 6, "whisker")
        + dot
        + ink.text(min(max(x, 140), WIDE - 110), y - 16, words, 12, "number")
    )


def greatest(load: Array) -> float:
    """Return the greatest load of a cycle, N."""
    return max(hypot(one, two) for one, two in load)


def spread(films: Array, *, low: float, middle: float, high: float, name: str) -> str:
    """Return the least film as a distribution, with the middle 95 % of it.

    :param films: of every case, m; 0 where there is none, nan where nobody can tell
    :param low, middle, high: 2.5 %, 50 % and 97.5 % of the cases told stay under, m
    """
    told, every = films[~np.isnan(films)], max(1, films.size)
    if not told.size:
        return chart(ink.text(WIDE / 2, HIGH / 2, "not known in any case", 14, "number"), name)
    top = float(told.max()) * 1e6 or 1.0
    step = step_of(top, 6)
    across = Axis(0, step * ceil(top / step), LEFT, WIDE - RIGHT)
    of = "95 % of the cases told" if told.size < every else "95 % of the cases"
    counts, edges = np.histogram(told * 1e6, bins=40, range=(0, across.high))
    share = counts / every * 100
    rise = step_of(float(share.max()), 4)
    upward = Axis(0, rise * ceil(float(share.max()) / rise), HIGH - BOTTOM, TOP)
    foot = HIGH - BOTTOM
    bars = "".join(
        f"M{across(left):.1f} {foot:.1f}V{upward(height):.1f}H{across(right):.1f}V{foot:.1f}"
        for left, right, height in zip(edges, edges[1:], share, strict=False)
        if height
    )
    body = [
        scales(across, upward, step, rise, "least film, µm", "cases, %"),
        ink.path(bars, "outline"),
        ink.line(across(low * 1e6), TOP + 6, across(high * 1e6), TOP + 6, "whisker"),
        ink.ring(across(middle * 1e6), TOP + 6, 5, "wanted"),
        ink.text(across((low + high) / 2 * 1e6), TOP - 7, of, 11, "small"),
    ]
    return chart("".join(body), f"{name}: least film as a distribution")


def signs() -> str:
    """Return the picture of the signs: what adds to the clearance volume and what takes away."""
    parts = [
        *_cylinder(70, 20, "below the deck: adds"),
        *_cylinder(210, -10, "above the deck: takes away"),
        *_cylinder(350, 8, "dish: adds", crown="dish"),
        *_cylinder(490, 8, "dome: takes away", crown="dome"),
    ]
    return ink.drawing(
        560, 150, "".join(parts), kind="signs", links=False,
        name="Signs: a piston below the deck and a dish add to the clearance volume, a piston above"
        " the deck and a dome take away",
    )  # fmt: skip


def _cylinder(x: float, below: float, words: str, crown: str = "") -> list[str]:
    """Return a bore with its deck and a piston in it."""
    deck, half, foot = 40.0, 42.0, 122.0
    top = deck + below
    middle = {"dish": f"Q{x} {top + 26} {x + 26} {top}", "dome": f"Q{x} {top - 26} {x + 26} {top}"}
    crown_line = f"L{x - 26} {top}{middle[crown]}" if crown else ""
    piston = f"M{x - half + 2} {foot}L{x - half + 2} {top}{crown_line}L{x + half - 2} {top}"
    return [
        ink.line(x - half - 22, deck, x - half, deck, "heavy"),
        ink.line(x + half, deck, x + half + 22, deck, "heavy"),
        ink.line(x - half, deck, x - half, foot, "heavy"),
        ink.line(x + half, deck, x + half, foot, "heavy"),
        ink.line(x - half, deck, x + half, deck, "hidden"),
        ink.path(f"{piston}L{x + half - 2} {foot}", "outline"),
        ink.text(x, 140, words, 12, "small"),
    ]
