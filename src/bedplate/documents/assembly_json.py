"""Assembly and tightening as JSON objects, for the state that terminal, page and book attach."""

from __future__ import annotations

from typing import Any

from bedplate.record.entries import Typed
from bedplate.shop.assembly import Assembly, assembly
from bedplate.shop.fasteners import Bolt, bolts
from bedplate.shop.model import State
from bedplate.shop.tightening.model import Run, StageState
from bedplate.shop.tightening.runs import joints

Tree = dict[str, Any]


def assembly_as_dict(state: State) -> Tree:
    """Return steps, runs and bolts; SI values carry their unit in their key."""
    run = assembly(state)
    return {
        "steps": _steps(run),
        "turning": [
            {
                "after": t.after, "running_n_m": t.running, "breakaway_n_m": t.breakaway,
                "rise_n_m": t.rise, "jump": t.jump, "entry": t.number,
            }
            for t in run.turnings
        ],
        "counts": [
            {
                "item": row.item, "out": row.out, "in": row.back, "issued": row.issued,
                "used": row.used, "left": row.left, "fault": row.fault,
                "unlike_stock": row.unlike_stock,
            }
            for row in run.ledger.values()
        ],
        "runs": [_run(one) for joint in joints(state).values() for one in joint.runs],
        "bolts": [_bolt(bolt) for bolt in bolts(state).values()],
    }  # fmt: skip


def _steps(run: Assembly) -> list[Tree]:
    return [
        {
            "step": held.step.id,
            "name": held.step.name,
            "phase": held.step.phase,
            "standing": held.standing,
            "against": held.against,
            "proofs": held.proofs,
            "waived": held.waived,
            "waived_against": held.waived_against,
            "entry": held.entry,
        }
        for held in run.steps.values()
    ]


def _run(run: Run) -> Tree:
    return {
        "entry": run.number,
        "plan": run.plan,
        "joint": run.joint,
        "purpose": run.begun.purpose,
        "standing": run.standing,
        "on_bolts": {on.group: on.lubricant for on in run.begun.on_bolts},
        "blocked": run.block.sentence if run.block else "",
        "next": None
        if run.next is None
        else {"stage": run.next.stage.number, "bolt": run.next.bolt},
        "odd": [{"group": odd.group, "bolt": odd.bolt} for odd in run.odd],
        "stages": [_stage(stage) for stage in run.stages],
    }


def _stage(held: StageState) -> Tree:
    return {
        "stage": held.stage.number,
        "do": held.stage.doing.value,
        "group": held.stage.group,
        "value_si": held.stage.value.value if held.stage.value else None,
        "done": held.done,
        "turning_n_m": _si(held.value),
        "bolts": [
            {
                "bolt": b.bolt,
                "outcome": b.outcome,
                "angle_rad": b.angle,
                "torque_n_m": _si(b.torque),
                "wrench_set_n_m": _si(b.wrench_set),
                "entry": b.entry,
            }
            for b in held.bolts
        ],
    }


def _bolt(bolt: Bolt) -> Tree:
    return {
        "group": bolt.fastener.group,
        "joint": bolt.joint,
        "bolt": bolt.number,
        "fitted": bolt.condition,
        "tightened": bolt.total,
        "tightened_here": bolt.cycles,
        "measured": [
            {"what": m.what, "value_m": m.value.si, "entry": m.number} for m in bolt.measured
        ],
        "once_more": bolt.again.value,
        "why": bolt.why,
        "source": bolt.source,
    }


def _si(typed: Typed | None) -> float | None:
    return None if typed is None else typed.si
