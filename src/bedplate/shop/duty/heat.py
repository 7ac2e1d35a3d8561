"""Fits at running temperature: pistons in their bores, ring gaps, presses, and bearings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, pi

from bedplate.engine import Fit
from bedplate.physics.film import hot_clearance
from bedplate.physics.press import STEEL_MODULUS, contact_pressure
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.duty.bearings import FilmBearing, housing_of
from bedplate.shop.duty.given import Given, How, Value, labels

COLD = 293.15
"""K: ISO 1."""

_USUAL = {
    "bore": (110.0, "a usual cylinder wall at full load; common practice, no source"),
    "piston": (115.0, "a usual skirt at full load; common practice, no source"),
    "ring": (180.0, "a usual top ring at full load; common practice, no source"),
}
_ABOVE_THE_OIL = {"block": 8.0, "rod": 8.0, "crank": 12.0}
"""K: how much warmer than the oil supplied these run. Common practice, no source."""
_PRESS = "interference"
_NOTHING = {
    "clearance": "no clearance is left when hot, by this estimate",
    "gap": "its ends meet when hot, by this estimate",
    "press": "nothing of the press is left when hot, by this estimate",
}


@dataclass(frozen=True, slots=True)
class HotFit:
    """A fit cold and at running temperature, m.

    :param kin: what it is one of many of, with its number; '' where it is alone
    :param kind: 'clearance', 'gap', or 'press', which is positive where the parts overlap
    :param standard: standard uncertainty of the hot value, from the cold one and the expansions;
        that of the temperatures is nobody's to know, see `per_kelvin`
    :param per_kelvin: what one kelvin more of the inner part changes, m/K
    :param pressure: the most that the parts can press on each other, cold and hot, Pa; None where
        it is not known
    :param sources: (what, Value) of each figure that went in
    :param note: what the figure is of, where its name does not say it
    """

    name: str
    kin: tuple[str, str]
    kind: str
    cold: Value
    hot: float
    standard: float
    per_kelvin: float
    sources: tuple[tuple[str, Value], ...]
    pressure: tuple[float, float] | None = None
    note: str = ""

    def says(self, units: Units) -> str:
        """Return what a person has to know, '' where the figure says it all."""
        if self.hot <= 0:
            return _NOTHING[self.kind]
        if self.pressure is None:
            return self.note
        cold, hot = (_pressing(one, units) for one in self.pressure)
        return f"presses with {cold} cold and {hot} hot, at most: the housing gives too"

    def warm(self, units: Units) -> str:
        """Return each temperature, with whether it is given or estimated."""
        return "; ".join(
            f"{name.removesuffix(' temperature')}"
            f" {show(one.value, Dimension.TEMPERATURE, units, uncertainty=1.0)}, {one.how.value}"
            for name, one in self.sources
            if name.endswith(" temperature")
        )


def alike(fits: Sequence[HotFit], units: Units) -> list[tuple[str, HotFit]]:
    """Return one of each of those that print the same, named for all of them."""
    groups: dict[tuple[str, ...], list[HotFit]] = {}
    for fit in fits:
        told = (
            show(value, Dimension.LENGTH, units, uncertainty=1e-6)
            for value in (fit.cold.value, fit.hot, 2 * fit.standard)
        )
        key = (fit.kin[0] or fit.name, fit.cold.how, *told, fit.warm(units), fit.says(units))
        groups.setdefault(key, []).append(fit)
    return [
        (own[0].name if len(own) == 1 else f"{own[0].kin[0]} {', '.join(f.kin[1] for f in own)}",
         own[0])
        for own in groups.values()
    ]  # fmt: skip


def _pressing(pressure: float, units: Units) -> str:
    if units is Units.METRIC:
        return f"{pressure / 1e6:.2g} MPa"
    plain = float(f"{pressure:.2g}")  # A bound is not known to four digits.
    return show(plain, Dimension.PRESSURE, units, uncertainty=plain / 10 or None)


def hot_fits(
    given: Given, bearings: tuple[FilmBearing, ...] = ()
) -> tuple[tuple[HotFit, ...], tuple[str, ...]]:
    """Return the fits at running temperature, and what could not be told.

    Plain linear expansion from 20 °C (ISO 1) of round parts at one temperature each: a skirt is
    neither, so its figure compares choices and no more. A ring's gap closes by its own growth round
    the bore and opens by the bore's. A press gains what the inner part grows more than the outer.
    """
    found: list[HotFit] = []
    unknown: list[str] = []
    names = labels(given.engine)
    tried: list[HotFit | str] = [_piston(given, name) for name in names]
    tried += [_ring(given, ring, name) for ring in ("top-ring", "second-ring") for name in names]
    tried += [_press(given, fit) for fit in given.engine.fits.values() if fit.sense == _PRESS]
    tried += [_bearing(one) for one in bearings]
    tried += [_shells(given, one) for one in bearings]
    for made in tried:
        if isinstance(made, HotFit):
            found.append(made)
        elif made:
            unknown.append(made)
    return tuple(found), tuple(dict.fromkeys(unknown))


def temperature(given: Given, part: str) -> Value:
    """Return the running temperature of a part, K, estimated where the file does not say it."""
    if part in _ABOVE_THE_OIL:
        oil = given.sure("oil.temperature", 373.15, "common practice, no source")
        why = "a little above the oil supplied; common practice, no source"
        return given.sure(f"temperatures.{part}", oil.value + _ABOVE_THE_OIL[part], why)
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
        kin=("pistons in their bores", label),
        kind="clearance",
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


def _ring(given: Given, ring: str, label: str) -> HotFit | str:
    cold = given.fit(f"{ring}-gap-{label}")
    bore = given.size(f"cylinder-bore-{label}")
    around = given.expansion(f"cylinder-bore-{label}")
    material = given.material("ring")
    words = ring.replace("-", " ")
    if cold is None or bore is None:
        return f"Gap of the {words}: neither measured, nor limits in the file."
    if around is None or material is None:
        return f"Gap of the {words}: the expansion of block or ring is not known."
    wall, hot = temperature(given, "bore"), temperature(given, "ring")
    if ring != "top-ring":
        hot = Value(hot.value, "as hot as the top ring, which it is not quite", How.ESTIMATED)
    change = (
        pi * bore.value * (around.value * (wall.value - COLD) - material.value * (hot.value - COLD))
    )
    standard = hypot(
        cold.standard,
        pi * bore.value * around.standard * (wall.value - COLD),
        pi * bore.value * material.standard * (hot.value - COLD),
    )
    return HotFit(
        name=f"{words} gap, cylinder {label}",
        kin=(f"{words} gaps, cylinders", label),
        kind="gap",
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


def _press(given: Given, fit: Fit) -> HotFit | str:
    """Return a press of a shaft in a hole, or why it cannot be told."""
    name = fit.name
    hole, shaft = fit.ways[0].space, fit.ways[0].bodies[0]
    cold, size = _overlap(given, fit), given.size(shaft) or given.size(hole)
    if cold is None or size is None:
        return f"{name}: neither measured, nor limits and a size in the file."
    around, inside = given.expansion(hole), given.expansion(shaft)
    if around is None or inside is None:
        part = given.engine.features[hole if around is None else shaft].part
        return f"{name}: the expansion of the {part} is not known."
    outer, inner = _part_temperature(given, hole, shaft), _part_temperature(given, shaft, hole)
    grown = inside.value * (inner.value - COLD) - around.value * (outer.value - COLD)
    return HotFit(
        name=name[:1].lower() + name[1:],
        kin=("", ""),
        kind="press",
        cold=cold,
        hot=cold.value + size.value * grown,
        standard=hypot(
            cold.standard,
            size.value * around.standard * (outer.value - COLD),
            size.value * inside.standard * (inner.value - COLD),
        ),
        per_kelvin=size.value * inside.value,
        sources=(
            ("cold press", cold),
            ("diameter", size),
            ("outer temperature", outer),
            ("inner temperature", inner),
            ("expansion of the outer part", around),
            ("expansion of the inner part", inside),
        ),
    )


def _overlap(given: Given, fit: Fit) -> Value | None:
    """Return a press as it is measured or meant, positive where the parts overlap."""
    found = given.fit(fit.id)
    if found is None or found.how is not How.MEASURED:
        return found
    return Value(-found.value, found.source, found.how, found.standard)


def _part_temperature(given: Given, feature: str, other: str) -> Value:
    """Return how warm a part runs; one that nobody gives is as warm as what it sits on."""
    features = given.engine.features
    for name, why in ((feature, ""), (other, "as warm as what it sits on, ")):
        part = features[name].part.split()[0]
        if part in _USUAL or part in _ABOVE_THE_OIL:
            found = temperature(given, part)
            if not why:
                return found
            return Value(found.value, f"{why}common practice, no source", How.ESTIMATED)
    found = temperature(given, "block")
    return Value(found.value, "as warm as a block; common practice, no source", How.ESTIMATED)


def _shells(given: Given, one: FilmBearing) -> HotFit | str:
    """Return the press of a pair of shells in its housing, or what heat changes of it.

    The press is not measurable on the bench; the shells' maker gives it, if anybody does.
    """
    growth, supply = one.bearing.expansion, one.bearing.supply.temperature
    housing = housing_of(given, one.kind, one.number)
    if housing is None or growth is None:
        return f"Press of the {one.kind} shells: housing, or an expansion, is not known."
    known = dict(one.sources)
    warm, around = known["housing temperature"], known["expansion of the housing"]
    shell = known["expansion of the shell"]
    gained = housing.value * (shell.value * (supply - COLD) - around.value * (warm.value - COLD))
    cold = given.figure(f"{one.kind}s.shell_press")
    if cold is None:
        word = "gains" if gained > 0 else "loses"
        return (
            f"Press of the {one.kind} shells in their housing: nobody gave it"
            f" ({one.kind}s.shell_press); hot, it {word} {abs(gained) * 1e6:.0f} µm on the"
            f" diameter, with the shells at {supply - 273.15:.0f} °C."
        )
    hot, bore = cold.value + gained, housing.value - 2 * growth.shell_wall
    pressure = None
    if 0 < bore < housing.value:
        both = (contact_pressure(press, housing.value, bore) for press in (cold.value, hot))
        pressure = (next(both), next(both))
    return HotFit(
        name=f"shells of {one.name} in their housing",
        kin=(f"shells in their housings, {one.kind}", one.number),
        kind="press",
        cold=cold,
        hot=hot,
        standard=hypot(
            cold.standard,
            housing.value * around.standard * (warm.value - COLD),
            housing.value * shell.standard * (supply - COLD),
        ),
        per_kelvin=housing.value * shell.value,
        sources=(
            ("cold press", cold),
            ("housing", housing),
            ("housing temperature", warm),
            ("shell temperature", _as_the_oil(known["oil supply temperature"])),
            ("expansion of the housing", around),
            ("expansion of the shell", shell),
            ("modulus of the shell", _STEEL),
        ),
        pressure=pressure,
    )


_STEEL = Value(
    STEEL_MODULUS, "carbon steel, Shigley, table A-5, from memory; a steel back", How.ESTIMATED
)


def _as_the_oil(supply: Value) -> Value:
    """Return the temperature of shells without a load, which nobody gives."""
    source = f"as warm as the oil supplied ({supply.source}); a film warms its shell more"
    return Value(supply.value, source, How.ESTIMATED)


def _bearing(one: FilmBearing) -> HotFit | str:
    growth, shape = one.bearing.expansion, one.bearing.shape
    if growth is None:
        part = "block" if one.kind == "main" else "rod"
        return (
            f"Clearance of {one.name} when hot: the expansion of {part} or crank is not known, and"
            f" its film is told with the clearance cold; give materials.{part} and materials.crank."
        )
    known, supply = dict(one.sources), one.bearing.supply.temperature
    warm, journal = known["housing temperature"], known["journal temperature"]
    around, crank = known["expansion of the housing"], known["expansion of the crank"]
    return HotFit(
        name=f"clearance of {one.name}",
        kin=(f"clearance of {one.kind}", one.number),
        kind="clearance",
        cold=one.clearance,
        hot=hot_clearance(shape, growth, supply, supply),
        standard=hypot(
            one.clearance.standard,
            shape.diameter * around.standard * (warm.value - COLD),
            shape.diameter * crank.standard * (journal.value - COLD),
        ),
        per_kelvin=-shape.diameter * growth.journal,
        sources=(
            ("cold clearance", one.clearance),
            ("journal", known["journal"]),
            ("housing temperature", warm),
            ("journal temperature", journal),
            ("shell temperature", _as_the_oil(known["oil supply temperature"])),
            ("expansion of the housing", around),
            ("expansion of the shell", known["expansion of the shell"]),
            ("expansion of the crank", crank),
        ),
        note="with its shell at the oil supply's temperature; a film at speed warms it more",
    )
