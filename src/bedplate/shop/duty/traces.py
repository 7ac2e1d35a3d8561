"""Measured cylinder pressure at any speed: as measured, between two speeds, or the nearest one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import degrees, pi, radians
from typing import TYPE_CHECKING

import numpy as np

from bedplate.engine.traces import MeasuredTrace, read_points
from bedplate.errors import InputError
from bedplate.physics.trace import PressureTrace, measured_trace
from bedplate.quantity import Dimension, parse
from bedplate.record.entries import TraceTaken
from bedplate.record.standing import standing

if TYPE_CHECKING:
    from bedplate.shop.model import State

SAMPLES = 360
"""A turn: a step of one degree."""

_AT_ITS_SPEED = 0.02
"""Of the speed: so far beyond the last measured speed a trace counts as measured there. Ours."""
_SAME = 1e-6
"""Speeds that differ by less are one."""
_APART = radians(5)
"""Peaks that stand farther apart than this are blurred by going straight between. Ours."""


UNITS = ("bar", "psi", "kPa", "MPa", "Pa")
"""Of pressure that a trace may have been in."""
_WEAKEST, _STRONGEST = 1.2e5, 40e6
"""Pa: no cylinder peaks outside; common practice, no source."""
_USUAL = 20e5, 250e5
"""Pa: where most peaks lie; common practice, no source."""
_FARTHEST_PEAK = radians(90)
_LATE, _FIRING_REACH = radians(12), radians(40)
"""A peak stands about so late after firing, give or take; common practice, no source."""


class Basis(StrEnum):
    """What a cylinder's pressure is known from."""

    COMPUTED = "computed"
    MEASURED = "measured"
    BETWEEN = "between measured speeds"
    NEAREST = "nearest measured speed"
    ONE_FOR_ALL = "one trace for every speed"

    @property
    def short(self) -> str:
        """Return it in a word, for a table."""
        return self.value.partition(" ")[0] if self is not Basis.ONE_FOR_ALL else "one trace"


@dataclass(frozen=True, slots=True)
class Found:
    """A cylinder's measured pressure at a speed.

    :param speeds: of the traces it comes from, rad/s
    :param apart: how far the peaks of the two stand apart, rad; 0 for one trace
    """

    trace: PressureTrace
    basis: Basis
    speeds: tuple[float, ...]
    apart: float = 0.0

    def words(self) -> str:
        """Return in words what it is known from."""
        rpm = [f"{speed * 30 / pi:.0f} rpm" for speed in self.speeds]
        match self.basis:
            case Basis.MEASURED:
                return f"measured at {rpm[0]}"
            case Basis.BETWEEN:
                said = f"between the traces of {rpm[0]} and {rpm[1]}, straight at each crank angle"
                if self.apart > _APART:
                    said += f"; their peaks stand {degrees(self.apart):.0f}° apart, so this one is"
                    said += " too low"
                return said
            case Basis.NEAREST:
                return f"nothing was measured at this speed: the nearest trace, of {rpm[0]}"
            case _:
                return "one measured trace, of a speed nobody said, taken for every speed"


class Traces:
    """The traces of an engine, each cylinder's by speed."""

    def __init__(self, measured: Sequence[MeasuredTrace], cycle: float) -> None:
        """Read every trace once.

        :param measured: a later one replaces an earlier one of the same speed and cylinder
        :param cycle: rad
        :raises InputError: a trace cannot be used, with what is wrong in it
        """
        self._by: dict[str, dict[float, PressureTrace]] = {}
        for one in measured:
            own = self._by.setdefault(one.cylinder, {})
            own[one.speed or 0.0] = even_trace(one, cycle)

    def of(self, label: str, speed: float) -> Found | None:
        """Return a cylinder's pressure at a speed, None where nothing was measured for it.

        Its own traces go before those for all cylinders at the same speed.

        :param speed: rad/s
        """
        known = {**self._by.get("", {}), **self._by.get(label, {})}
        if not known:
            return None
        if 0.0 in known:
            return Found(known[0.0], Basis.ONE_FOR_ALL, ())
        speeds = sorted(known)
        same = next((one for one in speeds if abs(one - speed) <= _SAME * one), None)
        if same is not None:
            return Found(known[same], Basis.MEASURED, (same,))
        if not speeds[0] < speed < speeds[-1]:
            near = speeds[0] if speed <= speeds[0] else speeds[-1]
            at_it = abs(near - speed) <= _AT_ITS_SPEED * near
            return Found(known[near], Basis.MEASURED if at_it else Basis.NEAREST, (near,))
        upper = next(place for place, one in enumerate(speeds) if one > speed)
        return _between(known, speeds[upper - 1], speeds[upper], speed)


def _between(known: dict[float, PressureTrace], low: float, high: float, speed: float) -> Found:
    """Return the pressure between two measured speeds, straight at each crank angle."""
    first, second = known[low], known[high]
    share = (speed - low) / (high - low)
    pressure = first.pressure + share * (second.pressure - first.pressure)
    trace = PressureTrace(first.angle, np.asarray(pressure), first.cycle)
    apart = abs(first.peak[1] - second.peak[1])
    return Found(trace, Basis.BETWEEN, (low, high), min(apart, first.cycle - apart))


def even_trace(one: MeasuredTrace, cycle: float) -> PressureTrace:
    """Return a measured trace on the even grid.

    :param cycle: rad
    :raises InputError: it cannot be used, with what is wrong in it
    """
    _require_unit(one)
    trace = measured_trace(
        np.array(one.points.angle),
        np.array(one.points.pressure),
        cycle,
        firing=one.firing,
        pegged_to=one.pegged_to,
        samples_per_turn=SAMPLES,
    )
    _require_firing(one, trace)
    return trace


def _require_unit(one: MeasuredTrace) -> None:
    """Refuse a pressure that no engine has, and one that says itself that it is not absolute."""
    points = one.points
    if points.unit.lower() in {"psig", "barg"} and one.pegged_to is None:
        raise InputError(
            f"Pressure in {points.unit} counts from the air outside, and a trace is absolute.",
            hint="Add the air's pressure, or say what it is to be pegged to.",
        )
    peak = max(points.pressure) - min(0.0, *points.pressure)
    if _WEAKEST < peak < _STRONGEST:
        return
    own = parse(f"1 {points.unit or 'Pa'}", Dimension.PRESSURE).value
    sizes = {unit: peak / own * parse(f"1 {unit}", Dimension.PRESSURE).value for unit in UNITS}
    likelier = next((u for u, size in sizes.items() if _USUAL[0] < size < _USUAL[1]), "")
    ask = f"is it in {likelier}, not {points.unit or 'Pa'}?" if likelier else "is its unit right?"
    raise InputError(f"The trace peaks at {peak / own:.4g} {points.unit or 'Pa'}, which no engine"
                     f" does: {ask}")  # fmt: skip


def _require_firing(one: MeasuredTrace, trace: PressureTrace) -> None:
    """Refuse a peak that stands where no cylinder has its compression."""
    angle = trace.peak[1]
    if abs(angle) <= _FARTHEST_PEAK:
        return
    stands = one.firing + angle - _LATE
    nearest = round(stands / (pi / 2)) * (pi / 2)
    first = one.points.angle[0] - 1e-9
    firing = first + (nearest - first) % trace.cycle
    ask = "."
    if abs(nearest - stands) < _FIRING_REACH:
        ask = f": does firing top dead centre lie at {degrees(firing):.0f}° of the trace?"
    raise InputError(
        f"The trace peaks {abs(degrees(angle)):.0f}° {'before' if angle < 0 else 'after'} firing"
        f" top dead centre, where no cylinder does{ask}",
        hint="Say at which angle of the trace the cylinder fires.",
    )


def taken_trace(entry: TraceTaken, number: int) -> MeasuredTrace:
    """Return the trace that an entry of the record holds.

    :param number: of the entry
    """
    said = f"entry {number}, by {entry.by}"
    return MeasuredTrace(
        read_points(entry.points),
        entry.speed.si,
        entry.cylinder,
        entry.firing.si if entry.firing else 0.0,
        entry.pegged_to.si if entry.pegged_to else None,
        f"{said}: {entry.source}" if entry.source else said,
        number,
    )


def traces_of(state: State) -> tuple[MeasuredTrace, ...]:
    """Return the traces of a build that were not withdrawn, those in force; in order."""
    found = {
        (entry.speed.si, entry.cylinder): taken_trace(entry, row.number)
        for row in standing(state.entries)
        if isinstance(entry := row.entry, TraceTaken)
    }
    return tuple(found.values())
