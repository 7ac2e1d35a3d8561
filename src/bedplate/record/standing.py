"""Which entries still stand: those that no later one has withdrawn."""

from __future__ import annotations

from collections.abc import Iterable

from bedplate.record.entries import Numbered, Withdrawn


def standing(rows: Iterable[Numbered]) -> list[Numbered]:
    """Return the entries that were not taken back, in order."""
    rows = list(rows)
    back = {row.entry.target for row in rows if isinstance(row.entry, Withdrawn)}
    return [row for row in rows if row.entry.id not in back]
