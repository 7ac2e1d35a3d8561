"""Entries of parts, orders, returns, selections and rings as sentences."""

from __future__ import annotations

from bedplate.record.entries import (
    OnHand,
    OrderIssued,
    PartsUsed,
    ReturnTaken,
    RingFiled,
    RowWaived,
    SelectionMade,
)
from bedplate.wording import capital


def shop_said(entry: object) -> str | None:
    """Return what an entry says, None if it is of another kind."""
    match entry:
        case OnHand():
            return _on_hand(entry)
        case PartsUsed():
            return f"{entry.count} × {entry.identity} used: {entry.place}."
        case OrderIssued():
            to = f" to {entry.shop}" if entry.shop else ""
            rows = _count(len(entry.rows), "row")
            return f"Shop order {entry.order}, revision {entry.revision}, issued{to}: {rows}."
        case ReturnTaken():
            return _returned(entry)
        case RowWaived():
            return f"Order {entry.order}, row {entry.row} waived: {entry.reason}"
        case SelectionMade():
            places = ", ".join(f"{one.place} {one.identity}" for one in entry.placed)
            return f"{capital(entry.what)} chosen, {entry.proof}: {places}."
        case RingFiled():
            return f"Ring {entry.bag or entry.feature} filed, {_count(entry.strokes, 'stroke')}."
        case _:
            return None


def _on_hand(entry: OnHand) -> str:
    told = [t for t in (entry.grade, entry.half, entry.marks, entry.supplier) if t]
    told += [f"{one.name} {one.value.text}" for one in entry.measures]
    return f"On hand: {entry.count} × {entry.part} {entry.identity} ({', '.join(told) or 'as is'})."


def _returned(entry: ReturnTaken) -> str:
    figures = sum(row.value is not None for row in entry.rows)
    done = sum(bool(row.done) for row in entry.rows)
    counts = ", ".join(f"{one.count} {one.part}" for one in entry.returned)
    back = f"; back: {counts}" if counts else ""
    return (
        f"Return sheet for order {entry.order}, revision {entry.revision}: "
        f"{_count(figures, 'figure')}, {_count(done, 'word')} on work{back}."
    )


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
