"""The assembly run and the fasteners as pages show them."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.engine import Fastener
from bedplate.quantity import Dimension, show, show_range
from bedplate.shop.assembly import Assembly, StepState, Turning, assembly, counted_at
from bedplate.shop.counts import Ledger
from bedplate.shop.fasteners import Bolt, bolts
from bedplate.shop.model import State
from bedplate.shop.tightening.runs import joints
from bedplate.shop.tightening.words import joint_name
from bedplate.web.views.clamp import clamp_link
from bedplate.web.views.common import fine, when

PHASES = {"trial": "Trial assembly", "final": "Final assembly", "start": "To the first start"}


@dataclass(frozen=True, slots=True)
class JointLink:
    """A joint that a step needs tight."""

    plan: str
    joint: str
    name: str
    standing: str
    run: int | None


@dataclass(frozen=True, slots=True)
class StepView:
    """A step that is opened.

    :param counts: (item, way, what was counted last, what is expected)
    :param counted: what was counted so far of what the step looks at
    """

    state: StepState
    joints: tuple[JointLink, ...]
    counts: tuple[tuple[str, str, str, str], ...]
    turning: str
    at: str
    counted: tuple[Ledger, ...]


@dataclass(frozen=True, slots=True)
class AssemblyView:
    """The whole run, with one step opened."""

    run: Assembly
    phases: tuple[tuple[str, tuple[StepState, ...]], ...]
    opened: StepView | None
    turnings: tuple[tuple[Turning, str, str, int], ...]


def assembly_view(state: State, step: str) -> AssemblyView:
    """Return the assembly run; the step that is next is opened unless another is asked for."""
    run = assembly(state)
    chosen = run.steps.get(step) or run.next
    phases = tuple(
        (name, tuple(s for s in run.steps.values() if s.step.phase == phase))
        for phase, name in PHASES.items()
    )
    most = max((t.running for t in run.turnings), default=1.0)
    turnings = tuple(
        (
            t,
            show(t.running, Dimension.TORQUE, state.units),
            "" if t.rise is None else show(t.rise, Dimension.TORQUE, state.units, signed=True),
            round(100 * t.running / most),
        )
        for t in run.turnings
    )
    return AssemblyView(run, phases, _opened(state, run, chosen), turnings)


_WAYS = {
    "out": "came out",
    "in": "went in",
    "issued": "issued",
    "used": "used",
    "left": "left",
}


def _opened(state: State, run: Assembly, chosen: StepState | None) -> StepView | None:
    if chosen is None:
        return None
    known = joints(state)
    links = []
    for plan, number in chosen.step.joints:
        joint = known[plan, number]
        last = joint.runs[-1] if joint.runs else None
        name = joint_name(plan, joint.plan.per, number)
        standing = last.standing if last else "open"
        links.append(
            JointLink(plan, number, name, standing, joint.run.number if joint.run else None)
        )
    counts = []
    for count in chosen.step.counts:
        have = run.ledger.get(count.item)
        for way in count.ways:
            held = {
                "out": have.out, "in": have.back, "issued": have.issued, "used": have.used,
                "left": have.left,
            }[way] if have else None  # fmt: skip
            expected = "" if count.expected is None else str(count.expected)
            counts.append((count.item, way, "" if held is None else str(held), expected))
    turned = next((t for t in reversed(run.turnings) if t.after == chosen.step.id), None)
    return StepView(
        chosen,
        tuple(links),
        tuple(counts),
        turned.text if turned else "",
        when(chosen.at) if chosen.at else "",
        counted_at(run, chosen.step),
    )


@dataclass(frozen=True, slots=True)
class BoltRow:
    """One bolt in the table of fasteners."""

    bolt: Bolt
    verdict: str
    lengths: str
    stretch: str
    grown: str
    total: str


@dataclass(frozen=True, slots=True)
class GroupView:
    """A group of fasteners on one joint."""

    fastener: Fastener
    joint: str
    name: str
    facts: tuple[tuple[str, str], ...]
    rows: tuple[BoltRow, ...]
    clamp: str


def fasteners_view(state: State) -> tuple[GroupView, ...]:
    """Return every group with the life of its bolts."""
    found: dict[tuple[str, str], list[Bolt]] = {}
    for (group, joint, _), bolt in bolts(state).items():
        found.setdefault((group, joint), []).append(bolt)
    return tuple(
        GroupView(
            rows[0].fastener,
            joint,
            f"{group}, {rows[0].fastener.per.value} {joint}" if joint else group,
            _facts(state, rows[0].fastener),
            tuple(_row(state, bolt) for bolt in rows),
            next(
                (
                    link
                    for plan in state.engine.plans.values()
                    if (link := clamp_link(rows[0].fastener, plan))
                ),
                "",
            ),
        )
        for (group, joint), rows in found.items()
    )


def _facts(state: State, fastener: Fastener) -> tuple[tuple[str, str], ...]:
    where = f", {fastener.lubricate}" if fastener.lubricate else ""
    rows = [
        ("thread", fastener.thread),
        ("class", fastener.property_class),
        ("length", fastener.length.text if fastener.length else ""),
        ("lubricant", fastener.lubricant and f"{fastener.lubricant}{where}"),
        ("sealant", fastener.sealant),
        ("use", "once" if fastener.once else ""),
        ("tightenings", f"{fastener.cycles} in its life" if fastener.cycles else ""),
        ("free length", _range(state, fastener.lengths)),
        ("stretch", _range(state, fastener.stretch)),
        ("never", fastener.never),
        ("source", fastener.source),
    ]
    return tuple((name, text) for name, text in rows if text)


def _range(state: State, limits: object) -> str:
    from bedplate.quantity import Range

    if not isinstance(limits, Range):
        return ""
    return show_range(limits.low, limits.high, Dimension.LENGTH, state.units)


def _row(state: State, bolt: Bolt) -> BoltRow:
    def said(what: str) -> str:
        return " → ".join(m.value.text for m in bolt.measured if m.what == what)

    return BoltRow(
        bolt,
        bolt.again.value,
        said("length"),
        said("stretch"),
        "" if bolt.grown is None else fine(bolt.grown, state.units),
        f"{bolt.cycles} here" if bolt.total is None else str(bolt.total),
    )
