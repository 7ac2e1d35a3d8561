"""Checks a whole record: what is in it, and that nothing was changed, left out or put in."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass

from bedplate.errors import BedplateError, DamagedError, EntryError
from bedplate.record.canonical import Link, digest, strict_decode
from bedplate.record.entries import Checkpoint, Numbered, Picture
from bedplate.record.rules import check_references
from bedplate.record.shop_rules import Names
from bedplate.record.store import StoredRow

FAULTS_SHOWN = 100
"""A record that is broken in more places than this is not looked at further."""


@dataclass(frozen=True, slots=True)
class Verification:
    """What verifying a record found.

    :param ok: there are no faults
    :param count: rows found
    :param head: hash of the last of them as it stands in the store
    :param faults: one sentence each
    """

    ok: bool
    count: int
    head: str
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """A fault at a place in the record, `number` 0 for the record as a whole."""

    number: int
    sentence: str

    def __str__(self) -> str:
        """Return the sentence with its place."""
        return f"Entry {self.number}: {self.sentence}" if self.number else self.sentence


class Chain:
    """A record as it is read row by row, each held to all before it."""

    def __init__(self, names: Names | None = None) -> None:
        """Take what reads the names of an engine file; without it names are not looked at."""
        self.build = ""
        self.hashes: list[str] = []
        self.pictures: dict[str, int] = {}
        self._entries: dict[str, Numbered] = {}
        self._last_at = ""
        self._names = names
        self._read: dict[str, Collection[str] | None] = {}

    def earlier(self) -> Iterable[Numbered]:
        """Return every entry that was read already, in order."""
        return self._entries.values()

    def names(self, engine: str) -> Collection[str] | None:
        """Return the ids of an engine file's features and fits; None where nobody can say."""
        if engine not in self._read:
            self._read[engine] = self._names(engine) if self._names else None
        return self._read[engine]

    def entry(self, id: str) -> Numbered | None:
        """Return an entry that was read already."""
        return self._entries.get(id)

    def hash_at(self, number: int) -> str | None:
        """Return the hash of an entry that was read already."""
        return self.hashes[number - 1] if 1 <= number <= len(self.hashes) else None

    def take(self, row: StoredRow) -> Iterator[Finding]:
        """Yield what is wrong with the next row."""
        place = len(self.hashes) + 1
        previous = self.hashes[-1] if self.hashes else ""
        self.hashes.append(row.hash)
        self.build = self.build or row.build
        if row.number != place:
            yield Finding(place, f"it has the number {row.number}.")
        if digest(row.body) != row.hash:
            yield Finding(place, "its hash is not the SHA-256 of its body.")
        try:
            link = strict_decode(row.body)
        except EntryError as error:
            yield Finding(place, error.sentence)
            return
        yield from self._links(place, previous, row, link)
        yield from self._says(place, row, link)

    def _links(self, place: int, previous: str, row: StoredRow, link: Link) -> Iterator[Finding]:
        if link.previous != previous:
            yield Finding(place, "it does not follow the entry before it.")
        if link.number != place:
            yield Finding(place, f"its body says that it is number {link.number}.")
        if not self.build == link.build == row.build:
            yield Finding(place, f"it belongs to the record of '{link.build}'.")
        if link.entry.id != row.id:
            yield Finding(place, f"its body has the id {link.entry.id}, the store {row.id}.")

    def _says(self, place: int, row: StoredRow, link: Link) -> Iterator[Finding]:
        entry = link.entry
        twin = self._entries.get(entry.id)
        if twin:
            yield Finding(place, f"its id is that of entry {twin.number}.")
        if entry.at < self._last_at:
            yield Finding(place, "it was taken before the entry that stands before it.")
        try:
            check_references(self.build, place, entry, self)
        except BedplateError as error:
            yield Finding(place, error.sentence)
        self._last_at = max(self._last_at, entry.at)
        self._entries.setdefault(entry.id, Numbered(number=place, hash=row.hash, entry=entry))
        if isinstance(entry, Picture):
            self.pictures.setdefault(entry.sha256, place)

    def reaches(self, checkpoint: Checkpoint, whose: str) -> Iterator[Finding]:
        """Yield what a checkpoint says against this record."""
        count, head = checkpoint.count, "".join(checkpoint.head.split()).lower()
        if count < 1:
            yield Finding(0, f"A checkpoint of {count} entries proves nothing.")
        elif count > len(self.hashes):
            missing = f"{len(self.hashes)} entries, but {whose} says {count}"
            yield Finding(0, f"The record was cut short: it has {missing}.")
        elif self.hashes[count - 1] != head:
            yield Finding(
                0, f"The record was rewritten: its entry {count} is not the one of {whose}."
            )


def verify(
    rows: Iterable[StoredRow],
    checkpoint: Checkpoint | None = None,
    *,
    picture: Callable[[str], bytes | None] | None = None,
    kept: Checkpoint | None = None,
    build: str = "",
    names: Names | None = None,
) -> Verification:
    """Check a record from its first row to its last.

    Checks numbers, hashes, chain, canonical form, ids, moments and references. The chain alone
    shows neither a cut end nor a record written anew from some place on: a checkpoint does, if it
    lay where nobody could change it, such as on paper.

    :param checkpoint: a printed checkpoint of this record
    :param picture: gives the bytes of a picture by its hash; pictures are not looked at without it
    :param kept: count and head as the store's own list has them
    :param build: name the record must have, '' for any
    :param names: gives the ids of an engine file's features and fits; ids are not looked at without
    """
    chain = Chain(names)
    chain.build = build
    findings: list[Finding] = []
    for finding in _findings(chain, rows, checkpoint, picture, kept):
        findings.append(finding)
        if len(findings) == FAULTS_SHOWN:
            findings.append(Finding(0, f"After {FAULTS_SHOWN} faults no more were looked for."))
            break
    return Verification(
        ok=not findings,
        count=len(chain.hashes),
        head=chain.hashes[-1] if chain.hashes else "",
        faults=tuple(str(finding) for finding in findings),
    )


def picture_findings(chain: Chain, picture: Callable[[str], bytes | None]) -> Iterator[Finding]:
    """Yield which pictures of a record are missing or changed."""
    for sha256, number in chain.pictures.items():
        try:
            data = picture(sha256)
        except DamagedError:
            data = b""
        if data is None:
            yield Finding(number, "its picture is missing.")
        elif digest(data) != sha256:
            yield Finding(number, "its picture is not the one that was taken.")


def _findings(
    chain: Chain,
    rows: Iterable[StoredRow],
    checkpoint: Checkpoint | None,
    picture: Callable[[str], bytes | None] | None,
    kept: Checkpoint | None,
) -> Iterator[Finding]:
    try:
        for row in rows:
            yield from chain.take(row)
        if not chain.hashes:
            yield Finding(0, "The record has no entries.")
        if picture is not None:
            yield from picture_findings(chain, picture)
    except DamagedError as error:
        yield Finding(0, error.sentence)
    if kept is not None:
        yield from chain.reaches(kept, "the store's list of builds")
    if checkpoint is not None:
        yield from chain.reaches(checkpoint, "the printed checkpoint")
