"""The one form in which a link of the chain is written: RFC 8785 canonical JSON in UTF-8.

A link is `{"build", "entry", "number", "previous"}`. Its bytes are hashed as they lie in the store;
no hash is ever made from a decoded object.
"""

from __future__ import annotations

import hashlib
import json

import msgspec
import rfc8785

from bedplate.errors import DamagedError, EntryError
from bedplate.record.entries import AnyEntry
from bedplate.record.limits import ENTRIES_COUNT, LINK_BYTES, check_entry, is_build, is_hash
from bedplate.record.store import StoredRow


class Link(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a row's body says.

    :param previous: hash of the link before, '' in the first
    """

    build: str
    entry: AnyEntry
    number: int
    previous: str


_LINK = msgspec.json.Decoder(Link)


def digest(body: bytes) -> str:
    """Return the SHA-256 (FIPS 180-4) of some bytes, in hex."""
    return hashlib.sha256(body).hexdigest()


def canonical(value: object) -> bytes:
    """Return the RFC 8785 form of a value made of JSON's own types.

    :raises EntryError: it has no such form: a number that is not finite, half a surrogate pair
    """
    try:
        return rfc8785.dumps(value)  # type: ignore[arg-type]
    except (rfc8785.CanonicalizationError, RecursionError) as error:
        sentence = f"An entry cannot be written as JSON: {error}."
        raise EntryError(sentence) from error


def encode_entry(entry: AnyEntry) -> bytes:
    """Return the canonical bytes of an entry alone."""
    return canonical(msgspec.to_builtins(entry))


def row_of(build: str, number: int, previous: str, entry: AnyEntry) -> StoredRow:
    """Return the row that chains an entry behind the hash `previous`.

    :raises EntryError: the entry is not fit to be kept
    """
    check_entry(entry)
    link = {
        "build": build,
        "entry": msgspec.to_builtins(entry),
        "number": number,
        "previous": previous,
    }
    body = canonical(link)
    decode(body)  # what cannot be read back, such as a text where a figure belongs, is not written
    return StoredRow(build=build, number=number, id=entry.id, hash=digest(body), body=body)


def decode(body: bytes) -> Link:
    """Return what a body says, quickly: typed and strict, but not held to its canonical form.

    Enough for bytes whose hash was checked; `strict_decode` is for bytes from outside.

    :raises EntryError: it is not a link of this format
    """
    try:
        return _LINK.decode(body)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        sentence = f"It is no link of a record: {error}."
        raise EntryError(sentence) from error


def strict_decode(body: bytes) -> Link:
    """Return what a body from outside says.

    Duplicate keys, NaN, half surrogate pairs, spaces, other key orders and other spellings of a
    number all have another canonical form than the bytes given, so one comparison refuses them.

    :raises EntryError: it is not a link of this format, or not in its canonical form
    """
    if len(body) > LINK_BYTES:
        sentence = f"It has {len(body)} bytes; a link has at most {LINK_BYTES}."
        raise EntryError(sentence)
    link = decode(body)
    try:
        # A whole number beyond 2**53 is a double too: RFC 8785 writes 1e20 with all its digits.
        same = canonical(json.loads(body, parse_int=float)) == body
    except (ValueError, OverflowError, RecursionError):
        same = False
    if not same:
        sentence = "It is not in canonical form (RFC 8785)."
        raise EntryError(sentence)
    _check_link(link)
    return link


def link_of(row: StoredRow) -> Link:
    """Return what a row from the store says, its hash and its labels checked.

    :raises DamagedError: the row is not what was written
    """
    if digest(row.body) != row.hash:
        sentence = f"Entry {row.number} of '{row.build}' is not what was written: its hash differs."
        raise DamagedError(sentence, hint="Restore the record from a copy or an export.")
    try:
        link = decode(row.body)
    except EntryError as error:
        sentence = f"Entry {row.number} of '{row.build}' cannot be read: {error.sentence}"
        hint = "A newer version of the program may have written it."
        raise DamagedError(sentence, hint=hint) from error
    if (link.build, link.number, link.entry.id) != (row.build, row.number, row.id):
        sentence = f"Entry {row.number} of '{row.build}' does not lie where it was written."
        raise DamagedError(sentence, hint="Restore the record from a copy or an export.")
    return link


def _check_link(link: Link) -> None:
    if not is_build(link.build):
        sentence = f"'{link.build[:80]}' cannot name a build."
        raise EntryError(sentence)
    if not 1 <= link.number <= ENTRIES_COUNT:
        sentence = f"Its number {link.number} is not between 1 and {ENTRIES_COUNT}."
        raise EntryError(sentence)
    if link.previous and not is_hash(link.previous):
        sentence = "Its previous hash is not 64 hex digits in small letters."
        raise EntryError(sentence)
    check_entry(link.entry)
