"""Commands of balance and torsion: weights, bob-weights, what is due, critical speeds."""

from __future__ import annotations

import argparse
from math import pi
from typing import TYPE_CHECKING, Any

from bedplate.cli import rotors
from bedplate.cli.options import Adder, opened, read_text, units, value, who, write_bytes
from bedplate.errors import InputError
from bedplate.wording import capital

if TYPE_CHECKING:
    from bedplate.engine import Engine
    from bedplate.quantity import Dimension, Units
    from bedplate.shop.balance.bob_weight import Card
    from bedplate.shop.balance.card_check import Remark
    from bedplate.shop.balance.ledger import Ledger
    from bedplate.shop.balance.shaking import Shaking
    from bedplate.shop.model import State
    from bedplate.shop.torsion.report import TorsionReport
    from bedplate.workshop import Workshop

_WHAT = "an engine file, or a build (with what was weighed)"


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    weigh = add("weigh", _weigh, "note what a part weighs")
    weigh.add_argument("build", metavar="BUILD")
    weigh.add_argument("part", metavar="PART", help="'piston', 'small end', 'rod', 'crank'")
    weigh.add_argument("weight", type=value, metavar="WEIGHT", help="'412.3 g'")
    weigh.add_argument("--cylinder", default="", metavar="N", help="its cylinder; all if not said")
    weigh.add_argument(
        "--uncertainty", default="", type=value, metavar="WEIGHT", help="of the scale, k = 2"
    )
    weigh.add_argument("--scale", default="", metavar="TEXT", help="which scale, which jig")

    bob = add("bobweight", _bobweight, "the bob-weight of every throw, or why none is needed")
    bob.add_argument("what", metavar="WHAT", help=_WHAT)
    bob.add_argument(
        "--heavier", nargs=2, metavar=("PART", "WEIGHT"), help="what a part that differs changes"
    )
    bob.add_argument("--pdf", metavar="FILE", help="write the card as PDF (of a build)")
    bob.add_argument("--replace", action="store_true", help="write over a file that is there")
    _add_balance(add)
    rotors.add_commands(add)
    torsion = add(
        "torsion",
        _torsion,
        "natural frequencies, critical speeds and twist of the crank",
        "An estimate for comparing choices, never a release. What was measured takes the\n"
        "estimate's place; 'bedplate withdraw' takes it back.",
    )
    torsion.add_argument("what", metavar="WHAT", help=_WHAT)
    torsion.add_argument(
        "--measured", nargs=2, metavar=("WHAT", "VALUE"),
        help="'first natural frequency' '352 Hz' (damper off), or 'stiffness of a throw'",
    )  # fmt: skip
    torsion.add_argument(
        "--uncertainty", default="", type=value, metavar="TEXT", help="of it, k = 2: '2 %%', '4 Hz'"
    )
    torsion.add_argument("--instrument", default="", metavar="TEXT", help="measured with what")
    torsion.add_argument("--sources", action="store_true", help="where every figure comes from")


def _add_balance(add: Adder) -> None:
    balance = add(
        "balance",
        _balance,
        "what the engine shakes with, what turns with the crank, and what is still due",
        "It is not called balanced while anything that turns is still due.",
    )
    balance.add_argument("what", metavar="WHAT", help=_WHAT)
    balance.add_argument("--part", default="", metavar="PART", help="say how this part stands")
    balance.add_argument(
        "--standing",
        default="",
        metavar="WORDS",
        help="'chosen', 'balanced with the crank', 'balanced on its own', 'matched', 'not fitted'",
    )
    balance.add_argument("--identity", default="", metavar="TEXT", help="which one it is")
    balance.add_argument("--reason", default="", metavar="TEXT", help="why; what it was matched to")
    balance.add_argument("--card", default="", metavar="SHOP", help="take in this shop's card")
    balance.add_argument(
        "--residual", action="append", default=[], type=value, metavar="TEXT",
        help="what is left: 'front 120 g·mm @ 40 deg', once a plane; '0.2 oz·in per plane'; of a "
        "part just '90 g·mm'",
    )  # fmt: skip
    balance.add_argument(
        "--line", action="append", default=[], metavar="TEXT", help="of the card: 'pin 2 x 118 g'"
    )
    balance.add_argument("--bob-weight", default="", metavar="WEIGHT", help="the card's total")
    balance.add_argument("--mass", default="", metavar="WEIGHT", help="of the crank, by the card")
    balance.add_argument("--speed", default="", metavar="SPEED", help="that the residual holds at")
    balance.add_argument("--grade", default="", metavar="G", help="that the card claims: 'G 16'")
    balance.add_argument(
        "--on-crank", action="append", default=[], metavar="PART",
        help="was on it, and which one: 'damper: D-7'; may be repeated",
    )  # fmt: skip
    balance.add_argument("--machine", default="", metavar="TEXT", help="the balancing machine")
    balance.add_argument("--close", default="", metavar="TEXT", help="call it balanced, in words")


def _given(arguments: argparse.Namespace) -> tuple[Engine, State | None]:
    """Return what to start from: an engine file alone, or a build's with its state."""
    from pathlib import Path

    from bedplate.workshop import check

    name = arguments.what
    if name == "-" or name.endswith(".toml") or Path(name).is_file():
        return check(read_text(name), "standard input" if name == "-" else name), None
    with opened(arguments) as workshop:
        state = workshop.state(name)
    return state.engine, state


def _read(text: str, dimension: Dimension) -> float:
    from bedplate.quantity import parse

    return parse(value(text), dimension).value


def _weigh(a: argparse.Namespace) -> int:
    from bedplate.cli.receipts import print_receipt

    with opened(a) as workshop:
        receipt = workshop.weigh(
            a.build, a.part, a.weight, number=a.cylinder, uncertainty=a.uncertainty, scale=a.scale,
            by=who(a),
        )  # fmt: skip
    whose = f" {a.cylinder}" if a.cylinder else ""
    return print_receipt(receipt, f"{a.part}{whose}: {a.weight}.", as_json=a.json)


def _bobweight(a: argparse.Namespace) -> int:
    from bedplate.shop.balance.bob_weight import bob_weight_card
    from bedplate.shop.balance.weights import weights_of

    engine, state = _given(a)
    card = bob_weight_card(engine, weights_of(engine, state))
    shown = units(a, engine.units)
    if a.pdf:
        if state is None:
            raise InputError("The card as PDF is made of a build.", hint="Start one from the file.")
        with opened(a) as workshop:
            write_bytes(a.pdf, workshop.balance_card(a.what), replace=a.replace)
        return 0
    if a.json:
        from bedplate.cli.output import print_json
        from bedplate.documents.balance_json import card_as_dict

        print_json(card_as_dict(card, engine))
        return 0
    _print_card(card, shown, invented=engine.invented)
    if a.heavier:
        _print_swap(engine, card, a.heavier, shown)
    return 0


def _print_card(card: Card, shown: Units, *, invented: bool) -> None:
    from bedplate.cli.output import print_table
    from bedplate.documents.balance_card import alike, hung_words, map_words
    from bedplate.quantity import Dimension, show

    def mass(kg: float) -> str:
        return show(kg, Dimension.MASS, shown)

    if invented:
        print("Invented: these weights are made up.")
    print(card.why)
    if card.missing:
        print(f"Not known: what {', '.join(card.missing)} weigh. There is no sum without them.")
    for throws in alike(card):
        throw = throws[0]
        print()
        numbers = ", ".join(str(one.throw.number) for one in throws)
        labels = "; ".join(" and ".join(one.throw.labels) for one in throws)
        print(f"Throw{'s' if len(throws) > 1 else ''} {numbers}, cylinders {labels}: "
              f"{mass(throw.bob_weight)} ± {mass(2 * throw.standard)} (k = 2)")  # fmt: skip
        rows = [
            (line.name, str(line.count), mass(line.each), f"{line.share:.1%}", mass(line.total),
             line.source)
            for line in throw.lines
        ]  # fmt: skip
        rows.append(("bob-weight", "", "", "", mass(throw.bob_weight), ""))
        print_table(("", "count", "each", "share", "in the sum", "from"), rows, right=(1, 2, 3, 4))
        hung = hung_words(throws, shown)
        if hung:
            print(hung)
    if card.needed:
        print()
        if card.throws:
            print(map_words(card))
        print(f"Factor {card.factor:.1%}: {card.factor_why}")
    for spread in card.weights.spreads():
        print(
            f"{spread.part}: lightest {mass(spread.lightest.value)} in {spread.lightest.number}, "
            f"heaviest {mass(spread.amount)} more in {spread.heaviest.number}."
        )
    for doubt in card.weights.doubts:
        print(f"? {doubt}")


def _print_swap(engine: Engine, card: Card, said: list[str], shown: Units) -> None:
    from bedplate.shop.balance.residual import swap_rows

    part, text = said
    print()
    for name, changed in swap_rows(engine, card, part, value(text), shown):
        print(f"{capital(name)}: {changed}")


def _balance(a: argparse.Namespace) -> int:
    if a.part or a.card or a.close:
        return _write_balance(a)
    from bedplate.shop.balance.shaking import shaking_of

    engine, state = _given(a)
    shown = units(a, engine.units)
    from bedplate.quantity import Dimension

    speed = _read(a.speed, Dimension.ROTATION) if a.speed else None
    if a.json:
        from bedplate.cli.output import print_json
        from bedplate.documents.balance_json import balance_as_dict

        print_json(balance_as_dict(engine, state))
        return 0
    if state is not None:
        _print_ledger(a, state, shown)
    _print_bob_weights(engine, state, shown)
    try:
        _print_shaking(shaking_of(engine, state, speed), shown)
    except InputError as error:
        print(f"What it shakes with is not known: {error.sentence}")
        if error.hint:
            print(f"  {error.hint}")
    return 0


def _print_bob_weights(engine: Engine, state: State | None, shown: Units) -> None:
    """Print each throw's bob-weight and the factor, or why none is needed."""
    from bedplate.quantity import Dimension, show
    from bedplate.shop.balance.bob_weight import bob_weight_card
    from bedplate.shop.balance.weights import weights_of

    card = bob_weight_card(engine, weights_of(engine, state))
    print(card.why)
    if card.missing:
        print(f"Not known: what {', '.join(card.missing)} weigh. There is no sum without them.")
    by_weight: dict[str, list[str]] = {}
    for throw in card.throws:
        text = show(throw.bob_weight, Dimension.MASS, shown)
        by_weight.setdefault(text, []).append(str(throw.throw.number))
    for text, numbers in by_weight.items():
        many = "s" if len(numbers) > 1 else ""
        print(f"Bob-weight of throw{many} {', '.join(numbers)}: {text}, factor {card.factor:.1%}.")
    print()


def _write_balance(a: argparse.Namespace) -> int:
    from bedplate.cli.receipts import print_receipt

    if bool(a.part) + bool(a.card) + bool(a.close) != 1:
        raise InputError("One thing at a time: --part, --card or --close.")
    with opened(a) as workshop:
        if a.part:
            told = f"{capital(a.part)}: {a.standing}."
            receipt = workshop.turning_part(
                a.what, a.part, a.standing, identity=a.identity, reason=a.reason, by=who(a),
                residual=" ".join(a.residual),
            )  # fmt: skip
        elif a.card:
            told = f"The card of {a.card} is taken in."
            receipt = _take_card(workshop, a)
        else:
            told = "It is called balanced."
            receipt = workshop.close_balance(a.what, a.close, by=who(a))
        ledger = workshop.balance_ledger(a.what)
    own = next((part.to_do for part in ledger.due if part.part == a.part), ledger.next)
    steps = f" Next: {own}" if own else ""
    return print_receipt(receipt, f"{told} {ledger.sentence}{steps}", as_json=a.json)


def _take_card(workshop: Workshop, a: argparse.Namespace) -> Any:  # noqa: ANN401 - a receipt
    return workshop.take_balance_card(
        a.what, a.card, a.residual, lines=a.line, bob_weight=a.bob_weight, mass=a.mass,
        speed=a.speed, grade=a.grade, on_crank=a.on_crank, machine=a.machine, by=who(a),
    )  # fmt: skip


def _print_ledger(a: argparse.Namespace, state: State, shown: Units) -> None:
    from bedplate.cli.output import print_table
    from bedplate.quantity import Dimension, show_both
    from bedplate.shop.balance.ledger import ledger_of

    ledger: Ledger = ledger_of(state)
    print(ledger.sentence, ledger.way_words)
    rows = [
        (
            "due" if part.due else "in",
            part.part + (", carries balance" if part.weighted else ""),
            part.standing.value,
            part.identity,
            "" if part.residual is None
            else show_both(part.residual, Dimension.UNBALANCE, shown),
            f"{capital(part.due)}. {part.to_do}" if part.due else "",
        )
        for part in ledger.parts
    ]  # fmt: skip
    print_table(("", "part", "stands", "which", "left in it", "to do"), rows)
    if ledger.allowance is not None:
        left = show_both(ledger.allowance.left, Dimension.UNBALANCE, shown)
        print(f"Left to give: {left}{ledger.allowance.shared}; {ledger.allowance.words}.")
    with opened(a) as workshop:
        remarks: tuple[Remark, ...] = workshop.card_remarks(a.what)
    for remark in remarks:
        print(f"{'  ' if remark.fine else '? '}{remark.sentence}")
    print()


def _print_shaking(shaking: Shaking, shown: Units) -> None:
    from bedplate.cli.output import print_table
    from bedplate.quantity import Dimension, show

    print(f"At {show(shaking.speed, Dimension.ROTATION, shown)}, couples about the crank's middle:")
    rows = []
    for order, bare in zip(shaking.orders, shaking.bare, strict=True):
        force, couple = (
            show(one.greatest, dimension, shown, resolution=1.0)
            for one, dimension in ((order.force, Dimension.FORCE), (order.couple, Dimension.TORQUE))
        )
        without = (
            show(bare.force.greatest, Dimension.FORCE, shown, resolution=1.0),
            show(bare.couple.greatest, Dimension.TORQUE, shown, resolution=1.0),
        )
        rows.append((str(order.order), force, couple, *(without if shaking.shafts else ())))
    more = ("force without shafts", "couple without shafts") if shaking.shafts else ()
    print_table(("order", "force", "couple", *more), rows, right=(0, 1, 2, 3, 4)[: 3 + len(more)])
    for line in shaking.train.unknown:
        print(f"? {line}")


def _torsion(a: argparse.Namespace) -> int:
    from bedplate.cli.duty import say_if_compiling
    from bedplate.shop.torsion.report import torsion_of

    if a.measured:
        return _torsion_measured(a)
    engine, state = _given(a)
    if engine.duty.figure("valves.inlet_closes") is not None:
        say_if_compiling()
    report = torsion_of(engine, state)
    if a.json:
        from bedplate.cli.output import print_json
        from bedplate.documents.balance_json import torsion_as_dict

        print_json(torsion_as_dict(report))
        return 0
    if engine.invented:
        print("Invented: this crank is made up.")
    _print_torsion(report)
    if a.sources:
        _print_drives(report)
        _print_model(report)
        print()
        for name, given in report.crank.sources:
            print(f"{name}: {given.value:.6g} ({given.source}; {given.how.value})")
    return 0


def _print_drives(report: TorsionReport) -> None:
    """Print the torque of one cylinder by order."""
    from bedplate.cli.output import print_table
    from bedplate.documents.balance_card import excitation_rows

    if report.excitation is not None:
        drives = report.excitation
        print()
        print(f"Torque of cylinder {drives.cylinder} at {drives.speed * 30 / pi:.0f} rpm:")
        titles = ("order", "gas", "inertia", "both")
        print_table(titles, excitation_rows(report), right=(0, 1, 2, 3))


def _print_model(report: TorsionReport) -> None:
    """Print every inertia, and the shafts that join it to the ones before."""
    from bedplate.cli.output import print_table
    from bedplate.documents.balance_card import model_rows

    print()
    print("The model:")
    print_table(("inertia", "how much", "joined by"), model_rows(report), right=(1,))


def _torsion_measured(a: argparse.Namespace) -> int:
    from bedplate.cli.receipts import print_receipt
    from bedplate.shop.torsion.train import torsion_questions

    what, typed = a.measured
    with opened(a) as workshop:
        receipt = workshop.torsion_measured(
            a.what, what, value(typed), by=who(a), instrument=a.instrument,
            uncertainty=a.uncertainty,
        )  # fmt: skip
        state = workshop.state(a.what)
    asked = torsion_questions(state.engine, state)
    told = " ".join((f"{capital(what)}: {typed}. It takes the estimate's place.", *asked))
    return print_receipt(receipt, told, as_json=a.json)


def _print_torsion(report: TorsionReport) -> None:
    from bedplate.cli.output import print_table
    from bedplate.documents.balance_card import mode_rows, worst_words

    for doubt in report.crank.doubts:
        print(f"? {doubt}")
    print(f"Stiffness of a throw {report.crank.stiffness_from}.")
    for name, stiffness in report.crank.formulas:
        print(f"  {name}: {stiffness / 1e3:.1f} kN·m/rad")
    print_table(("", "mode", "natural frequency", "95 % band"), mode_rows(report), right=(1, 2))
    print("Critical speeds inside the range at which the cylinders push together:")
    major = [c for c in report.criticals if c.major]
    print_table(
        ("mode", "order", "rpm", "band"),
        [(str(c.mode), f"{c.order:g}", f"{c.speed * 30 / pi:.0f}",
          f"{c.low * 30 / pi:.0f} to {c.high * 30 / pi:.0f}") for c in major],
        right=(0, 1, 2),
    )  # fmt: skip
    print(report.crank.damping.words)
    print(capital(report.gas_note).removesuffix(".") + ".")
    for line in worst_words(report):
        print(line)
