"""Whether a measured pressure trace can be what it is said to be: unit, zero, place in the cycle.

A trace in another unit has the same shape, so its size is held against the manifold's pressure and
against what compression makes of it; one that is not absolute does not follow p·Vⁿ as a gas does.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import degrees, log, pi, radians

import numpy as np

from bedplate.engine.traces import MeasuredTrace, TracePoints
from bedplate.errors import InputError
from bedplate.physics.trace import PressureTrace
from bedplate.physics.volumes import volume_at
from bedplate.quantity import Dimension, Units, parse, show
from bedplate.shop.duty.given import Given, labels
from bedplate.shop.duty.traces import UNITS, even_trace
from bedplate.shop.duty.volumes import crank_offset, spaces_of, throw_of

AIR = 101_325.0
_EXPONENT = 1.25, 1.40
"""Of compression before it burns; common practice, no source."""
_CLOSING = 0.4, 2.5
"""Pressure as the compression begins over what the manifold would make; ours. Units differ by more
than six times, and a manifold that rams or is throttled by less than these."""
_RISE = 0.8, 5.0
"""Peak over what compression alone gives: burnt at once at top dead centre it is about 4; ours."""
_LIKELY = (1.2, 1.45), (0.5, 2.0), _RISE
"""The same for a trace put right: a little wider for the exponent, narrower for the size."""
_EARLIEST_PEAK, _LATEST_PEAK = 0.0, radians(40)
"""After firing top dead centre: where a burning cylinder peaks. Common practice, no source."""
_AFTER_CLOSING = radians(10)
_LAST = radians(-40)
"""From inlet closing and a little more to here, or to where it burns: compression and nothing else.
Where the file does not say when the inlet closes it counts as closed from 100° before."""
_CLOSED = radians(-100)


@dataclass(frozen=True, slots=True)
class Compression:
    """What a trace shows of its compression.

    :param exponent: of p·Vⁿ
    :param begins: pressure where it begins, Pa
    :param expected: what the manifold would make of it there, Pa
    :param rise: peak over what compression alone would give
    """

    exponent: float
    begins: float
    expected: float
    rise: float

    @property
    def share(self) -> float:
        """Return the pressure where it begins over what is expected."""
        return self.begins / self.expected


def doubts_of(given: Given, one: MeasuredTrace) -> tuple[str, ...]:
    """Return what is strange about a trace, each as a sentence that asks.

    Nothing is said of compression where the engine file does not tell the volumes.

    :raises InputError: it cannot be used, with what is wrong in it
    """
    trace = even_trace(one, given.engine.layout.cycle)
    said = []
    angle = trace.peak[1]
    if not _EARLIEST_PEAK <= angle <= _LATEST_PEAK:
        said.append(
            f"It peaks {_beside(angle)} firing top dead centre, where a burning cylinder seldom"
            " does: does firing top dead centre lie where you said?"
        )
    found = compression_of(given, trace, one.cylinder)
    strange = [] if found is None else _strange(found, given.engine.units)
    if strange:
        said.append(f"{' and '.join(strange)}: {_question(given, one)}")
    return tuple(said)


def compression_of(given: Given, trace: PressureTrace, cylinder: str = "") -> Compression | None:
    """Return what a trace shows of its compression, None where the volumes are not known.

    :param cylinder: its label; '': the first one stands for all
    """
    try:
        spaces, _ = spaces_of(given)
    except InputError:
        return None
    names, engine = labels(given.engine), given.engine
    space = spaces[names.index(cylinder) if cylinder in names else 0]
    throw, offset = throw_of(engine), crank_offset(engine)

    def volume(angle: float) -> float:
        return volume_at(angle, space.bore, throw, engine.rod, space.clearance, offset)

    closes, burns = given.figure("valves.inlet_closes"), given.figure("combustion.burn_start")
    closed = closes.value - pi if closes else _CLOSED
    begin = closed + _AFTER_CLOSING
    end = min(_LAST, burns.value - radians(5) if burns else _LAST)
    if end <= begin + radians(10):
        return None
    angles = np.linspace(begin, end, 30)
    pressure = trace.at(angles)
    small = np.log([volume(float(angle)) for angle in angles])
    exponent = -float(np.polyfit(small, np.log(pressure), 1)[0])
    manifold = given.figure("combustion.manifold_pressure")
    boost = given.duty.boost.value if given.duty.boost else 0.0
    filled = manifold.value if manifold else AIR + boost
    usual = sum(_EXPONENT) / 2
    expected = filled * (volume(closed) / volume(begin)) ** usual
    alone = float(pressure[0]) * (volume(begin) / space.clearance) ** usual
    return Compression(exponent, float(pressure[0]), expected, trace.peak[0] / alone)


def _strange(found: Compression, units: Units) -> list[str]:
    said = []
    if not _CLOSING[0] <= found.share <= _CLOSING[1]:
        begins, expected = (
            show(one, Dimension.PRESSURE, units, uncertainty=one / 50)
            for one in (found.begins, found.expected)
        )
        said.append(f"Its compression begins at {begins} where the manifold makes {expected}")
    if not _EXPONENT[0] <= found.exponent <= _EXPONENT[1]:
        said.append(
            f"{'it' if said else 'Its compression'} follows p·Vⁿ with n = {found.exponent:.2f},"
            f" usually {_EXPONENT[0]:.2f} to {_EXPONENT[1]:.2f}"
        )
    if not _RISE[0] <= found.rise <= _RISE[1]:
        said.append(
            f"{'it' if said else 'It'} peaks at {found.rise:.2g} times what compression alone gives"
        )
    return said


def _question(given: Given, one: MeasuredTrace) -> str:
    """Ask what is likelier: another unit, another zero, or that something else is wrong."""
    typed = one.points.unit
    for unit, other in _otherwise(one):
        try:
            trace = even_trace(other, given.engine.layout.cycle)
        except InputError:
            continue
        found = compression_of(given, trace, one.cylinder)
        if found is not None and _likely(found):
            if unit:
                return f"is it in {unit}{f', not {typed}' if typed else ''}?"
            return "does it count from the air outside, and is not absolute?"
    if one.pegged_to is not None:
        return "is it pegged to the right pressure, and does firing stand at the right angle?"
    return "is it absolute, in the right unit, and does firing stand at the right angle?"


def _likely(found: Compression) -> bool:
    shown = found.exponent, found.share, found.rise
    return all(low <= one <= high for one, (low, high) in zip(shown, _LIKELY, strict=True))


def _otherwise(one: MeasuredTrace) -> Iterator[tuple[str, MeasuredTrace]]:
    """Give the trace in other units, and as one that counts from the air outside."""
    if one.pegged_to is None:
        yield "", replace(one, points=_changed(one.points, 1.0, AIR))
    for unit, factor in _factors(one.points.unit):
        yield unit, replace(one, points=_changed(one.points, factor))
        if one.pegged_to is None:
            yield (
                f"{unit} above the air outside",
                replace(one, points=_changed(one.points, factor, AIR)),
            )


def _factors(typed: str) -> list[tuple[str, float]]:
    own = parse(f"1 {typed or 'bar'}", Dimension.PRESSURE).value
    each = [(unit, parse(f"1 {unit}", Dimension.PRESSURE).value / own) for unit in UNITS]
    return [(unit, factor) for unit, factor in each if abs(log(factor)) > 0.1]


def _changed(points: TracePoints, factor: float, more: float = 0.0) -> TracePoints:
    return replace(points, pressure=tuple(p * factor + more for p in points.pressure))


def _beside(angle: float) -> str:
    return f"{abs(degrees(angle)):.0f}° {'before' if angle < 0 else 'after'}"
