"""Entries of assembly and tightening as sentences, the same on the page and on paper."""

from __future__ import annotations

from collections.abc import Callable

from bedplate.quantity import Dimension
from bedplate.record.entries import (
    AssemblyStep,
    BoltMeasured,
    BoltTightened,
    CautionShown,
    CrankTurned,
    FastenersFitted,
    GateWaived,
    JointLoosened,
    PartsCounted,
    SealantApplied,
    StageDone,
    TighteningBegun,
    TighteningStopped,
)
from bedplate.shop.tightening.words import spoken
from bedplate.wording import capital

_WAYS = {
    "out": "came out",
    "in": "went in",
    "issued": "issued",
    "used": "used",
    "left": "left over",
}


def said(entry: object, place: Callable[[str], str]) -> str | None:
    """Return what an entry says, None if it is of another kind.

    :param place: says where the entry with an id is, 'entry 12'
    """
    match entry:
        case BoltTightened():
            return _bolt(entry, place)
        case TighteningBegun():
            return _begun(entry)
        case StageDone():
            value = f": {spoken(entry.value, Dimension.TORQUE)}" if entry.value else ""
            remark = f"; {entry.remark}" if entry.remark else ""
            return f"Run of {place(entry.run)}, stage {entry.stage} done{value}{remark}."
        case TighteningStopped():
            return f"Run of {place(entry.run)} stopped: {entry.reason}."
        case JointLoosened():
            return f"{_joint(entry.plan, entry.joint)} loosened: {entry.reason}."
        case SealantApplied():
            return f"{_joint(entry.plan, entry.joint)}: sealant applied, {entry.what}."
        case FastenersFitted():
            return _fitted(entry)
        case BoltMeasured():
            gauge = f", with {entry.gauge}" if entry.gauge else ""
            name = _bolt_of(entry.group, entry.bolt, entry.joint)
            return f"{name}: {entry.what} {entry.value.text}{gauge}."
        case _:
            return _step(entry)


def _step(entry: object) -> str | None:
    match entry:
        case CautionShown():
            return f"Caution shown before '{entry.step}': {entry.text}"
        case PartsCounted():
            return f"{entry.item}: {entry.count} {_WAYS.get(entry.way, entry.way)}."
        case CrankTurned():
            breakaway = f", {entry.breakaway.text} at breakaway" if entry.breakaway else ""
            return f"After '{entry.after}' the crank turns at {entry.running.text}{breakaway}."
        case AssemblyStep():
            seen = f"; seen: {'; '.join(entry.proofs)}" if entry.proofs else ""
            remark = f" ({entry.remark})" if entry.remark else ""
            return f"Step '{entry.step}' done{remark}{seen}."
        case GateWaived():
            against = " ".join(entry.against)
            return f"WAIVED before '{entry.step}': {entry.reason}. Against it stood: {against}"
        case _:
            return None


def _bolt(entry: BoltTightened, place: Callable[[str], str]) -> str:
    start = f"Run of {place(entry.run)}, stage {entry.stage}, {entry.group} {entry.bolt}"
    what = {"done": "done", "part": "left part-way", "unknown": "nobody knows how far"}
    parts = [what.get(entry.outcome, entry.outcome)]
    if entry.angle is not None:
        parts.append(spoken(entry.angle, Dimension.ANGLE))
    if entry.wrench_set is not None:
        parts.append(f"wrench set to {entry.wrench_set.text}")
    if entry.torque is not None:
        parts.append(f"{spoken(entry.torque, Dimension.TORQUE)} read")
    if entry.remark:
        parts.append(entry.remark)
    return f"{start}: {', '.join(parts)}."


def _begun(entry: TighteningBegun) -> str:
    on = "; ".join(f"{o.lubricant} on {o.group}" for o in entry.on_bolts)
    wrench = f", with {entry.wrench}" if entry.wrench else ""
    adapter = ""
    if entry.arm is not None and entry.adapter is not None:
        adapter = f", adapter {entry.adapter.text} on {entry.arm.text}"
    reason = f". All the same, because: {entry.reason}" if entry.reason else ""
    joint = _joint(entry.plan, entry.joint)
    return f"{joint}: {entry.purpose} tightening begun, {on}{wrench}{adapter}{reason}."


def _fitted(entry: FastenersFitted) -> str:
    bolts = ", ".join(str(bolt) for bolt in entry.bolts)
    before = f", tightened {entry.cycles} times before" if entry.cycles is not None else ""
    identity = f" ({entry.identity})" if entry.identity else ""
    number = f", {entry.joint}" if entry.joint else ""
    return f"{entry.group}{number}: {entry.condition} bolts in holes {bolts}{before}{identity}."


def _joint(plan: str, joint: str) -> str:
    name = f"{plan} {joint}" if joint else plan
    return capital(name)


def _bolt_of(group: str, bolt: int, joint: str) -> str:
    return f"{group} {bolt}, {joint}" if joint else f"{group} {bolt}"
