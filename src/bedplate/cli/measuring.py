"""Commands at the bench: gauges, settings, readings, and taking one back."""

from __future__ import annotations

import argparse

from bedplate.cli.options import Adder, opened, read_bytes, units, value, who
from bedplate.errors import InputError

_COLUMNS = """\
The first line of READINGS.csv names its columns, in any order: feature, station, value,
gauge, and where wanted part_temperature, gauge_temperature, condition, by, id. Values are
typed with their unit, as at the bench. All its readings are taken, or none.
"""


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    _add_gauge(add)
    _add_set(add)
    _add_read(add)
    withdraw = add("withdraw", _withdraw, "take an entry back, with the reason; it stays on record")
    withdraw.add_argument("build", metavar="BUILD")
    withdraw.add_argument("entry", metavar="ENTRY", help="its number in the record, or its id")
    withdraw.add_argument("--reason", required=True, metavar="TEXT", help="why it was wrong")


def _add_gauge(add: Adder) -> None:
    gauge = add("gauge", _gauge, "register a gauge with a build, or list the gauges of a build")
    gauge.add_argument("build", metavar="BUILD")
    gauge.add_argument(
        "gauge", nargs="?", default="", metavar="GAUGE", help="short name of the gauge"
    )
    texts = {
        "--kind": "kind of gauge, such as 'outside micrometer'",
        "--resolution": "smallest step it shows, '0.001 mm'",
        "--uncertainty": "expanded uncertainty of its indication (k = 2), '0.003 mm'",
        "--repeatability": "standard deviation of one reading in your hands, '0.0012 mm'",
        "--name": "what it is called on paper",
        "--reads-in": "unit of a bare number it shows, 'mm'",
        "--bias": "what it shows less what is true, '+0.002 mm'",
        "--turn": "one turn of its dial or thimble, '0.5 mm'",
        "--expansion": "its linear expansion, '11.5 µm/m/K'",
        "--calibrated": "day it was calibrated, '2026-01-15'",
        "--due": "day it is due again",
        "--source": "where its figures come from",
    }
    for option, what in texts.items():
        gauge.add_argument(option, default="", type=value, help=what)
    gauge.add_argument(
        "--coverage", type=float, default=2.0, help="k of --uncertainty, 2 if not said"
    )
    which = gauge.add_mutually_exclusive_group()
    which.add_argument(
        "--comparator",
        action="store_const",
        const=True,
        help="it shows a deviation from a setting",
    )
    which.add_argument(
        "--absolute",
        dest="comparator",
        action="store_const",
        const=False,
        help="it shows sizes itself",
    )


def _add_set(add: Adder) -> None:
    setting = add("set", _set, "note that a comparator was set on a master or in another gauge")
    setting.add_argument("build", metavar="BUILD")
    setting.add_argument("gauge", metavar="GAUGE", help="the comparator")
    setting.add_argument("size", metavar="SIZE", type=value, help="size it was set to, '60.000 mm'")
    setting.add_argument("--on", default="", metavar="GAUGE", help="the gauge it was set in")
    setting.add_argument("--master", default="", metavar="NAME", help="the master it was set on")
    setting.add_argument(
        "--uncertainty", default="", type=value, help="expanded uncertainty of the master (k = 2)"
    )
    setting.add_argument(
        "--found", default="", type=value, help="what it showed there before: its drift"
    )
    setting.add_argument("--temperature", default="", type=value, help="of the two, '20 °C'")


def _add_read(add: Adder) -> None:
    read = add("read", _read, "take a reading, or all the readings of a file", _COLUMNS)
    read.add_argument("build", metavar="BUILD")
    read.add_argument("feature", nargs="?", default="", metavar="FEATURE", help="'main-journal-2'")
    read.add_argument(
        "station", nargs="?", default="", metavar="STATION", help="where on the feature"
    )
    read.add_argument(
        "value",
        nargs="?",
        default="",
        metavar="VALUE",
        type=value,
        help="'59.006 mm', '-0.0005 in'",
    )
    read.add_argument("--gauge", default="", metavar="GAUGE", help="the gauge it was taken with")
    read.add_argument("--condition", default="", metavar="TEXT", help="state the parts were in")
    read.add_argument("--part-temperature", default="", type=value, metavar="T", help="'21 °C'")
    read.add_argument("--gauge-temperature", default="", type=value, metavar="T", help="'20 °C'")
    read.add_argument("--id", default="", help="32 hex digits; sent twice, it counts once")
    read.add_argument(
        "--from", dest="file", default="", metavar="READINGS.csv", help="'-' is input"
    )


def _gauge(arguments: argparse.Namespace) -> int:
    from bedplate.cli.receipts import print_receipt
    from bedplate.cli.showing import print_gauges

    with opened(arguments) as workshop:
        if not arguments.gauge:
            return print_gauges(workshop.state(arguments.build), arguments)
        receipt = workshop.register_gauge(
            arguments.build,
            arguments.gauge,
            by=who(arguments),
            gauge_kind=arguments.kind,
            resolution=arguments.resolution,
            expanded_uncertainty=arguments.uncertainty,
            repeatability=arguments.repeatability,
            name=arguments.name,
            comparator=arguments.comparator,
            reads_in=arguments.reads_in,
            bias=arguments.bias,
            coverage=arguments.coverage,
            dial_turn=arguments.turn,
            expansion=arguments.expansion,
            calibrated=arguments.calibrated,
            due=arguments.due,
            source=arguments.source,
        )
    done = f"Gauge '{arguments.gauge}' is registered."
    return print_receipt(receipt, done, as_json=arguments.json)


def _set(arguments: argparse.Namespace) -> int:
    from bedplate.cli.output import both
    from bedplate.cli.receipts import print_receipt

    with opened(arguments) as workshop:
        receipt = workshop.set_comparator(
            arguments.build,
            arguments.gauge,
            arguments.size,
            by=who(arguments),
            on_gauge=arguments.on,
            master=arguments.master,
            size_uncertainty=arguments.uncertainty,
            found=arguments.found,
            temperature=arguments.temperature,
        )
        state = workshop.state(arguments.build)
        held = state.gauges[arguments.gauge].setting
        size = both(None if held is None else held.size.si, units(arguments, state.units))
    done = f"Gauge '{arguments.gauge}' is set to {size}."
    return print_receipt(receipt, done, as_json=arguments.json)


def _read(arguments: argparse.Namespace) -> int:
    if arguments.file:
        return _read_file(arguments)
    for what in ("feature", "station", "value", "gauge"):
        if not getattr(arguments, what):
            option = "--gauge" if what == "gauge" else what.upper()
            sentence = f"The reading has no {what}: {option} is missing."
            hint = "Like this: bedplate read BUILD FEATURE STATION VALUE --gauge GAUGE"
            raise InputError(sentence, hint=hint)
    from bedplate.cli.output import print_json
    from bedplate.cli.receipts import print_reading

    with opened(arguments) as workshop:
        receipt = workshop.read(
            arguments.build,
            arguments.feature,
            arguments.station,
            arguments.value,
            arguments.gauge,
            by=who(arguments),
            part_temperature=arguments.part_temperature,
            gauge_temperature=arguments.gauge_temperature,
            condition=arguments.condition,
            id=arguments.id.strip(),
        )
        if arguments.json:
            print_json(receipt)
        else:
            print_reading(receipt, units(arguments, workshop.state(arguments.build).units))
    return 0


def _read_file(arguments: argparse.Namespace) -> int:
    from bedplate.cli.output import print_json

    data = read_bytes(arguments.file)
    file = "standard input" if arguments.file == "-" else arguments.file
    with opened(arguments) as workshop:
        receipts = workshop.read_csv(arguments.build, data, file, by=who(arguments))
    if arguments.json:
        print_json(receipts)
        return 0
    for receipt in receipts:
        for doubt in receipt.doubts:
            print(f"Entry {receipt.number}, {receipt.name}: ? {doubt.sentence}")
    entries = f"{len(receipts)} reading{'s' if len(receipts) > 1 else ''}"
    print(f"{entries} taken from {file}, entries {receipts[0].number} to {receipts[-1].number}.")
    return 0


def _withdraw(arguments: argparse.Namespace) -> int:
    from bedplate.cli.receipts import print_receipt

    with opened(arguments) as workshop:
        receipt = workshop.withdraw(
            arguments.build, arguments.entry, arguments.reason, by=who(arguments)
        )
    done = f"Entry {arguments.entry} is withdrawn."
    return print_receipt(receipt, done, as_json=arguments.json)
