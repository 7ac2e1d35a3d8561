"""Models that Bedplate shares with general libraries, and how far two answers lie apart.

A peer's answers are kept as plain JSON beside the tests, so that every run is held to them without
the libraries. `python -m benchmarks.peers --write` asks the libraries anew.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np

from bedplate.physics.checks import Array
from bedplate.physics.crank_geometry import sector_inertia, shaft_stiffness
from bedplate.physics.crank_model import CrankEnds, RubberDamper, ViscousDamper, crank_model
from bedplate.physics.rotor import Vectors, correction_masses, influence_coefficients
from bedplate.physics.torsion import (
    Modes,
    TorsionalModel,
    modes,
    torsional_chain,
    with_branch,
)
from bedplate.physics.torsion_response import shaft_torque, steady_response

Answers = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Train:
    """Inertias and shafts, each shaft (node, node, N·m/rad, N·m·s/rad, loss factor)."""

    name: str
    inertia: tuple[float, ...]
    shafts: tuple[tuple[int, int, float, float, float], ...]
    drag: tuple[float, ...]
    frequency: tuple[float, ...] = ()
    """Driven at, rad/s."""

    @property
    def model(self) -> TorsionalModel:
        """The same in Bedplate: a chain, and what branches off it."""
        line = [shaft for shaft in self.shafts if shaft[1] == shaft[0] + 1]
        nodes = len(line) + 1
        _, _, stiffness, damping, loss = zip(*line, strict=True)
        model = torsional_chain(
            self.inertia[:nodes], stiffness, damping, loss, drag=self.drag[:nodes]
        )
        for (at, _, k, c, eta), inertia in zip(
            self.shafts[len(line) :], self.inertia[nodes:], strict=True
        ):
            model = with_branch(model, at, inertia, k, damping=c, loss=eta)
        return model

    @property
    def torque(self) -> Vectors:
        """What drives each node, N·m."""
        return np.asarray(100.0 * np.exp(0.7j * np.arange(len(self.inertia))))


@dataclass(frozen=True, slots=True)
class SolidTrain:
    """Inertias on round shafts of one material that have inertia of their own; SI units."""

    name: str
    inertia: tuple[float, ...]
    length: tuple[float, ...]
    diameter: float
    shear_modulus: float
    density: float

    @property
    def model(self) -> TorsionalModel:
        """The same in Bedplate: half of each shaft's inertia goes to either end."""
        stiffness = [
            float(shaft_stiffness(self.diameter, each, self.shear_modulus)) for each in self.length
        ]
        inertia = np.array(self.inertia)
        half = np.array(
            [
                0.5 * sector_inertia(self.diameter / 2, 0.0, 2 * np.pi, each, self.density)
                for each in self.length
            ]
        )
        inertia[:-1] += half
        inertia[1:] += half
        return torsional_chain(inertia, stiffness)


@dataclass(frozen=True, slots=True)
class Rotor:
    """A solid steel rotor in two bearings, and its unbalance; SI units, angles in rad."""

    name: str
    length: tuple[float, ...]
    diameter: float
    discs: tuple[tuple[int, float, float, float], ...]
    """Node, mass, diametral and polar inertia."""
    bearings: tuple[tuple[int, float, float, float, float], ...]
    """Node, stiffness across, stiffness upwards, cross stiffness, damping."""
    speed: float
    unbalance: tuple[tuple[int, float, float], ...]
    """Node, kg·m, angle."""
    planes: tuple[int, ...] = ()
    trials: tuple[tuple[float, float], ...] = ()
    """Unbalance (kg·m, angle) that is tried in each plane."""
    pick_ups: tuple[int, ...] = ()

    @property
    def trial_vectors(self) -> Vectors:
        """The trial masses as vectors, kg·m."""
        return np.array([amount * np.exp(1j * angle) for amount, angle in self.trials])


_ENDS = CrankEnds(nose=0.006, nose_stiffness=8e5, flywheel=0.15, flange_stiffness=2e6)
_THROW, _STIFFNESS = 0.012, 6.4e5


def trains() -> tuple[Train, ...]:
    """Return the lumped models, each with frequencies about its resonances."""
    return tuple(
        _driven(name, model)
        for name, model in {
            "two inertias": torsional_chain([0.02, 0.3], [5e4]),
            "three inertias": torsional_chain([5.0, 11.0, 22.0], [1e5, 2e5]),
            "straight six": _six(),
            "straight six, shafts damped": torsional_chain(
                _six().inertia, _six().stiffness, damping=2.0
            ),
            "straight six, damped to ground": _six(drag=0.8),
            "straight six, rubber damper": _six(
                RubberDamper(0.008, 0.008 * 1500.0**2, 0.2), drag=0.1
            ),
            "straight six, tuned ring with damping": with_branch(
                _six(), 0, 0.008, 0.008 * 1500.0**2, damping=3.0
            ),
            "straight six, viscous damper": _six(ViscousDamper(0.01, 9.0)),
            "straight six, a branch at the third throw": with_branch(
                _six(drag=0.1), 3, 0.004, 3e4, damping=0.5
            ),
        }.items()
    )


def _six(damper: RubberDamper | ViscousDamper | None = None, drag: float = 0.0) -> TorsionalModel:
    return crank_model([_THROW] * 6, _STIFFNESS, _ENDS, damper, drag=drag).model


def _driven(name: str, model: TorsionalModel) -> Train:
    natural = modes(model).frequency
    damped = bool(model.damping.any() or model.loss.any() or model.drag.any())
    at = np.concatenate(
        [natural[0] * np.array([0.3, 0.8, 0.98, 1.03]), natural[1:] * 0.98, natural[-1:] * 1.4]
    )
    driven = np.sort(np.concatenate([at, natural]) if damped else at)
    columns = (model.first, model.second, model.stiffness, model.damping, model.loss)
    shafts = zip(*(column.tolist() for column in columns), strict=True)
    return Train(
        name,
        tuple(model.inertia.tolist()),
        tuple(shafts),
        tuple(model.drag.tolist()),
        tuple(float(f"{each:.6g}") for each in driven),
    )


def solid_trains() -> tuple[SolidTrain, ...]:
    """Return shafts with inertia: a bar without anything on it, and a six on its journals."""
    steel = (0.06, 8e10, 7850.0)
    return (
        SolidTrain("bar in 16 parts", (0.0,) * 17, (0.05,) * 16, *steel),
        SolidTrain("bar in 32 parts", (0.0,) * 33, (0.025,) * 32, *steel),
        SolidTrain(
            "straight six on steel shafts",
            (0.006, *(_THROW,) * 6, 0.15),
            (0.14, *(0.16,) * 5, 0.11),
            *steel,
        ),
        SolidTrain(
            "straight six on steel shafts, each in eight",
            tuple(_between((0.006, *(_THROW,) * 6, 0.15))),
            tuple(np.repeat([0.14, *(0.16,) * 5, 0.11], 8) / 8),
            *steel,
        ),
    )


def _between(inertia: Sequence[float]) -> Iterator[float]:
    for each in inertia[:-1]:
        yield each
        yield from (0.0,) * 7
    yield inertia[-1]


def rotors() -> tuple[Rotor, ...]:
    """Return rotors to balance: unbalanced in the planes, elsewhere, and far below resonance."""
    discs = ((1, 9.0, 0.05, 0.09), (5, 14.0, 0.10, 0.18))
    soft = ((0, 4e7, 6e7, 5e6, 4e3), (6, 3e7, 5e7, -4e6, 3e3))
    rotor = Rotor(
        "unbalanced in the planes",
        (0.09,) * 6,
        0.06,
        discs,
        soft,
        520.0,
        ((1, 3.2e-4, 0.7), (5, 2.1e-4, -2.0)),
        (1, 5),
        ((2e-4, 0.3), (2.5e-4, 1.9)),
        (0, 6),
    )
    elsewhere = ((2, 1.5e-4, 2.6), (3, 2.5e-4, 0.4), (4, 1e-4, -0.9))
    rigid = ((0, 2e8, 2e8, 0.0, 0.0), (6, 2e8, 2e8, 0.0, 0.0))
    return (
        rotor,
        _changed(rotor, name="four pick-ups", pick_ups=(0, 2, 4, 6)),
        _changed(rotor, name="unbalanced elsewhere", unbalance=elsewhere),
        _changed(
            rotor, name="far below its resonance", unbalance=elsewhere, bearings=rigid, speed=8.0
        ),
    )


def _changed(rotor: Rotor, **facts: Any) -> Rotor:  # noqa: ANN401 - any field of the dataclass
    return Rotor(**(asdict(rotor) | facts))


@dataclass(slots=True)
class Apart:
    """Greatest relative differences, by what was compared."""

    greatest: dict[str, float] = field(default_factory=dict)

    def note(self, what: str, found: Array | Vectors, other: Array | Vectors) -> None:
        """Keep the greatest difference, against the greatest of each row."""
        mine, theirs = np.atleast_2d(found), np.atleast_2d(other)
        assert mine.shape == theirs.shape, what
        size = np.abs(theirs).max(axis=1)
        gap = float((np.abs(mine - theirs).max(axis=1) / size).max())
        self.greatest[what] = max(gap, self.greatest.get(what, 0.0))


def train_apart(train: Train, answers: Mapping[str, Any]) -> dict[str, float]:
    """Return how far Bedplate's answers on a train lie from a peer's."""
    apart, model = Apart(), train.model
    found = modes(model)
    apart.note("natural frequencies", found.frequency[:, None], column(answers["natural"]))
    apart.note("mode shapes", *alike(found, np.array(answers["shape"])))
    swing = steady_response(model, train.frequency, train.torque)
    apart.note("forced response", swing, complexes(answers["response"]))
    if "shaft_torque" in answers:
        inside = shaft_torque(model, swing, train.frequency)
        apart.note("torque in the shafts", inside, complexes(answers["shaft_torque"]))
    if "damping_ratio" in answers:
        apart.note("damping ratios", found.damping_ratio[:, None], column(answers["damping_ratio"]))
    return apart.greatest


def alike(found: Modes, shape: Array) -> tuple[Array, Array]:
    """Return both sets of shapes with the same node at 1."""
    peak = np.abs(found.shape).argmax(axis=1)[:, np.newaxis]
    return found.shape, shape / np.take_along_axis(shape, peak, axis=1)


def corrections(rotor: Rotor, answers: Mapping[str, Any]) -> Vectors:
    """Return what Bedplate puts into the planes after a peer's readings, kg·m."""
    initial, trials = complexes(answers["initial"]), complexes(answers["trials"])
    influence = influence_coefficients(initial, trials, rotor.trial_vectors)
    return correction_masses(initial, influence)


def column(numbers: object) -> Array:
    """Return a list as a column: each number is a row of its own."""
    return np.asarray(numbers, dtype=np.float64)[:, np.newaxis]


def pairs(vectors: Vectors) -> list[Any]:
    """Return complex numbers as JSON can hold them."""
    listed: list[Any] = np.stack([vectors.real, vectors.imag], axis=-1).tolist()
    return listed


def complexes(listed: object) -> Vectors:
    """Return them again."""
    parts = np.asarray(listed, dtype=np.float64)
    return np.asarray(parts[..., 0] + 1j * parts[..., 1])


def eight() -> Train:
    """Return the eight inertias at 7,200 frequencies that are timed, damped at shafts and nodes."""
    shafts = [(i, i + 1, 4e5 if i < 6 else 1.2e6, 3.0, 0.0) for i in range(7)]
    frequency = np.linspace(10, 12_000, 7200)
    return Train(
        "eight inertias",
        (*(0.012,) * 6, 0.25, 0.05),
        tuple(shafts),
        (0.5,) * 8,
        tuple(frequency.tolist()),
    )
