"""The pages of the build book on assembly and tightening: every bolt, every step, every waiver."""

from __future__ import annotations

from bedplate.documents import paper
from bedplate.documents.fastener_log import fastener_log
from bedplate.documents.joint_picture import BoltLook, joint_picture
from bedplate.documents.paper import Tree, time
from bedplate.documents.tightening_sheet import groups_of, values_of
from bedplate.quantity import Dimension, show
from bedplate.record.entries import CautionShown
from bedplate.shop.assembly import assembly
from bedplate.shop.model import State
from bedplate.shop.tightening.model import Joint, Odd, Run, StageState
from bedplate.shop.tightening.runs import joints
from bedplate.shop.tightening.words import plan_title, spoken


def assembly_pages(state: State) -> Tree:
    """Return what the book says of assembly and tightening."""
    run = assembly(state)
    return {
        "steps": [
            [
                held.step.name,
                held.standing,
                f"{time(held.at)} {held.by}" if held.at else "–",
                "; ".join(held.proofs) or "–",
                str(held.entry or "–"),
            ]
            for held in run.steps.values()
            if held.entry is not None or held.waived
        ],
        "left": [held.step.name for held in run.steps.values() if held.standing != "done"],
        "waivers": [
            [held.step.name, held.waived, held.waived_by, " ".join(held.waived_against)]
            for held in run.waivers
        ],
        "turnings": [
            [
                t.name,
                t.text,
                "" if t.rise is None else show(t.rise, Dimension.TORQUE, state.units, signed=True),
                "jump" if t.jump else "",
                f"{time(t.at)} {t.by}",
            ]
            for t in run.turnings
        ],
        "counts": [
            [row.item, *("–" if n is None else str(n) for n in row_numbers), row.amiss or "adds up"]
            for row in run.ledger.values()
            for row_numbers in [(row.out, row.back, row.issued, row.used, row.left)]
        ],
        "cautions": [
            [str(n.number), f"{time(n.entry.at)} {n.entry.by}", n.entry.step, n.entry.text]
            for n in state.entries
            if isinstance(n.entry, CautionShown)
        ],
        "joints": [
            _run(state, joint, one) for joint in joints(state).values() for one in joint.runs
        ],
        "open": [joint.name for joint in joints(state).values() if not joint.tight],
        "fasteners": fastener_log(state),
    }


def _run(state: State, joint: Joint, run: Run) -> Tree:
    plan = joint.plan
    title = f"{plan_title(plan, joint.joint)}: {run.begun.purpose}, {run.standing}"
    looks = {(s.stage.group, b.bolt): BoltLook(b.outcome) for s in run.stages for b in s.bolts}
    on = "; ".join(f"{o.lubricant} on {o.group}" for o in run.begun.on_bolts)
    about = [
        ["Plan from", plan.source],
        ["Begun", f"{time(run.begun.at)} UTC by {run.begun.by}, entry {run.number}"],
        ["On the bolts", on],
        ["Wrench", run.begun.wrench],
        ["Adapter", _adapter(run)],
        ["Sealant", f"{run.clock.what}, applied {time(run.clock.at)} UTC" if run.clock else ""],
        ["Begun all the same", run.begun.reason],
        ["Ended", f"entry {run.ended}: {run.why}" if run.ended else ""],
        ["Open", run.block.sentence if run.block else ""],
        *(["Odd one out", _odd(state, odd)] for odd in run.odd),
    ]
    return {
        "title": title,
        "final": run.final,
        "picture": paper.drawing(
            joint_picture(state.engine, plan, joint.joint, looks), f"The joint: {title}"
        ),
        "groups": groups_of(state.engine, plan),
        "about": [row for row in about if row[1]],
        "stages": [_stage(state, s) for s in run.stages],
    }


def _odd(state: State, odd: Odd) -> str:
    ended, middle = (
        show(torque, Dimension.TORQUE, state.units) for torque in (odd.torque, odd.middle)
    )
    return f"{odd.group} {odd.bolt} ended at {ended}, middle of its group {middle}"


def _adapter(run: Run) -> str:
    if run.begun.arm is None or run.begun.adapter is None:
        return ""
    return f"{run.begun.adapter.text} on a wrench of {run.begun.arm.text}, in line"


def _stage(state: State, held: StageState) -> Tree:
    stage = held.stage
    rows = [
        [
            str(b.bolt),
            {"unknown": "nobody knows"}.get(b.outcome, b.outcome),
            b.wrench_set.text if b.wrench_set else "–",
            show(b.angle, Dimension.ANGLE, state.units) if b.angle is not None else "–",
            spoken(b.torque, Dimension.TORQUE) if b.torque else "–",
            f"{b.at[:19].replace('T', ' ')} {b.by}" if b.at else "–",
            str(b.entry or "–"),
            b.remark,
        ]
        for b in held.bolts
    ]
    said = ""
    if not held.bolts and held.done:
        value = spoken(held.value, Dimension.TORQUE) if held.value else "no torque read"
        remark = f" ({held.remark})" if held.remark else ""
        said = f"{value}{remark}, {time(held.at)} {held.by}, entry {held.entry}"
    return {
        "title": f"Stage {stage.number}: {stage.group + ', ' if stage.group else ''}"
        f"{stage.doing.value}",
        "values": " = ".join(values_of(stage)),
        "expect": stage.expect or stage.until,
        "said": said or ("" if held.bolts else "not done"),
        "rows": rows,
    }
