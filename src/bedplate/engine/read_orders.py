"""From the words of an engine file to the machine shop's work, shell grades and ring gaps."""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import pi
from typing import Any

from bedplate.engine.lines import Path, line_of
from bedplate.engine.orders import (
    Crosshatch,
    Machining,
    Matching,
    Order,
    RingRule,
    ShellFamily,
    ShellGrade,
    ShellRule,
    Surface,
    Work,
    WorkStation,
)
from bedplate.engine.sheet import Sheet
from bedplate.errors import QuantityError
from bedplate.quantity import Dimension, Range, parse_range

_STATES = (
    ("plate", "torque plate"),
    ("gasket", "gasket"),
    ("fasteners", "fasteners"),
    ("lubricant", "lubricant on the fasteners"),
    ("torque", "tightening"),
    ("caps", "main caps or frame"),
    ("support", "the block stands"),
)
MOST_TABLES = 40
"""Tables of one name; the schema says so too."""

_SURFACES = ("Ra", "Rpk", "Rk", "Rvk")
_HATCH = re.compile(r"(.+?),? (included )?(about|from) the (horizontal|axis)")


def read_order(sheet: Sheet) -> Order | None:
    """Read the [order] table."""
    if not isinstance(sheet.value(("order",)), dict):
        return None
    uncertainty = sheet.length(("order", "uncertainty"))
    sent = sheet.value(("order", "sent"))
    return Order(
        shop=sheet.text(("order", "shop")),
        number=sheet.text(("order", "number")),
        uncertainty=uncertainty,
        back=sheet.texts(("order", "back")),
        sent=tuple(
            (part, count)
            for part, count in (sent.items() if isinstance(sent, dict) else ())
            if isinstance(count, int)
        ),
    )


def read_work(sheet: Sheet) -> tuple[Work, ...]:
    """Read the [[work]] tables."""
    found = [_work(sheet, ("work", number)) for number in sheet.tables("work")]
    read = [work for work in found if work is not None]
    seen: set[WorkStation] = set()
    for work, number in zip(read, sheet.tables("work"), strict=False):
        if work.station in seen:
            wrong = f"'{work.station.value}' has a table already"
            sheet.fault(("work", number, "station"), wrong, "put both into one table")
        seen.add(work.station)
    return tuple(read)


def _work(sheet: Sheet, path: Path) -> Work | None:
    station = sheet.text((*path, "station"))
    if station not in list(WorkStation):
        return None
    asks, waits = sheet.value((*path, "asks")), sheet.value((*path, "waits_for"))
    tasks = {k: v for k, v in asks.items() if isinstance(v, str)} if isinstance(asks, dict) else {}
    waiting = (
        {k: v for k, v in waits.items() if isinstance(v, str)} if isinstance(waits, dict) else {}
    )
    for name in waiting:
        if name not in tasks:
            wrong = f"'{name}' waits for something, but is not asked for"
            sheet.fault((*path, "waits_for", name), wrong, "name it under `asks` too")
    return Work(
        station=WorkStation(station),
        holds=_positive(sheet, (*path, "holds")),
        tolerance=_tolerance(sheet, (*path, "tolerance")),
        states=tuple((words, text) for key, words in _STATES if (text := sheet.text((*path, key)))),
        surfaces=tuple(
            Surface(name, limits)
            for name in _SURFACES
            if (limits := sheet.range((*path, name))) is not None
        ),
        cutoff=sheet.quantity((*path, "cutoff"), Dimension.LENGTH),
        crosshatch=_crosshatch(sheet, (*path, "crosshatch")),
        undersize=sheet.quantity((*path, "undersize"), Dimension.LENGTH),
        pin_undersize=sheet.quantity((*path, "pin_undersize"), Dimension.LENGTH),
        fillet=sheet.range((*path, "fillet")),
        polish=sheet.text((*path, "polish")),
        squish=sheet.quantity((*path, "squish"), Dimension.LENGTH),
        gasket_thickness=sheet.quantity((*path, "gasket_thickness"), Dimension.LENGTH),
        asks=tuple(tasks.items()),
        waits_for=waiting,
        source=sheet.text((*path, "source")),
        line=line_of(sheet.lines, path),
    )


def _positive(sheet: Sheet, path: Path) -> Any:  # noqa: ANN401 - a Quantity or None
    read = sheet.quantity(path, Dimension.LENGTH)
    if read is not None and read.value <= 0:
        sheet.fault(path, f"'{read.text}' is no step", "write the step that the shop can hold")
        return None
    return read


def _tolerance(sheet: Sheet, path: Path) -> Range | None:
    """Read '±0.005 mm' or '+0.010/-0 mm', the deviations from a finish size."""
    text = sheet.text(path)
    if not text:
        return None
    try:
        return parse_range(f"0 {text}", Dimension.LENGTH)
    except QuantityError:
        sheet.fault(path, f"'{text}' is no tolerance", "write '±0.005 mm' or '+0.010/-0 mm'")
        return None


def _crosshatch(sheet: Sheet, path: Path) -> Crosshatch | None:
    text = sheet.text(path)
    if not text:
        return None
    found = _HATCH.fullmatch(text)
    right = "write '40..50 deg included about the horizontal', or from the horizontal, or the axis"
    if not found:
        sheet.fault(path, f"'{text}' does not say from where the angle counts", right)
        return None
    try:
        limits = parse_range(found[1], Dimension.ANGLE)
    except QuantityError as error:
        sheet.refuse(path, error)
        return None
    if limits.low is None or limits.high is None or not 0 < limits.low <= limits.high < pi:
        sheet.fault(path, f"'{found[1]}' is no range of an angle", right)
        return None
    low, high = limits.low, limits.high
    if found[3] == "from":
        low, high = 2 * low, 2 * high
    if found[4] == "axis":
        low, high = pi - high, pi - low
    if not 0 < low <= high < pi:
        sheet.fault(path, f"'{text}' is no angle between two sets of lines", right)
        return None
    return Crosshatch(low, high, text)


def read_ring_rules(sheet: Sheet) -> tuple[RingRule, ...]:
    """Read the [[ring]] tables."""
    return tuple(
        rule
        for number in sheet.tables("ring")
        if (rule := _ring_rule(sheet, ("ring", number))) is not None
    )


def _ring_rule(sheet: Sheet, path: Path) -> RingRule | None:
    name = sheet.text((*path, "ring"))
    factor, length = sheet.value((*path, "factor")), sheet.length((*path, "gap"))
    is_number = isinstance(factor, int | float) and not isinstance(factor, bool)
    if is_number == (length is not None):
        if not (is_number or sheet.text((*path, "gap"))) or is_number:
            right = "write factor = 0.0045 (gap for each unit of bore), or a gap"
            sheet.fault(path, "a ring has one rule for its gap", right)
        return None
    return RingRule(
        gap=f"{name} gap",
        factor=float(factor) if is_number else None,
        length=length,
        stop_before=sheet.length((*path, "stop_before")),
        source=sheet.text((*path, "source")),
        line=line_of(sheet.lines, path),
    )


def read_matching(sheet: Sheet) -> Matching | None:
    """Read the [matching] table."""
    if not isinstance(sheet.value(("matching",)), dict):
        return None
    weight = sheet.quantity(("matching", "weight"), Dimension.MASS)
    time = sheet.quantity(("matching", "time"), Dimension.TIME)
    if weight is not None and weight.value <= 0:
        sheet.fault(("matching", "weight"), f"'{weight.text}' is no tolerance", "write '1 g'")
    if time is not None and not 0 < time.value <= 600:
        sheet.fault(("matching", "time"), f"'{time.text}' is no time to search", "write '3 s'")
    return Matching(
        weight=weight.value if weight else 0.001,
        first=sheet.text(("matching", "first")) or "fit",
        time=time.value if time else 3.0,
    )


def read_shells(sheet: Sheet, mains: int) -> tuple[ShellFamily, ...]:
    """Read the [[shells]] tables."""
    return tuple(
        family
        for number in sheet.tables("shells")
        if (family := _shells(sheet, ("shells", number), mains)) is not None
    )


def _shells(sheet: Sheet, path: Path, mains: int) -> ShellFamily | None:
    grades = dict(_grades(sheet, path))
    bearing = sheet.text((*path, "bearing"))
    if not grades or bearing not in {"main", "rod"}:
        return None
    rule_text = sheet.text((*path, "rule"))
    rule = ShellRule(rule_text) if rule_text in list(ShellRule) else None
    only = tuple(str(n) for n in sheet.value((*path, "only")) or ())
    for name in only:
        if bearing == "main" and not (name.isdecimal() and 1 <= int(name) <= mains):
            sheet.fault((*path, "only"), f"there is no main {name}", f"there are 1 to {mains}")
    housing, shaft = (sheet.texts((*path, key)) for key in ("housing_codes", "shaft_codes"))
    by_sum, by_codes = _choice(sheet, path, rule, housing, shaft, set(grades))
    loaded = sheet.text((*path, "loaded")) or ("lower" if bearing == "main" else "upper")
    return ShellFamily(
        bearing=bearing,
        part=f"{bearing} shell",
        rule=rule,
        only=only,
        grades=grades,
        housing_codes=housing,
        shaft_codes=shaft,
        by_codes=by_codes,
        by_sum=by_sum,
        forbidden=frozenset(_forbidden(sheet, path, set(grades))),
        difference=sheet.length((*path, "difference")),
        thicker=sheet.text((*path, "thicker")).replace("either", ""),
        loaded=loaded,
        grooved=sheet.text((*path, "grooved")).replace("none", ""),
        read_from=sheet.text((*path, "read_from")) or "front",
        source=sheet.text((*path, "source")),
        line=line_of(sheet.lines, path),
    )


def _grades(sheet: Sheet, path: Path) -> Iterator[tuple[str, ShellGrade]]:
    given = sheet.value((*path, "grades"))
    for name in given if isinstance(given, dict) else ():
        wall = sheet.expected((*path, "grades", name))
        if wall is None:
            continue
        if not 0 < wall.low <= wall.high < 0.05:
            wrong = f"'{wall.text}' is no wall of a half shell"
            sheet.fault((*path, "grades", name), wrong, "check number and unit")
            continue
        yield name, ShellGrade(name, wall.low, wall.high, wall.text)


def _choice(
    sheet: Sheet,
    path: Path,
    rule: ShellRule | None,
    housing: tuple[str, ...],
    shaft: tuple[str, ...],
    grades: set[str],
) -> tuple[tuple[str, ...], dict[tuple[str, str], tuple[str, str]]]:
    """Return the grades by sum, and by codes."""
    if rule is None:
        return (), {}
    if rule is ShellRule.SUM:
        sums = sheet.texts((*path, "by_sum"))
        need = len(housing) + len(shaft) - 1
        if len(sums) != need:
            wrong = f"by_sum has {len(sums)} grades for {need} possible sums"
            sheet.fault((*path, "by_sum"), wrong, "one grade for each sum, the smallest first")
        for name in sums:
            _known_grade(sheet, (*path, "by_sum"), name, grades)
        return sums, {}
    if rule is ShellRule.MATRIX:
        return (), _matrix(sheet, path, housing, shaft, grades)
    halves: dict[tuple[str, str], tuple[str, str]] = {}
    for key, codes in (("upper", housing), ("lower", shaft)):
        given = sheet.value((*path, key))
        table = given if isinstance(given, dict) else {}
        for code in codes:
            grade = str(table.get(code, ""))
            _known_grade(sheet, (*path, key), grade or f"(none for code {code})", grades)
            spot, pair = ((code, ""), (grade, "")) if key == "upper" else (("", code), ("", grade))
            halves[spot] = pair
    return (), halves


def _matrix(
    sheet: Sheet,
    path: Path,
    housing: tuple[str, ...],
    shaft: tuple[str, ...],
    grades: set[str],
) -> dict[tuple[str, str], tuple[str, str]]:
    given = sheet.value((*path, "matrix"))
    table = given if isinstance(given, dict) else {}
    found: dict[tuple[str, str], tuple[str, str]] = {}
    for code in housing:
        row = table.get(code)
        names = [str(name) for name in row] if isinstance(row, list) else []
        if len(names) != len(shaft):
            wrong = f"the row of housing code {code} has {len(names)} of {len(shaft)} grades"
            sheet.fault((*path, "matrix"), wrong, "one for each code of the shaft, in their order")
            continue
        for its_code, name in zip(shaft, names, strict=True):
            upper, _, lower = (part.strip() for part in name.partition("/"))
            for grade in (upper, lower or upper):
                _known_grade(sheet, (*path, "matrix"), grade, grades)
            found[code, its_code] = (upper, lower or upper)
    return found


def _known_grade(sheet: Sheet, path: Path, name: str, grades: set[str]) -> None:
    if name not in grades:
        right = f"the grades are {', '.join(sorted(grades))}"
        sheet.fault(path, f"there is no shell grade '{name}'", right)


def _forbidden(sheet: Sheet, path: Path, grades: set[str]) -> Iterator[frozenset[str]]:
    given = sheet.value((*path, "forbidden"))
    for pair in given if isinstance(given, list) else ():
        names = [str(name) for name in pair] if isinstance(pair, list) else []
        if len(names) != 2:
            sheet.fault((*path, "forbidden"), "a pair has two grades", 'write ["1", "4"]')
            continue
        for name in names:
            _known_grade(sheet, (*path, "forbidden"), name, grades)
        yield frozenset(names)


def read_machining(sheet: Sheet) -> Machining:
    """Read all that an engine file says of the shop's work and of which part goes where."""
    if any(len(sheet.tables(name)) > MOST_TABLES for name in ("work", "shells", "ring")):
        return Machining()
    mains = sheet.value(("mains", "count"))
    return Machining(
        order=read_order(sheet),
        work=read_work(sheet),
        shells=read_shells(sheet, mains if isinstance(mains, int) else 0),
        rings=read_ring_rules(sheet),
        matching=read_matching(sheet),
    )
