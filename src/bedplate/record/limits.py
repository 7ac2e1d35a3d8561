"""How long a text may be and what a figure must be, so that a record stays readable anywhere."""

from __future__ import annotations

import math
import re
from datetime import datetime
from typing import Any

import msgspec

from bedplate.errors import EntryError
from bedplate.record.entries import AnyEntry, Typed

ENGINE_LENGTH = 1_000_000
"""Characters of an engine file."""

TRACE_LENGTH = 200_000
"""Characters of the points of a pressure trace."""

WORDS_LENGTH = 10_000
"""Characters of what a person writes freely: a reason, a note, a statement."""

NAME_LENGTH = 300
"""Characters of everything else: a name, a mark, a quantity as typed."""

FEATURES_COUNT = 1_000
"""Items of one list in an entry: features of a rework, rows of an order."""

LINK_BYTES = 8 * 1024 * 1024
"""Bytes of one link as stored."""

PICTURE_BYTES = 20 * 1024 * 1024
"""Bytes of one picture."""

ENTRIES_COUNT = 1_000_000
"""Entries of one record."""

_WORDS = frozenset(
    {
        "basis",
        "caption",
        "conditions",
        "identity",
        "marks",
        "operation",
        "reason",
        "remark",
        "source",
        "statement",
        "text",
        "words",
    }
)
_ID = re.compile(r"[0-9a-f]{32}")
_HASH = re.compile(r"[0-9a-f]{64}")
_BUILD = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")
_AT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z")
# Tab and line ends are text; the other control characters would steer a terminal or a printer.
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")
_WHOLE = 2**53 - 1  # RFC 8785, 3.2.2.3: the numbers are IEEE 754 doubles


def is_id(text: str) -> bool:
    """Tell whether a text is an entry's id: 32 lower-case hex digits."""
    return _ID.fullmatch(text) is not None


def is_hash(text: str) -> bool:
    """Tell whether a text is a SHA-256 in 64 lower-case hex digits."""
    return _HASH.fullmatch(text) is not None


def is_build(text: str) -> bool:
    """Tell whether a text can name a build."""
    return _BUILD.fullmatch(text) is not None


def is_moment(text: str) -> bool:
    """Tell whether a text is a moment in UTC with milliseconds, '2026-11-25T07:00:00.000Z'."""
    if _AT.fullmatch(text) is None:
        return False
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True


def check_entry(entry: AnyEntry) -> None:
    """Refuse an entry that a record cannot keep.

    :raises EntryError: naming the field, what is wrong with it and what would be right
    """
    for name in entry.__struct_fields__:
        _check_value(name, getattr(entry, name))


def _check_value(name: str, value: Any) -> None:  # noqa: ANN401 - whatever a caller put there
    if isinstance(value, str):
        _check_text(name, value)
    elif isinstance(value, Typed):
        _check_text(name, value.text, NAME_LENGTH)
        _check_number(name, value.si)
    elif isinstance(value, msgspec.Struct):
        for field in value.__struct_fields__:
            _check_value(field, getattr(value, field))
    elif isinstance(value, tuple | list):
        if len(value) > FEATURES_COUNT:
            sentence = f"'{name}' has {len(value)} items; at most {FEATURES_COUNT} can be kept."
            raise EntryError(sentence)
        for item in value:
            _check_value(name, item)
    elif value is not None:
        _check_number(name, value)


_SHAPES = {
    "id": (is_id, "an id is 32 hex digits in small letters"),
    "at": (is_moment, "a moment is written as '2026-11-25T07:00:00.000Z'"),
    "build": (is_build, "a build is named with up to 60 small letters, digits and hyphens"),
    "run": (is_id, "an id is 32 hex digits in small letters"),
    "target": (is_id, "an id is 32 hex digits in small letters"),
    "sha256": (is_hash, "a SHA-256 is 64 hex digits in small letters"),
    "head": (is_hash, "a SHA-256 is 64 hex digits in small letters"),
    "derived": (is_hash, "a SHA-256 is 64 hex digits in small letters"),
}


def _check_text(name: str, text: str, most: int = 0) -> None:
    most = most or _most(name)
    if len(text) > most:
        sentence = f"'{name}' has {len(text)} characters; at most {most} can be kept."
        raise EntryError(sentence)
    found = _CONTROL.search(text)
    if found:
        sentence = f"'{name}' has the control character U+{ord(found[0]):04X} in it."
        raise EntryError(sentence, hint="Leave it out.")
    shape = _SHAPES.get(name)
    if shape and not shape[0](text):
        sentence = f"'{text[:80]}' cannot be '{name}': {shape[1]}."
        raise EntryError(sentence)


def _most(name: str) -> int:
    own = {"engine": ENGINE_LENGTH, "points": TRACE_LENGTH}.get(name)
    if own:
        return own
    return WORDS_LENGTH if name in _WORDS else NAME_LENGTH


def _check_number(name: str, value: Any) -> None:  # noqa: ANN401 - whatever a caller put there
    if isinstance(value, bool):
        return
    if not isinstance(value, int | float) or isinstance(value, msgspec.Struct):
        sentence = f"'{name}' cannot be of the type {type(value).__name__}."
        raise EntryError(sentence)
    if not math.isfinite(value) or (isinstance(value, int) and not 0 <= value <= _WHOLE):
        sentence = f"'{name}' cannot be {value}: a figure must be finite."
        raise EntryError(sentence)
