"""What a person takes back, accepts or lets be; what became stale by work."""

from __future__ import annotations

from bedplate.record.entries.entry import Entry


class Withdrawn(Entry, frozen=True, tag="withdrawn"):
    """An earlier entry is taken back, with the reason; it stays in the record."""

    target: str
    reason: str


class Reworked(Entry, frozen=True, tag="reworked"):
    """A part was machined again: what was known of these features is stale from here on."""

    part: str
    features: tuple[str, ...]
    operation: str


class Accepted(Entry, frozen=True, tag="accepted by decision"):
    """A person accepts a fit as it stands, with the reason.

    :param verdict: the verdict that was accepted: 'outside', 'undecided', 'not measured'
    :param least: SI value shown when it was accepted, None if not measured
    """

    fit: str
    verdict: str
    reason: str
    least: float | None = None
    greatest: float | None = None


class RowWaived(Entry, frozen=True, tag="order row waived"):
    """A person lets a row of an order be, with the reason."""

    order: str
    row: str
    reason: str


class GateWaived(Entry, frozen=True, tag="gate waived"):
    """A person goes on with a step although something stands against it.

    :param against: what stood against it
    """

    step: str
    reason: str
    against: tuple[str, ...] = ()
