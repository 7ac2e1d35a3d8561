"""Form pictures: how far from round and straight a bore or a journal is, drawn larger than life.

On the left the feature as seen along its axis, on the right as seen from the side. Dots are
measured; what joins them is drawn by eye: halfway between two dots the curve stands halfway
between their values.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import cos, floor, isclose, log10, pi, sin

from bedplate.documents import ink
from bedplate.engine.features import Shape
from bedplate.engine.model import Station
from bedplate.shop.model import FeatureState

WIDTH, HEIGHT = 396.0, 150.0
MOST_EXAGGERATED = 5000.0
"""Beyond this a picture shows the gauge and not the part. Common practice, no source."""

_RADIUS, _LARGEST = 48.0, 14.0
_END_X, _END_Y = 112.0, 80.0
_SIDE_X, _SIDE_HALF, _SIDE_TOP, _SIDE_BOTTOM = 280.0, 32.0, 18.0, 120.0
_KINDS = ("outline", "hidden", "thin", "centre")


@dataclass(frozen=True, slots=True)
class Form:
    """Diameters of a round feature by section and direction.

    :param sections: name and depth (m, None where it has none) of each section measured
    :param directions: name and angle (rad) of each direction measured
    :param diameters: m, by (index of section, index of direction)
    :param mean: m
    """

    name: str
    sections: tuple[tuple[str, float | None], ...]
    directions: tuple[tuple[str, float], ...]
    diameters: dict[tuple[int, int], float]
    mean: float


def form_of(state: FeatureState) -> Form | None:
    """Return the diameters to draw, or None if there is no form in what is known.

    A form is known of a hole or a shaft from two directions, or from two sections, upwards.
    """
    feature, size = state.feature, state.size
    if size is None or feature.shape not in {Shape.HOLE, Shape.SHAFT}:
        return None
    known = {one.station: float(one.value.nominal_value) for one in size.stations}
    measured = [station for station in feature.stations if station.id in known]
    sections = {_section_name(station): station.depth for station in measured}
    directions = {station.direction: station.angle or 0.0 for station in measured}
    if len(sections) < 2 and len(directions) < 2:
        return None
    rows, columns = list(sections), list(directions)
    return Form(
        feature.name,
        tuple(sections.items()),
        tuple(directions.items()),
        {(rows.index(_section_name(s)), columns.index(s.direction)): known[s.id] for s in measured},
        float(size.mean.nominal_value),
    )


def _section_name(station: Station) -> str:
    """Return a station's name without its direction: 'front edge' of 'crown, front edge'."""
    words = [part for part in station.name.split(", ") if part != station.direction]
    return ", ".join(words) if station.section else ""


def exaggeration(forms: Iterable[Form]) -> float:
    """Return one factor (1, 2 or 5 times a power of ten) at which all of the forms can be drawn."""
    largest = max(
        (abs(d - form.mean) / form.mean for form in forms for d in form.diameters.values()),
        default=0.0,
    )
    if largest * _RADIUS * MOST_EXAGGERATED <= _LARGEST:
        return MOST_EXAGGERATED
    factor = _LARGEST / (largest * _RADIUS)
    step = 10.0 ** floor(log10(factor))
    return max(m * step for m in (1.0, 2.0, 5.0) if m * step <= factor * (1 + 1e-9))


def form_picture(form: Form, factor: float) -> str:
    """Return the picture as SVG, with its factor printed in it.

    :param factor: how many times the departure from the mean diameter is enlarged against the
        diameter
    """
    body = (
        ink.ring(_END_X, _END_Y, _RADIUS, "centre")
        + _end_view(form, factor)
        + _side_view(form, factor)
        + ink.text(WIDTH - 6, HEIGHT - 10, f"form ×{factor:g}", 11, anchor="end")
    )
    name = f"Form of {form.name}, departure from the mean diameter drawn {factor:g} times too large"
    return ink.drawing(WIDTH, HEIGHT, body, name=name, kind="form", links=False)


def _drawn(form: Form, diameter: float, factor: float) -> float:
    return (diameter - form.mean) / form.mean * _RADIUS * factor


def _turn(form: Form) -> float:
    """Thrust lies across the engine and is drawn across; any other direction upwards."""
    return pi / 2 if form.directions[0][0].startswith("thrust") else 0.0


def _at(radius: float, angle: float) -> tuple[float, float]:
    return _END_X + radius * sin(angle), _END_Y - radius * cos(angle)


def _end_view(form: Form, factor: float) -> str:
    turn = _turn(form)
    parts = []
    for row in range(len(form.sections)):
        known = [
            (angle + turn, _drawn(form, form.diameters[row, column], factor))
            for column, (_, angle) in enumerate(form.directions)
            if (row, column) in form.diameters
        ]
        if not known:
            continue
        kind = _KINDS[row % len(_KINDS)]
        if len(known) > 1:
            parts.append(ink.path(_closed(known), kind))
        parts.extend(
            ink.ring(*_at(_RADIUS + out, angle + half), 1.7, "solid")
            for angle, out in known
            for half in (0.0, pi)
        )
    if len(form.directions) > 1:
        parts.extend(_label(name, angle + turn) for name, angle in form.directions)
    return "".join(parts)


def _label(name: str, angle: float) -> str:
    x, y = _at(_RADIUS + _LARGEST + 6, angle)
    side = sin(angle)
    anchor = "middle" if abs(side) < 0.4 else ("start" if side > 0 else "end")
    return ink.text(x, y, name, 10, anchor=anchor)


def _closed(known: list[tuple[float, float]]) -> str:
    """Return a closed curve through departures known at some angles, each of them twice a turn."""
    turns = sorted(((angle + half) % (2 * pi), out) for angle, out in known for half in (0.0, pi))
    turns.append((turns[0][0] + 2 * pi, turns[0][1]))
    points = []
    for (start, here), (end, there) in pairwise(turns):
        if isclose(start, end):
            continue
        steps = max(2, round((end - start) / 0.1))
        for i in range(steps):
            share = (1 - cos(pi * i / steps)) / 2
            angle = start + (end - start) * i / steps
            points.append(_at(_RADIUS + here + (there - here) * share, angle))
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + "Z"


def _places(form: Form) -> list[float]:
    """Return where each section is drawn from the top: to scale if every depth is known."""
    depths = [depth for _, depth in form.sections]
    known = [depth for depth in depths if depth is not None]
    if len(known) == len(depths) and len(set(known)) > 1:
        low, span = min(known), max(known) - min(known)
        shares = [(depth - low) / span for depth in known]
    else:
        shares = [(i + 0.5) / len(depths) for i in range(len(depths))]
    return [_SIDE_TOP + share * (_SIDE_BOTTOM - _SIDE_TOP) for share in shares]


def _side_view(form: Form, factor: float) -> str:
    places = _places(form)
    parts = [
        ink.line(_SIDE_X + side * _SIDE_HALF, _SIDE_TOP - 10, _SIDE_X + side * _SIDE_HALF,
                 _SIDE_BOTTOM + 10, "centre")
        for side in (-1, 1)
    ]  # fmt: skip
    for row, (name, _) in enumerate(form.sections):
        parts.append(ink.text(_SIDE_X + _SIDE_HALF + 20, places[row], name, 10, anchor="start"))
    for column in range(len(form.directions)):
        known = sorted(
            (places[row], _drawn(form, form.diameters[row, column], factor))
            for row in range(len(form.sections))
            if (row, column) in form.diameters
        )
        for side in (-1, 1):
            points = [(_SIDE_X + side * (_SIDE_HALF + out), y) for y, out in known]
            if len(points) > 1:
                line = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
                parts.append(ink.path("M" + line, _KINDS[column % len(_KINDS)]))
            parts.extend(ink.ring(x, y, 1.7, "solid") for x, y in points)
    return "".join(parts)
