"""Every ring in its own bore: what its gap is to be, what it is, what is still to be filed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot

from bedplate.engine import Feature
from bedplate.errors import EntryError, NotPossibleError
from bedplate.metrology import Size, standard_uncertainty
from bedplate.metrology.affine import AffineScalarFunc
from bedplate.metrology.sources import mean
from bedplate.record.entries import Reading, RingFiled
from bedplate.record.standing import standing
from bedplate.shop.dependence import renewals
from bedplate.shop.facts import gather
from bedplate.shop.model import FeatureState, FitState, State
from bedplate.shop.ring_filing import (
    GapReading,
    GapRule,
    Groove,
    Offer,
    RingFiling,
    Section,
    bores_it_suits,
    disagreement,
    offers,
    ring_filing,
    smallest_section,
)
from bedplate.shop.selection.model import Estimate
from bedplate.shop.typed import Stamp, unknown

GROOVES: dict[str, Groove] = {
    "top ring gap": "top",
    "second ring gap": "second",
    "oil rail gap": "oil rail",
}
"""Kinds of gap, and the groove each ring lies in."""


@dataclass(frozen=True, slots=True)
class RingState:
    """One ring, in the light of everything known; sizes in m.

    :param bag: what is written on its bag: cylinder and groove
    :param rule: what its gap is to be; None where nobody says
    :param smallest: the section of ring travel that counts; None where the bore is not measured
    :param target: gap wanted; None where rule or bore is missing
    :param filing: how it stands; None until a gap is measured
    :param missing: what is still needed, in a sentence, '' if nothing
    :param offered: what common practice says for this bore; offered, never used
    :param suits: other cylinders in which a ring that is too big would be right, with its gap there
    """

    feature: Feature
    cylinder: str
    groove: Groove
    bag: str
    rule: GapRule | None
    smallest: Section | None
    target: float | None
    filing: RingFiling | None
    missing: str
    offered: tuple[Offer, ...]
    suits: tuple[tuple[str, float], ...] = ()

    @property
    def apart(self) -> float:
        """Return how far common practice disagrees with itself, m."""
        return disagreement(self.offered)


def rings_of(state: State) -> tuple[RingState, ...]:
    """Return every ring whose gap the engine file measures, by cylinder, the top one first."""
    return tuple(_Rings(state).all())


class _Rings:
    def __init__(self, state: State) -> None:
        self._state = state
        self._standing = standing(state.entries)
        self._renewed = renewals(state.engine, gather(state.entries))
        self._sections = {c.label: self._smallest(c.label) for c in state.engine.layout.cylinders}

    def all(self) -> Iterator[RingState]:
        features = self._state.engine.features
        for cylinder in self._state.engine.layout.cylinders:
            for kind, groove in GROOVES.items():
                name = f"{kind.replace(' ', '-')}-{cylinder.label}"
                if name in features:
                    yield self._ring(features[name], cylinder.label, groove)

    def _ring(self, feature: Feature, cylinder: str, groove: Groove) -> RingState:
        found = self._sections[cylinder]
        smallest = None if isinstance(found, str) else found
        rule = self._rule(feature, smallest, groove)
        bag = f"{cylinder} {groove}"
        missing = found if isinstance(found, str) else ""
        if rule is None:
            missing = "neither a [[ring]] table nor a target says what its gap is to be"
        filing, suits = None, tuple[tuple[str, float], ...]()
        if smallest is not None and rule is not None:
            readings, step = self._readings(feature, cylinder, smallest)
            if readings:
                filing = ring_filing(bag, smallest, rule, readings, feeler_step=step)
                if filing.standing == "too big":
                    suits = self._suits(readings[-1], rule, cylinder, step)
            else:
                missing = "its gap is not measured yet"
        return RingState(
            feature=feature,
            cylinder=cylinder,
            groove=groove,
            bag=bag,
            rule=rule,
            smallest=smallest,
            target=None if smallest is None or rule is None else rule.target(smallest.bore.value),
            filing=filing,
            missing=missing,
            offered=() if smallest is None else offers(smallest.bore.value, groove),
            suits=suits,
        )

    def _suits(
        self, reading: GapReading, rule: GapRule, cylinder: str, step: float
    ) -> tuple[tuple[str, float], ...]:
        bores = {
            label: section.bore.value
            for label, section in self._sections.items()
            if label != cylinder and not isinstance(section, str)
        }
        return bores_it_suits(reading, rule, bores, tolerance=step)

    def _rule(self, feature: Feature, smallest: Section | None, groove: Groove) -> GapRule | None:
        fit = self._state.fits.get(feature.id)
        most = fit.fit.limits[0].range.high if fit else None
        for said in self._state.engine.machining.rings:
            if said.gap != feature.kind:
                continue
            share = None if most is None or smallest is None else most / smallest.bore.value
            if said.factor is not None:
                most_share = share if share is None or share >= said.factor else None
                return GapRule(feature.kind, groove, said.source, said.factor, None, most_share)
            if said.length is not None:
                above = most if most is None or most >= said.length else None
                return GapRule(feature.kind, groove, said.source, None, said.length, above)
        return self._by_target(feature, fit, most, groove)

    def _by_target(
        self, feature: Feature, fit: FitState | None, most: float | None, groove: Groove
    ) -> GapRule | None:
        if fit is None or fit.fit.target is None:
            return None
        return GapRule(feature.kind, groove, fit.fit.source, None, fit.fit.target.value, most)

    def _smallest(self, cylinder: str) -> Section | str:
        """Return the smallest section of a bore that rings pass, or what is missing."""
        held = self._state.features.get(f"cylinder-bore-{cylinder}")
        if held is None:
            return "the engine file does not measure its bore"
        if held.size is None or not held.size.complete:
            why = self._renewed.get(held.feature.id, (0, ""))[1]
            again = f" again: {why}" if held.stale and why else ""
            return f"{held.feature.name} is to be measured{again}"
        sections = _sections(held, held.size)
        depths = [section.depth for section in sections]
        return smallest_section(sections, (min(depths), max(depths)))

    def _readings(
        self, feature: Feature, cylinder: str, smallest: Section
    ) -> tuple[list[GapReading], float]:
        """Return the readings of a gap since its bore was last machined, and the feelers' step.

        The ring is taken to lie at the smallest section when its gap is measured.
        """
        since = self._renewed.get(f"cylinder-bore-{cylinder}", (0, ""))[0]
        found: list[GapReading] = []
        strokes, step = 0, 0.0
        for row in self._standing:
            entry = row.entry
            if isinstance(entry, RingFiled) and entry.feature == feature.id:
                strokes += entry.strokes
            elif isinstance(entry, Reading) and entry.feature == feature.id and row.number > since:
                gauge = self._state.gauges.get(entry.gauge)
                if gauge is None:
                    continue
                figures = gauge.gauge
                step = figures.resolution.si
                unsure = hypot(
                    figures.expanded_uncertainty.si / figures.coverage, figures.repeatability.si
                )
                gap = Estimate(entry.value.si, unsure)
                found.append(GapReading(gap, smallest.bore.value, strokes))
        return found, step or 1e-5


def _sections(held: FeatureState, size: Size) -> Sequence[Section]:
    """Return a bore's sections by depth, each the mean of its directions."""
    where = {station.id: station.depth for station in held.feature.stations}
    by_depth: dict[float, list[AffineScalarFunc]] = {}
    for station in size.stations:
        by_depth.setdefault(where.get(station.station) or 0.0, []).append(station.value)
    sections = []
    for depth, values in by_depth.items():
        middle = mean(values)
        unsure = standard_uncertainty(middle)
        sections.append(Section(depth, Estimate(float(middle.nominal_value), unsure)))
    return sections


def ring_filed(stamp: Stamp, state: State, feature: str, strokes: int, in_hand: str) -> RingFiled:
    """Return the entry for a ring that was filed.

    :param in_hand: what is written on the bag in the hand, '' if it was not looked at
    :raises NotFoundError: there is no such gap
    :raises NotPossibleError: the bag in the hand is another ring's
    """
    rings = {ring.feature.id: ring for ring in rings_of(state)}
    if feature not in rings:
        raise unknown("ring gap", feature, rings)
    ring = rings[feature]
    if strokes < 1:
        sentence = f"{strokes} strokes cannot have been filed."
        raise EntryError(sentence, hint="Count them from 1.")
    if in_hand.strip() and " ".join(in_hand.split()).casefold() != ring.bag.casefold():
        sentence = f"The bag in the hand says '{in_hand.strip()}', and this is ring {ring.bag}."
        raise NotPossibleError(sentence, hint="Put it back; a filed ring fits no other bore.")
    return RingFiled(**stamp, feature=feature, strokes=strokes, bag=ring.bag)
