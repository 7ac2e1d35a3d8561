"""The state of a build, worked out from its record and kept up to date entry by entry.

`state_of` is the definition: a pure function of the record. A `Reckoning` gives the same answer
while entries arrive, and works out again only what the new entry touches.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from bedplate.engine import Engine, Feature, read_engine
from bedplate.errors import DamagedError, NotPossibleError
from bedplate.metrology import (
    Bench,
    Doubt,
    Size,
    Verdict,
    budget,
    doubts,
    not_measured,
    scatter_doubt,
    size_of,
    standard_uncertainty,
)
from bedplate.metrology.affine import AffineScalarFunc
from bedplate.record.entries import (
    Accepted,
    AnyEntry,
    BuildStarted,
    Checkpoint,
    ComparatorSet,
    EngineRevised,
    GaugeRegistered,
    Numbered,
    PartReceived,
    Reading,
    Reworked,
    Withdrawn,
)
from bedplate.shop.dependence import renewals
from bedplate.shop.evaluate import evaluate, lacking
from bedplate.shop.facts import Facts, gather
from bedplate.shop.gauges import gauge_states
from bedplate.shop.model import (
    FeatureState,
    FitState,
    GaugeState,
    PlanGroup,
    PlanStep,
    ReadingState,
    State,
)
from bedplate.shop.plan import plan_of
from bedplate.shop.questions import questions_of
from bedplate.shop.wear import wear_of

_SAME = 1e-12
"""m: two values of a fit that differ by less are the same."""


def state_of(entries: Iterable[Numbered], *, previous: State | None = None) -> State:
    """Return the state of a build: a pure function of its record.

    :param entries: the whole record, in order; the engine file is in it
    :param previous: state of the build that the engine was before, for wear
    :raises EngineFileError: the engine file in the record cannot be used
    :raises DamagedError: the record does not begin with its build
    """
    return Reckoning(gather(entries), previous=previous).state()


class Reckoning:
    """A state that entries can be added to."""

    def __init__(self, facts: Facts, *, previous: State | None = None) -> None:
        """Work everything out from the facts.

        :raises DamagedError: the record does not begin with its build
        """
        if not facts.engine_text:
            sentence = "The record does not begin with 'build started'."
            raise DamagedError(sentence, hint="Run 'bedplate verify' on it.")
        self._facts = facts
        self._previous = previous
        self._state: State | None = None
        self._reckon()

    def state(self) -> State:
        """Return the state as it is now."""
        if self._state is None:
            self._state = self._assemble()
        return self._state

    @property
    def count(self) -> int:
        """Return the number of the last entry that is in it."""
        return len(self._facts.entries)

    @property
    def engine(self) -> Engine:
        """Return the engine as it is meant."""
        return self._engine

    @property
    def engine_text(self) -> str:
        """Return the engine file, as it was given last."""
        return self._facts.engine_text

    @property
    def gauges(self) -> dict[str, GaugeState]:
        """Return the gauges."""
        return self._gauges

    @property
    def entries(self) -> Sequence[Numbered]:
        """Return every entry."""
        return self._facts.entries

    def entry(self, id: str) -> AnyEntry | None:
        """Return the entry with an id."""
        numbered = self._facts.by_id.get(id)
        return numbered.entry if numbered else None

    def feature(self, name: str) -> FeatureState:
        """Return what is known of a feature."""
        return self._features[name]

    def add(self, numbered: Numbered) -> None:
        """Take one more entry of the record in."""
        self._facts.add(numbered)
        self._state = None
        entry = numbered.entry
        match entry:
            case Reading():
                self._renew((entry.feature,))
            case Withdrawn():
                target = self._facts.by_id[entry.target].entry
                if isinstance(target, Reading):
                    self._renew((target.feature,))
                elif isinstance(target, Accepted):
                    self._renew_fits((target.fit,))
                else:
                    self._reckon()
            case Accepted():
                self._renew_fits((entry.fit,))
            case BuildStarted() | EngineRevised() | GaugeRegistered() | ComparatorSet():
                self._reckon()
            case Reworked() | PartReceived():
                self._reckon()
            case _:
                pass

    def _reckon(self) -> None:
        facts = self._facts
        self._engine: Engine = read_engine(facts.engine_text, "the engine file of this build")
        standing = [n for n in facts.settings if facts.stands(n)]
        self._bench = Bench(
            self._engine.measuring,
            self._engine.materials,
            [
                (n.number, n.entry)
                for n in facts.gauges
                if facts.stands(n) and isinstance(n.entry, GaugeRegistered)
            ],
            [
                (n.number, n.entry.id, n.entry)
                for n in standing
                if isinstance(n.entry, ComparatorSet)
            ],
        )
        self._gauges = gauge_states(facts)
        self._renewed_at = renewals(self._engine, facts)
        self._features: dict[str, FeatureState] = {}
        self._fits: dict[str, FitState] = {}
        self._resting: dict[str, list[str]] = {}
        for fit in self._engine.fits.values():
            for name in {n for way in fit.ways for n in (way.space, *way.bodies)}:
                self._resting.setdefault(name, []).append(fit.id)
        self._sizes: dict[str, Size] = {}
        self._steps: dict[str, tuple[PlanStep, ...]] = {}
        for name, feature in self._engine.features.items():
            self._feature(name, feature)
        self._renew_fits(self._engine.fits)

    def _renew(self, names: Iterable[str]) -> None:
        fits: dict[str, None] = {}
        for name in names:
            feature = self._engine.features.get(name)
            if feature is not None:
                self._feature(name, feature)
                fits.update(dict.fromkeys(self._resting.get(name, ())))
        self._renew_fits(fits)

    def _renew_fits(self, names: Iterable[str]) -> None:
        for name in names:
            if name in self._engine.fits:
                self._fits[name] = self._fit(name)
                for feature in {n for w in self._engine.fits[name].ways for n in w.features}:
                    self._steps.pop(feature, None)

    def _feature(self, name: str, feature: Feature) -> None:
        state = self._feature_state(feature)
        self._features[name] = state
        if state.size is None:
            self._sizes.pop(name, None)
        else:
            self._sizes[name] = state.size

    def _feature_state(self, feature: Feature) -> FeatureState:
        rows = self._facts.readings.get(feature.id, [])
        stations = {station.id for station in feature.stations}
        renewed = self._renewed_at.get(feature.id, (0, ""))
        measured: list[tuple[int, str, AffineScalarFunc]] = []
        readings: list[tuple[Numbered, Reading, AffineScalarFunc | None, str, str]] = []
        for row in rows:
            entry = row.entry
            if not isinstance(entry, Reading):
                continue
            value, standing, why = self._standing(row, entry, feature, stations, renewed)
            readings.append((row, entry, value, standing, why))
            if standing == "counts" and value is not None:
                measured.append((row.number, entry.station, value))
        size = size_of(feature, measured) if measured else None
        coverage = self._engine.measuring.coverage
        wear, note = wear_of(feature, size, self._previous)
        return FeatureState(
            feature=feature,
            size=size,
            expanded=None if size is None else coverage * standard_uncertainty(size.mean),
            readings=self._reading_states(feature, readings),
            stale=size is None and any(standing == "stale" for *_, standing, _ in readings),
            wear=wear,
            wear_note=note,
            reduction=self._reduction(feature, readings),
            doubts=self._scatter(size, readings),
        )

    def _scatter(
        self,
        size: Size | None,
        readings: Sequence[tuple[Numbered, Reading, AffineScalarFunc | None, str, str]],
    ) -> tuple[Doubt, ...]:
        used = {entry.gauge for _, entry, _, standing, _ in readings if standing == "counts"}
        stated = [self._gauges[g].gauge.repeatability.si for g in used if g in self._gauges]
        if size is None or not stated:
            return ()
        doubt = scatter_doubt(size, max(stated))
        return () if doubt is None else (doubt,)

    def _standing(
        self,
        row: Numbered,
        entry: Reading,
        feature: Feature,
        stations: set[str],
        renewed: tuple[int, str],
    ) -> tuple[AffineScalarFunc | None, str, str]:
        """Return the value of a reading, whether it counts, and if not, why."""
        taken = self._facts.taken_back.get(entry.id)
        try:
            value = self._bench.measure(row.number, entry, feature)
        except NotPossibleError as error:
            why = taken.reason if taken else error.sentence
            return None, "withdrawn" if taken else "stale", why
        if taken:
            return value, "withdrawn", taken.reason
        if entry.station not in stations:
            return value, "stale", "the engine file no longer has this station"
        if row.number < renewed[0]:
            return value, "stale", renewed[1]
        return value, "counts", ""

    def _reading_states(
        self,
        feature: Feature,
        readings: Sequence[tuple[Numbered, Reading, AffineScalarFunc | None, str, str]],
    ) -> tuple[ReadingState, ...]:
        sizes = [
            (row.number, entry.station, float(value.nominal_value))
            for row, entry, value, standing, _ in readings
            if standing == "counts" and value is not None
        ]
        tolerance = self._tolerance(feature.id)
        states: list[ReadingState] = []
        for row, entry, value, standing, why in readings:
            size = None if value is None else float(value.nominal_value)
            gauge = self._gauges.get(entry.gauge)
            doubted = (
                doubts(
                    entry,
                    size,
                    feature,
                    gauge.gauge,
                    repeats=[s for n, at, s in sizes if at == entry.station and n != row.number],
                    others=[s for n, at, s in sizes if at != entry.station],
                    today_overdue=bool(gauge.gauge.due) and gauge.gauge.due < entry.at[:10],
                    tolerance=tolerance,
                )
                if standing == "counts" and size is not None and gauge is not None
                else ()
            )
            states.append(
                ReadingState(
                    number=row.number,
                    id=entry.id,
                    feature=entry.feature,
                    station=entry.station,
                    gauge=entry.gauge,
                    text=entry.value.text,
                    size=size,
                    at=entry.at,
                    by=entry.by,
                    condition=entry.condition,
                    standing=standing,
                    why=why,
                    doubts=doubted,
                )
            )
        return tuple(states)

    def _tolerance(self, feature: str) -> float | None:
        """Return the narrowest tolerance that rests on a feature."""
        widths = [
            limit.range.high - limit.range.low
            for name in self._resting.get(feature, ())
            for limit in self._engine.fits[name].limits
            if limit.range.low is not None and limit.range.high is not None
        ]
        return min(widths, default=None)

    def _reduction(
        self,
        feature: Feature,
        readings: Sequence[tuple[Numbered, Reading, AffineScalarFunc | None, str, str]],
    ) -> float | None:
        moves = [
            move
            for _, entry, _, standing, _ in readings
            if standing == "counts"
            and entry.part_temperature is not None
            and (move := self._bench.reduction(entry, feature)) is not None
        ]
        return sum(moves) / len(moves) if moves else None

    def _fit(self, name: str) -> FitState:
        fit = self._engine.fits[name]
        engine = self._engine
        coverage = engine.measuring.coverage
        found = evaluate(fit, engine.features, self._sizes, coverage)
        missing = lacking(fit, engine.features, self._sizes)
        stale = any(self._features[n].stale for n in missing)
        state = FitState(
            fit=fit,
            low=found.low if found else fit.limits[0].range.low,
            high=found.high if found else fit.limits[0].range.high,
            value=_nominal(found.value) if found else None,
            least=_nominal(found.least) if found else None,
            greatest=_nominal(found.greatest) if found else None,
            expanded=coverage * standard_uncertainty(found.value) if found else None,
            expanded_least=coverage * standard_uncertainty(found.least) if found else None,
            expanded_greatest=coverage * standard_uncertainty(found.greatest) if found else None,
            judgement=found.judgement if found else not_measured(),
            way=found.way if found else None,
            rests_on=fit.ways[found.way if found else 0].features,
            missing=missing,
            budget=budget(found.value) if found else (),
            stale=stale,
            accepted="",
            accepted_by="",
            lapsed=False,
            eccentricity=found.eccentricity if found else None,
        )
        return self._with_acceptance(state)

    def _with_acceptance(self, state: FitState) -> FitState:
        rows = [n for n in self._facts.accepted.get(state.fit.id, ()) if self._facts.stands(n)]
        if not rows:
            return state
        entry = rows[-1].entry
        if not isinstance(entry, Accepted):
            return state
        holds = (
            not state.stale
            and _same(entry.least, state.least)
            and _same(entry.greatest, state.greatest)
        )
        if holds:
            return replace(state, accepted=entry.reason, accepted_by=entry.by)
        return replace(state, lapsed=state.verdict is not Verdict.INSIDE)

    def _assemble(self) -> State:
        facts = self._facts
        last = facts.entries[-1]
        counts = dict.fromkeys(self._gauges, 0)
        for feature in self._features.values():
            for reading in feature.readings:
                if reading.gauge in counts:
                    counts[reading.gauge] += 1
        gauges = {n: replace(g, readings=counts[n]) for n, g in self._gauges.items()}
        draft = State(
            build=facts.build,
            title=facts.title,
            engine=self._engine,
            units=self._engine.units,
            checkpoint=Checkpoint(count=last.number, head=last.hash),
            features={name: self._features[name] for name in self._engine.features},
            fits={name: self._fits[name] for name in self._engine.fits},
            gauges=gauges,
            questions=(),
            plan=self.plan(),
            entries=tuple(facts.entries),
            notes={about: tuple(rows) for about, rows in facts.notes.items()},
        )
        return replace(draft, questions=questions_of(draft))

    def plan(self) -> tuple[PlanGroup, ...]:
        """Return what to measure, in the order of the work."""
        return plan_of(self._features, self._fits, self._gauges, self._steps)

    def fits_on(self, feature: str) -> list[FitState]:
        """Return the fits that rest on a feature."""
        return [self._fits[name] for name in self._resting.get(feature, ())]


def _nominal(value: AffineScalarFunc) -> float:
    return float(value.nominal_value)


def _same(then: float | None, now: float | None) -> bool:
    if then is None or now is None:
        return then is now
    return abs(then - now) < _SAME
