"""Cold starts: a whole process, from nothing to its last line."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

from benchmarks.figures import Figure, middle

_RUNS = 21


def run(folder: Path, build: str) -> list[Figure]:
    """Time `bedplate --help` and `bedplate state`, in turn with a bare interpreter."""
    bedplate = [str(Path(sys.executable).with_name("bedplate"))]
    commands = {
        "pass": [sys.executable, "-c", "pass"],
        "help": [*bedplate, "--help"],
        "state": [*bedplate, "--data", str(folder), "state", build],
    }
    # An installed program has its byte code: keep it, whatever the shell that measures says.
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    times: dict[str, list[float]] = {name: [] for name in commands}
    for turn in range(_RUNS + 1):
        for name, command in commands.items():
            begin = time.perf_counter()
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=kept)
            if turn:
                times[name].append(time.perf_counter() - begin)
    bare = middle(times["pass"])
    peer = "`python -c pass`"
    return [
        Figure("`bedplate --help`, cold", middle(times["help"]), 0.080, peer, bare),
        Figure("`bedplate state` of the V8, cold", middle(times["state"]), 0.250, peer, bare),
    ]
