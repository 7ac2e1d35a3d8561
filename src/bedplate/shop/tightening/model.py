"""What is known of a tightening: steps, stages, runs, joints."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.engine import Plan, Stage
from bedplate.record.entries import (
    TighteningBegun,
    Typed,
)

TRIAL, FINAL = "trial", "final"


TO_DO, DONE, PART, UNKNOWN = "to do", "done", "part", "unknown"


@dataclass(frozen=True, slots=True)
class BoltStep:
    """One bolt in one stage.

    :param outcome: 'to do', 'done', 'part' or 'unknown'
    :param angle: turned in this stage so far, rad
    :param torque: read at the end
    :param entry: number of the entry that says so, None if none does
    """

    bolt: int
    outcome: str
    angle: float | None = None
    torque: Typed | None = None
    wrench_set: Typed | None = None
    entry: int | None = None
    at: str = ""
    by: str = ""
    remark: str = ""


@dataclass(frozen=True, slots=True)
class StageState:
    """One stage of a run.

    :param bolts: in the maker's order; empty where no bolt is turned
    :param value: the torque that turned the crank
    :param outside: it is more, or less, than is expected, and nobody gave a reason
    """

    stage: Stage
    bolts: tuple[BoltStep, ...]
    done: bool
    value: Typed | None = None
    entry: int | None = None
    at: str = ""
    by: str = ""
    remark: str = ""
    outside: bool = False

    @property
    def begun(self) -> bool:
        """Tell whether anything was done in it."""
        return self.done or any(step.outcome != TO_DO for step in self.bolts)

    @property
    def left(self) -> tuple[int, ...]:
        """Return the bolts that are not done."""
        return tuple(step.bolt for step in self.bolts if step.outcome != DONE)


@dataclass(frozen=True, slots=True)
class Next:
    """What comes next in a run.

    :param bolt: None where the stage turns no bolt
    :param place: of the bolt in the stage's order, from 1
    """

    stage: Stage
    bolt: int | None
    place: int
    places: int
    angle: float = 0.0


@dataclass(frozen=True, slots=True)
class Block:
    """Why a run cannot go on.

    :param code: 'changed', 'unknown', 'gap', 'one pull', 'figure', 'order', 'sealant' or 'turning'
    """

    code: str
    sentence: str
    to_do: str


@dataclass(frozen=True, slots=True)
class Clock:
    """Sealant that is on a joint.

    :param until: end of its open time, None where the file gives none
    """

    what: str
    at: str
    number: int
    open: float | None


@dataclass(frozen=True, slots=True)
class Odd:
    """A bolt whose final torque stands apart from its group's."""

    stage: int
    group: str
    bolt: int
    torque: float
    middle: float


@dataclass(frozen=True, slots=True)
class Run:
    """A tightening run.

    :param standing: 'on', 'tight', 'stopped' or 'loosened'
    :param ended: number of the entry that ended it
    :param why: reason why it was stopped or loosened
    """

    id: str
    number: int
    plan: str
    joint: str
    begun: TighteningBegun
    stages: tuple[StageState, ...]
    standing: str
    block: Block | None
    next: Next | None
    clock: Clock | None
    odd: tuple[Odd, ...]
    ended: int | None
    why: str
    last: str
    last_number: int

    @property
    def final(self) -> bool:
        """Tell whether it is for good."""
        return self.begun.purpose == FINAL


@dataclass(frozen=True, slots=True)
class Joint:
    """A plan on one joint, with its runs, the last one last."""

    plan: Plan
    joint: str
    name: str
    runs: tuple[Run, ...]

    @property
    def run(self) -> Run | None:
        """Return the run that stands, None if the joint is open."""
        last = self.runs[-1] if self.runs else None
        return last if last is not None and last.standing in {"on", "tight"} else None

    @property
    def tight(self) -> bool:
        """Tell whether it is tight."""
        return self.run is not None and self.run.standing == "tight"
