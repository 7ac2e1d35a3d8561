"""Fits at running temperature: pistons in their bores, ring gaps, and bearings."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, pi

from bedplate.shop.duty.bearings import FilmBearing
from bedplate.shop.duty.given import Given, How, Value, labels

COLD = 293.15
"""K: ISO 1."""

_USUAL = {
    "bore": (110.0, "a usual cylinder wall at full load; common practice, no source"),
    "piston": (115.0, "a usual skirt at full load; common practice, no source"),
    "ring": (180.0, "a usual top ring at full load; common practice, no source"),
    "block": (100.0, "a usual block at full load; common practice, no source"),
}


@dataclass(frozen=True, slots=True)
class HotFit:
    """A fit cold and at running temperature, m.

    :param per_kelvin: what one kelvin more of the inner part changes, m/K
    :param sources: (what, Value) of each figure that went in
    """

    name: str
    cold: Value
    hot: float
    standard: float
    per_kelvin: float
    sources: tuple[tuple[str, Value], ...]


def hot_fits(
    given: Given, bearings: tuple[FilmBearing, ...] = ()
) -> tuple[tuple[HotFit, ...], tuple[str, ...]]:
    """Return the fits at running temperature, and what could not be told.

    Plain linear expansion from 20 °C (ISO 1) of round parts at one temperature each: a skirt is
    neither, so its figure compares choices and no more. A ring's gap closes by its own growth round
    the bore and opens by the bore's.
    """
    found: list[HotFit] = []
    unknown: list[str] = []
    for label in labels(given.engine):
        for made in (_piston(given, label), *_rings(given, label)):
            if isinstance(made, HotFit):
                found.append(made)
            elif made:
                unknown.append(made)
    found += [hot for one in bearings if (hot := _bearing(one)) is not None]
    unknown += _grips(given, bearings)
    return tuple(found), tuple(dict.fromkeys(unknown))


def temperature(given: Given, part: str) -> Value:
    """Return the running temperature of a part, K, estimated where the file does not say it."""
    usual, why = _USUAL[part]
    return given.sure(f"temperatures.{part}", usual + 273.15, why)


def _piston(given: Given, label: str) -> HotFit | str:
    cold = given.fit(f"piston-clearance-{label}")
    bore = given.size(f"cylinder-bore-{label}")
    if cold is None or bore is None:
        return "Pistons in their bores: the file gives no limits for piston clearance."
    around = given.expansion(f"cylinder-bore-{label}")
    inside = given.expansion(f"piston-{label}")
    if around is None or inside is None:
        return "Pistons in their bores: the expansion of block or piston is not known."
    wall, skirt = temperature(given, "bore"), temperature(given, "piston")
    grown = bore.value * around.value * (wall.value - COLD)
    taken = (bore.value - cold.value) * inside.value * (skirt.value - COLD)
    standard = hypot(
        cold.standard,
        bore.value * around.standard * (wall.value - COLD),
        bore.value * inside.standard * (skirt.value - COLD),
    )
    return HotFit(
        name=f"piston {label} in its bore",
        cold=cold,
        hot=cold.value + grown - taken,
        standard=standard,
        per_kelvin=-bore.value * inside.value,
        sources=(
            ("cold clearance", cold),
            ("bore", bore),
            ("wall temperature", wall),
            ("skirt temperature", skirt),
            ("expansion of the block", around),
            ("expansion of the piston", inside),
        ),
    )


def _rings(given: Given, label: str) -> list[HotFit | str]:
    return [_ring(given, ring, label) for ring in ("top-ring", "second-ring")]


def _ring(given: Given, ring: str, label: str) -> HotFit | str:
    cold = given.fit(f"{ring}-gap-{label}")
    bore = given.size(f"cylinder-bore-{label}")
    around = given.expansion(f"cylinder-bore-{label}")
    material = given.material("ring")
    words = ring.replace("-", " ")
    if cold is None or bore is None:
        return ""
    if around is None or material is None:
        return f"Gap of the {words}: the expansion of block or ring is not known."
    wall, hot = temperature(given, "bore"), temperature(given, "ring")
    change = (
        pi * bore.value * (around.value * (wall.value - COLD) - material.value * (hot.value - COLD))
    )
    standard = hypot(cold.standard, pi * bore.value * material.standard * (hot.value - COLD))
    return HotFit(
        name=f"{words} gap, cylinder {label}",
        cold=cold,
        hot=cold.value + change,
        standard=standard,
        per_kelvin=-pi * bore.value * material.value,
        sources=(
            ("cold gap", cold),
            ("bore", bore),
            ("wall temperature", wall),
            ("ring temperature", hot),
            ("expansion of the block", around),
            ("expansion of the ring", material),
        ),
    )


def _grips(given: Given, bearings: tuple[FilmBearing, ...]) -> list[str]:
    """Return what heat changes of the press of the shells in their housings.

    The press itself is not measurable on the bench and not in the file: only its change is told.
    """
    said = []
    for kind in ("main", "rod"):
        one = next((b for b in bearings if b.kind == kind), None)
        housing = given.size(f"{kind}-housing-{one.number}") if one is not None else None
        if one is None or housing is None or one.bearing.expansion is None:
            continue
        growth = one.bearing.expansion
        warm = growth.housing_temperature or one.bearing.supply.temperature
        inner = one.bearing.supply.temperature
        opens = growth.housing * (warm - COLD) - growth.shell * (inner - COLD)
        change = housing.value * opens * 1e6
        word = f"loses {change:.0f} µm" if change > 0 else f"gains {-change:.0f} µm"
        said.append(
            f"Press of the {kind} shells in their housing: the crush is not known; hot, it {word}"
            f" on the diameter, with the shells at {inner - 273.15:.0f} °C."
        )
    return said


def _bearing(one: FilmBearing) -> HotFit | None:
    from bedplate.physics.film import hot_clearance

    growth = one.bearing.expansion
    if growth is None:
        return None
    supply = one.bearing.supply.temperature
    shape = one.bearing.shape
    hot = hot_clearance(shape, growth, supply, supply)
    warm = [
        (f"{part} temperature", Value(value, "engine file or estimate", How.FILE))
        for part, value in (
            ("housing", growth.housing_temperature),
            ("journal", growth.journal_temperature),
        )
        if value is not None
    ]
    return HotFit(
        name=f"{one.name} clearance, shell as warm as the oil supplied",
        cold=one.clearance,
        hot=hot,
        standard=one.clearance.standard,
        per_kelvin=-shape.diameter * growth.journal,
        sources=(("cold clearance", one.clearance), *warm),
    )
