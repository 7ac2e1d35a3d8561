"""The joints of an engine with their runs, worked out from the plan and the record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from bedplate.engine import Doing, Engine, Plan, Stage
from bedplate.engine.fasteners import BY_BOLT, NEEDS_FIGURE
from bedplate.physics.wrench import adapter_setting
from bedplate.quantity import Units
from bedplate.record.entries import (
    BoltMeasured,
    BoltTightened,
    FastenersFitted,
    JointLoosened,
    Numbered,
    SealantApplied,
    StageDone,
    TighteningBegun,
    TighteningStopped,
    Typed,
)
from bedplate.record.standing import standing
from bedplate.shop.model import State
from bedplate.shop.tightening.blocks import block_of
from bedplate.shop.tightening.model import (
    DONE,
    FINAL,
    TO_DO,
    BoltStep,
    Clock,
    Joint,
    Next,
    Run,
    StageState,
)
from bedplate.shop.tightening.odd import odd_among, odd_bolts
from bedplate.shop.tightening.words import joint_name, joints_of

_Kinds = (
    TighteningBegun
    | BoltTightened
    | StageDone
    | TighteningStopped
    | JointLoosened
    | SealantApplied
    | FastenersFitted
    | BoltMeasured
)


def standing_entries(entries: Iterable[Numbered]) -> list[Numbered]:
    """Return the entries about bolts that have not been taken back."""
    return [numbered for numbered in standing(entries) if isinstance(numbered.entry, _Kinds)]


def joints(state: State) -> dict[tuple[str, str], Joint]:
    """Return every joint of the engine, by plan and number, each with its runs."""
    return joints_from(state.engine, standing_entries(state.entries), state.units)


def run_from(engine: Engine, entries: Iterable[Numbered], id: str, units: Units) -> Run | None:
    """Return one run, from entries that stand; None if it does not, or its plan is gone."""
    found = _Found(list(entries))
    for numbered, begun in found.begun:
        if begun.id == id and begun.plan in engine.plans:
            return _run(engine, engine.plans[begun.plan], numbered, begun, found, units)
    return None


def joint_from(engine: Engine, entries: Iterable[Numbered], plan: Plan, joint: str) -> Joint:
    """Return one joint, from entries that stand."""
    return _joint(engine, plan, joint, _Found(list(entries)), engine.units)


def joints_from(
    engine: Engine, entries: Iterable[Numbered], units: Units
) -> dict[tuple[str, str], Joint]:
    """Return every joint, from entries that stand."""
    found = _Found(list(entries))
    return {
        (plan.name, joint.joint): joint
        for plan in engine.plans.values()
        for joint in odd_among(
            [_joint(engine, plan, joint, found, units) for joint in joints_of(engine, plan.per)]
        )
    }


def _joint(engine: Engine, plan: Plan, joint: str, found: _Found, units: Units) -> Joint:
    return Joint(
        plan,
        joint,
        joint_name(plan.name, plan.per, joint),
        tuple(
            _run(engine, plan, numbered, begun, found, units)
            for numbered, begun in found.begun
            if (begun.plan, begun.joint) == (plan.name, joint)
        ),
    )


class _Found:
    """Entries by the run they belong to."""

    def __init__(self, entries: list[Numbered]) -> None:
        self.begun: list[tuple[Numbered, TighteningBegun]] = []
        self.of_run: dict[str, list[Numbered]] = {}
        self.loosened: list[tuple[int, JointLoosened]] = []
        self.sealed: list[tuple[int, SealantApplied]] = []
        for numbered in entries:
            match numbered.entry:
                case TighteningBegun() as entry:
                    self.begun.append((numbered, entry))
                case BoltTightened() | StageDone() | TighteningStopped() as entry:
                    self.of_run.setdefault(entry.run, []).append(numbered)
                case JointLoosened() as entry:
                    self.loosened.append((numbered.number, entry))
                case SealantApplied() as entry:
                    self.sealed.append((numbered.number, entry))
                case _:
                    pass


def _run(
    engine: Engine,
    plan: Plan,
    numbered: Numbered,
    begun: TighteningBegun,
    found: _Found,
    units: Units,
) -> Run:
    rows = found.of_run.get(begun.id, [])
    stages = tuple(_stage(stage, rows) for stage in plan.stages)
    stop = next((r for r in rows if isinstance(r.entry, TighteningStopped)), None)
    loose = next(
        (
            (number, entry)
            for number, entry in found.loosened
            if number > numbered.number and (entry.plan, entry.joint) == (begun.plan, begun.joint)
        ),
        None,
    )
    clock = _clock(plan, begun, numbered.number, found)
    following = _next(stages)
    standing, ended, why = "on" if following else "tight", None, ""
    if stop is not None and isinstance(stop.entry, TighteningStopped):
        standing, ended, why = "stopped", stop.number, stop.entry.reason
    elif loose is not None:
        standing, ended, why = "loosened", loose[0], loose[1].reason
    block = None
    if standing in {"on", "tight"}:
        block = block_of(engine, plan, begun, stages, following, clock, units)
    if block is not None and standing == "tight":
        standing = "on"
    return Run(
        id=begun.id,
        number=numbered.number,
        plan=plan.name,
        joint=begun.joint,
        begun=begun,
        stages=stages,
        standing=standing,
        block=block,
        next=following,
        clock=clock,
        odd=tuple(odd for stage in stages for odd in odd_bolts(stage)),
        ended=ended,
        why=why,
        last=rows[-1].entry.at if rows else begun.at,
        last_number=rows[-1].number if rows else numbered.number,
    )


def _clock(plan: Plan, begun: TighteningBegun, number: int, found: _Found) -> Clock | None:
    if plan.sealant is None or begun.purpose != FINAL:
        return None
    own = [
        (n, entry)
        for n, entry in found.sealed
        if (entry.plan, entry.joint) == (begun.plan, begun.joint) and n > number
    ]
    if not own:
        return None
    n, entry = own[-1]
    opened = plan.sealant.open
    return Clock(entry.what, entry.at, n, None if opened is None else opened.value)


def _stage(stage: Stage, rows: list[Numbered]) -> StageState:
    if stage.doing not in BY_BOLT:
        return _single(stage, rows)
    said: dict[int, BoltStep] = {}
    for row in rows:
        entry = row.entry
        if isinstance(entry, BoltTightened) and entry.stage == stage.number:
            said[entry.bolt] = BoltStep(
                entry.bolt,
                entry.outcome,
                None if entry.angle is None else entry.angle.si,
                entry.torque,
                entry.wrench_set,
                row.number,
                entry.at,
                entry.by,
                entry.remark,
            )
    bolts = tuple(said.get(bolt, BoltStep(bolt, TO_DO)) for bolt in stage.order)
    done = bool(bolts) and all(step.outcome == DONE for step in bolts)
    return StageState(stage, bolts, done)


def _single(stage: Stage, rows: list[Numbered]) -> StageState:
    for row in reversed(rows):
        entry = row.entry
        if isinstance(entry, StageDone) and entry.stage == stage.number:
            outside = not entry.remark and is_outside(stage, entry.value)
            return StageState(
                stage, (), True, entry.value, row.number, entry.at, entry.by, entry.remark, outside
            )
    return StageState(stage, (), done=False)


def is_outside(stage: Stage, value: Typed | None) -> bool:
    """Tell whether a turning torque is not what the stage expects."""
    if stage.limits is None or value is None:
        return False
    low, high = stage.limits.low, stage.limits.high
    return (low is not None and value.si < low) or (high is not None and value.si > high)


def _next(stages: tuple[StageState, ...]) -> Next | None:
    for state in stages:
        if state.done:
            continue
        for place, step in enumerate(state.bolts, 1):
            if step.outcome != DONE:
                return Next(state.stage, step.bolt, place, len(state.bolts), step.angle or 0.0)
        return Next(state.stage, None, 1, 1)
    return None


def wrench_setting(wanted: float, begun: TighteningBegun) -> float:
    """Return what the run's wrench is set to, N·m, so that the bolt gets what is wanted.

    :param wanted: torque on the bolt, N·m
    """
    if begun.arm is None or begun.adapter is None:
        return wanted
    return adapter_setting(wanted, begun.arm.si, begun.adapter.si)


def bolts_touched(run: Run) -> Mapping[tuple[str, int], int]:
    """Return how often each bolt (group, number) was tightened in a run: its cycles."""
    cycles: dict[tuple[str, int], int] = {}
    loosened: set[tuple[str, int]] = set()
    for state in run.stages:
        for step in state.bolts:
            key = state.stage.group, step.bolt
            if step.outcome == TO_DO:
                continue
            if state.stage.doing is Doing.LOOSEN:
                loosened.add(key)
            elif state.stage.doing in NEEDS_FIGURE and (key not in cycles or key in loosened):
                cycles[key] = cycles.get(key, 0) + 1
                loosened.discard(key)
    return cycles
