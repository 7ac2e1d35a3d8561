"""What an entry on orders, parts, selections and rings may name: only what stands before it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from typing import Protocol

from bedplate.errors import NotFoundError
from bedplate.record.entries import (
    AnyEntry,
    BuildStarted,
    EngineRevised,
    Numbered,
    OnHand,
    OrderIssued,
    PartsUsed,
    ReturnTaken,
    RingFiled,
    RowWaived,
    SelectionMade,
)
from bedplate.record.standing import standing

Names = Callable[[str], Collection[str] | None]
"""Returns the ids of an engine file's features and fits; None where it cannot be read."""


class Earlier(Protocol):
    """The record of one build before an entry, to be gone through."""

    def earlier(self) -> Iterable[Numbered]:
        """Return every entry before it, in order."""
        ...

    def names(self, engine: str) -> Collection[str] | None:
        """Return the ids of an engine file's features and fits; None where nobody can say."""
        ...


ShopEntry = ReturnTaken | RowWaived | SelectionMade | RingFiled | PartsUsed
"""Entries that name an order, a part on hand, or something of the engine file."""


def check_shop(build: str, entry: ShopEntry, before: Earlier) -> None:
    """Refuse an entry that names what the record before it does not hold.

    What was withdrawn is not held any more. Ids of features and fits are those of any engine file
    in the record so far.

    :raises NotFoundError: naming what is not there
    """
    if isinstance(entry, ReturnTaken):
        order = _order(build, entry.order, before, entry.revision)
        for row in entry.rows:
            _check_row(order, row.row)
        sent = {one.part for one in order.sent}
        for back in entry.returned:
            if back.part not in sent:
                sentence = f"Order {order.order} sent no '{back.part[:60]}' that could come back."
                raise NotFoundError(sentence, hint=_choice("It sent", sent))
    elif isinstance(entry, RowWaived):
        _check_row(_order(build, entry.order, before), entry.row)
    elif isinstance(entry, SelectionMade):
        _check_parts(build, [placed.identity for placed in entry.placed], before)
        _check_names(build, [one.fit for one in entry.predicted], "fit", before)
    elif isinstance(entry, PartsUsed):
        _check_parts(build, [entry.identity], before)
    else:
        _check_names(build, [entry.feature], "ring gap", before)


def _standing(before: Earlier) -> Iterator[AnyEntry]:
    """Yield the entries that were not withdrawn."""
    return (row.entry for row in standing(before.earlier()))


def _order(build: str, name: str, before: Earlier, revision: int = 0) -> OrderIssued:
    """Return an order as it was issued: the revision named, or the last."""
    issued = [e for e in _standing(before) if isinstance(e, OrderIssued)]
    found = [e for e in issued if e.order == name and revision in {0, e.revision}]
    if not found:
        which = f"'{name[:60]}'" + (f", revision {revision}," if revision else "")
        sentence = f"There is no shop order {which} in the record of '{build}'."
        raise NotFoundError(sentence, hint=_choice("There is", {e.order for e in issued}))
    return found[-1]


def _check_row(order: OrderIssued, name: str) -> None:
    rows = {row.row for row in order.rows}
    if name not in rows:
        sentence = f"Order {order.order}, revision {order.revision}, has no row '{name[:60]}'."
        raise NotFoundError(sentence, hint="Take the row's short name from the order.")


def _check_parts(build: str, identities: Collection[str], before: Earlier) -> None:
    held = {entry.identity for entry in _standing(before) if isinstance(entry, OnHand)}
    for identity in identities:
        if identity not in held:
            sentence = f"There is no part '{identity[:60]}' on hand in the record of '{build}'."
            raise NotFoundError(sentence, hint="Note the part on hand first.")


def _check_names(build: str, names: Collection[str], what: str, before: Earlier) -> None:
    known: set[str] = set()
    for row in before.earlier() if names else ():
        if isinstance(row.entry, BuildStarted | EngineRevised):
            found = before.names(row.entry.engine)
            if found is None:
                return  # an engine file that nobody can read here may name anything
            known |= set(found)
    for name in names:
        if name not in known:
            sentence = f"There is no {what} '{name[:60]}' in an engine file of '{build}'."
            raise NotFoundError(sentence, hint="Take its id from the engine file's list.")


def _choice(words: str, names: Collection[str]) -> str:
    return f"{words} {', '.join(sorted(names)[:6])}." if names else "There is none yet."
