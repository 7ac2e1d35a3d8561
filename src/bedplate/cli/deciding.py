"""Commands by which a person says what happened and what was decided."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from bedplate.cli.options import Adder, opened, read_bytes, who
from bedplate.wording import capital

if TYPE_CHECKING:
    from bedplate.shop.receipts import Receipt
    from bedplate.workshop import Workshop


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    rework = add(
        "rework", _rework, "note that a part was machined again: what was known goes stale"
    )
    rework.add_argument("build", metavar="BUILD")
    rework.add_argument("part", metavar="PART", help="'crank', 'rod 3'")
    rework.add_argument(
        "features", nargs="+", metavar="FEATURE", help="the features that were machined"
    )
    rework.add_argument("--operation", required=True, metavar="TEXT", help="what was done")

    accept = add(
        "accept", _accept, "accept a fit as it stands: a person's decision, with the reason"
    )
    accept.add_argument("build", metavar="BUILD")
    accept.add_argument("fit", metavar="FIT", help="'main-clearance-3'")
    accept.add_argument("--reason", required=True, metavar="TEXT", help="why it may stay so")

    part = add("part", _part, "note which physical part this build has")
    part.add_argument("build", metavar="BUILD")
    part.add_argument("part", metavar="PART", help="'crank', 'rod 3'")
    part.add_argument("identity", metavar="IDENTITY", help="how it is told from others")
    part.add_argument("--marks", default="", metavar="TEXT", help="stamps and codes on it")
    part.add_argument("--supplier", default="", metavar="TEXT", help="where it came from")

    note = add("note", _note, "write a note about a part, a feature, a fit, or the build")
    note.add_argument("build", metavar="BUILD")
    note.add_argument("text", metavar="TEXT")
    note.add_argument("--about", default="", metavar="WHAT", help="the build itself if not said")

    picture = add("picture", _picture, "keep a PNG or JPEG picture, with what it shows")
    picture.add_argument("build", metavar="BUILD")
    picture.add_argument("file", metavar="FILE")
    picture.add_argument("--about", default="", metavar="WHAT", help="the build itself if not said")
    picture.add_argument("--caption", default="", metavar="TEXT")

    step = add("step", _step, "note a step of the work as done")
    step.add_argument("build", metavar="BUILD")
    step.add_argument("step", metavar="STEP")
    step.add_argument("--remark", default="", metavar="TEXT")

    sign = add("sign", _sign, "stand for the record up to here")
    sign.add_argument("build", metavar="BUILD")
    sign.add_argument("role", metavar="ROLE", help="'builder', 'machinist'")
    sign.add_argument("statement", metavar="STATEMENT", help="what is signed")


def _write(
    arguments: argparse.Namespace, use_case: Callable[[Workshop, str], Receipt], done: str
) -> int:
    from bedplate.cli.receipts import print_receipt

    with opened(arguments) as workshop:
        receipt = use_case(workshop, who(arguments))
    return print_receipt(receipt, done, as_json=arguments.json)


def _rework(a: argparse.Namespace) -> int:
    return _write(
        a,
        lambda workshop, by: workshop.rework(a.build, a.part, a.features, a.operation, by=by),
        f"{capital(a.part)}: {a.operation}. What was known of "
        f"{', '.join(a.features)} is stale until it is measured again.",
    )


def _accept(a: argparse.Namespace) -> int:
    return _write(
        a,
        lambda workshop, by: workshop.accept(a.build, a.fit, a.reason, by=by),
        f"'{a.fit}' is accepted as it stands.",
    )


def _part(a: argparse.Namespace) -> int:
    return _write(
        a,
        lambda workshop, by: workshop.receive_part(
            a.build, a.part, a.identity, by=by, marks=a.marks, supplier=a.supplier
        ),
        f"{capital(a.part)} {a.identity} is received.",
    )


def _note(a: argparse.Namespace) -> int:
    return _write(
        a,
        lambda workshop, by: workshop.note(a.build, a.about, a.text, by=by),
        f"Noted about {a.about or 'the build'}.",
    )


def _picture(a: argparse.Namespace) -> int:
    data = read_bytes(a.file)
    return _write(
        a,
        lambda workshop, by: workshop.add_picture(a.build, a.about, data, by=by, caption=a.caption),
        f"The picture of {a.about or 'the build'} is kept.",
    )


def _step(a: argparse.Namespace) -> int:
    return _write(
        a,
        lambda workshop, by: workshop.step(a.build, a.step, by=by, remark=a.remark),
        f"'{a.step}' is done.",
    )


def _sign(a: argparse.Namespace) -> int:
    from bedplate.cli.receipts import print_receipt

    with opened(a) as workshop:
        receipt = workshop.sign(a.build, a.role, a.statement, by=who(a))
        stands = workshop.balance_ledger(a.build).sentence
    told = f"Signed; beside it stands: {stands}"
    return print_receipt(receipt, told, as_json=a.json)
