"""Commands of the machine shop and of parts: parts, order, check-in, selection, rings."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bedplate.cli.options import Adder, opened, read_bytes, units, value, who, write_bytes
from bedplate.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bedplate.quantity import Units
    from bedplate.record import OrderRow
    from bedplate.shop.checkin.model import OrderState, RowState
    from bedplate.shop.model import State
    from bedplate.shop.selection.set_model import MatchedSet
    from bedplate.workshop import Workshop


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    _add_parts(add)
    _add_order(add)
    _add_checkin(add)
    _add_select(add)
    _add_rings(add)


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


def _add_select(add: Adder) -> None:
    select = add(
        "select",
        _select,
        "work out which part on hand goes where, with a proof that none is better",
    )
    select.add_argument("build", metavar="BUILD")
    select.add_argument("what", metavar="WHAT", help="'main shells', 'rod shells' or 'sets'")
    select.add_argument("--choose", action="store_true", help="keep the choice in the record")
    select.add_argument(
        "--housing-codes", default="", metavar="CODES", help="as stamped on block or rods"
    )
    select.add_argument(
        "--shaft-codes", default="", metavar="CODES", help="as stamped on the crank"
    )


def _add_rings(add: Adder) -> None:
    rings = add("rings", _rings, "show what each ring's gap is to be and is, or note strokes filed")
    rings.add_argument("build", metavar="BUILD")
    rings.add_argument("ring", nargs="?", metavar="RING", help="its gap: 'top-ring-gap-3'")
    rings.add_argument("--filed", type=int, metavar="STROKES", help="strokes filed since last")
    rings.add_argument("--bag", default="", metavar="TEXT", help="what the bag in the hand says")
    rings.add_argument("--offers", action="store_true", help="show what common practice says")


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
        print(f"\n{station[:1].upper()}{station[1:]}")
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


def _select(a: argparse.Namespace) -> int:
    from bedplate.cli.output import length, print_json, print_table
    from bedplate.shop.selection.words import proof_words

    if a.what == "sets":
        return _select_sets(a)
    codes = {"housing_codes": a.housing_codes, "shaft_codes": a.shaft_codes}
    with opened(a) as workshop:
        question, found = workshop.shell_selection(a.build, a.what, **codes)
        state = workshop.state(a.build)
        if a.choose and found.placed:
            workshop.select_shells(a.build, a.what, by=who(a), **codes)
    shown, k = units(a, state.units), state.engine.measuring.coverage
    if a.json:
        print_json({"placed": [pair.bearing for pair in found.placed],
                    "proof": proof_words(found.proof), "why_not": found.why_not})  # fmt: skip
        return 0 if found.placed else 1
    for sentence in question.missing:
        print(f"  ? {sentence}")
    if not found.placed:
        print(found.why_not)
        for piece in found.purchase.pieces if found.purchase else ():
            print(f"  To buy: {piece.count} {piece.side} of grade {piece.grade}.")
        return 1
    rows = [
        (
            pair.bearing,
            f"{pair.upper} ({pair.upper_grade})" if pair.upper_grade else pair.upper,
            f"{pair.lower} ({pair.lower_grade})" if pair.lower_grade else pair.lower,
            length(pair.clearance.value, shown),
            length(k * pair.clearance.uncertainty, shown),
            length(pair.deviation, shown),
        )
        for pair in found.placed
    ]
    print_table(("bearing", "upper", "lower", "predicted", "U", "off target"), rows,
                right=(3, 4, 5))  # fmt: skip
    print(f"{proof_words(found.proof)}.")
    left = sum(count for _, count in found.left_over)
    print(f"{left} half shells are left over. Measure each clearance once its shells are in.")
    if a.choose:
        print("The choice is kept in the record.")
    return 0


def _print_predicted(sets: Sequence[tuple[str, MatchedSet]], shown: Units) -> None:
    """Print what is predicted of each set's fits; each is to be measured."""
    from bedplate.cli.output import print_table
    from bedplate.quantity import Dimension, show

    def length(value: float, *, signed: bool = False) -> str:
        return show(value, Dimension.LENGTH, shown, signed=signed, uncertainty=1e-6)

    rows = [
        (label, fit.name, length(fit.clearance.value), length(fit.deviation, signed=True),
         f"file {length(fit.to_file)}" if fit.to_file > 0 else "")
        for label, one in sets for fit in one.fits
    ]  # fmt: skip
    if rows:
        print_table(("cylinder", "fit", "predicted", "off target", ""), rows, right=(2, 3))
        print("A prediction is no record: measure each fit.")


def _select_sets(a: argparse.Namespace) -> int:
    from bedplate.cli.output import print_json, print_table
    from bedplate.quantity import Dimension, show
    from bedplate.shop.selection.chosen import cylinder_sets
    from bedplate.shop.selection.words import proof_words

    with opened(a) as workshop:
        question, found = workshop.set_selection(a.build)
        state = workshop.state(a.build)
        if a.choose:
            workshop.select_sets(a.build, by=who(a))
    shown = units(a, state.units)
    sets = list(cylinder_sets(question, found))
    if a.json:
        print_json([{"cylinder": label, "parts": dict(one.parts), "weight_kg": one.weight,
                     "to_remove_kg": one.to_remove,
                     "fits": [{"name": fit.name, "predicted_m": fit.clearance.value,
                               "uncertainty_m": fit.clearance.uncertainty,
                               "deviation_m": fit.deviation, "to_file_m": fit.to_file}
                              for fit in one.fits]} for label, one in sets])  # fmt: skip
        return 0
    for sentence in question.missing:
        print(f"  ? {sentence}")
    kinds = [kind.name for kind in question.kinds if kind.name != "cylinder bore"]

    def grams(mass: float) -> str:
        return show(mass, Dimension.MASS, shown, resolution=1e-4)

    rows = [
        (label, *(one.parts[kind] for kind in kinds), grams(one.weight), grams(one.to_lightest),
         grams(one.to_remove))
        for label, one in sets
    ]  # fmt: skip
    print_table(("cylinder", *kinds, "set", "over lightest", "take off"), rows,
                right=range(len(kinds) + 1, len(kinds) + 4))  # fmt: skip
    _print_predicted(sets, shown)
    print(f"{proof_words(found.proof)}. Spread {grams(found.spread)}.")
    if a.choose:
        print("The choice is kept in the record.")
    return 0


def _rings(a: argparse.Namespace) -> int:
    from bedplate.cli.output import NOTHING, length, print_table
    from bedplate.cli.receipts import print_receipt
    from bedplate.shop.rings import rings_of

    with opened(a) as workshop:
        if a.filed is not None:
            receipt = workshop.file_ring(a.build, a.ring or "", a.filed, by=who(a), bag=a.bag)
            done = f"{a.filed} strokes are noted; measure the gap again."
            return print_receipt(receipt, done, as_json=a.json)
        state = workshop.state(a.build)
    shown = units(a, state.units)
    held = [ring for ring in rings_of(state) if not a.ring or ring.feature.id == a.ring]
    rows = []
    for ring in held:
        filing = ring.filing
        rows.append(
            (
                ring.bag,
                length(ring.smallest.bore.value, shown) if ring.smallest else NOTHING,
                length(ring.target, shown),
                length(filing.first, shown) if filing else NOTHING,
                length(filing.now.value, shown) if filing else NOTHING,
                length(filing.remaining, shown) if filing else NOTHING,
                str(filing.strokes) if filing else NOTHING,
                filing.standing if filing else ring.missing,
            )
        )
    if a.json:
        from bedplate.cli.output import print_json
        from bedplate.documents.shop_json import shop_as_dict

        print_json(shop_as_dict(state)["rings"])
        return 0
    titles = ("bag", "bore", "target", "first", "now", "to file", "strokes", "standing")
    print_table(titles, rows, right=(1, 2, 3, 4, 5, 6))
    for ring in held if a.ring else ():
        print(ring.filing.what_to_do if ring.filing else ring.missing)
        if ring.rule:
            print(f"  rule: {ring.rule.source}")
    for ring in held if a.offers else ():
        for offer in ring.offered:
            print(
                f"  {ring.bag}: {length(offer.gap, shown)}, {offer.rule.name} ({offer.rule.source})"
            )
    return 0
