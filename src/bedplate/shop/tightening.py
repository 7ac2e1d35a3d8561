"""Tightening runs: where each stands, bolt by bolt, as the record has it.

A run follows a plan of the engine file. Nothing is taken as done that nobody said: a bolt that was
left part-way is so many degrees on, or nobody knows, and then the joint begins anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from bedplate.engine import Doing, Engine, Fastener, Per, Plan, Stage
from bedplate.engine.fasteners import BY_BOLT, NEEDS_FIGURE
from bedplate.physics.wrench import adapter_setting
from bedplate.quantity import Dimension, Units, show
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
    Withdrawn,
)
from bedplate.shop.model import State

TRIAL, FINAL = "trial", "final"
TO_DO, DONE, PART, UNKNOWN = "to do", "done", "part", "unknown"


NO_ORDER = "Take the order that the maker prints into the engine file."


@dataclass(frozen=True, slots=True)
class BoltStep:
    """One bolt in one stage.

    :param outcome: 'to do', 'done', 'part' or 'unknown'
    :param angle: turned in this stage so far, rad
    :param torque: read at the end
    :param entry: number of the entry that says so, None if none does
    """

    bolt: int
    outcome: str
    angle: float | None = None
    torque: Typed | None = None
    wrench_set: Typed | None = None
    entry: int | None = None
    at: str = ""
    by: str = ""
    remark: str = ""


@dataclass(frozen=True, slots=True)
class StageState:
    """One stage of a run.

    :param bolts: in the maker's order; empty where no bolt is turned
    :param value: the torque that turned the crank
    :param outside: it is more, or less, than is expected, and nobody gave a reason
    """

    stage: Stage
    bolts: tuple[BoltStep, ...]
    done: bool
    value: Typed | None = None
    entry: int | None = None
    at: str = ""
    by: str = ""
    remark: str = ""
    outside: bool = False

    @property
    def begun(self) -> bool:
        """Tell whether anything was done in it."""
        return self.done or any(step.outcome != TO_DO for step in self.bolts)

    @property
    def left(self) -> tuple[int, ...]:
        """Return the bolts that are not done."""
        return tuple(step.bolt for step in self.bolts if step.outcome != DONE)


@dataclass(frozen=True, slots=True)
class Next:
    """What comes next in a run.

    :param bolt: None where the stage turns no bolt
    :param place: of the bolt in the stage's order, from 1
    """

    stage: Stage
    bolt: int | None
    place: int
    places: int
    angle: float = 0.0


@dataclass(frozen=True, slots=True)
class Block:
    """Why a run cannot go on.

    :param code: 'changed', 'unknown', 'gap', 'one pull', 'figure', 'order', 'sealant' or 'turning'
    """

    code: str
    sentence: str
    to_do: str


@dataclass(frozen=True, slots=True)
class Clock:
    """Sealant that is on a joint.

    :param until: end of its open time, None where the file gives none
    """

    what: str
    at: str
    number: int
    open: float | None


@dataclass(frozen=True, slots=True)
class Odd:
    """A bolt whose final torque stands apart from its group's."""

    stage: int
    group: str
    bolt: int
    torque: float
    middle: float


@dataclass(frozen=True, slots=True)
class Run:
    """A tightening run.

    :param standing: 'on', 'tight', 'stopped' or 'loosened'
    :param ended: number of the entry that ended it
    :param why: reason why it was stopped or loosened
    """

    id: str
    number: int
    plan: str
    joint: str
    begun: TighteningBegun
    stages: tuple[StageState, ...]
    standing: str
    block: Block | None
    next: Next | None
    clock: Clock | None
    odd: tuple[Odd, ...]
    ended: int | None
    why: str
    last: str
    last_number: int

    @property
    def final(self) -> bool:
        """Tell whether it is for good."""
        return self.begun.purpose == FINAL


@dataclass(frozen=True, slots=True)
class Joint:
    """A plan on one joint, with its runs, the last one last."""

    plan: Plan
    joint: str
    name: str
    runs: tuple[Run, ...]

    @property
    def run(self) -> Run | None:
        """Return the run that stands, None if the joint is open."""
        last = self.runs[-1] if self.runs else None
        return last if last is not None and last.standing in {"on", "tight"} else None

    @property
    def tight(self) -> bool:
        """Tell whether it is tight."""
        return self.run is not None and self.run.standing == "tight"


def joint_name(plan: str, per: Per, joint: str) -> str:
    """Return 'frame', or 'rods, cylinder 3'."""
    return plan if per is Per.ENGINE else f"{plan}, {per.value} {joint}"


def bolt_name(fastener: Fastener | None, group: str, joint: str, bolt: int) -> str:
    """Return 'frame inner 5', or 'rod bolts 2, cylinder 3'."""
    per = fastener.per.value if fastener is not None else "joint"
    return f"{group} {bolt}, {per} {joint}" if joint else f"{group} {bolt}"


def joints_of(engine: Engine, per: Per) -> tuple[str, ...]:
    """Return the numbers of the joints that a plan has, ('',) for one."""
    if per is Per.CYLINDER:
        return tuple(cylinder.label for cylinder in engine.layout.cylinders)
    if per is Per.MAIN:
        return tuple(str(number + 1) for number in range(engine.layout.mains))
    return ("",)


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
    found, taken = [], set()
    for numbered in entries:
        entry = numbered.entry
        if isinstance(entry, Withdrawn):
            taken.add(entry.target)
        elif isinstance(entry, _Kinds):
            found.append(numbered)
    return [numbered for numbered in found if numbered.entry.id not in taken]


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
        for joint in _across(
            [_joint(engine, plan, joint, found, units) for joint in joints_of(engine, plan.per)]
        )
    }


def _across(same: list[Joint]) -> list[Joint]:
    """Point out the odd bolts among all joints of a plan: a rod has too few bolts of its own."""
    runs = [joint.run for joint in same if joint.run is not None]
    if len(runs) < 2:
        return same
    read = [
        [s.torque.si for run in runs for s in run.stages[i].bolts if s.torque is not None]
        for i in range(len(runs[0].stages))
    ]
    return [
        replace(joint, runs=(*joint.runs[:-1], _compared(joint.run, read)))
        if joint.run is not None
        else joint
        for joint in same
    ]


def _compared(run: Run, read: list[list[float]]) -> Run:
    odd = (_apart(state, others) for state, others in zip(run.stages, read, strict=True))
    return replace(run, odd=tuple(one for stage in odd for one in stage))


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
        block = _block(engine, plan, begun, stages, following, clock, units)
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


def _block(
    engine: Engine,
    plan: Plan,
    begun: TighteningBegun,
    stages: tuple[StageState, ...],
    following: Next | None,
    clock: Clock | None,
    units: Units,
) -> Block | None:
    name = joint_name(plan.name, plan.per, begun.joint)
    if begun.digest != plan.digest:
        return Block(
            "changed",
            f"The plan '{plan.name}' was changed in the engine file while this run was on.",
            "What was done is kept. Stop this run, back the joint off, and begin by the new plan.",
        )
    for state in stages:
        blocked = _block_in_stage(engine, state, begun.joint, name, units)
        if blocked is not None:
            return blocked
    gap = _gap(engine, stages, begun.joint)
    if gap is not None:
        return gap
    return None if following is None else _block_before(plan, begun, following, clock, name)


def _block_in_stage(
    engine: Engine, state: StageState, joint: str, name: str, units: Units
) -> Block | None:
    stage, fastener = state.stage, engine.fasteners.get(state.stage.group)
    for step in state.bolts:
        bolt = bolt_name(fastener, stage.group, joint, step.bolt)
        if step.outcome == UNKNOWN:
            new = ", fit new bolts (these are single use)" if fastener and fastener.once else ""
            return Block(
                "unknown",
                f"Stage {stage.number}, {bolt}: nobody knows how far it was turned.",
                f"Back the whole joint off{new}, stop this run, and begin it again.",
            )
        if step.outcome == PART and stage.in_one_pull:
            turned = show(step.angle or 0.0, Dimension.ANGLE, units)
            return Block(
                "one pull",
                f"Stage {stage.number}, {bolt}: the angle is asked for in one pull, and it was "
                f"left at {turned}.",
                "Back the joint off and begin again; or, where the maker's manual lets you go on, "
                "finish it and say so.",
            )
    if state.outside:
        typed = spoken(state.value, Dimension.TORQUE) if state.value else ""
        return Block(
            "turning",
            f"Stage {stage.number}: the crank turns at {typed}; '{stage.expect}' is expected.",
            f"Find what holds it before {name} goes on; then turn it again, or give the reason.",
        )
    return None


def _gap(engine: Engine, stages: tuple[StageState, ...], joint: str) -> Block | None:
    for index, state in enumerate(stages):
        if not state.done and any(later.begun for later in stages[index + 1 :]):
            fastener = engine.fasteners.get(state.stage.group)
            left = ", ".join(
                bolt_name(fastener, state.stage.group, joint, bolt) for bolt in state.left
            )
            return Block(
                "gap",
                f"Stage {state.stage.number} has a gap ({left or 'it was not done'}), though a "
                "later stage was begun.",
                "If it was done, say so; if it was not, stop the run and begin the joint again.",
            )
    return None


def _block_before(
    plan: Plan, begun: TighteningBegun, following: Next, clock: Clock | None, name: str
) -> Block | None:
    stage = following.stage
    if stage.doing in BY_BOLT and not stage.order:
        return Block(
            "order",
            f"The engine file gives no order for '{stage.group}' in stage {stage.number}.",
            NO_ORDER,
        )
    if stage.doing in NEEDS_FIGURE and stage.value is None:
        return Block(
            "figure",
            f"The engine file gives no {stage.doing.value} for '{stage.group}' in stage "
            f"{stage.number} of {name}.",
            "Take the maker's figure into the engine file. None is ever filled in.",
        )
    if plan.sealant is not None and begun.purpose == FINAL and clock is None:
        return Block(
            "sealant",
            f"{name[:1].upper()}{name[1:]} is closed with sealant ({plan.sealant.what}), and it "
            "is not noted as applied.",
            "Note it the moment it is applied: its open time runs from then.",
        )
    return None


def odd_bolts(state: StageState) -> list[Odd]:
    """Return the bolts of a stage whose torque at its end stands apart from the group's.

    Apart is more than three robust standard deviations (1.4826 × the median of distances from the
    median) and more than a tenth of the median; four bolts at least are needed. A rule of ours,
    common practice, no source: it points, it does not judge.
    """
    return _apart(state, [step.torque.si for step in state.bolts if step.torque is not None])


def _apart(state: StageState, among: list[float]) -> list[Odd]:
    """Return the bolts of a stage whose torque stands apart among others.

    :param among: torques at the end of the same stage, N·m, those of `state` too
    """
    if len(among) < 4:
        return []
    middle = _median(among)
    spread = 1.4826 * _median([abs(torque - middle) for torque in among])
    least = max(3 * spread, 0.1 * abs(middle))
    return [
        Odd(state.stage.number, state.stage.group, step.bolt, step.torque.si, middle)
        for step in state.bolts
        if step.torque is not None and abs(step.torque.si - middle) > least
    ]


def _median(values: list[float]) -> float:
    ordered, half = sorted(values), len(values) // 2
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2


def spoken(typed: Typed, dimension: Dimension) -> str:
    """Return what was typed; a bare number, whose unit the wrench gave, with its unit."""
    if any(mark.isalpha() or mark == "°" for mark in typed.text):
        return typed.text
    return show(typed.si, dimension, Units.METRIC)


def wrench_setting(wanted: float, begun: TighteningBegun) -> float:
    """Return what the run's wrench is set to, N·m, so that the bolt gets what is wanted.

    :param wanted: torque on the bolt, N·m
    """
    if begun.arm is None or begun.adapter is None:
        return wanted
    return adapter_setting(wanted, begun.arm.si, begun.adapter.si)


def indeterminate(joint: Joint, engine: Engine) -> tuple[str, ...]:
    """Return the groups of single-use bolts that the last run left where nobody knows."""
    stages = joint.runs[-1].stages if joint.runs else ()
    groups = (
        state.stage.group
        for state in stages
        if any(step.outcome == UNKNOWN for step in state.bolts)
        and engine.fasteners[state.stage.group].once
    )
    return tuple(dict.fromkeys(groups))


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
