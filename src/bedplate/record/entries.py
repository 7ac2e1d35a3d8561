"""What can be in a record: a closed, tagged union of entries.

An entry is a fact as a person or a gauge gave it. It is never changed: a wrong reading is withdrawn
by a later entry, a part that is machined again gets a `reworked` entry. What a value was typed as
is kept beside its SI value.
"""

from __future__ import annotations

import msgspec


class Typed(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A quantity as typed, and the SI value it was read as."""

    text: str
    si: float


class Entry(
    msgspec.Struct, frozen=True, kw_only=True, tag_field="kind", forbid_unknown_fields=True
):
    """What every entry has.

    :param id: 128 bits made by the client, 32 lower-case hex digits; unique in the store
    :param at: when the program took it, UTC, '2026-11-25T07:00:00.000Z'
    :param by: who says so
    """

    id: str
    at: str
    by: str


class BuildStarted(Entry, frozen=True, tag="build started"):
    """First entry of every record: the engine file as it was, whole."""

    build: str
    title: str
    engine: str
    previous: str = ""


class EngineRevised(Entry, frozen=True, tag="engine revised"):
    """The engine file was changed, whole again, with the reason."""

    engine: str
    reason: str


class PartReceived(Entry, frozen=True, tag="part received"):
    """A physical part: which one it is, its marks, where it came from."""

    part: str
    identity: str
    marks: str = ""
    supplier: str = ""


class GaugeRegistered(Entry, frozen=True, tag="gauge registered"):
    """A gauge as this build knows it; a later entry for the same gauge replaces it from there on.

    :param gauge: short id, 'mic-50-75'
    :param gauge_kind: 'outside micrometer', 'bore gauge', ... (VIM: measuring instrument)
    :param comparator: True if it shows a deviation from a setting
    :param reads_in: unit of a bare number it sends or shows, 'mm'; '' if the unit must be typed
    :param bias: error of indication (VIM 4.20), indication less true value
    :param expanded_uncertainty: of its indication, from calibration, common to all its readings
    :param coverage: k of that expanded uncertainty
    :param repeatability: standard deviation of one reading in these hands
    :param dial_turn: indication of one turn of the dial or thimble, for doubts
    :param source: where uncertainty and repeatability come from
    """

    gauge: str
    name: str
    gauge_kind: str
    comparator: bool
    resolution: Typed
    expanded_uncertainty: Typed
    repeatability: Typed
    reads_in: str = ""
    bias: Typed | None = None
    coverage: float = 2.0
    dial_turn: Typed | None = None
    expansion: Typed | None = None
    calibrated: str = ""
    due: str = ""
    source: str = ""


class ComparatorSet(Entry, frozen=True, tag="comparator set"):
    """A comparator zeroed on a master, or between the anvils of another gauge.

    :param size: size of the master, or what the other gauge showed
    :param on_gauge: id of the other gauge; '' for a master
    :param size_uncertainty: expanded (k = 2), of a master; None with another gauge
    :param found: what it showed on that same size before it was set again: the drift
    """

    gauge: str
    size: Typed
    on_gauge: str = ""
    master: str = ""
    size_uncertainty: Typed | None = None
    found: Typed | None = None
    temperature: Typed | None = None


class Reading(Entry, frozen=True, tag="reading"):
    """One value typed or sent by a gauge at a station.

    :param value: the indication; with a comparator the deviation from its setting, + is bigger
    :param setting: id of the `comparator set` entry it rests on; '' for an absolute gauge
    :param condition: state of the parts when it was taken, in the engine file's words
    """

    feature: str
    station: str
    gauge: str
    value: Typed
    setting: str = ""
    part_temperature: Typed | None = None
    gauge_temperature: Typed | None = None
    condition: str = ""


class Withdrawn(Entry, frozen=True, tag="withdrawn"):
    """An earlier entry is taken back, with the reason; it stays in the record."""

    target: str
    reason: str


class Reworked(Entry, frozen=True, tag="reworked"):
    """A part was machined again: what was known of these features is stale from here on."""

    part: str
    features: tuple[str, ...]
    operation: str


class Accepted(Entry, frozen=True, tag="accepted by decision"):
    """A person accepts a fit as it stands, with the reason.

    :param verdict: the verdict that was accepted: 'outside', 'undecided', 'not measured'
    :param least: SI value shown when it was accepted, None if not measured
    """

    fit: str
    verdict: str
    reason: str
    least: float | None = None
    greatest: float | None = None


class Note(Entry, frozen=True, tag="note"):
    """Words about a part, feature or fit, or about the build ('')."""

    about: str
    text: str


class Picture(Entry, frozen=True, tag="picture"):
    """A picture; the file itself lies in the store under its SHA-256."""

    about: str
    sha256: str
    media_type: str
    caption: str = ""


class StepDone(Entry, frozen=True, tag="step done"):
    """A step of the work, done."""

    step: str
    remark: str = ""


class Signed(Entry, frozen=True, tag="signed"):
    """A person stands for the record up to here.

    :param count: number of entries signed, all before this one
    :param head: hash of the last of them
    """

    role: str
    statement: str
    count: int
    head: str


class Measure(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One measured figure of a part on hand: 'wall', 'size', 'weight'.

    :param uncertainty: expanded, k = 2; None if nobody said
    """

    name: str
    value: Typed
    uncertainty: Typed | None = None


class OnHand(Entry, frozen=True, tag="part on hand"):
    """A part, or several that are alike, on the bench; again for an identity replaces it.

    :param part: what it is: 'main shell', 'piston'
    :param count: how many are alike under this identity
    :param half: where a half shell goes, 'upper' or 'lower'; '' for either
    :param grooved: 'yes' or 'no'; '' where it is no matter
    :param coated: 'yes' or 'no'; '' if not said
    :param measured_over: 'bare metal' or 'coating', '' if not said
    """

    part: str
    identity: str
    count: int
    grade: str = ""
    marks: str = ""
    supplier: str = ""
    batch: str = ""
    half: str = ""
    grooved: str = ""
    tang: str = ""
    coated: str = ""
    measured_over: str = ""
    undersize: Typed | None = None
    measures: tuple[Measure, ...] = ()


class PartsUsed(Entry, frozen=True, tag="parts used"):
    """Parts on hand that went into the engine, or elsewhere.

    :param identity: of the part on hand
    :param place: where they went: 'main 3 upper', 'scrap'
    """

    identity: str
    count: int
    place: str


class OrderRow(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One row of a shop order.

    :param row: short name, the same on the order, the return sheet and the check-in
    :param station: station of work, one page each
    :param quantity: 'length', 'surface', 'angle' or 'words'
    :param feature: id of the feature it is about, '' for none
    :param form: what of it: 'size', 'out-of-round', 'taper', '' for none
    :param aim: what the shop aims for; m or rad
    :param words: what is asked in words, and what a figure alone would not say
    :param condition: the state in which the figure holds
    :param basis: what it was worked out from, '' for none
    :param waits_for: why it cannot be done yet, '' if it can
    """

    row: str
    station: str
    name: str
    quantity: str
    feature: str = ""
    form: str = ""
    low: float | None = None
    aim: float | None = None
    high: float | None = None
    words: str = ""
    condition: str = ""
    basis: str = ""
    waits_for: str = ""


class Sent(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Parts that go out, or came back: how many of what."""

    part: str
    count: int


class OrderIssued(Entry, frozen=True, tag="shop order issued"):
    """An order to a machine shop, whole, as it was printed.

    :param order: its number
    :param revision: 1, 2, 3, …
    :param derived: SHA-256 of what its rows were worked out from
    :param conditions: sentences for a station: 'boring and honing: torque plate …'
    :param back: what must come back with the parts
    """

    order: str
    revision: int
    shop: str
    derived: str
    rows: tuple[OrderRow, ...]
    conditions: tuple[str, ...] = ()
    sent: tuple[Sent, ...] = ()
    back: tuple[str, ...] = ()


class ReturnRow(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One row of a shop's return sheet.

    :param value: as the shop wrote it, None where it gave none
    :param uncertainty: expanded, k = 2, as the shop states it
    :param done: 'yes', 'no', or '' where it is a measurement
    """

    row: str
    value: Typed | None = None
    uncertainty: Typed | None = None
    condition: str = ""
    gauge: str = ""
    temperature: Typed | None = None
    done: str = ""
    remark: str = ""


class ReturnTaken(Entry, frozen=True, tag="shop return taken"):
    """A shop's return sheet, as it was handed over; a later one for the order adds to it."""

    order: str
    revision: int
    rows: tuple[ReturnRow, ...]
    returned: tuple[Sent, ...] = ()


class RowWaived(Entry, frozen=True, tag="order row waived"):
    """A person lets a row of an order be, with the reason."""

    order: str
    row: str
    reason: str


class Placed(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One part in one place.

    :param place: 'main 3 upper', 'piston 1'
    """

    place: str
    identity: str


class Prediction(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a selection predicts of a fit, m; `expanded` has the build's coverage factor."""

    fit: str
    value: float
    expanded: float


class SelectionMade(Entry, frozen=True, tag="selection made"):
    """Which part goes where, as it was chosen.

    :param what: 'main shells', 'pistons'
    :param derived: SHA-256 of what it was worked out from
    :param proof: sentence on how good it is known to be
    :param basis: what it was worked out from, a line each
    """

    what: str
    derived: str
    proof: str
    placed: tuple[Placed, ...]
    predicted: tuple[Prediction, ...] = ()
    basis: tuple[str, ...] = ()


class RingFiled(Entry, frozen=True, tag="ring filed"):
    """A ring's ends were filed: what was known of its gap is stale from here on.

    :param feature: id of the gap, 'top-ring-gap-3'
    :param bag: what is written on the ring's bag
    """

    feature: str
    strokes: int
    bag: str = ""


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


class GateWaived(Entry, frozen=True, tag="gate waived"):
    """A person goes on with a step although something stands against it.

    :param against: what stood against it
    """

    step: str
    reason: str
    against: tuple[str, ...] = ()


class Weighed(Entry, frozen=True, tag="weighed"):
    """What a part weighs; again for the same part and number it replaces the one before.

    :param part: 'piston', 'pin', 'locks', 'rings', 'small end', 'big end', 'rod', 'shells', 'crank'
    :param number: label of the cylinder, '' where all are alike
    :param uncertainty: of the scale, expanded, k = 2; None if nobody said
    """

    part: str
    weight: Typed
    number: str = ""
    uncertainty: Typed | None = None
    scale: str = ""


class CardLine(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One line of a balance card.

    :param times: how often it is in the sum: 2 for two rods, 0.5 for half of it
    """

    name: str
    value: Typed
    times: float


class PlaneResidual(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The unbalance left in one plane."""

    plane: str
    amount: Typed
    angle: Typed | None = None


class BalanceCardTaken(Entry, frozen=True, tag="balance card taken"):
    """A balancing shop's card, as it was handed over.

    :param bob_weight: that the card gives for one throw
    :param mass: of the crank as it was balanced, without bob-weights
    :param speed: that the residual is judged at
    :param grade: that the card claims, mm/s
    :param on_crank: parts that were on the crank
    """

    shop: str
    residual: tuple[PlaneResidual, ...]
    lines: tuple[CardLine, ...] = ()
    bob_weight: Typed | None = None
    mass: Typed | None = None
    speed: Typed | None = None
    grade: float | None = None
    on_crank: tuple[str, ...] = ()
    machine: str = ""


class TurningPart(Entry, frozen=True, tag="turning part"):
    """How a part that turns with the crank stands in its balance.

    :param standing: 'chosen', 'balanced with the crank', 'balanced on its own', 'matched',
        'not fitted'
    :param residual: unbalance left in it
    :param reason: why it is not fitted; which part it was matched to
    """

    part: str
    standing: str
    identity: str = ""
    residual: Typed | None = None
    reason: str = ""


class BalanceClosed(Entry, frozen=True, tag="balance closed"):
    """A person calls all that turns balanced.

    :param parts: everything that turns, as it was then
    :param derived: SHA-256 of how each of them stood
    """

    statement: str
    parts: tuple[str, ...]
    derived: str


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
)


class Numbered(msgspec.Struct, frozen=True, omit_defaults=True):
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
