"""The life of each bolt: tightenings, lengths, stretch, and whether it may be used again."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bedplate.engine import Fastener
from bedplate.quantity import Dimension, Range, Units, show, show_range
from bedplate.record.entries import BoltMeasured, FastenersFitted, Typed
from bedplate.shop.model import State
from bedplate.shop.tightening.runs import bolts_touched, joints_from, standing_entries
from bedplate.shop.tightening.words import bolt_name, joints_of


class Again(StrEnum):
    """Whether a bolt may be tightened once more."""

    KEEP = "keep"
    REPLACE = "replace"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured of a bolt, with the entry's number."""

    what: str
    value: Typed
    number: int
    gauge: str


@dataclass(frozen=True, slots=True)
class Bolt:
    """One bolt in its hole.

    :param condition: 'new' or 'used' when it was fitted, '' if nobody said
    :param before: tightenings before it was fitted, None if nobody knows
    :param cycles: tightenings in this record since it was fitted
    :param grown: last free length less the first, m; None if there are not two
    :param again: whether it may be tightened once more, with the reason and where the rule is from
    """

    fastener: Fastener
    joint: str
    number: int
    name: str
    condition: str
    identity: str
    before: int | None
    cycles: int
    measured: tuple[Measured, ...]
    grown: float | None
    again: Again
    why: str
    source: str

    @property
    def total(self) -> int | None:
        """Return every tightening in its life, None if nobody knows."""
        return None if self.before is None else self.before + self.cycles


@dataclass(slots=True)
class _Life:
    """What the record says of a bolt since it was fitted."""

    fitted: FastenersFitted | None = None
    since: int = 0
    cycles: int = 0
    tightened: int = 0
    measured: tuple[Measured, ...] = ()


_Key = tuple[str, str, int]


def bolts(state: State) -> dict[_Key, Bolt]:
    """Return every bolt by (group, joint, number), in the engine file's order."""
    lives = _lives(state)
    return {
        (fastener.group, joint, number): _bolt(
            fastener, joint, number, lives.get((fastener.group, joint, number), _Life()), state
        )
        for fastener in state.engine.fasteners.values()
        for joint in joints_of(state.engine, fastener.per)
        for number in range(1, fastener.count + 1)
    }


def _lives(state: State) -> dict[_Key, _Life]:
    entries = standing_entries(state.entries)
    lives: dict[_Key, _Life] = {}
    for numbered in entries:
        entry = numbered.entry
        if isinstance(entry, FastenersFitted):
            for bolt in entry.bolts:
                lives[entry.group, entry.joint, bolt] = _Life(entry, numbered.number)
        elif isinstance(entry, BoltMeasured):
            life = lives.setdefault((entry.group, entry.joint, entry.bolt), _Life())
            found = Measured(entry.what, entry.value, numbered.number, entry.gauge)
            life.measured = (*life.measured, found)
    for joint in joints_from(state.engine, entries, state.units).values():
        for run in joint.runs:
            for (group, bolt), cycles in bolts_touched(run).items():
                life = lives.setdefault((group, run.joint, bolt), _Life())
                if run.number > life.since:
                    life.cycles += cycles
                    life.tightened = run.last_number
    return lives


def _bolt(fastener: Fastener, joint: str, number: int, life: _Life, state: State) -> Bolt:
    fitted = life.fitted
    before = None
    if fitted is not None:
        before = 0 if fitted.condition == "new" else fitted.cycles
    lengths = [m.value.si for m in life.measured if m.what == "length"]
    again, why = _again(fastener, life, before, state.units)
    return Bolt(
        fastener=fastener,
        joint=joint,
        number=number,
        name=bolt_name(fastener, fastener.group, joint, number),
        condition=fitted.condition if fitted else "",
        identity=fitted.identity if fitted else "",
        before=before,
        cycles=life.cycles,
        measured=life.measured,
        grown=lengths[-1] - lengths[0] if len(lengths) > 1 else None,
        again=again,
        why=why,
        source=fastener.source or "the engine file gives no source",
    )


def _again(fastener: Fastener, life: _Life, before: int | None, units: Units) -> tuple[Again, str]:
    if fastener.never:
        return Again.KEEP, f"never {fastener.never.removeprefix('never ')}"
    measured = _measured_out(fastener, life, units)
    if measured:
        return Again.REPLACE, measured
    total = None if before is None else before + life.cycles
    if fastener.once:
        if life.cycles or total:
            return Again.REPLACE, "single use, and it was tightened"
        if total is None:
            return Again.CANNOT_TELL, "single use, and nobody said that it is new"
    if fastener.cycles is not None:
        if life.cycles >= fastener.cycles or (total or 0) >= fastener.cycles:
            return Again.REPLACE, f"tightened {total or life.cycles} times of {fastener.cycles}"
        if total is None:
            return Again.CANNOT_TELL, "nobody said how often it was tightened before"
    if fastener.lengths is not None:
        last = next((m for m in reversed(life.measured) if m.what == "length"), None)
        if last is None or last.number < life.tightened:
            return Again.CANNOT_TELL, "its free length was not measured since it was tight"
    if not fastener.once and fastener.cycles is None and fastener.lengths is None:
        return Again.CANNOT_TELL, "the engine file gives no rule for it"
    return Again.KEEP, "inside the rules of the engine file"


def _measured_out(fastener: Fastener, life: _Life, units: Units) -> str:
    """Return in words which figure of a bolt is not permitted, '' if none is known to be."""
    for what, limits in (("length", fastener.lengths), ("stretch", fastener.stretch)):
        last = next((m for m in reversed(life.measured) if m.what == what), None)
        if last is None or limits is None or inside(last.value.si, limits):
            continue
        shown = show(last.value.si, Dimension.LENGTH, units)
        permitted = show_range(limits.low, limits.high, Dimension.LENGTH, units)
        return f"its {what} is {shown}, and {permitted} is permitted"
    return ""


def inside(value: float, limits: Range) -> bool:
    """Tell whether a figure lies in limits, ends included.

    :param value: SI
    """
    low_ok = limits.low is None or value >= limits.low - 1e-12
    return low_ok and (limits.high is None or value <= limits.high + 1e-12)
