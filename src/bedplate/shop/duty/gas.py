"""Pressure in the cylinder at a speed: computed from the engine file, or a trace that was measured.

It exists to load the crank train. It is no predictor of power.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np

from bedplate.engine.traces import MeasuredTrace
from bedplate.errors import InputError
from bedplate.physics.cylinder import (
    Burn,
    ClosedCycle,
    CombustionChamber,
    Walls,
    closed_cycle,
    trapped_charge,
)
from bedplate.physics.gas import Fuel, fuel_by_name
from bedplate.physics.trace import PressureTrace, even_angles
from bedplate.shop.duty.given import Given, How, Value, labels
from bedplate.shop.duty.traces import SAMPLES, Basis, Traces
from bedplate.shop.duty.volumes import Space, crank_offset, spaces_of, throw_of

AIR = 101_325.0
_OUTSIDE = "the air outside, 1.013 bar"
_USUAL = "common practice, no source"
_SMOKE = "at full load, near where it smokes; common practice, no source"
_TWO_PHASES = "one curve for both phases of the burn; common practice, no source"


@dataclass(frozen=True, slots=True)
class Pressure:
    """The pressure at one speed.

    :param traces: of every cylinder, in the order of labels
    :param mean_effective: net indicated, Pa, over all cylinders; None for a measured trace
    :param sources: (what, Value) of each figure that went in
    :param note: what kind of pressure it is
    :param bases: the same of every cylinder, in the order of labels
    """

    traces: tuple[PressureTrace, ...]
    mean_effective: float | None
    sources: tuple[tuple[str, Value], ...]
    note: str
    bases: tuple[Basis, ...]

    @property
    def peaks(self) -> tuple[float, ...]:
        """Greatest pressure of every cylinder, Pa."""
        return tuple(trace.peak[0] for trace in self.traces)


def no_gas(given: Given) -> PressureTrace:
    """Return a trace at crankcase pressure: no gas force at all."""
    grid = even_angles(given.engine.layout.cycle, SAMPLES)
    return PressureTrace(
        grid, np.full(grid.size, crankcase(given).value), given.engine.layout.cycle
    )


def crankcase(given: Given) -> Value:
    """Return the pressure under the pistons, absolute, Pa."""
    return given.sure("duty.crankcase_pressure", AIR, _OUTSIDE)


class Pressures:
    """The pressure in each cylinder at any speed; traces are read once."""

    def __init__(self, given: Given) -> None:
        """Take what is given.

        :raises InputError: a measured trace cannot be used
        """
        self._given = given
        self._labels = labels(given.engine)
        self._traces = Traces(given.traces, given.engine.layout.cycle)

    def at(self, speed: float) -> Pressure:
        """Return the pressure in each cylinder at a speed.

        Where some cylinders were measured and others not, those are computed.

        :param speed: rad/s
        :raises InputError: the file does not give what is needed, or it cannot be
        """
        found = [self._traces.of(label, speed) for label in self._labels]
        if not any(found):
            return _computed(self._given, speed)
        computed = None if all(found) else _computed(self._given, speed)
        traces, bases = [], []
        for place, one in enumerate(found):
            if one is not None:
                traces.append(one.trace)
                bases.append((one.basis, one.words()))
            elif computed is not None:
                traces.append(computed.traces[place])
                bases.append((Basis.COMPUTED, computed.note))
        taken = self._given.traces
        sources = [(f"pressure trace, {trace_name(one)}", _source(one)) for one in taken]
        return Pressure(
            tuple(traces),
            None,
            (*sources, *(computed.sources if computed is not None else ())),
            _note(self._labels, bases),
            tuple(basis for basis, _ in bases),
        )


def pressure_at(given: Given, speed: float) -> Pressure:
    """Return the pressure in each cylinder at a speed, as `Pressures.at` does.

    :param speed: rad/s
    """
    return Pressures(given).at(speed)


def trace_name(trace: MeasuredTrace) -> str:
    """Return at which speed and where a trace was measured."""
    where = f"cylinder {trace.cylinder}" if trace.cylinder else "all cylinders"
    return where if trace.speed is None else f"{trace.speed * 30 / pi:.0f} rpm, {where}"


def _source(trace: MeasuredTrace) -> Value:
    return Value(trace.speed or 0.0, trace.source, How.MEASURED)


def _note(names: Sequence[str], bases: Sequence[tuple[Basis, str]]) -> str:
    """Return what kind of pressure it is, cylinder by cylinder where they differ."""
    by_words: dict[str, list[str]] = {}
    for name, (_, words) in zip(names, bases, strict=True):
        by_words.setdefault(words, []).append(name)
    if len(by_words) == 1:
        return next(iter(by_words))
    return "; ".join(
        f"cylinder{'s' if len(own) > 1 else ''} {', '.join(own)} {words}"
        for words, own in by_words.items()
    )


def _computed(given: Given, speed: float) -> Pressure:
    used = (
        ("ignition", _ignition(given)),
        *_combustion(given),
        ("fuel's heating value", _heat(given)),
    )
    spaces, printed = spaces_of(given)
    if printed is not None:
        used = (*used, ("compression ratio", printed))
    value = {name: one.value for name, one in used}
    cycles = {space: _cycle(given, value, space, speed) for space in dict.fromkeys(spaces)}
    each = [cycles[space] for space in spaces]
    return Pressure(
        tuple(cycle.trace for cycle in each),
        sum(cycle.mean_effective_pressure for cycle in each) / len(each),
        used,
        _computed_note(given),
        (Basis.COMPUTED,) * len(each),
    )


def _computed_note(given: Given) -> str:
    note = "computed: one zone, Wiebe heat release, Woschni heat transfer; to load the crank train"
    if given.duty.compression_ignition:
        note += (
            "; compression ignition burns in two phases, what has mixed at once and then the rest"
            " as it mixes, and both are taken as one: the first rise is steeper in earnest"
        )
    return note


def _cycle(given: Given, value: dict[str, float], space: Space, speed: float) -> ClosedCycle:
    """Return the cycle of a cylinder with its own bore and clearance volume."""
    engine = given.engine
    chamber = CombustionChamber(
        bore=space.bore,
        throw=throw_of(engine),
        rod=engine.rod,
        clearance=space.clearance,
        cycle=engine.layout.cycle,
        inlet_closing=value["inlet closes"],
        exhaust_opening=value["exhaust opens"],
        offset=crank_offset(engine),
    )
    fuel = _fuel(given)
    charge = trapped_charge(
        chamber,
        fuel,
        manifold_pressure=value["manifold pressure"],
        manifold_temperature=value["manifold temperature"],
        volumetric_efficiency=value["filling"],
        equivalence_ratio=value["mixture"],
        residual=value["residual"],
        premixed=not given.duty.compression_ignition,
    )
    burn = Burn(
        value["burn start"],
        value["burn duration"],
        value["burn completeness"],
        value["burn shape"],
    )
    return closed_cycle(
        chamber,
        charge,
        burn,
        Walls(temperature=value["wall temperature"]),
        speed,
        inlet_pressure=value["manifold pressure"],
        exhaust_pressure=value["exhaust pressure"],
        samples_per_turn=SAMPLES,
    )


def _fuel(given: Given) -> Fuel:
    usual = "diesel fuel" if given.duty.compression_ignition else "petrol"
    return fuel_by_name(given.duty.words.get("combustion.fuel", usual))


def _heat(given: Given) -> Value:
    fuel = _fuel(given)
    if given.duty.words.get("combustion.fuel"):
        return Value(fuel.heating_value, f"{fuel.name}: {fuel.source}", How.FILE)
    source = f"{fuel.name}, as is usual with this ignition: {fuel.source}"
    return Value(fuel.heating_value, source, How.ESTIMATED)


def _ignition(given: Given) -> Value:
    """Return 1 for compression ignition, 0 for a spark, with what says so and what it means."""
    duty = given.duty
    says = "engine.cycle" if duty.ignition_said else "combustion.fuel"
    known = bool(duty.ignition_said or duty.words.get("combustion.fuel"))
    basis = f"engine file, {says}" if known else "not in the engine file"
    if duty.compression_ignition:
        meant = "compression: air alone is drawn in, and the fuel comes in as it burns"
    else:
        meant = "spark: the fuel is drawn in as vapour with the air"
    how = How.FILE if duty.ignition_said else How.ESTIMATED
    return Value(float(duty.compression_ignition), f"{basis}; {meant}", how)


_ASKED = {
    "valves.inlet_closes": "when the inlet closes",
    "valves.exhaust_opens": "when the exhaust opens",
    "combustion.burn_start": "when it starts to burn",
    "combustion.burn_duration": "how long it burns",
}


def _ask_for_all(given: Given) -> None:
    """Ask at once for all that a computed pressure needs and nothing is usual for."""
    lacking = [key for key in _ASKED if given.figure(key) is None]
    if len(lacking) > 1:
        *first, last = (_ASKED[key] for key in lacking)
        raise InputError(
            f"The engine file does not say {', '.join(first)} and {last}.",
            hint=f"Give {', '.join(lacking)}, each with its unit.",
        )


def _combustion(given: Given) -> tuple[tuple[str, Value], ...]:
    _ask_for_all(given)
    boost = given.duty.boost.value if given.duty.boost else 0.0
    outside = "the air outside and engine.boost" if boost else _OUTSIDE
    diesel = given.duty.compression_ignition
    shape = (1.0, _TWO_PHASES) if diesel else (2.0, "Heywood, section 9.2.2")
    mixture = (0.7, _SMOKE) if diesel else (1.1, _USUAL)
    return (
        ("inlet closes", given.needed("valves.inlet_closes", _ASKED["valves.inlet_closes"])),
        ("exhaust opens", given.needed("valves.exhaust_opens", _ASKED["valves.exhaust_opens"])),
        (
            "manifold pressure",
            given.sure("combustion.manifold_pressure", AIR + boost, outside),
        ),
        ("manifold temperature", given.sure("combustion.manifold_temperature", 313.15, _USUAL)),
        ("filling", given.sure("combustion.filling", 0.95, _USUAL)),
        ("mixture", given.sure("combustion.mixture", *mixture)),
        ("residual", given.sure("combustion.residual", 0.05, _USUAL)),
        ("burn start", given.needed("combustion.burn_start", _ASKED["combustion.burn_start"])),
        (
            "burn duration",
            given.needed("combustion.burn_duration", _ASKED["combustion.burn_duration"]),
        ),
        ("burn shape", given.sure("combustion.burn_shape", *shape)),
        (
            "burn completeness",
            given.sure("combustion.burn_completeness", 5.0, "Heywood, section 9.2.2"),
        ),
        ("exhaust pressure", given.sure("combustion.exhaust_pressure", AIR, _OUTSIDE)),
        ("wall temperature", given.sure("combustion.wall_temperature", 450.0, _USUAL)),
    )
