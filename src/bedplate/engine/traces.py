"""Cylinder pressure that was measured: CSV text into points, and at what it was measured."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from math import isfinite, radians

from bedplate.engine.lines import Path
from bedplate.engine.sheet import Sheet
from bedplate.errors import BedplateError, InputError, QuantityError
from bedplate.quantity import Dimension, parse

LONGEST_TRACE = 200_000
"""Characters of a trace: a point each half degree takes a tenth of it."""

MOST_POINTS = 20_000
LOWEST_PRESSURE, HIGHEST_PRESSURE = 1e4, 2e6
"""Pa: between these lies what a trace can be pegged to."""

GREATEST_FIRING = radians(720)
_AROUND = ' \t"'
"""What a spreadsheet may put around a cell."""

_TITLES = "Write 'angle deg,pressure bar'."


@dataclass(frozen=True, slots=True)
class TracePoints:
    """Points of a trace, as they stand in its text.

    :param angle: crank angle, rad
    :param pressure: Pa, of the same length
    :param unit: of pressure, as the text names it; '' where nobody named one
    """

    angle: tuple[float, ...]
    pressure: tuple[float, ...]
    unit: str = ""


@dataclass(frozen=True, slots=True)
class MeasuredTrace:
    """One trace, and what it was measured at.

    :param speed: rad/s; None where nobody said, and it is taken for every speed
    :param cylinder: label of the cylinder it was measured in, '' where it stands for all
    :param firing: angle in the trace at which firing top dead centre lies, rad
    :param pegged_to: absolute pressure about bottom dead centre before compression, Pa; None: the
        trace is absolute
    :param number: of the entry that holds it, 0 where the engine file does
    """

    points: TracePoints
    speed: float | None = None
    cylinder: str = ""
    firing: float = 0.0
    pegged_to: float | None = None
    source: str = "engine file, trace"
    number: int = 0


def read_points(text: str) -> TracePoints:
    """Return the points of a trace from CSV text.

    The first row names both columns with their units: 'angle deg,pressure bar'; ';' and tabs part
    columns too. Every other row is a point.

    :raises InputError: with the row and what is wrong in it
    """
    if len(text) > LONGEST_TRACE:
        raise InputError(
            f"The pressure trace has {len(text)} characters; {LONGEST_TRACE} are the most.",
            hint="Leave out every second point.",
        )
    rows = [row for row in text.splitlines() if row.strip()]
    if len(rows) < 2:
        raise InputError("The pressure trace has no points.", hint=_TITLES)
    if len(rows) > MOST_POINTS:
        raise InputError(f"The pressure trace has {len(rows)} rows; {MOST_POINTS} are the most.")
    mark = next((m for m in (";", "\t", ",") if m in rows[0]), ",")
    titles = rows[0].split(mark)
    turn, push = _units(titles)
    points = [_point(row, mark, number) for number, row in enumerate(rows[1:], 2)]
    return TracePoints(
        tuple(angle * turn for angle, _ in points),
        tuple(p * push for _, p in points),
        _unit_of(titles[1]),
    )


def _unit_of(title: str) -> str:
    """Return the unit that a column names."""
    return title.strip()[len("pressure") :].strip(" \t[]()")


def _units(titles: list[str]) -> tuple[float, float]:
    if len(titles) != 2:
        raise InputError(
            f"The first row of the pressure trace has {len(titles)} columns, not two.", hint=_TITLES
        )
    kinds = (("angle", Dimension.ANGLE), ("pressure", Dimension.PRESSURE))
    factors = []
    for title, (name, dimension) in zip(titles, kinds, strict=True):
        plain = title.strip(_AROUND).lower()
        found = re.fullmatch(rf"{name}\s*[\[(]?\s*([^\])]+?)\s*[\])]?", plain)
        unit = found[1] if found else ""
        try:
            factors.append(parse(f"1 {unit}", dimension).value)
        except QuantityError:
            raise InputError(
                f"'{title.strip(_AROUND)[:40]}' is no column of {name} with its unit.",
                hint="The first row is 'angle deg,pressure bar'.",
            ) from None
    return factors[0], factors[1]


def _point(row: str, mark: str, number: int) -> tuple[float, float]:
    cells = row.split(mark)
    try:
        angle, pressure = (float(cell.strip(_AROUND).replace(",", ".")) for cell in cells)
    except ValueError:
        raise InputError(
            f"Row {number} of the pressure trace, '{row.strip()[:40]}', is not two numbers."
        ) from None
    if not (isfinite(angle) and isfinite(pressure)):
        raise InputError(f"Row {number} of the pressure trace holds what is no number.")
    return angle, pressure


def read_traces(sheet: Sheet, greatest_speed: float) -> tuple[MeasuredTrace, ...]:
    """Read every [[trace]] of an engine file; each fault is noted in the sheet."""
    found: list[MeasuredTrace] = []
    for number in sheet.tables("trace"):
        one = _trace(sheet, number, greatest_speed)
        if one is None:
            continue
        if any((one.speed, one.cylinder) == (other.speed, other.cylinder) for other in found):
            wrong = "there is a trace of this speed and cylinder already"
            sheet.fault(("trace", number, "speed"), wrong, "keep one of them")
            continue
        found.append(one)
    return tuple(found)


def _trace(sheet: Sheet, number: int, greatest_speed: float) -> MeasuredTrace | None:
    path: Path = ("trace", number)
    before = len(sheet.faults)
    speed = _within(sheet, (*path, "speed"), Dimension.ROTATION, (1.0, greatest_speed))
    firing = _within(sheet, (*path, "firing"), Dimension.ANGLE, (-GREATEST_FIRING, GREATEST_FIRING))
    pegged = _within(
        sheet, (*path, "pegged_to"), Dimension.PRESSURE, (LOWEST_PRESSURE, HIGHEST_PRESSURE)
    )
    points = None
    try:
        points = read_points(sheet.text((*path, "points")))
    except BedplateError as error:
        sheet.fault((*path, "points"), error.sentence.rstrip("."), error.hint.rstrip("."))
    if points is None or speed is None or len(sheet.faults) > before:
        return None
    source = sheet.text((*path, "source")) or f"engine file, trace {number + 1}"
    return MeasuredTrace(
        points, speed, sheet.text((*path, "cylinder")), firing or 0.0, pegged, source
    )


def _within(
    sheet: Sheet, path: Path, dimension: Dimension, ends: tuple[float, float]
) -> float | None:
    read = sheet.quantity(path, dimension)
    if read is not None and not ends[0] <= read.value <= ends[1]:
        name = str(path[-1]).replace("_", " ")
        sheet.fault(path, f"'{read.text}' is no {name} of a trace", "check number and unit")
        return None
    return None if read is None else read.value


def check_cylinders(
    sheet: Sheet, traces: Collection[MeasuredTrace], labels: Collection[str]
) -> None:
    """Note every trace of a cylinder that the engine does not have."""
    for number in sheet.tables("trace") if traces else ():
        named = sheet.text(("trace", number, "cylinder"))
        if named and named not in labels:
            path: Path = ("trace", number, "cylinder")
            sheet.fault(path, f"there is no cylinder '{named}'", f"one of {', '.join(labels)}")
