"""What a writing command answers: the entry it made, what it says, what it decided."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bedplate.quantity import Units
    from bedplate.shop.receipts import FitBrief, ReadingReceipt, Receipt


def print_receipt(receipt: Receipt, done: str, *, as_json: bool) -> int:
    """Print that an entry was taken."""
    if as_json:
        from bedplate.cli.output import print_json

        print_json(receipt)
    else:
        again = " It had been taken before; nothing was added." if receipt.repeated else ""
        print(f"{done} Entry {receipt.number}.{again}")
    return 0


def print_reading(receipt: ReadingReceipt, units: Units) -> None:
    """Print what a reading says, what is doubtful about it, and what it decided."""
    aloud = f" ({receipt.words})" if receipt.words else ""
    shown = "" if receipt.shown in {"", receipt.echo} else f", so the size is {receipt.shown}"
    again = "; it had been taken before" if receipt.repeated else ""
    print(f"Entry {receipt.number}: {receipt.name}: {receipt.echo}{aloud}{shown}{again}.")
    for doubt in receipt.doubts:
        print(f"  ? {doubt.sentence}")
    for fit in receipt.fits:
        print(f"  {fit_line(fit, units)}")
    if receipt.next is not None:
        print(f"  Next: {receipt.next.name}.")


def fit_line(fit: FitBrief, units: Units) -> str:
    """Return a fit in one line: mark, name, verdict, value with uncertainty, limits, advice."""
    from bedplate.cli.output import length, limits, mark_of

    line = f"{mark_of(fit)}  {fit.name}: {fit.verdict}{', stale' if fit.stale else ''}"
    if fit.value is not None:
        line += f", {fit.shown} ± {length(fit.expanded, units, fit.expanded)}"
    line += f" (limits {limits(fit.low, fit.high, units)})."
    return f"{line} {fit.advice}".rstrip()
