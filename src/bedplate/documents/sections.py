"""Sections through a main, a rod and a cylinder, with numbered balloons and a row for each number.

What the plan has no room for is told apart here: the shells of a main, the rings of a piston. A
balloon in the drawing and the row with its number are the same kind of feature, once for each place
of the engine.
"""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.documents import ink
from bedplate.documents.places import features_in_plan
from bedplate.engine.features import FEATURE_KINDS, Per
from bedplate.engine.model import Engine, Feature

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Row:
    """One kind of feature in a section.

    :param balloon: its number in the drawing, '' if it is not drawn there
    """

    balloon: str
    name: str
    features: tuple[Feature, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """A section with its rows; `drawing` is '' where there is nothing to draw."""

    title: str
    drawing: str
    rows: tuple[Row, ...]


_MAIN: dict[str, Point] = {
    "main housing": (100, 34),
    "main upper shell": (138, 66),
    "main lower shell": (138, 134),
    "main bearing bore": (62, 70),
    "main journal": (100, 100),
}
_ROD: dict[str, Point] = {
    "rod housing": (52, 150),
    "rod upper shell": (80, 127),
    "rod lower shell": (88, 186),
    "rod bearing bore": (122, 143),
    "crankpin": (100, 156),
    "rod width": (100, 92),
    "crankpin width": (128, 172),
    "rod side clearance": (144, 156),
    "small end": (100, 22),
}
_PISTON: dict[str, Point] = {
    "cylinder bore": (34, 150),
    "piston": (100, 128),
    "deck clearance": (100, 36),
    "liner protrusion": (36, 28),
    "top ring gap": (42, 62),
    "top ring width": (52, 58),
    "top ring groove": (60, 62),
    "top ring side clearance": (148, 58),
    "second ring gap": (42, 78),
    "second ring width": (52, 82),
    "second ring groove": (60, 78),
    "second ring side clearance": (148, 78),
    "oil rail gap": (156, 96),
    "piston pin": (100, 102),
    "piston pin hole": (118, 112),
}
_TITLES = (
    ("Main bearing, across the crank", _MAIN),
    ("Rod and crankpin", _ROD),
    ("Piston in its bore", _PISTON),
)


def sections(engine: Engine) -> tuple[Section, ...]:
    """Return the sections that this engine's features need, each feature of the rest in one row."""
    in_plan = {feature.id for feature in features_in_plan(engine).values()}
    rest: dict[str, list[Feature]] = {}
    for feature in engine.features.values():
        drawn_at_the_end = feature.kind == "deck height" and feature.per is Per.BANK
        if feature.id not in in_plan and not drawn_at_the_end:
            rest.setdefault(_row_name(feature), []).append(feature)
    drawn = []
    for title, places in _TITLES:
        rows = {name: rest.pop(name) for name in places if name in rest}
        if rows:
            drawn.append(_section(title, places, rows))
    if rest:
        rows_left = tuple(Row("", name, tuple(features)) for name, features in rest.items())
        drawn.append(Section("Elsewhere", "", rows_left))
    return tuple(drawn)


def _row_name(feature: Feature) -> str:
    if feature.kind in FEATURE_KINDS:
        return feature.kind
    tail = f" {feature.number}"
    return feature.name.removesuffix(tail) if feature.number else feature.name


def _section(title: str, places: dict[str, Point], rows: dict[str, list[Feature]]) -> Section:
    balloons = {name: str(index + 1) for index, name in enumerate(rows)}
    picture = {"Main": _main, "Rod ": _rod, "Pist": _piston}[title[:4]]()
    body = picture + "".join(
        _balloon(places[name], number, index, len(balloons))
        for index, (name, number) in enumerate(balloons.items())
    )
    drawing = ink.drawing(300, 210, body, name=title, kind="section", links=False)
    return Section(
        title,
        drawing,
        tuple(Row(balloons[name], name, tuple(features)) for name, features in rows.items()),
    )


def _balloon(point: Point, number: str, index: int, count: int) -> str:
    rows = min(count, 8)
    x = 226.0 if index < rows else 272.0
    y = 105 + (index % rows - (rows - 1) / 2) * min(26.0, 190 / rows)
    return (
        ink.line(*point, x - 11, y)
        + ink.ring(*point, 2.2, "solid")
        + ink.ring(x, y, 11, "outline")
        + ink.text(x, y, number, 13, "number")
    )


def _main() -> str:
    return (
        ink.box(100, 56, 164, 88, "outline")
        + ink.box(100, 144, 150, 88, "outline")
        + ink.hatch(42, 56, 46, 84)
        + ink.hatch(158, 56, 46, 84)
        + ink.hatch(100, 27, 70, 26)
        + ink.hatch(46, 144, 40, 84)
        + ink.hatch(154, 144, 40, 84)
        + ink.hatch(100, 174, 68, 26)
        + _clear(100, 100, 58)
        + ink.ring(100, 100, 56, "outline")
        + ink.ring(100, 100, 46, "thin")
        + ink.ring(100, 100, 41, "heavy")
        + ink.line(14, 100, 44, 100, "heavy")
        + ink.line(156, 100, 186, 100, "heavy")
        + ink.line(100, 8, 100, 196, "centre")
        + "".join(ink.line(x, 70, x, 196, "centre") for x in (34, 166))
    )


def _clear(x: float, y: float, radius: float) -> str:
    return f'<circle class="plate" cx="{x:g}" cy="{y:g}" r="{radius:g}" fill="#fff"/>'


def _rod() -> str:
    return (
        ink.path("M84 40L78 108M116 40L122 108", "outline")
        + ink.path("M92 46L88 108M108 46L112 108", "thin")
        + ink.ring(100, 28, 20, "outline")
        + ink.ring(100, 28, 12, "outline")
        + ink.path("M50 156V140L66 118H134L150 140V156", "outline")
        + ink.path("M50 156V176L70 200H130L150 176V156", "outline")
        + _clear(100, 156, 40)
        + ink.ring(100, 156, 40, "outline")
        + ink.ring(100, 156, 33, "thin")
        + ink.ring(100, 156, 29, "heavy")
        + ink.line(44, 156, 62, 156, "heavy")
        + ink.line(138, 156, 156, 156, "heavy")
        + ink.line(100, 4, 100, 206, "centre")
    )


def _piston() -> str:
    body = ink.line(12, 30, 40, 30, "heavy") + ink.line(160, 30, 188, 30, "heavy")
    for side in (-1, 1):
        body += ink.line(100 + side * 62, 30, 100 + side * 62, 200, "outline")
        body += ink.hatch(100 + side * 75, 115, 24, 168)
    body += ink.path("M42 40H158V54H150V62H158V74H150V82H158V92H150V100H158V150Q100 138 42 150"
                     "V100H50V92H42V82H50V74H42V62H50V54H42Z", "outline")  # fmt: skip
    for y in (58, 78, 96):
        body += ink.box(46, y, 10, 6, "solid") + ink.box(154, y, 10, 6, "solid")
    return body + (
        ink.ring(100, 112, 17, "outline")
        + ink.ring(100, 112, 10, "thin")
        + ink.line(100, 8, 100, 206, "centre")
    )
