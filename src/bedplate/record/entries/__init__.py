"""What can be in a record: a closed, tagged union of entries.

An entry is a fact as a person or a gauge gave it. It is never changed: a wrong reading is withdrawn
by a later entry, a part that is machined again gets a `reworked` entry. What a value was typed as
is kept beside its SI value.
"""

from __future__ import annotations

import msgspec

from bedplate.record.entries.assembling import AssemblyStep, CautionShown, CrankTurned, PartsCounted
from bedplate.record.entries.balancing import (
    BalanceCardTaken,
    BalanceClosed,
    CardLine,
    PlaneResidual,
    TorsionMeasured,
    TurningPart,
    Weighed,
)
from bedplate.record.entries.building import (
    BuildStarted,
    EngineRevised,
    Note,
    PartReceived,
    Picture,
    Signed,
    StepDone,
)
from bedplate.record.entries.deciding import Accepted, GateWaived, Reworked, RowWaived, Withdrawn
from bedplate.record.entries.entry import Entry, Typed
from bedplate.record.entries.machine_shop import OrderIssued, OrderRow, ReturnRow, ReturnTaken, Sent
from bedplate.record.entries.measuring import (
    ComparatorSet,
    GaugeRegistered,
    Reading,
    TraceTaken,
)
from bedplate.record.entries.selecting import Placed, Prediction, RingFiled, SelectionMade
from bedplate.record.entries.stock import Measure, OnHand, PartsUsed
from bedplate.record.entries.tightening import (
    BoltMeasured,
    BoltTightened,
    FastenersFitted,
    JointLoosened,
    OnBolts,
    SealantApplied,
    StageDone,
    TighteningBegun,
    TighteningStopped,
)

__all__ = [
    "Accepted",
    "AnyEntry",
    "AssemblyStep",
    "BalanceCardTaken",
    "BalanceClosed",
    "BoltMeasured",
    "BoltTightened",
    "BuildStarted",
    "CardLine",
    "CautionShown",
    "Checkpoint",
    "ComparatorSet",
    "CrankTurned",
    "EngineRevised",
    "Entry",
    "FastenersFitted",
    "GateWaived",
    "GaugeRegistered",
    "JointLoosened",
    "Measure",
    "Note",
    "Numbered",
    "OnBolts",
    "OnHand",
    "OrderIssued",
    "OrderRow",
    "PartReceived",
    "PartsCounted",
    "PartsUsed",
    "Picture",
    "Placed",
    "PlaneResidual",
    "Prediction",
    "Reading",
    "ReturnRow",
    "ReturnTaken",
    "Reworked",
    "RingFiled",
    "RowWaived",
    "SealantApplied",
    "SelectionMade",
    "Sent",
    "Signed",
    "StageDone",
    "StepDone",
    "TighteningBegun",
    "TighteningStopped",
    "TorsionMeasured",
    "TraceTaken",
    "TurningPart",
    "Typed",
    "Weighed",
    "Withdrawn",
]

AnyEntry = (
    BuildStarted
    | EngineRevised
    | PartReceived
    | GaugeRegistered
    | ComparatorSet
    | Reading
    | Withdrawn
    | Reworked
    | Accepted
    | Note
    | Picture
    | StepDone
    | Signed
    | OnHand
    | PartsUsed
    | OrderIssued
    | ReturnTaken
    | RowWaived
    | SelectionMade
    | RingFiled
    | FastenersFitted
    | BoltMeasured
    | TighteningBegun
    | BoltTightened
    | StageDone
    | TighteningStopped
    | JointLoosened
    | SealantApplied
    | CautionShown
    | PartsCounted
    | CrankTurned
    | AssemblyStep
    | GateWaived
    | Weighed
    | BalanceCardTaken
    | TurningPart
    | BalanceClosed
    | TraceTaken
    | TorsionMeasured
)


class Numbered(msgspec.Struct, frozen=True, omit_defaults=True, gc=False):
    """An entry in its place in a record.

    :param number: 1, 2, 3, ...
    :param hash: SHA-256 that ends the chain at this entry, hex
    :param repeated: it was sent again; this is the place it was given the first time
    """

    number: int
    hash: str
    entry: AnyEntry
    repeated: bool = False


class Checkpoint(msgspec.Struct, frozen=True):
    """What is printed on paper: how many entries, and the hash of the last."""

    count: int
    head: str
