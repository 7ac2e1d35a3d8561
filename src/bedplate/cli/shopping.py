"""Commands of the machine shop and of parts: parts, order, check-in."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bedplate.cli.options import Adder, opened, read_bytes, units, value, who, write_bytes
from bedplate.errors import InputError
from bedplate.wording import capital

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bedplate.quantity import Units
    from bedplate.record import OrderRow
    from bedplate.shop.checkin.model import OrderState, RowState
    from bedplate.shop.model import State
    from bedplate.workshop import Workshop


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    _add_parts(add)
    _add_order(add)
    _add_checkin(add)


def _add_parts(add: Adder) -> None:
    parts = add("parts", _parts, "show the parts on hand, or take in those of a CSV file")
    parts.add_argument("build", metavar="BUILD")
    parts.add_argument("file", nargs="?", metavar="FILE", help="CSV file of parts; '-' reads input")
    parts.add_argument(
        "--add",
        nargs="+",
        metavar="WHAT=TEXT",
        help="one part: identity=P3 part=piston size='84.415 mm' count=1 ...",
    )
    parts.add_argument("--use", metavar="IDENTITY", help="note that some of these went somewhere")
    parts.add_argument("--count", type=int, default=1, metavar="N", help="how many, with --use")
    parts.add_argument("--place", default="", metavar="TEXT", help="where to, with --use")


def _add_order(add: Adder) -> None:
    order = add(
        "order",
        _order,
        "show the machine-shop order, issue it, or write it as PDF",
        "Finish sizes come from the pistons and bearings as measured. An order that was issued\n"
        "says when a fact under it has changed; issue it again for the next revision.",
    )
    order.add_argument("build", metavar="BUILD")
    order.add_argument("--issue", action="store_true", help="issue it, or its next revision")
    order.add_argument("--number", default="", metavar="N", help="number of the order")
    order.add_argument("--shop", default="", metavar="NAME", help="who does the work")
    order.add_argument("--pdf", metavar="FILE", help="write it as PDF")
    order.add_argument("--blank", metavar="FILE", help="write its blank return sheet as CSV")
    order.add_argument("--replace", action="store_true", help="write over a file that is there")


def _add_checkin(add: Adder) -> None:
    checkin = add(
        "checkin",
        _checkin,
        "show what came back from the machine shop beside what was measured here",
        "A return sheet is a CSV file with the columns row, value, uncertainty, done, condition,\n"
        "gauge, temperature and remark; 'order --blank' writes one. Every value has its unit.",
    )
    checkin.add_argument("build", metavar="BUILD")
    checkin.add_argument("file", nargs="?", metavar="FILE", help="return sheet as CSV")
    checkin.add_argument("--number", default="", metavar="N", help="number of the order")
    checkin.add_argument(
        "--row", nargs=2, metavar=("ROW", "VALUE"), help="one row of the return sheet"
    )
    checkin.add_argument("--done", metavar="ROW", help="a row of work that the shop did")
    checkin.add_argument("--uncertainty", default="", metavar="U", help="of --row, k = 2")
    checkin.add_argument("--condition", default="", metavar="TEXT", help="of the parts, with --row")
    checkin.add_argument(
        "--back", nargs="+", default=[], metavar="PART=N", help="how many came back: pistons=6"
    )
    checkin.add_argument("--waive", metavar="ROW", help="let a row be, with --reason")
    checkin.add_argument("--reason", default="", metavar="TEXT")
    checkin.add_argument("--letter", metavar="FILE", help="write the letter on disputed rows, PDF")
    checkin.add_argument("--all", action="store_true", help="show rows that are in order too")
    checkin.add_argument("--replace", action="store_true", help="write over a file that is there")


def _parts(a: argparse.Namespace) -> int:
    from bedplate.cli.receipts import print_receipt

    with opened(a) as workshop:
        if a.add:
            receipt = workshop.add_part(a.build, _pairs(a.add), by=who(a))
            return print_receipt(receipt, "The part is on hand.", as_json=a.json)
        if a.use:
            receipt = workshop.use_part(a.build, a.use, a.count, a.place, by=who(a))
            return print_receipt(receipt, f"{a.count} of '{a.use}' used.", as_json=a.json)
        if a.file:
            receipts = workshop.add_parts(a.build, read_bytes(a.file), a.file, by=who(a))
            if not a.json:
                print(f"{len(receipts)} kinds of part are on hand.")
        state = workshop.state(a.build)
    return _print_parts(state, as_json=a.json)


def _pairs(words: list[str]) -> dict[str, str]:
    found = {}
    for word in words:
        name, sign, text = word.partition("=")
        if not sign:
            sentence = f"'{word[:40]}' does not say what of the part it is."
            raise InputError(sentence, hint="Write identity=P3 part=piston.")
        found[name.strip().lower().replace("_", " ")] = text.strip()
    return found


def _print_parts(state: State, *, as_json: bool) -> int:
    from bedplate.cli.output import NOTHING, print_json, print_table
    from bedplate.shop.stock import stock_of

    lots = stock_of(state)
    if as_json:
        from bedplate.documents.shop_json import shop_as_dict

        print_json(shop_as_dict(state)["parts"])
        return 0
    if not lots:
        print(f"Nothing is on hand yet: bedplate parts {state.build} FILE.csv")
        return 0
    rows = [
        (
            name,
            lot.entry.part,
            " ".join(t for t in (lot.entry.grade, lot.entry.half) if t) or NOTHING,
            ", ".join(f"{m.name} {m.value.text}" for m in lot.entry.measures) or NOTHING,
            str(lot.entry.count),
            str(lot.entry.count - lot.left),
            str(lot.left),
        )
        for name, lot in lots.items()
    ]
    print_table(("identity", "part", "grade", "measured", "in", "used", "left"), rows,
                right=(4, 5, 6))  # fmt: skip
    return 0


def _order(a: argparse.Namespace) -> int:
    from bedplate.cli.output import print_json

    with opened(a) as workshop:
        if a.issue:
            workshop.issue_order(a.build, by=who(a), number=a.number, shop=a.shop)
        if a.pdf:
            write_bytes(a.pdf, workshop.order_sheet(a.build, a.number), replace=a.replace)
        if a.blank:
            write_bytes(a.blank, workshop.return_sheet(a.build, a.number), replace=a.replace)
        state = workshop.state(a.build)
    if "-" in {a.pdf, a.blank}:
        return 0
    from bedplate.shop.checkin.desk import orders_of
    from bedplate.shop.ordering import draft

    orders = [o for o in orders_of(state) if not a.number or o.issued.order == a.number]
    rows = orders[-1].issued.rows if orders else draft(state).rows
    if a.json:
        print_json(orders[-1].issued if orders else {"rows": rows})
        return 0
    name = f"Order {orders[-1].name}" if orders else "Draft of an order, not issued"
    print(f"{name}: {len(rows)} rows.")
    _print_order(rows, units(a, state.units))
    for sentence in orders[-1].changed if orders else ():
        print(f"  ? stale. {sentence}")
    return 0


def _print_order(rows: Sequence[OrderRow], shown: Units) -> None:
    from bedplate.cli.output import print_table
    from bedplate.shop.returns import ordered_words

    for station in dict.fromkeys(row.station for row in rows):
        print(f"\n{capital(station)}")
        table = [
            (
                row.row,
                "" if row.waits_for else ordered_words(row, shown),
                f"not yet: {row.waits_for}" if row.waits_for else _from(row),
            )
            for row in rows
            if row.station == station
        ]
        print_table(("row", "ordered", "from"), table)


def _from(row: OrderRow) -> str:
    """Return what a row says besides its figure, and what it was worked out from."""
    words = "" if row.quantity == "words" else row.words
    return "; ".join(text.rstrip(".") for text in (words, row.basis) if text)


def _checkin(a: argparse.Namespace) -> int:
    from bedplate.shop.checkin.desk import orders_of
    from bedplate.shop.returns import counts_of

    with opened(a) as workshop:
        if _write_checkin(a, workshop, counts_of(a.back)):
            return 0
        state = workshop.state(a.build)
        if a.letter:
            write_bytes(a.letter, workshop.order_letter(a.build, a.number), replace=a.replace)
    orders = [o for o in orders_of(state) if not a.number or o.issued.order == a.number]
    if not orders:
        print(f"No order has been issued yet: bedplate order {a.build} --issue")
        return 1
    return _print_checkin(orders[-1], units(a, state.units), a)


def _write_checkin(a: argparse.Namespace, workshop: Workshop, back: dict[str, int]) -> bool:
    """Take what was given; tell whether a receipt was printed."""
    from bedplate.cli.receipts import print_receipt

    if a.file:
        workshop.take_return_sheet(
            a.build, read_bytes(a.file), a.file, by=who(a), order=a.number, returned=back
        )
        return False
    if a.waive:
        receipt = workshop.waive_row(a.build, a.waive, a.reason, by=who(a), order=a.number)
        print_receipt(receipt, f"'{a.waive}' is waived.", as_json=a.json)
        return True
    said: list[dict[str, str]] = []
    if a.row:
        said.append(
            {
                "row": a.row[0],
                "value": value(a.row[1]),
                "uncertainty": a.uncertainty,
                "condition": a.condition,
            }
        )
    if a.done:
        said.append({"row": a.done, "done": "yes"})
    if said or back:
        receipt = workshop.take_return(a.build, said, by=who(a), order=a.number, returned=back)
        print_receipt(receipt, "It is taken from the return sheet.", as_json=a.json)
        return True
    return False


def _print_checkin(order: OrderState, shown: Units, a: argparse.Namespace) -> int:
    from bedplate.cli.output import print_json, print_table

    if a.json:
        from bedplate.documents.shop_json import row_as_dict

        print_json([row_as_dict(row) for row in order.rows])
        return 0
    print(f"Order {order.name}: {order.returns} return sheet{'' if order.returns == 1 else 's'}.")
    told = [row for row in order.rows if a.all or row.standing != "in order"]
    rows = [
        (
            row.row.row,
            row.standing,
            _shown(row, row.shop, shown),
            _shown(row, row.own, shown),
            _shown(row, row.difference, shown),
            row.agreement.value if row.agreement else "",
            "; ".join(t for t in (row.stale, row.row.waits_for, *row.flags, row.waived) if t),
        )
        for row in told
    ]
    print_table(("row", "standing", "shop", "here", "difference", "", "remarks"), rows,
                right=(2, 3, 4))  # fmt: skip
    for count in order.counts:
        back = "none counted yet" if count.back is None else f"{count.back} back"
        print(f"{count.part}: {count.sent} sent, {back}.")
    for sentence in order.changed:
        print(f"  ? stale. {sentence}")
    return 0


def _shown(row: RowState, size: float | None, shown: Units) -> str:
    from bedplate.cli.output import fine, length
    from bedplate.quantity import Dimension, show

    if size is None:
        return row.done if size is row.shop else ""
    if row.row.quantity == "angle":
        return show(size, Dimension.ANGLE, shown)
    return fine(size, shown) if row.row.quantity == "surface" else length(size, shown)
