"""The ledger: takes entries one by one, each once, and chains them."""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection, Iterator, Sequence
from datetime import UTC, datetime
from itertools import islice

import msgspec

from bedplate.errors import (
    ConflictError,
    DamagedError,
    EntryError,
    NotFoundError,
    StorageError,
)
from bedplate.record.canonical import encode_entry, link_of, row_of
from bedplate.record.entries import AnyEntry, Checkpoint, Numbered
from bedplate.record.limits import ENTRIES_COUNT, is_build, is_id
from bedplate.record.rules import check_references
from bedplate.record.shop_rules import Names
from bedplate.record.store import Store, StoredRow
from bedplate.record.verify import Verification, verify

_TRIES = 100
"""Each lost try means that another program's entry went in."""


class Ledger:
    """Appends to the records of a store and reads them.

    :param clock: time of an entry; it is written in UTC with milliseconds and never runs backwards
        within a build
    :param names: gives the ids of an engine file's features and fits, so that an entry can be held
        to them; None leaves them alone
    """

    def __init__(
        self, store: Store, clock: Callable[[], datetime], names: Names | None = None
    ) -> None:
        self._store = store
        self._clock = clock
        self._names = names
        self._lock = threading.Lock()

    def append(self, build: str, entry: AnyEntry) -> Numbered:
        """Take one entry; durable when this returns. `at` is set here, whatever the entry says.

        The same id with the same content gives the first answer again, marked as repeated.

        :raises ConflictError: the id was used for something else, or the build is there already
        :raises EntryError: the entry is not fit to be kept
        :raises NotFoundError: the build, or an entry it refers to, is not there
        :raises NotPossibleError: the record as it stands forbids it
        :raises StorageError: the disk is full, locked or read-only
        """
        return self.append_all(build, [entry])[0]

    def append_all(self, build: str, entries: Sequence[AnyEntry]) -> list[Numbered]:
        """Take several entries, all of them or none; see `append`."""
        if not is_build(build):
            sentence = f"'{build[:80]}' cannot name a build."
            hint = "Use up to 60 small letters, digits and hyphens, such as 'kestrel-2'."
            raise EntryError(sentence, hint=hint)
        with self._lock:
            return self._append(build, entries)

    def _append(self, build: str, entries: Sequence[AnyEntry]) -> list[Numbered]:
        lost: list[StoredRow] = []
        for _ in range(_TRIES):
            batch = _Batch(self._store, build, self._now(), self._names)
            answers = [batch.take(entry) for entry in entries]
            if lost and [(r.number, r.id) for r in lost] == [(r.number, r.id) for r in batch.rows]:
                sentence = (
                    f"The store refuses entry {lost[0].number} of '{build}' without a reason."
                )
                raise DamagedError(sentence, hint="Verify the record, or restore it from a copy.")
            try:
                if batch.rows:
                    self._store.append(batch.rows)
            except ConflictError:
                # Another program wrote in between: chain anew, or meet the same id.
                lost = batch.rows
                continue
            return answers
        sentence = f"Another program keeps writing to '{build}'; nothing was taken."
        raise StorageError(sentence, hint="Send it again.")

    def find(self, id: str) -> tuple[str, Numbered] | None:
        """Return the build and place of an entry, or None if the id was never used."""
        row = self._store.find(id) if is_id(id) else None
        return None if row is None else (row.build, _numbered(row))

    def entries(self, build: str, after: int = 0) -> list[Numbered]:
        """Return the entries of a build in order, those with a number greater than `after`.

        Each row is held to its hash and to the row before it.

        :raises NotFoundError: there is no such build
        :raises DamagedError: rows are missing or are not what was written
        """
        known = self.checkpoint(build)
        found: list[Numbered] = []
        previous: str | None = None if after else ""
        for row in self._store.rows(build, after):
            link = link_of(row)
            if row.number != after + len(found) + 1 or previous not in (None, link.previous):
                sentence = f"The record of '{build}' is broken before entry {row.number}."
                raise DamagedError(sentence, hint="Restore it from a copy or an export.")
            previous = row.hash
            found.append(Numbered(number=row.number, hash=row.hash, entry=link.entry))
        _check_end(build, known, after, found)
        return found

    def checkpoint(self, build: str) -> Checkpoint:
        """Return how many entries a build has, and the hash of the last.

        :raises NotFoundError: there is no such build
        """
        count, head = self._store.head(build)
        if not count:
            sentence = f"There is no build '{build[:80]}'."
            raise NotFoundError(sentence)
        return Checkpoint(count=count, head=head)

    def verify(self, build: str, checkpoint: Checkpoint | None = None) -> Verification:
        """Check a whole record with its pictures, against a printed checkpoint if there is one."""
        known = self.checkpoint(build)
        rows = self._store.rows(build)
        return verify(
            rows,
            checkpoint,
            picture=self._store.picture,
            kept=known,
            build=build,
            names=self._names,
        )

    def _now(self) -> str:
        moment = self._clock().astimezone(UTC)
        return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")


class _Batch:
    """Entries on their way in, chained behind the head as it was a moment ago."""

    def __init__(self, store: Store, build: str, now: str, names: Names | None) -> None:
        self._store = store
        self._build = build
        self._count, self._head = store.head(build)
        self._at = max(now, self._last_at())
        self._taken: dict[str, Numbered] = {}
        self.rows: list[StoredRow] = []
        self._names = names
        self._before: list[Numbered] | None = None

    def earlier(self) -> Iterator[Numbered]:
        """Yield every entry before the next one, in order."""
        if self._before is None:
            rows = islice(self._store.rows(self._build), self._count)
            self._before = [_numbered(row) for row in rows]
        yield from self._before
        yield from self._taken.values()

    def names(self, engine: str) -> Collection[str] | None:
        """Return the ids of an engine file's features and fits; None where nobody can say."""
        return self._names(engine) if self._names else None

    def take(self, entry: AnyEntry) -> Numbered:
        """Chain an entry, or return where it was chained before."""
        repeated = self._repeated(entry)
        if repeated is not None:
            return repeated
        number = self._count + len(self.rows) + 1
        if number > ENTRIES_COUNT:
            sentence = f"The record of '{self._build}' is full with {ENTRIES_COUNT} entries."
            raise EntryError(sentence)
        previous = self.rows[-1].hash if self.rows else self._head
        row = row_of(self._build, number, previous, msgspec.structs.replace(entry, at=self._at))
        check_references(self._build, number, entry, self)
        numbered = _numbered(row)
        self.rows.append(row)
        self._taken[row.id] = numbered
        return numbered

    def entry(self, id: str) -> Numbered | None:
        """Return an entry before the next one, in this build."""
        taken = self._taken.get(id)
        if taken is not None or not is_id(id):
            return taken
        row = self._store.find(id)
        if row is None or row.build != self._build:
            return None
        return _numbered(row)

    def hash_at(self, number: int) -> str | None:
        """Return the hash of an entry before the next one."""
        if number > self._count:
            return self.rows[number - self._count - 1].hash
        if number == self._count:
            return self._head
        row = next(iter(self._store.rows(self._build, number - 1)), None)
        return None if row is None else row.hash

    def _repeated(self, entry: AnyEntry) -> Numbered | None:
        first = self._taken.get(entry.id)
        if first is None:
            row = self._store.find(entry.id)
            if row is None:
                return None
            first = _numbered(row)
            if row.build != self._build:
                sentence = f"Id {entry.id} was used in the record of '{row.build}'."
                raise ConflictError(sentence, hint="Send the entry under a new id.")
        again = msgspec.structs.replace(entry, at=first.entry.at)
        if encode_entry(again) != encode_entry(first.entry):
            sentence = f"Id {entry.id} was used for entry {first.number}, which says otherwise."
            raise ConflictError(sentence, hint="Send the entry under a new id.")
        return msgspec.structs.replace(first, repeated=True)

    def _last_at(self) -> str:
        if not self._count:
            return ""
        last = next(iter(self._store.rows(self._build, self._count - 1)), None)
        if last is None or last.hash != self._head:
            sentence = f"The last entry of '{self._build}' is not what the store's list says."
            raise DamagedError(sentence, hint="Restore the record from a copy or an export.")
        return link_of(last).entry.at


def _numbered(row: StoredRow) -> Numbered:
    return Numbered(number=row.number, hash=row.hash, entry=link_of(row).entry)


def _check_end(build: str, known: Checkpoint, after: int, found: list[Numbered]) -> None:
    # Rows written since `known` was read may follow; none up to it may be missing.
    place = known.count - after
    if place > len(found) or (place > 0 and found[place - 1].hash != known.head):
        sentence = f"The record of '{build}' does not reach its last entry, {known.count}."
        raise DamagedError(sentence, hint="Restore it from a copy or an export.")
