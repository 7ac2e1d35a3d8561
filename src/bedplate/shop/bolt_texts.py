"""What is typed of a bolt into what an entry holds, each refusal in one sentence."""

from __future__ import annotations

from math import radians

from bedplate.engine import Doing, Fastener, Stage
from bedplate.errors import EntryError, QuantityError
from bedplate.quantity import Dimension, Quantity, Units, parse, show
from bedplate.record.entries import Typed
from bedplate.shop.fasteners import inside
from bedplate.shop.tightening.model import Run
from bedplate.shop.tightening.runs import wrench_setting

FULL = radians(0.5)
"""rad: an angle this near to what is asked is all of it."""

FAR = 2.0
"""A torque read off by more than this factor is asked about before it is taken."""


SLACK, RISE, APART = 0.8, 10.0, 3.0
"""An angle ends at least near the torque that it began from, and at most at so many times it; bolts
of a group end within a factor of each other. Rules of ours, no source: they ask, and no more."""


def outcome_of(stage: Stage, angle: str, *, unknown: bool) -> tuple[str, Typed | None]:
    """Read what became of a bolt: done, so far, or not known, with the angle."""
    if unknown:
        return "unknown", None
    if stage.doing is not Doing.ANGLE or stage.value is None:
        if angle.strip():
            sentence = f"Stage {stage.number} turns by no angle: {stage.doing.value}."
            raise EntryError(sentence)
        return "done", None
    wanted = stage.value
    if not angle.strip():
        return "done", Typed(text=wanted.text, si=wanted.value)
    read = parse(angle, Dimension.ANGLE, default_unit="°")
    if read.value <= 0 or read.value > wanted.value + FULL:
        sentence = f"'{angle[:40]}' cannot be: stage {stage.number} turns by {wanted.text}."
        raise QuantityError(sentence, hint="Say how many degrees of it are done so far.")
    whole = read.value >= wanted.value - FULL
    return "done" if whole else "part", Typed(text=angle.strip(), si=read.value)


def read_torque(stage: Stage, text: str, run: Run, remark: str) -> Typed | None:
    """Read the torque at the end; one far off what was set is asked about before it is taken."""
    if not text.strip():
        return None
    read = parse(text, Dimension.TORQUE, default_unit=run.begun.reads_in)
    if read.value <= 0:
        sentence = f"'{text[:40]}' is no torque."
        raise QuantityError(sentence)
    if not remark.strip():
        for si, said, low, high in _expected(stage, run):
            _question(read, text, si, said, low, high)
    return Typed(text=text.strip(), si=read.value)


def _expected(stage: Stage, run: Run) -> list[tuple[float, str, float, float]]:
    """Return what a torque read off is held against: (N·m, in words, least and most times it)."""
    asked = wrench_set(stage, run)
    if stage.doing is Doing.TORQUE and asked is not None:
        return [(asked.si, f"the wrench was set to {asked.text}", 1 / FAR, FAR)]
    if stage.doing is not Doing.ANGLE:
        return []
    rows = []
    for state in run.stages[: stage.number - 1]:
        snug = wrench_set(state.stage, run)
        if state.stage.group == stage.group and state.stage.doing is Doing.TORQUE and snug:
            rows = [(snug.si, f"the angle began from {snug.text}", SLACK, RISE)]
    bolts = run.stages[stage.number - 1].bolts
    read = sorted((b.torque.si, b.bolt) for b in bolts if b.torque is not None)
    if read:
        middle, bolt = read[len(read) // 2]
        shown = show(middle, Dimension.TORQUE, Units.METRIC)
        rows.append((middle, f"bolt {bolt} of its group ended at {shown}", 1 / APART, APART))
    return rows


def _question(read: Quantity, text: str, si: float, said: str, low: float, high: float) -> None:
    ratio = read.value / si
    if low <= ratio <= high:
        return
    twelve = read.unit.startswith("lbf") and 8 < max(ratio, 1 / ratio) < 18
    unit = " lbf·in and lbf·ft differ by twelve." if twelve else ""
    shown = show(read.value, Dimension.TORQUE, Units.METRIC)
    sentence = f"'{text[:40]}' is {shown}; {said}.{unit}"
    raise QuantityError(sentence, hint="Is the unit right? If it is so, say why.")


def read_stretch(stage: Stage, text: str, fastener: Fastener, remark: str) -> Typed | None:
    """Read the stretch of a bolt; a stage that tightens by it needs it, and inside its limits."""
    if stage.doing is not Doing.STRETCH:
        if text.strip():
            sentence = f"Stage {stage.number} is not measured by stretch: {stage.doing.value}."
            raise EntryError(sentence)
        return None
    if not text.strip():
        if remark.strip():
            return None
        sentence = f"Stage {stage.number} tightens by stretch, and none is given."
        raise EntryError(sentence, hint="Type what the gauge shows, or say why there is none.")
    read = parse(text, Dimension.LENGTH)
    limits = fastener.stretch
    out = limits is not None and not inside(read.value, limits)
    if read.value <= 0 or (out and not remark.strip()):
        asked = limits.text if limits is not None else "more than nought"
        sentence = f"A stretch of '{text[:40]}' is not what is permitted: {asked}."
        hint = "Much torque and little stretch is friction. If it stays so, say why."
        raise QuantityError(sentence, hint=hint)
    return Typed(text=text.strip(), si=read.value)


def wrench_set(stage: Stage, run: Run) -> Typed | None:
    """Return what the wrench is set to in a stage, None where it is set to nothing."""
    if stage.value is None or stage.doing not in {Doing.TORQUE, Doing.DRAW_DOWN}:
        return None
    value = wrench_setting(stage.value.value, run.begun)
    unit = run.begun.reads_in or stage.value.unit
    return Typed(text=show(value, Dimension.TORQUE, Units.METRIC, unit=unit), si=value)


def turning_torque(stage: Stage, value: str, run: Run, remark: str) -> Typed | None:
    """Read the torque that turned the crank; it is needed where the stage has limits."""
    if value.strip():
        read = parse(value, Dimension.TORQUE, default_unit=run.begun.reads_in)
        return Typed(text=value.strip(), si=read.value)
    if stage.limits is not None and not remark.strip():
        sentence = f"Stage {stage.number} expects '{stage.expect}', and no torque is given."
        raise EntryError(sentence, hint="Type the torque that turns it, or say why there is none.")
    return None


def unit_of_wrench(text: str) -> str:
    """Return the unit that a wrench shows, as the program prints it."""
    if not text.strip():
        return ""
    return parse(f"1 {text.strip()}", Dimension.TORQUE).unit


def length_of(text: str, what: str) -> Typed | None:
    """Read a length of wrench or adapter."""
    if not text.strip():
        return None
    read = parse(text, Dimension.LENGTH)
    if not 0 < read.value < 5:
        sentence = f"'{text[:40]}' cannot be {what}."
        raise QuantityError(sentence)
    return Typed(text=text.strip(), si=read.value)
