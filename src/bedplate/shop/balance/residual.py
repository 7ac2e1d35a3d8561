"""What an unbalance means, whether a shop's card adds up, and how a rotor is corrected."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees

import numpy as np

from bedplate.engine import Engine
from bedplate.engine.balancing import CRANK
from bedplate.engine.duty import Figure
from bedplate.errors import InputError
from bedplate.physics.rotor import (
    Allocation,
    Residual,
    allocate,
    correction_masses,
    drilling_depth,
    grade_within,
    heavy_metal_length,
    influence_coefficients,
    permissible_residual,
    residual,
    split_into_angles,
)
from bedplate.quantity import Dimension, Units, parse, show, show_both
from bedplate.record.entries import BalanceCardTaken
from bedplate.shop.balance.bob_weight import Card, swapped
from bedplate.shop.balance.weights import COVERAGE
from bedplate.shop.duty.volumes import throw_of
from bedplate.shop.model import State

STEEL = 7850.0
HEAVY_METAL = 17000.0
"""kg/m³: a usual tungsten alloy (common practice; the bar's own sheet comes first)."""

_ROUNDED = 0.5e-3
"""kg: a card's total is printed to a gram."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """What an unbalance means for a rotor at a speed.

    :param given: kg·m
    :param grade: finest grade of the standard that it keeps, mm/s; None above the coarsest
    :param permissible: for the grade asked for, kg·m; None if none was
    :param planes: its share for each bearing plane, None if not asked
    """

    given: float
    mass: float
    speed: float
    found: Residual
    grade: float | None
    permissible: float | None
    planes: Allocation | None


def meaning_of(
    unbalance: float,
    mass: float,
    speed: float,
    *,
    grade: float | None = None,
    planes: tuple[float, float] | None = None,
    centre: float | None = None,
) -> Meaning:
    """Return eccentricity, force, grade, and what a grade would permit.

    :param unbalance: kg·m
    :param mass: of the rotor, kg
    :param speed: rad/s
    :param grade: asked for, mm/s
    :param planes: positions of the bearing planes, m
    :param centre: of mass, m; None: midway
    :source: ISO 21940-11
    """
    found = residual(unbalance, mass, speed)
    permissible = permissible_residual(grade, mass, speed) if grade else None
    shares = None
    if permissible is not None and planes is not None:
        shares = allocate(permissible, *planes, sum(planes) / 2 if centre is None else centre)
    return Meaning(unbalance, mass, speed, found, grade_within(found.grade), permissible, shares)


def bearing_planes(engine: Engine, state: State | None = None) -> tuple[float, float] | None:
    """Return the bearing planes: those of the file, else the outermost mains; None if not known."""
    from bedplate.shop.duty.given import Given
    from bedplate.shop.duty.train import crank_train

    if engine.balancing.planes is not None:
        return engine.balancing.planes
    try:
        mains = crank_train(Given(engine, state)).mains
    except InputError:
        return None
    return (mains[0], mains[-1]) if len(mains) > 1 else None


def shares_of(engine: Engine, permissible: float, state: State | None = None) -> Allocation | None:
    """Return how much may be left in each bearing plane; None where they are not known.

    :param permissible: in all, kg·m
    :source: ISO 21940-11, as `bedplate.physics.rotor.allocate`
    """
    planes = bearing_planes(engine, state)
    if planes is None:
        return None
    centre = engine.balancing.figure("balance.centre")
    return allocate(permissible, *planes, sum(planes) / 2 if centre is None else centre.value)


@dataclass(frozen=True, slots=True)
class Remark:
    """Something about a shop's card.

    :param fine: nothing stands against it
    """

    fine: bool
    sentence: str


def check_card(
    engine: Engine, given: BalanceCardTaken, card: Card | None, units: Units
) -> tuple[Remark, ...]:
    """Return what is right and what is wrong with a shop's card.

    :param card: what the bob-weight should be
    """
    return (
        *_check_sum(given, units),
        *_check_bob_weight(given, card, units),
        *_check_residual(engine, given, units),
        *_check_parts(engine, given),
    )


def _mass(value: float, units: Units) -> str:
    return show(value, Dimension.MASS, units)


def _check_sum(given: BalanceCardTaken, units: Units) -> tuple[Remark, ...]:
    if not given.lines:
        return (Remark(False, "The card gives no lines, so its sum cannot be checked."),)
    if given.bob_weight is None:
        return (Remark(False, "The card gives lines and no total."),)
    total = sum(line.value.si * line.times for line in given.lines)
    off = given.bob_weight.si - total
    lines = " + ".join(f"{line.times:g} × {line.value.text}" for line in given.lines)
    if abs(off) > _ROUNDED * max(1.0, len(given.lines) / 4):
        return (
            Remark(
                False,
                f"The lines add up to {_mass(total, units)}, not to {given.bob_weight.text}: "
                f"{_mass(abs(off), units)} too {'much' if off > 0 else 'little'}.",
            ),
        )
    return (Remark(True, f"The lines add up: {lines} = {_mass(total, units)}."),)


def _check_bob_weight(
    given: BalanceCardTaken, card: Card | None, units: Units
) -> tuple[Remark, ...]:
    if given.bob_weight is None or card is None:
        return ()
    if not card.needed:
        return (Remark(False, f"The card hangs bob-weights on this crank. {card.why}"),)
    if not card.throws:
        return ()
    wanted = [throw.bob_weight for throw in card.throws]
    worst = max(
        wanted, key=lambda value: abs(value - given.bob_weight.si if given.bob_weight else 0)
    )
    unsure = COVERAGE * max(throw.standard for throw in card.throws)
    off = given.bob_weight.si - worst
    allowed = max(unsure, _ROUNDED)
    fine = abs(off) <= allowed
    told = (
        f"From the weights known here a throw's bob-weight is {_mass(worst, units)} "
        f"± {_mass(unsure, units)}; the card has {given.bob_weight.text}"
    )
    way = "heavy" if off > 0 else "light"
    return (Remark(fine, f"{told}." if fine else f"{told}: {_mass(abs(off), units)} {way}."),)


def _check_residual(engine: Engine, given: BalanceCardTaken, units: Units) -> tuple[Remark, ...]:
    if not given.residual:
        return (Remark(False, "The card gives no residual unbalance."),)
    total = sum(plane.amount.si for plane in given.residual)
    mass = given.mass.si if given.mass else engine.balancing.value("balance.crank_mass")
    top = engine.duty.speed
    speed = given.speed.si if given.speed else (top.value if top else 0.0)
    if not mass or not speed:
        what = "the crank's mass" if not mass else "a speed"
        return (Remark(False, f"Without {what} the residual has no grade."),)
    meant = residual(total, mass, speed)
    finest = grade_within(meant.grade)
    at = show(speed, Dimension.ROTATION, units)
    told = (
        f"The residual, all planes taken as pointing one way, is {meant.grade:.3g} mm/s at {at}"
        f"{'' if finest is None else f', within G {finest:g}'}"
    )
    asked = given.grade or engine.balancing.grade
    if asked is None:
        return (Remark(True, f"{told}. No grade was asked for."),)
    who = "the card claims" if given.grade else "was asked for"
    if meant.grade > asked:
        return (Remark(False, f"{told}; {who} G {asked:g}, which it does not keep."),)
    return (Remark(True, f"{told}; {who} G {asked:g}."),)


def _check_parts(engine: Engine, given: BalanceCardTaken) -> tuple[Remark, ...]:
    said = engine.balancing
    absent = [part for part in said.weighted if part not in given.on_crank]
    unknown = [part for part in given.on_crank if part not in said.turning]
    found = []
    if absent:
        names = ", ".join(absent)
        sentence = f"Part of this crank's balance sits in the {names}, not on it when it was done."
        found.append(Remark(False, sentence))
    if unknown:
        sentence = f"On the crank was '{', '.join(unknown)}', which the engine file does not name."
        found.append(Remark(False, sentence))
    left = [p for p in said.turning if p not in given.on_crank and p != CRANK]
    if left:
        found.append(
            Remark(True, f"Not on the crank, and still to be balanced: {', '.join(left)}.")
        )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Correction:
    """What to add in one plane.

    :param amount: mass, kg
    :param angle: rad
    :param parts: (angle, mass) at angles that are there, rad and kg; empty if none were given
    :param taking: the parts are to be taken away at those angles, not added
    """

    amount: float
    angle: float
    parts: tuple[tuple[float, float], ...]
    taking: bool = False


def two_plane_correction(
    initial: Sequence[str],
    trials: Sequence[Sequence[str]],
    masses: Sequence[str],
    available: Sequence[str] = (),
    *,
    taking: bool = False,
) -> tuple[Correction, ...]:
    """Return the masses to add in each plane, from readings and trial runs as typed.

    :param initial: reading of each pick-up, '7.2 @ 238 deg'
    :param trials: for the trial mass in each plane, the reading of each pick-up
    :param masses: the trial mass in each plane, '2.5 g @ 0 deg'; each taken off again
    :param available: angles that can carry a mass, a bare number in degrees
    :param taking: they are angles at which metal can be taken away
    :source: influence coefficients (Goodman 1964); ISO 21940-1 for the terms
    """
    first = [_reading(text) for text in initial]
    runs = [[_reading(text) for text in run] for run in trials]
    weights = [_trial(text) for text in masses]
    found = correction_masses(first, influence_coefficients(first, runs, weights))
    angles = [parse(text, Dimension.ANGLE, default_unit="deg").value for text in available]
    return tuple(
        Correction(
            abs(mass), float(np.angle(mass)) % (2 * np.pi),
            split_into_angles(complex(-mass if taking else mass), angles) if angles else (),
            taking,
        )
        for mass in found
    )  # fmt: skip


def _parts(text: str, what: str) -> tuple[str, float]:
    amount, mark, angle = text.partition("@")
    if not mark:
        raise InputError(
            f"'{' '.join(text.split())[:40]}' has no angle.",
            hint=f"Write {what}, with @ between them.",
        )
    return amount.strip(), parse(angle.strip(), Dimension.ANGLE, default_unit="deg").value


def _reading(text: str) -> complex:
    amount, angle = _parts(text, "a reading as '7.2 @ 238 deg'")
    try:
        value = float(amount.replace(",", "."))
    except ValueError:
        raise InputError(
            f"'{' '.join(amount.split())[:40]}' is no reading.", hint="Write it as '7.2 @ 238 deg'."
        ) from None
    return complex(value * np.exp(1j * angle))


def _trial(text: str) -> complex:
    amount, angle = _parts(text, "a trial mass as '2.5 g @ 0 deg'")
    return complex(parse(amount, Dimension.MASS).value * np.exp(1j * angle))


def _drilled(length: float, units: Units) -> str:
    """Return a length as finely as anybody drills."""
    return f"{length * 1e3:.1f} mm" if units is Units.METRIC else f"{length / 0.0254:.3f} in"


def hole_words(unbalance: float, drill: float, radius: float, density: float, units: Units) -> str:
    """Return how deep to drill to take an unbalance away, in words.

    :param unbalance: kg·m
    :param drill: diameter, m
    :param radius: of the surface, m
    :param density: of the material, kg/m³
    """
    depth = drilling_depth(unbalance, drill, radius, density)
    size = _drilled(drill, units)
    if depth == 0:
        return f"less than the point of a drill of {size} takes; take a smaller one"
    length = _drilled(depth, units)
    return f"a hole of {size}, {length} deep at full diameter, with a 118° point below"


def slug_words(unbalance: float, drill: float, radius: float, density: float, units: Units) -> str:
    """Return how long a slug of heavy metal adds an unbalance, in words; measures as `hole_words`.

    It lies along the crank, its axis a diameter under the surface.
    """
    slug = heavy_metal_length(unbalance, drill, radius - drill, density, HEAVY_METAL)
    bar = _drilled(slug, units)
    size = _drilled(drill, units)
    return (
        f"a slug of heavy metal of {size} (17 000 kg/m³), {bar} long, lying along the crank and "
        "pinned"
    )


@dataclass(frozen=True, slots=True)
class Metal:
    """What is drilled, and with what; a correction's masses count at the trial masses' radius.

    :param drill: diameter, m
    :param radius: of the surface, m
    :param density: of the material, kg/m³
    :param trial_radius: m; that of the surface if not given
    """

    drill: float
    radius: float
    density: float
    trial_radius: float | None = None


def metal_lines(plane: int, one: Correction, metal: Metal, units: Units) -> list[str]:
    """Return how deep to drill, or how long a slug of heavy metal is, at each angle."""
    arm = metal.radius if metal.trial_radius is None else metal.trial_radius
    lines = []
    for angle, mass in one.parts or ((one.angle, one.amount),):
        with_metal = mass * arm, metal.drill, metal.radius, metal.density, units
        drilled = angle if one.taking and one.parts else (angle + np.pi) % (2 * np.pi)
        line = f"Plane {plane}, take away at {angle_words(drilled)}: {hole_words(*with_metal)}"
        if not (one.taking and one.parts):
            line += f"; or add at {angle_words(angle)}: {slug_words(*with_metal)}"
        lines.append(f"{line}.")
    return lines


def angle_words(value: float) -> str:
    """Return an angle to a tenth of a degree."""
    return f"{degrees(value):.1f}°"


def read_grade(text: str) -> float | None:
    """Read 'G 16' or '16'; None for nothing.

    :raises InputError: it is no grade
    """
    plain = text.strip().removeprefix("G").strip()
    if not plain:
        return None
    try:
        grade = float(plain.replace(",", "."))
    except ValueError:
        grade = 0.0
    if not 0 < grade <= 4000:
        sentence = f"'{' '.join(text.split())[:40]}' is no balance quality grade."
        raise InputError(sentence, hint="Write it as 'G 16'.")
    return grade


def every_unit(unbalance: float) -> str:
    """Return an unbalance in the three units that cards are written in."""
    return " = ".join(
        show(unbalance, Dimension.UNBALANCE, Units.METRIC, unit=unit)
        for unit in ("g·mm", "g·in", "oz·in")
    )


def residual_rows(
    unbalance: float | None,
    mass: float,
    speed: float,
    grade: float | None,
    planes: tuple[float, float] | None,
    centre: Figure | None,
    units: Units,
    *,
    per_plane: bool = False,
) -> tuple[tuple[str, str], ...]:
    """Return what an unbalance means, a line each: what, and how much with its unit.

    :param unbalance: kg·m; None: only what a grade permits is asked
    :param per_plane: it stands in each of two planes; both are taken as pointing one way
    :param mass: of the rotor, kg
    :param speed: rad/s
    :param grade: asked for, mm/s
    :raises InputError: neither unbalance nor grade is given
    """
    if unbalance is None and grade is None:
        raise InputError(
            "Neither an unbalance nor a grade is given.", hint="Give one of them, or both."
        )
    total = (unbalance or 0.0) * (2 if per_plane else 1)
    at = centre.value if centre else None
    found = meaning_of(total, mass, speed, grade=grade, planes=planes, centre=at)
    return (
        *(_unbalance_rows(found, unbalance, units, per_plane=per_plane) if unbalance else ()),
        *_permitted_rows(found, grade),
    )


def _unbalance_rows(
    found: Meaning, unbalance: float, units: Units, *, per_plane: bool
) -> list[tuple[str, str]]:
    each = [("unbalance in each plane", every_unit(unbalance))] if per_plane else []
    off = show(found.found.eccentricity, Dimension.LENGTH, units, unit="µm")
    return [
        *each,
        ("unbalance in all", every_unit(found.given)),
        ("centre of mass off by", off),
        ("force at that speed", show_both(found.found.force, Dimension.FORCE, units)),
        ("e·ω", f"{found.found.grade:.3g} mm/s"),
        ("within grade", "none" if found.grade is None else f"G {found.grade:g}"),
    ]


def _permitted_rows(found: Meaning, grade: float | None) -> list[tuple[str, str]]:
    if found.permissible is None:
        return []
    rows = [(f"permitted by G {grade:g} in all", every_unit(found.permissible))]
    if found.planes is None:
        half = every_unit(found.permissible / 2)
        rows.append(("of it in each of two planes", f"{half}, if both bear the same"))
    else:
        for name, share in (("plane A", found.planes.plane_a), ("plane B", found.planes.plane_b)):
            rows.append((f"of it in {name}", every_unit(share)))
    return rows


def swap_rows(
    engine: Engine, card: Card, part: str, text: str, units: Units
) -> tuple[tuple[str, str], ...]:
    """Return what one part that differs changes: at its throw, and in the balance of the crank.

    The crank is then out at that throw by what its counterweights do not stand for.

    :param text: by how much it is heavier, as typed
    :raises InputError: no such part is in the sum, or it is no weight
    """
    moved = swapped(card, part, parse(text, Dimension.MASS).value)
    out = abs(moved) * throw_of(engine)
    rows = [
        (
            f"one {part} that differs by {text.strip()} moves its throw's bob-weight by",
            show(moved, Dimension.MASS, units, signed=True),
        ),
        ("balanced as before, the crank is then out at that throw by", every_unit(out)),
    ]
    said, top = engine.balancing, engine.duty.speed
    mass = said.value("balance.crank_mass")
    if mass and top is not None and said.grade:
        most = permissible_residual(said.grade, mass, top.value)
        rows.append((f"of what G {said.grade:g} permits, that is", f"{out / most:.0%}"))
    return tuple(rows)


def correction_lines(plane: int, one: Correction, units: Units) -> list[str]:
    """Return in words what to add in a plane, and at which of the angles that are there."""
    mass = show(one.amount, Dimension.MASS, units, resolution=1e-6)
    lines = [f"Plane {plane}: add {mass} at {angle_words(one.angle)}, or take it away opposite."]
    for angle, part in one.parts:
        share = show(part, Dimension.MASS, units, resolution=1e-6)
        deed = "take away" if one.taking else "add"
        lines.append(
            f"Plane {plane}, at the angles that are there: {deed} {share} at {angle_words(angle)}."
        )
    return lines
