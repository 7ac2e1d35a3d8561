"""Pressure in the cylinder at a speed: computed from the engine file, or a trace that was measured.

It exists to load the crank train. It is no predictor of power.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import isfinite, pi

import numpy as np

from bedplate.errors import InputError, QuantityError
from bedplate.physics.cylinder import (
    Burn,
    ClosedCycle,
    CombustionChamber,
    Walls,
    closed_cycle,
    trapped_charge,
)
from bedplate.physics.gas import fuel_by_name
from bedplate.physics.trace import PressureTrace, even_angles, measured_trace
from bedplate.quantity import Dimension, parse
from bedplate.shop.duty.given import Given, Value
from bedplate.shop.duty.volumes import Space, crank_offset, spaces_of, throw_of

SAMPLES = 360
"""A turn: a step of one degree."""

AIR = 101_325.0
_OUTSIDE = "the air outside, 1.013 bar"
_USUAL = "common practice, no source"
MOST_POINTS = 20_000


@dataclass(frozen=True, slots=True)
class Pressure:
    """The pressure at one speed.

    :param traces: of every cylinder, in the order of labels
    :param mean_effective: net indicated, Pa, over all cylinders; None for a measured trace
    :param sources: (what, Value) of each figure that went in
    :param note: what kind of pressure it is
    """

    traces: tuple[PressureTrace, ...]
    mean_effective: float | None
    sources: tuple[tuple[str, Value], ...]
    note: str

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


def pressure_at(given: Given, speed: float) -> Pressure:
    """Return the pressure in each cylinder at a speed.

    :param speed: rad/s
    :raises InputError: the file does not give what is needed, or it cannot be
    """
    text = given.duty.words.get("combustion.trace", "")
    if text:
        return _measured(given, text, speed)
    return _computed(given, speed)


def _measured(given: Given, text: str, speed: float) -> Pressure:
    at = given.figure("combustion.trace_speed")
    pegged = given.figure("combustion.trace_pegged_to")
    trace = read_trace(
        text,
        given.engine.layout.cycle,
        firing=given.duty.value("combustion.trace_firing"),
        pegged_to=pegged.value if pegged else None,
    )
    other = at is not None and abs(at.value - speed) > 0.02 * speed
    note = "measured trace"
    if at is not None and other:
        note += f", of {at.value * 30 / pi:.0f} rpm, taken for this speed too"
    used = (("trace speed", at), ("trace pegged to", pegged))
    count = len(given.engine.layout.cylinders)
    return Pressure((trace,) * count, None, tuple((n, v) for n, v in used if v is not None), note)


def _computed(given: Given, speed: float) -> Pressure:
    used = _combustion(given)
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
        "computed: one zone, Wiebe heat release, Woschni heat transfer; to load the crank train",
    )


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
    fuel = fuel_by_name(given.duty.words.get("combustion.fuel", "petrol"))
    charge = trapped_charge(
        chamber,
        fuel,
        manifold_pressure=value["manifold pressure"],
        manifold_temperature=value["manifold temperature"],
        volumetric_efficiency=value["filling"],
        equivalence_ratio=value["mixture"],
        residual=value["residual"],
        premixed=fuel.name != "diesel fuel",
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


def _combustion(given: Given) -> tuple[tuple[str, Value], ...]:
    boost = given.duty.boost.value if given.duty.boost else 0.0
    outside = "the air outside and engine.boost" if boost else _OUTSIDE
    return (
        ("inlet closes", given.needed("valves.inlet_closes", "when the inlet closes")),
        ("exhaust opens", given.needed("valves.exhaust_opens", "when the exhaust opens")),
        (
            "manifold pressure",
            given.sure("combustion.manifold_pressure", AIR + boost, outside),
        ),
        ("manifold temperature", given.sure("combustion.manifold_temperature", 313.15, _USUAL)),
        ("filling", given.sure("combustion.filling", 0.95, _USUAL)),
        ("mixture", given.sure("combustion.mixture", 1.1, _USUAL)),
        ("residual", given.sure("combustion.residual", 0.05, _USUAL)),
        ("burn start", given.needed("combustion.burn_start", "when it starts to burn")),
        ("burn duration", given.needed("combustion.burn_duration", "how long it burns")),
        ("burn shape", given.sure("combustion.burn_shape", 2.0, "Heywood, section 9.2.2")),
        (
            "burn completeness",
            given.sure("combustion.burn_completeness", 5.0, "Heywood, section 9.2.2"),
        ),
        ("exhaust pressure", given.sure("combustion.exhaust_pressure", AIR, _OUTSIDE)),
        ("wall temperature", given.sure("combustion.wall_temperature", 450.0, _USUAL)),
    )


def read_trace(
    text: str, cycle: float, *, firing: float = 0.0, pegged_to: float | None = None
) -> PressureTrace:
    """Return a measured pressure from CSV text.

    The first row names both columns with their units: 'angle deg,pressure bar'; ';' and tabs part
    columns too. Every other row is a point.

    :param cycle: rad
    :param firing: angle at which firing top dead centre lies, rad
    :param pegged_to: absolute, Pa; None: the trace is absolute
    :raises InputError: with the row and what is wrong in it, or as `measured_trace`
    """
    rows = [row for row in text.splitlines() if row.strip()]
    if len(rows) < 2:
        raise InputError("The pressure trace has no points.")
    if len(rows) > MOST_POINTS:
        raise InputError(f"The pressure trace has {len(rows)} rows; {MOST_POINTS} are the most.")
    mark = next((m for m in (";", "\t", ",") if m in rows[0]), ",")
    factors = _units(rows[0].split(mark))
    points = np.array([_point(row, mark, number) for number, row in enumerate(rows[1:], 2)])
    return measured_trace(
        points[:, 0] * factors[0],
        points[:, 1] * factors[1],
        cycle,
        firing=firing,
        pegged_to=pegged_to,
        samples_per_turn=SAMPLES,
    )


def _units(titles: list[str]) -> tuple[float, float]:
    if len(titles) != 2:
        raise InputError(
            f"The first row of the pressure trace has {len(titles)} columns, not two.",
            hint="Write 'angle deg,pressure bar'.",
        )
    kinds = (("angle", Dimension.ANGLE), ("pressure", Dimension.PRESSURE))
    factors = []
    for title, (name, dimension) in zip(titles, kinds, strict=True):
        found = re.fullmatch(rf"{name}\s*[\[(]?\s*([^\])]+?)\s*[\])]?", title.strip().lower())
        unit = found[1] if found else ""
        try:
            factors.append(parse(f"1 {unit}", dimension).value)
        except QuantityError:
            raise InputError(
                f"'{title.strip()[:40]}' is no column of {name} with its unit.",
                hint="The first row is 'angle deg,pressure bar'.",
            ) from None
    return factors[0], factors[1]


def _point(row: str, mark: str, number: int) -> tuple[float, float]:
    cells = row.split(mark)
    try:
        angle, pressure = (float(cell.strip().replace(",", ".")) for cell in cells)
    except ValueError:
        raise InputError(
            f"Row {number} of the pressure trace, '{row.strip()[:40]}', is not two numbers."
        ) from None
    if not (isfinite(angle) and isfinite(pressure)):
        raise InputError(f"Row {number} of the pressure trace holds what is no number.")
    return angle, pressure
