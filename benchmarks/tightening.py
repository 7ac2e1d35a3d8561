"""A bolt: acknowledged by the server, durable, with the next one named."""

from __future__ import annotations

import http.client
import json
import secrets
import time
from pathlib import Path

from bedplate.engine import examples
from bedplate.shop.tightening.runs import joints
from bedplate.workshop import Workshop
from benchmarks.figures import Figure, middle, percentile
from benchmarks.readings import disk, server

_RUNS = 20
_BY = "the builder (invented)"


def run(folder: Path) -> list[Figure]:
    """Time the bolts of some runs of an invented frame, in turn with bare durable writes."""
    build = "bolts"
    workshop = Workshop.open(folder)
    workshop.start(examples()["in-line-four-frame"], by=_BY, build=build)
    workshop.close()
    took, bare = [], []
    with server(folder) as port, disk(folder) as write:
        connection = http.client.HTTPConnection("127.0.0.1", port)
        page = _Page(connection, build)
        for _ in range(_RUNS):
            answer = page.post("tightenings", plan="frame", purpose="trial")
            while answer["next"] is not None:
                begin = time.perf_counter()
                if answer["next"]["bolt"]:
                    answer = page.bolt(answer)
                    took.append(time.perf_counter() - begin)
                    begin = time.perf_counter()
                    write()
                    bare.append(time.perf_counter() - begin)
                else:
                    answer = page.post(
                        "stages", run=answer["run"], stage=answer["next"]["stage"], torque="3 N·m"
                    )
            page.post("loosenings", plan="frame", reason="again")
        connection.close()
    workshop = Workshop.open(folder)
    assert len(joints(workshop.state(build))["frame", ""].runs) == _RUNS
    workshop.close()
    peer = "one `fdatasync` of 4 kB"
    return [
        Figure("a bolt in the server, median", middle(took), None, peer, middle(bare)),
        Figure(
            "a bolt in the server, p99",
            percentile(took, 0.99),
            0.005,
            f"{peer}, p99",
            percentile(bare, 0.99),
        ),
    ]


class _Page:
    """Sends what the page sends."""

    def __init__(self, connection: http.client.HTTPConnection, build: str) -> None:
        self._connection = connection
        self._build = build

    def post(self, end: str, **fields: object) -> dict[str, object]:
        body = {name: str(value) for name, value in fields.items()}
        headers = {"content-type": "application/json", "accept": "application/json"}
        text = json.dumps({**body, "by": _BY, "id": secrets.token_hex(16)})
        self._connection.request("POST", f"/builds/{self._build}/{end}", text, headers)
        answer = self._connection.getresponse()
        data = answer.read()
        assert answer.status == 200, data
        return dict(json.loads(data))

    def bolt(self, answer: dict[str, object]) -> dict[str, object]:
        following = answer["next"]
        assert isinstance(following, dict)
        return self.post(
            "bolts", run=answer["run"], stage=following["stage"], bolt=following["bolt"]
        )
