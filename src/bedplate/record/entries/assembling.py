"""The assembly, step by step."""

from __future__ import annotations

from bedplate.record.entries.entry import Entry, Typed


class CautionShown(Entry, frozen=True, tag="caution shown"):
    """A caution was shown before a step, and a person went on."""

    step: str
    text: str


class PartsCounted(Entry, frozen=True, tag="parts counted"):
    """How many were counted.

    :param way: 'out', 'in', 'issued', 'used' or 'left'
    """

    item: str
    way: str
    count: int


class CrankTurned(Entry, frozen=True, tag="crank turned"):
    """The torque that turns the crank, after a step.

    :param running: as it turns
    :param breakaway: as it begins to turn
    """

    after: str
    running: Typed
    breakaway: Typed | None = None


class AssemblyStep(Entry, frozen=True, tag="assembly step"):
    """A step of the assembly, done.

    :param proofs: what was seen, in the words of the page
    """

    step: str
    proofs: tuple[str, ...] = ()
    remark: str = ""
