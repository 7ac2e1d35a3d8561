"""What the readings of a feature say: which of them count, and the size they give."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec

from bedplate.engine import Engine, Feature
from bedplate.errors import NotPossibleError
from bedplate.metrology import (
    Bench,
    Doubt,
    Size,
    doubts,
    reduction_doubt,
    scatter_doubt,
    size_of,
    standard_uncertainty,
)
from bedplate.metrology.affine import AffineScalarFunc
from bedplate.record.entries import ComparatorSet, GaugeRegistered, Reading
from bedplate.shop.dependence import renewals
from bedplate.shop.facts import Facts
from bedplate.shop.model import FeatureState, GaugeState, ReadingState, State
from bedplate.shop.wear import wear_of

COUNTS, WITHDRAWN, STALE = "counts", "withdrawn", "stale"
"""How a reading stands."""


class _Taken(msgspec.Struct, frozen=True, gc=False):
    """A reading, the size it gives (None if that cannot be told), and how it stands.

    :param counting: the size, None where it does not count
    """

    number: int
    entry: Reading
    value: AffineScalarFunc | None
    standing: str
    why: str
    counting: AffineScalarFunc | None = None


class Sizing:
    """Sizes the features of one build, as its gauges and its reworks stand.

    :param tolerances: by feature id, the narrowest tolerance that rests on it, m; None if none does
    :param previous: state of the build that the engine was before, for wear
    """

    def __init__(
        self,
        engine: Engine,
        facts: Facts,
        gauges: dict[str, GaugeState],
        tolerances: dict[str, float | None],
        previous: State | None,
    ) -> None:
        self._coverage = engine.measuring.coverage
        self._facts = facts
        self._gauges = gauges
        self._tolerances = tolerances
        self._previous = previous
        self._renewed_at = renewals(engine, facts)
        self._bench = Bench(
            engine.measuring,
            engine.materials,
            [
                (n.number, n.entry)
                for n in facts.gauges
                if facts.stands(n) and isinstance(n.entry, GaugeRegistered)
            ],
            [
                (n.number, n.entry.id, n.entry)
                for n in facts.settings
                if facts.stands(n) and isinstance(n.entry, ComparatorSet)
            ],
        )

    def state(self, feature: Feature) -> FeatureState:
        """Return what is known of a feature."""
        taken = self._taken(feature)
        measured = [
            (t.number, t.entry.station, t.counting) for t in taken if t.counting is not None
        ]
        size = size_of(feature, measured) if measured else None
        wear, note = wear_of(feature, size, self._previous)
        return FeatureState(
            feature=feature,
            size=size,
            expanded=self._expanded(size.mean if size else None),
            expanded_out_of_round=self._expanded(size.out_of_round if size else None),
            expanded_taper=self._expanded(size.taper if size else None),
            readings=self._readings(feature, taken),
            stale=size is None and any(t.standing == STALE for t in taken),
            wear=wear,
            wear_note=note,
            reduction=self._reduction(feature, taken),
            doubts=(*self._scatter(size, taken), *self._unreduced(feature, taken)),
        )

    def _expanded(self, value: AffineScalarFunc | None) -> float | None:
        return None if value is None else self._coverage * standard_uncertainty(value)

    def _taken(self, feature: Feature) -> list[_Taken]:
        stations = {station.id for station in feature.stations}
        renewed = self._renewed_at.get(feature.id, (0, ""))
        return [
            self._standing(row.number, row.entry, feature, stations, renewed)
            for row in self._facts.readings.get(feature.id, ())
            if isinstance(row.entry, Reading)
        ]

    def _standing(
        self,
        number: int,
        entry: Reading,
        feature: Feature,
        stations: set[str],
        renewed: tuple[int, str],
    ) -> _Taken:
        back = self._facts.taken_back.get(entry.id)
        try:
            value = self._bench.measure(number, entry, feature)
        except NotPossibleError as error:
            why = back.reason if back else error.sentence
            return _Taken(number, entry, None, WITHDRAWN if back else STALE, why)
        if back:
            return _Taken(number, entry, value, WITHDRAWN, back.reason)
        if entry.station not in stations:
            return _Taken(number, entry, value, STALE, "the engine file has no such station now")
        if number < renewed[0]:
            return _Taken(number, entry, value, STALE, renewed[1])
        return _Taken(number, entry, value, COUNTS, "", value)

    def _readings(self, feature: Feature, taken: Sequence[_Taken]) -> tuple[ReadingState, ...]:
        sizes: dict[str, list[tuple[int, float]]] = {}
        for t in taken:
            if t.counting is not None:
                row = (t.number, float(t.counting.nominal_value))
                sizes.setdefault(t.entry.station, []).append(row)
        others = {
            station: [size for at, rows in sizes.items() if at != station for _, size in rows]
            for station in sizes
        }
        return tuple(
            ReadingState(
                number=t.number,
                id=t.entry.id,
                feature=t.entry.feature,
                station=t.entry.station,
                gauge=t.entry.gauge,
                text=t.entry.value.text,
                size=None if t.value is None else float(t.value.nominal_value),
                at=t.entry.at,
                by=t.entry.by,
                condition=t.entry.condition,
                standing=t.standing,
                why=t.why,
                doubts=self._doubts(feature, t, sizes, others),
            )
            for t in taken
        )

    def _doubts(
        self,
        feature: Feature,
        taken: _Taken,
        sizes: Mapping[str, Sequence[tuple[int, float]]],
        others: Mapping[str, Sequence[float]],
    ) -> tuple[Doubt, ...]:
        held = self._gauges.get(taken.entry.gauge)
        if taken.counting is None or held is None:
            return ()
        entry, gauge = taken.entry, held.gauge
        return doubts(
            entry,
            float(taken.counting.nominal_value),
            feature,
            gauge,
            repeats=[size for n, size in sizes[entry.station] if n != taken.number],
            others=others[entry.station],
            today_overdue=bool(gauge.due) and gauge.due < entry.at[:10],
            tolerance=self._tolerances.get(feature.id),
        )

    def _scatter(self, size: Size | None, taken: Sequence[_Taken]) -> tuple[Doubt, ...]:
        used = {t.entry.gauge for t in taken if t.standing == COUNTS}
        stated = [self._gauges[g].gauge.repeatability.si for g in used if g in self._gauges]
        if size is None or not stated:
            return ()
        doubt = scatter_doubt(size, max(stated))
        return () if doubt is None else (doubt,)

    def _unreduced(self, feature: Feature, taken: Sequence[_Taken]) -> tuple[Doubt, ...]:
        doubt = reduction_doubt(
            self._bench.unreduced(t.entry, feature) for t in taken if t.standing == COUNTS
        )
        return () if doubt is None else (doubt,)

    def _reduction(self, feature: Feature, taken: Sequence[_Taken]) -> float | None:
        moves = [
            move
            for t in taken
            if t.standing == COUNTS
            and t.entry.part_temperature is not None
            and (move := self._bench.reduction(t.entry, feature)) is not None
        ]
        return sum(moves) / len(moves) if moves else None
