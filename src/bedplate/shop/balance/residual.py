"""What an unbalance means, and what a grade permits of it."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.engine import Engine
from bedplate.errors import InputError
from bedplate.physics.rotor import (
    Allocation,
    Residual,
    allocate,
    grade_within,
    permissible_residual,
    residual,
)
from bedplate.quantity import Dimension, Units, parse, show, show_both
from bedplate.shop.balance.bob_weight import Card, swapped
from bedplate.shop.balance.planes import planes_said
from bedplate.shop.duty.volumes import throw_of
from bedplate.shop.model import State


@dataclass(frozen=True, slots=True)
class Meaning:
    """What an unbalance means for a rotor at a speed.

    :param given: in all, kg·m; None: only what a grade permits is asked
    :param per_plane: it was given for each of two planes; both are taken as pointing one way
    :param found: None without an unbalance
    :param grade: finest grade of the standard that it keeps, mm/s; None above the coarsest
    :param asked: grade asked for, mm/s; None if none was
    :param permissible: for that grade, kg·m
    :param planes: its share for each bearing plane, None if not asked
    """

    given: float | None
    per_plane: bool
    mass: float
    speed: float
    found: Residual | None
    grade: float | None
    asked: float | None
    permissible: float | None
    planes: Allocation | None


def read_unbalance(text: str, *, per_plane: bool = False) -> tuple[float, bool]:
    """Read '0.1 oz·in per plane', '2 oz·in in total' or '2 oz·in', which is a total.

    :param per_plane: said besides that it is that of each plane
    :returns: kg·m as given, and whether it is that of each of two planes
    :raises InputError: it is no unbalance, or said to be both
    """
    amount, each = planes_said(text)
    if per_plane and each is False:
        raise InputError(f"'{' '.join(text.split())[:40]}' cannot be that of each plane as well.")
    value = parse(amount, Dimension.UNBALANCE).value
    if value < 0:
        sentence = f"'{' '.join(text.split())[:40]}' is below zero, and an unbalance is not."
        raise InputError(sentence, hint="Give its size; where it points goes into an angle.")
    return value, per_plane or each is True


def read_rotor(text: str, dimension: Dimension, name: str) -> float:
    """Read the mass or speed of a rotor, SI.

    :param name: what it is, for the sentence
    :raises InputError: it is no such quantity, or not above zero
    """
    value = parse(text, dimension).value
    if value <= 0:
        sentence = f"The rotor's {name} must be above zero, and is '{' '.join(text.split())[:40]}'."
        raise InputError(sentence, hint="Check number and sign.")
    return value


def meaning_of(
    unbalance: float | None,
    mass: float,
    speed: float,
    *,
    per_plane: bool = False,
    grade: float | None = None,
    planes: tuple[float, float] | None = None,
    centre: float | None = None,
) -> Meaning:
    """Return eccentricity, force, grade, and what a grade would permit.

    :param unbalance: kg·m; None: only what a grade permits is asked
    :param per_plane: it stands in each of two planes; both are taken as pointing one way
    :param mass: of the rotor, kg
    :param speed: rad/s
    :param grade: asked for, mm/s
    :param planes: positions of the bearing planes, m
    :param centre: of mass, m; None: midway
    :raises InputError: neither unbalance nor grade is given
    :source: ISO 21940-11
    """
    if unbalance is None and grade is None:
        raise InputError(
            "Neither an unbalance nor a grade is given.", hint="Give one of them, or both."
        )
    total = None if unbalance is None else unbalance * (2 if per_plane else 1)
    found = None if total is None else residual(total, mass, speed)
    permissible = permissible_residual(grade, mass, speed) if grade else None
    shares = None
    if permissible is not None and planes is not None:
        shares = allocate(permissible, *planes, sum(planes) / 2 if centre is None else centre)
    finest = None if found is None else grade_within(found.grade)
    return Meaning(total, per_plane, mass, speed, found, finest, grade or None, permissible, shares)


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


def residual_rows(found: Meaning, units: Units) -> tuple[tuple[str, str], ...]:
    """Return what an unbalance means, a line each: what, and how much with its unit."""
    return *_unbalance_rows(found, units), *_permitted_rows(found)


def _unbalance_rows(found: Meaning, units: Units) -> list[tuple[str, str]]:
    if found.given is None or found.found is None:
        return []
    each = "unbalance in each plane" if found.per_plane else "of it in each of two planes, if alike"
    rows = [("unbalance in all", every_unit(found.given)), (each, every_unit(found.given / 2))]
    off = show(found.found.eccentricity, Dimension.LENGTH, units, unit="µm")
    return [
        *(reversed(rows) if found.per_plane else rows),
        ("centre of mass off by", off),
        ("force at that speed", show_both(found.found.force, Dimension.FORCE, units)),
        ("e·ω", f"{found.found.grade:.3g} mm/s"),
        ("within grade", "none" if found.grade is None else f"G {found.grade:g}"),
    ]


def _permitted_rows(found: Meaning) -> list[tuple[str, str]]:
    if found.permissible is None:
        return []
    rows = [(f"permitted by G {found.asked:g} in all", every_unit(found.permissible))]
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
