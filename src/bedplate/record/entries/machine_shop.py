"""Orders to a machine shop, and its return sheets."""

from __future__ import annotations

import msgspec

from bedplate.record.entries.entry import Entry, Typed


class Sent(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Parts that go out, or came back: how many of what."""

    part: str
    count: int


class OrderRow(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One row of a shop order.

    :param row: short name, the same on the order, the return sheet and the check-in
    :param station: station of work, one page each
    :param quantity: 'length', 'surface', 'angle' or 'words'
    :param feature: id of the feature it is about, '' for none
    :param form: what of it: 'size', 'out-of-round', 'taper', '' for none
    :param aim: what the shop aims for; m or rad
    :param words: what is asked in words, and what a figure alone would not say
    :param condition: the state in which the figure holds
    :param basis: what it was worked out from, '' for none
    :param waits_for: why it cannot be done yet, '' if it can
    """

    row: str
    station: str
    name: str
    quantity: str
    feature: str = ""
    form: str = ""
    low: float | None = None
    aim: float | None = None
    high: float | None = None
    words: str = ""
    condition: str = ""
    basis: str = ""
    waits_for: str = ""


class OrderIssued(Entry, frozen=True, tag="shop order issued"):
    """An order to a machine shop, whole, as it was printed.

    :param order: its number
    :param revision: 1, 2, 3, …
    :param derived: SHA-256 of what its rows were worked out from
    :param conditions: sentences for a station: 'boring and honing: torque plate …'
    :param back: what must come back with the parts
    """

    order: str
    revision: int
    shop: str
    derived: str
    rows: tuple[OrderRow, ...]
    conditions: tuple[str, ...] = ()
    sent: tuple[Sent, ...] = ()
    back: tuple[str, ...] = ()


class ReturnRow(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One row of a shop's return sheet.

    :param value: as the shop wrote it, None where it gave none
    :param uncertainty: expanded, k = 2, as the shop states it
    :param done: 'yes', 'no', or '' where it is a measurement
    """

    row: str
    value: Typed | None = None
    uncertainty: Typed | None = None
    condition: str = ""
    gauge: str = ""
    temperature: Typed | None = None
    done: str = ""
    remark: str = ""


class ReturnTaken(Entry, frozen=True, tag="shop return taken"):
    """A shop's return sheet, as it was handed over; a later one for the order adds to it."""

    order: str
    revision: int
    rows: tuple[ReturnRow, ...]
    returned: tuple[Sent, ...] = ()
