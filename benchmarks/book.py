"""The build book of a complete build."""

from __future__ import annotations

import time
from pathlib import Path

from bedplate.workshop import Workshop
from benchmarks.figures import Figure


def run(folder: Path, build: str) -> list[Figure]:
    """Time the first book of a process, which loads everything, beside the second."""
    workshop = Workshop.open(folder)
    try:
        took = []
        for _ in range(2):
            begin = time.perf_counter()
            data = workshop.book(build)
            took.append(time.perf_counter() - begin)
            assert data.startswith(b"%PDF")
        return [Figure("build book of the V8, first", took[0], 1.0, "the second", took[1])]
    finally:
        workshop.close()
