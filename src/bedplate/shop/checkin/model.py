"""What is known of an order's rows."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bedplate.metrology import Judgement, Verdict, not_measured
from bedplate.record.entries import (
    OrderIssued,
    OrderRow,
)


class Agreement(StrEnum):
    """How two values of one row compare."""

    AGREE = "agree"
    CANNOT_TELL = "cannot tell"
    DISAGREE = "disagree"


_SETTLED = frozenset({"waived", "done", "in order", "cannot tell", "too close to call"})
"""What an order asks no more about; a fit that lies too close asks for itself."""


@dataclass(frozen=True, slots=True)
class RowState:
    """A row of an order, in the light of everything after it; lengths in m, angles in rad.

    :param stale: why what is known of it no longer holds, '' if it does
    :param changed: why it would be ordered otherwise now, '' if it would not
    :param shop: what the shop says; `shop_text` as it wrote it
    :param shop_expanded: U of it; None where nobody says
    :param own: measured here: the mean, or the form
    :param expanded: combined U of the difference
    :param why: what the agreement rests on
    :param flags: what differs between the two, and what is odd about the sheet
    :param verdict: what was measured here, against what was ordered
    :param shop_verdict: what the shop says, against what was ordered
    :param done: 'yes', 'no', '' for a figure
    """

    row: OrderRow
    stale: str = ""
    changed: str = ""
    shop: float | None = None
    shop_text: str = ""
    shop_expanded: float | None = None
    own: float | None = None
    own_expanded: float | None = None
    difference: float | None = None
    expanded: float | None = None
    agreement: Agreement | None = None
    why: str = ""
    flags: tuple[str, ...] = ()
    judgement: Judgement = not_measured()  # noqa: RUF009 - it is frozen
    shop_verdict: Verdict = Verdict.NOT_MEASURED
    done: str = ""
    remark: str = ""
    gauge: str = ""
    waived: str = ""
    waived_by: str = ""

    @property
    def verdict(self) -> Verdict:
        """Return the verdict on what was measured here."""
        return self.judgement.verdict

    @property
    def returned(self) -> bool:
        """Tell whether the shop gave a figure, or said whether it did the work."""
        return self.shop is not None or bool(self.done)

    @property
    def disputed(self) -> bool:
        """Tell whether the shop should hear of it."""
        return not self.stale and (
            self.agreement is Agreement.DISAGREE
            or Verdict.OUTSIDE in {self.verdict, self.shop_verdict}
        )

    @property
    def standing(self) -> str:
        """Say in a word or two how the row stands."""
        if self.waived:
            return "waived"
        if self.row.waits_for and self.done != "yes":
            return "waiting"
        if self.stale:
            return "stale"
        if not self.returned:
            return "not returned"
        if self.row.quantity == "words":
            return "done" if self.done == "yes" else "not done"
        if self.disputed:
            return "disputed" if self.agreement is Agreement.DISAGREE else "outside"
        if self.row.feature and self.own is None:
            return "not measured here"
        if self.agreement is Agreement.CANNOT_TELL:
            return "cannot tell"
        return "too close to call" if self.verdict is Verdict.UNDECIDED else "in order"

    @property
    def settled(self) -> bool:
        """Tell whether nothing of the row is open."""
        return self.standing in _SETTLED


@dataclass(frozen=True, slots=True)
class Count:
    """Parts that went out, and how many of them are back; `back` is None until some are."""

    part: str
    sent: int
    back: int | None


@dataclass(frozen=True, slots=True)
class OrderState:
    """The last revision of an order.

    :param number: of the entry that issued it
    :param changed: why it would be written otherwise now, a sentence each
    :param returns: sheets that came back
    """

    issued: OrderIssued
    number: int
    rows: tuple[RowState, ...]
    changed: tuple[str, ...]
    counts: tuple[Count, ...]
    returns: int

    @property
    def name(self) -> str:
        """Return number and revision."""
        return f"{self.issued.order}, revision {self.issued.revision}"

    def station(self, name: str) -> tuple[RowState, ...]:
        """Return the rows of a station of work."""
        return tuple(row for row in self.rows if row.row.station == name)

    @property
    def stations(self) -> tuple[str, ...]:
        """Return the stations of work, in order."""
        return tuple(dict.fromkeys(row.row.station for row in self.rows))

    @property
    def disputed(self) -> tuple[RowState, ...]:
        """Return the rows that the shop should hear of."""
        return tuple(row for row in self.rows if row.disputed and not row.waived)
