"""The features of one engine, made number by number from what its file declares."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bedplate.engine.declared import OwnFeature
from bedplate.engine.features import FEATURE_KINDS, FeatureKind, Shape
from bedplate.engine.model import Feature, Station
from bedplate.engine.sizes import band, expected_sizes, play_of
from bedplate.engine.stations import slug, usual_bore_depths, usual_stations
from bedplate.quantity import Units
from bedplate.wording import capital

if TYPE_CHECKING:
    from bedplate.engine.instances import Fitter

_RELATIVE = re.compile(r"(gap|clearance|float|protrusion)$")


_PART_MATERIALS = {
    "block": "block",
    "crank": "crank",
    "main upper shell": "shell",
    "main lower shell": "shell",
    "rod upper shell": "shell",
    "rod lower shell": "shell",
    "rod": "rod",
    "piston": "piston",
    "piston pin": "piston_pin",
    "top ring": "ring",
    "second ring": "ring",
    "oil ring": "ring",
    "damper": "damper",
}


@dataclass(frozen=True, slots=True)
class Where:
    """Stations, state and gauge of one feature."""

    stations: tuple[Station, ...]
    state: str
    gauge: str


def feature_id(name: str, number: str) -> str:
    """Return 'main-journal-3'."""
    return f"{slug(name)}-{number}" if number else slug(name)


def own_material_key(name: str) -> str:
    """Return the key of the material that a feature of the file's own names itself."""
    return f"[[feature]] {name}"


def numbered(name: str, number: str) -> str:
    """Return 'Main journal 3'."""
    return f"{capital(name)} {number}".rstrip()


class FeatureMaker:
    """Makes features; what is the same for every number of a kind is worked out once."""

    def __init__(self, fitter: Fitter) -> None:
        self._fitter = fitter
        layout = fitter.layout
        self._expected = expected_sizes(fitter.sizes, fitter.tables, 2 if layout.shared_pins else 1)
        self._usual: dict[str, tuple[Station, ...]] = {}
        self._only = {
            table.path: frozenset(
                fitter.only(table.path, FEATURE_KINDS[table.feature].per, silent=True)
            )
            for table in fitter.stations
            if table.feature in FEATURE_KINDS
        }
        self._states = {kind: self._state_of(kind) for kind in FEATURE_KINDS}
        self._plays = {kind: self._play_of(kind) for kind in FEATURE_KINDS}

    def make(self, kind: FeatureKind, number: str) -> None:
        """Make one feature of a known kind."""
        where = self._where(kind, number)
        fitter = self._fitter
        name = feature_id(kind.name, number)
        part = kind.part if kind.one_part or not number else f"{kind.part} {number}"
        fitter.features[name] = Feature(
            id=name,
            kind=kind.name,
            per=kind.per,
            number=number,
            name=numbered(kind.name, fitter.shown(kind.per, number)),
            part=part,
            shape=kind.shape,
            gauge=where.gauge or kind.gauge,
            material=self._material(kind.name, kind.part, kind.shape),
            nominal=self._expected.get(kind.name),
            play=self._plays[kind.name],
            condition=where.state,
            stations=where.stations,
        )

    def make_own(self, own: OwnFeature, number: str) -> None:
        """Make one feature that the file declares."""
        fitter = self._fitter
        name = feature_id(own.name, number)
        placed = [t for t in fitter.stations if t.feature == own.name]
        stations = next((t.stations for t in placed if t.stations), own.stations)
        nominal = own.nominal if own.nominal is not None else self._by_its_fit(own.name)
        fitter.features[name] = Feature(
            id=name,
            kind="own",
            per=own.per,
            number=number,
            name=numbered(own.name, fitter.shown(own.per, number)),
            part=_numbered_part(own.part, number),
            shape=own.shape,
            gauge=next((t.gauge for t in placed if t.gauge), own.gauge),
            material=fitter.materials.get(own_material_key(own.name))
            or self._material("own", own.part, own.shape),
            nominal=nominal,
            play=None if nominal is None else play_of("", own.shape, nominal, self._width(own)),
            condition=next((t.state for t in placed if t.state), own.state)
            or self._state_of(own.name),
            stations=stations,
        )

    def _by_its_fit(self, name: str) -> float | None:
        """Return the size to be expected of a surface by the other one of its fit, m."""
        known = {own.name: own.nominal for own in self._fitter.own} | self._expected
        for table in self._fitter.tables:
            if table.pair is None or name not in table.pair or table.middle is None:
                continue
            hole, shaft = table.pair
            space = -table.middle if table.kind.sense == "interference" else table.middle
            other = known.get(shaft if name == hole else hole)
            if other is not None:
                return round(other + space if name == hole else other - space, 10)
        return None

    def _width(self, own: OwnFeature) -> float:
        """Return the width of the widest limits that a feature of the file's own has, m."""
        named = [t.limits[0].range for t in self._fitter.tables if own.name in (t.pair or ())]
        ranges = named if own.limits is None else [own.limits, *named]
        return max((band(limits.low, limits.high) for limits in ranges), default=0.0)

    def _where(self, kind: FeatureKind, number: str) -> Where:
        tables = [
            table
            for table in self._fitter.stations
            if table.feature == kind.name and number in self._only[table.path]
        ]
        stations = next((t.stations for t in reversed(tables) if t.stations), ())
        state = next((t.state for t in reversed(tables) if t.state), self._states[kind.name])
        gauge = next((t.gauge for t in reversed(tables) if t.gauge), "")
        if kind.name == "cylinder bore":
            self._check_depths(stations)
        return Where(stations or self._usual_stations(kind), state, gauge)

    def _check_depths(self, stations: Iterable[Station]) -> None:
        depths = [s.depth for s in stations if s.depth is not None]
        sheet = self._fitter.sheet
        for table in self._fitter.tables:
            if not depths or table.depth is None:
                continue
            if min(abs(depth - table.depth) for depth in depths) > 1e-9:
                wrong = f"no bore station is {table.depth_text.split(' below')[0]} down"
                key = (*table.path, "bore")
                if not any(f.wrong == wrong for f in sheet.faults):
                    sheet.fault(key, wrong, "add that depth to the stations of 'cylinder bore'")

    def _usual_stations(self, kind: FeatureKind) -> tuple[Station, ...]:
        if kind.name == "piston":
            return self._gauge_point()
        if kind.name not in self._usual:
            depths: tuple[str, ...] = ()
            if kind.name == "cylinder bore":
                depths = self._bore_depths()
            self._usual[kind.name] = usual_stations(kind, depths)
        return self._usual[kind.name]

    def _gauge_point(self) -> tuple[Station, ...]:
        """Return the station of a piston: the place that its maker says, by name."""
        said = [table.piston for table in self._fitter.tables if table.piston]
        said.append(self._fitter.sheet.text(("pistons", "gauge_point")))
        name = next((text for text in said if text), "gauge point")
        return (Station("gauge-point", name, "", "", None, None),)

    def _bore_depths(self) -> tuple[str, ...]:
        fitter = self._fitter
        inch = fitter.units is Units.INCH
        depths = usual_bore_depths(fitter.sizes.stroke or 0.08, inch=inch)
        asked = [t.depth_text for t in fitter.tables if t.depth is not None]
        known = {slug(depth) for depth in depths}
        more = [re.sub(r" (?:below|from|down).*$", "", text) for text in dict.fromkeys(asked)]
        return (*depths, *(text for text in more if slug(text) not in known))

    def _state_of(self, kind: str) -> str:
        """Return the state of a fit that takes the feature as its space, or that of its section."""
        for table in self._fitter.tables:
            spaces = {table.kind.ways[i].space for i in table.ways} if table.kind.ways else set()
            if table.state and (kind in spaces or kind == table.kind.feature):
                return table.state
        section = {
            "main housing": "mains",
            "main bearing bore": "mains",
            "rod housing": "rods",
            "rod bearing bore": "rods",
        }.get(kind)
        return self._fitter.sheet.text((section, "state")) if section else ""

    def _play_of(self, kind: str) -> float | None:
        nominal = self._expected.get(kind)
        if nominal is None:
            return None
        width = 0.0
        for table in self._fitter.tables:
            if kind in {table.kind.feature, table.kind.name}:
                limits = table.limits[0].range
                width = max(width, band(limits.low, limits.high))
        return play_of(kind, FEATURE_KINDS[kind].shape, nominal, width)

    def _material(self, kind: str, part: str, shape: Shape) -> str:
        if _RELATIVE.search(kind):
            return ""
        materials = self._fitter.materials
        if kind == "cylinder bore" and "liner" in materials:
            return materials["liner"]
        base = re.sub(r" \d+$", "", part)
        if kind == "own" and shape is Shape.GAP:
            return ""
        return materials.get(_PART_MATERIALS.get(base, base), "")


def _numbered_part(part: str, number: str) -> str:
    alone = {"block", "crank", "damper"}
    return part if part in alone or not number else f"{part} {number}"
