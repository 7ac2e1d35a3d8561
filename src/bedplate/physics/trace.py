"""Cylinder pressure over a whole cycle on an even grid: the shape in which loads take it.

Angles count from top dead centre of firing, 0 to 4π in a four-stroke and 0 to 2π in a two-stroke.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, pi

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import Array, as_row, require_positive

SAMPLES_PER_TURN = 720
"""Half a degree."""
_WIDEST_STEP, _WIDEST_QUIET_STEP, _QUIET = pi / 9, pi / 4, 0.1
"""20°: a combustion peak is lost between points that stand wider than this; 45° where both ends
stand below a tenth of the peak."""
_GAP = 3.0
"""Where points stand evenly, a step this many times the usual one is a gap."""
_LOWEST_PEAK, _HIGHEST_PEAK = 1.2e5, 100e6
"""Pa: outside, a trace is in another unit."""


@dataclass(frozen=True, slots=True)
class PressureTrace:
    """Absolute cylinder pressure on an even grid.

    :param angle: crank angle after top dead centre of firing, rad, shape (n,), from 0, even steps,
        the cycle's end left out
    :param pressure: absolute, Pa, shape (n,)
    :param cycle: 4π or 2π, rad
    """

    angle: Array
    pressure: Array
    cycle: float

    @property
    def peak(self) -> tuple[float, float]:
        """Greatest pressure, Pa, and its angle, rad in [−cycle/2, cycle/2)."""
        place = int(np.argmax(self.pressure))
        angle = float(self.angle[place])
        return float(self.pressure[place]), angle - self.cycle * (angle >= self.cycle / 2)

    def at(self, angle: float | Array) -> Array:
        """Return the pressure at any angle, Pa, straight between the grid's points."""
        grid = np.append(self.angle, self.cycle)
        values = np.append(self.pressure, self.pressure[0])
        return np.asarray(np.interp(np.mod(angle, self.cycle), grid, values))


def even_angles(cycle: float, samples_per_turn: int = SAMPLES_PER_TURN) -> Array:
    """Return the grid of a cycle, rad, from 0, its end left out.

    :param cycle: 4π (four-stroke) or 2π (two-stroke); refused otherwise
    """
    turns = round(cycle / (2 * pi))
    if turns not in {1, 2} or abs(cycle - turns * 2 * pi) > 1e-9:
        raise InputError(f"A cycle takes one turn or two, not {degrees(cycle):g}°.")
    if samples_per_turn < 36:
        raise InputError(f"{samples_per_turn} points a turn are too few; 36 are the least.")
    count = turns * samples_per_turn
    return np.asarray(np.arange(count) * (cycle / count))


def measured_trace(
    angle: Array,
    pressure: Array,
    cycle: float,
    *,
    firing: float = 0.0,
    pegged_to: float | None = None,
    pegged_between: tuple[float, float] = (pi, 7 * pi / 6),
    samples_per_turn: int = SAMPLES_PER_TURN,
) -> PressureTrace:
    """Return a measured pressure on the even grid, moved to where it is known.

    Between the points runs a monotone cubic (Fritsch & Carlson, SIAM J. Numer. Anal. 17, 1980): it
    goes through every point and makes no peak of its own. Pegging adds one constant, so that the
    mean over a window is the pressure known there; that is the inlet manifold's about the bottom
    dead centre before compression (common practice for piezo-electric pick-ups).

    :param angle: of each point, rad, rising; over one cycle
    :param pressure: Pa, of the shape of `angle`; absolute unless pegged
    :param cycle: 4π or 2π
    :param firing: angle of the trace at which firing top dead centre lies, rad
    :param pegged_to: absolute pressure in the window, Pa; None: taken as it is
    :param pegged_between: window, rad before firing top dead centre
    :returns: refused with what is wrong where points lack, angles turn back, a gap is wider than
        three of the usual even steps or 20° (45° at low pressure), or it cannot be a pressure in Pa
    """
    angles = as_row(angle, "angle")
    values = as_row(pressure, "pressure", angles.size)
    grid = even_angles(cycle, samples_per_turn)
    _require_whole(angles, values, cycle)
    turned = np.mod(angles - firing, cycle)
    order = np.argsort(turned, kind="stable")
    even = _monotone(turned[order], values[order], cycle, grid)
    if pegged_to is not None:
        even = even + _offset(grid, even, cycle, pegged_to, pegged_between)
    _require_pascal(even)
    return PressureTrace(grid, even, cycle)


def _offset(
    grid: Array, pressure: Array, cycle: float, known: float, between: tuple[float, float]
) -> float:
    require_positive(pressure_to_peg_to=known)
    before = cycle - grid
    window = (before >= min(between)) & (before <= max(between))
    if not window.any():
        raise InputError("The window to peg the pressure in holds no point of the cycle.")
    return known - float(pressure[window].mean())


def _require_whole(angles: Array, pressure: Array, cycle: float) -> None:
    if angles.size < 18:
        raise InputError(f"{angles.size} points make no pressure trace.")
    steps = np.diff(angles)
    if (steps <= 0).any():
        place = int(np.argmax(steps <= 0)) + 2
        raise InputError(f"The crank angle does not rise at point {place} of the trace.")
    span = float(angles[-1] - angles[0])
    if span >= cycle - 1e-9:
        raise InputError(
            f"The trace runs over {degrees(span):g}°, more than one cycle of {degrees(cycle):g}°.",
            hint="Leave out the last point where it repeats the first one.",
        )
    gaps = np.append(steps, cycle - span) - _widest(steps, pressure)
    if gaps.max() > 1e-9:
        place = int(np.argmax(gaps))
        wide = degrees(float(np.append(steps, cycle - span)[place]))
        raise InputError(
            f"The trace has a gap of {wide:.3g}° after {degrees(float(angles[place])):.4g}°.",
            hint=f"It must cover the whole cycle of {degrees(cycle):g}° of crank angle.",
        )


def _widest(steps: Array, pressure: Array) -> Array:
    """Return the widest step allowed after each point."""
    rise = pressure - pressure.min()
    height = np.maximum(rise, np.roll(rise, -1))
    widest = np.where(height < _QUIET * rise.max(), _WIDEST_QUIET_STEP, _WIDEST_STEP)
    usual = float(np.median(steps))
    even = np.mean(np.abs(steps - usual) < 0.01 * usual) > 0.9
    return np.minimum(widest, _GAP * usual) if even else widest


def _require_pascal(pressure: Array) -> None:
    peak, least = float(pressure.max()), float(pressure.min())
    if not _LOWEST_PEAK < peak < _HIGHEST_PEAK:
        raise InputError(
            f"The trace peaks at {peak:.3g} Pa, which no engine does; is its unit right?",
            hint="1 bar is 100 000 Pa, 1 psi 6895 Pa.",
        )
    if least <= 0:
        raise InputError(
            f"The trace falls to {least:.3g} Pa, and an absolute pressure stays above zero.",
            hint="Say which pressure it is to be pegged to.",
        )


def _monotone(x: Array, y: Array, period: float, wanted: Array) -> Array:
    """Return a periodic curve through points, without overshoot, at the wanted places."""
    x = np.concatenate([x[-2:] - period, x, x[:2] + period])
    y = np.concatenate([y[-2:], y, y[:2]])
    width = np.diff(x)
    chord = np.diff(y) / width
    left, right = 2 * width[1:] + width[:-1], width[1:] + 2 * width[:-1]
    same = chord[:-1] * chord[1:] > 0
    safe = np.where(same, chord[:-1], 1.0), np.where(same, chord[1:], 1.0)
    slope = np.where(same, (left + right) / (left / safe[0] + right / safe[1]), 0.0)
    slope = np.concatenate([[0.0], slope, [0.0]])
    place = np.clip(np.searchsorted(x, wanted, side="right") - 1, 0, width.size - 1)
    h = width[place]
    s = (wanted - x[place]) / h
    return np.asarray(
        (1 + 2 * s) * (1 - s) ** 2 * y[place]
        + s * (1 - s) ** 2 * h * slope[place]
        + s**2 * (3 - 2 * s) * y[place + 1]
        + s**2 * (s - 1) * h * slope[place + 1]
    )
