"""From the words of an engine file to stations: where on a feature the readings are taken."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from math import pi, radians

from bedplate.engine.features import STATION_AXES, FeatureKind, Shape
from bedplate.engine.model import Station
from bedplate.errors import QuantityError
from bedplate.quantity import Dimension, parse

_ANGLE = re.compile(
    r"(\d{1,3}(?:\.\d{1,3})?) ?(?:deg|°)( from the split)?,?(?: to the)?( left| right)?"
)
_DEPTH_WORDS = re.compile(r",? *(?:down|deep|below the deck|from the deck|from the open end)$")
_FRACTION = re.compile(r"(?:\b(\d{1,3}) )?\b(\d{1,3})/(\d{1,3})\b")
_ONLY_STATION = {
    Shape.HOLE: "diameter",
    Shape.SHAFT: "diameter",
    Shape.GAP: "gap",
    Shape.WALL: "thickness",
    Shape.HEIGHT: "height",
}


def direction_angle(name: str) -> float | None:
    """Return the angle a direction's name stands for, rad from the crown, left negative.

    'crown' and 'thrust' are 0, 'split' and 'crank' a quarter turn; '60 deg left', '90 deg' and
    '30 deg from the split, right' are read; any other name has no angle: None.
    """
    if name in STATION_AXES:
        return STATION_AXES[name]
    found = _ANGLE.fullmatch(name)
    if not found:
        return None
    angle = radians(float(found[1]))
    if found[2]:
        angle = pi / 2 - angle
    return -angle if found[3] == " left" else angle


def read_depth(text: str) -> float:
    """Read '45 mm', '45 mm down' or '45 mm below the deck' as m.

    :raises QuantityError: it is no length
    """
    return parse(_DEPTH_WORDS.sub("", text.strip()), Dimension.LENGTH).value


@lru_cache(maxsize=512)  # the same few names stand in hundreds of ids
def slug(name: str) -> str:
    """Return a name as it stands in an id.

    '45 mm' is '45mm', '1 3/4 in' is '1.75in', 'front edge' is 'front-edge'.
    """
    plain = name.strip().lower().replace("µ", "u").replace("°", "deg")
    plain = _FRACTION.sub(_decimal, plain)
    plain = re.sub(r"(?<=\d) (?=(?:mm|cm|in|um|thou)\b)", "", plain)
    return re.sub(r"[^a-z0-9.]+", "-", plain).strip("-.")


def _decimal(found: re.Match[str]) -> str:
    whole, top, bottom = (int(part or 0) for part in found.groups())
    return f"{whole + top / bottom:g}" if bottom else found[0]


def grid(depths: Sequence[str], axes: Sequence[str], across: Sequence[str]) -> tuple[Station, ...]:
    """Return a station for each depth, place across the width and direction.

    :raises QuantityError: a depth is no length
    """
    return tuple(
        _station(depth, place, axis)
        for depth in depths or ("",)
        for place in across or ("",)
        for axis in axes or ("",)
    )


def _station(depth: str, place: str, axis: str) -> Station:
    short = _DEPTH_WORDS.sub("", depth)
    named = [part for part in (f"{short} down" if depth else "", axis, place) if part]
    return Station(
        id="-".join(slug(part) for part in (short, axis, place) if part),
        name=", ".join(named),
        section="-".join(slug(part) for part in (short, place) if part),
        direction=axis,
        angle=direction_angle(axis) if axis else None,
        depth=read_depth(depth) if depth else None,
    )


def single(names: Iterable[str]) -> tuple[Station, ...]:
    """Return a station for each name; the parts between commas may be a depth and a direction."""
    return tuple(_named(name) for name in names)


def _named(name: str) -> Station:
    depth: float | None = None
    direction, section = "", []
    for part in name.split(", "):
        if part in STATION_AXES or _ANGLE.fullmatch(part):
            direction = part
            continue
        section.append(part)
        try:
            depth = read_depth(part)
        except QuantityError:
            continue
    return Station(
        id=slug(name),
        name=name,
        section=slug(", ".join(section)),
        direction=direction,
        angle=direction_angle(direction) if direction else None,
        depth=depth,
    )


def only_station(shape: Shape) -> tuple[Station, ...]:
    """Return the station of a feature that is measured at one place."""
    name = _ONLY_STATION[shape]
    return (Station(name, name, "", "", None, None),)


def usual_stations(kind: FeatureKind, depths: Sequence[str] = ()) -> tuple[Station, ...]:
    """Return the stations of a kind of feature where the file does not say.

    :param depths: as text, for a kind that is measured at depths which depend on the engine
    """
    depths = depths or kind.depths
    if not (depths or kind.axes or kind.across):
        return only_station(kind.shape)
    return grid(depths, kind.axes, kind.across)


def usual_bore_depths(stroke: float, *, inch: bool) -> tuple[str, ...]:
    """Return three depths of ring travel in a bore: near the top, in the middle, near the bottom.

    Common practice, no source: some 12 mm under the deck, half-way down, and a stroke down. Short
    strokes are divided evenly.

    :param stroke: m, above 0
    """
    top = min(0.012, stroke / 4)
    places = (top, stroke / 2, stroke)
    if inch:
        return tuple(f"{round(place / 0.0254 * 20) / 20:g} in" for place in places)
    return tuple(f"{max(round(place * 1000), n + 1)} mm" for n, place in enumerate(places))
