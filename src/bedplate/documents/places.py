"""Where everything of a short block stands in its drawing, and how a touch finds it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from html import escape

from bedplate.documents.marks import Mark, fragment
from bedplate.engine.model import Cylinder, Engine, Feature, Layout
from bedplate.metrology.results import Verdict

HALF = 98.0
"""From the crank's axis to where the bores may begin."""

BORE = 54.0
"""Radius of a bore where there is room."""

PISTON = 66.0
"""Height of a piston."""

_MAIN, _PIN, _WIDE_PIN = 66.0, 68.0, 116.0


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


@dataclass(frozen=True, slots=True)
class Sheet:
    """The sheet a plan is drawn on.

    :param axis: height of the crank's axis
    :param radius: of the bores
    :param labels: which numbers the bores carry
    """

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
