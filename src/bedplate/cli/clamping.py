"""What clamp a tightening gives: the calculator, which needs no build."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bedplate.cli.options import Adder, value

if TYPE_CHECKING:
    from bedplate.shop.clamping.answer import Answer

_LENGTHS = ("grip", "free_thread", "head", "hole", "around", "stretch")


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    _add_clamp(add)


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
