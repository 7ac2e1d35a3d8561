"""The state of a build: what is known, what rests on what, what is open. Views render this."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import inf

import msgspec

from bedplate.engine.fits import Gate
from bedplate.engine.model import Engine, Feature, Fit
from bedplate.metrology.affine import AffineScalarFunc
from bedplate.metrology.results import Contribution, Doubt, Judgement, Size, Verdict
from bedplate.metrology.sources import budget, standard_uncertainty
from bedplate.quantity import Units
from bedplate.record.entries import Checkpoint, ComparatorSet, GaugeRegistered, Numbered

_SHARPEST = 1e-9
"""m: no bench measures sharper, so a smaller uncertainty does not make a fit tighter."""


class ReadingState(msgspec.Struct, frozen=True, gc=False):
    """A reading in the light of everything after it.

    :param size: the value it gives for the feature, m; None if it could not be worked out
    :param standing: 'counts', 'withdrawn' or 'stale'
    :param why: reason of the withdrawal, or the rework that made it stale
    """

    number: int
    id: str
    feature: str
    station: str
    gauge: str
    text: str
    size: float | None
    at: str
    by: str
    condition: str
    standing: str
    why: str
    doubts: tuple[Doubt, ...]


@dataclass(frozen=True, slots=True)
class FeatureState:
    """What is known of a feature.

    :param size: from the readings that count; None if there are none
    :param expanded, expanded_out_of_round, expanded_taper: U of the mean and of the form, m
    :param stale: it was measured, then reworked, and not measured since
    :param wear: mean less the previous build's mean of the same stations, m; None if unknown
    :param wear_note: sentence on how the two compare (gauges, conditions), '' if there is none
    :param doubts: about its readings taken together: they scatter more than the gauge should
    :param reduction: how far reducing to 20 °C moves (or would move) the mean, m; None if unknown
    """

    feature: Feature
    size: Size | None
    expanded: float | None
    readings: tuple[ReadingState, ...]
    stale: bool
    wear: float | None
    wear_note: str
    reduction: float | None
    doubts: tuple[Doubt, ...] = ()
    expanded_out_of_round: float | None = None
    expanded_taper: float | None = None


@dataclass(frozen=True, slots=True)
class FitState:
    """A fit with its value and verdict.

    :param value, least, greatest: m; None where not measured. An interference is positive where the
        fit's sense is 'interference', a clearance everywhere else
    :param expanded: U of `value`, m
    :param expanded_least, expanded_greatest: how far beyond each extreme the fit may reach: its U,
        or more where another station is known less well
    :param way: index of the way used, None if not measured
    :param rests_on: ids of the features in it
    :param missing: ids of features still to be measured for the nearest way
    :param uncertain: `value` with its sources of uncertainty
    :param stale: True if a feature it rested on was reworked and is not measured since
    :param accepted: reason of a person's acceptance that still holds, '' if none
    :param accepted_by: who accepted it
    :param lapsed: an acceptance no longer holds because a fact under it changed
    """

    fit: Fit
    low: float | None
    high: float | None
    value: float | None
    least: float | None
    greatest: float | None
    expanded: float | None
    expanded_least: float | None
    expanded_greatest: float | None
    judgement: Judgement
    way: int | None
    rests_on: tuple[str, ...]
    missing: tuple[str, ...]
    uncertain: AffineScalarFunc | None
    stale: bool
    accepted: str
    accepted_by: str
    lapsed: bool
    eccentricity: float | None = None

    @property
    def verdict(self) -> Verdict:
        """Return the verdict."""
        return self.judgement.verdict

    @property
    def standard_uncertainty(self) -> float | None:
        """Return the combined standard uncertainty of `value`, m."""
        return None if self.uncertain is None else standard_uncertainty(self.uncertain)

    @property
    def room(self) -> float:
        """Return the least distance to a limit, in expanded uncertainties: tight fits come first.

        Below −1 it is proved outside, above 1 proved inside; infinite where nothing is measured.
        """
        sides = (
            (self.low, self.least, self.expanded_least, 1.0),
            (self.high, self.greatest, self.expanded_greatest, -1.0),
        )
        return min(
            (
                sign * (value - limit) / max(expanded or 0.0, _SHARPEST)
                for limit, value, expanded, sign in sides
                if limit is not None and value is not None
            ),
            default=inf,
        )

    @property
    def budget(self) -> tuple[Contribution, ...]:
        """Return the uncertainty budget of `value`, largest source first."""
        return () if self.uncertain is None else budget(self.uncertain)


class QuestionKind(StrEnum):
    """Why something is open, in the order they are asked within a gate.

    A doubt comes first: what a questioned reading says of a fit may change with its answer.
    """

    DOUBT = "doubt"
    OUTSIDE = "outside"
    LAPSED = "acceptance lapsed"
    STALE = "stale"
    UNDECIDED = "undecided"
    CONDITION = "condition differs"
    ORDER = "shop order"
    SELECTION = "selection"
    NOT_MEASURED = "not measured"
    GAUGE = "gauge"
    FASTENER = "fastener"
    TIGHTENING = "tightening in doubt"
    STEP = "assembly"
    BALANCE = "balance"


@dataclass(frozen=True, slots=True)
class Question:
    """Whatever still stands between the build and a gate.

    :param about: id of the fit, feature or gauge, or 'entry 31'
    :param sentence: what is open and why
    :param to_do: what would close it
    """

    gate: Gate
    kind: QuestionKind
    about: str
    sentence: str
    to_do: str


@dataclass(frozen=True, slots=True)
class GaugeState:
    """A gauge as registered last, and its setting if it is a comparator.

    :param setting: the last setting that stands, with its record number; None if not set
    :param drift: `found` of the last check against the same size, m; None if never checked
    :param doubts: about its settings: a zero that drifted, a master without uncertainty
    :param overdue: its calibration is past due on the day of the record's last entry
    """

    gauge: GaugeRegistered
    number: int
    setting: ComparatorSet | None
    setting_number: int | None
    drift: float | None
    overdue: bool
    readings: int
    doubts: tuple[Doubt, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One reading to take.

    :param serves: ids of fits it would serve
    :param condition: state the parts must be in
    :param done: readings that count at this station
    :param needed: readings wanted at this station (more than one where a verdict needs repeats)
    """

    feature: str
    station: str
    gauge_kind: str
    condition: str
    serves: tuple[str, ...]
    done: int
    needed: int


@dataclass(frozen=True, slots=True)
class PlanGroup:
    """Readings that one gauge takes in one setting: set up once.

    :param title: 'Main journals', 'Cylinder bores'
    :param setting: nominal size to set a comparator to, m; None for an absolute gauge
    :param gauges: ids of registered gauges of that kind, the last used first
    """

    title: str
    gauge_kind: str
    condition: str
    setting: float | None
    gauges: tuple[str, ...]
    steps: tuple[PlanStep, ...]


@dataclass(frozen=True, slots=True)
class State:
    """Everything known of a build: a pure function of its engine file and its record."""

    build: str
    title: str
    engine: Engine
    units: Units
    checkpoint: Checkpoint
    features: dict[str, FeatureState]
    fits: dict[str, FitState]
    gauges: dict[str, GaugeState]
    questions: tuple[Question, ...]
    plan: tuple[PlanGroup, ...]
    entries: tuple[Numbered, ...]
    notes: dict[str, tuple[Numbered, ...]]

    def tally(self) -> dict[str, int]:
        """Return how many fits have each verdict, and how many are stale or accepted."""
        counts = {verdict.value: 0 for verdict in Verdict}
        for fit in self.fits.values():
            counts[fit.verdict.value] += 1
        counts["stale"] = sum(fit.stale for fit in self.fits.values())
        counts["accepted"] = sum(bool(fit.accepted) for fit in self.fits.values())
        return counts
