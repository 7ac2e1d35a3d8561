"""What an engine file says of the engine at work: volumes, weights, oil, combustion, ratings.

Every figure keeps the text it was typed as and where it comes from, so that whatever is computed
from it can name its sources. What the file does not say is not there; nothing is filled in here.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from math import inf, pi, radians

from bedplate.engine.figures import Figure, figure_within
from bedplate.engine.lines import Path
from bedplate.engine.sheet import Sheet
from bedplate.engine.traces import MeasuredTrace, read_traces
from bedplate.errors import InputError, QuantityError
from bedplate.physics.oil_grades import grade_limits
from bedplate.quantity import Dimension, Quantity, parse

_COMPRESSION, _DIESEL = "compression ignition", "diesel fuel"
_LEAN = 0.9
"""Fuel over stoichiometric fuel: above it compression ignition is asked about. Ours."""
_D = Dimension
_RPM = pi / 30

GREATEST_SPEED = 30000.0 * _RPM
"""rad/s: the smallest model engines turn faster; no engine whose shells are measured does."""

_Rule = tuple[Dimension, float, float]
_BEARING: dict[str, _Rule] = {
    "shell_width": (_D.LENGTH, 2e-3, 0.5),
    "groove_width": (_D.LENGTH, 0.1e-3, 0.1),
    "feed_hole": (_D.LENGTH, 0.0, 0.05),
    "shell_press": (_D.LENGTH, 1e-6, 1e-3),
    "journal_roughness": (_D.LENGTH, 0.0, 5e-6),
    "shell_roughness": (_D.LENGTH, 0.0, 10e-6),
}
_LIGHT, _HOT = (_D.MASS, 0.0, 2e4), (_D.TEMPERATURE, 200.0, 800.0)
_ABSOLUTE = (_D.PRESSURE, 1e4, 2e6)
RULES: dict[str, dict[str, _Rule]] = {
    "chamber": {
        "volume": (_D.VOLUME, 0.0, 0.1),
        "uncertainty": (_D.VOLUME, 0.0, 0.01),
        "gasket_bore": (_D.LENGTH, 0.01, 3.0),
        "gasket": (_D.LENGTH, 0.0, 0.02),
        "gasket_uncertainty": (_D.LENGTH, 0.0, 0.005),
        "dish": (_D.VOLUME, 0.0, 0.1),
        "dome": (_D.VOLUME, 0.0, 0.1),
        "crevice": (_D.VOLUME, 0.0, 0.01),
        "recess": (_D.LENGTH, -0.05, 0.05),
        "squish": (_D.LENGTH, 0.0, 0.05),
        "ratio": (_D.RATIO, 1.5, 30.0),
    },
    "valves": {
        "inlet_closes": (_D.ANGLE, 0.0, radians(120)),
        "exhaust_opens": (_D.ANGLE, 0.0, radians(120)),
    },
    "weights": dict.fromkeys(
        ("piston", "pin", "locks", "rings", "small_end", "big_end", "shells"), _LIGHT
    ),
    "crank": {
        "pitch": (_D.LENGTH, 0.005, 5.0),
        "rod_spacing": (_D.LENGTH, 0.0, 1.0),
        "offset": (_D.LENGTH, -0.2, 0.2),
        "opposite": (_D.UNBALANCE, 0.0, 1e3),
    },
    "mains": _BEARING,
    "rods": _BEARING,
    "oil": {
        "at_40": (_D.KINEMATIC_VISCOSITY, 2e-6, 20.0),
        "at_100": (_D.KINEMATIC_VISCOSITY, 2e-6, 20.0),
        "hths": (_D.VISCOSITY, 5e-4, 1.0),
        "density": (_D.DENSITY, 800.0, 1164.0),
        "temperature": _HOT,
        "pressure": (_D.PRESSURE, 0.0, 5e6),
        "temperature_uncertainty": (_D.TEMPERATURE_DIFFERENCE, 0.0, 50.0),
    },
    "combustion": {
        "manifold_pressure": _ABSOLUTE,
        "manifold_temperature": _HOT,
        "burn_start": (_D.ANGLE, radians(-120), radians(60)),
        "burn_duration": (_D.ANGLE, radians(5), radians(160)),
        "exhaust_pressure": _ABSOLUTE,
        "wall_temperature": _HOT,
    },
    "temperatures": dict.fromkeys(("bore", "piston", "ring", "block", "crank", "rod"), _HOT),
    "duty": {"crankcase_pressure": _ABSOLUTE},
}
"""Keys that are one quantity each, by table: what it is, and between which SI values it can be."""

NUMBERS: dict[str, tuple[str, ...]] = {
    "oil": ("viscosity_uncertainty",),
    "combustion": (
        "filling",
        "mixture",
        "residual",
        "burn_shape",
        "burn_completeness",
        "uncertainty",
    ),
}
"""Keys that are plain numbers."""

RATED: dict[str, Dimension] = {
    "engine speed": _D.ROTATION,
    "mean piston speed": _D.VELOCITY,
    "piston acceleration": _D.ACCELERATION,
    "rod angle": _D.ANGLE,
    "rod tension": _D.FORCE,
    "rod cap": _D.FORCE,
    "rod bolts": _D.FORCE,
    "rod compression": _D.FORCE,
    "side thrust": _D.FORCE,
    "cylinder pressure": _D.PRESSURE,
    "main bearing load": _D.FORCE,
    "rod bearing load": _D.FORCE,
    "film pressure": _D.PRESSURE,
    "least main film": _D.LENGTH,
    "least rod film": _D.LENGTH,
}
"""What parts may be rated for; the films have a least, the others a most.

A rod's tension and compression are those along it, at either end; its cap's and its bolts', all of
one rod together, what the crankpin pulls at."""


@dataclass(frozen=True, slots=True)
class Counterweight:
    """Something that turns with the crank.

    :param at: along the crank from the middle of the throw nearest the free end, m
    :param angle: on the crank from the first throw in the direction of rotation, rad
    :param unbalance: kg·m
    """

    at: float
    angle: float
    unbalance: float
    source: str


@dataclass(frozen=True, slots=True)
class Rating:
    """What a part is rated for by its maker."""

    of: str
    limit: Figure

    @property
    def is_least(self) -> bool:
        """Return True where the limit is a least and not a most."""
        return self.of.startswith("least ")


@dataclass(frozen=True, slots=True)
class Duty:
    """All that an engine file says of the engine at work.

    :param figures: by table and key, 'oil.temperature'
    :param words: texts by table and key, 'mains.groove', 'engine.cycle'
    :param chambers: measured volumes by cylinder label
    :param mains_at: middle of each main along the crank, m, None where they stand half way
    :param traces: measured cylinder pressure, at most one for a speed and a cylinder
    :param speeds: of the duty table, rad/s, rising; empty where the file gives none
    :param boost: over the air outside, and the greatest speed, from the [engine] table
    """

    figures: Mapping[str, Figure] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    chambers: Mapping[str, Figure] = field(default_factory=dict)
    mains_at: tuple[float, ...] = ()
    counterweights: tuple[Counterweight, ...] = ()
    ratings: tuple[Rating, ...] = ()
    traces: tuple[MeasuredTrace, ...] = ()
    speeds: tuple[float, ...] = ()
    boost: Figure | None = None
    speed: Figure | None = None
    oil: str = ""
    pin_offset: Figure | None = None

    @property
    def compression_ignition(self) -> bool:
        """Return True where the fuel comes in as it burns: the cycle's words or the fuel say so."""
        said = self.ignition_said
        if said:
            return said == _COMPRESSION
        return self.words.get("combustion.fuel", "") == _DIESEL

    @property
    def ignition_said(self) -> str:
        """Return the ignition that the cycle's words name, '' where they name none."""
        cycle = self.words.get("engine.cycle", "").lower()
        if "compression" in cycle or "diesel" in cycle:
            return _COMPRESSION
        return "spark ignition" if "spark" in cycle else ""

    @property
    def ignition_doubts(self) -> tuple[str, ...]:
        """Return what of ignition, fuel and mixture does not go together, as sentences."""
        fuel, said = self.words.get("combustion.fuel", ""), self.ignition_said
        doubts = []
        if fuel and said == _COMPRESSION and fuel != _DIESEL:
            doubts.append(
                f"The cycle says {said} and the fuel is {fuel}, which is lit by a spark as a rule:"
                " counted as coming in as it burns; change engine.cycle or combustion.fuel."
            )
        if fuel == _DIESEL and said not in {"", _COMPRESSION}:
            doubts.append(
                f"The cycle says {said} and the fuel is {fuel}, which ignites by compression as a"
                " rule: counted as drawn in as vapour; change engine.cycle or combustion.fuel."
            )
        mixture = self.figure("combustion.mixture")
        if self.compression_ignition and mixture is not None and mixture.value > _LEAN:
            doubts.append(
                f"A mixture of {mixture.text} by compression ignition: it smokes long before all"
                " the air is used, and runs well lean as a rule (0.7 or less); check"
                " combustion.mixture."
            )
        return tuple(doubts)

    def figure(self, key: str) -> Figure | None:
        """Return a figure by table and key, None where the file does not give it."""
        return self.figures.get(key)

    def value(self, key: str, usual: float = 0.0) -> float:
        """Return the SI value of a figure, or what is usual where the file does not give it."""
        found = self.figures.get(key)
        return usual if found is None else found.value


_WORDS = {
    "mains": ("groove",),
    "rods": ("groove",),
    "oil": ("grade",),
    "combustion": ("fuel",),
    "valves": ("at",),
    "engine": ("cycle",),
}


def read_duty(sheet: Sheet) -> Duty:
    """Read what a file says of the engine at work; every fault is noted in the sheet."""
    figures: dict[str, Figure] = {}
    for table, rules in RULES.items():
        for key, rule in rules.items():
            found = _figure(sheet, (table, key), *rule)
            if found is not None:
                figures[f"{table}.{key}"] = found
    for table, keys in NUMBERS.items():
        for key in keys:
            number = sheet.value((table, key))
            if isinstance(number, int | float) and not isinstance(number, bool):
                figures[f"{table}.{key}"] = Figure(
                    float(number), f"{number:g}", _source(sheet, (table, key))
                )
    words = {
        f"{table}.{key}": text
        for table, keys in _WORDS.items()
        for key in keys
        if (text := sheet.text((table, key)))
    }
    words |= _materials(sheet)
    duty = Duty(
        figures=figures,
        words=words,
        chambers=_chambers(sheet),
        mains_at=_mains_at(sheet),
        counterweights=_counterweights(sheet),
        ratings=_ratings(sheet),
        traces=read_traces(sheet, GREATEST_SPEED),
        speeds=_speeds(sheet),
        boost=_figure(sheet, ("engine", "boost"), _D.PRESSURE, -1e5, 2e6),
        speed=_figure(sheet, ("engine", "speed"), _D.ROTATION, 1.0, GREATEST_SPEED),
        oil=sheet.text(("engine", "oil")),
        pin_offset=_pin_offset(sheet),
    )
    _check(sheet, duty)
    return duty


def _materials(sheet: Sheet) -> dict[str, str]:
    """Return the name of the material of each part, as the file calls it."""
    given = sheet.data.get("materials")
    found: dict[str, str] = {}
    for part, value in given.items() if isinstance(given, dict) else ():
        name = value.get("name") if isinstance(value, dict) else value
        if isinstance(name, str):
            found[f"materials.{part}"] = name.strip()
    return found


def _source(sheet: Sheet, path: Path) -> str:
    table = path[:-1]
    return sheet.text((*table, "source")) or f"engine file, {table[0]}.{path[-1]}"


def _figure(
    sheet: Sheet, path: Path, dimension: Dimension, low: float, high: float
) -> Figure | None:
    if path[0] == "engine":
        read = _quietly(sheet.text(path), dimension)
    else:
        read = sheet.quantity(path, dimension)
    return figure_within(sheet, path, read, low, high, _source(sheet, path))


def _quietly(text: str, dimension: Dimension) -> Quantity | None:
    """Read what another reader refuses already where it is wrong."""
    try:
        return parse(text, dimension) if text else None
    except QuantityError:
        return None


def _pin_offset(sheet: Sheet) -> Figure | None:
    """Read '0.5 mm to thrust side'; towards the thrust side counts below zero."""
    text = sheet.text(("geometry", "pin_offset"))
    found = re.fullmatch(r"(.+?),? (?:to|towards?) (?:the )?(anti-?thrust|thrust) side", text)
    read = _quietly(found[1] if found else text, _D.LENGTH)
    if not text or read is None:
        return None
    if not found and read.value:
        wrong = f"'{text}' does not say to which side"
        sheet.fault(("geometry", "pin_offset"), wrong, "write '0.5 mm to thrust side'")
        return None
    towards = 1.0 if found and found[2].startswith("anti") else -1.0
    return Figure(towards * read.value, text, "engine file, geometry.pin_offset")


def _chambers(sheet: Sheet) -> dict[str, Figure]:
    given = sheet.value(("chamber", "each"))
    found: dict[str, Figure] = {}
    for label in given if isinstance(given, dict) else ():
        one = _figure(sheet, ("chamber", "each", label), _D.VOLUME, 0.0, 0.1)
        if one is not None:
            source = sheet.text(("chamber", "source")) or "engine file, chamber.each"
            found[str(label)] = Figure(one.value, one.text, source)
    return found


def _mains_at(sheet: Sheet) -> tuple[float, ...]:
    path: Path = ("crank", "mains_at")
    places = [
        read.value
        for number in range(len(sheet.texts(path)))
        if (read := sheet.quantity((*path, number), _D.LENGTH)) is not None
    ]
    if not places:
        return ()
    if any(far <= near for near, far in pairwise(places)):
        sheet.fault(path, "the mains do not stand one behind the other", "rising, with their signs")
    elif len(places) != sheet.value(("mains", "count")):
        wrong = f"{len(places)} places for {sheet.value(('mains', 'count'))} mains"
        sheet.fault(path, wrong, "one for each main, from the free end on")
    return tuple(places)


def _counterweights(sheet: Sheet) -> tuple[Counterweight, ...]:
    found = []
    for number in sheet.tables("counterweight"):
        path: Path = ("counterweight", number)
        at = sheet.length((*path, "at"))
        angle = sheet.quantity((*path, "angle"), _D.ANGLE)
        unbalance = sheet.quantity((*path, "unbalance"), _D.UNBALANCE)
        if at is None or angle is None or unbalance is None:
            continue
        if not 0 <= unbalance.value <= 1e3:
            wrong = f"'{unbalance.text}' is no unbalance"
            sheet.fault((*path, "unbalance"), wrong, "turn its angle by 180 deg instead of a sign")
            continue
        source = sheet.text((*path, "source")) or f"engine file, counterweight {number + 1}"
        found.append(Counterweight(at, angle.value, unbalance.value, source))
    return tuple(found)


def _ratings(sheet: Sheet) -> tuple[Rating, ...]:
    found: list[Rating] = []
    for number in sheet.tables("rating"):
        path: Path = ("rating", number)
        of = sheet.text((*path, "of"))
        if of not in RATED:
            continue
        limit = sheet.quantity((*path, "limit"), RATED[of])
        if limit is None:
            continue
        if limit.value <= 0:
            sheet.fault((*path, "limit"), f"'{limit.text}' is no rating", "above zero")
        elif of in {rating.of for rating in found}:
            sheet.fault((*path, "of"), f"'{of}' has a rating already", "keep one of them")
        else:
            source = sheet.text((*path, "source"))
            found.append(Rating(of, Figure(limit.value, limit.text, source)))
    return tuple(found)


def _speeds(sheet: Sheet) -> tuple[float, ...]:
    path: Path = ("duty", "speeds")
    speeds = []
    for number in range(len(sheet.texts(path))):
        found = _figure(sheet, (*path, number), _D.ROTATION, 1.0, GREATEST_SPEED)
        if found is not None:
            speeds.append(found.value)
    return tuple(sorted(set(speeds)))


def _check(sheet: Sheet, duty: Duty) -> None:
    """Note what cannot be true together."""
    if (duty.figure("oil.at_40") is None) is not (duty.figure("oil.at_100") is None):
        key = "at_40" if duty.figure("oil.at_40") else "at_100"
        sheet.fault(("oil", key), "one viscosity alone makes no oil", "give at_40 and at_100")
    elif 0 < duty.value("oil.at_40") <= duty.value("oil.at_100"):
        wrong = "the oil is no thinner at 100 °C than at 40 °C"
        sheet.fault(("oil", "at_100"), wrong, "check both figures")
    _remark_on_grade(sheet, duty)
    sheet.remarks += duty.ignition_doubts
    bore, gasket = sheet.value(("geometry", "bore")), duty.figure("chamber.gasket_bore")
    cylinder = _quietly(bore, _D.LENGTH) if isinstance(bore, str) else None
    if cylinder is not None and gasket is not None and gasket.value < 0.95 * cylinder.value:
        wrong = f"the gasket's hole, {gasket.text}, is smaller than the cylinder"
        sheet.fault(("chamber", "gasket_bore"), wrong, "it would hang into the bore")
    for table in ("mains", "rods"):
        _check_bearing(sheet, duty, table)


def _remark_on_grade(sheet: Sheet, duty: Duty) -> None:
    """Remark on an oil that is not of the grade it is called by, and on a grade that is none."""
    called = duty.words.get("oil.grade", "") or duty.oil
    if not called:
        return
    try:
        limits = grade_limits(called)
    except InputError as error:
        sheet.remarks.append(f"{error.sentence} Films can be told from oil.at_40 and oil.at_100.")
        return
    hot, sheared = duty.figure("oil.at_100"), duty.figure("oil.hths")
    least, below = limits.kinematic_least, limits.kinematic_below
    if hot is not None and not least <= hot.value < (below or inf):
        to = f"{least * 1e6:g} to {below * 1e6:g}" if below else f"{least * 1e6:g} or more"
        sheet.remarks.append(
            f"The oil is called {called} and has {hot.text} at 100 °C; {limits.edition} asks "
            f"{to} mm²/s of {limits.grade}. The figures count."
        )
    asked = limits.high_shear_least
    if sheared is not None and asked is not None and sheared.value < asked:
        sheet.remarks.append(
            f"The oil is called {called} and has {sheared.text} under high shear; "
            f"{limits.edition} asks {asked * 1e3:g} mPa·s of {limits.grade}. The figure counts."
        )


def _check_bearing(sheet: Sheet, duty: Duty, table: str) -> None:
    width, groove = duty.value(f"{table}.shell_width"), duty.value(f"{table}.groove_width")
    grooved = duty.words.get(f"{table}.groove", "none") != "none"
    if grooved and not groove:
        sheet.fault((table, "groove"), "a groove without a width", "give groove_width too")
    if width and groove >= width:
        sheet.fault((table, "groove_width"), "the groove is as wide as its shell", "check both")
    housing = sheet.value((table, "width"))
    outer = _quietly(housing, _D.LENGTH) if isinstance(housing, str) else None
    if outer is not None and width > 1.2 * outer.value:
        wrong = f"a shell of {duty.figures[f'{table}.shell_width'].text} is wider than what it sits"
        sheet.fault((table, "shell_width"), f"{wrong} on", "check both widths")
