"""What commands print: JSON, tables, verdict marks, lengths."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bedplate.metrology.results import Verdict
    from bedplate.quantity import Units
    from bedplate.shop.model import FitState
    from bedplate.shop.receipts import FitBrief

NOTHING = "–"
"""Stands where there is no value."""

_INK = {
    "inside": "green",
    "outside": "bold red",
    "undecided": "yellow",
    "stale": "magenta",
    "accepted": "cyan",
}


def print_json(answer: object) -> None:
    """Print an answer as JSON."""
    import msgspec

    data = msgspec.json.format(msgspec.json.encode(answer), indent=2)
    sys.stdout.write(data.decode() + "\n")


def on_terminal() -> bool:
    """Tell whether a person looks at the output, and not another program."""
    return sys.stdout.isatty() and os.environ.get("TERM") != "dumb"


def print_table(
    titles: Sequence[str], rows: Sequence[Sequence[str]], *, right: Sequence[int] = ()
) -> None:
    """Print a table: drawn on a terminal, plain aligned text for another program.

    :param right: columns, counted from 0, that are set to the right
    """
    if on_terminal():
        _drawn(titles, rows, right)
    else:
        _aligned(titles, rows, right)


def _drawn(titles: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int]) -> None:
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for index, title in enumerate(titles):
        table.add_column(
            title, justify="right" if index in right else "left", no_wrap=index in right
        )
    for row in rows:
        table.add_row(*(Text(cell, style=_INK.get(cell, "")) for cell in row))
    Console().print(table)


def _aligned(titles: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int]) -> None:
    lines = [titles, *rows]
    widths = [max(len(line[index]) for line in lines) for index in range(len(titles))]
    for line in lines:
        cells = (
            cell.rjust(width) if index in right else cell.ljust(width)
            for index, (cell, width) in enumerate(zip(line, widths, strict=True))
        )
        print("  ".join(cells).rstrip())


def mark(
    verdict: Verdict,
    extremes: tuple[float | None, float | None],
    limits: tuple[float | None, float | None],
    *,
    stale: bool,
) -> str:
    """Return the mark of a verdict in characters."""
    from bedplate.documents.marks import Mark, characters, is_below

    below = is_below(*extremes, *limits)
    plain = "utf" not in (sys.stdout.encoding or "").lower()
    return characters(Mark(verdict, below, stale), plain=plain)


def mark_of(fit: FitState | FitBrief) -> str:
    """Return the mark of a fit in characters."""
    from bedplate.metrology.results import Verdict

    verdict = Verdict(fit.verdict)
    return mark(verdict, (fit.least, fit.greatest), (fit.low, fit.high), stale=fit.stale)


def length(value: float | None, units: Units, uncertainty: float | None = None) -> str:
    """Return a length in the builder's units, with the digits that its uncertainty leaves it."""
    from bedplate.quantity import Dimension, show

    if value is None:
        return NOTHING
    return show(value, Dimension.LENGTH, units, uncertainty=uncertainty)


def fine(value: float, units: Units) -> str:
    """Return a small length in the finest unit: µm or µin."""
    from bedplate.quantity import Dimension, Units, show

    unit = "µm" if units is Units.METRIC else "µin"
    return show(value, Dimension.LENGTH, units, unit=unit, uncertainty=abs(value))


def both(value: float | None, units: Units, uncertainty: float | None = None) -> str:
    """Return a length in the builder's units, and in the other ones."""
    from bedplate.quantity import Dimension, show_both

    if value is None:
        return NOTHING
    return show_both(value, Dimension.LENGTH, units, uncertainty=uncertainty)


def limits(low: float | None, high: float | None, units: Units) -> str:
    """Return limits in the builder's units."""
    from bedplate.quantity import Dimension, show_range

    return show_range(low, high, Dimension.LENGTH, units)
