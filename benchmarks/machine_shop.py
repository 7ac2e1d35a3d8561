"""The pages of order and check-in, of an order that was issued, returned and measured."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from bedplate import demo
from bedplate.engine import examples
from bedplate.workshop import Workshop
from benchmarks.figures import Figure, middle

_TIMES = 30
_BUILD = "six"
_BY = "the builder (invented)"


def run() -> list[Figure]:
    """Time the two pages of a whole straight six beside a page that works nothing out."""
    from starlette.testclient import TestClient

    from bedplate.web.app import create_app

    with tempfile.TemporaryDirectory(prefix="bedplate-benchmark-") as folder:
        workshop = Workshop.open(Path(folder))
        try:
            _fill(workshop)
            app = create_app(workshop, allowed_hosts=["bench"])
            client = TestClient(app, base_url="http://bench")
            plain = _took(client, "/keys")
            return [
                Figure(f"page of {name}", _took(client, f"/builds/{_BUILD}/{end}"), 0.020,
                       "the page of keys", plain)
                for name, end in (("the shop order", "order"), ("its check-in", "checkin"))
            ]  # fmt: skip
        finally:
            workshop.close()


def _fill(workshop: Workshop) -> None:
    demo.fill(workshop, examples()["straight-six"], _BUILD, seed=6)
    workshop.issue_order(_BUILD, by=_BY)
    rows = [{"row": f"cylinder-bore-{number}", "value": "84.501 mm"} for number in range(1, 7)]
    workshop.take_return(_BUILD, rows, by=_BY)
    workshop.state(_BUILD)


def _took(client: object, path: str) -> float:
    times = []
    for _ in range(_TIMES):
        begin = time.perf_counter()
        answer = client.get(path)  # type: ignore[attr-defined]
        times.append(time.perf_counter() - begin)
        assert answer.status_code == 200
    return middle(times)
