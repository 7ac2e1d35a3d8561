"""The assembly run: its steps as a graph, what each rests on, and what stands against it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from bedplate.engine import Gate
from bedplate.metrology import Verdict
from bedplate.quantity import Range
from bedplate.record.entries import (
    AssemblyStep,
    CautionShown,
    CrankTurned,
    GateWaived,
    Numbered,
    PartsCounted,
)
from bedplate.record.standing import standing
from bedplate.shop.counts import WAYS, Ledger, counts_of
from bedplate.shop.model import QuestionKind, State
from bedplate.shop.steps import Count, Step, steps_of
from bedplate.shop.stock import stock_of
from bedplate.shop.tightening.model import Run
from bedplate.shop.tightening.runs import joints
from bedplate.wording import capital

_OF_JOINTS = {QuestionKind.FASTENER}
"""Told by the joint itself, where a step needs it tight."""


@dataclass(frozen=True, slots=True)
class StepState:
    """A step in the light of the record.

    :param standing: 'to do', 'done', 'stale'
    :param against: what stands against it now, a sentence each
    :param cautioned: its caution was shown
    :param waived: why somebody went on although something stood against it, '' if nobody did
    :param waived_against: what stood against it then
    """

    step: Step
    standing: str
    against: tuple[str, ...]
    cautioned: bool
    entry: int | None = None
    at: str = ""
    by: str = ""
    proofs: tuple[str, ...] = ()
    remark: str = ""
    waived: str = ""
    waived_by: str = ""
    waived_against: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Turning:
    """A turning torque, and its rise over the one before.

    :param running: N·m; `rise` too, None for the first
    :param jump: it rose more than twice as much as it usually did
    """

    after: str
    name: str
    running: float
    breakaway: float | None
    text: str
    rise: float | None
    jump: bool
    number: int
    at: str
    by: str


@dataclass(frozen=True, slots=True)
class Assembly:
    """The whole assembly run.

    :param next: the first step that is not done
    """

    steps: dict[str, StepState]
    turnings: tuple[Turning, ...]
    ledger: dict[str, Ledger]
    next: StepState | None

    @property
    def waivers(self) -> tuple[StepState, ...]:
        """Return the steps that somebody went on with although something stood against them."""
        return tuple(state for state in self.steps.values() if state.waived)


def counted_at(run: Assembly, step: Step) -> tuple[Ledger, ...]:
    """Return the rows that a step shows: what it counts, or everything where it counts all."""
    if any(count.all_parts for count in step.counts):
        return tuple(run.ledger.values())
    items = dict.fromkeys(count.item for count in step.counts)
    return tuple(run.ledger[item] for item in items if item in run.ledger)


def assembly(state: State) -> Assembly:
    """Return the assembly run of a build."""
    reader = _Reader(state)
    states: dict[str, StepState] = {}
    for step in steps_of(state.engine).values():
        states[step.id] = reader.step(step, states)
    following = next((s for s in states.values() if s.standing != "done"), None)
    return Assembly(states, reader.turnings(), reader.ledger, following)


def before_joint(state: State, plan: str, joint: str) -> tuple[Step | None, tuple[str, ...]]:
    """Return the step that closes a joint for good, and what stands against beginning it."""
    steps = steps_of(state.engine)
    step = next(
        (s for s in steps.values() if s.phase != "trial" and (plan, joint) in s.joints), None
    )
    if step is None:
        return None, ()
    reader = _Reader(state)
    states: dict[str, StepState] = {}
    for one in steps.values():
        if one.id == step.id:
            break
        states[one.id] = reader.step(one, states)
    return step, reader.before(step, states)


@dataclass(slots=True)
class _Said:
    """What the record says of steps, withdrawals taken off."""

    done: dict[str, Numbered] = field(default_factory=dict)
    waived: dict[str, Numbered] = field(default_factory=dict)
    shown: dict[str, int] = field(default_factory=dict)
    turned: list[Numbered] = field(default_factory=list)
    counted: list[Numbered] = field(default_factory=list)


def said(entries: Iterable[Numbered]) -> _Said:
    """Sort what the record says of steps."""
    sorted_in = _Said()
    for numbered in standing(entries):
        entry = numbered.entry
        match entry:
            case AssemblyStep():
                sorted_in.done[entry.step] = numbered
            case GateWaived():
                sorted_in.waived[entry.step] = numbered
            case CautionShown():
                sorted_in.shown[entry.step] = numbered.number
            case CrankTurned():
                sorted_in.turned.append(numbered)
            case PartsCounted():
                sorted_in.counted.append(numbered)
            case _:
                pass
    return sorted_in


class _Reader:
    """Holds each step to the record."""

    def __init__(self, state: State) -> None:
        self.state = state
        self.said = said(state.entries)
        self.joints = joints(state)
        self.ledger = counts_of(self.said.counted, stock_of(state) if self.said.counted else None)

    def step(self, step: Step, before: dict[str, StepState]) -> StepState:
        """Return a step's state; the steps before it are known."""
        done, waiver = self.said.done.get(step.id), self.said.waived.get(step.id)
        waived = waiver.entry if waiver is not None else None
        against = self._against(step, before, done.number if done else None)
        let_be = waived.against if isinstance(waived, GateWaived) else ()
        standing = "to do"
        if done is not None:
            standing = "stale" if any(a not in let_be for a in against) else "done"
        entry = done.entry if done is not None else None
        return StepState(
            step=step,
            standing=standing,
            against=against,
            cautioned=not step.caution or step.id in self.said.shown,
            entry=done.number if done is not None else None,
            at=entry.at if entry is not None else "",
            by=entry.by if entry is not None else "",
            proofs=entry.proofs if isinstance(entry, AssemblyStep) else (),
            remark=entry.remark if isinstance(entry, AssemblyStep) else "",
            waived=waived.reason if isinstance(waived, GateWaived) else "",
            waived_by=waived.by if waived is not None else "",
            waived_against=let_be,
        )

    def before(self, step: Step, before: dict[str, StepState]) -> tuple[str, ...]:
        """Return what stands against beginning a step."""
        return (*self._steps_before(step, before, None), *self._gate(step))

    def _against(
        self, step: Step, before: dict[str, StepState], done: int | None
    ) -> tuple[str, ...]:
        found = (
            *self._steps_before(step, before, done),
            *self._gate(step),
            *self._runs(step, done),
            *self._fits(step),
            *self._end_float(step),
            *self._counts(step.counts, done),
            *self._turning(step, before),
        )
        return tuple(dict.fromkeys(found))

    def _steps_before(
        self, step: Step, before: dict[str, StepState], done: int | None
    ) -> Iterable[str]:
        for name in step.after:
            earlier = before[name]
            if earlier.standing == "stale":
                first = earlier.against[0]
                inherited = first.startswith("'") and " is stale: " in first
                yield first if inherited else f"'{earlier.step.name}' is stale: {first}"
            elif earlier.standing != "done":
                yield f"'{earlier.step.name}' is not done."
            elif done is not None and (earlier.entry or 0) > done:
                yield f"'{earlier.step.name}' was done again after it."

    def _gate(self, step: Step) -> Iterable[str]:
        if step.gate is None:
            return
        asked = [
            q for q in self.state.questions if q.gate is step.gate and q.kind not in _OF_JOINTS
        ]
        if len(asked) == 1:
            yield f"A question is open before {step.gate.value}: {asked[0].sentence}"
        elif asked:
            first = asked[0].sentence
            yield f"{len(asked)} questions are open before {step.gate.value}, the first: {first}"

    def _runs(self, step: Step, done: int | None) -> Iterable[str]:
        for plan, number in step.joints:
            joint = self.joints[plan, number]
            if step.phase == "trial":
                if not any(_complete(run) for run in joint.runs):
                    yield f"{capital(joint.name)} was not tightened by its whole plan."
                continue
            run = joint.run
            if run is None or not run.final:
                last = joint.runs[-1] if joint.runs else None
                loose = last is not None and last.final and last.standing == "loosened"
                yield f"{capital(joint.name)} {'was loosened' if loose else 'is not tightened'}."
            elif run.standing != "tight":
                why = run.block.sentence if run.block else "its plan is not finished."
                yield f"{capital(joint.name)}: {why}"
            elif done is not None and run.last_number > done:
                yield f"{capital(joint.name)} was tightened again after it."

    def _fits(self, step: Step) -> Iterable[str]:
        for fit in self.state.fits.values():
            if fit.fit.kind not in step.fits or fit.accepted:
                continue
            if fit.stale or fit.verdict is not Verdict.INSIDE:
                yield f"{fit.fit.name} is {'stale' if fit.stale else fit.verdict.value}."

    def _end_float(self, step: Step) -> Iterable[str]:
        if not step.end_float:
            return
        feature = self.state.features.get("end-float")
        runs = [
            j.run for j in self.joints.values()
            if j.plan.gate is Gate.CLOSING_MAINS and j.run is not None and j.run.final
        ]  # fmt: skip
        since = max((run.last_number for run in runs), default=0)
        if feature is None:
            return
        newer = {r.station for r in feature.readings if r.standing == "counts" and r.number > since}
        missing = [s for s in feature.feature.stations if s.id not in newer]
        if missing:
            names = ", ".join(s.name for s in missing)
            yield f"The end float was not measured since the mains were closed, at {names}."

    def _counts(self, counts: tuple[Count, ...], done: int | None) -> Iterable[str]:
        for count in counts:
            have = self.ledger.get(count.item)
            for way in count.ways:
                if have is None or have.counted(way) is None:
                    yield f"{capital(count.item)}: nobody counted how many {WAYS[way]}."
                    break
            else:
                if have is not None and have.fault:
                    yield f"{capital(have.fault)}."
                elif have is not None and count.expected not in {None, have.counted(count.ways[0])}:
                    got = have.counted(count.ways[0])
                    yield (
                        f"{capital(count.item)}: {got} {WAYS[count.ways[0]]}; the engine file "
                        f"says {count.expected}."
                    )
        for count in counts:
            for row in self._all_parts(count, done).values():
                amiss = row.fault or row.lacking or row.unlike_stock
                if amiss:
                    yield f"{capital(amiss)}."

    def _all_parts(self, count: Count, done: int | None) -> dict[str, Ledger]:
        if not count.all_parts:
            return {}
        if done is None or not count.so_far:
            return self.ledger
        return counts_of([numbered for numbered in self.said.counted if numbered.number < done])

    def _turning(self, step: Step, before: dict[str, StepState]) -> Iterable[str]:
        if not step.turning:
            return
        runs = [
            run
            for key in step.joints
            for run in self.joints[key].runs
            if run.final == (step.phase != "trial")
        ]
        since = max(
            [*(before[n].entry or 0 for n in step.after), *(run.last_number for run in runs)],
            default=0,
        )
        newer = [
            n for n in self.said.turned
            if isinstance(n.entry, CrankTurned) and n.entry.after == step.id and n.number > since
        ]  # fmt: skip
        if not newer:
            yield "The turning torque after it is not noted."
            return
        entry = newer[-1].entry
        if step.turning_limits is not None and isinstance(entry, CrankTurned):
            out = _outside(entry.running.si, step.turning_limits)
            if out:
                asked = step.turning_limits.text
                yield f"The crank turns at {entry.running.text}; {asked} is asked."

    def turnings(self) -> tuple[Turning, ...]:
        """Return the log of turning torque, with its rises."""
        steps = steps_of(self.state.engine)
        rows = [(n, e) for n in self.said.turned if isinstance(e := n.entry, CrankTurned)]
        rises = [
            None if i == 0 else e.running.si - rows[i - 1][1].running.si
            for i, (_, e) in enumerate(rows)
        ]
        return tuple(
            Turning(
                after=e.after,
                name=steps[e.after].name if e.after in steps else e.after,
                running=e.running.si,
                breakaway=None if e.breakaway is None else e.breakaway.si,
                text=e.running.text,
                rise=rise,
                jump=is_jump(rises, index),
                number=n.number,
                at=e.at,
                by=e.by,
            )
            for index, ((n, e), rise) in enumerate(zip(rows, rises, strict=True))
        )


def is_jump(rises: list[float | None], index: int) -> bool:
    """Tell whether a rise of the turning torque stands out.

    More than twice the middle one of the other rises that are above nought; two others at least are
    needed. A rule of ours, common practice, no source: it points to the step, not to the fault.
    """
    rise = rises[index]
    others = sorted(r for i, r in enumerate(rises) if i != index and r is not None and r > 0)
    if rise is None or rise <= 0 or len(others) < 2:
        return False
    return rise > 2 * others[len(others) // 2]


def _outside(value: float, limits: Range) -> bool:
    low, high = limits.low, limits.high
    return (low is not None and value < low) or (high is not None and value > high)


def _complete(run: Run) -> bool:
    return all(stage.done for stage in run.stages) and run.standing in {"tight", "loosened"}
