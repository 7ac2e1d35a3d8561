"""Orders, parts on hand, selections and rings as JSON: part of the state's one form.

Lengths are in m under keys that end in `_m`, angles in rad, weights in kg; a row's `quantity` says
which its `low`, `aim` and `high` are.
"""

from __future__ import annotations

from typing import Any

import msgspec

from bedplate.shop.checkin.desk import orders_of
from bedplate.shop.checkin.model import OrderState, RowState
from bedplate.shop.model import State
from bedplate.shop.rings import RingState, rings_of
from bedplate.shop.selection.outcomes import SelectionState, selections_of
from bedplate.shop.stock import Lot, stock_of

Tree = dict[str, Any]


def shop_as_dict(state: State) -> Tree:
    """Return the machine shop's side of a state as JSON objects."""
    return {
        "orders": [_order(order) for order in orders_of(state)],
        "parts": [_lot(lot) for lot in stock_of(state).values()],
        "selections": [_selection(one) for one in selections_of(state)],
        "rings": [_ring(ring) for ring in rings_of(state)],
    }


def _order(order: OrderState) -> Tree:
    return {
        "order": order.issued.order,
        "revision": order.issued.revision,
        "shop": order.issued.shop,
        "derived": order.issued.derived,
        "number": order.number,
        "changed": list(order.changed),
        "counts": [{"part": c.part, "sent": c.sent, "back": c.back} for c in order.counts],
        "rows": [row_as_dict(row) for row in order.rows],
    }


def row_as_dict(row: RowState) -> Tree:
    """Return a row of an order with what came of it."""
    return {
        **msgspec.to_builtins(row.row),
        "standing": row.standing,
        "shop": row.shop,
        "shop_text": row.shop_text,
        "shop_expanded": row.shop_expanded,
        "own_m": row.own,
        "own_expanded_m": row.own_expanded,
        "difference_m": row.difference,
        "expanded_m": row.expanded,
        "agreement": row.agreement.value if row.agreement else "",
        "why": row.why,
        "verdict": row.verdict.value,
        "shop_verdict": row.shop_verdict.value,
        "flags": list(row.flags),
        "done": row.done,
        "stale": row.stale,
        "changed": row.changed,
        "waived": row.waived,
        "waived_by": row.waived_by,
    }


def _lot(lot: Lot) -> Tree:
    fields = msgspec.to_builtins(lot.entry)
    for name in ("kind", "id", "at", "by"):
        fields.pop(name)
    used = [{"place": place, "count": count} for place, count in lot.used]
    return {**fields, "number": lot.number, "used": used, "left": lot.left}


def _selection(selection: SelectionState) -> Tree:
    made = selection.made
    return {
        "what": made.what,
        "number": selection.number,
        "derived": made.derived,
        "proof": made.proof,
        "changed": list(selection.changed),
        "placed": msgspec.to_builtins(made.placed),
        "fits": [
            {
                "fit": one.fit,
                "predicted_m": one.predicted,
                "predicted_expanded_m": one.predicted_expanded,
                "measured_m": one.measured,
                "difference_m": one.difference,
                "off": one.off,
            }
            for one in selection.outcomes
        ],
    }


def _ring(ring: RingState) -> Tree:
    filing = ring.filing
    return {
        "ring": ring.feature.id,
        "bag": ring.bag,
        "bore_m": ring.smallest.bore.value if ring.smallest else None,
        "target_m": ring.target,
        "source": ring.rule.source if ring.rule else "",
        "first_m": filing.first if filing else None,
        "now_m": filing.now.value if filing else None,
        "remaining_m": filing.remaining if filing else None,
        "strokes": filing.strokes if filing else 0,
        "standing": filing.standing if filing else "",
        "missing": ring.missing,
    }
