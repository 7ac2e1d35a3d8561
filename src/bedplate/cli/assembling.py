"""Commands of the person who puts the engine together: steps, bolts, the clamp of a bolt."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bedplate.cli.options import Adder, opened, value, who, write_bytes
from bedplate.errors import EntryError, InputError

if TYPE_CHECKING:
    from bedplate.shop.bolt_receipts import RunReceipt
    from bedplate.shop.clamping.answer import Answer
    from bedplate.shop.model import State
    from bedplate.shop.receipts import Receipt
    from bedplate.workshop import Workshop

_LENGTHS = ("grip", "free_thread", "head", "hole", "around", "stretch")


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    steps = add("steps", _steps, "show the assembly run: what is done, stale, open, and why")
    steps.add_argument("build", metavar="BUILD")
    _add_do(add)
    _add_tighten(add)
    _add_bolts(add)
    _add_clamp(add)


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


def _add_clamp(add: Adder) -> None:
    clamp = add(
        "clamp",
        _clamp,
        "say what clamp a tightening gives, and whether an angle makes it more even",
        "Bring the maker's figure: none is proposed. No build is needed.",
    )
    clamp.add_argument("thread", metavar="THREAD", help="'M10 x 1.5', '7/16-14 UNC'")
    clamp.add_argument("tightening", type=value, metavar="VALUE", help="'42 N·m + 75 deg'")
    clamp.add_argument("--class", dest="class_", default="", metavar="CLASS", help="10.9, grade 8")
    clamp.add_argument("--lubricant", default="", metavar="WHAT", help="'engine oil', 'dry'")
    clamp.add_argument("--friction", default="", metavar="BAND", help="0.10..0.14, instead of it")
    helps = ("clamped length", "of it free thread", "bearing face", "hole", "material around it",
             "stretch, to compare with")  # fmt: skip
    for name, words in zip(_LENGTHS, helps, strict=True):
        option = f"--{name.replace('_', '-')}"
        clamp.add_argument(option, default="", metavar="LENGTH", help=words)
    clamp.add_argument(
        "--parts", default="", metavar="WHAT", help="aluminium, iron, steel or magnesium"
    )
    clamp.add_argument("--wrench", default="", metavar="CLASS", help="of ISO 6789: 'II A'")


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
    return _print(receipt, f"'{arguments.step}' is done.", as_json=arguments.json)


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


def _clamp(arguments: argparse.Namespace) -> int:
    from bedplate.cli.output import print_json
    from bedplate.shop.clamping.answer import answer
    from bedplate.shop.clamping.question import read_question

    typed = {name: getattr(arguments, name) for name in _LENGTHS}
    typed |= {
        "thread": arguments.thread, "tightening": arguments.tightening,
        "class": arguments.class_, "lubricant": arguments.lubricant,
        "friction": arguments.friction, "parts": arguments.parts, "wrench": arguments.wrench,
    }  # fmt: skip
    found = answer(read_question(typed))
    if arguments.json:
        print_json(
            {
                "verdict": found.verdict,
                "nut_factor": found.nut_factor,
                "proof_clamp_n": found.proof,
                "clamp_at_90_percent_of_yield_n": found.ninety,
                "ways": [
                    {
                        "name": way.name, "asks": way.asks, "low_n": way.low,
                        "mean_n": way.middle, "high_n": way.high, "plus_minus": way.plus_minus,
                        "past_yield": way.yielding, "spread_by": dict(way.parts),
                    }
                    for way in found.ways
                ],
                "angle_ends": found.ends,
                "assumed": found.assumed,
                "doubt": found.doubt,
            }
        )  # fmt: skip
        return 0
    return _print_clamp(found)


def _print_clamp(found: Answer) -> int:
    from bedplate.cli.output import print_table

    if found.doubt:
        print(f"IS THAT RIGHT? {found.doubt}")
    print(found.verdict)
    print()
    rows = [
        [
            way.name,
            way.asks,
            f"{way.low / 1e3:.1f}",
            f"{way.middle / 1e3:.1f}",
            f"{way.high / 1e3:.1f}",
            f"±{way.plus_minus * 100:.0f} %",
            ", ".join(f"{name} {share * 100:.0f} %" for name, share in way.parts if share > 0.02),
        ]
        for way in found.ways
    ]
    titles = ("Way", "Set", "Least kN", "Mean kN", "Most kN", "Spread", "What spreads it")
    print_table(titles, rows, right=(2, 3, 4, 5))
    print()
    print(f"K of T = K·F·d: {found.nut_factor:.3f}.")
    if found.proof is not None and found.ninety is not None:
        print(
            f"No lasting set up to {found.proof / 1e3:.1f} kN; "
            f"90 % of yield, with torsion, at {found.ninety / 1e3:.1f} kN."
        )
    if found.ends:
        print(found.ends)
    for way in found.ways:
        if way.yielding:
            print(f"By {way.name}, {way.yielding * 100:.0f} % of bolts end past their yield.")
    print("Taken for granted:")
    for line in found.assumed:
        print(f"  - {line}")
    print("A figure here is no permission to tighten; the maker's manual comes first.")
    return 0
