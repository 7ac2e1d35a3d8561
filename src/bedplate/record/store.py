"""What a store is: the small protocol that every store keeps; one abstract suite tests them all."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol

import msgspec


class StoredRow(msgspec.Struct, frozen=True):
    """A line of a record as it lies in the store.

    :param body: canonical bytes (RFC 8785) of the link: build, number, previous hash, entry
    :param hash: SHA-256 of `body`, hex
    """

    build: str
    number: int
    id: str
    hash: str
    body: bytes


class BuildLine(msgspec.Struct, frozen=True):
    """A build in a store's list, known without reading its record.

    :param title: as the build was started
    :param first: `at` of the first entry
    :param last: `at` of the last
    """

    build: str
    title: str
    count: int
    first: str
    last: str


class Store(Protocol):
    """Rows and pictures, durable when a call returns. One writer at a time; readers never block."""

    def head(self, build: str) -> tuple[int, str]:
        """Return (count, hash of the last row), (0, '') for a build that is not there."""
        ...

    def append(self, rows: list[StoredRow]) -> None:
        """Add rows of one build behind its head, all or none, durable on return.

        :raises ConflictError: an id is taken, or the head is no longer where the rows were chained
        :raises StorageError: the disk is full, locked or read-only
        """
        ...

    def find(self, id: str) -> StoredRow | None:
        """Return the row with this entry id, in whichever build it lies."""
        ...

    def rows(self, build: str, after: int = 0) -> Iterator[StoredRow]:
        """Yield a build's rows in order, those with a number greater than `after`."""
        ...

    def builds(self) -> list[BuildLine]:
        """Return every build, the one with the newest last entry first, then by name."""
        ...

    def put_picture(self, sha256: str, data: bytes) -> None:
        """Keep a file under its hash; putting it again changes nothing.

        :raises EntryError: the hash is not the file's
        """
        ...

    def picture(self, sha256: str) -> bytes | None:
        """Return a file by its hash.

        :raises DamagedError: it is no longer the file that was put in
        """
        ...

    def settings(self) -> dict[str, str]:
        """Return the settings that keep the rows durable, as they read back."""
        ...

    def faults(self) -> list[str]:
        """Return what is wrong with the store itself; it reads all of it."""
        ...

    def close(self) -> None:
        """Let go of the files."""
        ...
