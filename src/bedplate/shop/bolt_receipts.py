"""What the use cases of a tightening run answer."""

from __future__ import annotations

import msgspec

from bedplate.engine import Doing, Engine
from bedplate.quantity import Dimension, Units, show, show_both
from bedplate.shop.receipts import Receipt
from bedplate.shop.tightening.model import Next, Run
from bedplate.shop.tightening.runs import wrench_setting
from bedplate.shop.tightening.words import bolt_name


class NextPull(msgspec.Struct, frozen=True, kw_only=True):
    """What comes next.

    :param bolt: 0 where the stage turns no bolt
    :param sets: what the wrench is set to, or how far is turned, as shown
    """

    stage: int
    stages: int
    group: str
    bolt: int
    name: str
    sets: str


class RunReceipt(Receipt, frozen=True, kw_only=True):
    """An entry of a run was taken, durably.

    :param run: number of the entry that began it
    :param standing: 'on', 'tight', 'stopped' or 'loosened'
    :param blocked: why it cannot go on, '' if it can
    """

    run: int
    standing: str
    done: str
    next: NextPull | None
    blocked: str
    to_do: str


def run_receipt(receipt: Receipt, run: Run, engine: Engine, units: Units, done: str) -> RunReceipt:
    """Return the answer to an entry of a run."""
    return RunReceipt(
        build=receipt.build,
        id=receipt.id,
        number=receipt.number,
        hash=receipt.hash,
        repeated=receipt.repeated,
        run=run.number,
        standing=run.standing,
        done=done,
        next=None if run.next is None or run.standing != "on" else _next(run, engine, units),
        blocked=run.block.sentence if run.block else "",
        to_do=run.block.to_do if run.block else "",
    )


def _next(run: Run, engine: Engine, units: Units) -> NextPull | None:
    following = run.next
    if following is None:
        return None
    stage = following.stage
    fastener = engine.fasteners.get(stage.group)
    name = (
        bolt_name(fastener, stage.group, run.joint, following.bolt)
        if following.bolt is not None
        else stage.doing.value
    )
    return NextPull(
        stage=stage.number,
        stages=len(run.stages),
        group=stage.group,
        bolt=following.bolt or 0,
        name=name,
        sets=asked_of(run, following, units)[0],
    )


def asked_of(run: Run, following: Next, units: Units) -> tuple[str, str]:
    """Return what is asked of the next bolt: on the wrench, and in the other units.

    A torque is given in the unit that the wrench shows, with its adapter taken off; of an angle,
    what is left of it.
    """
    stage, value = following.stage, following.stage.value
    if value is None:
        return "", ""
    if stage.doing in {Doing.TORQUE, Doing.DRAW_DOWN}:
        wanted = wrench_setting(value.value, run.begun)
        unit = run.begun.reads_in or value.unit
        shown = show(wanted, Dimension.TORQUE, units, unit=unit)
        others = [
            show(wanted, Dimension.TORQUE, units, unit=one)
            for one in ("N·m", "lbf·ft", "lbf·in")
            if one != unit
        ]
        return shown, " = ".join(others)
    if stage.doing in {Doing.ANGLE, Doing.LOOSEN}:
        left = value.value - following.angle
        return show(left, Dimension.ANGLE, units), ""
    both = show_both(value.value, value.dimension, units, resolution=value.resolution)
    first, _, rest = both.partition(" = ")
    return first, rest
