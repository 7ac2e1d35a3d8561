"""The shared models in openTorsion (MIT), a library for torsional vibration."""

from __future__ import annotations

import importlib.util
import warnings
from collections.abc import Callable
from typing import Any

import numpy as np

from bedplate.physics.checks import Array
from bedplate.physics.rotor import Vectors
from benchmarks.peer_models import Answers, SolidTrain, Train, pairs

NAME = "opentorsion"
BESIDE = ()
INSTALLED = importlib.util.find_spec(NAME) is not None
_STILL = 1e-5


def _library() -> Any:  # noqa: ANN401 - it ships no types
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import opentorsion
    return opentorsion


def assembly(train: Train, *, rubber: bool = False) -> Any:  # noqa: ANN401 - it ships no types
    """Return the train; for `rubber`, with loss factor times stiffness in the dampings' place."""
    ot = _library()
    shafts = [ot.Shaft(i, j, k=k, c=eta * k if rubber else c) for i, j, k, c, eta in train.shafts]
    drag = (0.0,) * len(train.drag) if rubber else train.drag
    disks = [
        ot.Disk(node, inertia, c=c)
        for node, (inertia, c) in enumerate(zip(train.inertia, drag, strict=True))
    ]
    return ot.Assembly(shafts, disk_elements=disks)


def response(train: Train, frequency: Array, torque: Vectors) -> Callable[[], Vectors]:
    """Return the call that works out the forced response, rad, shape (f, n)."""
    whole, loss = assembly(train), assembly(train, rubber=True).C
    excited = np.tile(torque[:, np.newaxis], (1, frequency.size))
    if not loss.any():
        return lambda: np.asarray(whole.ss_response(excited, frequency)[0].T)
    damping = whole.C
    return lambda: np.asarray(
        whole.ss_response(excited, frequency, C_func=lambda w: damping + loss / w)[0].T
    )


def train_answers(train: Train) -> Answers:
    """Return its natural frequencies, shapes, damping ratios and forced response."""
    whole = assembly(train)
    natural, shape = _modes(whole)
    swing = response(train, np.array(train.frequency), train.torque)()
    answers: Answers = {"natural": natural, "shape": shape, "response": pairs(swing)}
    damped = any(train.drag) or any(c or eta for *_, c, eta in train.shafts)
    if not damped:
        answers["shaft_torque"] = pairs(_torques(train, whole))
    elif all(k and not eta for _, _, k, _, eta in train.shafts):
        frequency, swung, ratio = whole.modal_analysis()
        swinging = swung > _STILL * frequency.max()
        answers["damping_ratio"] = ratio[swinging].tolist()
    return answers


def solid_answers(train: SolidTrain) -> Answers:
    """Return the natural frequencies with the shafts' own inertia, consistent with their twist."""
    ot = _library()
    shafts = [
        ot.Shaft(
            i, i + 1, 1e3 * each, 1e3 * train.diameter, G=train.shear_modulus, rho=train.density
        )
        for i, each in enumerate(train.length)
    ]
    disks = [ot.Disk(i, inertia) for i, inertia in enumerate(train.inertia)]
    return {"natural": _modes(ot.Assembly(shafts, disk_elements=disks))[0]}


def geared_answers(train: Train, *, ratio: float, inertia: float, stiffness: float) -> Answers:
    """Return the natural frequencies of a train that drives an accessory through gears.

    The gears have no inertia; the accessory's wheel turns at `ratio` times the first node's speed.
    """
    ot = _library()
    nodes = len(train.inertia)
    wheel = ot.Gear(0, 0.0, ratio)
    pinion = ot.Gear(nodes, 0.0, 1.0, parent=wheel)
    shafts = [ot.Shaft(i, j, k=k) for i, j, k, _, _ in train.shafts]
    shafts.append(ot.Shaft(nodes, nodes + 1, k=stiffness))
    disks = [ot.Disk(i, each) for i, each in enumerate(train.inertia)]
    disks.append(ot.Disk(nodes + 1, inertia))
    whole = ot.Assembly(shafts, disk_elements=disks, gear_elements=[wheel, pinion])
    return {"natural": _modes(whole)[0]}


def _modes(whole: Any) -> tuple[list[float], list[list[float]]]:  # noqa: ANN401
    squares, vectors = whole.undamped_modal_analysis()
    order = np.argsort(squares.real)
    frequency = np.sqrt(np.maximum(squares.real[order], 0.0))
    moving = frequency > _STILL * frequency[-1]
    shape = vectors.real.T[order][moving]
    peak = np.take_along_axis(shape, np.abs(shape).argmax(axis=1)[:, np.newaxis], axis=1)
    return frequency[moving].tolist(), (shape / peak).tolist()


def _torques(train: Train, whole: Any) -> Vectors:  # noqa: ANN401
    """Return the torques in the shafts, one frequency after the other."""
    ot, rows = _library(), []
    for w in train.frequency:
        driven = ot.PeriodicExcitation(len(train.inertia), np.array([w]))
        driven.U = train.torque[:, np.newaxis]
        rows.append(whole.vibratory_torque(driven)[0][:, 0])
    return np.array(rows)
