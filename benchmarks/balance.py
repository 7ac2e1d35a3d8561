"""Pages of balance and torsion, as a build shows them."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from bedplate.engine import examples
from bedplate.shop.balance.bob_weight import bob_weight_card
from bedplate.shop.balance.shaking import shaking_of
from bedplate.shop.balance.weights import weights_of
from bedplate.web.views.balance import torsion_view
from bedplate.workshop import Workshop
from benchmarks.figures import Figure, middle

_RUNS = 15


def run() -> list[Figure]:
    """Time the whole torsion page of the six, and card and balance of the V8, warm."""
    with tempfile.TemporaryDirectory(prefix="bedplate-benchmark-") as folder:
        workshop = Workshop.open(Path(folder))
        for name in ("straight-six", "v8"):
            workshop.start(examples()[name], by="benchmark", file=name, build=name)
        six, v8 = workshop.state("straight-six"), workshop.state("v8")
        workshop.close()

    def whole() -> None:
        bob_weight_card(v8.engine, weights_of(v8.engine, v8))
        shaking_of(v8.engine, v8)

    return [
        Figure("torsion page of a straight six, drawings in, warm", _timed(_torsion(six)), 0.150),
        Figure("bob-weights and balance of a V8, five orders and exact", _timed(whole), 0.010),
    ]


def _torsion(state: object) -> Callable[[], object]:
    return lambda: torsion_view(state)  # type: ignore[arg-type]


def _timed(work: Callable[[], object]) -> float:
    work()
    times = []
    for _ in range(_RUNS):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return middle(times)
