"""From what a file declares to this engine's features and fits, number by number."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from bedplate.engine.declared import FitTable, OwnFeature, StationsTable
from bedplate.engine.features import FEATURE_KINDS, FeatureKind, Per, Shape
from bedplate.engine.fits import FitForm, Way, formula_of
from bedplate.engine.lines import Path, dotted
from bedplate.engine.model import Feature, Fit, Layout, Limit, Station
from bedplate.engine.sheet import Sheet
from bedplate.engine.sizes import Sizes, band, expected_sizes, play_of
from bedplate.engine.stations import slug, usual_bore_depths, usual_stations
from bedplate.quantity import Units
from bedplate.wording import capital

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


@dataclass(slots=True)
class Fitter:
    """Makes the features and the fits of one engine.

    :param materials: name of the material by key of [materials], or by `own_material_key`
    """

    sheet: Sheet
    layout: Layout
    sizes: Sizes
    units: Units
    materials: dict[str, str]
    stations: Sequence[StationsTable]
    tables: Sequence[FitTable]
    own: Sequence[OwnFeature]
    features: dict[str, Feature] = field(default_factory=dict)
    fits: dict[str, Fit] = field(default_factory=dict)
    doubled: set[tuple[int, int]] = field(default_factory=set)

    def numbers(self, per: Per) -> tuple[str, ...]:
        """Return the numbers or labels that an engine has of something."""
        if per is Per.ENGINE:
            return ("",)
        if per is Per.MAIN:
            return tuple(str(n) for n in range(1, self.layout.mains + 1))
        if per is Per.CRANKPIN:
            return tuple(str(n) for n in range(1, self.layout.crankpins + 1))
        if per is Per.BANK:
            return tuple(sorted({cylinder.bank for cylinder in self.layout.cylinders}))
        return tuple(cylinder.label for cylinder in self.layout.cylinders)

    def make(self) -> None:
        """Make every feature that is asked for, then every fit."""
        wanted = self._wanted()
        makers = _Features(self)
        for kind in FEATURE_KINDS.values():
            for number in self.numbers(kind.per):
                if number in wanted.get(kind.name, ()):
                    makers.make(kind, number)
        for own in self.own:
            for number in self.only(own.path, own.per):
                makers.make_own(own, number)
        for table in self.tables:
            for number in self._paired(table, self.only(table.path, table.kind.per)):
                self._fit(table, number)
        for own in self.own:
            for number in self.only(own.path, own.per, silent=True):
                self._own_fit(own, number)

    def _wanted(self) -> dict[str, set[str]]:
        wanted: dict[str, set[str]] = {}
        for table in self.tables:
            for number in self.only(table.path, table.kind.per, silent=True):
                for way in self.ways(table, number):
                    for kind, its_number in way:
                        wanted.setdefault(kind, set()).add(its_number)
        for placed in self.stations:
            known = FEATURE_KINDS.get(placed.feature)
            if known:
                wanted.setdefault(known.name, set()).update(self.only(placed.path, known.per))
        return wanted

    def only(self, path: Path, per: Per, *, silent: bool = False) -> tuple[str, ...]:
        """Return the numbers that `only` leaves; what it names that is not there is a fault."""
        key = (*path, "only")
        given = self.sheet.value(key)
        numbers = self.numbers(per)
        if given is None:
            return numbers
        names = given if isinstance(given, list) else [given]
        found = {number for name in names for number in self._named(str(name).strip(), per)}
        unknown = [str(name) for name in names if not self._named(str(name).strip(), per)]
        thrust_unsaid = self.sheet.value(("mains", "thrust")) is None
        if silent or not unknown:
            pass
        elif per is Per.MAIN and thrust_unsaid and any("thrust" in name for name in unknown):
            wrong = "[mains] does not say which main takes the thrust"
            self.sheet.fault(key, wrong, "write thrust = 3 there, or whichever it is")
        else:
            right = f"there are {', '.join(numbers)}" if per is not Per.ENGINE else "leave it out"
            self.sheet.fault(key, f"there is no {per.value} {', '.join(unknown)}", right)
        return tuple(number for number in numbers if number in found)

    def _named(self, name: str, per: Per) -> tuple[str, ...]:
        numbers = self.numbers(per)
        thrust = str(self.sheet.value(("mains", "thrust")) or "")
        if per is Per.MAIN and re.fullmatch(r"(the )?thrust( main)?", name):
            return (thrust,) if thrust else ()
        if per is Per.MAIN and re.fullmatch(r"all but (the )?thrust( main)?", name):
            return tuple(n for n in numbers if n != thrust) if thrust else ()
        return (name,) if name and name in numbers else ()

    def ways(self, table: FitTable, number: str) -> list[list[tuple[str, str]]]:
        """Return each way to a fit as (kind of feature, number), the space first."""
        kind = table.kind
        if not kind.ways:
            return [[(kind.feature, number)]]
        return [
            [
                (name, its_number)
                for name in (kind.ways[index].space, *kind.ways[index].bodies)
                for its_number in self._numbers_of(name, kind.per, number)
            ]
            for index in table.ways
        ]

    def _numbers_of(self, feature: str, per: Per, number: str) -> tuple[str, ...]:
        """Return the numbers of a feature that stand behind a number of a fit."""
        known = FEATURE_KINDS.get(feature)
        own_per = known.per if known else per
        cylinders = self.layout.cylinders
        if own_per is per:
            return (number,)
        if own_per is Per.ENGINE:
            return ("",)
        if per is Per.CYLINDER:
            cylinder = next(c for c in cylinders if c.label == number)
            return (str(cylinder.crankpin) if own_per is Per.CRANKPIN else cylinder.bank,)
        return tuple(c.label for c in cylinders if str(c.crankpin) == number)

    def _paired(self, table: FitTable, numbers: tuple[str, ...]) -> tuple[str, ...]:
        """Return the numbers for which what a fit names is there; where it is not is a fault."""
        whole = True
        declared = {own.name for own in self.own}
        for key, name in zip(("hole", "shaft"), table.pair or (), strict=False):
            lacking = [n for n in numbers if feature_id(name, n) not in self.features]
            whole = whole and not lacking
            if lacking and name in declared:
                wrong = f"there is no '{name}' {', '.join(lacking)}"
                right = "say with `only` which numbers the fit holds for, or add the feature there"
                self.sheet.fault((*table.path, key), wrong, right)
        return numbers if whole else ()

    def _fit(self, table: FitTable, number: str) -> None:
        kind = table.kind
        base = table.name or kind.name
        name = _titled(base, self.shown(kind.per, number))
        named = self.ways(table, number)
        ways = tuple(
            Way(ids[0], tuple(ids[1:]))
            for ids in ([feature_id(*one) for one in way] for way in named)
        )
        formula = kind.formula
        if kind.ways:
            formula = formula_of(kind.sense, [[feature for feature, _ in way] for way in named])
        self._check_axis(table, ways)
        self._add(
            table.path,
            Fit(
                id=feature_id(base, number),
                kind=kind.name,
                form=kind.form,
                sense=kind.sense,
                formula=formula,
                per=kind.per,
                number=number,
                name=name,
                gate=kind.gate,
                ways=ways,
                directions=table.directions,
                depth=table.depth,
                limits=table.limits,
                target=table.target,
                condition=table.state,
                source=table.source,
                line=table.line,
            ),
        )

    def _check_axis(self, table: FitTable, ways: Iterable[Way]) -> None:
        key = (*table.path, "axis")
        if self.sheet.value(key) is None or any(f.key == dotted(key) for f in self.sheet.faults):
            return
        there = {s.direction for way in ways for s in self.features[way.space].stations}
        for direction in table.directions:
            if direction not in there:
                right = f"its stations lie at {', '.join(sorted(there - {''})) or 'no direction'}"
                self.sheet.fault(key, f"no station lies at '{direction}'", right)

    def _own_fit(self, own: OwnFeature, number: str) -> None:
        if own.limits is None:
            return
        self._add(
            own.path,
            Fit(
                id=feature_id(own.name, number),
                kind="own",
                form=FitForm.SIZE,
                sense="size",
                formula=f"{own.name} as measured",
                per=own.per,
                number=number,
                name=_titled(own.name, self.shown(own.per, number)),
                gate=own.gate,
                ways=(Way(feature_id(own.name, number), ()),),
                directions=(),
                depth=None,
                limits=(Limit(own.limits),),
                target=own.target,
                condition=own.state,
                source=own.source,
                line=own.line,
            ),
        )

    def _add(self, path: Path, fit: Fit) -> None:
        earlier = self.fits.get(fit.id)
        if earlier is None:
            self.fits[fit.id] = fit
        elif earlier.line != fit.line and (earlier.line, fit.line) not in self.doubled:
            self.doubled.add((earlier.line, fit.line))
            self.sheet.fault(
                (*path, "name" if fit.kind == "own" else "kind"),
                f"{fit.name} already has its limits on line {earlier.line}",
                "give this one a name of its own, or say with `only` which numbers it holds for",
            )

    def shown(self, per: Per, number: str) -> str:
        """Return the number as a name shows it: a single bank has none."""
        return "" if per is Per.BANK and len(self.numbers(per)) == 1 else number


def feature_id(name: str, number: str) -> str:
    """Return 'main-journal-3'."""
    return f"{slug(name)}-{number}" if number else slug(name)


def own_material_key(name: str) -> str:
    """Return the key of the material that a feature of the file's own names itself."""
    return f"[[feature]] {name}"


def _titled(name: str, number: str) -> str:
    return f"{capital(name)} {number}".rstrip()


class _Features:
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
        where = self._where(kind, number)
        fitter = self._fitter
        name = feature_id(kind.name, number)
        part = kind.part if kind.one_part or not number else f"{kind.part} {number}"
        fitter.features[name] = Feature(
            id=name,
            kind=kind.name,
            per=kind.per,
            number=number,
            name=_titled(kind.name, fitter.shown(kind.per, number)),
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
            name=_titled(own.name, fitter.shown(own.per, number)),
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
