"""The pages of the build book on the machine shop and on which part went where."""

from __future__ import annotations

from bedplate.documents import paper
from bedplate.documents.paper import Tree, both
from bedplate.documents.shells import bearing_picture
from bedplate.engine.orders import Machining
from bedplate.quantity import Dimension, show
from bedplate.record.entries import OnHand, OrderIssued, RingFiled, SelectionMade
from bedplate.shop.checkin.desk import orders_of
from bedplate.shop.checkin.model import OrderState, RowState
from bedplate.shop.model import State
from bedplate.shop.returns import ordered_words
from bedplate.shop.rings import RingState, rings_of
from bedplate.shop.selection.model import LOADED
from bedplate.shop.selection.outcomes import Outcome, SelectionState, selections_of
from bedplate.shop.selection.shell_question import SHELLS
from bedplate.shop.stock import Lot, stock_of
from bedplate.wording import capital

_SHELL_PLACES = ("upper", "lower")


def has_shop_pages(state: State) -> bool:
    """Tell whether the record says anything of shop, parts, selection or filed rings."""
    kinds = OrderIssued | OnHand | SelectionMade | RingFiled
    return any(isinstance(numbered.entry, kinds) for numbered in state.entries)


def shop_pages(state: State) -> Tree:
    """Return the chapter: orders with their check-in, parts, selections, rings."""
    return {
        "orders": [_order(order, state) for order in orders_of(state)],
        "parts": [_part(lot) for lot in stock_of(state).values()],
        "selections": [_selection(one, state) for one in selections_of(state)],
        "rings": _rings(state),
    }


def _order(order: OrderState, state: State) -> Tree:
    issued = order.issued
    return {
        "name": order.name,
        "to": issued.shop,
        "issued": f"{paper.time(issued.at)} UTC by {issued.by}, entry {order.number}",
        "derived": issued.derived,
        "changed": list(order.changed),
        "conditions": list(issued.conditions),
        "counts": [
            [c.part, str(c.sent), "–" if c.back is None else str(c.back)] for c in order.counts
        ],
        "rows": [_row(row, state) for row in order.rows],
    }


def _row(row: RowState, state: State) -> Tree:
    units = state.units
    notes = [row.stale, row.why if row.difference is not None else "", *row.flags, row.remark]
    if row.waived:
        notes.append(f"waived by {row.waived_by}: {row.waived}")
    if row.row.waits_for:
        notes.append(f"not yet: {row.row.waits_for}")
    return {
        "name": row.row.name,
        "ordered": ordered_words(row.row, units),
        "shop": row.shop_text or row.done,
        "own": both(row.own, units, uncertainty=row.own_expanded)
        if row.own is not None
        else ["", ""],
        "difference": ""
        if row.difference is None
        else show(
            row.difference,
            Dimension.LENGTH,
            units,
            uncertainty=row.expanded,
            signed=True,
        ),
        "standing": row.standing,
        "agreement": row.agreement.value if row.agreement else "",
        "note": " · ".join(note for note in notes if note),
    }


def _part(lot: Lot) -> list[str]:
    entry = lot.entry
    measured = ", ".join(f"{m.name} {m.value.text}" for m in entry.measures)
    where = ", ".join(place for place, _ in lot.used)
    origin = ", ".join(t for t in (entry.supplier, entry.batch and f"batch {entry.batch}") if t)
    return [
        entry.identity,
        " ".join(t for t in (entry.part, entry.half, entry.grade) if t),
        measured or "–",
        origin or "–",
        str(entry.count),
        str(entry.count - lot.left),
        str(lot.left),
        where,
    ]


def _selection(selection: SelectionState, state: State) -> Tree:
    made = selection.made
    return {
        "what": made.what,
        "made": f"entry {selection.number} by {made.by}, {paper.time(made.at)} UTC",
        "proof": capital(made.proof),
        "changed": list(selection.changed),
        "placed": [[one.place, one.identity] for one in made.placed],
        "pictures": _pictures(made, state),
        "outcomes": [_outcome(one, state) for one in selection.outcomes],
    }


def _pictures(made: SelectionMade, state: State) -> list[Tree]:
    """Return each bearing drawn with its two halves, for half shells only."""
    if made.what not in SHELLS:
        return []
    role = SHELLS[made.what]
    held = {one.place: one.identity for one in made.placed}
    machining: Machining = state.engine.machining
    grooved = next((f.grooved for f in machining.shells if f.bearing == role), "")
    bearings = dict.fromkeys(place.rpartition(" ")[0] for place in held)
    drawings = []
    for name in bearings:
        upper, lower = (held.get(f"{name} {side}", "–") for side in _SHELL_PLACES)
        drawn = bearing_picture(name, upper, lower, LOADED[role], grooved=grooved)
        alt = f"{name}: {upper} above, {lower} below"
        drawings.append({"name": name, "picture": paper.drawing(drawn, alt)})
    return drawings


def _outcome(outcome: Outcome, state: State) -> Tree:
    units = state.units
    difference = "to be measured"
    if outcome.difference is not None:
        difference = show(
            outcome.difference, Dimension.LENGTH, units, signed=True, uncertainty=outcome.expanded
        )
    return {
        "name": outcome.name,
        "predicted": both(outcome.predicted, units, uncertainty=outcome.predicted_expanded),
        "expanded": both(outcome.predicted_expanded, units, uncertainty=outcome.predicted_expanded),
        "measured": both(outcome.measured, units),
        "difference": difference,
        "off": outcome.off,
    }


def _rings(state: State) -> list[Tree]:
    return [_ring(ring, state) for ring in rings_of(state) if ring.rule is not None]


def _ring(ring: RingState, state: State) -> Tree:
    units, filing = state.units, ring.filing
    return {
        "bag": ring.bag,
        "bore": both(ring.smallest.bore.value if ring.smallest else None, units),
        "target": both(ring.target, units),
        "first": both(filing.first if filing else None, units),
        "now": both(filing.now.value if filing else None, units),
        "strokes": str(filing.strokes) if filing else "–",
        "standing": filing.standing if filing else ring.missing,
        "source": ring.rule.source if ring.rule else "",
    }
