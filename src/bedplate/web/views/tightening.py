"""The tightening run as pages show it: one bolt at a time, and the list of joints."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from bedplate.documents.joint_picture import BoltLook, joint_picture
from bedplate.engine import Doing, Engine, Stage
from bedplate.quantity import Dimension, show, show_both
from bedplate.shop.bolt_receipts import asked_of
from bedplate.shop.cautions import caution
from bedplate.shop.fasteners import bolts
from bedplate.shop.model import State
from bedplate.shop.tightening.model import DONE, PART, Joint, Run, StageState
from bedplate.shop.tightening.runs import joints
from bedplate.shop.tightening.words import bolt_name, plan_title, spoken
from bedplate.web.views.common import when

UNITS = ("N·m", "lbf·ft", "lbf·in")
"""Units that torque wrenches show."""


@dataclass(frozen=True, slots=True)
class StageView:
    """One stage in the list of a run."""

    number: int
    words: str
    value: str
    standing: str
    done: int
    of: int
    on: bool
    said: str


@dataclass(frozen=True, slots=True)
class BoltView:
    """One bolt of the stage that is on, in the maker's order."""

    bolt: int
    outcome: str
    said: str
    entry: int | None
    now: bool


@dataclass(frozen=True, slots=True)
class RunView:
    """A run, ready to be shown.

    :param sets: what is set, or how far is turned, large
    :param part: an angle that was left part-way, '' if none
    :param until: end of the sealant's open time, as ISO time; '' where no clock runs
    """

    run: Run
    name: str
    purpose: str
    picture: Markup
    stage: Stage | None
    stage_words: str
    group: str
    bolt: int | None
    place: str
    sets: str
    others: str
    sets_note: str
    part: str
    angle: bool
    stretch: bool
    lubricant: str
    lubricate: str
    sealant: str
    until: str
    reads_in: str
    stages: tuple[StageView, ...]
    bolts: tuple[BoltView, ...]
    odd: tuple[str, ...]
    last: str
    can_undo: int | None
    sealant_asked: str


def run_view(state: State, run: Run) -> RunView:
    """Return a run, ready to be shown."""
    engine = state.engine
    plan = engine.plans[run.plan]
    following = run.next if run.standing == "on" else None
    stage = following.stage if following else None
    here = run.stages[stage.number - 1] if stage else None
    fastener = engine.fasteners.get(stage.group) if stage else None
    sets, others = asked_of(run, following, state.units) if following else ("", "")
    clock = run.clock
    return RunView(
        run=run,
        name=plan_title(plan, run.joint),
        purpose=run.begun.purpose,
        picture=Markup(run_picture(engine, run)),  # noqa: S704 - our own drawing
        stage=stage,
        stage_words=stage_words(stage) if stage else "",
        group=stage.group if stage else "",
        bolt=following.bolt if following else None,
        place=f"{following.place} of {following.places}" if following else "",
        sets=sets,
        others=others,
        sets_note=_note(state, run, stage),
        part=_part(state, here, following.bolt if following else None),
        angle=stage is not None and stage.doing is Doing.ANGLE,
        stretch=stage is not None and stage.doing is Doing.STRETCH,
        lubricant=_lubricant(run, stage),
        lubricate=fastener.lubricate if fastener else "",
        sealant=clock.what if clock else "",
        until=_until(run),
        reads_in=run.begun.reads_in,
        stages=tuple(_stage(state, s, stage) for s in run.stages),
        bolts=_bolts(state, here, following.bolt if following else None),
        odd=tuple(
            f"{bolt_name(engine.fasteners.get(o.group), o.group, run.joint, o.bolt)} ended at "
            f"{show(o.torque, Dimension.TORQUE, state.units)}; the middle of its group is "
            f"{show(o.middle, Dimension.TORQUE, state.units)}."
            for o in run.odd
        ),
        last=when(run.last),
        can_undo=run.last_number if run.last_number != run.number else None,
        sealant_asked=plan.sealant.what if plan.sealant and run.final and clock is None else "",
    )


def stage_words(stage: Stage) -> str:
    """Return what a stage asks for, in words."""
    words = {
        Doing.DRAW_DOWN: "draw down",
        Doing.TORQUE: "torque",
        Doing.ANGLE: "angle, in one pull" if stage.in_one_pull else "angle",
        Doing.STRETCH: "stretch",
        Doing.LOOSEN: "loosen",
        Doing.WAIT: "wait",
        Doing.TURN: "turn the crank",
    }[stage.doing]
    more = stage.until and f"until {stage.until}"
    expect = stage.expect and f"expect {stage.expect}"
    return ", ".join(part for part in (words, more, expect) if part)


def run_picture(engine: Engine, run: Run) -> str:
    """Return the drawing of a run's joint, as it stands in the stage that is on."""
    plan = engine.plans[run.plan]
    following = run.next if run.standing == "on" else None
    if following is None or not following.stage.group:
        last = {(s.stage.group, b.bolt): BoltLook(b.outcome) for s in run.stages for b in s.bolts}
        return joint_picture(engine, plan, run.joint, last)
    stage = following.stage
    here = run.stages[stage.number - 1]
    whole = stage.value.value if stage.value and stage.doing is Doing.ANGLE else 0.0
    looks = {
        (stage.group, b.bolt): BoltLook(b.outcome, (b.angle or 0) / whole if whole else 0.0)
        for b in here.bolts
    }
    now = (stage.group, following.bolt) if following.bolt is not None else None
    return joint_picture(engine, plan, run.joint, looks, now=now, group=stage.group)


def _note(state: State, run: Run, stage: Stage | None) -> str:
    if stage is None:
        return ""
    notes = [stage.note] if stage.note else []
    if stage.doing in {Doing.TORQUE, Doing.DRAW_DOWN} and run.begun.adapter and stage.value:
        shown = show(stage.value.value, Dimension.TORQUE, state.units, unit=stage.value.unit)
        notes.append(f"with the adapter of {run.begun.adapter.text}; {shown} at the bolt")
    return "; ".join(notes)


def _part(state: State, here: StageState | None, bolt: int | None) -> str:
    step = next((b for b in here.bolts if b.bolt == bolt), None) if here else None
    if step is None or step.outcome != PART or here is None or here.stage.value is None:
        return ""
    done = show(step.angle or 0.0, Dimension.ANGLE, state.units)
    return f"{done} of {show(here.stage.value.value, Dimension.ANGLE, state.units)} are done"


def _lubricant(run: Run, stage: Stage | None) -> str:
    return next((o.lubricant for o in run.begun.on_bolts if stage and o.group == stage.group), "")


def _until(run: Run) -> str:
    clock = run.clock
    if clock is None or clock.open is None or run.standing != "on":
        return ""
    start = datetime.fromisoformat(clock.at).timestamp()
    return datetime.fromtimestamp(start + clock.open).astimezone().isoformat()


def _stage(state: State, stage: StageState, on: Stage | None) -> StageView:
    asked = stage.stage
    value = ""
    if asked.value is not None:
        value = show_both(
            asked.value.value, asked.value.dimension, state.units, unit=asked.value.unit
        )
    done = sum(b.outcome == DONE for b in stage.bolts)
    said = ""
    if stage.value is not None:
        said = spoken(stage.value, Dimension.TORQUE)
    if stage.remark:
        said = f"{said} ({stage.remark})" if said else stage.remark
    return StageView(
        number=asked.number,
        words=f"{asked.group}: {stage_words(asked)}" if asked.group else stage_words(asked),
        value=value,
        standing="done" if stage.done else "on" if asked is on else "to do",
        done=done if stage.bolts else int(stage.done),
        of=len(stage.bolts) or 1,
        on=asked is on,
        said=said,
    )


def _bolts(state: State, here: StageState | None, now: int | None) -> tuple[BoltView, ...]:
    if here is None:
        return ()
    rows = []
    for step in here.bolts:
        said = []
        if step.outcome == PART and step.angle is not None:
            said.append(f"{show(step.angle, Dimension.ANGLE, state.units)} so far")
        if step.torque is not None:
            said.append(spoken(step.torque, Dimension.TORQUE))
        if step.remark:
            said.append(step.remark)
        rows.append(
            BoltView(step.bolt, step.outcome, ", ".join(said), step.entry, step.bolt == now)
        )
    return tuple(rows)


@dataclass(frozen=True, slots=True)
class GroupAsked:
    """A group of a plan, for the form that begins a run."""

    group: str
    count: int
    thread: str
    lubricant: str
    lubricate: str
    once: bool
    history: str


@dataclass(frozen=True, slots=True)
class JointView:
    """A joint in the list of joints."""

    joint: Joint
    name: str
    standing: str
    said: str
    run: Run | None
    groups: tuple[GroupAsked, ...]
    wants_figure: str


@dataclass(frozen=True, slots=True)
class JointsView:
    """Every joint of the engine, with what must be known before one is begun."""

    joints: tuple[JointView, ...]
    chosen: JointView | None
    caution: str
    units: tuple[str, ...]
    unit: str


def joints_view(state: State, plan: str, joint: str) -> JointsView:
    """Return the list of joints, one of them opened to be begun.

    :param plan: of the joint that is opened, '' for none
    """
    lives = bolts(state)

    def history(group: str, number: str) -> str:
        row = [b for (g, j, _), b in lives.items() if g == group and j == number]
        known = {b.condition for b in row}
        if known == {"new"}:
            return "new"
        if known == {""}:
            return "nobody said whether they are new"
        most = max((b.total or b.cycles for b in row), default=0)
        return f"tightened up to {most} times"

    views = []
    for one in joints(state).values():
        run = one.run
        last = one.runs[-1] if one.runs else None
        standing = run.standing if run else "open"
        groups = tuple(
            GroupAsked(
                name, f.count, f.thread, f.lubricant, f.lubricate, f.once, history(name, one.joint)
            )
            for name in one.plan.groups
            for f in [state.engine.fasteners[name]]
        )
        views.append(
            JointView(
                one,
                plan_title(one.plan, one.joint),
                standing,
                _said(run, last),
                run,
                groups,
                "",
            )
        )
    chosen = next((v for v in views if (v.joint.plan.name, v.joint.joint) == (plan, joint)), None)
    unit = "N·m" if state.units.value == "metric" else "lbf·ft"
    return JointsView(tuple(views), chosen, caution("tightening"), UNITS, unit)


def _said(run: Run | None, last: Run | None) -> str:
    if run is not None and run.standing == "on":
        here = run.next
        if run.block is not None:
            return run.block.sentence
        if here is None:
            return ""
        at = f", {here.stage.group} {here.bolt}" if here.bolt is not None else ""
        return f"stage {here.stage.number} of {len(run.stages)}{at} is next"
    if run is not None:
        return f"{run.begun.purpose}, {when(run.last)}"
    if last is None:
        return ""
    return f"{last.begun.purpose} run {last.standing}: {last.why}"
