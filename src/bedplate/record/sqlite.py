"""The store in one SQLite file.

Write-ahead log with synchronous=FULL: what was committed outlives a power cut. One connection
writes, behind a lock; readers have their own and never wait for it.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

import apsw
import msgspec

from bedplate.errors import ConflictError, DamagedError, EntryError, StorageError
from bedplate.record.canonical import digest
from bedplate.record.limits import PICTURE_BYTES
from bedplate.record.store import BuildLine, StoredRow

APPLICATION_ID = int.from_bytes(b"Bdpl")
SCHEMA_VERSION = 1

SAFE_SQLITE = (3, 51, 3)
"""Before it, a write-ahead log could be damaged when two connections wrote and checkpointed at
once: sqlite.org/wal.html, "WAL-reset bug"."""

BUSY_MILLISECONDS = 5_000
_ROWS_AT_ONCE = 2_000

_SCHEMA = """
CREATE TABLE build (
  name TEXT NOT NULL PRIMARY KEY,
  title TEXT NOT NULL,
  count INTEGER NOT NULL,
  head TEXT NOT NULL,
  first_at TEXT NOT NULL,
  last_at TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE entry (
  build TEXT NOT NULL REFERENCES build (name),
  number INTEGER NOT NULL,
  id TEXT NOT NULL UNIQUE,
  hash TEXT NOT NULL,
  body BLOB NOT NULL,
  PRIMARY KEY (build, number)
) STRICT, WITHOUT ROWID;
CREATE TABLE picture (
  sha256 TEXT NOT NULL PRIMARY KEY,
  data BLOB NOT NULL
) STRICT;
"""

_ASKED = {
    "journal_mode": "wal",
    "synchronous": 2,
    "foreign_keys": 1,
    "fullfsync": 1,
    "checkpoint_fullfsync": 1,
    "cell_size_check": 1,
    "trusted_schema": 0,
}
"""Settings, and what they must read back as. fullfsync matters on macOS only."""


_RESTORE = "Restore it from a copy, or import the exports into a new data folder."


class _Said(msgspec.Struct, frozen=True):
    at: str
    title: str = ""


class _Body(msgspec.Struct, frozen=True):
    entry: _Said
    previous: str


_Kind = TypeVar("_Kind")
_BODY = msgspec.json.Decoder(_Body)


class SqliteStore:
    """Rows and pictures in a SQLite file, made with its folder if it is not there.

    Safe to use from several threads and from several programs at once.

    :raises StorageError: the file cannot be opened or written, or a setting does not hold there
    :raises DamagedError: the file is no store of this program, or is not whole
    """

    def __init__(self, path: Path | str) -> None:
        self.path = Path(path)
        self._writing = threading.Lock()
        self._pooling = threading.Lock()
        self._readers: list[apsw.Connection] = []
        self._closed = False
        if _sqlite_version() < SAFE_SQLITE:
            sentence = f"SQLite {apsw.sqlite_lib_version()} is too old to be safe."
            raise StorageError(sentence, hint="Install apsw 3.51.3 or newer.")
        _make_file(self.path)
        self._writer = self._open()

    def head(self, build: str) -> tuple[int, str]:
        """Return (count, hash of the last row), (0, '') for a build that is not there."""
        with self._reader() as reader:
            found = reader.execute(
                "SELECT count, head FROM build WHERE name = ?", (build,)
            ).fetchone()
        return (0, "") if found is None else _typed(found, tuple[int, str])

    def append(self, rows: list[StoredRow]) -> None:
        """Add rows of one build behind its head, all or none, durable on return.

        :raises ConflictError: an id is taken, or the head is no longer where the rows were chained
        :raises StorageError: the disk is full, locked or read-only
        """
        if not rows:
            return
        values = [(r.build, r.number, r.id, r.hash, r.body) for r in rows]
        with self._transaction() as writer:
            _move_head(writer, rows)
            writer.executemany(
                "INSERT INTO entry (build, number, id, hash, body) VALUES (?, ?, ?, ?, ?)", values
            )

    def find(self, id: str) -> StoredRow | None:
        """Return the row with this entry id, in whichever build it lies."""
        query = "SELECT build, number, id, hash, body FROM entry WHERE id = ?"
        with self._reader() as reader:
            found = reader.execute(query, (id,)).fetchone()
        return None if found is None else _row(found)

    def rows(self, build: str, after: int = 0) -> Iterator[StoredRow]:
        """Yield a build's rows in order, those with a number greater than `after`.

        Read in portions, so that an iterator nobody finishes holds no lock.
        """
        query = (
            "SELECT build, number, id, hash, body FROM entry "
            "WHERE build = ? AND number > ? ORDER BY number LIMIT ?"
        )
        while True:
            with self._reader() as reader:
                found = reader.execute(query, (build, after, _ROWS_AT_ONCE)).fetchall()
            for values in found:
                row = _row(values)
                yield row
            if len(found) < _ROWS_AT_ONCE:
                return
            after = row.number

    def builds(self) -> list[BuildLine]:
        """Return every build, the one with the newest last entry first, then by name."""
        query = (
            "SELECT name, title, count, first_at, last_at FROM build ORDER BY last_at DESC, name"
        )
        with self._reader() as reader:
            found = reader.execute(query).fetchall()
        return [BuildLine(*_typed(row, tuple[str, str, int, str, str])) for row in found]

    def put_picture(self, sha256: str, data: bytes) -> None:
        """Keep a file under its hash; putting it again changes nothing.

        :raises EntryError: the hash is not the file's, or the file is too big
        """
        if len(data) > PICTURE_BYTES:
            sentence = f"The picture has {len(data)} bytes; at most {PICTURE_BYTES} can be kept."
            raise EntryError(sentence, hint="Send a smaller copy.")
        if digest(data) != sha256:
            sentence = f"The picture is not the one with the hash {sha256[:64]}."
            raise EntryError(sentence)
        with self._transaction() as writer:
            writer.execute("INSERT OR IGNORE INTO picture VALUES (?, ?)", (sha256, data))

    def picture(self, sha256: str) -> bytes | None:
        """Return a file by its hash.

        :raises DamagedError: it is no longer the file that was put in
        """
        query = "SELECT data FROM picture WHERE sha256 = ?"
        with self._reader() as reader:
            found = reader.execute(query, (sha256,)).fetchone()
        if found is None:
            return None
        (data,) = _typed(found, tuple[bytes])
        if digest(data) != sha256:
            sentence = f"The picture {sha256[:12]}… is damaged."
            raise DamagedError(sentence, hint=_RESTORE)
        return data

    def settings(self) -> dict[str, str]:
        """Return the settings that keep the rows durable, as they read back."""
        with self._reader() as reader:
            return {name: str(reader.pragma(name)) for name in _ASKED}

    def faults(self) -> list[str]:
        """Return what SQLite finds wrong with the file; it reads all of it."""
        try:
            with self._reader() as reader:
                found = [str(row[0]) for row in reader.execute("PRAGMA integrity_check(20)")]
        except DamagedError as error:
            return [error.sentence]
        return [] if found == ["ok"] else found

    def close(self) -> None:
        """Let go of the files."""
        with self._writing, self._pooling:
            self._closed = True
            for connection in (*self._readers, self._writer):
                connection.close()
            self._readers.clear()

    def _open(self) -> apsw.Connection:
        """Return the writing connection, of a file that is known to be this program's."""
        with self._words():
            connection = apsw.Connection(str(self.path), flags=apsw.SQLITE_OPEN_READWRITE)
            try:
                connection.set_busy_timeout(BUSY_MILLISECONDS)
                # Nothing is set before it is sure whose file this is: a setting may change it.
                new = _is_empty(connection)
                if not new:
                    self._check_schema(connection)
                self._set(connection)
                if new:
                    _make_tables(connection)
                    self._check_schema(connection)
            except BaseException:
                connection.close()
                raise
        return connection

    def _connect(self) -> apsw.Connection:
        connection = apsw.Connection(str(self.path), flags=apsw.SQLITE_OPEN_READWRITE)
        try:
            connection.set_busy_timeout(BUSY_MILLISECONDS)
            self._set(connection)
            connection.pragma("query_only", 1)
        except BaseException:
            connection.close()
            raise
        return connection

    def _set(self, connection: apsw.Connection) -> None:
        connection.config(apsw.SQLITE_DBCONFIG_DEFENSIVE, 1)
        _turn_to_wal(connection)
        for name, asked in _ASKED.items():
            connection.pragma(name, asked)
            holds = connection.pragma(name)
            if holds != asked:
                sentence = f"'{self.path}' cannot be kept safely: {name} is {holds}, not {asked}."
                hint = "Keep the data on a disk of this machine, not on a network drive."
                raise StorageError(sentence, hint=hint)

    def _check_schema(self, connection: apsw.Connection) -> None:
        application = connection.pragma("application_id")
        version = connection.pragma("user_version")
        if application != APPLICATION_ID:
            sentence = f"'{self.path}' is a database, but not one of this program."
            raise DamagedError(sentence, hint="Give another data folder with --data.")
        if version > SCHEMA_VERSION:
            sentence = f"'{self.path}' was written by a newer version of this program."
            raise StorageError(sentence, hint="Install the newer version.")
        if version != SCHEMA_VERSION or _tables(connection) != _own_tables():
            sentence = f"'{self.path}' is damaged: its tables are not as they were made."
            raise DamagedError(sentence, hint=_RESTORE)

    @contextmanager
    def _transaction(self) -> Iterator[apsw.Connection]:
        with self._writing, self._words():
            writer = self._writer
            writer.execute("BEGIN IMMEDIATE")
            try:
                yield writer
                writer.execute("COMMIT")
            except BaseException:
                # A full disk may have rolled back by itself.
                if writer.in_transaction:
                    writer.execute("ROLLBACK")
                raise

    @contextmanager
    def _reader(self) -> Iterator[apsw.Connection]:
        with self._words():
            with self._pooling:
                reader = self._readers.pop() if self._readers else None
            if reader is None:
                self._check_open()
                reader = self._connect()
            try:
                yield reader
            finally:
                with self._pooling:
                    if self._closed:
                        reader.close()
                    else:
                        self._readers.append(reader)

    def _check_open(self) -> None:
        if self._closed:
            sentence = f"'{self.path}' has been closed."
            raise StorageError(sentence)

    @contextmanager
    def _words(self) -> Iterator[None]:
        """Say in one sentence what SQLite found."""
        try:
            yield
        except apsw.ConstraintError as error:
            sentence = "An id is taken already, or another program wrote to this record first."
            raise ConflictError(sentence) from error
        except apsw.FullError as error:
            sentence = f"The disk is full: nothing was written to '{self.path}'."
            raise StorageError(sentence, hint="Make room, then send it again.") from error
        except (apsw.BusyError, apsw.LockedError) as error:
            sentence = f"Another program holds '{self.path}'; nothing was written."
            raise StorageError(sentence, hint="Close it, then send it again.") from error
        except (apsw.ReadOnlyError, apsw.PermissionsError, apsw.AuthError) as error:
            sentence = f"'{self.path}' cannot be written: it is read-only."
            raise StorageError(sentence, hint="Check who owns the file and its folder.") from error
        except (apsw.NotADBError, apsw.FormatError) as error:
            sentence = f"'{self.path}' is not a database."
            raise DamagedError(sentence, hint="Give another data folder with --data.") from error
        except (apsw.CorruptError, apsw.SQLError, apsw.MismatchError, UnicodeDecodeError) as error:
            sentence = f"'{self.path}' is damaged: {error}."
            raise DamagedError(sentence, hint=_RESTORE) from error
        except UnicodeEncodeError as error:
            sentence = "A name has half a surrogate pair in it."
            raise EntryError(sentence) from error
        except apsw.Error as error:
            sentence = f"'{self.path}' cannot be read or written: {error}."
            raise StorageError(sentence, hint="Check the disk and its free space.") from error


def _move_head(writer: apsw.Connection, rows: list[StoredRow]) -> None:
    """Move a build's line on to the last row, if it stands where the first was chained."""
    first, last = _BODY.decode(rows[0].body), _BODY.decode(rows[-1].body)
    build, count = rows[0].build, rows[0].number - 1
    if count == 0:
        writer.execute(
            "INSERT INTO build (name, title, count, head, first_at, last_at) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            (
                build,
                first.entry.title,
                rows[-1].number,
                rows[-1].hash,
                first.entry.at,
                last.entry.at,
            ),
        )
        return
    writer.execute(
        "UPDATE build SET count = ?, head = ?, last_at = ? "
        "WHERE name = ? AND count = ? AND head = ?",
        (rows[-1].number, rows[-1].hash, last.entry.at, build, count, first.previous),
    )
    if writer.changes() != 1:
        sentence = f"Another program wrote to the record of '{build}' first."
        raise ConflictError(sentence)


def _sqlite_version() -> tuple[int, ...]:
    return tuple(int(part) for part in apsw.sqlite_lib_version().split("."))


def _row(values: object) -> StoredRow:
    return StoredRow(*_typed(values, tuple[str, int, str, str, bytes]))


def _typed(values: object, kind: type[_Kind]) -> _Kind:
    try:
        return msgspec.convert(values, kind)
    except (msgspec.ValidationError, UnicodeError) as error:
        # Only a damaged file holds other types than its tables allow.
        sentence = f"A row of the store is damaged: {error}."
        raise DamagedError(sentence, hint=_RESTORE) from error


def _is_empty(connection: apsw.Connection) -> bool:
    return not _tables(connection) and not connection.pragma("application_id")


def _tables(connection: apsw.Connection) -> list[tuple[apsw.SQLiteValue, ...]]:
    query = "SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY name"
    return list(connection.execute(query))


def _turn_to_wal(connection: apsw.Connection) -> None:
    """Turn a new file to write-ahead logging; SQLite does not wait for another who does so."""
    deadline = time.monotonic() + BUSY_MILLISECONDS / 1000
    while connection.pragma("journal_mode") != "wal":
        try:
            connection.pragma("journal_mode", "wal")
            return
        except apsw.BusyError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.01)


def _make_tables(connection: apsw.Connection) -> None:
    connection.execute("BEGIN IMMEDIATE")
    try:
        if _is_empty(connection):  # another program may have been first
            connection.execute(_SCHEMA)
            connection.pragma("application_id", APPLICATION_ID)
            connection.pragma("user_version", SCHEMA_VERSION)
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _own_tables() -> list[tuple[apsw.SQLiteValue, ...]]:
    memory = apsw.Connection(":memory:")
    try:
        memory.execute(_SCHEMA)
        return _tables(memory)
    finally:
        memory.close()


def _make_file(path: Path) -> None:
    """Make the file and its folder for this person only; SQLite gives its side files the same."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        os.close(os.open(path, os.O_CREAT | os.O_RDWR | os.O_CLOEXEC, 0o600))
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    except OSError as error:
        sentence = f"'{path}' cannot be opened: {error.strerror or error}."
        raise StorageError(sentence, hint="Give another data folder with --data.") from error
    except ValueError as error:
        sentence = f"'{path}' cannot name a file."
        raise StorageError(sentence, hint="Give another data folder with --data.") from error
