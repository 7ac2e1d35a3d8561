"""What every entry has, and how an entry writes a quantity.

Frozen and built of texts, numbers and tuples, an entry can be in no cycle: `gc=False` spares the
collector thousands of them.
"""

from __future__ import annotations

import msgspec


class Typed(msgspec.Struct, frozen=True, forbid_unknown_fields=True, gc=False):
    """A quantity as typed, and the SI value it was read as."""

    text: str
    si: float


class Entry(
    msgspec.Struct,
    frozen=True,
    kw_only=True,
    tag_field="kind",
    forbid_unknown_fields=True,
    gc=False,
):
    """What every entry has.

    :param id: 128 bits made by the client, 32 lower-case hex digits; unique in the store
    :param at: when the program took it, UTC, '2026-11-25T07:00:00.000Z'
    :param by: who says so
    """

    id: str
    at: str
    by: str
