"""What an engine file declares of stations, fits and features, one table each, before numbers."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

from bedplate.engine import layout as crank
from bedplate.engine.features import FEATURE_KINDS, Per, Shape
from bedplate.engine.fits import FIT_KINDS, WAYS_BY_NAME, FitForm, FitKind, Gate
from bedplate.engine.lines import Path, line_of
from bedplate.engine.model import Limit, Station
from bedplate.engine.pairs import check_sense, misnamed, named_by_fits, read_pair
from bedplate.engine.sheet import Sheet, nearest
from bedplate.engine.stations import grid, only_station, read_depth, single, slug
from bedplate.errors import QuantityError
from bedplate.quantity import Dimension, Quantity, Range, parse

_WITHIN = re.compile(r"within (.+) of the split")
_FORMS = {FitForm.OUT_OF_ROUND, FitForm.TAPER}
MOST_PLACES = 16
"""Places in one list; the schema says so too, and more are a fault there."""
_BEARINGS = {"main clearance", "rod clearance"}


@dataclass(frozen=True, slots=True)
class StationsTable:
    """One [[stations]] table; `stations` is empty where it only gives a state or a gauge."""

    path: Path
    feature: str
    stations: tuple[Station, ...]
    state: str
    gauge: str


@dataclass(frozen=True, slots=True)
class FitTable:
    """One [[fit]] table.

    :param kind: with the surfaces that the table names, where it names them
    :param ways: which of the kind's ways are allowed, in order
    """

    path: Path
    kind: FitKind
    name: str
    limits: tuple[Limit, ...]
    target: Quantity | None
    state: str
    source: str
    ways: tuple[int, ...]
    directions: tuple[str, ...]
    depth: float | None
    depth_text: str
    piston: str
    line: int

    @property
    def middle(self) -> float | None:
        """Return the value to be expected, m: the target, or the middle of the limits."""
        return self.target.value if self.target else middle_of(self.limits[0].range)

    @property
    def pair(self) -> tuple[str, str] | None:
        """Return the hole and the shaft, where the table names them."""
        if not FIT_KINDS[self.kind.name].named_by_file:
            return None
        return self.kind.ways[0].space, self.kind.ways[0].bodies[0]


@dataclass(frozen=True, slots=True)
class OwnFeature:
    """One [[feature]] table.

    :param limits: None where only a press or a clearance that names it has limits
    """

    path: Path
    name: str
    part: str
    per: Per
    shape: Shape
    gauge: str
    limits: Range | None
    target: Quantity | None
    nominal: float | None
    source: str
    state: str
    gate: Gate
    stations: tuple[Station, ...]
    line: int


def middle_of(limits: Range) -> float | None:
    """Return the middle of limits that have both ends, m."""
    if limits.low is None or limits.high is None:
        return None
    return (limits.low + limits.high) / 2


def read_stations(sheet: Sheet) -> list[StationsTable]:
    """Read the [[stations]] tables."""
    own = {name for n in sheet.tables("feature") if (name := sheet.text(("feature", n, "name")))}
    tables: list[StationsTable] = []
    for number in sheet.tables("stations"):
        path: Path = ("stations", number)
        feature = sheet.text((*path, "feature"))
        known = [*FEATURE_KINDS, *own]
        if feature and feature not in known:
            right = nearest(feature, known) or f"the kinds are {', '.join(FEATURE_KINDS)}"
            sheet.fault((*path, "feature"), f"'{feature}' is not a feature", right)
            continue
        tables.append(
            StationsTable(
                path,
                feature,
                _stations(sheet, path),
                sheet.text((*path, "state")),
                sheet.text((*path, "gauge")),
            )
        )
    return tables


def _stations(sheet: Sheet, path: Path) -> tuple[Station, ...]:
    at = sheet.texts((*path, "at"))
    parts = {key: sheet.texts((*path, key)) for key in ("depth", "axis", "across")}
    if max(len(names) for names in (at, *parts.values())) > MOST_PLACES:
        return ()
    if at and any(parts.values()):
        sheet.fault((*path, "at"), "stands beside depth, axis or across", "write one or the other")
        return ()
    for depth in parts["depth"]:
        try:
            read_depth(depth)
        except QuantityError as error:
            sheet.refuse((*path, "depth"), error)
            return ()
    made = single(at) if at else grid(parts["depth"], parts["axis"], parts["across"])
    if not at and not any(parts.values()):
        return ()
    ids = [station.id for station in made]
    for station in made:
        if not station.id or ids.count(station.id) > 1:
            wrong = f"'{station.name}' cannot be told from another station"
            sheet.fault(path, wrong, "give each a name of its own, in letters and digits")
            return ()
    return made


def read_fits(sheet: Sheet) -> list[FitTable]:
    """Read the [[fit]] tables."""
    read = [_fit(sheet, ("fit", number)) for number in sheet.tables("fit")]
    return [table for table in read if table is not None]


def _fit(sheet: Sheet, path: Path) -> FitTable | None:
    kind = FIT_KINDS.get(sheet.text((*path, "kind")))
    limits = _limits(sheet, (*path, "limits"), kind)
    target = sheet.quantity((*path, "target"), Dimension.LENGTH)
    _target_inside(sheet, (*path, "target"), target, limits)
    meant = None if kind is None else read_pair(sheet, path, kind)
    if kind is None or not limits:
        return None
    check_sense(sheet, (*path, "limits"), kind, limits[0].range)
    if meant is None:
        return None
    depth_text = sheet.text((*path, "bore"))
    return FitTable(
        path=path,
        kind=meant,
        name=sheet.text((*path, "name")) or _usual_name(kind, meant),
        limits=limits,
        target=target,
        state=sheet.text((*path, "state")),
        source=sheet.text((*path, "source")),
        ways=_ways(sheet, path, kind),
        directions=sheet.texts((*path, "axis")) or (("crown",) if kind.name in _BEARINGS else ()),
        depth=_bore_depth(sheet, path, kind, depth_text),
        depth_text=depth_text,
        piston=sheet.text((*path, "piston")),
        line=line_of(sheet.lines, path),
    )


def _usual_name(kind: FitKind, meant: FitKind) -> str:
    """Return the name of a fit that has none: its hole's, where the kind alone would not tell."""
    return f"{meant.ways[0].space} {kind.name}" if kind.named_by_file else ""


def _bore_depth(sheet: Sheet, path: Path, kind: FitKind, text: str) -> float | None:
    for key in ("bore", "piston"):
        if sheet.text((*path, key)) and kind.name != "piston clearance":
            sheet.fault((*path, key), f"'{kind.name}' has no such place", "leave it out")
            return None
    if not text:
        return None
    try:
        return read_depth(text)
    except QuantityError as error:
        sheet.refuse((*path, "bore"), error)
        return None


def _ways(sheet: Sheet, path: Path, kind: FitKind) -> tuple[int, ...]:
    text = sheet.text((*path, "measure"))
    if not text:
        return (0,)
    names = WAYS_BY_NAME.get(kind.name, ())
    if not names:
        sheet.fault((*path, "measure"), f"'{kind.name}' is measured in one way", "leave it out")
        return (0,)
    if text == "either":
        return tuple(range(len(names)))
    if text in names:
        return (names.index(text),)
    words = ", ".join(f"'{name}'" for name in (*names, "either"))
    sheet.fault((*path, "measure"), f"'{text}' is not a way to measure it", f"write {words}")
    return (0,)


def _limits(sheet: Sheet, path: Path, kind: FitKind | None) -> tuple[Limit, ...]:
    given = sheet.value(path)
    if isinstance(given, str):
        one = _one_limit(sheet, path, kind)
        return () if one is None else (Limit(one),)
    if not isinstance(given, dict):
        return ()
    if kind is not None and kind.form is not FitForm.SIZE:
        sheet.fault(path, "only a size can have other limits near the split", "write one text")
        return ()
    read: list[Limit] = []
    for key in given:
        limit, within = _one_limit(sheet, (*path, key), kind), _within(sheet, (*path, key))
        if limit is not None and (within is not None or key == "default"):
            read.append(Limit(limit, within))
    read.sort(key=lambda limit: -1.0 if limit.within is None else limit.within)
    return tuple(read) if read and read[0].within is None else ()


def _within(sheet: Sheet, path: Path) -> float | None:
    key = str(path[-1])
    if key == "default":
        return None
    found = _WITHIN.fullmatch(key.strip())
    right = "write 'within 30 deg of the split'"
    if not found:
        sheet.fault(path, f"'{key}' is not a place", right)
        return None
    angles = crank.read_angles(found[1])
    if not angles or len(angles) != 1 or not 0 < angles[0] <= pi / 2:
        sheet.fault(path, f"'{found[1]}' is not an angle up to 90 deg", right)
        return None
    return angles[0]


def _one_limit(sheet: Sheet, path: Path, kind: FitKind | None) -> Range | None:
    typed = sheet.value(path)
    if kind is not None and kind.form in _FORMS and isinstance(typed, str):
        try:
            most = parse(typed, Dimension.LENGTH)
        except QuantityError:
            return sheet.range(path)
        return Range(typed, None, most.value, None, most.dimension, most.unit, most.resolution)
    return sheet.range(path)


def _target_inside(
    sheet: Sheet, path: Path, target: Quantity | None, limits: Sequence[Limit]
) -> None:
    if target is None or not limits:
        return
    low, high = limits[0].range.low, limits[0].range.high
    if (low is not None and target.value < low - 1e-12) or (
        high is not None and target.value > high + 1e-12
    ):
        wrong = f"the target '{target.text}' lies outside the limits '{limits[0].range.text}'"
        sheet.fault(path, wrong, "correct one of the two")


def read_features(sheet: Sheet) -> list[OwnFeature]:
    """Read the [[feature]] tables, after the [[fit]] tables, which may use them."""
    fitted = named_by_fits(sheet)
    read = [_feature(sheet, ("feature", number), fitted) for number in sheet.tables("feature")]
    return [table for table in read if table is not None]


def _feature(sheet: Sheet, path: Path, fitted: frozenset[str]) -> OwnFeature | None:
    name = sheet.text((*path, "name"))
    limits = sheet.range((*path, "limits"))
    target = sheet.quantity((*path, "target"), Dimension.LENGTH)
    if limits is not None:
        _target_inside(sheet, (*path, "target"), target, (Limit(limits),))
    stations = _stations(sheet, path)
    nominal = sheet.length((*path, "nominal"))
    shape, per = sheet.text((*path, "shape")), sheet.text((*path, "per"))
    gate = sheet.text((*path, "gate"))
    if name and (not slug(name) or slug(name) in {slug(kind) for kind in FEATURE_KINDS}):
        sheet.fault((*path, "name"), f"'{name}' cannot be used", "take a name no kind has")
        return None
    limited = _limits_said(sheet, path, fitted=name in fitted)
    if not name or not limited or shape not in list(Shape):
        return None
    if limits is None and sheet.value((*path, "limits")) is not None:
        return None
    return OwnFeature(
        path=path,
        name=name,
        part=sheet.text((*path, "part")),
        per=Per(per) if per in list(Per) else Per.ENGINE,
        shape=Shape(shape),
        gauge=sheet.text((*path, "gauge")) or _usual_gauge(Shape(shape)),
        limits=limits,
        target=target,
        nominal=_nominal(nominal, limits),
        source=sheet.text((*path, "source")),
        state=sheet.text((*path, "state")),
        gate=Gate(gate) if gate in list(Gate) else Gate.FIRST_START,
        stations=stations or only_station(Shape(shape)),
        line=line_of(sheet.lines, path),
    )


def _limits_said(sheet: Sheet, path: Path, *, fitted: bool) -> bool:
    """Tell whether a feature has limits with their source, or a fit that has them for it."""
    if sheet.value((*path, "limits")) is not None:
        if sheet.value((*path, "source")) is not None:
            return True
        right = 'write source = "maker\'s manual 2-55" (where the limits come from)'
        sheet.fault((*path, "source"), "is missing", right)
        return False
    if not fitted and not misnamed(sheet):
        right = 'write limits = "32.000..32.021 mm", or name it in a press or clearance'
        sheet.fault((*path, "limits"), "is missing", right)
    elif sheet.value((*path, "target")) is not None:
        wrong = "stands without limits"
        sheet.fault((*path, "target"), wrong, "write it in the fit, or write limits here too")
    return fitted


def _nominal(nominal: float | None, limits: Range | None) -> float | None:
    return nominal if nominal is not None or limits is None else middle_of(limits)


def _usual_gauge(shape: Shape) -> str:
    return {
        Shape.HOLE: "bore gauge",
        Shape.SHAFT: "outside micrometer",
        Shape.GAP: "feeler gauge",
        Shape.WALL: "outside micrometer",
        Shape.HEIGHT: "depth gauge",
    }[shape]
