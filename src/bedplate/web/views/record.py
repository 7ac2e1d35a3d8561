"""The record as sentences."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.record.entries import (
    BuildStarted,
    EngineRevised,
    Numbered,
    Picture,
    Signed,
    Withdrawn,
)
from bedplate.shop.balance.ledger import ledger_of
from bedplate.shop.model import State
from bedplate.shop.sentences import sentence
from bedplate.web.views.common import when

PAGE = 100
"""Entries on one page of the record."""


@dataclass(frozen=True, slots=True)
class Line:
    """One entry, ready to be printed.

    :param struck: it no longer counts, `why` says the reason
    :param picture: hash of the picture it brought
    """

    number: int
    id: str
    kind: str
    sentence: str
    at: str
    by: str
    hash: str
    struck: bool
    why: str
    picture: str
    may_be_withdrawn: bool


@dataclass(frozen=True, slots=True)
class RecordPage:
    """Entries of one page, newest first; how the balance stands goes with a signature."""

    lines: tuple[Line, ...]
    newer: int | None
    older: int | None
    count: int
    balance: str


def record_page(state: State, before: int | None) -> RecordPage:
    """Return the entries up to a number, newest first."""
    count = len(state.entries)
    last = min(before or count, count)
    first = max(last - PAGE, 0)
    taken_back = {n.entry.target: n for n in state.entries if isinstance(n.entry, Withdrawn)}
    lines = tuple(line(state, n, taken_back) for n in reversed(state.entries[first:last]))
    return RecordPage(
        lines,
        min(last + PAGE, count) if last < count else None,
        first or None,
        count,
        ledger_of(state).sentence,
    )


def line(state: State, numbered: Numbered, taken_back: dict[str, Numbered]) -> Line:
    """Return one entry as a line of the record."""
    entry = numbered.entry
    by = taken_back.get(entry.id)
    why = ""
    if by is not None and isinstance(by.entry, Withdrawn):
        why = f"withdrawn in entry {by.number}: {by.entry.reason}"
    fixed = isinstance(entry, BuildStarted | EngineRevised | Signed | Withdrawn)
    return Line(
        number=numbered.number,
        id=entry.id,
        kind=str(entry.__struct_config__.tag),
        sentence=sentence(state, entry),
        at=when(entry.at),
        by=entry.by,
        hash=numbered.hash[:10],
        struck=by is not None,
        why=why,
        picture=entry.sha256 if isinstance(entry, Picture) else "",
        may_be_withdrawn=by is None and not fixed,
    )
