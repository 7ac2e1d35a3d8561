"""Entries of weights, balance and torsion as sentences."""

from __future__ import annotations

from bedplate.record.entries import (
    BalanceCardTaken,
    BalanceClosed,
    TorsionMeasured,
    TurningPart,
    Weighed,
)
from bedplate.shop.balance.ledger import are
from bedplate.wording import capital


def balance_said(entry: object) -> str | None:
    """Return what an entry says, None if it is of another kind."""
    match entry:
        case Weighed():
            of = f" of cylinder {entry.number}" if entry.number else ""
            unsure = f" ± {entry.uncertainty.text}" if entry.uncertainty else ""
            scale = f" ({entry.scale})" if entry.scale else ""
            weigh = "weigh" if are([entry.part]) == "are" else "weighs"
            return f"The {entry.part}{of} {weigh} {entry.weight.text}{unsure}{scale}."
        case BalanceCardTaken():
            return _card(entry)
        case TurningPart():
            which = f" ({entry.identity})" if entry.identity else ""
            left = f", {entry.residual.text} left" if entry.residual else ""
            reason = f": {entry.reason}" if entry.reason else ""
            verb, stands = are([entry.part]), entry.standing
            if verb == "are":
                stands = stands.replace("its own", "their own")
            return f"The {entry.part}{which} {verb} {stands}{left}{reason}."
        case BalanceClosed():
            return f"Called balanced ({', '.join(entry.parts)}): {entry.statement}"
        case TorsionMeasured():
            unsure = f" ± {entry.uncertainty.text}" if entry.uncertainty else ""
            tool = f" ({entry.instrument})" if entry.instrument else ""
            return f"{capital(entry.what)} measured: {entry.value.text}{unsure}{tool}."
        case _:
            return None


def _card(entry: BalanceCardTaken) -> str:
    left = ", ".join(
        f"{one.plane} {one.amount.text}{f' @ {one.angle.text}' if one.angle else ''}"
        for one in entry.residual
    )
    marks = (*entry.marks, *("" for _ in entry.on_crank))
    parts = [
        f"{part} ({mark})" if mark else part
        for part, mark in zip(entry.on_crank, marks, strict=False)
    ]
    facts = [f"left {left}"]
    facts += [f"bob-weight {entry.bob_weight.text}"] if entry.bob_weight else []
    facts += [f"crank {entry.mass.text}"] if entry.mass else []
    facts += [f"at {entry.speed.text}"] if entry.speed else []
    facts += [f"G {entry.grade:g} claimed"] if entry.grade else []
    facts += [f"on the crank {', '.join(parts)}"] if parts else ["nothing on the crank"]
    return f"Balanced by {entry.shop}, by its card: {'; '.join(facts)}."
