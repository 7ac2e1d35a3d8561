"""What a run stands still for until a person has seen to it."""

from __future__ import annotations

from bedplate.engine import Engine, Plan
from bedplate.engine.fasteners import BY_BOLT, NEEDS_FIGURE
from bedplate.quantity import Dimension, Units, show
from bedplate.record.entries import (
    TighteningBegun,
)
from bedplate.shop.tightening.model import (
    FINAL,
    PART,
    UNKNOWN,
    Block,
    Clock,
    Joint,
    Next,
    StageState,
)
from bedplate.shop.tightening.words import bolt_name, joint_name, spoken
from bedplate.wording import capital

NO_ORDER = "Take the order that the maker prints into the engine file."


def block_of(
    engine: Engine,
    plan: Plan,
    begun: TighteningBegun,
    stages: tuple[StageState, ...],
    following: Next | None,
    clock: Clock | None,
    units: Units,
) -> Block | None:
    """Return what a run stands still for, None where it can go on.

    :param following: the next bolt or stage, None where all is done
    :param clock: of the sealant, None where none was applied
    """
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
            f"{capital(name)} is closed with sealant ({plan.sealant.what}), and it "
            "is not noted as applied.",
            "Note it the moment it is applied: its open time runs from then.",
        )
    return None


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
