"""A reading: sent to the server, durable, and answered with its verdict."""

from __future__ import annotations

import http.client
import json
import os
import re
import secrets
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import cycle
from pathlib import Path

from bedplate.workshop import Workshop
from benchmarks.figures import Figure, middle, percentile

_READINGS = 1000
_WARM = 20


def run(folder: Path, build: str) -> list[Figure]:
    """Time readings in the server and by the use case alone, in turn with bare durable writes."""
    texts = _sample(folder, build)
    with server(folder) as port, disk(folder) as write:
        connection = http.client.HTTPConnection("127.0.0.1", port)
        served, bare = _in_turn(lambda body: _post(connection, build, body), write, texts)
        connection.close()
    workshop = Workshop.open(folder)
    with disk(folder) as write:
        called, bare_again = _in_turn(lambda body: _call(workshop, build, body), write, texts)
    workshop.close()
    peer = "one `fdatasync` of 4 kB"
    return [
        Figure("a reading in the server, median", middle(served), None, peer, middle(bare)),
        Figure(
            "a reading in the server, p99",
            percentile(served, 0.99),
            0.005,
            f"{peer}, p99",
            percentile(bare, 0.99),
        ),
        Figure("a reading by its use case, median", middle(called), None, peer, middle(bare_again)),
        Figure(
            "a reading by its use case, p99",
            percentile(called, 0.99),
            0.005,
            f"{peer}, p99",
            percentile(bare_again, 0.99),
        ),
    ]


def _sample(folder: Path, build: str) -> list[dict[str, str]]:
    """Return readings that were taken, spread over the build, to be taken again."""
    workshop = Workshop.open(folder)
    readings = [r for f in workshop.state(build).features.values() for r in f.readings]
    workshop.close()
    return [
        {
            "feature": r.feature,
            "station": r.station,
            "value": r.text,
            "gauge": r.gauge,
            "condition": r.condition,
            "by": "the builder (invented)",
        }
        for r in readings[:: max(1, len(readings) // 200)]
    ]


def _in_turn(
    take: Callable[[dict[str, str]], None],
    write: Callable[[], None],
    texts: list[dict[str, str]],
) -> tuple[list[float], list[float]]:
    taken, written = [], []
    for count, text in zip(range(_READINGS + _WARM), cycle(texts), strict=False):
        begin = time.perf_counter()
        take({**text, "id": secrets.token_hex(16)})
        middle_time = time.perf_counter()
        write()
        end = time.perf_counter()
        if count >= _WARM:
            taken.append(middle_time - begin)
            written.append(end - middle_time)
    return taken, written


def _post(connection: http.client.HTTPConnection, build: str, body: dict[str, str]) -> None:
    headers = {"content-type": "application/json", "accept": "application/json"}
    connection.request("POST", f"/builds/{build}/readings", json.dumps(body), headers)
    answer = connection.getresponse()
    data = answer.read()
    assert answer.status == 200, data
    assert json.loads(data)["fits"] is not None


def _call(workshop: Workshop, build: str, body: dict[str, str]) -> None:
    workshop.read(
        build,
        body["feature"],
        body["station"],
        body["value"],
        body["gauge"],
        by=body["by"],
        condition=body["condition"],
        id=body["id"],
    )


@contextmanager
def server(folder: Path) -> Iterator[int]:
    """Serve a data folder from a process of its own, and give its port."""
    command = [sys.executable, "-m", "bedplate.cli", "--data", str(folder), "serve"]
    server = subprocess.Popen(
        [*command, "--no-browser", "--port", "0"], stdout=subprocess.PIPE, text=True
    )
    try:
        assert server.stdout is not None
        said = ""
        while (match := re.search(r"http://[^:]+:(\d+)/", said)) is None:
            line = server.stdout.readline()
            assert line, said
            said += line
        yield int(match.group(1))
    finally:
        server.terminate()
        server.wait()


@contextmanager
def disk(folder: Path) -> Iterator[Callable[[], None]]:
    """Give a bare durable write of 4 kB to the same disk, behind the last one."""
    path = folder / "bare"
    handle = os.open(path, os.O_CREAT | os.O_WRONLY | os.O_TRUNC)
    block = secrets.token_bytes(4096)
    sync = getattr(os, "fdatasync", os.fsync)

    def write() -> None:
        os.write(handle, block)
        sync(handle)

    try:
        yield write
    finally:
        os.close(handle)
        path.unlink()
