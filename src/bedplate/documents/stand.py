"""The stand: a drawing of this very short block, made from its engine file.

The plan is a developed view: the crank lies along the middle with the free end on the left, bank A
above it and bank B below, each bore turned into the sheet and its piston beside it. Every main,
crankpin, bore and piston is where it is on the engine; what is too small to touch there is drawn in
the sections.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from html import escape
from itertools import pairwise
from math import cos, pi, sin

from bedplate.documents import ink
from bedplate.documents.marks import Mark, fragment
from bedplate.engine.features import Per
from bedplate.engine.model import CapStyle, Cylinder, Engine, Feature, Layout
from bedplate.metrology.results import Verdict

NUMBERINGS = {
    "maker": "maker's labels",
    "iso": "ISO 1204",
    "din": "DIN 73021",
}
"""The ways of numbering cylinders that a drawing can carry."""

_MAIN, _PIN, _WIDE_PIN = 66.0, 68.0, 116.0
_BORE, _THROW, _HALF = 54.0, 36.0, 98.0
_PISTON = 66.0
_SCALE = 0.9
"""What is touched is 54 units or more, so 48 pixels at the least (WCAG 2.5.8 asks for 24)."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What a drawing shows of one feature.

    :param name: name of the link: 'Main journal 3, inside'
    :param href: where a touch leads, '' for paper
    """

    mark: Mark
    name: str
    href: str = ""


Looks = Mapping[str, Shown]
"""What is shown of each feature, by its id; one that is not in it is shown as not measured."""


@dataclass(slots=True)
class Columns:
    """Where everything stands along the crank, in drawing units from the free end.

    :param mains: middle of each main by its number in this engine
    :param pins: middle of each crankpin by its number
    :param bores: middle of each bore by its place, 'A1'
    """

    mains: dict[str, float] = field(default_factory=dict)
    pins: dict[str, float] = field(default_factory=dict)
    bores: dict[str, float] = field(default_factory=dict)
    first: float = 0.0
    last: float = 0.0


def features_in_plan(engine: Engine) -> dict[str, Feature]:
    """Return the features that the plan draws, by a name of the place: 'main journal 3'."""
    web = next(
        (k for k in ("main housing", "main bearing bore") if _has(engine, k)), "main housing"
    )
    kinds = {
        web: "web",
        "main journal": "journal",
        "crankpin": "pin",
        "cylinder bore": "bore",
        "piston": "piston",
        "crank snout": "snout",
        "damper hub": "hub",
        "end float": "float",
    }
    return {
        f"{kinds[f.kind]} {f.number}".strip(): f
        for f in engine.features.values()
        if f.kind in kinds
    }


def _has(engine: Engine, kind: str) -> bool:
    return any(feature.kind == kind for feature in engine.features.values())


def columns(layout: Layout, left: float) -> Columns:
    """Place mains, crankpins and bores along the crank.

    :param left: where the crank's first main may begin
    """
    bays = max(layout.mains - 1, 1)
    bay_of = {
        pin: min(int((pin - 0.5) * bays / max(layout.crankpins, 1)), bays - 1)
        for pin in range(1, layout.crankpins + 1)
    }
    crowded = any(
        a.bank == b.bank and a.crankpin != b.crankpin and bay_of[a.crankpin] == bay_of[b.crankpin]
        for a in layout.cylinders
        for b in layout.cylinders
    )
    pin_width = _WIDE_PIN if crowded else _PIN
    places = Columns(first=left)
    x = left
    for index in range(layout.mains):
        number = index + 1 if layout.mains_from == "free end" else layout.mains - index
        places.mains[str(number)] = x + _MAIN / 2
        x += _MAIN
        for pin in (p for p, bay in bay_of.items() if bay == index):
            places.pins[str(pin)] = x + pin_width / 2
            x += pin_width
    places.last = x
    for cylinder in layout.cylinders:
        places.bores[cylinder.place] = places.pins[str(cylinder.crankpin)] + _beside(
            cylinder, layout
        )
    return places


def _beside(cylinder: Cylinder, layout: Layout) -> float:
    """Rods that share a pin run side by side: bank A nearer the free end."""
    if sum(c.crankpin == cylinder.crankpin for c in layout.cylinders) < 2:
        return 0.0
    return -10.0 if cylinder.bank == "A" else 10.0


@dataclass(frozen=True, slots=True)
class _Sheet:
    engine: Engine
    looks: Looks
    at: Columns
    places: Mapping[str, Feature]
    axis: float
    radius: float
    labels: str

    def link(self, place: str, x: float, y: float, shapes: str, *, height: float = 22.0) -> str:
        """Return shapes as the link of the feature at a place, with its mark at (x, y)."""
        feature = self.places.get(place)
        if feature is None:
            return shapes
        return linked(feature, self.looks, shapes, x, y, height=height)


def linked(
    feature: Feature, looks: Looks, shapes: str, x: float, y: float, *, height: float = 22.0
) -> str:
    """Return shapes as one link to a feature, with the mark of its worst fit at (x, y)."""
    shown = looks.get(feature.id) or Shown(Mark(Verdict.NOT_MEASURED), feature.name)
    body = f"{shapes}{fragment(shown.mark, x, y, height)}"
    verdict = shown.mark.verdict.value.replace(" ", "-")
    about = f'class="feature {verdict}" data-feature="{escape(feature.id)}"'
    if not shown.href:
        return f"<g {about}>{body}</g>"
    return (
        f'<a {about} href="{escape(shown.href)}" aria-label="{escape(shown.name)}">'
        f"<title>{escape(shown.name)}</title>{body}</a>"
    )


def plan(engine: Engine, looks: Looks, *, labels: str = "maker") -> str:
    """Return the plan of the short block as SVG.

    :param labels: which numbers the bores carry, a key of NUMBERINGS
    """
    places = features_in_plan(engine)
    left = 88.0 + (70.0 if "hub" in places else 0.0)
    at = columns(engine.layout, left)
    radius = _bore_radius(engine, at)
    above = 18.0 + (_PISTON + 14.0 if "piston" in _kinds(places) else 0.0) + 2 * radius + 22.0
    banks = {cylinder.bank for cylinder in engine.layout.cylinders}
    axis = (above if "A" in banks else 20.0) + _HALF
    below = (above if "B" in banks else 10.0) + _HALF
    sheet = _Sheet(engine, looks, at, places, axis, radius, labels)
    right = at.last + 64.0 + (70.0 if "float" in places else 0.0)
    height = axis + below + 44.0
    body = "".join(
        (
            ink.line(10, axis, right - 8, axis, "centre"),
            _caps(sheet),
            _crank(sheet),
            "".join(_main(sheet, number) for number in at.mains),
            "".join(_pin(sheet, number) for number in at.pins),
            _ends(sheet),
            "".join(_cylinder(sheet, cylinder) for cylinder in engine.layout.cylinders),
            _captions(sheet, right, height),
        )
    )
    name = f"Plan of {engine.name}, free end on the left"
    return ink.drawing(right, height, body, name=name, kind="plan", links=True, scale=_SCALE)


def _kinds(places: Mapping[str, Feature]) -> set[str]:
    return {place.split()[0] for place in places}


def _bore_radius(engine: Engine, at: Columns) -> float:
    cylinders = engine.layout.cylinders
    pitch = min(
        (
            abs(at.bores[a.place] - at.bores[b.place])
            for a in cylinders
            for b in cylinders
            if a.bank == b.bank and a.place != b.place
        ),
        default=2.4 * _BORE,
    )
    return max(26.0, min(_BORE, 0.46 * pitch))


def _caps(sheet: _Sheet) -> str:
    xs = list(sheet.at.mains.values())
    first, last, y = min(xs), max(xs), sheet.axis
    wide, tall = last - first + 64.0, 2 * _HALF - 8.0
    match sheet.engine.caps:
        case CapStyle.FRAME:
            windows = "".join(
                ink.box((a + b) / 2, y, b - a - 54.0, tall - 44.0, "outline", 9)
                for a, b in _neighbours(xs)
            )
            return ink.box((first + last) / 2, y, wide, tall, "heavy", 12) + windows
        case CapStyle.HALVES:
            middle = (first + last) / 2
            split = ink.line(first - 42, y, first - 24, y, "heavy") + ink.line(
                last + 24, y, last + 42, y, "heavy"
            )
            return split + "".join(
                ink.path(
                    f"M{middle - wide / 2:.1f} {y:.1f}v{turn * (tall / 2 - 12):.1f}"
                    f"l12 {turn * 12:.1f}h{wide - 24:.1f}l12 {-turn * 12:.1f}"
                    f"v{-turn * (tall / 2 - 12):.1f}",
                    "heavy",
                )
                for turn in (-1, 1)
            )
        case CapStyle.TUNNEL:
            return ink.box((first + last) / 2, y, wide, tall, "heavy", 4)
        case _:
            return ""


def _neighbours(xs: list[float]) -> list[tuple[float, float]]:
    ordered = sorted(xs)
    return list(pairwise(ordered))


def _bolts(caps: CapStyle, x: float, y: float) -> str:
    """Return the fasteners of one main, seen along them; cross bolts are seen from the side."""
    rows = {
        CapStyle.SINGLE_2: (80.0,),
        CapStyle.SINGLE_4: (80.0, 65.0),
        CapStyle.SINGLE_6: (80.0, 65.0),
        CapStyle.FRAME: (80.0,),
    }.get(caps, ())
    drawn = "".join(
        ink.ring(x, y + turn * row, 5.0, "bolt") + ink.ring(x, y + turn * row, 1.2, "solid")
        for row in rows
        for turn in (-1, 1)
    )
    if caps is CapStyle.SINGLE_6:
        drawn += "".join(
            ink.box(x, y + turn * 97.0, 13, 7, "bolt")
            + ink.line(x, y + turn * 104, x, y + turn * 86, "centre")
            for turn in (-1, 1)
        )
    if caps is CapStyle.HALVES:
        drawn += "".join(
            ink.line(x + 20, y + turn * 100, x + 20, y + turn * 34, "centre")
            + ink.box(x + 20, y + turn * 92, 12, 8, "bolt")
            for turn in (-1, 1)
        )
    return drawn


def _main(sheet: _Sheet, number: str) -> str:
    x, y, caps = sheet.at.mains[number], sheet.axis, sheet.engine.caps
    corner = 0.0 if caps in (CapStyle.FRAME, CapStyle.HALVES) else 4.0
    walls = [ink.hatch(x, y + turn * 62, 50, 64) for turn in (-1, 1)]
    if caps in (CapStyle.FRAME, CapStyle.HALVES, CapStyle.TUNNEL):
        outline = "".join(
            ink.line(x + side, y - 94, x + side, y + 94, "thin") for side in (-25, 25)
        )
    else:
        outline = ink.box(x, y, 50, 188, "outline", corner)
    thrust = ""
    if number == sheet.engine.thrust_main:
        thrust = "".join(ink.box(x + side, y, 4, 74, "solid") for side in (-28.5, 28.5))
    web = (
        ink.box(x, y, 54, 188, "hit")
        + outline
        + "".join(walls)
        + _bolts(caps, x, y)
        + _plate(x, y - 47)
    )
    journal = ink.box(x, y, 54, 56, "hit")
    face = ink.box(x, y, 50, 56, "outline")
    return (
        sheet.link(f"web {number}", x, y - 47, web, height=18)
        + thrust
        + sheet.link(f"journal {number}", x, y, f'<g class="face">{face}</g>{journal}')
        + _plate(x, y + 47, 30)
        + ink.text(x, y + 47, number, 17, "number")
    )


def _plate(x: float, y: float, width: float = 36.0) -> str:
    """Return a clear place in the hatching for a mark or a number."""
    return (
        f'<rect class="plate" x="{x - width / 2:.1f}" y="{y - 12:.1f}" width="{width:g}" '
        f'height="24" rx="3" fill="#fff"/>'
    )


def _throw(sheet: _Sheet, number: str) -> float:
    """Return how far a crankpin stands off the axis in the drawing, down positive."""
    angle = next(
        (c.throw_angle for c in sheet.engine.layout.cylinders if str(c.crankpin) == number), 0.0
    )
    return -_THROW * cos(angle)


def _crank(sheet: _Sheet) -> str:
    """Return the cheeks that join mains and pins, drawn under them."""
    stops = sorted(
        [(x, 0.0, 25.0) for x in sheet.at.mains.values()]
        + [(x, _throw(sheet, pin), 25.0) for pin, x in sheet.at.pins.items()]
    )
    cheeks = []
    for (x1, off1, half1), (x2, off2, half2) in pairwise(stops):
        left, right = x1 + half1, x2 - half2
        middle, wide = (left + right) / 2, max(right - left - 2.0, 4.0)
        top = min(off1, off2) - 31.0
        bottom = max(off1, off2) + 31.0
        cheeks.append(
            ink.box(middle, sheet.axis + (top + bottom) / 2, wide, bottom - top, "outline", 3)
        )
    return '<g class="crank">' + "".join(cheeks) + "</g>"


def _pin(sheet: _Sheet, number: str) -> str:
    x, y = sheet.at.pins[number], sheet.axis + _throw(sheet, number)
    shapes = f'<g class="face">{ink.box(x, y, 50, 48, "outline")}</g>' + ink.box(
        x, y, 54, 54, "hit"
    )
    return sheet.link(f"pin {number}", x, y - 7, shapes, height=18) + ink.text(
        x, y + 14, f"pin {number}", 11, "small"
    )


def _ends(sheet: _Sheet) -> str:
    """Return the snout with its damper on the left, flange and end float on the right."""
    y, first, last = sheet.axis, sheet.at.first, sheet.at.last
    snout = f'<g class="face">{ink.box(first - 28, y, 56, 40)}</g>'
    snout += ink.box(first - 28, y, 58, 56, "hit")
    parts = [sheet.link("snout", first - 28, y, snout, height=18)]
    if "hub" in sheet.places:
        hub = f'<g class="face">{ink.box(first - 86, y, 56, 124, "outline", 6)}</g>'
        hub += ink.hatch(first - 86, y + 42, 56, 38)
        hub += ink.hatch(first - 86, y - 42, 56, 38) + _plate(first - 86, y, 50)
        hub += ink.box(first - 86, y, 56, 124, "hit")
        parts.append(sheet.link("hub", first - 86, y, hub, height=18))
    parts.append(ink.box(last + 14, y, 24, 92, "outline", 2))
    if "float" in sheet.places:
        x = last + 66
        arrows = ink.dimension(x - 30, y + 22, x + 30, y + 22, 0.0) + ink.line(
            x - 34, y - 30, x - 34, y + 34
        )
        shapes = (
            ink.box(x, y, 64, 76, "hit") + arrows + ink.text(x, y - 22, "end float", 11, "small")
        )
        parts.append(sheet.link("float", x, y, shapes))
    return "".join(parts)


def _cylinder(sheet: _Sheet, cylinder: Cylinder) -> str:
    up = -1.0 if cylinder.bank == "A" else 1.0
    x, r = sheet.at.bores[cylinder.place], sheet.radius
    y = sheet.axis + up * (_HALF + 22.0 + r)
    number = {
        "maker": cylinder.label,
        "iso": cylinder.iso_1204,
        "din": cylinder.din_73021,
    }[sheet.labels]
    bore = ink.ring(x, y, r, "heavy") + ink.ring(x, y, r - 5, "thin")
    bore = f'<g class="face">{bore}</g>' + "".join(
        (
            ink.line(x - r - 7, y, x - r + 12, y, "thin"),
            ink.line(x + r - 12, y, x + r + 7, y, "thin"),
            ink.line(x, y - r - 7, x, y - r + 10, "thin"),
            ink.line(x, y + r - 10, x, y + r + 7, "thin"),
        )
    )
    size = 26.0 if r > 40 else 18.0
    label = ink.text(x, y - r * 0.28, number, size, "number")
    parts = [
        ink.line(x, y - up * r, x, sheet.axis + up * 60, "centre"),
        sheet.link(f"bore {cylinder.label}", x, y + r * 0.36, bore + label, height=22),
    ]
    if f"piston {cylinder.label}" in sheet.places:
        parts.append(_piston(sheet, cylinder, x, y + up * (r + 14 + _PISTON / 2), up))
    return "".join(parts)


def _piston(sheet: _Sheet, cylinder: Cylinder, x: float, y: float, up: float) -> str:
    half = min(sheet.radius - 4, 42.0)
    crown = y + up * (_PISTON / 2 - 3)
    skirt = y - up * (_PISTON / 2 - 3)
    outline = ink.path(
        f"M{x - half:.1f} {skirt:.1f}V{crown:.1f}H{x + half:.1f}V{skirt:.1f}"
        f"Q{x:.1f} {skirt + up * 9:.1f} {x - half:.1f} {skirt:.1f}Z"
    )
    rings = "".join(
        ink.line(x - half, crown - up * depth, x + half, crown - up * depth, "thin")
        for depth in (8, 12, 18, 22)
    )
    shapes = ink.box(x, y, 2 * half, _PISTON, "hit") + f'<g class="face">{outline}</g>' + rings
    return sheet.link(f"piston {cylinder.label}", x, y - up * 9, shapes, height=18)


def _captions(sheet: _Sheet, right: float, height: float) -> str:
    layout, y = sheet.engine.layout, height - 18
    front_left = layout.front == "free end"
    x, turn = (14.0, pi) if front_left else (right - 14.0, 0.0)
    tail = x + (58 if front_left else -58)
    anchor, end = ("start", "end") if front_left else ("end", "start")
    words = x + (66 if front_left else -66)
    other = right - 14.0 if front_left else 14.0
    banks = "".join(
        ink.text(16, sheet.axis + up * (_HALF + 22 + sheet.radius), bank, 22, "bank")
        for bank, up in (("A", -1), ("B", 1))
        if len({c.bank for c in layout.cylinders}) > 1
    )
    free, drive = "free end", "drive end"
    return banks + "".join(
        (
            ink.line(x, y, tail, y, "outline"),
            ink.arrow_head(x, y, turn, 12),
            ink.text(words, y, f"front ({free if front_left else drive})", 14, "caption", anchor),
            ink.text(other, y, drive if front_left else free, 14, "caption", end),
        )
    )


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
        body += f'<g class="face">{ink.ring(px, py, 12)}</g>' + ink.text(px, py, ",".join(pins), 10, "small")
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
