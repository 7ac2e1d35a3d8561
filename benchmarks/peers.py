"""Bedplate beside general libraries: the answers first, then the times.

`python -m benchmarks.peers` asks whichever library is installed; with `--write` it keeps their
answers for the tests. openTorsion comes with `make benchmark`; ROSS is 1.4 GB and is put into an
environment of its own: `pip install -e '.[bench-rotor]'`.
"""

from __future__ import annotations

import argparse
import json
import platform
import re
import time
from collections.abc import Callable
from dataclasses import asdict
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from types import ModuleType

import numpy as np

from bedplate.physics.rotor import Vectors
from bedplate.physics.torsion import modes, stiffness_matrix
from bedplate.physics.torsion_response import steady_response
from benchmarks import peer_opentorsion, peer_ross
from benchmarks.figures import Figure, table
from benchmarks.peer_models import (
    Answers,
    Train,
    eight,
    rotors,
    solid_trains,
    train_apart,
    trains,
)

KEPT = Path(__file__).parents[1] / "tests" / "literature" / "peers"
GEARED = {"ratio": 2.5, "inertia": 2e-3, "stiffness": 3e3}
"""An accessory behind gears on the nose of the six."""
EQUAL = 1e-9
_ROUNDS = 15


def run() -> list[Figure]:
    """Hold the answers to each library that is installed, then time what was held."""
    figures = _forced_response()
    for library in (peer_opentorsion, peer_ross):
        if library.INSTALLED:
            print(f"Held to {_named(library)}: {_apart(library)}", flush=True)
        else:
            print(f"NOT HELD to {library.NAME}: it is not installed.", flush=True)
    return figures + _modes_beside_ross()


def _forced_response() -> list[Figure]:
    """Return 8 inertias at 7,200 frequencies, and the same against a fiftieth of openTorsion."""
    train, model = eight(), eight().model
    omega, torque = np.array(train.frequency), np.zeros(8, dtype=np.complex128)
    torque[0], torque[3] = 100.0, 50.0j

    def ours() -> Vectors:
        return steady_response(model, omega, torque)

    what = "forced response of 8 inertias at 7,200 frequencies"
    have = peer_opentorsion.INSTALLED
    peer = peer_opentorsion.response(train, omega, torque) if have else _dense(train, torque)
    expected = peer()
    gap = float(np.abs(ours() - expected).max() / np.abs(expected).max())
    assert gap <= EQUAL, gap
    took, theirs = _in_turn(ours, peer)
    name = _named(peer_opentorsion) if have else "dense algebra, for want of opentorsion"
    name += f", apart {gap:.0e}"
    figure = Figure(what, took, 0.005, name, theirs)
    if not have:
        return [figure]
    return [
        figure,
        Figure("the same, in a fiftieth of the peer's time", took, theirs / 50, name, theirs),
    ]


def _dense(train: Train, torque: Vectors) -> Callable[[], Vectors]:
    model, omega = train.model, np.array(train.frequency)[:, np.newaxis, np.newaxis]
    stiff, inertia = stiffness_matrix(model), np.diag(model.inertia)
    damp = stiffness_matrix(model, model.damping) + np.diag(model.drag)
    load = np.broadcast_to(torque, (omega.size, torque.size))[..., np.newaxis]

    def solve() -> Vectors:
        matrix = stiff + 1j * omega * damp - omega**2 * inertia
        return np.asarray(np.linalg.solve(matrix, load)[..., 0])

    return solve


def _modes_beside_ross() -> list[Figure]:
    if not peer_ross.INSTALLED:
        return []
    train = trains()[2]
    line = peer_ross.line_of(train)

    def peer() -> object:
        return peer_ross.modes_of(peer_ross.assembly(train, line))

    took, theirs = _in_turn(lambda: modes(train.model), peer, 5)
    name = f"{_named(peer_ross)}, all six degrees of freedom"
    return [Figure("a straight six made, its frequencies and shapes", took, None, name, theirs)]


def _in_turn(
    ours: Callable[[], object], peer: Callable[[], object], rounds: int = _ROUNDS
) -> tuple[float, float]:
    """Return the least time of each, taken in turn: what a busy machine adds counts for neither."""
    times: tuple[list[float], list[float]] = ([], [])
    ours()
    for _ in range(rounds):
        for work, kept in zip((ours, peer), times, strict=True):
            begin = time.perf_counter()
            work()
            kept.append(time.perf_counter() - begin)
    return min(times[0]), min(times[1])


def _apart(library: ModuleType) -> str:
    """Return the greatest difference of each kind, over the trains that the library can answer."""
    greatest: dict[str, float] = {}
    for train in trains():
        answers = library.train_answers(train)
        for what, gap in (train_apart(train, answers) if answers else {}).items():
            greatest[what] = max(gap, greatest.get(what, 0.0))
            assert what == "damping ratios" or gap <= EQUAL, (train.name, what, gap)
    return ", ".join(f"{what} {gap:.0e}" for what, gap in greatest.items())


def _named(library: ModuleType) -> str:
    return f"{library.NAME} {version(library.NAME)}"


def answers_of(library: ModuleType) -> Answers:
    """Return everything a library says of the shared models, with the models and its version."""
    asked = [(train, library.train_answers(train)) for train in trains()]
    kept: Answers = {
        "library": library.NAME,
        "version": version(library.NAME),
        "with": {
            "python": platform.python_version(),
            **{name: version(name) for name in ("numpy", "scipy", *library.BESIDE)},
        },
        "written": f"{datetime.now(UTC):%Y-%m-%d}",
        "trains": [{"model": asdict(t), "answers": found} for t, found in asked if found],
        "solid_trains": [
            {"model": asdict(t), "answers": library.solid_answers(t)} for t in solid_trains()
        ],
    }
    if library is peer_opentorsion:
        six = trains()[2]
        kept["geared"] = {
            "model": asdict(six),
            "gears": GEARED,
            "answers": library.geared_answers(six, **GEARED),
        }
    else:
        kept["rotors"] = [
            {"model": asdict(r), "answers": library.rotor_answers(r)} for r in rotors()
        ]
    return kept


def write(library: ModuleType) -> Path:
    """Keep a library's answers beside the tests; rows of numbers stay on one line."""
    text = json.dumps(answers_of(library), indent=1)
    text = re.sub(r"\[(?:[^][{}]|\[[^][{}]*\])*\]", lambda row: re.sub(r"\s+", " ", row[0]), text)
    place = KEPT / f"{library.NAME}.json"
    KEPT.mkdir(exist_ok=True)
    place.write_text(text + "\n", "utf-8")
    return place


def main() -> None:
    """Compare, time, and keep the answers if asked to."""
    command = argparse.ArgumentParser(prog="python -m benchmarks.peers", description=__doc__)
    command.add_argument("--write", action="store_true", help="keep the answers for the tests")
    arguments = command.parse_args()
    print("\n".join(["", *table(run())]))
    for library in (peer_opentorsion, peer_ross):
        if arguments.write and library.INSTALLED:
            print(f"Written: {write(library).name}")


if __name__ == "__main__":
    main()
