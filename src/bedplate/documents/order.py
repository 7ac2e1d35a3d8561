"""The machine-shop order on paper, a page for each station of work, and the letter on a dispute."""

from __future__ import annotations

from bedplate.documents import paper
from bedplate.documents.crosshatch import crosshatch_picture
from bedplate.documents.paper import Tree, both, both_range
from bedplate.metrology import Verdict
from bedplate.quantity import Dimension, Units, show_range
from bedplate.record.entries import OrderIssued, OrderRow
from bedplate.shop.checkin.desk import orders_of
from bedplate.shop.checkin.model import OrderState, RowState
from bedplate.shop.model import State
from bedplate.shop.ordering import draft
from bedplate.shop.returns import ordered_words

_SURFACE = {Units.METRIC: ("µm", 1e-8), Units.INCH: ("µin", 0.0254e-6)}


def order_sheet(state: State, number: str = "") -> bytes:
    """Return a shop order as PDF/A-3: the last revision, or the draft where none was issued.

    :param number: of the order, the last one if empty
    :raises BedplateError: the page could not be set
    """
    last = state.entries[-1].entry.at if state.entries else ""
    return paper.typeset("order.typ", contents(state, number), at=paper.moment(last))


def contents(state: State, number: str = "") -> Tree:
    """Return everything the template sets."""
    orders = {order.issued.order: order for order in orders_of(state)}
    order = orders.get(number) or (list(orders.values())[-1] if orders else None)
    if order is not None:
        return _contents(state, order.issued, order.name, order.changed)
    said = state.engine.machining.order
    made = draft(state)
    issued = OrderIssued(
        id="", at="", by="", order=said.number if said else "", revision=0,
        shop=said.shop if said else "", derived=made.derived, rows=made.rows,
        conditions=made.conditions, back=said.back if said else (),
    )  # fmt: skip
    return _contents(state, issued, "draft, not issued", ())


def _contents(state: State, issued: OrderIssued, name: str, changed: tuple[str, ...]) -> Tree:
    stations = list(dict.fromkeys(row.station for row in issued.rows))
    return {
        "head": paper.heading(state),
        "order": name,
        "shop": issued.shop or "the machine shop",
        "issued": f"{paper.time(issued.at)} UTC by {issued.by}" if issued.at else "not issued",
        "derived": issued.derived,
        "changed": list(changed),
        "front": state.engine.layout.front,
        "stations": [station_page(state, issued, station) for station in stations],
        "sent": [[one.part, str(one.count)] for one in issued.sent],
        "back": list(issued.back),
    }


def station_page(state: State, issued: OrderIssued, station: str) -> Tree:
    """Return a page of an order: sizes in one table with their forms, the rest beneath."""
    rows = [row for row in issued.rows if row.station == station]
    sized = [row for row in rows if row.feature and not row.form.startswith(("out", "taper"))]
    forms = {(row.feature, row.form): row for row in rows if row.form in {"out-of-round", "taper"}}
    alone = [row for row in rows if row not in sized and row.form not in {"out-of-round", "taper"}]
    hatch = next((row for row in rows if row.quantity == "angle"), None)
    shared = _shared([row.words for row in sized])
    return {
        "title": station,
        "conditions": [
            line.split(": ", 2)[1:] for line in issued.conditions if line.startswith(f"{station}: ")
        ],
        "condition": _shared([row.condition for row in sized if row.condition]),
        "places": shared,
        "forms": bool(forms),
        "sizes": [_size(row, forms, state.units, shared) for row in sized],
        "asks": [_ask(row, state.units) for row in alone],
        "hatch": None
        if hatch is None or hatch.low is None or hatch.high is None
        else paper.drawing(
            crosshatch_picture(hatch.low, hatch.high),
            f"Crosshatch, {ordered_words(hatch, state.units)}",
        ),
    }


def _shared(texts: list[str]) -> str:
    """Return the text that all share, '' if they do not."""
    return texts[0] if texts and all(text == texts[0] for text in texts) else ""


def _size(row: OrderRow, forms: dict[tuple[str, str], OrderRow], units: Units, shared: str) -> Tree:
    def most(form: str) -> list[str]:
        held = forms.get((row.feature, form))
        return both(held.high, units) if held else ["", ""]

    words = [row.words if row.words != shared else "", row.basis]
    return {
        "name": row.name,
        "row": row.row,
        "aim": both(row.aim, units, uncertainty=_FINE),
        "limits": _limits(row.low, row.high, units)
        if row.low is not None or row.high is not None
        else ["", ""],
        "round": most("out-of-round"),
        "taper": most("taper"),
        "words": " · ".join(word for word in words if word),
        "waits": row.waits_for,
    }


_FINE = 3e-6
"""m: what a size is printed to, so that inches show what the shop can hold."""

_STEPS = {Units.METRIC: 1e-6, Units.INCH: 0.0254e-5}


def _limits(low: float | None, high: float | None, units: Units) -> list[str]:
    """Return limits in both units, in the digits that a shop can hold."""
    return [
        show_range(low, high, Dimension.LENGTH, one, resolution=_STEPS[one])
        for one in (units, paper.other(units))
    ]


def _ask(row: OrderRow, units: Units) -> Tree:
    asked = ["", ""]
    if row.quantity == "surface":
        asked = [
            show_range(row.low, row.high, Dimension.LENGTH, units, unit=unit, resolution=step)
            for unit, step in (_SURFACE[units], _SURFACE[paper.other(units)])
        ]
    elif row.quantity == "angle":
        asked = [show_range(row.low, row.high, Dimension.ANGLE, units), ""]
    elif row.quantity == "length":
        asked = both_range(row.low, row.high, units)
    return {
        "name": row.name,
        "row": row.row,
        "asked": asked,
        "words": row.words,
        "waits": row.waits_for,
        "tick": row.quantity == "words",
    }


def order_letter(state: State, order: OrderState) -> bytes:
    """Return the letter on the rows of an order that are disputed, as PDF/A-3.

    :raises BedplateError: the page could not be set
    """
    last = state.entries[-1].entry.at if state.entries else ""
    return paper.typeset("letter.typ", letter(state, order), at=paper.moment(last))


def letter(state: State, order: OrderState) -> Tree:
    """Return everything the letter sets."""
    return {
        "head": paper.heading(state),
        "order": order.name,
        "shop": order.issued.shop or "the machine shop",
        "coverage": f"{state.engine.measuring.coverage:g}",
        "rows": [_disputed(row, state) for row in order.disputed],
        "gauges": _gauges(state, order),
    }


def _disputed(row: RowState, state: State) -> Tree:
    units = state.units
    return {
        "name": row.row.name,
        "row": row.row.row,
        "ordered": _limits(row.row.low, row.row.high, units),
        "shop": both(row.shop, units, uncertainty=row.shop_expanded),
        "shop_text": row.shop_text,
        "shop_expanded": both(row.shop_expanded, units, uncertainty=row.shop_expanded),
        "gauge": row.gauge,
        "own": both(row.own, units, uncertainty=row.own_expanded),
        "own_expanded": both(row.own_expanded, units, uncertainty=row.own_expanded),
        "difference": both(row.difference, units, uncertainty=row.expanded, signed=True),
        "expanded": both(row.expanded, units, uncertainty=row.expanded),
        "agreement": _agreement(row),
        "shop_verdict": row.shop_verdict.value,
        "verdict": row.verdict.value,
        "notes": " · ".join(note for note in (row.why, *row.flags, row.remark) if note),
    }


def _agreement(row: RowState) -> str:
    """Say how the two figures stand to each other and to the order."""
    said = row.agreement.value if row.agreement else "not compared"
    outside = Verdict.OUTSIDE in {row.verdict, row.shop_verdict}
    return f"{said}; outside what was ordered" if outside else said


def _gauges(state: State, order: OrderState) -> list[str]:
    """Return the gauges that our figures of the disputed rows rest on."""
    used: dict[str, None] = {}
    for row in order.disputed:
        held = state.features.get(row.row.feature)
        for reading in held.readings if held else ():
            if reading.standing == "counts":
                used[reading.gauge] = None
    lines = []
    for name in used:
        gauge = state.gauges.get(name)
        if gauge is not None:
            due = f", calibrated {gauge.gauge.calibrated}" if gauge.gauge.calibrated else ""
            lines.append(
                f"{gauge.gauge.name} ({name}): U = {gauge.gauge.expanded_uncertainty.text}{due}"
            )
    return lines
