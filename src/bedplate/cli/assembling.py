"""Commands of the person who puts the engine together: the steps of the assembly."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bedplate.cli.options import Adder, opened, who

if TYPE_CHECKING:
    from bedplate.workshop import Workshop


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    steps = add("steps", _steps, "show the assembly run: what is done, stale, open, and why")
    steps.add_argument("build", metavar="BUILD")
    _add_do(add)


def _add_do(add: Adder) -> None:
    do = add(
        "do",
        _do,
        "show what a step of the assembly asks for, or note it as done",
        "Without --seen the step is shown; its caution is then in the record as shown.",
    )
    do.add_argument("build", metavar="BUILD")
    do.add_argument("step", metavar="STEP", help="as 'bedplate steps' names it")
    do.add_argument("--seen", action="store_true", help="all that the step asks for was seen")
    do.add_argument(
        "--count", nargs=3, action="append", default=[], metavar=("ITEM", "WAY", "NUMBER"),
        help="parts counted; WAY is out, in, issued, used or left",
    )  # fmt: skip
    do.add_argument("--turned", default="", metavar="TORQUE", help="what turns the crank after it")
    do.add_argument("--breakaway", default="", metavar="TORQUE", help="what began to turn it")
    do.add_argument("--remark", default="", metavar="TEXT")
    do.add_argument(
        "--reason", default="", metavar="TEXT", help="why it is done although something is open"
    )


def _steps(arguments: argparse.Namespace) -> int:
    from bedplate.cli.output import print_json, print_table
    from bedplate.shop.assembly import assembly

    with opened(arguments) as workshop:
        run = assembly(workshop.state(arguments.build))
    if arguments.json:
        print_json(
            [
                {
                    "step": s.step.id, "name": s.step.name, "phase": s.step.phase,
                    "standing": s.standing, "against": s.against, "entry": s.entry,
                    "waived": s.waived,
                }
                for s in run.steps.values()
            ]
        )  # fmt: skip
        return 0
    rows = [
        [
            s.step.id,
            s.standing + (", waived" if s.waived else ""),
            s.step.name,
            "" if s.standing == "done" or not s.against else s.against[0],
        ]
        for s in run.steps.values()
    ]
    print_table(("Step", "Standing", "What", "What stands against it"), rows)
    if run.ledger:
        print()
        figures = [
            [row.item, *("" if n is None else str(n)
                         for n in (row.out, row.back, row.issued, row.used, row.left)), row.amiss]
            for row in run.ledger.values()
        ]  # fmt: skip
        titles = ("Counted", "Out", "In", "Issued", "Used", "Left", "What does not add up")
        print_table(titles, figures, right=(1, 2, 3, 4, 5))
    for turning in run.turnings:
        if turning.jump:
            print(f"The turning torque jumped after '{turning.name}', to {turning.text}.")
    return 0


def _do(arguments: argparse.Namespace) -> int:
    from bedplate.cli.receipts import print_receipt

    with opened(arguments) as workshop:
        by = who(arguments)
        for item, way, number in arguments.count:
            workshop.count_parts(arguments.build, item, way, number, by=by)
        if arguments.turned:
            workshop.turn_crank(
                arguments.build, arguments.step, arguments.turned, by=by,
                breakaway=arguments.breakaway,
            )  # fmt: skip
        if not arguments.seen:
            return _show_step(workshop, arguments, by)
        receipt = workshop.do_step(
            arguments.build, arguments.step, by=by, remark=arguments.remark,
            reason=arguments.reason, proofs=_proofs(workshop, arguments),
        )  # fmt: skip
    return print_receipt(receipt, f"'{arguments.step}' is done.", as_json=arguments.json)


def _proofs(workshop: Workshop, arguments: argparse.Namespace) -> tuple[str, ...]:
    from bedplate.shop.steps import steps_of

    steps = steps_of(workshop.state(arguments.build).engine)
    return steps[arguments.step].proofs if arguments.step in steps else ()


def _show_step(workshop: Workshop, arguments: argparse.Namespace, by: str) -> int:
    from bedplate.shop.assembly import assembly, counted_at
    from bedplate.shop.typed import unknown

    run = assembly(workshop.state(arguments.build))
    steps = run.steps
    if arguments.step not in steps:
        raise unknown("step of the assembly", arguments.step, steps)
    held = steps[arguments.step]
    step = held.step
    print(f"{step.name}: {held.standing}. ({step.source})")
    if step.caution:
        print(f"BEWARE. {step.caution}")
        if not held.cautioned:
            workshop.show_caution(arguments.build, step.id, by=by)
    for proof in step.proofs:
        print(f"  [ ] {proof}")
    for count in step.counts:
        for way in count.ways:
            print(f"  [ ] counted: {count.item}, {way}")
    for row in counted_at(run, step):
        print(f"  counted so far: {row.item}: {row.said}")
    if step.turning:
        print("  [ ] the torque that turns the crank (--turned)")
    for sentence in held.against if held.standing != "done" else ():
        print(f"  ? {sentence}")
    return 0
