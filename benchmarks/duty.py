"""The duty check: twenty speeds of a V8, and what a slider on the page waits for."""

from __future__ import annotations

import tempfile
import time
from math import pi
from pathlib import Path

from bedplate.demo import fill
from bedplate.engine import examples, read_engine
from bedplate.shop.duty.check import duty_check
from bedplate.shop.duty.given import Given
from bedplate.web.views.duty import answer, knobs
from bedplate.workshop import Workshop
from benchmarks.figures import Figure, middle

_RPM = pi / 30
_SPEEDS = tuple(_RPM * (1000 + 6000 * number / 19) for number in range(20))
_RUNS = 15


def run() -> list[Figure]:
    """Compare each answer with the whole check's, then time both."""
    given = Given(read_engine(examples()["v8"]))
    whole = duty_check(given, _SPEEDS)
    assert len(whole.rows) == 20
    assert all(len(row.films) == 13 for row in whole.rows)
    took = []
    for _ in range(5):
        begin = time.perf_counter()
        again = duty_check(given, _SPEEDS)
        took.append(time.perf_counter() - begin)
    assert again.rows[-1].why == whole.rows[-1].why
    return [
        Figure("duty table of a V8, 13 bearings at 20 speeds, warm", middle(took), 2.0),
        _slider(),
    ]


def _slider() -> Figure:
    """Return what the page waits for: 13 bearings, 31 clearances of one, five pictures."""
    with tempfile.TemporaryDirectory(prefix="bedplate-benchmark-") as folder:
        workshop = Workshop.open(Path(folder))
        fill(workshop, examples()["v8"], "bench")
        given = workshop.given("bench")
        took = []
        for number in range(_RUNS):
            asked = {"bearing": "rod-1", "speed": "6500", "wider": str(number % 9 - 4)}
            begin = time.perf_counter()
            found = answer(given, knobs(given, asked, None))
            took.append(time.perf_counter() - begin)
            assert found.big.endswith("µm")
        workshop.close()
    return Figure("a slider's answer, a measured V8, 13 bearings with pictures", middle(took), 0.1)
