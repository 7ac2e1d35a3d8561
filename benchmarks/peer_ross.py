"""The shared models in ROSS (Apache-2.0), a finite-element library for rotors.

Its shaft elements have six degrees of freedom a node, twist among them. A lumped train is made of
discs on shaft elements of next to no density, each as long as its stiffness asks for.
"""

from __future__ import annotations

import contextlib
import importlib.util
import io
import warnings
from itertools import pairwise
from math import pi
from typing import Any

import numpy as np

from bedplate.physics.checks import Array
from bedplate.physics.rotor import Vectors
from benchmarks.peer_models import Answers, Rotor, SolidTrain, Train, corrections, pairs

NAME = "ross-rotordynamics"
BESIDE = ("plotly",)
INSTALLED = importlib.util.find_spec("ross") is not None

_DEGREES = 6
_TWIST = 5
_NEXT_TO_NOTHING = 1e-9
_DIAMETER, _MODULUS = 0.06, 8e10
_HELD = 1e9


def _library() -> Any:  # noqa: ANN401 - it ships no types
    with warnings.catch_warnings(), contextlib.redirect_stdout(io.StringIO()):
        warnings.simplefilter("ignore")
        import ross
    return ross


def line_of(train: Train) -> list[int]:
    """Return the nodes from end to end; ROSS has neither branches, drag nor loss factors here."""
    if any(train.drag) or any(eta for *_, eta in train.shafts):
        return []
    nodes = len(train.inertia)
    beside: dict[int, list[int]] = {node: [] for node in range(nodes)}
    for i, j, *_ in train.shafts:
        beside[i].append(j)
        beside[j].append(i)
    if any(len(each) > 2 for each in beside.values()):
        return []
    walk = [max(node for node, each in beside.items() if len(each) == 1)]
    while len(walk) < nodes:
        walk += [node for node in beside[walk[-1]] if node not in walk]
    return walk


def assembly(train: Train, line: list[int]) -> Any:  # noqa: ANN401 - it ships no types
    """Return the train as a rotor that is held sideways in stiff bearings."""
    ross = _library()
    light = ross.Material(name="light", rho=_NEXT_TO_NOTHING, E=2.5 * _MODULUS, G_s=_MODULUS)
    of = {frozenset(shaft[:2]): shaft[2:] for shaft in train.shafts}
    elements = []
    for place, (i, j) in enumerate(pairwise(line)):
        k, c, _ = of[frozenset((i, j))]
        elements.append(_element(ross, light, place, k, c))
    discs = [
        ross.DiskElement(n=place, m=1.0, Id=1.0, Ip=train.inertia[node])
        for place, node in enumerate(line)
    ]
    return ross.Rotor(elements, discs, _bearings(ross, len(line)))


def _element(ross: Any, light: Any, place: int, k: float, c: float) -> Any:  # noqa: ANN401
    if not k:  # a fluid alone
        held = dict.fromkeys(("kt_x", "kt_y", "kt_z", "kr_x", "kr_y"), _HELD)
        return ross.CouplingElement(
            m_l=0, m_r=0, Ip_l=0, Ip_r=0, cr_z=c, n=place, L=0.1, o_d=_DIAMETER, **held
        )
    long = _MODULUS * pi * _DIAMETER**4 / 32 / k
    return ross.ShaftElement(long, 0, _DIAMETER, material=light, beta=c / k, n=place)


def _bearings(ross: Any, nodes: int) -> list[Any]:  # noqa: ANN401
    return [
        ross.BearingElement(n=node, kxx=_HELD, kyy=_HELD, kzz=_HELD, cxx=0)
        for node in (0, nodes - 1)
    ]


def train_answers(train: Train) -> Answers:
    """Return natural frequencies, shapes, damping ratios, forced response; {} if it can't."""
    line = line_of(train)
    if not line:
        return {}
    back = np.argsort(line)
    still = Train(
        train.name,
        train.inertia,
        tuple((i, j, k, 0.0, eta) for i, j, k, _, eta in train.shafts),
        train.drag,
    )
    frequency, shape, _ = modes_of(assembly(still, line))
    answers: Answers = {"natural": frequency.tolist(), "shape": shape[:, back].tolist()}
    answers["response"] = pairs(response(train)[:, back])
    if any(c for *_, c, _ in train.shafts) and all(k for _, _, k, _, _ in train.shafts):
        answers["damping_ratio"] = modes_of(assembly(train, line))[2].tolist()
    return answers


def response(train: Train) -> Vectors:
    """Return the forced response along the line, rad, shape (f, n)."""
    line = line_of(train)
    rotor = assembly(train, line)
    frequency = np.array(train.frequency)
    force = np.zeros((rotor.ndof, frequency.size), dtype=np.complex128)
    force[_TWIST::_DEGREES] = train.torque[line][:, np.newaxis]
    found = rotor.run_forced_response(force=force, speed_range=frequency)
    return np.asarray(found.forced_resp[_TWIST::_DEGREES].T)


def modes_of(rotor: Any) -> tuple[Array, Array, Array]:  # noqa: ANN401
    """Return frequencies, shapes and damping ratios of the modes that are nothing but twist."""
    found = rotor.run_modal(0, num_modes=2 * rotor.ndof, sparse=False)
    rows = []
    for value, vector in zip(found.evalues, found.evectors.T, strict=True):
        moved = vector[: rotor.ndof].reshape(-1, _DEGREES)
        twist = moved[:, _TWIST]
        aside = np.abs(np.delete(moved, _TWIST, axis=1)).max()
        if value.imag > 1.0 and np.abs(twist).max() > 1e6 * aside:
            peak = twist[np.abs(twist).argmax()]
            rows.append((abs(value), (twist / peak).real, -value.real / abs(value)))
    rows.sort(key=lambda row: float(row[0]))
    frequency, shape, ratio = zip(*rows, strict=True)
    return np.array(frequency), np.array(shape), np.array(ratio)


def solid_answers(train: SolidTrain) -> Answers:
    """Return the natural frequencies with the shafts' own inertia, consistent with their twist."""
    ross = _library()
    steel = ross.Material(
        name="steel", rho=train.density, E=2.6 * train.shear_modulus, G_s=train.shear_modulus
    )
    elements = [ross.ShaftElement(each, 0, train.diameter, material=steel) for each in train.length]
    discs = [
        ross.DiskElement(n=node, m=1.0, Id=1.0, Ip=inertia)
        for node, inertia in enumerate(train.inertia)
        if inertia
    ]
    whole = ross.Rotor(elements, discs, _bearings(ross, len(train.inertia)))
    return {"natural": modes_of(whole)[0].tolist()}


def rotor_answers(rotor: Rotor) -> Answers:
    """Return readings at the pick-ups: as found, with each trial, and after our correction.

    Readings are across, in m; `reaction` is what each bearing carries, N.
    """
    whole = _rotor(rotor)
    initial = _readings(whole, rotor, rotor.unbalance)
    trials = [
        _readings(whole, rotor, (*rotor.unbalance, (plane, amount, angle)))
        for plane, (amount, angle) in zip(rotor.planes, rotor.trials, strict=True)
    ]
    answers: Answers = {"initial": pairs(initial), "trials": pairs(np.array(trials))}
    added = [
        (plane, float(abs(each)), float(np.angle(each)))
        for plane, each in zip(rotor.planes, corrections(rotor, answers), strict=True)
    ]
    answers["correction"] = [[amount, angle] for _, amount, angle in added]
    answers["corrected"] = pairs(_readings(whole, rotor, (*rotor.unbalance, *added)))
    answers["reaction"] = pairs(
        _readings(whole, rotor, rotor.unbalance, tuple(b[0] for b in rotor.bearings))
        * np.array([b[1] for b in rotor.bearings])
    )
    return answers


def _rotor(rotor: Rotor) -> Any:  # noqa: ANN401 - it ships no types
    ross = _library()
    steel = ross.Material(name="steel", rho=7850.0, E=2.1e11, G_s=8.1e10)
    elements = [ross.ShaftElement(each, 0, rotor.diameter, material=steel) for each in rotor.length]
    discs = [ross.DiskElement(n=n, m=m, Id=d, Ip=p) for n, m, d, p in rotor.discs]
    bearings = [
        ross.BearingElement(
            n=n, kxx=across, kyy=up, kxy=cross, kyx=-cross, cxx=c, cyy=c, kzz=_HELD, czz=0
        )
        for n, across, up, cross, c in rotor.bearings
    ]
    return ross.Rotor(elements, discs, bearings)


def _readings(
    whole: Any,  # noqa: ANN401 - it ships no types
    rotor: Rotor,
    unbalance: tuple[tuple[int, float, float], ...],
    at: tuple[int, ...] = (),
) -> Vectors:
    nodes, amounts, angles = (list(each) for each in zip(*unbalance, strict=True))
    found = whole.run_unbalance_response(nodes, amounts, angles, frequency=np.array([rotor.speed]))
    places = [_DEGREES * node for node in at or rotor.pick_ups]
    return np.asarray(found.forced_resp[places, 0])
