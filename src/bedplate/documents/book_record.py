"""The pages of the build book that say what happened: gauges, readings, work, signatures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from bedplate.documents.paper import Tree, both, drawing, time
from bedplate.documents.photograph import photograph
from bedplate.quantity import Units
from bedplate.record.entries import (
    BoltMeasured,
    BoltTightened,
    ComparatorSet,
    GaugeRegistered,
    Picture,
    Reading,
    Signed,
    StageDone,
    Typed,
    Withdrawn,
)
from bedplate.shop.model import FeatureState, GaugeState, ReadingState, State
from bedplate.shop.sentences import balance_beside, sentence


def _text(typed: Typed | None) -> str:
    return "" if typed is None else typed.text


def gauges(state: State) -> list[Tree]:
    """Return the register of gauges, texts as typed."""
    return [_gauge(gauge) for gauge in state.gauges.values()]


def _gauge(state: GaugeState) -> Tree:
    gauge = state.gauge
    remarks = [
        gauge.source,
        f"error of indication {gauge.bias.text}" if gauge.bias else "",
        f"expansion {gauge.expansion.text}" if gauge.expansion else "",
        "calibration past due at the last entry" if state.overdue else "",
    ]
    return {
        "id": gauge.gauge,
        "name": gauge.name,
        "cells": [
            gauge.gauge_kind + (", comparator" if gauge.comparator else ""),
            gauge.resolution.text,
            f"{gauge.expanded_uncertainty.text} (k = {gauge.coverage:g})",
            gauge.repeatability.text,
            ", ".join(date for date in (gauge.calibrated, gauge.due) if date) or "–",
            " · ".join(remark for remark in remarks if remark),
            str(state.readings),
        ],
    }


def settings(state: State) -> list[list[str]]:
    """Return every setting of a comparator, the withdrawn ones with the reason."""
    taken = _taken_back(state)
    rows = []
    for numbered in state.entries:
        entry = numbered.entry
        if isinstance(entry, ComparatorSet):
            on = f"gauge {entry.on_gauge}" if entry.on_gauge else entry.master or "master"
            if entry.size_uncertainty is not None:
                on += f", U = {entry.size_uncertainty.text}"
            why = taken.get(entry.id, "")
            rows.append(
                [
                    str(numbered.number),
                    entry.gauge,
                    entry.size.text,
                    on,
                    _text(entry.found) or "–",
                    _text(entry.temperature) or "–",
                    f"{time(entry.at)} {entry.by}" + (f" · withdrawn: {why}" if why else ""),
                ]
            )
    return rows


def _taken_back(state: State) -> dict[str, str]:
    return {
        numbered.entry.target: numbered.entry.reason
        for numbered in state.entries
        if isinstance(numbered.entry, Withdrawn)
    }


def readings(state: State) -> Tree:
    """Return every reading under its feature, in the engine file's order.

    What all readings of a feature share stands once beside its name; a column in which nothing is
    left is not printed.
    """
    entries = {numbered.number: numbered.entry for numbered in state.entries}
    settings_at = {
        numbered.entry.id: numbered.number
        for numbered in state.entries
        if isinstance(numbered.entry, ComparatorSet)
    }
    features = [
        _of_feature(feature, state.units, entries, settings_at)
        for feature in state.features.values()
        if feature.readings
    ]
    rows = [row for feature in features for row in feature["rows"]]
    columns = [c for c in _COLUMNS if c.always or any(row[c.name] for row in rows)]
    return {
        "heads": [column.head for column in columns],
        "widths": [column.width for column in columns],
        "features": [
            {**feature, "rows": [_cells(row, columns) for row in feature["rows"]]}
            for feature in features
        ],
    }


def _of_feature(
    state: FeatureState,
    units: Units,
    entries: Mapping[int, object],
    settings_at: dict[str, int],
) -> Tree:
    names = {station.id: station.name for station in state.feature.stations}
    rows = [
        _reading(reading, entries.get(reading.number), names, units, settings_at)
        for reading in state.readings
    ]
    about = [state.feature.part]
    hoisted = (("condition", "condition: "), ("temperature", ""), ("by", "by "), ("note", ""))
    for column, word in hoisted:
        values = {row[column] for row in rows}
        if len(values) == 1:
            (value,) = values
            about.extend([word + value] if value else [])
            for row in rows:
                row[column] = ""
    return {
        "name": state.feature.name,
        "about": " · ".join(about),
        "rows": rows,
    }


def _reading(
    reading: ReadingState,
    entry: object,
    names: dict[str, str],
    units: Units,
    settings_at: dict[str, int],
) -> Tree:
    gauge, temperature = reading.gauge, ""
    if isinstance(entry, Reading):
        setting = settings_at.get(entry.setting)
        if setting is not None:
            gauge = f"{gauge} (set {setting})"
        temperature = _temperatures(entry)
    notes = [f"{reading.standing}: {reading.why}"] if reading.standing != "counts" else []
    notes += [f"questioned: {doubt.sentence}" for doubt in reading.doubts]
    return {
        "number": str(reading.number),
        "station": names.get(reading.station, reading.station) or "–",
        "gauge": gauge,
        "text": reading.text,
        "size": "–" if reading.size is None else " = ".join(both(reading.size, units)),
        "temperature": temperature,
        "at": time(reading.at),
        "by": reading.by,
        "condition": reading.condition,
        "note": " · ".join(notes),
        "struck": reading.standing == "withdrawn",
    }


def _temperatures(entry: Reading) -> str:
    part, gauge = _text(entry.part_temperature), _text(entry.gauge_temperature)
    if part == gauge:
        return part
    return " / ".join(text or "–" for text in (part, gauge))


@dataclass(frozen=True, slots=True)
class _Column:
    """A column of the readings.

    :param width: share of the page's width
    :param fits: characters that surely fit on one line
    """

    name: str
    head: str
    width: float
    fits: int
    always: bool = True


_COLUMNS = (
    _Column("number", "Entry", 10, 5),
    _Column("station", "Station", 35, 25),
    _Column("gauge", "Gauge", 33, 22),
    _Column("text", "As typed", 21, 13),
    _Column("size", "Size", 33, 24),
    _Column("temperature", "Temp.", 15, 9, always=False),
    _Column("at", "At", 24, 16),
    _Column("by", "By", 17, 10, always=False),
)


def _cells(row: Tree, columns: Sequence[_Column]) -> Tree:
    condition = f"condition: {row['condition']}" if row["condition"] else ""
    return {
        "cells": [row[column.name] for column in columns],
        "tall": any(len(row[column.name]) > column.fits for column in columns),
        "struck": row["struck"],
        "note": " · ".join(note for note in (row["note"], condition) if note),
    }


def history(state: State) -> list[list[str]]:
    """Return every entry but readings, gauges, settings and bolts: they have pages of their own."""
    elsewhere = (Reading, GaugeRegistered, ComparatorSet, BoltTightened, BoltMeasured, StageDone)
    return [
        [str(row.number), time(row.entry.at), row.entry.by, sentence(state, row.entry)]
        for row in state.entries
        if not isinstance(row.entry, elsewhere)
    ]


def photographs(state: State, kept: Mapping[str, bytes]) -> list[Tree]:
    """Return the pictures of the record that were not withdrawn; None for one not to be shown.

    :param kept: what is kept of each picture, by its SHA-256
    """
    taken = _taken_back(state)
    shown: list[Tree] = []
    for row in state.entries:
        entry = row.entry
        if isinstance(entry, Picture) and entry.id not in taken:
            says = sentence(state, entry)
            svg = photograph(kept.get(entry.sha256, b""), entry.media_type)
            told = f"entry {row.number}, {time(entry.at)} UTC, {entry.by}"
            shown.append(
                {"picture": drawing(svg, says) if svg else None, "says": says, "told": told}
            )
    return shown


def signatures(state: State) -> list[list[str]]:
    """Return who has signed the record, and up to where."""
    return [
        [
            entry.role,
            entry.by,
            entry.statement,
            balance_beside(state, entry),
            f"{time(entry.at)} UTC",
            f"{entry.count} entries, {entry.head[:8]}",
        ]
        for entry in (numbered.entry for numbered in state.entries)
        if isinstance(entry, Signed)
    ]
