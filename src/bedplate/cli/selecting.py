"""Commands of selection: half shells, sets, rings."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bedplate.cli.options import Adder, opened, units, who

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bedplate.quantity import Units
    from bedplate.shop.selection.set_model import MatchedSet


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    _add_select(add)
    _add_rings(add)


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
