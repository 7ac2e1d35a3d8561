"""The command of measured cylinder pressure: look at a trace, take it, list what a build holds."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bedplate.cli.duty import FIRING, PEGGED
from bedplate.cli.options import Adder, opened, read_text, units, value, who
from bedplate.errors import InputError

if TYPE_CHECKING:
    from bedplate.shop.duty.given import Given
    from bedplate.workshop.duty import TraceWords


def add_commands(add: Adder) -> None:
    """Add the command of this family."""
    trace = add(
        "trace",
        _trace,
        "take a measured cylinder pressure, or list those that the duty check uses",
        "A trace that is no longer right is taken back with 'bedplate withdraw'.",
    )
    trace.add_argument("build", metavar="BUILD")
    trace.add_argument(
        "file", nargs="?", default="", metavar="FILE.csv",
        help="'angle deg,pressure bar', then a row a point; '-' is standard input",
    )  # fmt: skip
    trace.add_argument(
        "--speed", default="", type=value, metavar="SPEED", help="that it was measured at"
    )
    trace.add_argument(
        "--cylinder", default="", metavar="N", help="that it was measured in; all if not said"
    )
    trace.add_argument("--firing", default="", type=value, metavar="ANGLE", help=FIRING)
    trace.add_argument("--pegged-to", default="", type=value, metavar="PRESSURE", help=PEGGED)
    trace.add_argument("--source", default="", metavar="TEXT", help="who measured it, with what")
    trace.add_argument("--look", action="store_true", help="say what is read, and take nothing")


def _trace(a: argparse.Namespace) -> int:
    if not a.file:
        if a.speed or a.look:
            raise InputError("No trace was given.", hint="Name the CSV file.")
        return _list(a)
    from bedplate.cli.receipts import print_receipt
    from bedplate.shop.duty.look import look_words

    points = read_text(a.file)
    words: TraceWords = {
        "cylinder": a.cylinder,
        "firing": a.firing,
        "pegged_to": a.pegged_to,
        "source": a.source,
    }
    with opened(a) as workshop:
        look = workshop.look_at_trace(a.build, points, a.speed, **words)
        said = look_words(look, units(a, workshop.state(a.build).engine.units))
        if a.look:
            if a.json:
                from bedplate.cli.output import print_json
                from bedplate.documents.duty_json import look_as_dict

                print_json(look_as_dict(look))
                return 0
            print(said)
            for doubt in look.doubts:
                print(f"? {doubt}")
            return 0
        receipt = workshop.take_trace(a.build, points, a.speed, by=who(a), **words)
    where = f"cylinder {a.cylinder}" if a.cylinder else "all cylinders"
    print_receipt(receipt, f"{a.speed}, {where}: {said}", as_json=a.json)
    for doubt in look.doubts if not a.json else ():
        print(f"? {doubt}")
    return 0


def _list(a: argparse.Namespace) -> int:
    from bedplate.cli.output import print_json, print_table
    from bedplate.documents.duty_json import traces_as_dict

    with opened(a) as workshop:
        given = workshop.given(a.build)
    if a.json:
        print_json(traces_as_dict(given))
        return 0
    if not given.traces:
        print("No trace: the pressure is computed from the engine file.")
        return 0
    print_table(("trace", "peak", "at", "entry", "from"), _rows(given, a), right=(1, 2, 3))
    return 0


def _rows(given: Given, a: argparse.Namespace) -> list[tuple[str, ...]]:
    from math import degrees

    from bedplate.shop.duty.gas import trace_name
    from bedplate.shop.duty.look import peak_words
    from bedplate.shop.duty.traces import even_trace

    rows: list[tuple[str, ...]] = []
    for one in sorted(given.traces, key=lambda one: (one.speed or 0.0, one.cylinder)):
        trace = even_trace(one, given.engine.layout.cycle)
        at = f"{degrees(trace.peak[1]):.0f}°"
        peak = peak_words(trace, units(a, given.engine.units))
        rows.append((trace_name(one), peak, at, str(one.number or "–"), one.source))
    return rows
