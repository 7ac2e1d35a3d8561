"""What is open about fasteners and tightening runs, as questions in the order of the work."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bedplate.engine import Doing, Gate, Plan
from bedplate.engine.fasteners import BY_BOLT, NEEDS_FIGURE
from bedplate.quantity import Dimension, show
from bedplate.shop.clamping.doubts import doubt_of_torque
from bedplate.shop.fasteners import Bolt, bolts
from bedplate.shop.model import Question, QuestionKind, State
from bedplate.shop.order_offers import offer
from bedplate.shop.steps import lost_steps
from bedplate.shop.tightening.blocks import NO_ORDER
from bedplate.shop.tightening.model import Joint, Run
from bedplate.shop.tightening.runs import joints
from bedplate.shop.tightening.words import bolt_name
from bedplate.wording import capital

_KIND, _DOUBT = QuestionKind.FASTENER, QuestionKind.TIGHTENING


def fastening_questions(state: State) -> Iterator[Question]:
    """Yield what is open about bolts; nothing where the engine file has no plans."""
    for lost in lost_steps(state.engine) if state.engine.assembly.steps else ():
        yield Question(
            Gate.CLOSING_MAINS,
            QuestionKind.STEP,
            f"step {lost.name}",
            f"The engine file's step '{lost.name}' follows '{lost.after}', which is no step.",
            "Name one as the page of the assembly does; until then it stands at the beginning.",
        )
    if not state.engine.plans:
        return
    known = joints(state)
    for plan in state.engine.plans.values():
        yield from _of_plan(state, plan)
    for joint in known.values():
        if joint.run is not None:
            yield from _of_run(state, joint, joint.run)
    yield from _of_history(state, known)


def doubts_of_plan(state: State, plan: Plan) -> list[Question]:
    """Return which torques of a plan look wrong for their size, unless a note says why not."""
    about = f"plan {plan.name}"
    if about in state.notes:
        return []
    doubts = ((stage.number, _strange(state, plan, stage.number)) for stage in plan.stages)
    return [
        Question(
            plan.gate,
            _DOUBT,
            about,
            f"Plan '{plan.name}', stage {number}: {doubt}",
            f"Correct the engine file, or note about '{about}' why it is right.",
        )
        for number, doubt in doubts
        if doubt
    ]


def _question(
    gate: Gate, about: str, sentence: str, to_do: str, kind: QuestionKind = _KIND
) -> Question:
    return Question(gate, kind, about, sentence, to_do)


def _of_plan(state: State, plan: Plan) -> Iterator[Question]:
    about = f"plan {plan.name}"
    for stage in plan.stages:
        if stage.doing in BY_BOLT and not stage.order:
            yield _question(
                plan.gate,
                about,
                f"Plan '{plan.name}', stage {stage.number}: the engine file gives no order for "
                f"'{stage.group}'.",
                " ".join((NO_ORDER, offer(state.engine.fasteners[stage.group]))).strip(),
            )
        if stage.doing in NEEDS_FIGURE and stage.value is None:
            yield _question(
                plan.gate,
                about,
                f"Plan '{plan.name}', stage {stage.number}: the engine file gives no "
                f"{stage.doing.value} for '{stage.group}'.",
                "Take the maker's figure into the engine file; none is ever filled in.",
            )
    yield from doubts_of_plan(state, plan)


def _strange(state: State, plan: Plan, number: int) -> str:
    stage = plan.stages[number - 1]
    if stage.doing is not Doing.TORQUE:
        return ""
    later = [s for s in plan.stages[number:] if s.group == stage.group and s.doing in NEEDS_FIGURE]
    fastener = state.engine.fasteners[stage.group]
    return doubt_of_torque(fastener, stage, last=not later, units=state.units)


def _of_run(state: State, joint: Joint, run: Run) -> Iterator[Question]:
    gate, about = joint.plan.gate, f"run {run.number}"
    if run.block is not None and run.block.code not in {"figure", "order"}:
        name = capital(joint.name)
        yield _question(gate, about, f"{name}: {run.block.sentence}", run.block.to_do)
    if about in state.notes:
        return
    for odd in run.odd:
        fastener = state.engine.fasteners.get(odd.group)
        yield _question(
            Gate.FIRST_START,
            about,
            f"{bolt_name(fastener, odd.group, run.joint, odd.bolt)} ended at "
            f"{_torque(state, odd.torque)}; the middle of its group is "
            f"{_torque(state, odd.middle)}.",
            f"Look at its thread and its length, or note about '{about}' why it is right.",
            _DOUBT,
        )
    late = _late(run)
    if late:
        to_do = f"Seal it anew, or note about '{about}' why not."
        yield _question(gate, about, f"{joint.name}: {late}", to_do, _DOUBT)


def _torque(state: State, value: float) -> str:
    return show(value, Dimension.TORQUE, state.units)


def _late(run: Run) -> str:
    """Return in words how late the last bolt was for the sealant, '' if it was not."""
    clock = run.clock
    if clock is None or clock.open is None:
        return ""
    last = max((s.at for stage in run.stages for s in stage.bolts if s.at), default="")
    if not last:
        return ""
    took = (datetime.fromisoformat(last) - datetime.fromisoformat(clock.at)).total_seconds()
    if took <= clock.open:
        return ""
    return (
        f"the sealant is open for {clock.open / 60:.0f} min, and the last bolt was done "
        f"{took / 60:.0f} min after it was applied."
    )


def _of_history(state: State, known: dict[tuple[str, str], Joint]) -> Iterator[Question]:
    """Ask which bolts went in where a rule of the file needs to know it."""
    unknown: dict[str, list[Bolt]] = {}
    final = {
        (group, joint.joint)
        for joint in known.values()
        if joint.run is not None and joint.run.final
        for group in joint.plan.groups
    }
    if not final:
        return
    for bolt in bolts(state).values():
        fastener = bolt.fastener
        rule = fastener.once or fastener.cycles is not None
        if rule and bolt.before is None and (fastener.group, bolt.joint) in final:
            unknown.setdefault(fastener.group, []).append(bolt)
    for group, rows in unknown.items():
        about = f"group {group}"
        if about not in state.notes:
            yield _question(
                Gate.FIRST_START,
                about,
                f"{group}: nobody said whether {len(rows)} of them were new, or how often they "
                "were tightened before.",
                "Say which bolts went in, before they are tightened.",
                _DOUBT,
            )
