"""Run every benchmark and print one table; `--quick` shrinks the store to 20 builds."""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from benchmarks import (
    balance,
    book,
    clamping,
    crank_train,
    duty,
    fixture,
    machine_shop,
    parsing,
    peers,
    physics_film,
    readings,
    selection,
    start,
    states,
    tightening,
)
from benchmarks.figures import Figure, machine, table

PAGE = Path(__file__).parents[1] / "docs" / "benchmarks.md"

_OPENING = """\
# Benchmarks

<!-- Written by `python -m benchmarks --write`; a run by hand is `make benchmark`. -->

The numbers to reach, each measured beside its peer in the same run, so that a slower machine
can be told from slower code. They are no timed tests: nothing fails where one is missed, and
what is missed says so here.

- Cold starts are whole processes, the median of 21, in turn with a bare interpreter.
- A reading is sent over HTTP to the server, on loopback from a second process: its time ends when
  the answer with the verdict is there, and the answer is given when the entry is durable. In turn
  with it, 4 kB are written to the same disk and synchronised. The use case alone is the same
  without HTTP.
- The store holds 1,000 builds, all true records with their own ids and chains.
- The oracle that reads quantities is asked the same texts, and the answers are compared first.
- The orbit's peer is the fastest of SciPy's methods, at the loosest tolerance that is as near to
  the closed orbit as ours in the least film and in every film of the cycle. It begins where ours
  begins, and is told where ours has closed.
- A peer that says how far the answers lie `apart` was compared before it was timed, and then both
  in turn, the least of 15 each. Where it isn't installed, `make benchmark` says so.

This run:
"""


def main() -> None:
    """Measure, print, and write the page if asked to."""
    arguments = _arguments()
    where = machine()
    print(*where, sep="\n", end="\n\n")
    figures: list[Figure] = []
    with tempfile.TemporaryDirectory(dir=arguments.folder, prefix="bedplate-benchmark-") as folder:
        one, many = Path(folder, "one"), Path(folder, "many")
        entries = fixture.one_build(one)
        print(f"A complete V8 build has {entries} entries.", flush=True)
        figures += parsing.run()
        figures += clamping.run()
        figures += machine_shop.run()
        figures += physics_film.run()
        figures += crank_train.run()
        figures += peers.run()
        figures += balance.run()
        figures += duty.run()
        figures += selection.run(quick=arguments.quick)
        figures += start.run(one, fixture.BUILD)
        figures += states.run(one, fixture.BUILD)
        figures += book.run(one, fixture.BUILD)
        count = 20 if arguments.quick else arguments.builds
        rows = fixture.many_builds(one, many, count)
        print(f"A store of {count} builds has {rows} entries.", flush=True)
        figures += readings.run(many, fixture.BUILD)
        figures += tightening.run(one)
    print()
    print("\n".join(table(figures)))
    if arguments.write:
        said = f"A complete V8 build has {entries} entries; the store of {count} builds {rows}."
        parts = [_OPENING, "\n".join(f"- {line}" for line in where), said]
        PAGE.write_text("\n\n".join([*parts, "\n".join(table(figures))]) + "\n", "utf-8")


def _arguments() -> argparse.Namespace:
    command = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    command.add_argument("--quick", action="store_true", help="a store of 20 builds")
    command.add_argument("--write", action="store_true", help="write docs/benchmarks.md as well")
    command.add_argument("--builds", type=int, default=1000, help="builds in the store, 1000")
    command.add_argument(
        "--folder", default=None, help="folder on the disk to measure; the usual temporary one"
    )
    return command.parse_args()


main()
