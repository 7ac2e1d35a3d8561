"""How a rotor is corrected from trial runs: what to add or take away, where, and how deep."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees, isfinite, pi, tau

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.rotor import (
    Hole,
    correction_masses,
    drilled_hole,
    heavy_metal_length,
    influence_coefficients,
    split_into_angles,
)
from bedplate.quantity import Dimension, Units, parse, show

STEEL = "7850 kg/m³"
HEAVY_METAL = 17000.0
"""kg/m³: a usual tungsten alloy (common practice; the bar's own sheet comes first)."""

_SAME = 1e-6
"""rad: angles closer than this are one."""
_NOTHING = 1e-3
"""Share of a correction that nobody can weigh out."""


@dataclass(frozen=True, slots=True)
class Share:
    """What one angle takes of a correction.

    :param angle: at which the rotor is to become heavier, rad
    :param mass: at the radius of the trial masses, kg
    :param carries: a mass can be added there
    :param drilled: metal can be taken away opposite
    """

    angle: float
    mass: float
    carries: bool
    drilled: bool

    @property
    def opposite(self) -> float:
        """Return where metal is taken away instead, rad."""
        return (self.angle + pi) % tau


@dataclass(frozen=True, slots=True)
class Correction:
    """What to add in one plane.

    :param plane: its number, from 1
    :param amount: mass at the radius of the trial masses, kg
    :param angle: rad
    :param shares: at the angles that are there; one share at any angle where none were given
    :param lacking: why the angles that are there cannot hold it, '' if they can
    :param free: no angles were given
    """

    plane: int
    amount: float
    angle: float
    shares: tuple[Share, ...]
    lacking: str = ""
    free: bool = False


def two_plane_correction(
    initial: Sequence[str],
    trials: Sequence[Sequence[str]],
    masses: Sequence[str],
    carrying: Sequence[str] = (),
    drilling: Sequence[str] = (),
) -> tuple[Correction, ...]:
    """Return the masses to add in each plane, from readings and trial runs as typed.

    Taking away at an angle is adding opposite: where both can be done somewhere, the two nearest
    directions share a correction, whichever way each is reached.

    :param initial: reading of each pick-up, '7.2 @ 238 deg'
    :param trials: for the trial mass in each plane, the reading of each pick-up
    :param masses: the trial mass in each plane, '2.5 g @ 0 deg'; each taken off again
    :param carrying: angles that can carry a mass, a bare number in degrees
    :param drilling: angles at which metal can be taken away, likewise; neither given: any angle
    :raises InputError: a run lacks a reading, runs tell the planes not apart, or an angle repeats
    :source: influence coefficients (Goodman 1964); ISO 21940-1 for the terms
    """
    first = _run(initial, "The first run")
    runs = []
    for plane, run in enumerate(trials, 1):
        name = f"The trial run with the mass in plane {plane}"
        runs.append(_run(run, name))
        if len(runs[-1]) != len(first):
            raise InputError(
                f"{name} has {_readings(len(run))}, the first run {_readings(len(first))}.",
                hint="Give the reading of every pick-up in every run.",
            )
    weights = [_trial(text, plane) for plane, text in enumerate(masses, 1)]
    found = correction_masses(first, influence_coefficients(first, runs, weights))
    directions = _directions(
        _angles(carrying, "can carry a mass"), _angles(drilling, "can be drilled")
    )
    return tuple(_split(plane, complex(one), directions) for plane, one in enumerate(found, 1))


def _run(texts: Sequence[str], name: str) -> list[complex]:
    for pick_up, text in enumerate(texts, 1):
        if not text.strip():
            raise InputError(
                f"{name} lacks the reading of pick-up {pick_up}.",
                hint="Give the reading of every pick-up in every run.",
            )
    return [_reading(text) for text in texts]


def _readings(count: int) -> str:
    return f"{count} reading" if count == 1 else f"{count} readings"


_Directions = dict[float, tuple[bool, bool]]


def _angles(texts: Sequence[str], what: str) -> list[float]:
    angles: list[float] = []
    for text in texts:
        angle = parse(text, Dimension.ANGLE, default_unit="deg").value % tau
        if any(_apart(angle, other) < _SAME for other in angles):
            raise InputError(
                f"{angle_words(angle)} stands twice among the angles that {what}.",
                hint="Each angle must differ from the others.",
            )
        angles.append(angle)
    return angles


def _apart(one: float, other: float) -> float:
    return abs((one - other + pi) % tau - pi)


def _directions(carrying: Sequence[float], drilling: Sequence[float]) -> _Directions:
    """Return where the rotor can be made heavier: by adding there, by drilling opposite."""
    found: _Directions = dict.fromkeys(carrying, (True, False))
    for angle in drilling:
        turned = (angle + pi) % tau
        there = next((one for one in found if _apart(one, turned) < _SAME), turned)
        found[there] = (there in found, True)
    return found


def _split(plane: int, mass: complex, directions: _Directions) -> Correction:
    amount, angle = abs(mass), float(np.angle(mass)) % tau
    if not directions:
        anywhere = Share(angle, amount, carries=True, drilled=True)
        return Correction(plane, amount, angle, (anywhere,), free=True)
    try:
        parts = split_into_angles(mass, list(directions))
    except InputError as error:
        return Correction(plane, amount, angle, (), error.sentence)
    shares = []
    for at, part in parts:
        if part < _NOTHING * amount:
            continue
        there = min(directions, key=lambda one: _apart(one, at))
        shares.append(Share(at, float(part), *directions[there]))
    return Correction(plane, amount, angle, tuple(shares))


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
        value = float("nan")
    if not isfinite(value):
        raise InputError(
            f"'{' '.join(amount.split())[:40]}' is no reading.", hint="Write it as '7.2 @ 238 deg'."
        )
    return complex(value * np.exp(1j * angle))


def _trial(text: str, plane: int) -> complex:
    if not text.strip():
        raise InputError(f"The trial mass in plane {plane} is not given.")
    amount, angle = _parts(text, "a trial mass as '2.5 g @ 0 deg'")
    return complex(parse(amount, Dimension.MASS).value * np.exp(1j * angle))


@dataclass(frozen=True, slots=True)
class Metal:
    """What is drilled, and with what; the masses of a correction count at the trial masses' radius.

    :param drill: diameter of the hole, and of a slug of heavy metal, m
    :param size: the same as typed
    :param radius: of the surface, m
    :param density: of the material, kg/m³
    :param trial_radius: m; that of the surface where `assumed`
    :param slug_radius: of the axis of a slug that lies along the crank, m
    :param assumed: nobody said where the trial masses sat
    """

    drill: float
    size: str
    radius: float
    density: float
    trial_radius: float
    slug_radius: float
    assumed: bool


def read_metal(
    drill: str, radius: str, density: str = "", trial_radius: str = "", slug_radius: str = ""
) -> Metal | None:
    """Read what is drilled, as typed; None where nothing was.

    :raises InputError: drill or radius is missing, or the slug does not lie under the surface
    """
    if not (drill or radius or trial_radius or slug_radius):
        return None
    if not (drill and radius):
        raise InputError(
            "How deep to drill needs the drill and the radius of the surface.", hint="Give both."
        )
    size, surface = parse(drill, Dimension.LENGTH).value, parse(radius, Dimension.LENGTH).value
    arm = parse(trial_radius, Dimension.LENGTH).value if trial_radius else surface
    axis = parse(slug_radius, Dimension.LENGTH).value if slug_radius else surface - size
    if not (0 < size < surface and arm > 0):
        raise InputError("The drill is thinner than the radius, and no radius is nothing.")
    if not 0 < axis <= surface - size / 2:
        raise InputError(
            f"A slug of {drill} with its axis at {slug_radius} is not under a surface at {radius}."
        )
    heavy = parse(density or STEEL, Dimension.DENSITY).value
    return Metal(size, drill.strip(), surface, heavy, arm, axis, not trial_radius)


@dataclass(frozen=True, slots=True)
class Cut:
    """What a share comes to in metal.

    :param hole: None where metal cannot be taken away there, or no single hole takes so much
    :param slug: length of heavy metal, m; None where no mass can be added there
    :param lacking: why there is no hole, '' if there is one
    """

    hole: Hole | None
    slug: float | None
    lacking: str = ""


def cut_of(share: Share, metal: Metal) -> Cut:
    """Return the hole that takes a share away, and the slug that adds it."""
    unbalance = share.mass * metal.trial_radius
    hole, slug, lacking = None, None, ""
    if share.drilled:
        try:
            hole = drilled_hole(unbalance, metal.drill, metal.radius, metal.density)
        except InputError as error:
            lacking = f"{error.sentence} {error.hint}"
    if share.carries:
        slug = heavy_metal_length(
            unbalance, metal.drill, metal.slug_radius, metal.density, HEAVY_METAL
        )
    return Cut(hole, slug, lacking)


def angle_words(value: float) -> str:
    """Return an angle to a tenth of a degree."""
    return f"{degrees(value) % 360:.1f}°"


def _drilled(length: float, units: Units) -> str:
    """Return a length as finely as anybody drills."""
    return f"{length * 1e3:.1f} mm" if units is Units.METRIC else f"{length / 0.0254:.3f} in"


def _mass(value: float, units: Units) -> str:
    return show(value, Dimension.MASS, units, resolution=1e-6)


def metal_words(metal: Metal, units: Units) -> str:
    """Return at which radius the masses count, in a sentence."""
    arm = _drilled(metal.trial_radius, units)
    if metal.assumed:
        return (
            f"The masses count at {arm}: no radius is given for the trial masses, so they are taken"
            " to have sat on the surface that is drilled."
        )
    surface = _drilled(metal.radius, units)
    return f"The masses count at {arm}, where the trial masses sat; the surface is at {surface}."


def correction_lines(one: Correction, units: Units, metal: Metal | None = None) -> list[str]:
    """Return in words what to do in a plane, at the angles that are there, and with which metal."""
    here, opposite = angle_words(one.angle), angle_words(one.angle + pi)
    mass = _mass(one.amount, units)
    lines = [f"Plane {one.plane}: add {mass} at {here}, or take it away opposite, at {opposite}."]
    if one.lacking:
        return [*lines, f"? Plane {one.plane}: {one.lacking}"]
    if one.free and metal is None:
        return lines
    where = "" if one.free else ", at the angles that are there"
    for share in one.shares:
        deeds = "; or ".join(_deeds(share, units, metal))
        lines.append(f"Plane {one.plane}{where}: {deeds}.")
    return lines


def _deeds(share: Share, units: Units, metal: Metal | None) -> list[str]:
    mass = _mass(share.mass, units)
    cut = None if metal is None else cut_of(share, metal)
    found = []
    if share.drilled:
        deed = f"take away {mass} at {angle_words(share.opposite)}"
        found.append(deed + ("" if cut is None or metal is None else _hole(cut, metal, units)))
    if share.carries:
        deed = f"add {mass} at {angle_words(share.angle)}"
        found.append(deed + ("" if cut is None or metal is None else _slug(cut, metal, units)))
    return found


def _hole(cut: Cut, metal: Metal, units: Units) -> str:
    if cut.hole is None:
        return f" ({cut.lacking.rstrip('.')})"
    if cut.hole.depth == 0:
        return f", less than the point of a drill of {metal.size} takes; take a smaller one"
    deep, bottom, centre = (
        _drilled(one, units) for one in (cut.hole.depth, cut.hole.bottom, cut.hole.centre)
    )
    return (
        f": a hole of {metal.size}, {deep} deep at full diameter, its 118° point ending {bottom}"
        f" from the axis; {_mass(cut.hole.mass, units)} come out, centred {centre} from it"
    )


def _slug(cut: Cut, metal: Metal, units: Units) -> str:
    length, axis = _drilled(cut.slug or 0.0, units), _drilled(metal.slug_radius, units)
    return (
        f": a slug of heavy metal of {metal.size} (17 000 kg/m³), {length} long, lying along the"
        f" crank with its axis {axis} from the crank's, and pinned"
    )
