"""The state of a complete build, from nothing but its rows."""

from __future__ import annotations

import time
from pathlib import Path

from bedplate.workshop import Workshop
from benchmarks.figures import Figure, middle

_RUNS = 15


def run(folder: Path, build: str) -> list[Figure]:
    """Time the state from nothing, beside only reading and hashing the same rows."""
    times, rows = [], []
    for _ in range(_RUNS):
        workshop = Workshop.open(folder)
        begin = time.perf_counter()
        state = workshop.state(build)
        times.append(time.perf_counter() - begin)
        begin = time.perf_counter()
        exported = sum(len(line) for line in workshop.export(build))
        rows.append(time.perf_counter() - begin)
        assert state.checkpoint.count
        assert exported
        workshop.close()
    return [
        Figure(
            "state of the V8, from nothing",
            middle(times),
            0.060,
            "exporting the same rows",
            middle(rows),
        )
    ]
