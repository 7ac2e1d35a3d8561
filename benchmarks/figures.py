"""What a benchmark gives, how it is printed, and on which machine it was measured."""

from __future__ import annotations

import os
import platform
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Figure:
    """One line of the table; times in s.

    :param wanted: time that should not be passed, None where only the ratio counts
    :param peer: what it is held against, and that one's time in the same run
    """

    what: str
    took: float
    wanted: float | None = None
    peer: str = ""
    peer_took: float | None = None


def machine() -> list[str]:
    """Return what was measured on, and with which versions."""
    names = ("bedplate", "apsw", "msgspec", "uncertainties", "typst", "starlette", "uvicorn")
    import apsw

    system = f"{platform.system()} {platform.release()}, {platform.machine()}"
    load = f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}"
    versions = ", ".join(f"{name} {version(name)}" for name in names)
    return [
        f"{datetime.now(UTC):%Y-%m-%d}, {system}, {_processor()}, {load}",
        f"Python {platform.python_version()}, SQLite {apsw.sqlite_lib_version()}, {versions}",
    ]


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text("utf-8").splitlines()
    except OSError:
        return platform.processor() or "unknown processor"
    named = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return named[0] if named else "unknown processor"


def percentile(times: Sequence[float], share: float) -> float:
    """Return the time that a share of the times does not pass."""
    ordered = sorted(times)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def middle(times: Sequence[float]) -> float:
    """Return the median."""
    return statistics.median(times)


def shown(time: float) -> str:
    """Return a time with three digits."""
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("µs", 1e-6)):
        if time >= size:
            return f"{time / size:.3g} {unit}"
    return f"{time * 1e9:.3g} ns"


def table(figures: Sequence[Figure]) -> list[str]:
    """Return the table as Markdown."""
    lines = [
        "| what | took | wanted | | peer in the same run | ratio |",
        "|---|--:|--:|---|---|--:|",
    ]
    for figure in figures:
        wanted = "" if figure.wanted is None else f"≤ {shown(figure.wanted)}"
        verdict = ""
        if figure.wanted is not None:
            verdict = "reached" if figure.took <= figure.wanted else "**missed**"
        peer, ratio = figure.peer, ""
        if figure.peer_took:
            peer = f"{figure.peer}: {shown(figure.peer_took)}"
            ratio = f"{figure.took / figure.peer_took:.2g}"
        lines.append(
            f"| {figure.what} | {shown(figure.took)} | {wanted} | {verdict} | {peer} | {ratio} |"
        )
    return lines
