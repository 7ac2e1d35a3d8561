"""A blank tightening plan: to print, to tick by hand, and to type back in the same order."""

from __future__ import annotations

from bedplate.documents import paper
from bedplate.documents.fastener_log import fastener_log
from bedplate.documents.joint_picture import joint_picture
from bedplate.documents.paper import Tree
from bedplate.engine import Doing, Engine, Plan, Stage
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.cautions import caution
from bedplate.shop.fastening import doubts_of_plan
from bedplate.shop.model import State
from bedplate.shop.tightening.words import joints_of, plan_title


def tightening_sheet(state: State) -> bytes:
    """Return every tightening plan with boxes as PDF/A-3, a page each.

    :raises BedplateError: the page could not be set
    """
    last = state.entries[-1].entry.at if state.entries else ""
    return paper.typeset("tightening.typ", contents(state), at=paper.moment(last))


def contents(state: State) -> Tree:
    """Return everything the template sets, as text and drawings."""
    return {
        "head": paper.heading(state),
        "caution": caution("tightening"),
        "fasteners": fastener_log(state),
        "plans": [
            _plan(state, plan, joint)
            for plan in state.engine.plans.values()
            for joint in joints_of(state.engine, plan.per)
        ],
    }


def _plan(state: State, plan: Plan, joint: str) -> Tree:
    title = plan_title(plan, joint)
    return {
        "title": title,
        "source": plan.source,
        "sealant": _sealant(plan),
        "picture": paper.drawing(joint_picture(state.engine, plan, joint), f"The joint: {title}"),
        "groups": groups_of(state.engine, plan),
        "doubts": [doubt.sentence for doubt in doubts_of_plan(state, plan)],
        "stages": [_stage(stage) for stage in plan.stages],
    }


def groups_of(engine: Engine, plan: Plan) -> list[list[str]]:
    """Return the groups of a plan as rows: name, count and thread, lubricant, use."""
    rows = []
    for name in plan.groups:
        fastener = engine.fasteners[name]
        where = f", {fastener.lubricate}" if fastener.lubricate else ""
        use = "single use" if fastener.once else ""
        if fastener.cycles:
            use = f"{fastener.cycles} tightenings in its life"
        thread = fastener.thread or "thread not said"
        rows.append(
            [
                name,
                f"{fastener.count} × {thread}",
                f"{fastener.lubricant or 'lubricant not said'}{where}",
                use or "–",
            ]
        )
    return rows


def _sealant(plan: Plan) -> str:
    if plan.sealant is None:
        return ""
    opened = plan.sealant.open
    return plan.sealant.what + (f", open for {opened.text}" if opened else "")


def _stage(stage: Stage) -> Tree:
    return {
        "number": str(stage.number),
        "what": f"{stage.group}: {stage.doing.value}" if stage.group else stage.doing.value,
        "values": values_of(stage),
        "more": " · ".join(
            part
            for part in (
                "in one pull" if stage.in_one_pull else "",
                stage.until and f"until {stage.until}",
                stage.expect and f"expect {stage.expect}",
                stage.note,
            )
            if part
        ),
        "bolts": [str(bolt) for bolt in stage.order],
        "order": not (stage.group and not stage.order),
    }


def values_of(stage: Stage) -> list[str]:
    """Return what is asked, as printed and in the units that wrenches show."""
    if stage.value is None:
        asks = stage.doing in {Doing.TORQUE, Doing.ANGLE, Doing.STRETCH}
        return ["the file gives no figure"] if asks else []
    found = [stage.value.text]
    if stage.value.dimension is Dimension.TORQUE:
        found += [
            show(stage.value.value, Dimension.TORQUE, Units.METRIC, unit=unit)
            for unit in ("N·m", "lbf·ft", "lbf·in")
            if unit != stage.value.unit
        ]
    return found
