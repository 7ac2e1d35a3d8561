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
