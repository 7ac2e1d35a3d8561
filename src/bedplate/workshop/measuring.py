"""Gauges, their settings, and readings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

from bedplate.errors import ConflictError, EntryError, NotPossibleError
from bedplate.quantity import Dimension, parse
from bedplate.record import ComparatorSet, Reading
from bedplate.shop.receipts import ReadingReceipt, Receipt, reading_receipt
from bedplate.shop.typed import typed_length, typed_temperature, unknown

if TYPE_CHECKING:
    from bedplate.shop.gauges import GaugeFigures

from bedplate.workshop.core import Core
from bedplate.workshop.once import once


class Measuring(Core):
    """The use cases of measuring."""

    def register_gauge(
        self, build: str, gauge: str, *, by: str, id: str = "", **figures: Unpack[GaugeFigures]
    ) -> Receipt:
        """Register a gauge, or what is now known of one registered before.

        :param figures: as typed, see GaugeFigures
        :raises InputError: its resolution, uncertainty or repeatability is missing or no length
        """
        from bedplate.shop.gauges import registration

        units = self.state(build).units
        return self._append(build, registration(self._stamp(id, by), gauge, figures, units))

    @once
    def set_comparator(
        self,
        build: str,
        gauge: str,
        size: str,
        *,
        by: str,
        on_gauge: str = "",
        master: str = "",
        size_uncertainty: str = "",
        found: str = "",
        temperature: str = "",
        id: str = "",
    ) -> Receipt:
        """Zero a comparator on a master, or between the anvils of another gauge.

        :raises NotPossibleError: the gauge is no comparator, or would be set on itself
        """
        held = self._gauge(build, gauge)
        if not held.gauge.comparator:
            sentence = f"'{gauge}' shows sizes itself; only a comparator is set."
            raise NotPossibleError(sentence)
        unit = held.gauge.reads_in
        if on_gauge:
            other = self._gauge(build, on_gauge)
            if other.gauge.comparator:
                sentence = (
                    f"'{on_gauge}' is a comparator; set '{gauge}' on a gauge that shows sizes."
                )
                raise NotPossibleError(sentence)
            unit = other.gauge.reads_in
        elif not size_uncertainty:
            sentence = f"The master of {size} has no uncertainty."
            hint = "Give its expanded uncertainty from the calibration sheet, such as '0.001 mm'."
            raise EntryError(sentence, hint=hint)
        entry = ComparatorSet(
            **self._stamp(id, by),
            gauge=gauge,
            size=typed_length(size, unit),
            on_gauge=on_gauge,
            master=master,
            size_uncertainty=typed_length(size_uncertainty, unit) if size_uncertainty else None,
            found=typed_length(found, held.gauge.reads_in) if found else None,
            temperature=typed_temperature(temperature),
        )
        return self._append(build, entry)

    def read(
        self,
        build: str,
        feature: str,
        station: str,
        text: str,
        gauge: str,
        *,
        by: str,
        part_temperature: str = "",
        gauge_temperature: str = "",
        condition: str = "",
        id: str = "",
    ) -> ReadingReceipt:
        """Take one reading: durable, and with its verdict, when this returns.

        :raises QuantityError: the text is no length
        :raises NotFoundError: no such build, feature, station or gauge
        :raises NotPossibleError: the comparator has not been set
        """
        with self._lock:
            again = self._taken(id)
            if again is None:
                entry = self._reading(
                    build, feature, station, text, gauge,
                    by=by, id=id, condition=condition,
                    temperatures=(part_temperature, gauge_temperature),
                )  # fmt: skip
                again = self._append(build, entry)
            elif not self._same_reading(again, feature, station, text, gauge):
                sentence = f"Id {id} was used for another entry."
                raise ConflictError(sentence, hint="Send the reading under a new id.")
            return self._receipt(again)

    def read_csv(self, build: str, data: bytes, file: str, *, by: str) -> list[ReadingReceipt]:
        """Take the readings of a CSV file: all of them, or none.

        :raises ImportFileError: with every row that cannot be taken
        """
        from bedplate.shop.intake import Row, rows_of

        def entry(row: Row) -> Reading:
            return self._reading(
                build, row.feature, row.station, row.value, row.gauge,
                by=row.by or by, id=row.id, condition=row.condition,
                temperatures=(row.part_temperature, row.gauge_temperature),
            )  # fmt: skip

        with self._lock:
            entries = rows_of(data, file, entry)
            return [self._receipt(receipt) for receipt in self._append_all(build, entries)]

    def _receipt(self, receipt: Receipt) -> ReadingReceipt:
        """Return what a reading that was taken says now."""
        from bedplate.shop.plan import next_step

        reckoning = self._reckoning(receipt.build)
        entry = reckoning.entry(receipt.id)
        if not isinstance(entry, Reading):
            sentence = f"Entry {receipt.number} is not a reading."
            raise ConflictError(sentence, hint="Send the reading under a new id.")
        feature = reckoning.feature(entry.feature)
        reading = next(r for r in feature.readings if r.id == receipt.id)
        found = next_step(reckoning.plan(), (entry.feature, entry.station))
        following = (found[1], reckoning.engine.features[found[1].feature]) if found else None
        held = reckoning.gauges.get(entry.gauge)
        unit = held.gauge.reads_in if held else ""
        return reading_receipt(
            receipt,
            parse(entry.value.text, Dimension.LENGTH, default_unit=unit),
            reading,
            feature.feature,
            reckoning.fits_on(entry.feature),
            following,
            reckoning.engine.units,
            deviates=bool(entry.setting),
        )

    def _reading(
        self,
        build: str,
        feature: str,
        station: str,
        text: str,
        gauge: str,
        *,
        by: str,
        id: str,
        condition: str,
        temperatures: tuple[str, str],
    ) -> Reading:
        known = self._feature(build, feature)
        if all(s.id != station for s in known.stations):
            raise unknown(f"station of {known.name}", station, [s.id for s in known.stations])
        held = self._gauge(build, gauge)
        setting = self._setting(build, gauge) if held.gauge.comparator else ""
        return Reading(
            **self._stamp(id, by),
            feature=feature,
            station=station,
            gauge=gauge,
            value=typed_length(text, held.gauge.reads_in),
            setting=setting,
            part_temperature=typed_temperature(temperatures[0]),
            gauge_temperature=typed_temperature(temperatures[1]),
            condition=condition,
        )

    def _setting(self, build: str, gauge: str) -> str:
        held = self._gauge(build, gauge)
        if held.setting is None:
            sentence = f"'{gauge}' shows a deviation and has not been set."
            hint = f"Set it on a master or in a micrometer first: bedplate set {build} {gauge} …"
            raise NotPossibleError(sentence, hint=hint)
        return held.setting.id

    def _same_reading(
        self, receipt: Receipt, feature: str, station: str, text: str, gauge: str
    ) -> bool:
        entry = self._reckoning(receipt.build).entry(receipt.id)
        return isinstance(entry, Reading) and (
            (entry.feature, entry.station, entry.gauge, entry.value.text)
            == (feature, station, gauge, text)
        )
