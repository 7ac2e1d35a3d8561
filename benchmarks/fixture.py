"""The stores that are measured: one complete V8 build, and many of them."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

from bedplate.demo import fill, invented_entries
from bedplate.engine import examples
from bedplate.record import SqliteStore
from bedplate.record.store import StoredRow
from bedplate.workshop import Workshop

BUILD = "v8"
_ENTRIES = 1500
_ID = re.compile(rb'"(?:id|setting|target)":"([0-9a-f]{32})"')


def v8() -> str:
    """Return the shipped engine file of a V8."""
    return next(text for name, text in examples().items() if "v8" in name)


def one_build(folder: Path) -> int:
    """Fill a store with one complete build of about 1,500 entries; return how many it has."""
    workshop = Workshop.open(folder)
    try:
        once = sum(1 for _ in invented_entries(v8(), BUILD, seed=8))
        repeats = max(1, round(_ENTRIES / once))
        return fill(workshop, v8(), BUILD, seed=8, repeats=repeats)
    finally:
        workshop.close()


def many_builds(source: Path, target: Path, count: int) -> int:
    """Fill a store with copies of a build under other names and ids; return its rows.

    The copies are true records: their ids are their own and their chains hold. They are made from
    the bytes of the first one, since a million and a half entries by the front door take an hour.
    """
    store = SqliteStore(source / "bedplate.sqlite")
    rows = list(store.rows(BUILD))
    store.close()
    templates = [_template(row) for row in rows]
    many = SqliteStore(target / "bedplate.sqlite")
    total = 0
    for number in range(count):
        # The first keeps the name that the benchmark asks for.
        name = BUILD if number == 0 else f"{BUILD}-{number}"
        copied = list(_copy(templates, name, number))
        many.append(copied)
        total += len(copied)
    many.close()
    return total


Template = tuple[list[bytes], str]


def _template(row: StoredRow) -> Template:
    """Cut a body at the first eight digits of its ids; return the pieces and the row's id."""
    cuts = [0]
    for match in _ID.finditer(row.body):
        cuts += [match.start(1), match.start(1) + 8]
    cuts.append(len(row.body))
    pieces = [row.body[a:b] for a, b in list(pairwise(cuts))[::2]]
    return pieces, row.id


def _copy(templates: list[Template], name: str, number: int) -> Iterator[StoredRow]:
    mark = f"{number:08x}"
    old_name, new_name = f'"build":"{BUILD}"'.encode(), f'"build":"{name}"'.encode()
    previous = ""
    for place, (pieces, id) in enumerate(templates, 1):
        body = mark.encode().join(pieces).replace(old_name, new_name)
        head, _, _ = body.rpartition(b'"previous":"')
        body = head + b'"previous":"' + previous.encode() + b'"}'
        previous = hashlib.sha256(body).hexdigest()
        yield StoredRow(build=name, number=place, id=mark + id[8:], hash=previous, body=body)
