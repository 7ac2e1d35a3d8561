"""Bolts, and the runs that tighten them."""

from __future__ import annotations

import msgspec

from bedplate.record.entries.entry import Entry, Typed


class FastenersFitted(Entry, frozen=True, tag="fasteners fitted"):
    """Bolts that were put into holes: their life is counted from here.

    :param joint: number of the main or cylinder, '' for a group that is there once
    :param bolts: numbers of the holes
    :param condition: 'new' or 'used'
    :param cycles: tightenings they had before, None where nobody knows
    """

    group: str
    bolts: tuple[int, ...]
    condition: str
    joint: str = ""
    cycles: int | None = None
    identity: str = ""


class BoltMeasured(Entry, frozen=True, tag="bolt measured"):
    """A bolt's free length, its stretch, or its least diameter.

    :param what: 'length', 'stretch' or 'neck'
    """

    group: str
    bolt: int
    what: str
    value: Typed
    joint: str = ""
    gauge: str = ""


class OnBolts(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What is on the bolts of a group."""

    group: str
    lubricant: str


class TighteningBegun(Entry, frozen=True, tag="tightening begun"):
    """A tightening run of one joint begins; what is done in it refers to this entry.

    :param purpose: 'trial' or 'final'
    :param digest: SHA-256 of the plan as the engine file had it
    :param on_bolts: the lubricant of each group
    :param reads_in: unit that the wrench shows
    :param arm: from the handle to the square of the wrench
    :param adapter: from the square to the bolt, in line with the wrench; 0 is none
    :param reason: why something that stands against it was let be, '' if nothing did
    """

    plan: str
    purpose: str
    digest: str
    on_bolts: tuple[OnBolts, ...]
    joint: str = ""
    wrench: str = ""
    reads_in: str = ""
    arm: Typed | None = None
    adapter: Typed | None = None
    reason: str = ""


class BoltTightened(Entry, frozen=True, tag="bolt tightened"):
    """What was done to one bolt in one stage.

    :param run: id of its `tightening begun`
    :param stage: number of the stage in the plan
    :param outcome: 'done', 'part' (so many degrees of the angle) or 'unknown'
    :param angle: turned in this stage so far
    :param torque: read at the end
    :param wrench_set: what the wrench was set to
    """

    run: str
    stage: int
    group: str
    bolt: int
    outcome: str
    angle: Typed | None = None
    torque: Typed | None = None
    wrench_set: Typed | None = None
    remark: str = ""


class StageDone(Entry, frozen=True, tag="stage done"):
    """A stage of a run in which no bolt is turned: the crank was turned, or time has passed.

    :param value: the torque that turned the crank
    """

    run: str
    stage: int
    value: Typed | None = None
    remark: str = ""


class TighteningStopped(Entry, frozen=True, tag="tightening stopped"):
    """A run ends unfinished: the joint is backed off, and begins anew."""

    run: str
    reason: str


class JointLoosened(Entry, frozen=True, tag="joint loosened"):
    """A joint that was tight was opened: what rested on it is stale from here on."""

    plan: str
    reason: str
    joint: str = ""


class SealantApplied(Entry, frozen=True, tag="sealant applied"):
    """Sealant went on a joint: its open time runs from here."""

    plan: str
    what: str
    joint: str = ""
