"""What joints, bolts and figures of a tightening are called."""

from __future__ import annotations

from bedplate.engine import Engine, Fastener, Per, Plan
from bedplate.quantity import Dimension, Units, show
from bedplate.record.entries import Typed
from bedplate.wording import capital


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


def spoken(typed: Typed, dimension: Dimension) -> str:
    """Return what was typed; a bare number, whose unit the wrench gave, with its unit."""
    if any(mark.isalpha() or mark == "°" for mark in typed.text):
        return typed.text
    return show(typed.si, dimension, Units.METRIC)


def plan_title(plan: Plan, joint: str) -> str:
    """Return 'Frame', or 'Rods, cylinder 3'."""
    return capital(f"{plan.name}, {plan.per.value} {joint}" if joint else plan.name)
