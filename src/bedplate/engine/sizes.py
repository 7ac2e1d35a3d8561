"""The sizes an engine file gives, and whether they can belong to one engine.

Only what cannot be is a fault. What is unusual but may be meant becomes a remark.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from bedplate.engine.declared import FitTable
from bedplate.engine.features import Shape
from bedplate.engine.fits import FitForm
from bedplate.engine.lines import Path
from bedplate.engine.model import Layout
from bedplate.engine.sheet import Expected, Sheet
from bedplate.errors import QuantityError
from bedplate.quantity import Dimension, Units, parse

_INCH_UNITS = {"in", "thou", "tenth", "ft", "µin"}
_DIAMETER_PLAY = 0.15e-3
"""m: less than one turn of any thimble (0.5 mm, 0.025 in), more than any wear worth rebuilding."""
_HEIGHT_PLAY = 1.0e-3


@dataclass(frozen=True, slots=True)
class Sizes:
    """Sizes of the file in m; None where it does not give one."""

    bore: float | None
    stroke: float | None
    rod: float | None
    deck: float | None
    compression_height: float | None
    main_housing: Expected | None
    main_journal: Expected | None
    main_shell: Expected | None
    rod_housing: Expected | None
    crankpin: Expected | None
    rod_shell: Expected | None
    rod_width: float | None
    piston_pin: Expected | None
    top_ring: Expected | None
    second_ring: Expected | None
    snout: Expected | None
    hub: Expected | None

    @property
    def deck_clearance(self) -> float | None:
        """Return how far the piston stays below the deck at top dead centre, m."""
        parts = (self.stroke, self.rod, self.compression_height)
        if self.deck is None or None in parts:
            return None
        return (
            self.deck
            - (self.stroke or 0.0) / 2
            - (self.rod or 0.0)
            - (self.compression_height or 0.0)
        )


def read_sizes(sheet: Sheet) -> Sizes:
    """Read every size outside the arrays of tables."""
    for path in (
        ("geometry", "oversize"), ("mains", "width"), ("mains", "undersize"),
        ("mains", "oversize"), ("rods", "undersize"), ("rods", "oversize"),
    ):  # fmt: skip
        sheet.length(path)
    sheet.quantity(("engine", "speed"), Dimension.ROTATION)
    sheet.quantity(("engine", "boost"), Dimension.PRESSURE)
    _check_pin_offset(sheet)
    return Sizes(
        bore=sheet.length(("geometry", "bore")),
        stroke=sheet.length(("geometry", "stroke")),
        rod=sheet.length(("geometry", "rod")),
        deck=sheet.length(("geometry", "deck")),
        compression_height=sheet.length(("geometry", "compression_height")),
        main_housing=sheet.expected(("mains", "housing")),
        main_journal=sheet.expected(("mains", "journal")),
        main_shell=sheet.expected(("mains", "shell")),
        rod_housing=sheet.expected(("rods", "housing")),
        crankpin=sheet.expected(("rods", "pin")),
        rod_shell=sheet.expected(("rods", "shell")),
        rod_width=sheet.length(("rods", "width")),
        piston_pin=sheet.expected(("pistons", "pin")),
        top_ring=sheet.expected(("rings", "top_width")),
        second_ring=sheet.expected(("rings", "second_width")),
        snout=sheet.expected(("damper", "snout")),
        hub=sheet.expected(("damper", "hub")),
    )


def _check_pin_offset(sheet: Sheet) -> None:
    path: Path = ("geometry", "pin_offset")
    text = sheet.text(path)
    if not text:
        return
    try:
        parse(re.sub(r",? (?:to|towards?) .*$", "", text), Dimension.LENGTH)
    except QuantityError as error:
        sheet.refuse(path, error)


def units_of(sheet: Sheet) -> Units:
    """Return the units the file asks for, or those its bore is typed in."""
    asked = sheet.text(("engine", "units"))
    if asked in list(Units):
        return Units(asked)
    try:
        unit = parse(sheet.text(("geometry", "bore")), Dimension.LENGTH).unit
    except QuantityError:
        return Units.METRIC
    return Units.INCH if unit in _INCH_UNITS else Units.METRIC


def check_sizes(sheet: Sheet, sizes: Sizes) -> None:
    """Note sizes that cannot belong to one engine."""
    sane = [
        _is_sane(sheet, key, value)
        for key, value in (("bore", sizes.bore), ("stroke", sizes.stroke), ("rod", sizes.rod))
    ]
    if all(sane):
        _check_crank_drive(sheet, sizes)
    _check_bearing(sheet, "mains", "journal", sizes.main_housing, sizes.main_journal,
                   sizes.main_shell)  # fmt: skip
    _check_bearing(sheet, "rods", "pin", sizes.rod_housing, sizes.crankpin, sizes.rod_shell)


def _is_sane(sheet: Sheet, key: str, value: float | None) -> bool:
    if value is None or 0.01 <= value <= 3.0:
        return True
    wrong = f"{sheet.text(('geometry', key))} is no {key} of an engine"
    sheet.fault(("geometry", key), wrong, "check number and unit")
    return False


def _check_crank_drive(sheet: Sheet, sizes: Sizes) -> None:
    if sizes.bore and sizes.stroke and not 0.3 <= sizes.stroke / sizes.bore <= 4.0:
        wrong = f"a stroke of {sheet.text(('geometry', 'stroke'))} does not go with this bore"
        sheet.fault(("geometry", "stroke"), wrong, "check number and unit of both")
    elif sizes.rod and sizes.stroke and not 0.9 <= sizes.rod / sizes.stroke <= 5.0:
        wrong = f"a rod of {sheet.text(('geometry', 'rod'))} does not go with this stroke"
        sheet.fault(("geometry", "rod"), wrong, "give it centre to centre; check number and unit")
    else:
        _check_deck(sheet, sizes)


def _check_deck(sheet: Sheet, sizes: Sizes) -> None:
    clearance = sizes.deck_clearance
    if clearance is not None and abs(clearance) > 0.01:
        wrong = (
            f"deck less half the stroke, rod and compression height leaves {clearance * 1000:.2f} "
            "mm over the piston"
        )
        sheet.fault(("geometry", "deck"), wrong, "check the four figures")
    elif clearance is None and sizes.deck and sizes.stroke and sizes.rod:
        left = sizes.deck - sizes.stroke / 2 - sizes.rod
        if left <= 0:
            wrong = "half the stroke and the rod are longer than the deck is high"
            sheet.fault(("geometry", "deck"), wrong, "check the three figures")


def _check_bearing(
    sheet: Sheet,
    section: str,
    shaft_key: str,
    housing: Expected | None,
    shaft: Expected | None,
    shell: Expected | None,
) -> None:
    if housing is None or shaft is None:
        return
    if housing.low <= shaft.high:
        wrong = f"the housing, {housing.text}, is not bigger than the {shaft_key}, {shaft.text}"
        sheet.fault((section, "housing"), wrong, "swap them or correct one")
        return
    if shell is None:
        return
    loosest = housing.high - 2 * shell.low - shaft.low
    tightest = housing.low - 2 * shell.high - shaft.high
    if loosest < 0 or tightest > shaft.middle / 50:
        wrong = (
            f"housing less two shells less {shaft_key} leaves {tightest * 1e6:.0f} to "
            f"{loosest * 1e6:.0f} µm"
        )
        sheet.fault((section, "shell"), wrong, "give the wall of one half shell; check all three")


def check_mains(sheet: Sheet, layout: Layout) -> None:
    """Note a number of mains that the crank cannot have, and a thrust main that is not there."""
    count, thrust = sheet.value(("mains", "count")), sheet.value(("mains", "thrust"))
    if not layout.mains:
        return
    if count > layout.crankpins + 1:
        wrong = f"{count} mains are too many for {layout.crankpins} crankpins"
        sheet.fault(("mains", "count"), wrong, f"there can be up to {layout.crankpins + 1}")
    if isinstance(thrust, int) and thrust > count:
        sheet.fault(("mains", "thrust"), f"there is no main {thrust}", f"write 1 to {count}")
    throws = len({cylinder.position for cylinder in layout.cylinders})
    if count not in {throws + 1, layout.crankpins + 1} and count <= layout.crankpins:
        sheet.remarks.append(
            f"{count} mains for {throws} throws: a throw usually has a main on each side."
        )


def check_fits(sheet: Sheet, tables: Sequence[FitTable], sizes: Sizes) -> None:
    """Note limits that contradict the sizes of the file; remark on clearances out of proportion."""
    given = {
        "main housing": sizes.main_housing,
        "main journal": sizes.main_journal,
        "crankpin": sizes.crankpin,
        "rod housing": sizes.rod_housing,
        "cylinder bore": _exactly(sizes.bore, sheet.text(("geometry", "bore"))),
        "deck height": _exactly(sizes.deck, sheet.text(("geometry", "deck"))),
    }
    for table in tables:
        said = given.get(table.kind.name) if table.kind.form is FitForm.SIZE else None
        limits = table.limits[0].range
        slack = 0.5e-3
        if said and (
            (limits.low is not None and said.high < limits.low - slack)
            or (limits.high is not None and said.low > limits.high + slack)
        ):
            wrong = f"the limits '{limits.text}' do not go with {said.text} given above"
            sheet.fault((*table.path, "limits"), wrong, "correct one of the two")
        _remark_on_clearance(sheet, table, sizes)


def _exactly(value: float | None, text: str) -> Expected | None:
    return None if value is None else Expected(value, value, text)


def _remark_on_clearance(sheet: Sheet, table: FitTable, sizes: Sizes) -> None:
    over = {
        "main clearance": sizes.main_journal,
        "rod clearance": sizes.crankpin,
        "piston clearance": _exactly(sizes.bore, ""),
    }.get(table.kind.name)
    high = table.limits[0].range.high
    if over is None or high is None:
        return
    if high > over.middle / 250:
        sheet.remarks.append(
            f"Line {table.line}: {table.kind.name} up to {table.limits[0].range.text} is more than "
            "4 thou per inch of diameter; check the unit."
        )


def expected_sizes(sizes: Sizes, tables: Sequence[FitTable], pairs: int) -> dict[str, float]:
    """Return the size to be expected of each kind of feature, m, where it can be told.

    :param pairs: rods on one crankpin
    """
    middles: dict[str, float] = {}
    for table in tables:
        if table.middle is not None:
            middles.setdefault(table.kind.name, table.middle)
    found: dict[str, float | None] = {
        "main housing": _middle(sizes.main_housing) or middles.get("main housing"),
        "main journal": _middle(sizes.main_journal) or middles.get("main journal"),
        "crankpin": _middle(sizes.crankpin) or middles.get("crankpin"),
        "rod housing": _middle(sizes.rod_housing) or middles.get("rod housing"),
        "cylinder bore": sizes.bore,
        "rod width": sizes.rod_width,
        "piston pin": _middle(sizes.piston_pin),
        "piston pin hole": _middle(sizes.piston_pin),
        "small end": _middle(sizes.piston_pin),
        "top ring width": _middle(sizes.top_ring),
        "second ring width": _middle(sizes.second_ring),
        "deck height": sizes.deck,
        "deck clearance": sizes.deck_clearance,
        "crank snout": _middle(sizes.snout),
        "damper hub": _middle(sizes.hub),
    }
    for name in ("end float", "rod side clearance", "top ring gap", "second ring gap",
                 "oil rail gap", "top ring side clearance", "second ring side clearance", "piston",
                 "deck clearance", "liner protrusion", "deck height"):  # fmt: skip
        found[name] = found.get(name) or middles.get(name)
    _complete(found, middles, sizes, pairs)
    return {name: round(value, 10) for name, value in found.items() if value is not None}


def _middle(size: Expected | None) -> float | None:
    return None if size is None else size.middle


def _complete(
    found: dict[str, float | None], middles: dict[str, float], sizes: Sizes, pairs: int
) -> None:
    """Add what follows from the others: bearing bores, shells, pistons, grooves."""
    for bearing, housing, shaft, shell, given in (
        ("main", "main housing", "main journal", "main {} shell", sizes.main_shell),
        ("rod", "rod housing", "crankpin", "rod {} shell", sizes.rod_shell),
    ):
        shaft_size, play = found.get(shaft), middles.get(f"{bearing} clearance")
        bore = shaft_size + play if shaft_size and play is not None else None
        found[f"{bearing} bearing bore"] = bore
        wall = _middle(given)
        housing_size = found.get(housing)
        if wall is None and bore and housing_size:
            wall = (housing_size - bore) / 2
        for half in ("upper", "lower"):
            found[shell.format(half)] = wall
    clearance = middles.get("piston clearance")
    if found["piston"] is None and sizes.bore and clearance is not None:
        found["piston"] = sizes.bore - clearance
    for ring in ("top ring", "second ring"):
        width, side = found.get(f"{ring} width"), middles.get(f"{ring} side clearance")
        found[f"{ring} groove"] = width + side if width and side is not None else None
    side = middles.get("rod side clearance")
    if sizes.rod_width and side is not None:
        found["crankpin width"] = pairs * sizes.rod_width + side


def play_of(kind: str, shape: Shape, nominal: float, limits_band: float) -> float:
    """Return how far from nominal a size is still plausible, m.

    A diameter or a wall: 0.15 mm, which is under one turn of any micrometer; a gap: its own size
    and its limits; a height: 1 mm. Common practice, no source: it only decides what is asked about.

    :param nominal: m
    :param limits_band: width of the limits, m, 0 if unknown
    """
    if shape in {Shape.HOLE, Shape.SHAFT, Shape.WALL}:
        return round(max(_DIAMETER_PLAY, limits_band), 10)
    if shape is Shape.HEIGHT:
        return round(max(_HEIGHT_PLAY, limits_band), 10)
    if kind == "crankpin width":
        return 0.5e-3
    if kind.endswith("groove"):
        return _DIAMETER_PLAY
    return round(max(abs(nominal), 2 * limits_band, 0.1e-3), 10)


def band(limits_low: float | None, limits_high: float | None) -> float:
    """Return the width of limits, 0 where one end is open."""
    return 0.0 if limits_low is None or limits_high is None else limits_high - limits_low
