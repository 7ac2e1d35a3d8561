"""A record as a text file: JSON Lines, a header, each link exactly as stored, then the pictures."""

from __future__ import annotations

import base64
import binascii
import io
from collections.abc import Iterator
from typing import BinaryIO, Literal, NoReturn

import msgspec

from bedplate.errors import (
    ConflictError,
    DamagedError,
    EntryError,
    Fault,
    ImportFileError,
    NotFoundError,
)
from bedplate.record.canonical import canonical, decode, digest, link_of
from bedplate.record.entries import Checkpoint, Picture
from bedplate.record.limits import (
    ENTRIES_COUNT,
    LINK_BYTES,
    PICTURE_BYTES,
    is_build,
    is_hash,
)
from bedplate.record.shop_rules import Names
from bedplate.record.store import Store, StoredRow
from bedplate.record.verify import FAULTS_SHOWN, Chain, Finding

FORMAT: Literal["bedplate record"] = "bedplate record"
VERSION = 1

HEADER_BYTES = 1_000
PICTURE_LINE_BYTES = PICTURE_BYTES * 4 // 3 + 1_000
FILE_BYTES = 512 * 1024 * 1024
"""Bytes of a whole file; it is held in memory until all of it is known to be sound."""


class Header(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The first line of the file."""

    build: str
    count: int
    format: Literal["bedplate record"]
    head: str
    version: int


class PictureLine(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A picture, in the order in which the record first names them; each once.

    :param data: its bytes in base64 (RFC 4648, section 4)
    """

    data: str
    sha256: str


_HEADER = msgspec.json.Decoder(Header)
_PICTURE = msgspec.json.Decoder(PictureLine)


def export_record(store: Store, build: str) -> Iterator[bytes]:
    """Yield the lines of a record, each with its line end.

    :raises NotFoundError: there is no such build
    :raises DamagedError: a row or a picture is not what was written
    """
    count, head = store.head(build)
    if not count:
        sentence = f"There is no build '{build[:80]}'."
        raise NotFoundError(sentence)
    return _lines(store, build, count, head)


def import_record(
    store: Store, data: bytes | BinaryIO, file: str = "", names: Names | None = None
) -> str:
    """Take a whole record into the store, or nothing of it; return the name of its build.

    Taking in the same record again changes nothing. The pictures are kept first: should that be
    interrupted, no record refers to them and the next try keeps them again.

    :param file: its name, for faults
    :param names: gives the ids of an engine file's features and fits, to hold entries to
    :raises ImportFileError: with the faults found and their lines
    :raises ConflictError: the build is there with another record, or an id is taken
    """
    stream = io.BytesIO(data) if isinstance(data, bytes | bytearray | memoryview) else data
    reader = _Reader(stream, file, names)
    header, rows, pictures = reader.read()
    count, head = store.head(header.build)
    if count and (count, head) != (header.count, header.head):
        sentence = f"The build '{header.build}' is there already, with another record."
        raise ConflictError(sentence, hint="Import it into another data folder to compare.")
    if not count:
        _check_ids(store, rows)
    for sha256, picture in pictures.items():
        store.put_picture(sha256, picture)
    if not count:
        store.append(rows)
    return header.build


def _check_ids(store: Store, rows: list[StoredRow]) -> None:
    for row in rows:
        other = store.find(row.id)
        if other is not None:
            sentence = (
                f"Entry {row.number} has the id of entry {other.number} of '{other.build}', "
                "which is there already."
            )
            raise ConflictError(sentence, hint="Import it into another data folder.")


def _lines(store: Store, build: str, count: int, head: str) -> Iterator[bytes]:
    header = Header(build=build, count=count, format=FORMAT, head=head, version=VERSION)
    yield _line(header)
    pictures: dict[str, None] = {}
    written = 0
    previous = ""
    for row in store.rows(build):
        if written == count:
            break  # taken since the header was written
        link = link_of(row)
        if row.number != written + 1 or link.previous != previous:
            break
        written, previous = row.number, row.hash
        yield row.body + b"\n"
        if isinstance(link.entry, Picture):
            pictures[link.entry.sha256] = None
    if (written, previous) != (count, head):
        sentence = f"The record of '{build}' is broken behind entry {written}."
        raise DamagedError(sentence, hint="Verify it, and restore it from a copy.")
    for sha256 in pictures:
        data = store.picture(sha256)
        if data is None or digest(data) != sha256:
            sentence = f"The picture {sha256[:12]}… of '{build}' is missing or damaged."
            raise DamagedError(sentence, hint="Restore the data folder from a copy.")
        yield _picture_line(sha256, data)


def _picture_line(sha256: str, data: bytes) -> bytes:
    return _line(PictureLine(data=base64.b64encode(data).decode("ascii"), sha256=sha256))


def _line(value: Header | PictureLine) -> bytes:
    return canonical(msgspec.to_builtins(value)) + b"\n"


class _StopReading(Exception):  # noqa: N818 - no error, but the end of what can be read
    pass


class _Reader:
    """Reads a file line by line within bounds and gathers its faults."""

    def __init__(self, stream: BinaryIO, file: str, names: Names | None) -> None:
        self._stream = stream
        self._file = file
        self._number = 0
        self._bytes = 0
        self._faults: list[Fault] = []
        self._chain = Chain(names)

    def read(self) -> tuple[Header, list[StoredRow], dict[str, bytes]]:
        """Return what the file holds.

        :raises ImportFileError: it is not whole and sound
        """
        try:
            header = self._header()
            self._chain.build = header.build
            rows = [self._row(header, number) for number in range(1, header.count + 1)]
            end = Checkpoint(count=header.count, head=header.head)
            for finding in self._chain.reaches(end, "the header"):
                self._found(finding)
            pictures = dict(self._picture(sha256) for sha256 in self._chain.pictures)
            if not self._faults and self._line(PICTURE_LINE_BYTES) is not None:
                self._stop("there is more than the record and its pictures")
        except _StopReading:
            self._refuse()
        if self._faults:
            self._refuse()
        return header, rows, pictures

    def _header(self) -> Header:
        line = self._line(HEADER_BYTES)
        if line is None:
            self._stop("the file is empty", "a record exported by this program")
        try:
            header = _HEADER.decode(line)
        except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
            self._stop("this is not the first line of a record", f'its format is "{FORMAT}"')
        if header.version != VERSION:
            self._stop(
                f"the file has the format version {header.version}",
                f"this program reads version {VERSION}",
            )
        if not is_build(header.build) or not is_hash(header.head):
            self._stop("its build or its head is not well formed")
        if not 1 <= header.count <= ENTRIES_COUNT:
            self._stop(f"it has {header.count} entries", f"between 1 and {ENTRIES_COUNT}")
        if _line(header) != line + b"\n":
            self._stop("the line is not in canonical form (RFC 8785)")
        return header

    def _row(self, header: Header, number: int) -> StoredRow:
        body = self._line(LINK_BYTES)
        if body is None:
            self._stop(f"the file ends before entry {number} of {header.count}")
        try:
            id = decode(body).entry.id
        except EntryError as error:
            self._stop(error.sentence.rstrip("."))
        row = StoredRow(build=header.build, number=number, id=id, hash=digest(body), body=body)
        for finding in self._chain.take(row):
            self._found(finding)
        return row

    def _picture(self, sha256: str) -> tuple[str, bytes]:
        line = self._line(PICTURE_LINE_BYTES)
        if line is None:
            self._stop(f"the file ends before the picture {sha256[:12]}…")
        try:
            picture = _PICTURE.decode(line)
            data = base64.b64decode(picture.data, validate=True)
        except (
            msgspec.DecodeError,
            UnicodeDecodeError,
            RecursionError,
            binascii.Error,
            ValueError,
        ):
            self._stop("this is not the line of a picture")
        if digest(data) != sha256 or _picture_line(sha256, data) != line + b"\n":
            self._stop(f"this is not the picture {sha256[:12]}… of entry {self._entry_of(sha256)}")
        if len(data) > PICTURE_BYTES:
            self._stop(f"the picture has {len(data)} bytes", f"at most {PICTURE_BYTES}")
        return sha256, data

    def _line(self, most: int) -> bytes | None:
        """Return the next line without its end, None at the end of the file."""
        try:
            line = self._stream.readline(most + 2)
        except (OSError, ValueError) as error:
            self._number += 1
            self._stop(f"the file cannot be read further: {error}")
        if not line:
            return None
        self._number += 1
        self._bytes += len(line)
        if self._bytes > FILE_BYTES:
            self._stop("the file is too long", f"at most {FILE_BYTES} bytes")
        if not line.endswith(b"\n"):
            if len(line) > most:
                self._stop("the line is too long", f"at most {most} bytes")
            self._stop("the line is cut short", "each line ends with a line feed")
        if line.endswith(b"\r\n"):
            self._stop("the line ends were changed", "each line ends with a line feed alone")
        return line[:-1]

    def _entry_of(self, sha256: str) -> int:
        return self._chain.pictures[sha256]

    def _found(self, finding: Finding) -> None:
        line = finding.number + 1 if finding.number else 1
        self._faults.append(
            Fault(file=self._file, line=line, key="", wrong=finding.sentence.rstrip("."))
        )
        if len(self._faults) >= FAULTS_SHOWN:
            raise _StopReading

    def _stop(self, wrong: str, right: str = "") -> NoReturn:
        self._faults.append(
            Fault(file=self._file, line=max(self._number, 1), key="", wrong=wrong, right=right)
        )
        raise _StopReading

    def _refuse(self) -> NoReturn:
        first = self._faults[0]
        many = f", and {len(self._faults) - 1} more" if len(self._faults) > 1 else ""
        name = f"'{self._file}'" if self._file else "The file"
        sentence = f"{name} was not taken, line {first.line}: {first.wrong}{many}."
        hint = "Export the record again where it came from."
        raise ImportFileError(sentence, tuple(self._faults), hint=hint)
