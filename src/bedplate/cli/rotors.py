"""Commands of the balancing machine: what an unbalance means, and how a rotor is corrected."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bedplate.cli.options import Adder, value

if TYPE_CHECKING:
    from bedplate.quantity import Dimension


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    residual = add(
        "residual", _residual, "what an unbalance means: force, grade, what is permitted"
    )
    residual.add_argument(
        "unbalance", nargs="?", default="", type=value, metavar="UNBALANCE",
        help="'2 oz·in', '0.1 oz·in per plane'; without it only what a grade permits",
    )  # fmt: skip
    residual.add_argument("--mass", required=True, metavar="WEIGHT", help="of the rotor")
    residual.add_argument("--speed", required=True, metavar="SPEED", help="'8000 rpm'")
    residual.add_argument("--grade", default="", metavar="G", help="asked for: 'G 16'")
    residual.add_argument(
        "--planes", nargs=2, type=value, metavar="LENGTH", help="where the two bearing planes are"
    )
    residual.add_argument(
        "--centre", default="", type=value, metavar="LENGTH", help="where the centre of mass is"
    )
    residual.add_argument(
        "--per-plane", action="store_true", help="it is that of each of two planes, not of both"
    )
    _add_correct(add)


def _add_correct(add: Adder) -> None:
    correct = add(
        "correct",
        _correct,
        "correct a rotor in two planes from trial runs",
        "Readings and trial masses are typed as 'AMOUNT @ ANGLE'. Each trial mass is taken off\n"
        "again. Angles count one way throughout.",
    )
    correct.add_argument("--first", nargs="+", required=True, metavar="READING", help="as it was")
    correct.add_argument(
        "--trial", nargs="+", action="append", required=True, metavar="TEXT",
        help="trial mass, then each pick-up's reading; once a plane",
    )  # fmt: skip
    for option, what in (
        ("--at", "angles that can carry a mass"),
        ("--drill-at", "angles that can be drilled; neither: any angle"),
    ):
        correct.add_argument(
            option, nargs="+", action="extend", default=[], metavar="ANGLE", help=what
        )
    correct.add_argument("--drill", default="", metavar="LENGTH", help="diameter of the drill")
    correct.add_argument("--radius", default="", metavar="LENGTH", help="of the surface drilled")
    correct.add_argument(
        "--trial-radius", default="", metavar="LENGTH", help="of the trial masses; same if not said"
    )
    correct.add_argument(
        "--slug-radius", default="", metavar="LENGTH",
        help="of the axis of a slug of heavy metal; a drill's width under the surface if not said",
    )  # fmt: skip
    correct.add_argument("--density", default="7850 kg/m³", metavar="DENSITY", help="7850 kg/m³")


def _read(text: str, dimension: Dimension) -> float:
    from bedplate.quantity import parse

    return parse(value(text), dimension).value


def _residual(a: argparse.Namespace) -> int:
    from bedplate.quantity import Dimension, Units
    from bedplate.shop.balance.residual import (
        meaning_of,
        read_grade,
        read_rotor,
        read_unbalance,
        residual_rows,
    )

    planes = tuple(_read(text, Dimension.LENGTH) for text in a.planes or ())
    given, each = None, False
    if a.unbalance:
        given, each = read_unbalance(a.unbalance, per_plane=a.per_plane)
    found = meaning_of(
        given,
        read_rotor(value(a.mass), Dimension.MASS, "mass"),
        read_rotor(value(a.speed), Dimension.ROTATION, "speed"),
        per_plane=each,
        grade=read_grade(a.grade),
        planes=(planes[0], planes[1]) if planes else None,
        centre=_read(a.centre, Dimension.LENGTH) if a.centre else None,
    )
    if a.json:
        from bedplate.cli.output import print_json
        from bedplate.documents.rotor_json import meaning_as_dict

        print_json(meaning_as_dict(found))
        return 0
    for name, text in residual_rows(found, Units(a.units) if a.units else Units.METRIC):
        print(f"{name}: {text}")
    return 0


def _correct(a: argparse.Namespace) -> int:
    from bedplate.quantity import Units
    from bedplate.shop.balance.correction import (
        correction_lines,
        metal_words,
        read_metal,
        two_plane_correction,
    )

    found = two_plane_correction(
        a.first, [run[1:] for run in a.trial], [run[0] for run in a.trial], a.at, a.drill_at
    )
    metal = read_metal(a.drill, a.radius, a.density, a.trial_radius, a.slug_radius)
    code = int(any(one.lacking for one in found))
    if a.json:
        from bedplate.cli.output import print_json
        from bedplate.documents.rotor_json import correction_as_dict

        print_json([correction_as_dict(one, metal) for one in found])
        return code
    shown = Units(a.units) if a.units else Units.METRIC
    for one in found:
        print("\n  ".join(correction_lines(one, shown, metal)))
    if metal is not None:
        print(metal_words(metal, shown))
    return code
