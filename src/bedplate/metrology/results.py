"""What measuring gives: sizes with uncertainty, verdicts, doubts; named as in GUM and VIM."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bedplate.metrology.affine import AffineScalarFunc


class Verdict(StrEnum):
    """ISO 14253-1, and the state before it."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    UNDECIDED = "undecided"
    NOT_MEASURED = "not measured"


@dataclass(frozen=True, slots=True)
class StationValue:
    """The value of one station: the mean of its readings that still stand.

    :param value: m, with its sources of uncertainty
    :param readings: record numbers of the readings in it, oldest first
    :param values: each reading's size, m, in the same order
    """

    station: str
    value: AffineScalarFunc
    readings: tuple[int, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Size:
    """Size and form of a feature over its stations (ISO 14405-1 two-point sizes).

    :param mean: mean of the stations, m
    :param out_of_round: greatest less least over directions within one section, the worst section,
        m; None with fewer than two directions in any section
    :param taper: greatest less least over sections along one direction, the worst direction, m
    :param complete: every station of the feature that was asked for has a value
    """

    mean: AffineScalarFunc
    least: AffineScalarFunc
    greatest: AffineScalarFunc
    out_of_round: AffineScalarFunc | None
    taper: AffineScalarFunc | None
    stations: tuple[StationValue, ...]
    complete: bool


@dataclass(frozen=True, slots=True)
class Contribution:
    """One line of an uncertainty budget.

    :param source: 'calibration of mic-50-75', 'setting 12 of dbg-1: zero', 'reading 31:
        repeatability'
    :param amount: standard uncertainty of the result from this source, m, with its sign
    :param share: of the variance of the result, 0 to 1
    :param shared: True if more readings would not average it out: other readings rest on it too
    """

    source: str
    amount: float
    shared: bool = False
    share: float = 0.0


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict and what would settle it.

    :param expanded: expanded uncertainty U = k·u of the value that was nearest its limit
    :param readings_needed: more readings of the same kind that would decide, None if none can
    :param gauge_needed: greatest expanded uncertainty U of the result that would decide, m; None
        if decided, and where the value lies on its limit, so that no gauge decides
    :param advice: what would decide, and which value decides where it is no extreme; or empty
    """

    verdict: Verdict
    expanded: float
    readings_needed: int | None
    gauge_needed: float | None
    advice: str


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reading that is questioned, never dropped.

    :param code: 'one turn', 'needle sign', 'inch for metric', 'digits swapped', 'outlying repeat',
        ...
    :param sentence: what looks wrong and what it would be, for the bench
    :param instead: the value it may have been meant as, m; None if there is no guess
    """

    code: str
    sentence: str
    instead: float | None
