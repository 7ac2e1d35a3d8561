"""A build and its engine file; parts, words and pictures; who signs for it."""

from __future__ import annotations

from bedplate.record.entries.entry import Entry


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


class Signed(Entry, frozen=True, tag="signed", omit_defaults=True):
    """A person stands for the record up to here.

    :param count: number of entries signed, all before this one
    :param head: hash of the last of them
    :param balance: how the balance stood then, in the ledger's own words; '' is not written
    """

    role: str
    statement: str
    count: int
    head: str
    balance: str = ""
