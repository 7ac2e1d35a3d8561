"""An invented build, measured by invented people, for the demo, the tutorial and the benchmarks.

Nothing here is data: the sizes come from a seeded random generator around the engine file's limits.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from bedplate.engine import Engine, Feature, Fit, FitForm, examples, read_engine
from bedplate.quantity import Units
from bedplate.record import (
    AnyEntry,
    BuildStarted,
    ComparatorSet,
    GaugeRegistered,
    PartReceived,
    Reading,
    Typed,
)
from bedplate.shop.offers import gauge_offers
from bedplate.shop.typed import Stamp

if TYPE_CHECKING:
    from bedplate.workshop import Workshop

BUILDER = "the builder (invented)"
APPRENTICE = "the apprentice (invented)"

_INCH = 0.0254
_STEP = {Units.METRIC: 1e-6, Units.INCH: _INCH * 1e-4}
_FORM = 0.8e-6
"""m: standard deviation of an invented part's form."""

_HAND = 0.4e-6
"""m: standard deviation of the invented hands."""

_OFFERS = gauge_offers(Units.METRIC)
_PLAIN = _OFFERS["depth gauge"]
"""Figures for a kind of gauge that nothing is offered for."""

_FINE = {"outside micrometer": "0.002 mm", "bore gauge": "0.001 mm", "ball micrometer": "0.002 mm"}
"""Invented expanded uncertainties of gauges that have a calibration sheet."""


def fill(
    workshop: Workshop,
    engine_text: str,
    build: str,
    *,
    seed: int = 1,
    repeats: int = 1,
    wanted: Callable[[Feature], bool] | None = None,
    off: Mapping[str, float] | None = None,
) -> int:
    """Start a build and measure it with invented readings; return the number of entries.

    :param repeats: readings at each station
    :param wanted: which features are measured
    :param off: how far a feature is off what it would be, m
    """
    entries = list(
        invented_entries(
            engine_text, build, seed=seed, repeats=repeats, wanted=wanted, off=off or {}
        )
    )
    workshop.take(build, entries)
    return len(entries)


def invented_entries(
    engine_text: str,
    build: str,
    *,
    seed: int = 1,
    repeats: int = 1,
    wanted: Callable[[Feature], bool] | None = None,
    off: Mapping[str, float] | None = None,
) -> Iterator[AnyEntry]:
    """Yield the entries of an invented, measured build; the same for the same arguments."""
    engine = read_engine(engine_text)
    bench = _Bench(engine, random.Random(seed), off or {})
    yield BuildStarted(**bench.stamp(), build=build, title=engine.name, engine=engine_text)
    for part, identity in (("block", "block, marked 1 (invented)"), ("crank", "crank, marked 1")):
        yield PartReceived(**bench.stamp(), part=part, identity=identity)
    yield from bench.gauges()
    for feature in _in_order(engine):
        if wanted is None or wanted(feature):
            yield from bench.measure(feature, repeats)


def _in_order(engine: Engine) -> list[Feature]:
    """Return the features with journals, pins and pistons first: a gauge is set on them."""
    return sorted(engine.features.values(), key=lambda f: f.gauge == "bore gauge")


@dataclass(slots=True)
class _Bench:
    """Invented parts and the hands that measure them."""

    engine: Engine
    chance: random.Random
    off: Mapping[str, float]
    by: str = BUILDER
    settings: dict[tuple[str, float], str] = field(default_factory=dict)
    true_sizes: dict[str, float] = field(default_factory=dict)

    def stamp(self) -> Stamp:
        return {"id": f"{self.chance.getrandbits(128):032x}", "at": "", "by": self.by}

    def gauges(self) -> Iterator[AnyEntry]:
        kinds = dict.fromkeys(f.gauge for f in self.engine.features.values())
        if "bore gauge" in kinds:
            kinds["outside micrometer"] = None
        for kind in kinds:
            offer = _OFFERS.get(kind, _PLAIN)
            fine = kind in _FINE
            yield GaugeRegistered(
                **self.stamp(),
                gauge=_gauge_id(kind),
                name=kind,
                gauge_kind=kind,
                comparator=offer.comparator,
                resolution=self._typed_figure(offer.resolution),
                expanded_uncertainty=self._typed_figure(
                    _FINE[kind] if fine else offer.expanded_uncertainty
                ),
                repeatability=self._typed_figure("0.0005 mm" if fine else offer.repeatability),
                reads_in="in" if self.engine.units is Units.INCH else "mm",
                calibrated="2026-03-02",
                due="2027-03-02",
                source="invented calibration sheet" if fine else "common practice, no source",
            )

    def _typed_figure(self, text: str) -> Typed:
        from bedplate.quantity import Dimension, parse

        return Typed(text=text, si=parse(text, Dimension.LENGTH).value)

    def measure(self, feature: Feature, repeats: int) -> Iterator[AnyEntry]:
        size = self.true_size(feature)
        comparator = _OFFERS.get(feature.gauge, _PLAIN).comparator
        setting = ""
        if comparator:
            zero = self._rounded(feature.nominal or size)
            if (feature.gauge, zero) not in self.settings:
                yield self._set(feature.gauge, zero)
            setting = self.settings[feature.gauge, zero]
            size -= zero
        spread = _FORM if feature.gauge in {"bore gauge", "outside micrometer"} else 0.0
        for station in feature.stations:
            here = size + self.chance.gauss(0.0, spread)
            for _ in range(repeats):
                shown = self._rounded(here + self.chance.gauss(0.0, _HAND), feature.gauge)
                yield Reading(
                    **self.stamp(),
                    feature=feature.id,
                    station=station.id,
                    gauge=_gauge_id(feature.gauge),
                    value=self._typed(shown, signed=comparator),
                    setting=setting,
                    condition=feature.condition,
                )

    def _set(self, gauge: str, zero: float) -> ComparatorSet:
        entry = ComparatorSet(
            **self.stamp(),
            gauge=_gauge_id(gauge),
            size=self._typed(zero),
            on_gauge=_gauge_id("outside micrometer"),
        )
        self.settings.clear()
        self.settings[gauge, zero] = entry.id
        return entry

    def true_size(self, feature: Feature) -> float:
        """Return the invented size of a feature, made so that its fits lie near their targets."""
        if feature.id not in self.true_sizes:
            self.true_sizes[feature.id] = self._invent(feature) + self.off.get(feature.id, 0.0)
        return self.true_sizes[feature.id]

    def _invent(self, feature: Feature) -> float:
        fits = [f for f in self.engine.fits.values() if f.ways and f.ways[0].space == feature.id]
        for fit in fits:
            if fit.form is FitForm.DIFFERENCE and fit.ways[0].bodies:
                bodies = sum(self.true_size(self.engine.features[n]) for n in fit.ways[0].bodies)
                sign = -1.0 if fit.sense == "interference" else 1.0
                return bodies + sign * self._aimed(fit)
        for fit in fits:
            if fit.form in {FitForm.SIZE, FitForm.DIFFERENCE}:
                return self._aimed(fit)
        return feature.nominal or 0.02

    def _aimed(self, fit: Fit) -> float:
        """Return a value between the limits, near the target if there is one."""
        limits = fit.limits[0].range
        low = limits.low if limits.low is not None else (limits.high or 0.0) / 2
        high = limits.high if limits.high is not None else low * 1.5
        aim = fit.target.value if fit.target else (low + high) / 2
        return min(max(self.chance.gauss(aim, (high - low) / 10), low), high)

    def _rounded(self, size: float, gauge: str = "outside micrometer") -> float:
        step = _STEP[self.engine.units]
        if gauge not in {"outside micrometer", "bore gauge", "ball micrometer"}:
            step *= 10
        return round(size / step) * step

    def _typed(self, size: float, *, signed: bool = False) -> Typed:
        inch = self.engine.units is Units.INCH
        number = size / _INCH if inch else size * 1e3
        text = f"{number:+.4f} in" if inch else f"{number:+.3f} mm"
        return Typed(text=text if signed else text.lstrip("+"), si=_si(number, inch=inch))


def _si(number: float, *, inch: bool) -> float:
    from bedplate.quantity import parse

    return parse(f"{number:.4f} in" if inch else f"{number:.3f} mm").value


def _gauge_id(kind: str) -> str:
    return kind.replace(" ", "-")


def demo_engine() -> str:
    """Return the engine file of the demo build."""
    return examples()["straight-six"]


_OFF = {"main-bearing-bore-4": -19e-6, "main-bearing-bore-5": -13e-6}
"""m: main 4 comes out tight, and main 5 too close to its limit to call."""


def start_demo(workshop: Workshop) -> str:
    """Fill an empty store with the demo build, half measured; return its name."""
    build = "demo-six"
    fill(workshop, demo_engine(), build, seed=6, wanted=_measured_in_demo, off=_OFF)
    _trouble(workshop, build)
    _at_the_shop(workshop, build)
    return build


def _measured_in_demo(feature: Feature) -> bool:
    done: dict[str, Sequence[str]] = {
        "main journal": "1234567",
        "main housing": "1234567",
        "main bearing bore": "12345",
        "crankpin": "123456",
        "rod bearing bore": "123",
        "piston": "123456",
        "cylinder bore": "1234",
        "top ring gap": "123",
    }
    return feature.number in done.get(feature.kind, ())


def _trouble(workshop: Workshop, build: str) -> None:
    """Add what a real bench has: a slip, a part reworked, a decision, a note."""
    state = workshop.state(build)
    journal = state.features["main-journal-6"]
    slip = journal.readings[0]
    workshop.withdraw(build, str(slip.number), "read one thimble turn out", by=APPRENTICE)
    workshop.rework(build, "block", ["cylinder-bore-3"], "honed again", by=BUILDER)
    reason = "low in its limits, which is the side that grips; crush was checked with blue"
    workshop.accept(build, "main-housing-3", reason, by=BUILDER)
    workshop.note(build, "crank", "polished by the machine shop; oil holes dressed", by=BUILDER)


def _at_the_shop(workshop: Workshop, build: str) -> None:
    """Add a box of half shells, and the order that went to the machine shop."""
    workshop.add_parts(build, box_of_shells(), "box.csv", by=BUILDER)
    workshop.issue_order(build, by=BUILDER)


def box_of_shells() -> bytes:
    """Return an invented box of 24 mixed half shells as CSV, walls as measured, for 7 mains."""
    lines = ["identity,part,half,grooved,grade,wall,wall uncertainty,supplier"]
    for number in range(12):
        for half, grooved, more in (("upper", "yes", 0.0), ("lower", "no", 0.3)):
            wall = 1984.5 + 0.8 * number + more  # µm
            grade = min(4, 1 + int((wall - 1981.0) / 4.0))
            lines.append(
                f"{half[0].upper()}{number + 1},main shell,{half},{grooved},{grade},"
                f"{wall / 1e3:.4f} mm,0.002 mm,a drawer (invented)"
            )
    return "\n".join(lines).encode()
