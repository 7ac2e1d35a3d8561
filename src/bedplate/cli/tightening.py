"""Commands of the person on the wrench: joints, and the life of bolts."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bedplate.cli.options import Adder, opened, who, write_bytes
from bedplate.errors import EntryError, InputError

if TYPE_CHECKING:
    from bedplate.shop.bolt_receipts import RunReceipt
    from bedplate.shop.model import State
    from bedplate.shop.receipts import Receipt
    from bedplate.workshop import Workshop


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    _add_tighten(add)
    _add_bolts(add)


def _add_tighten(add: Adder) -> None:
    tighten = add(
        "tighten",
        _tighten,
        "tighten a joint by its plan, bolt by bolt, or show where it stands",
        "With BUILD alone the joints are listed; with a plan, where it stands.",
    )
    tighten.add_argument("build", metavar="BUILD")
    tighten.add_argument("plan", nargs="?", default="", metavar="PLAN", help="'frame', 'rods'")
    tighten.add_argument("--joint", default="", metavar="NUMBER", help="which cylinder or main")
    tighten.add_argument("--begin", choices=("trial", "final"), default="", help="begin a run")
    tighten.add_argument(
        "--lubricant", action="append", default=[], metavar="'GROUP=WHAT'",
        help="what is on the bolts of a group, if not what the engine file asks for",
    )  # fmt: skip
    tighten.add_argument("--wrench", default="", metavar="NAME", help="which wrench")
    tighten.add_argument("--reads-in", default="", metavar="UNIT", help="unit the wrench shows")
    tighten.add_argument(
        "--arm", default="", metavar="LENGTH", help="from its handle to its square"
    )
    tighten.add_argument("--adapter", default="", metavar="LENGTH", help="from there to the bolt")
    tighten.add_argument("--sealant", action="store_true", help="sealant is applied now")
    tighten.add_argument(
        "--done", type=int, nargs="+", default=[], metavar="BOLT",
        help="this bolt is done; several, in the order they were ticked on paper",
    )  # fmt: skip
    tighten.add_argument("--torque", default="", metavar="TORQUE", help="read at its end")
    tighten.add_argument("--stretch", default="", metavar="LENGTH", help="read at its end")
    tighten.add_argument(
        "--so-far", default="", metavar="ANGLE", help="the angle of --done was left here"
    )
    tighten.add_argument(
        "--unknown", action="store_true", help="nobody knows how far --done was turned"
    )
    tighten.add_argument(
        "--turned", nargs="?", const=" ", default="", metavar="TORQUE",
        help="the stage without bolts is done; the torque that turned the crank",
    )  # fmt: skip
    tighten.add_argument("--stop", action="store_true", help="stop the run, for --reason")
    tighten.add_argument("--loosened", action="store_true", help="it was opened, for --reason")
    tighten.add_argument("--reason", default="", metavar="TEXT", help="why, for whatever asks")
    tighten.add_argument("--paper", default="", metavar="FILE", help="write the plans with boxes")
    tighten.add_argument("--replace", action="store_true", help="write over a file that is there")


def _add_bolts(add: Adder) -> None:
    bolts = add("bolts", _bolts, "show the life of each bolt, or note what went in or was measured")
    bolts.add_argument("build", metavar="BUILD")
    bolts.add_argument("group", nargs="?", default="", metavar="GROUP")
    bolts.add_argument("--joint", default="", metavar="NUMBER", help="which cylinder or main")
    bolts.add_argument("--new", action="store_true", help="new bolts went in")
    bolts.add_argument("--used", type=int, metavar="TIMES", help="used ones, tightened so often")
    bolts.add_argument("--holes", type=int, nargs="+", default=[], metavar="N", help="all if none")
    bolts.add_argument("--identity", default="", metavar="TEXT", help="bag, batch")
    for what in ("length", "stretch", "neck"):
        bolts.add_argument(
            f"--{what}", nargs=2, default=None, metavar=("BOLT", "VALUE"), help=f"its {what}"
        )


def _print(receipt: Receipt, done: str, *, as_json: bool) -> int:
    from bedplate.cli.receipts import print_receipt

    return print_receipt(receipt, done, as_json=as_json)


def _tighten(arguments: argparse.Namespace) -> int:
    with opened(arguments) as workshop:
        if arguments.paper:
            data = workshop.tightening_sheet(arguments.build)
            write_bytes(arguments.paper, data, replace=arguments.replace)
            return 0
        if not arguments.plan:
            return _joints(workshop.state(arguments.build), as_json=arguments.json)
        if arguments.begin:
            return _answer(_begin(workshop, arguments), as_json=arguments.json)
        if arguments.loosened or arguments.sealant:
            return _joint_deed(workshop, arguments)
        return _in_run(workshop, arguments)


def _begin(workshop: Workshop, arguments: argparse.Namespace) -> RunReceipt:
    said = {}
    for pair in arguments.lubricant:
        group, equals, what = pair.partition("=")
        if not equals or not what.strip():
            sentence = f"'{pair[:60]}' does not say what is on which group."
            raise InputError(sentence, hint="Write it as 'frame inner=engine oil'.")
        said[group.strip()] = what.strip()
    receipt = workshop.begin_tightening(
        arguments.build, arguments.plan, by=who(arguments), purpose=arguments.begin,
        joint=arguments.joint, lubricants=said, wrench=arguments.wrench,
        reads_in=arguments.reads_in, arm=arguments.arm, adapter=arguments.adapter,
        reason=arguments.reason,
    )  # fmt: skip
    if not arguments.json:
        from bedplate.shop.cautions import caution

        print(f"BEWARE. {caution('tightening')}")
    return receipt


def _joint_deed(workshop: Workshop, arguments: argparse.Namespace) -> int:
    by = who(arguments)
    if arguments.loosened:
        receipt = workshop.loosen(
            arguments.build, arguments.plan, arguments.reason, by=by, joint=arguments.joint
        )
        return _print(receipt, "Loosened.", as_json=arguments.json)
    receipt = workshop.apply_sealant(arguments.build, arguments.plan, by=by, joint=arguments.joint)
    return _print(receipt, "Sealant applied; its clock runs.", as_json=arguments.json)


def _in_run(workshop: Workshop, arguments: argparse.Namespace) -> int:
    from bedplate.shop.tightening.runs import joints

    known = joints(workshop.state(arguments.build))
    joint = known.get((arguments.plan, arguments.joint))
    if joint is None:
        from bedplate.shop.typed import unknown

        raise unknown("joint", f"{arguments.plan} {arguments.joint}".strip(),
                      [f"{plan} --joint {n}" if n else plan for plan, n in known])  # fmt: skip
    run = joint.runs[-1] if joint.runs else None
    if run is None:
        print(f"{joint.name}: open, never tightened.")
        return 0
    by, number = who(arguments), str(run.number)
    if arguments.stop:
        receipt = workshop.stop_tightening(arguments.build, number, arguments.reason, by=by)
        return _print(receipt, "The run is stopped.", as_json=arguments.json)
    if arguments.turned:
        taken = workshop.finish_stage(
            arguments.build, number, by=by, value=arguments.turned.strip(),
            remark=arguments.reason,
        )  # fmt: skip
        return _answer(taken, as_json=arguments.json)
    if len(arguments.done) > 1:
        if arguments.torque or arguments.so_far or arguments.unknown or arguments.stretch:
            sentence = "A torque or an angle is that of one bolt."
            raise EntryError(sentence, hint="Name one bolt with --done.")
        taken = workshop.tighten_in_order(
            arguments.build, number, arguments.done, by=by, remark=arguments.reason
        )
        return _answer(taken, as_json=arguments.json)
    if arguments.done:
        taken = workshop.tighten(
            arguments.build, number, arguments.done[0], by=by, torque=arguments.torque,
            angle=arguments.so_far, unknown_angle=arguments.unknown, remark=arguments.reason,
            stretch=arguments.stretch,
        )  # fmt: skip
        return _answer(taken, as_json=arguments.json)
    if arguments.torque or arguments.so_far or arguments.unknown or arguments.stretch:
        sentence = "It is not said of which bolt that is."
        raise EntryError(sentence, hint="Name it with --done BOLT.")
    return _show_run(workshop, arguments, run.number)


def _show_run(workshop: Workshop, arguments: argparse.Namespace, number: int) -> int:
    from bedplate.shop.bolt_receipts import run_receipt
    from bedplate.shop.receipts import Receipt as Plain

    state = workshop.state(arguments.build)
    run = workshop.run(arguments.build, str(number))
    plain = Plain(build=arguments.build, id=run.id, number=run.number, hash="")
    return _answer(run_receipt(plain, run, state.engine, state.units, ""), as_json=arguments.json)


def _answer(receipt: RunReceipt, *, as_json: bool) -> int:
    from bedplate.cli.output import print_json

    if as_json:
        print_json(receipt)
        return 0
    if receipt.done:
        again = " (it had been taken before)" if receipt.repeated else ""
        print(f"Entry {receipt.number}: {receipt.done}{again}.")
    if receipt.blocked:
        print(f"STOP. {receipt.blocked}\n  {receipt.to_do}")
    elif receipt.next is not None:
        sets = f", {receipt.next.sets}" if receipt.next.sets else ""
        print(f"Next, stage {receipt.next.stage} of {receipt.next.stages}: "
              f"{receipt.next.name}{sets}.")  # fmt: skip
    else:
        print(f"The run of entry {receipt.run} is {receipt.standing}.")
    return 0


def _joints(state: State, *, as_json: bool) -> int:
    from bedplate.cli.output import print_json, print_table
    from bedplate.shop.tightening.runs import joints

    rows = []
    for joint in joints(state).values():
        last = joint.runs[-1] if joint.runs else None
        standing = last.standing if last else "open"
        said = last.block.sentence if last and last.block else ""
        rows.append([joint.plan.name, joint.joint, standing, last.begun.purpose if last else "",
                     said])  # fmt: skip
    if as_json:
        keys = ("plan", "joint", "standing", "purpose", "blocked")
        print_json([dict(zip(keys, row, strict=True)) for row in rows])
    elif rows:
        print_table(("Plan", "Joint", "Standing", "For", "Blocked"), rows)
    else:
        print("The engine file has no tightening plans.")
    return 0


def _bolts(arguments: argparse.Namespace) -> int:
    measured = [
        (what, given)
        for what in ("length", "stretch", "neck")
        if (given := getattr(arguments, what)) is not None
    ]
    writes = arguments.new or arguments.used is not None or measured
    if writes and not arguments.group:
        sentence = "It is not said of which group that is."
        raise EntryError(sentence, hint="Name it behind the build.")
    with opened(arguments) as workshop:
        for what, (number, text) in measured:
            if not number.isdecimal():
                sentence = f"'{number[:40]}' is no number of a bolt."
                raise EntryError(sentence)
            receipt = workshop.measure_bolt(
                arguments.build, arguments.group, int(number), what, text, by=who(arguments),
                joint=arguments.joint,
            )  # fmt: skip
            _print(receipt, f"{arguments.group} {number}: {what} {text}.", as_json=arguments.json)
        if arguments.new or arguments.used is not None:
            receipt = workshop.fit_fasteners(
                arguments.build, arguments.group, by=who(arguments),
                condition="new" if arguments.new else "used", joint=arguments.joint,
                numbers=arguments.holes, cycles=arguments.used, identity=arguments.identity,
            )  # fmt: skip
            _print(receipt, f"{arguments.group}: fitted.", as_json=arguments.json)
        return 0 if writes else _show_bolts(workshop.state(arguments.build), arguments)


def _show_bolts(state: State, arguments: argparse.Namespace) -> int:
    from bedplate.cli.output import print_json, print_table
    from bedplate.shop.fasteners import bolts
    from bedplate.shop.typed import unknown

    if arguments.group and arguments.group not in state.engine.fasteners:
        raise unknown("group of fasteners", arguments.group, state.engine.fasteners)
    rows = [
        [
            bolt.name,
            bolt.condition or "not said",
            str(bolt.cycles if bolt.total is None else bolt.total),
            " → ".join(m.value.text for m in bolt.measured if m.what == "length"),
            bolt.again.value,
            f"{bolt.why} ({bolt.source})",
        ]
        for (group, joint, _), bolt in bolts(state).items()
        if arguments.group in {"", group} and arguments.joint in {"", joint}
    ]
    if arguments.json:
        keys = ("bolt", "fitted", "tightened", "lengths", "once_more", "why")
        print_json([dict(zip(keys, row, strict=True)) for row in rows])
    else:
        titles = ("Bolt", "Fitted", "Tightened", "Free length", "Once more?", "Why")
        print_table(titles, rows, right=(2,))
    return 0
