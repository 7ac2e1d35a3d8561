"""Torsion and two-plane correction against two general libraries.

openTorsion (MIT) 0.3.2 and ROSS (Apache-2.0) 2.3.0 were asked once, and what they answered is kept
in `peers/` with the models, the versions and the day: `python -m benchmarks.peers --write`. Where a
library is installed it is asked again.
"""

from __future__ import annotations

import json
from math import pi, sqrt
from pathlib import Path

import numpy as np
import pytest
from benchmarks import peer_opentorsion, peer_ross
from benchmarks.peer_models import (
    Rotor,
    SolidTrain,
    Train,
    alike,
    complexes,
    corrections,
    train_apart,
)

from bedplate.errors import InputError
from bedplate.physics.rotor import (
    correction_masses,
    influence_coefficients,
    move_to_planes,
    residual,
)
from bedplate.physics.torsion import holzer, modes, with_branch

LIBRARIES = (peer_opentorsion, peer_ross)
KEPT = {
    library.NAME: json.loads(
        (Path(__file__).parent / "peers" / f"{library.NAME}.json").read_text("utf-8")
    )
    for library in LIBRARIES
}
ROSS, OPENTORSION = KEPT[peer_ross.NAME], KEPT[peer_opentorsion.NAME]


def fixed(value):
    """Return what JSON read as lists as the tuples of a model."""
    return tuple(fixed(each) for each in value) if isinstance(value, list) else value


def made(kind, case):
    return kind(**{name: fixed(value) for name, value in case["model"].items()})


def cases(what, kind, libraries=LIBRARIES):
    return [
        pytest.param(library, made(kind, case), case["answers"], id=f"{library.NAME}-{number}")
        for library in libraries
        for number, case in enumerate(KEPT[library.NAME][what])
    ]


def asked_again(library):
    if not library.INSTALLED:
        pytest.skip(f"{library.NAME} IS NOT INSTALLED; its kept answers are held to all the same")


def test_each_library_answered_what_it_can():
    """ROSS knows neither branches, nor drag, nor loss factors."""
    assert len(OPENTORSION["trains"]) == 9
    assert len(ROSS["trains"]) == 6
    assert {len(each["solid_trains"]) for each in KEPT.values()} == {4}
    assert len(ROSS["rotors"]) == 4


@pytest.mark.parametrize(("library", "train", "answers"), cases("trains", Train))
def test_a_lumped_train_is_the_same(library, train, answers):
    """Frequencies, shapes, forced response, torque in the shafts: the same equations.

    Equal to 1e-13 with openTorsion, which lumps as we do; to 2e-11 with ROSS, whose shaft elements
    must have some density (1e-9 kg/m³) and carry five more degrees of freedom. Our damping ratios
    are right to first order, the libraries' exact: apart by twice the square of the greatest at
    most, and by more where a damper sits in one place, which couples the modes.
    """
    apart = train_apart(train, answers)
    ratios = apart.pop("damping ratios", 0.0)
    assert {"natural frequencies", "mode shapes", "forced response"} <= set(apart)
    assert max(apart.values()) < (1e-12 if library is peer_opentorsion else 1e-10)
    assert ratios < max(2.5 * max(answers.get("damping_ratio", [0.0])) ** 2, 1e-4)


@pytest.mark.parametrize("library", LIBRARIES)
def test_a_library_still_answers_so(library):
    asked_again(library)
    for _, train, answers in (case.values for case in cases("trains", Train, (library,))):
        again = library.train_answers(train)
        assert again.keys() == answers.keys()
        apart = train_apart(train, again)
        apart.pop("damping ratios", None)
        assert max(apart.values()) < 1e-9


@pytest.mark.parametrize(
    ("library", "train", "answers"),
    [
        case
        for case in cases("trains", Train)
        if all(j == i + 1 for i, j, *_ in case.values[1].shafts)
    ],
)
def test_holzers_residual_is_nil_at_a_librarys_frequency(library, train, answers):
    for frequency in answers["natural"]:
        _, torque = holzer(train.model, frequency)
        assert abs(torque[-1]) < 1e-9 * np.abs(torque).max()


def test_an_accessory_counts_with_the_square_of_its_speed():
    """openTorsion turns it through gears at 2.5 times the nose; we hang it on with i²J and i²k."""
    case = OPENTORSION["geared"]
    ratio, inertia, stiffness = (case["gears"][name] for name in ("ratio", "inertia", "stiffness"))
    model = with_branch(made(Train, case).model, 0, ratio**2 * inertia, ratio**2 * stiffness)
    assert modes(model).frequency == pytest.approx(case["answers"]["natural"], rel=1e-12)


@pytest.mark.parametrize(
    ("library", "train", "answers"),
    [case for case in cases("solid_trains", SolidTrain) if not any(case.values[1].inertia)],
)
def test_a_bar_lies_between_lumps_and_elements(library, train, answers):
    """Free ends: ω = nπ/L·√(G/ρ), Timoshenko, Vibration Problems in Engineering.

    Lumps come out low by (ka)²/24 (a part's length a, wave number k = nπ/L), elements whose inertia
    follows the twist high by as much; their mean is right to the fourth power.
    """
    length, part = sum(train.length), train.length[0]
    number = np.arange(1, 5)
    true = number * pi / length * sqrt(train.shear_modulus / train.density)
    ours, theirs = modes(train.model).frequency[:4], np.array(answers["natural"][:4])
    wave = number * pi * part / length
    assert 1 - ours / true == pytest.approx(wave**2 / 24, rel=0.04)
    assert theirs / true - 1 == pytest.approx(wave**2 / 24, rel=0.04)
    assert np.abs((ours + theirs) / (2 * true) - 1).max() < (wave**4).max() / 1000


@pytest.mark.parametrize("library", LIBRARIES)
def test_what_a_crank_loses_by_lumping(library):
    """Half of each shaft's inertia at either end: the first mode 0.07 % low, the last 3.7 %.

    A shaft in eight parts: a 64th of that, so both go to the same limit.
    """
    whole, eighths = (
        (made(SolidTrain, case).model, np.array(case["answers"]["natural"]))
        for case in KEPT[library.NAME]["solid_trains"]
        if "six" in case["model"]["name"]
    )
    apart = 1 - modes(whole[0]).frequency / whole[1]
    assert apart[0] == pytest.approx(7.1e-4, rel=0.01)
    assert apart.max() == pytest.approx(0.0366, rel=0.01)
    finer = 1 - modes(eighths[0]).frequency[:7] / eighths[1][:7]
    assert finer == pytest.approx(apart / 64, rel=0.07)


def test_the_two_libraries_say_the_same():
    for one, other in zip(OPENTORSION["solid_trains"], ROSS["solid_trains"], strict=True):
        assert one["model"] == other["model"]
        assert one["answers"]["natural"] == pytest.approx(other["answers"]["natural"], rel=1e-9)
    shapes = {case["model"]["name"]: case for case in OPENTORSION["trains"]}
    for case in ROSS["trains"]:
        found = modes(made(Train, case).model)
        other = shapes[case["model"]["name"]]
        assert alike(found, np.array(case["answers"]["shape"]))[1] == pytest.approx(
            alike(found, np.array(other["answers"]["shape"]))[1], abs=1e-9
        )


# ---- Balancing: ROSS turns the rotor, we read its pick-ups and correct it

ROTORS = cases("rotors", Rotor, (peer_ross,))


@pytest.mark.parametrize(("library", "rotor", "answers"), ROTORS)
def test_a_correction_stills_the_rotor(library, rotor, answers):
    """A shaft that bends, on bearings unlike each other and cross-coupled, near its resonance."""
    found = corrections(rotor, answers)
    told = np.array([amount * np.exp(1j * angle) for amount, angle in answers["correction"]])
    assert found == pytest.approx(told, rel=1e-9)  # what was put into the kept run
    left, initial = complexes(answers["corrected"]), complexes(answers["initial"])
    assert np.abs(left).max() < 1e-12 * np.abs(initial).max()


@pytest.mark.parametrize(
    ("library", "rotor", "answers"),
    [case for case in ROTORS if len(case.values[1].unbalance) == 2],
)
def test_a_correction_is_the_unbalance_turned_about(library, rotor, answers):
    true = np.array([amount * np.exp(1j * angle) for _, amount, angle in rotor.unbalance])
    assert corrections(rotor, answers) == pytest.approx(-true, rel=1e-10)


def test_the_rotor_is_stilled_anew():
    asked_again(peer_ross)
    for case in ROSS["rotors"]:
        answers = peer_ross.rotor_answers(made(Rotor, case))
        left, initial = complexes(answers["corrected"]), complexes(answers["initial"])
        assert np.abs(left).max() < 1e-12 * np.abs(initial).max()


def test_influence_coefficients_are_the_rotors_own():
    """Whatever it is unbalanced by, a trial mass does the same; equal readings, equal effect."""
    one, other = (
        influence_coefficients(
            complexes(case["answers"]["initial"]),
            complexes(case["answers"]["trials"]),
            made(Rotor, case).trial_vectors,
        )
        for case in ROSS["rotors"]
        if case["model"]["name"] in {"unbalanced in the planes", "unbalanced elsewhere"}
    )
    assert one == pytest.approx(other, rel=1e-9)


def test_far_below_its_resonance_a_rotor_obeys_statics():
    """Correction and bearing forces as `move_to_planes` has them; bending is 1e-5 of them."""
    case = next(c for c in ROSS["rotors"] if c["model"]["name"] == "far below its resonance")
    rotor, answers = made(Rotor, case), case["answers"]
    place = np.concatenate([[0.0], np.cumsum(rotor.length)])
    vectors = np.array([amount * np.exp(1j * angle) for _, amount, angle in rotor.unbalance])
    at = place[[node for node, *_ in rotor.unbalance]]
    planes = move_to_planes(vectors, at, *place[list(rotor.planes)])
    assert corrections(rotor, answers) == pytest.approx(-np.array(planes), rel=3e-5)
    bearings = move_to_planes(vectors, at, *place[[b[0] for b in rotor.bearings]])
    reaction = complexes(answers["reaction"])
    assert reaction == pytest.approx(np.array(bearings) * rotor.speed**2, rel=1e-4)
    force = residual(abs(vectors.sum()), 30.0, rotor.speed).force
    assert abs(reaction.sum()) == pytest.approx(force, rel=1e-4)


def test_the_same_trial_twice_is_refused():
    case = ROSS["rotors"][0]
    initial, trials = (complexes(case["answers"][name]) for name in ("initial", "trials"))
    mass = made(Rotor, case).trial_vectors[0]
    influence = influence_coefficients(initial, [trials[0], trials[0]], [mass, mass])
    with pytest.raises(InputError, match="linearly dependent"):
        correction_masses(initial, influence)
