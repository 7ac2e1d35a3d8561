"""Verdicts by ISO 14253-1: a limit is met, or missed, only when the uncertainty leaves no doubt.

The guard band at each limit is U = k·u of the value that is judged. ISO 14253-1:1998 uses k = 2;
the 2017 edition asks for 95 % conformance probability, k = 1.645 where one limit is near (from
memory). The engine file sets k.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import erf, fsum, isinf, sqrt

from bedplate.metrology.affine import AffineScalarFunc
from bedplate.metrology.results import Judgement, Verdict
from bedplate.metrology.sources import repeated, standard_uncertainty
from bedplate.metrology.worst import NO_RIVALS, Rivals
from bedplate.quantity import Dimension, Units, show_both

MOST_READINGS = 20
"""More readings of a station than this are no advice."""
_FINEST = 0.05
"""A gauge twenty times as good as the result is no advice either (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Side:
    """One extreme against one limit.

    :param room: from the value to the limit, m, positive on the permitted side
    :param expanded: U of the value, m
    """

    value: AffineScalarFunc
    room: float
    expanded: float


def not_measured() -> Judgement:
    """Return the state before any verdict."""
    return Judgement(Verdict.NOT_MEASURED, 0.0, None, None, "")


def judge(
    least: AffineScalarFunc,
    greatest: AffineScalarFunc,
    low: float | None,
    high: float | None,
    *,
    coverage: float,
    rivals: Rivals = NO_RIVALS,
) -> Judgement:
    """Return the verdict on the extremes of a result, and what would settle an undecided one.

    Inside: least − U ≥ low and greatest + U ≤ high. Outside: least + U < low or greatest − U >
    high. Otherwise undecided. U of each extreme is its own, normal and unchanged by the remedy but
    for what more readings average out. Every rival must be inside too, and any may be outside.

    :param least: m; the same value as `greatest` where there is only one
    :param greatest: m
    :param low: limit, m, None where there is none
    :param high: limit, m, None where there is none; without both limits everything is inside
    :param coverage: k, > 0
    :param rivals: values of other stations that are known less well than the extremes
    :returns: lengths in m; `gauge_needed` is None too where the value lies on its limit
    Source: ISO 14253-1:1998, clause 5.
    """
    extremes = _sides((least,), (greatest,), low, high, coverage)
    sides = extremes + _sides(rivals.low, rivals.high, low, high, coverage)
    verdict = _verdict([(side.room, side.expanded) for side in sides])
    nearest = min(sides, key=lambda side: side.room - side.expanded, default=None)
    expanded = nearest.expanded if nearest else coverage * standard_uncertainty(least)
    why = "" if sides == extremes else _why(verdict, extremes, sides)
    if verdict is not Verdict.UNDECIDED:
        return Judgement(verdict, expanded, None, None, why)
    readings = _readings_needed(sides, coverage)
    gauge = _gauge_needed(sides)
    advice = f"{why} {_advice(readings, gauge)}".lstrip()
    return Judgement(verdict, expanded, readings, gauge, advice)


def conformance_probability(
    value: AffineScalarFunc, low: float | None, high: float | None
) -> float:
    """Return the probability that the true value lies within the limits.

    Normal distribution of standard deviation u about the value, no prior knowledge.

    :param value: m
    :param low: m, None where there is no lower limit
    :param high: m, None where there is no upper limit
    :returns: 0 to 1; exactly 0 or 1 where u is 0
    Source: JCGM 106:2012, clause 7.
    """
    spread = standard_uncertainty(value)
    nominal = float(value.nominal_value)

    def below(limit: float) -> float:
        if spread == 0.0 or isinf(limit):
            return 1.0 if nominal <= limit else 0.0
        return 0.5 * (1.0 + erf((limit - nominal) / (spread * sqrt(2.0))))

    upper = 1.0 if high is None else below(high)
    if low is None:
        return upper
    if spread == 0.0:
        return upper if nominal >= low else 0.0
    return max(0.0, upper - below(low))


def _sides(
    least: Sequence[AffineScalarFunc],
    greatest: Sequence[AffineScalarFunc],
    low: float | None,
    high: float | None,
    coverage: float,
) -> tuple[_Side, ...]:
    sides: list[_Side] = []
    for values, limit, sign in ((least, low, 1.0), (greatest, high, -1.0)):
        if limit is not None:
            sides += [
                _Side(
                    value,
                    sign * (float(value.nominal_value) - limit),
                    coverage * standard_uncertainty(value),
                )
                for value in values
            ]
    return tuple(sides)


def _verdict(rooms: Sequence[tuple[float, float]]) -> Verdict:
    """Return the verdict on (room, U) of each side."""
    if any(room < -expanded for room, expanded in rooms):
        return Verdict.OUTSIDE
    if all(room >= expanded for room, expanded in rooms):
        return Verdict.INSIDE
    return Verdict.UNDECIDED


def _why(verdict: Verdict, extremes: Sequence[_Side], sides: Sequence[_Side]) -> str:
    """Say which value decides, '' where the extremes alone have the same verdict."""
    if verdict is _verdict([(side.room, side.expanded) for side in extremes]):
        return ""
    sign = 1.0 if verdict is Verdict.OUTSIDE else -1.0
    side = min(sides, key=lambda side: side.room + sign * side.expanded)
    value, known = (
        show_both(amount, Dimension.LENGTH, Units.METRIC, uncertainty=side.expanded)
        for amount in (float(side.value.nominal_value), side.expanded)
    )
    return f"What decides is no extreme, but {value} at a place known to ±{known}."


def _readings_needed(sides: Sequence[_Side], coverage: float) -> int | None:
    """Return how many more readings of each station decide, if no value moves."""
    parts = []
    for side in sides:
        stations = repeated(side.value)
        lasting = (side.expanded / coverage) ** 2 - fsum(variance for variance, _ in stations)
        parts.append((side.room, max(0.0, lasting), stations))

    def decides(more: int) -> bool:
        rooms = [
            (room, coverage * sqrt(lasting + fsum(v * n / (n + more) for v, n in stations)))
            for room, lasting, stations in parts
        ]
        return _verdict(rooms) is not Verdict.UNDECIDED

    # What decides once decides with more readings too, so the last is asked before the first.
    if not decides(MOST_READINGS):
        return None
    return next(more for more in range(1, MOST_READINGS + 1) if decides(more))


def _gauge_needed(sides: Sequence[_Side]) -> float | None:
    """Return the greatest U that would decide, None where the value is as good as on its limit."""
    deciding = min(
        (side for side in sides if side.room < side.expanded), key=lambda side: side.room
    )
    needed = abs(deciding.room)
    return needed if needed > _FINEST * deciding.expanded else None


def _advice(readings: int | None, gauge: float | None) -> str:
    if readings is None and gauge is None:
        return "It lies on the limit: no gauge decides."
    better = ""
    if gauge is not None:
        figure = show_both(gauge, Dimension.LENGTH, Units.METRIC, uncertainty=gauge)
        better = f"a result known to ±{figure} or better"
    if readings is None:
        return f"More readings do not decide; {better} would."
    more = "one more reading" if readings == 1 else f"{readings} more readings"
    return f"{more[0].upper()}{more[1:]} of each station would decide" + (
        f", or {better}." if better else "."
    )
