"""Run every benchmark and print one table; `--quick` shrinks the store to 20 builds."""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from benchmarks import book, fixture, parsing, readings, start, states
from benchmarks.figures import Figure, machine, table


def main() -> None:
    """Measure, print, and write the page if asked to."""
    arguments = _arguments()
    print(*machine(), sep="\n", end="\n\n")
    figures: list[Figure] = []
    with tempfile.TemporaryDirectory(dir=arguments.folder, prefix="bedplate-benchmark-") as folder:
        one, many = Path(folder, "one"), Path(folder, "many")
        entries = fixture.one_build(one)
        print(f"A complete V8 build has {entries} entries.", flush=True)
        figures += parsing.run()
        figures += start.run(one, fixture.BUILD)
        figures += states.run(one, fixture.BUILD)
        figures += book.run(one, fixture.BUILD)
        count = 20 if arguments.quick else arguments.builds
        rows = fixture.many_builds(one, many, count)
        print(f"A store of {count} builds has {rows} entries.", flush=True)
        figures += readings.run(many, fixture.BUILD)
    print()
    print("\n".join(table(figures)))


def _arguments() -> argparse.Namespace:
    command = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    command.add_argument("--quick", action="store_true", help="a store of 20 builds")
    command.add_argument("--builds", type=int, default=1000, help="builds in the store, 1000")
    command.add_argument(
        "--folder", default=None, help="folder on the disk to measure; the usual temporary one"
    )
    return command.parse_args()


main()
