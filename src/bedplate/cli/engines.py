"""Commands about engine files: check one, start a build from one, revise it, see the examples."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from bedplate.cli.options import Adder, opened, read_text, who
from bedplate.errors import EngineFileError, NotFoundError

if TYPE_CHECKING:
    from bedplate.engine import Engine


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    check = add("check", _check, "say what an engine file means, or all that is wrong with it")
    check.add_argument(
        "engine", metavar="ENGINE.toml", help="the engine file; '-' reads it from input"
    )

    start = add("start", _start, "start a build from an engine file")
    start.add_argument(
        "engine", metavar="ENGINE.toml", help="the engine file; '-' reads it from input"
    )
    start.add_argument("--build", default="", metavar="NAME", help="short name of the build")
    start.add_argument("--title", default="", metavar="TEXT", help="title, as printed on the book")
    start.add_argument(
        "--previous", default="", metavar="BUILD", help="the build this engine was before, for wear"
    )
    start.add_argument(
        "--gauges-of", default="", metavar="BUILD", help="take over the gauges of another build"
    )
    start.add_argument("--id", default="", help="32 hex digits; sent twice, it counts once")

    revise = add("revise", _revise, "give a build its changed engine file, with the reason")
    revise.add_argument("build", metavar="BUILD")
    revise.add_argument("engine", metavar="ENGINE.toml", help="the changed engine file, whole")
    revise.add_argument("--reason", required=True, metavar="TEXT", help="why it was changed")

    example = add("example", _example, "list the engine files that ship as examples, or print one")
    example.add_argument("name", nargs="?", default="", metavar="NAME")
    example.add_argument(
        "--schema", action="store_true", help="print the JSON Schema of engine files, for an editor"
    )


def _check(arguments: argparse.Namespace) -> int:
    from bedplate.cli.output import print_json
    from bedplate.workshop import check

    name = arguments.engine
    try:
        engine = check(read_text(name), "standard input" if name == "-" else name)
    except EngineFileError as error:
        if arguments.json:
            print_json(error.as_dict())
            return 1
        for fault in error.faults:
            print(fault)
        print(error.sentence)
        return 1
    if arguments.json:
        from msgspec import to_builtins

        from bedplate.engine.words import crankpins_of

        pins = dict(crankpins_of(engine.layout.cylinders))
        remarks = [*engine.remarks, *_asked(engine)]
        print_json(_named(to_builtins(engine)) | {"remarks": remarks, "crankpins": pins})
        return 0
    for line in _sentences(engine):
        print(line)
    return 0


def _named(tree: Any) -> Any:  # noqa: ANN401 - plain data of any depth
    """Return plain data in which a pair of codes, a key of two texts, is one text: 'A 2'."""
    if isinstance(tree, dict):
        return {
            " ".join(key) if isinstance(key, tuple) else key: _named(value)
            for key, value in tree.items()
        }
    return [_named(one) for one in tree] if isinstance(tree, list | tuple) else tree


def _bolts(engine: Engine) -> list[str]:
    """Say which plans there are, and which of their figures the file does not give."""
    from bedplate.engine.fasteners import NEEDS_FIGURE

    if not engine.plans:
        return []
    lacking = [
        f"{plan.name}, stage {stage.number}"
        for plan in engine.plans.values()
        for stage in plan.stages
        if (stage.doing in NEEDS_FIGURE and stage.value is None)
        or (stage.group and not stage.order)
    ]
    groups = f"{len(engine.fasteners)} groups of fasteners, plans {', '.join(engine.plans)}."
    return [groups, *([f"Without a figure or an order: {'; '.join(lacking)}."] if lacking else [])]


def _asked(engine: Engine) -> tuple[str, ...]:
    """Return what is asked about figures of torsion that were measured, by way of the estimate."""
    given = ("torsion.known_frequency", "torsion.throw_stiffness")
    if all(engine.balancing.figure(key) is None for key in given):
        return ()
    from bedplate.shop.torsion.train import torsion_questions

    return torsion_questions(engine)


def _sentences(engine: Engine) -> list[str]:
    layout = engine.layout
    from bedplate.cli.output import both
    from bedplate.engine.words import crankpins_in_words, layout_in_words

    form = layout_in_words(engine)
    turns = "clockwise" if layout.clockwise else "anticlockwise"
    mark = "" if "(invented)" in engine.name or not engine.invented else " (invented)"
    order = "-".join(layout.firing)
    return [
        f"{engine.name}{mark}: {form}, {layout.mains} mains, {engine.caps}.",
        f"Bore {both(engine.bore, engine.units)}, stroke {both(engine.stroke, engine.units)}.",
        f"Firing order {order}, {turns} seen from the free end; front is the {layout.front}.",
        crankpins_in_words(layout.cylinders),
        f"{len(engine.features)} features to measure, {len(engine.fits)} fits with limits.",
        *_bolts(engine),
        *(f"? {remark}" for remark in (*engine.remarks, *_asked(engine))),
        "No fault found.",
    ]


def _start(arguments: argparse.Namespace) -> int:
    from bedplate.cli.receipts import print_receipt

    text = read_text(arguments.engine)
    with opened(arguments) as workshop:
        receipt = workshop.start(
            text,
            by=who(arguments),
            file="standard input" if arguments.engine == "-" else arguments.engine,
            build=arguments.build,
            title=arguments.title,
            previous=arguments.previous,
            gauges_of=arguments.gauges_of,
            id=arguments.id.strip(),
        )
    return print_receipt(receipt, f"Build '{receipt.build}' is started.", as_json=arguments.json)


def _revise(arguments: argparse.Namespace) -> int:
    from bedplate.cli.receipts import print_receipt

    text = read_text(arguments.engine)
    with opened(arguments) as workshop:
        receipt = workshop.revise(arguments.build, text, reason=arguments.reason, by=who(arguments))
    done = f"The engine file of '{receipt.build}' is revised."
    return print_receipt(receipt, done, as_json=arguments.json)


def _example(arguments: argparse.Namespace) -> int:
    from bedplate.engine import examples

    if arguments.schema:
        print(_schema(), end="")
        return 0
    known = examples()
    if not arguments.name:
        if arguments.json:
            from bedplate.cli.output import print_json

            print_json(list(known))
        else:
            print("\n".join(known))
        return 0
    if arguments.name not in known:
        sentence = f"There is no example '{arguments.name}'."
        raise NotFoundError(sentence, hint=f"There are {', '.join(known)}.")
    print(known[arguments.name], end="")
    return 0


def _schema() -> str:
    from importlib.resources import files

    return files("bedplate.engine").joinpath("schema.json").read_text("utf-8")
