"""The state of a build, worked out from its record and kept up to date entry by entry.

`state_of` is the definition: a pure function of the record. A `Reckoning` gives the same answer
while entries arrive, and works out again only what the new entry touches.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from bedplate.engine import Engine, Feature, read_engine
from bedplate.errors import DamagedError
from bedplate.metrology import Size
from bedplate.record.entries import (
    Accepted,
    AnyEntry,
    BuildStarted,
    Checkpoint,
    ComparatorSet,
    EngineRevised,
    GaugeRegistered,
    Numbered,
    OrderIssued,
    PartReceived,
    Reading,
    ReturnTaken,
    Reworked,
    RingFiled,
    SelectionMade,
    Withdrawn,
)
from bedplate.shop.facts import Facts, gather
from bedplate.shop.fitting import fit_state
from bedplate.shop.gauges import gauge_states
from bedplate.shop.model import (
    FeatureState,
    FitState,
    GaugeState,
    PlanGroup,
    PlanStep,
    State,
)
from bedplate.shop.plan import plan_of
from bedplate.shop.questions import questions_of
from bedplate.shop.sizing import Sizing


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
        self._engine: Engine
        self._read = ""
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
    def build(self) -> str:
        """Return the name of the build."""
        return self._facts.build

    @property
    def before(self) -> tuple[str, Checkpoint | None]:
        """Return the name of the previous build, and how far it was looked at for wear."""
        return self._facts.previous, self._previous.checkpoint if self._previous else None

    @property
    def entries(self) -> Sequence[Numbered]:
        """Return every entry."""
        return self._facts.entries

    def entry(self, id: str) -> AnyEntry | None:
        """Return the entry with an id."""
        numbered = self._facts.by_id.get(id)
        return numbered.entry if numbered else None

    def taken_back(self, id: str) -> bool:
        """Tell whether an entry has been withdrawn."""
        return id in self._facts.taken_back

    @property
    def others(self) -> list[Numbered]:
        """Return the entries that stand and speak of no size, fit or gauge: bolts and steps."""
        return [row for row in self._facts.others if self._facts.stands(row)]

    def feature(self, name: str) -> FeatureState:
        """Return what is known of a feature."""
        return self._features[name]

    def add(self, numbered: Numbered) -> None:
        """Take one more entry of the record in."""
        self._facts.add(numbered)
        self._state = None
        self._touch(numbered.entry)

    def _touch(self, entry: AnyEntry) -> None:
        """Work out again what an entry speaks of; taken back, it touches what it touched."""
        match entry:
            case Reading():
                self._renew((entry.feature,))
            case Accepted():
                self._renew_fits((entry.fit,))
            case Withdrawn():
                self._touch(self._facts.by_id[entry.target].entry)
            case BuildStarted() | EngineRevised() | GaugeRegistered() | ComparatorSet():
                self._reckon()
            case Reworked() | PartReceived() | OrderIssued() | ReturnTaken() | RingFiled():
                self._reckon()
            case SelectionMade():
                self._reckon()
            case _:  # no size, no fit and no gauge: notes, parts on hand, bolts, steps
                pass

    def _reckon(self) -> None:
        facts = self._facts
        if self._read != facts.engine_text:
            self._engine = read_engine(facts.engine_text, "the engine file of this build")
            self._read = facts.engine_text
        self._gauges = gauge_states(facts)
        self._features: dict[str, FeatureState] = {}
        self._fits: dict[str, FitState] = {}
        self._resting: dict[str, list[str]] = {}
        for fit in self._engine.fits.values():
            for name in {n for way in fit.ways for n in way.features}:
                self._resting.setdefault(name, []).append(fit.id)
        self._sizing = Sizing(self._engine, facts, self._gauges, self._tolerances(), self._previous)
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
                fit = self._engine.fits[name]
                self._fits[name] = fit_state(
                    fit, self._engine, self._features, self._sizes, self._facts
                )
                for feature in {n for way in fit.ways for n in way.features}:
                    self._steps.pop(feature, None)

    def _feature(self, name: str, feature: Feature) -> None:
        state = self._sizing.state(feature)
        self._features[name] = state
        if state.size is None:
            self._sizes.pop(name, None)
        else:
            self._sizes[name] = state.size

    def _tolerances(self) -> dict[str, float | None]:
        """Return the narrowest tolerance that rests on each feature, m."""
        fits = self._engine.fits
        return {
            feature: min(
                (
                    limit.range.high - limit.range.low
                    for name in names
                    for limit in fits[name].limits
                    if limit.range.low is not None and limit.range.high is not None
                ),
                default=None,
            )
            for feature, names in self._resting.items()
        }

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
            notes={
                about: rows
                for about, written in facts.notes.items()
                if (rows := tuple(note for note in written if facts.stands(note)))
            },
        )
        return replace(draft, questions=questions_of(draft))

    def plan(self) -> tuple[PlanGroup, ...]:
        """Return what to measure, in the order of the work."""
        return plan_of(self._features, self._fits, self._gauges, self._steps)

    def fits_on(self, feature: str) -> list[FitState]:
        """Return the fits that rest on a feature."""
        return [self._fits[name] for name in self._resting.get(feature, ())]
