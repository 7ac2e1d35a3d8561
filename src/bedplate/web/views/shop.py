"""The shop order and its check-in, ready to be printed on a page."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from bedplate.documents.crosshatch import crosshatch_picture
from bedplate.documents.marks import Mark, is_below
from bedplate.documents.order import station_page
from bedplate.documents.paper import Tree
from bedplate.metrology.results import Verdict
from bedplate.quantity import Dimension, Units, show
from bedplate.record.entries import OrderIssued
from bedplate.shop.checkin.desk import orders_of
from bedplate.shop.checkin.model import OrderState, RowState
from bedplate.shop.model import State
from bedplate.shop.ordering import draft
from bedplate.shop.returns import ordered_words
from bedplate.web.views.common import DASH, fine, length, mark, other, when

SECTIONS = (
    ("order", "Order"),
    ("checkin", "Check-in"),
    ("parts", "Parts"),
    ("selection", "Selection"),
    ("rings", "Rings"),
)
"""Pages of the machine shop and of parts: the end of the address, and the name."""


@dataclass(frozen=True, slots=True)
class OrderView:
    """An order on its page.

    :param name: number and revision, '' for a draft
    :param stations: (page of the order, crosshatch as a drawing, '' if none)
    """

    name: str
    number: str
    shop: str
    issued: str
    derived: str
    changed: tuple[str, ...]
    stations: tuple[tuple[Tree, Markup], ...]
    sent: tuple[tuple[str, int], ...]
    back: tuple[str, ...]
    draft_differs: bool


def order_view(state: State, number: str) -> OrderView:
    """Return the last revision of an order, or the draft where none was issued."""
    order = order_named(state, number)
    made = draft(state)
    said = state.engine.machining.order
    if order is None:
        issued = OrderIssued(
            id="", at="", by="", order=said.number if said else "", revision=0,
            shop=said.shop if said else "", derived=made.derived, rows=made.rows,
            conditions=made.conditions, back=said.back if said else (),
        )  # fmt: skip
    else:
        issued = order.issued
    names = dict.fromkeys(row.station for row in issued.rows)
    return OrderView(
        name=order.name if order else "",
        number=issued.order,
        shop=issued.shop,
        issued=f"{when(issued.at)} by {issued.by}" if order else "",
        derived=issued.derived,
        changed=order.changed if order else (),
        stations=tuple((station_page(state, issued, n), _hatch(issued, n)) for n in names),
        sent=tuple((one.part, one.count) for one in issued.sent)
        or (said.sent if said and order is None else ()),
        back=issued.back,
        draft_differs=order is not None and made.derived != issued.derived,
    )


def order_named(state: State, number: str) -> OrderState | None:
    """Return an order by its number, the last one if none is named, None if there is none."""
    orders = orders_of(state)
    named = [order for order in orders if order.issued.order == number]
    return (named or list(orders) or [None])[-1]  # type: ignore[list-item]


def _hatch(issued: OrderIssued, station: str) -> Markup:
    for row in issued.rows:
        here = row.station == station and row.quantity == "angle"
        if here and row.low is not None and row.high is not None:
            return Markup(crosshatch_picture(row.low, row.high))  # noqa: S704 - our own drawing
    return Markup("")


@dataclass(frozen=True, slots=True)
class RowView:
    """A row of the check-in."""

    row: str
    name: str
    quantity: str
    ordered: str
    shop: str
    shop_other: str
    shop_note: str
    own: str
    own_other: str
    difference: str
    expanded: str
    agreement: str
    why: str
    standing: str
    settled: bool
    mark: Markup
    notes: tuple[str, ...]
    feature: str


@dataclass(frozen=True, slots=True)
class CheckinView:
    """The check-in of an order.

    :param stations: (name, rows)
    :param asked: the row that is being answered, None if none is
    """

    name: str
    number: str
    stations: tuple[tuple[str, tuple[RowView, ...]], ...]
    counts: tuple[tuple[str, int, str, bool], ...]
    settled: int
    rows: int
    disputed: int
    changed: tuple[str, ...]
    returns: int
    asked: RowView | None


def checkin_view(state: State, number: str, asked: str) -> CheckinView | None:
    """Return the check-in of an order, None where none was issued."""
    order = order_named(state, number)
    if order is None:
        return None
    views = {row.row.row: row_view(row, state.units) for row in order.rows}
    return CheckinView(
        name=order.name,
        number=order.issued.order,
        stations=tuple(
            (station, tuple(views[row.row.row] for row in order.station(station)))
            for station in order.stations
        ),
        counts=tuple(
            (c.part, c.sent, DASH if c.back is None else str(c.back), c.back not in {None, c.sent})
            for c in order.counts
        ),
        settled=sum(row.settled for row in order.rows),
        rows=len(order.rows),
        disputed=len(order.disputed),
        changed=order.changed,
        returns=order.returns,
        asked=views.get(asked),
    )


def row_view(row: RowState, units: Units) -> RowView:
    """Return a row of the check-in, ready to be printed."""
    verdict = row.verdict if row.own is not None else row.shop_verdict
    notes = [row.stale and f"Stale: {row.stale}", row.why, *row.flags]
    notes.append(row.remark and f"Shop: {row.remark}")
    notes.append(row.row.waits_for and f"Not yet: {row.row.waits_for}")
    notes.append(row.changed and f"Would be ordered otherwise now: {row.changed}")
    notes.append(row.waived and f"Waived by {row.waived_by}: {row.waived}")
    uncertain = row.shop_expanded
    return RowView(
        row=row.row.row,
        name=row.row.name,
        quantity=row.row.quantity,
        ordered=ordered_words(row.row, units),
        shop=_figure(row, row.shop, units, uncertain),
        shop_other=_figure(row, row.shop, other(units), uncertain),
        shop_note=row.shop_text,
        own=length(row.own, units, row.own_expanded) if row.own is not None else "",
        own_other=length(row.own, other(units), row.own_expanded) if row.own is not None else "",
        difference=_difference(row, units),
        expanded="" if row.expanded is None else fine(row.expanded, units),
        agreement=row.agreement.value if row.agreement else "",
        why=row.why,
        standing=row.standing,
        settled=row.settled,
        mark=mark(
            Mark(verdict if row.row.quantity != "words" else Verdict.NOT_MEASURED, _below(row))
        ),
        notes=tuple(note for note in notes if note),
        feature=row.row.feature,
    )


def _below(row: RowState) -> bool:
    value = row.own if row.own is not None else row.shop
    return is_below(value, value, row.row.low, row.row.high)


def _figure(row: RowState, value: float | None, units: Units, uncertainty: float | None) -> str:
    if value is None:
        return row.done
    if row.row.quantity == "angle":
        return show(value, Dimension.ANGLE, units)
    if row.row.quantity == "surface":
        unit = "µm" if units is Units.METRIC else "µin"
        return show(value, Dimension.LENGTH, units, unit=unit, resolution=1e-8)
    return length(value, units, uncertainty)


def _difference(row: RowState, units: Units) -> str:
    if row.difference is None:
        return ""
    return show(
        row.difference, Dimension.LENGTH, units, uncertainty=row.expanded or 1e-6, signed=True
    )
