"""The gauges of a build and how each is set."""

from __future__ import annotations

from typing import Required, TypedDict

from bedplate.errors import EntryError
from bedplate.metrology import Doubt, setting_doubts
from bedplate.metrology.doubts import units_of
from bedplate.quantity import Dimension, Units, parse
from bedplate.record.entries import ComparatorSet, GaugeRegistered, Numbered
from bedplate.shop.facts import Facts
from bedplate.shop.model import GaugeState
from bedplate.shop.offers import GaugeOffer, gauge_offers
from bedplate.shop.typed import (
    SLUG,
    Stamp,
    needed,
    typed_as,
    typed_day,
    typed_figure,
    typed_length,
)

_LEAST_COVERAGE, _MOST_COVERAGE = 1, 4


class GaugeFigures(TypedDict, total=False):
    """What a person says of a gauge, as typed; the meaning of each is GaugeRegistered's."""

    gauge_kind: Required[str]
    resolution: Required[str]
    expanded_uncertainty: Required[str]
    repeatability: Required[str]
    name: str
    comparator: bool | None
    reads_in: str
    bias: str
    coverage: float
    dial_turn: str
    expansion: str
    calibrated: str
    due: str
    source: str


def registration(stamp: Stamp, gauge: str, figures: GaugeFigures, units: Units) -> GaugeRegistered:
    """Return the entry that registers a gauge.

    :param units: of the engine, in which usual figures are offered unless the gauge reads in others

    :raises InputError: a figure is missing, is no length, or makes no sense
    """
    if not SLUG.match(gauge):
        sentence = f"'{gauge}' cannot name a gauge."
        raise EntryError(sentence, hint="Use small letters, digits, hyphens, as in 'mic-50-75'.")
    kind = figures["gauge_kind"]
    needed(kind, "what kind of gauge it is")
    reads_in = figures.get("reads_in", "")
    if reads_in:
        parse(f"1 {reads_in}", Dimension.LENGTH)
    coverage = figures.get("coverage", 2.0)
    if not _LEAST_COVERAGE <= coverage <= _MOST_COVERAGE:
        sentence = f"A coverage factor of {coverage:g} is not usable."
        raise EntryError(sentence, hint="Calibration sheets use k = 2, seldom 3.")
    offer = usual_figures(kind, reads_in, units)
    comparator = figures.get("comparator")
    bias, turn = figures.get("bias", ""), figures.get("dial_turn", "")
    expansion = figures.get("expansion", "")
    return GaugeRegistered(
        **stamp,
        gauge=gauge,
        name=figures.get("name") or f"{kind} {gauge}",
        gauge_kind=kind,
        comparator=(offer.comparator if offer else False) if comparator is None else comparator,
        resolution=typed_figure(
            figures["resolution"], "its resolution", offer.resolution if offer else "", gauge
        ),
        expanded_uncertainty=typed_figure(
            figures["expanded_uncertainty"],
            f"its expanded uncertainty (k = {coverage:g})",
            offer.expanded_uncertainty if offer else "",
            gauge,
        ),
        repeatability=typed_figure(
            figures["repeatability"],
            "its repeatability",
            offer.repeatability if offer else "",
            gauge,
        ),
        reads_in=reads_in,
        bias=typed_length(bias, reads_in) if bias else None,
        coverage=coverage,
        dial_turn=typed_length(turn, reads_in) if turn else None,
        expansion=typed_as(expansion, Dimension.EXPANSION) if expansion else None,
        calibrated=typed_day(figures.get("calibrated", ""), "calibrated"),
        due=typed_day(figures.get("due", ""), "due"),
        source=figures.get("source", ""),
    )


def usual_figures(kind: str, reads_in: str, units: Units) -> GaugeOffer | None:
    """Return what is usual for a kind of gauge, in the units that it reads in.

    :param reads_in: unit of a bare number of the gauge, '' if none
    :param units: of the engine, for a gauge that says none
    """
    return gauge_offers(units_of("1", reads_in) if reads_in else units).get(kind)


def gauge_states(facts: Facts) -> dict[str, GaugeState]:
    """Return each gauge as it was registered last, with its last setting."""
    today = facts.entries[-1].entry.at[:10]
    states: dict[str, GaugeState] = {}
    for row in facts.gauges:
        entry = row.entry
        if isinstance(entry, GaugeRegistered) and facts.stands(row):
            setting = _last_setting(facts, entry.gauge)
            held = setting.entry if setting else None
            standing = held if isinstance(held, ComparatorSet) else None
            states[entry.gauge] = GaugeState(
                gauge=entry,
                number=row.number,
                setting=standing,
                setting_number=setting.number if setting else None,
                drift=standing.found.si if standing and standing.found else None,
                overdue=bool(entry.due) and entry.due < today,
                readings=0,
                doubts=_doubts(facts, entry),
            )
    return states


def _doubts(facts: Facts, gauge: GaugeRegistered) -> tuple[Doubt, ...]:
    return tuple(
        doubt
        for row in facts.settings
        if isinstance(row.entry, ComparatorSet)
        and row.entry.gauge == gauge.gauge
        and facts.stands(row)
        for doubt in setting_doubts(row.entry, gauge)
    )


def _last_setting(facts: Facts, gauge: str) -> Numbered | None:
    for row in reversed(facts.settings):
        entry = row.entry
        if isinstance(entry, ComparatorSet) and entry.gauge == gauge and facts.stands(row):
            return row
    return None
