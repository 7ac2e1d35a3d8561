"""What a use case answers: short, and the same for page, terminal and JSON."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from bedplate.engine import Feature
from bedplate.quantity import Dimension, Quantity, Units, show_both, words
from bedplate.record.entries import Numbered
from bedplate.shop.model import FitState, PlanStep, ReadingState
from bedplate.shop.sentences import in_both
from bedplate.shop.stations import name_at


class Receipt(msgspec.Struct, frozen=True, kw_only=True):
    """An entry was taken, durably.

    :param repeated: the same id had been taken before; nothing was added
    """

    build: str
    id: str
    number: int
    hash: str
    repeated: bool = False


class DoubtBrief(msgspec.Struct, frozen=True, kw_only=True):
    """A question about a reading."""

    code: str
    sentence: str
    instead: float | None


class FitBrief(msgspec.Struct, frozen=True, kw_only=True):
    """A fit, with its verdict; lengths in m, and `shown` in the builder's units and the other."""

    id: str
    name: str
    verdict: str
    value: float | None
    least: float | None
    greatest: float | None
    expanded: float | None
    low: float | None
    high: float | None
    shown: str
    advice: str
    stale: bool
    missing: tuple[str, ...]


class NextStation(msgspec.Struct, frozen=True, kw_only=True):
    """Where the plan goes on."""

    feature: str
    station: str
    name: str


class ReadingReceipt(Receipt, frozen=True, kw_only=True):
    """A reading was taken: what it says, and what it decided.

    :param echo: what was typed, in both units
    :param words: how it is said aloud, '' where there is no short way
    :param size: of the feature at that station, m; `shown` is the same in both units
    """

    feature: str
    station: str
    name: str
    echo: str
    words: str
    size: float | None
    shown: str
    doubts: tuple[DoubtBrief, ...]
    fits: tuple[FitBrief, ...]
    next: NextStation | None


class BuildBrief(msgspec.Struct, frozen=True, kw_only=True):
    """A build in the list of builds."""

    build: str
    title: str
    entries: int
    started: str
    last: str


def fit_brief(fit: FitState, units: Units) -> FitBrief:
    """Return the short form of a fit."""
    shown = ""
    if fit.value is not None:
        shown = show_both(fit.value, Dimension.LENGTH, units, uncertainty=fit.expanded)
    return FitBrief(
        id=fit.fit.id,
        name=fit.fit.name,
        verdict=fit.verdict.value,
        value=fit.value,
        least=fit.least,
        greatest=fit.greatest,
        expanded=fit.expanded,
        low=fit.low,
        high=fit.high,
        shown=shown,
        advice=fit.judgement.advice,
        stale=fit.stale,
        missing=fit.missing,
    )


def reading_receipt(
    receipt: Receipt,
    typed: Quantity,
    reading: ReadingState,
    feature: Feature,
    fits: Iterable[FitState],
    following: tuple[PlanStep, Feature] | None,
    units: Units,
    *,
    deviates: bool,
) -> ReadingReceipt:
    """Return the answer to a reading.

    :param typed: what was typed: the size, or with a comparator the deviation
    :param deviates: it was read on a comparator
    :param following: the next step of the plan with its feature
    """
    size = reading.size
    shown = "" if size is None else show_both(size, Dimension.LENGTH, units)
    return ReadingReceipt(
        build=receipt.build,
        id=receipt.id,
        number=receipt.number,
        hash=receipt.hash,
        repeated=receipt.repeated,
        feature=feature.id,
        station=reading.station,
        name=name_at(feature, reading.station),
        echo=in_both(typed.value, units, resolution=typed.resolution, signed=deviates),
        words=words(typed.value, units),
        size=size,
        shown=shown,
        doubts=tuple(
            DoubtBrief(code=d.code, sentence=d.sentence, instead=d.instead) for d in reading.doubts
        ),
        fits=tuple(fit_brief(fit, units) for fit in fits),
        next=_next_station(following),
    )


def receipt_of(build: str, numbered: Numbered, *, repeated: bool) -> Receipt:
    """Return the receipt of an entry."""
    return Receipt(
        build=build,
        id=numbered.entry.id,
        number=numbered.number,
        hash=numbered.hash,
        repeated=repeated,
    )


def _next_station(following: tuple[PlanStep, Feature] | None) -> NextStation | None:
    if following is None:
        return None
    step, feature = following
    name = name_at(feature, step.station)
    return NextStation(feature=step.feature, station=step.station, name=name)
