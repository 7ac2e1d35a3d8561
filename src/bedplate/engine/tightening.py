"""The [[fastener]], [[tighten]], [assembly] and [[step]] tables of an engine file."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import radians

from bedplate.engine.fasteners import (
    BY_BOLT,
    AssemblyRules,
    Doing,
    Fastener,
    Hole,
    OwnStep,
    Plan,
    Sealant,
    Stage,
)
from bedplate.engine.features import Per
from bedplate.engine.fits import Gate
from bedplate.engine.lines import Path, line_of
from bedplate.engine.sheet import Sheet, nearest
from bedplate.errors import QuantityError
from bedplate.quantity import Dimension, Quantity, Range, parse_range

MOST_BOLTS = 200
MOST_STAGES = 60
_SHORTEST, _LONGEST = radians(1), radians(360)

_THREAD = re.compile(
    r"(?:M ?\d+(?:\.\d+)?(?: ?[x×] ?\d*\.?\d+)?"
    r"|(?:#\d+|\d+(?: \d+)?/\d+|\d+(?:\.\d+)?|\.\d+)(?: ?in)? ?- ?\d+)"
    r"(?: (?:UNC|UNF|UNEF|UN|UNR|UNJ|MJ|\d[gGhH]\d?[gGhH]?|[123][AB]))*",
    re.IGNORECASE,
)
_HOLE = re.compile(r"(?:(main|bay) (\d+) ?)?(left|right)?(?: ?(inner|outer|side))?")
_ENDS = ("free end", "drive end")
_DIMENSIONS = {
    Doing.TORQUE: Dimension.TORQUE,
    Doing.DRAW_DOWN: Dimension.TORQUE,
    Doing.ANGLE: Dimension.ANGLE,
    Doing.LOOSEN: Dimension.ANGLE,
    Doing.STRETCH: Dimension.LENGTH,
    Doing.TURN: Dimension.TORQUE,
    Doing.WAIT: Dimension.TIME,
}


@dataclass(frozen=True, slots=True)
class Bolted:
    """What an engine file says of bolts and of putting together."""

    fasteners: dict[str, Fastener]
    plans: dict[str, Plan]
    assembly: AssemblyRules


def read_bolted(sheet: Sheet) -> Bolted:
    """Read the tables of fasteners, plans and assembly."""
    fasteners = read_fasteners(sheet)
    return Bolted(fasteners, read_plans(sheet, fasteners), read_assembly(sheet))


def read_fasteners(sheet: Sheet) -> dict[str, Fastener]:
    """Read the [[fastener]] tables."""
    found: dict[str, Fastener] = {}
    for number in sheet.tables("fastener"):
        path: Path = ("fastener", number)
        read = _fastener(sheet, path)
        if read is None:
            continue
        if read.group in found:
            wrong = f"the group '{read.group}' is on line {found[read.group].line} already"
            sheet.fault((*path, "group"), wrong, "give each group a name of its own")
        found[read.group] = read
    return found


def _fastener(sheet: Sheet, path: Path) -> Fastener | None:
    group, count = sheet.text((*path, "group")), sheet.value((*path, "count"))
    if not isinstance(count, int) or isinstance(count, bool) or not 1 <= count <= MOST_BOLTS:
        return None
    thread = sheet.text((*path, "thread"))
    if thread and not _THREAD.fullmatch(thread):
        right = "write it as 'M10 x 1.5' or '7/16-14 UNC'"
        sheet.fault((*path, "thread"), f"'{thread}' is no thread", right)
    lengths = {
        key: sheet.quantity((*path, key), Dimension.LENGTH)
        for key in ("length", "grip", "free_thread", "engaged", "head", "hole")
    }
    for key, length in lengths.items():
        if length is not None and not 0 < length.value < 2:
            wrong = f"'{length.text}' is no size of a fastener"
            sheet.fault((*path, key), wrong, "write it with its unit: '66 mm'")
    per = sheet.text((*path, "per"))
    cycles = sheet.value((*path, "cycles"))
    return Fastener(
        group=group,
        per=Per(per) if per in list(Per) else Per.ENGINE,
        count=count,
        thread=thread,
        property_class=sheet.text((*path, "class")),
        **lengths,
        lubricant=sheet.text((*path, "lubricant")),
        lubricate=sheet.text((*path, "lubricate")),
        sealant=sheet.text((*path, "sealant")),
        once=sheet.text((*path, "use")) == "once",
        cycles=cycles if isinstance(cycles, int) and not isinstance(cycles, bool) else None,
        lengths=sheet.range((*path, "lengths")),
        stretch=sheet.range((*path, "stretch")),
        never=sheet.text((*path, "never")),
        holes=_holes(sheet, path, count),
        source=sheet.text((*path, "source")),
        line=line_of(sheet.lines, path),
    )


def _holes(sheet: Sheet, path: Path, count: int) -> tuple[Hole, ...]:
    names = sheet.texts((*path, "at"))
    if not names:
        return tuple(Hole(number, "") for number in range(1, count + 1))
    if len(names) != count:
        wrong = f"{len(names)} places are named for {count} fasteners"
        sheet.fault((*path, "at"), wrong, "name the place of each, hole 1 first")
    holes = []
    for number, name in enumerate(names, 1):
        hole = _hole(number, name)
        if hole is None:
            wrong = f"'{name[:60]}' is not a place"
            right = "write 'main 3 left', 'bay 2 right outer', 'left' or 'free end'"
            sheet.fault((*path, "at"), wrong, right)
            break
        holes.append(hole)
    return tuple(holes)


def _hole(number: int, name: str) -> Hole | None:
    if name in _ENDS:
        return Hole(number, name, name)
    found = _HOLE.fullmatch(" ".join(name.split()))
    if not found or not name:
        return None
    at, index, side, lane = found.groups()
    return Hole(number, name, at or "joint", int(index or 0), side or "", lane or "")


def read_plans(sheet: Sheet, fasteners: Mapping[str, Fastener]) -> dict[str, Plan]:
    """Read the [[tighten]] tables."""
    found: dict[str, Plan] = {}
    for number in sheet.tables("tighten"):
        path: Path = ("tighten", number)
        plan = _plan(sheet, path, fasteners)
        if plan is None:
            continue
        if plan.name in found:
            wrong = f"the plan '{plan.name}' is on line {found[plan.name].line} already"
            sheet.fault((*path, "plan"), wrong, "give each plan a name of its own")
        found[plan.name] = plan
    return found


def _plan(sheet: Sheet, path: Path, fasteners: Mapping[str, Fastener]) -> Plan | None:
    rows = sheet.value((*path, "stages"))
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        return None
    if len(rows) > MOST_STAGES:
        return None
    stages = [
        stage
        for number in range(len(rows))
        if (stage := _stage(sheet, (*path, "stages", number), number + 1, fasteners)) is not None
    ]
    groups = dict.fromkeys(stage.group for stage in stages if stage.group)
    pers = {fasteners[group].per for group in groups if group in fasteners}
    if len(pers) > 1:
        wrong = "it tightens groups that are there once and groups that are there many times"
        sheet.fault(path, wrong, "make a plan of each")
    name, gate = sheet.text((*path, "plan")), sheet.text((*path, "gate"))
    source = sheet.text((*path, "source"))
    what = sheet.text((*path, "sealant", "what"))
    opened = sheet.quantity((*path, "sealant", "open"), Dimension.TIME)
    whole = json.dumps([rows, sheet.value((*path, "sealant"))], sort_keys=True, default=str)
    return Plan(
        name=name,
        per=next(iter(pers), Per.ENGINE),
        gate=Gate(gate) if gate in list(Gate) else Gate.FIRST_START,
        stages=tuple(stages),
        sealant=Sealant(what, opened) if what else None,
        source=source,
        digest=hashlib.sha256(whole.encode()).hexdigest(),
        line=line_of(sheet.lines, path),
    )


def _stage(
    sheet: Sheet, path: Path, number: int, fasteners: Mapping[str, Fastener]
) -> Stage | None:
    word = sheet.text((*path, "do"))
    if word not in list(Doing):
        return None
    doing, group = Doing(word), sheet.text((*path, "group"))
    value = _value(sheet, path, doing)
    expect = sheet.text((*path, "expect"))
    if doing in BY_BOLT and not group:
        sheet.fault(path, f"it does not say which bolts to {word}", "write group = 'frame inner'")
        return None
    if doing not in BY_BOLT and group:
        sheet.fault((*path, "group"), f"'{word}' touches no bolt", "leave it out")
        return None
    if group and group not in fasteners:
        right = nearest(group, fasteners) or f"the groups are {', '.join(fasteners) or 'none'}"
        sheet.fault((*path, "group"), f"there is no group of fasteners '{group}'", right)
        return None
    return Stage(
        number=number,
        doing=doing,
        group=group,
        order=_order(sheet, path, doing, fasteners[group]) if group else (),
        value=None if doing is Doing.WAIT else value,
        in_one_pull=sheet.value((*path, "in_one_pull")) is True,
        limits=_limits(sheet, (*path, "expect"), doing) if expect else None,
        expect=expect,
        until=sheet.text((*path, "until")),
        wait=value if doing is Doing.WAIT else None,
        note=sheet.text((*path, "note")),
    )


def _value(sheet: Sheet, path: Path, doing: Doing) -> Quantity | None:
    key = (*path, "value")
    typed = sheet.text(key)
    if re.search(r"\+|\bthen\b", typed) and doing in {Doing.TORQUE, Doing.ANGLE}:
        sheet.fault(key, f"'{typed}' is a torque and an angle", "make a stage of each")
        return None
    value = sheet.quantity(key, _DIMENSIONS[doing])
    if value is None:
        return None
    if value.value <= 0:
        sheet.fault(key, f"'{value.text}' tightens by nothing", "leave it out, or write the figure")
        return None
    if value.dimension is Dimension.ANGLE and not _SHORTEST <= value.value <= _LONGEST:
        wrong = f"'{value.text}' is no angle to turn a fastener by"
        sheet.fault(key, wrong, "write 1 deg to 360 deg")
        return None
    return value


def _limits(sheet: Sheet, path: Path, doing: Doing) -> Range | None:
    """Read limits out of what is expected; words without a figure stay words."""
    typed = sheet.text(path)
    if not re.search(r"\d", typed):
        return None
    figure = typed.rpartition(", ")[2].replace("less than", "at most")
    try:
        return parse_range(figure, _DIMENSIONS[doing])
    except QuantityError as error:
        sheet.refuse(path, error)
        return None


def _order(sheet: Sheet, path: Path, doing: Doing, fastener: Fastener) -> tuple[int, ...]:
    key = (*path, "order")
    words = sheet.text(key).replace(",", " ").split()
    if not words:
        return (1,) if fastener.count == 1 else ()
    if not all(word.isdecimal() and len(word) < 5 for word in words):
        sheet.fault(key, "an order is numbers of bolts", 'write order = "5 6 3 4 7 8"')
        return ()
    numbers = [int(word) for word in words]
    missing = [n for n in range(1, fastener.count + 1) if n not in numbers]
    strange = [n for n in numbers if not 1 <= n <= fastener.count]
    twice = sorted({n for n in numbers if numbers.count(n) > 1})
    has = f"'{fastener.group}' has bolts 1 to {fastener.count}"
    if strange:
        sheet.fault(key, f"there is no bolt {strange[0]}", has)
    elif twice:
        sheet.fault(key, f"bolt {twice[0]} is named twice", "name each once")
    elif missing and doing is not Doing.DRAW_DOWN:
        left = ", ".join(str(n) for n in missing[:8])
        sheet.fault(key, f"bolt {left} is left out", has)
    return tuple(numbers)


def read_assembly(sheet: Sheet) -> AssemblyRules:
    """Read the [assembly] table and the [[step]] tables."""
    path: Path = ("assembly",)
    counts = {key: sheet.value((*path, key)) for key in ("gallery_plugs", "pin_locks")}
    turning = sheet.text((*path, "turning"))
    limits = None
    if turning:
        try:
            limits = parse_range(turning, Dimension.TORQUE)
        except QuantityError as error:
            sheet.refuse((*path, "turning"), error)
    steps = tuple(_step(sheet, ("step", number)) for number in sheet.tables("step"))
    return AssemblyRules(
        gallery_plugs=counts["gallery_plugs"] if isinstance(counts["gallery_plugs"], int) else None,
        pin_locks=counts["pin_locks"] if isinstance(counts["pin_locks"], int) else None,
        seal_lip=sheet.text((*path, "seal_lip")),
        seal_material=sheet.text((*path, "seal_material")),
        seal_depth=sheet.text((*path, "seal_depth")),
        ring_gaps=sheet.text((*path, "ring_gaps")),
        turning=limits,
        source=sheet.text((*path, "source")),
        steps=steps,
    )


def _step(sheet: Sheet, path: Path) -> OwnStep:
    return OwnStep(
        name=sheet.text((*path, "name")),
        after=sheet.text((*path, "after")),
        proofs=sheet.texts((*path, "proofs")),
        caution=sheet.text((*path, "caution")),
        turning=sheet.value((*path, "turning")) is True,
        source=sheet.text((*path, "source")),
    )
