"""From an indication to a size: the model of a reading, with its sources of uncertainty.

The model (GUM 4.1), all terms in m, u is a standard uncertainty:

* absolute gauge: size = indication − bias + calibration + resolution + repeatability
* comparator: size = size of the setting + deviation + calibration over its travel + zero + drift
  + resolution + repeatability. A master gives the size of the setting with its own error. Another
  gauge gives its indication − its bias + *its* calibration + its resolution and repeatability in
  that one act. A bore gauge zeroed in the micrometer that measured the journal so holds the same
  calibration error as the journal does, and the clearance loses it.

What each source is, and who shares it:

* calibration: U/k of the gauge (GUM 4.3.3), one error for all readings of a gauge as long as its
  calibration is unchanged.
* resolution: rectangular over one step, u = step/√12 (GUM F.2.2.1); the step is the gauge's or
  that of the text typed, whichever is coarser (a bare nought has none). Shared by the readings of
  a gauge at one station: repeats that round the same way do not average it out. Kept beside
  repeatability and not divided by the repeats, as in GUM H.6 (from memory); where the stated
  repeatability already holds it, this counts it twice, on the safe side.
* repeatability: standard deviation of one reading (GUM 4.2), each reading its own.
* zero: resolution and repeatability of the comparator in the one act of setting it.
* drift: what a later check on the same size found; rectangular over ±|found|, u = |found|/√3
  (GUM 4.3.7), shared by the readings of the setting.
* master: U/2, shared by all settings on it.

The bias of a comparator has no part in it: zeroing takes it out.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot, sqrt

from bedplate.engine.model import Feature, Material, Measuring
from bedplate.errors import NotPossibleError, QuantityError
from bedplate.metrology.affine import AffineScalarFunc
from bedplate.metrology.sources import Sensitivities, Source, value_of
from bedplate.metrology.temperature import REFERENCE, expansion_known_to
from bedplate.quantity import Dimension, parse
from bedplate.record.entries import ComparatorSet, GaugeRegistered, Reading, Typed

_SAME_SIZE = 1e-9
"""m: a comparator was checked on the same size if the two differ by less."""

_TO_SHAPE = str.maketrans("123456789", "000000000")
_OWN_STEP = re.compile(r"/|[0-9][eE]")
"""A fraction or a power of ten: its step is in its digits."""


@dataclass(frozen=True, slots=True)
class _Reference:
    """What an indication is added to: 0 for an absolute gauge, the setting for a comparator.

    :param expansion: 1/K, of what held the reference length when it was set; None if unknown
    :param set_at: temperature when it was set, K; None if not known, or for an absolute gauge
    """

    nominal: float
    sensitivities: Sensitivities
    gauge: GaugeRegistered
    resolution: float
    repeatability: float
    expansion: float | None
    set_at: float | None


@dataclass(frozen=True, slots=True)
class _Setting:
    number: int
    entry: ComparatorSet
    next: ComparatorSet | None


class Bench:
    """The gauges of a build as they stood at each entry, and the sizes their readings give."""

    def __init__(
        self,
        measuring: Measuring,
        materials: Mapping[str, Material],
        gauges: Sequence[tuple[int, GaugeRegistered]],
        settings: Sequence[tuple[int, str, ComparatorSet]],
    ) -> None:
        """Take the gauges and settings that stand.

        :param materials: by name
        :param gauges: (record number, entry); withdrawn ones are left out
        :param settings: (record number, entry id, entry); withdrawn ones are left out
        """
        self._measuring = measuring
        self._materials = materials
        self._registered: dict[str, tuple[list[int], list[GaugeRegistered]]] = {}
        for number, entry in sorted(gauges, key=lambda row: row[0]):
            numbers, entries = self._registered.setdefault(entry.gauge, ([], []))
            numbers.append(number)
            entries.append(entry)
        self._settings = _chained(settings)
        self._sources: dict[tuple[object, ...], Source] = {}
        self._references: dict[tuple[int, str], _Reference] = {}
        self._steps: dict[tuple[str, str], float] = {}

    def measure(self, number: int, reading: Reading, feature: Feature) -> AffineScalarFunc:
        """Return the size that a reading gives, with its sources of uncertainty.

        :param number: record number of the reading; the gauge counts as it was registered before it
        :param feature: that was measured, for its material
        :returns: m; reduced to 20 °C only where the build's rule asks for it and both temperatures
            and both expansions are known, otherwise as measured
        :raises NotPossibleError: its gauge or setting is not there
        """
        reference = self._reference(number, reading)
        gauge = reference.gauge.gauge
        station = f"{feature.id}/{reading.station}"
        held = reference.sensitivities.copy()
        step = max(reference.resolution, self._step(reading.value, reference.gauge.reads_in))
        if step > 0.0:
            held[self._rounding(step, gauge, station)] = 1.0
        spread = reference.repeatability
        if spread > 0.0:
            key = (number, spread)
            source = self._sources.get(key)
            if source is None:
                source = Source(spread, f"reading {number}: repeatability", station)
                self._sources[key] = source
            held[source] = 1.0
        size = reference.nominal + reading.value.si
        if self._measuring.reduce:
            return self._reduced(size, held, reference, reading, feature)
        return value_of(size, held)

    def reduction(self, reading: Reading, feature: Feature) -> float | None:
        """Return how far reducing a reading to 20 °C moves its size, or would (ISO 1).

        :returns: m, size at 20 °C less size as measured; None where a temperature or an expansion
            is not known
        """
        numbers, _ = self._registered.get(reading.gauge, ([], []))
        setting = self._settings.get(reading.setting)
        if not numbers or (reading.setting and setting is None):
            return None
        try:
            reference = self._reference(numbers[-1] + 1, reading)
        except NotPossibleError:
            return None
        factor = self._factor(reference, reading, feature)
        return None if factor is None else factor * (reference.nominal + reading.value.si)

    def unreduced(self, reading: Reading, feature: Feature) -> tuple[str, ...]:
        """Return what is not known that reducing a reading to 20 °C needs.

        :returns: in words, empty where the build does not ask for it or nothing is lacking
        """
        if not self._measuring.reduce:
            return ()
        material = self._materials.get(feature.material)
        setting = self._settings.get(reading.setting)
        gauges = [reading.gauge, *([setting.entry.on_gauge] if setting else [])]
        lacking = [
            f"the expansion of {name}"
            for name in gauges
            if name and not any(g.expansion for g in self._registered.get(name, ([], []))[1][-1:])
        ]
        if material is None or material.expansion is None:
            lacking.insert(0, f"the expansion of {material.name if material else feature.part}")
        if reading.part_temperature is None:
            lacking.append(f"the temperature of {feature.part}")
        if reading.gauge_temperature is None:
            lacking.append(f"the temperature of {reading.gauge}")
        return tuple(lacking)

    def in_force(self, gauge: str, number: int) -> GaugeRegistered:
        """Return a gauge as it was registered last before an entry.

        :raises NotPossibleError: it was not registered by then
        """
        numbers, entries = self._registered.get(gauge, ([], []))
        place = bisect_left(numbers, number)
        if place == 0:
            sentence = f"Gauge {gauge} was not registered before entry {number}."
            raise NotPossibleError(sentence, hint="Register the gauge first, then measure.")
        return entries[place - 1]

    def _reference(self, number: int, reading: Reading) -> _Reference:
        gauge = self.in_force(reading.gauge, number)
        key = (id(gauge), reading.setting)
        reference = self._references.get(key)
        if reference is None:
            reference = self._comparator(gauge, reading) if gauge.comparator else self._plain(gauge)
            self._references[key] = reference
        return reference

    def _plain(self, gauge: GaugeRegistered) -> _Reference:
        return _Reference(
            nominal=-gauge.bias.si if gauge.bias else 0.0,
            sensitivities=self._calibration(gauge),
            gauge=gauge,
            resolution=gauge.resolution.si,
            repeatability=gauge.repeatability.si,
            expansion=gauge.expansion.si if gauge.expansion else None,
            set_at=None,
        )

    def _comparator(self, gauge: GaugeRegistered, reading: Reading) -> _Reference:
        setting = self._settings.get(reading.setting)
        if setting is None or setting.entry.gauge != gauge.gauge:
            sentence = f"{gauge.gauge} is a comparator, and this reading rests on no setting of it."
            raise NotPossibleError(sentence, hint=f"Set {gauge.gauge} and read again.")
        entry = setting.entry
        name = f"setting {setting.number} of {gauge.gauge}"
        nominal, held, expansion = self._set_on(setting, name)
        held.update(self._calibration(gauge))
        self._add(held, _one_act(gauge), f"{name}: zero", "zero", setting.number)
        found = setting.next.found if setting.next else None
        if found is not None:
            self._add(held, abs(found.si) / sqrt(3.0), f"{name}: drift", "drift", setting.number)
        own = gauge.expansion.si if gauge.expansion else None
        return _Reference(
            nominal=nominal,
            sensitivities=held,
            gauge=gauge,
            resolution=gauge.resolution.si,
            repeatability=gauge.repeatability.si,
            expansion=expansion if entry.on_gauge else own,
            set_at=entry.temperature.si if entry.temperature else None,
        )

    def _set_on(self, setting: _Setting, name: str) -> tuple[float, Sensitivities, float | None]:
        entry = setting.entry
        held: Sensitivities = {}
        if not entry.on_gauge:
            uncertainty = entry.size_uncertainty.si / 2.0 if entry.size_uncertainty else 0.0
            which = entry.master or f"of setting {setting.number}"
            place = (entry.master or setting.number, entry.size.si)
            self._add(held, uncertainty, f"master {which}", "master", *place)
            return entry.size.si, held, None
        other = self.in_force(entry.on_gauge, setting.number)
        if other.comparator:
            sentence = (
                f"Entry {setting.number} sets {entry.gauge} on {other.gauge}, which is itself a "
                "comparator and shows no size."
            )
            raise NotPossibleError(sentence, hint="Set it on a master or on an absolute gauge.")
        held.update(self._calibration(other))
        self._add(held, _one_act(other), f"{name}: reading of {other.gauge}", "act", setting.number)
        nominal = entry.size.si - (other.bias.si if other.bias else 0.0)
        return nominal, held, other.expansion.si if other.expansion else None

    def _calibration(self, gauge: GaugeRegistered) -> Sensitivities:
        if gauge.coverage <= 0.0:
            sentence = f"{gauge.gauge} states its uncertainty with k = {gauge.coverage:g}."
            raise NotPossibleError(sentence, hint="Register it again with the k of its sheet.")
        held: Sensitivities = {}
        bias = gauge.bias.si if gauge.bias else 0.0
        stated = gauge.expanded_uncertainty.si
        key = ("calibration", gauge.gauge, gauge.calibrated, bias, stated, gauge.coverage)
        self._add(held, stated / gauge.coverage, f"calibration of {gauge.gauge}", *key)
        return held

    def _add(self, held: Sensitivities, uncertainty: float, name: str, *key: object) -> None:
        if uncertainty > 0.0:
            held[self._source(uncertainty, name, *key)] = 1.0

    def _source(self, uncertainty: float, name: str, *key: object) -> Source:
        place = (*key, uncertainty)
        source = self._sources.get(place)
        if source is None:
            source = self._sources[place] = Source(uncertainty, name)
        return source

    def _rounding(self, step: float, gauge: str, station: str) -> Source:
        key = ("resolution", gauge, station, step)
        source = self._sources.get(key)
        if source is None:
            name = f"resolution of {gauge} at {station}"
            source = self._sources[key] = Source(step / sqrt(12.0), name, step=step)
        return source

    def _step(self, typed: Typed, reads_in: str) -> float:
        """Return the step of a typed text, m; 0 where the text says none.

        Texts that differ only in their digits have the same step, so each shape is read once. A
        zero without decimals is a needle on its zero, and says no step.
        """
        text = typed.text
        shape = (text.translate(_TO_SHAPE), reads_in)
        step = self._steps.get(shape)
        if step is None:
            step = _read_step(text, reads_in)
            if not _OWN_STEP.search(text):
                self._steps[shape] = step
        return 0.0 if typed.si == 0.0 and "." not in text and "," not in text else step

    def _factor(self, reference: _Reference, reading: Reading, feature: Feature) -> float | None:
        """Return (size at 20 °C)/(size as measured) − 1, None where something is not known."""
        part, gauge = reading.part_temperature, reading.gauge_temperature
        material = self._materials.get(feature.material)
        own = reference.gauge.expansion
        if part is None or gauge is None or material is None or own is None:
            return None
        if material.expansion is None or reference.expansion is None:
            return None
        set_at = gauge.si if reference.set_at is None else reference.set_at
        return (
            reference.expansion * (set_at - REFERENCE)
            + own.si * (gauge.si - set_at)
            - material.expansion * (part.si - REFERENCE)
        )

    def _reduced(
        self,
        size: float,
        held: Sensitivities,
        reference: _Reference,
        reading: Reading,
        feature: Feature,
    ) -> AffineScalarFunc:
        """Reduce to 20 °C: L20 = L·(1 + α_g·(T_g − 20) − α_p·(T_p − 20)), GUM H.1.2.

        With a comparator that was set at T_s the first term is α_r·(T_s − 20) + α_g·(T_g − T_s),
        where α_r is that of the gauge it was set on; a master is taken to grow as the comparator
        does. An expansion error is shared by material and by gauge; a temperature error by equal
        temperatures of one part, and by equal temperatures of one gauge.
        """
        factor = self._factor(reference, reading, feature)
        part, gauge = reading.part_temperature, reading.gauge_temperature
        if factor is None or part is None or gauge is None:
            return value_of(size, held)
        material = self._materials[feature.material]
        name = reference.gauge.gauge
        own = reference.gauge.expansion.si if reference.gauge.expansion else 0.0
        degrees = self._measuring.temperature_uncertainty
        held = {source: c * (1.0 + factor) for source, c in held.items()}
        influences = (
            (material.expansion_uncertainty, f"expansion of {material.name}",
             -(part.si - REFERENCE), ("expansion", material.name)),
            (expansion_known_to(), f"expansion of {name}",
             gauge.si - REFERENCE, ("gauge expansion", name)),
            (degrees, f"temperature of {feature.part}",
             -(material.expansion or 0.0), ("temperature", feature.part, part.si)),
            (degrees, f"temperature of {name}",
             own, ("gauge temperature", name, gauge.si)),
        )  # fmt: skip
        for uncertainty, what, sensitivity, key in influences:
            if uncertainty > 0.0:
                held[self._source(uncertainty, what, *key)] = size * sensitivity
        return value_of(size * (1.0 + factor), held)


def _one_act(gauge: GaugeRegistered) -> float:
    """Return u of one reading of a gauge by itself, m: resolution and repeatability."""
    return hypot(gauge.resolution.si / sqrt(12.0), gauge.repeatability.si)


def _chained(settings: Sequence[tuple[int, str, ComparatorSet]]) -> dict[str, _Setting]:
    """Return settings by id, each with the next one of its gauge if that checked the same size."""
    chained: dict[str, _Setting] = {}
    later: dict[str, ComparatorSet] = {}
    for number, name, entry in sorted(settings, key=lambda row: row[0], reverse=True):
        check = later.get(entry.gauge)
        chained[name] = _Setting(number, entry, check if check and _same(entry, check) else None)
        later[entry.gauge] = entry
    return chained


def _same(first: ComparatorSet, second: ComparatorSet) -> bool:
    return (
        first.on_gauge == second.on_gauge
        and first.master == second.master
        and abs(first.size.si - second.size.si) < _SAME_SIZE
    )


def _read_step(text: str, reads_in: str) -> float:
    try:
        return parse(text, Dimension.LENGTH, default_unit=reads_in).resolution
    except QuantityError:
        return 0.0
