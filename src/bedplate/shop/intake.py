"""Readings from a CSV file: all of them, or none, with every fault of the file at once."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass

from bedplate.errors import BedplateError, Fault, ImportFileError
from bedplate.record.entries import Reading

COLUMNS = (
    "feature",
    "station",
    "value",
    "gauge",
    "part_temperature",
    "gauge_temperature",
    "condition",
    "by",
    "id",
)
"""Columns of a CSV file of readings; the first four must be there, in any order."""

_NEEDED = COLUMNS[:4]
_MOST_BYTES = 4 * 1024 * 1024
_MOST_ROWS = 20_000


@dataclass(frozen=True, slots=True)
class Row:
    """One reading as it stands in a CSV file; absent columns are ''."""

    feature: str
    station: str
    value: str
    gauge: str
    part_temperature: str = ""
    gauge_temperature: str = ""
    condition: str = ""
    by: str = ""
    id: str = ""


def rows_of(data: bytes, file: str, entry: Callable[[Row], Reading]) -> list[Reading]:
    """Return the readings of a CSV file (UTF-8, comma or semicolon, a header line).

    :param entry: makes a reading of a row, or raises a BedplateError that says why not
    :raises ImportFileError: with a fault for each line that cannot be taken
    """
    reader = _reader(data, file)
    header = _header(reader, file)
    faults = _header_faults(header, file)
    readings: list[Reading] = []
    seen: dict[str, int] = {}
    if not faults:
        reader.fieldnames = header
        for line, raw in _rows(reader, file):
            row = {k: (v or "").strip() for k, v in raw.items() if isinstance(k, str)}
            if not any(row.values()):
                continue
            fault = _take(row, raw, file, line, entry, readings, seen)
            if fault is not None:
                faults.append(fault)
    if not faults and not readings:
        faults = [Fault(file, 1, "", "there is no reading in it", "one line for each reading")]
    if faults:
        what = "1 line" if len(faults) == 1 else f"{len(faults)} lines"
        sentence = f"Nothing was taken from {file or 'the file'}: {what} cannot be read."
        raise ImportFileError(sentence, tuple(faults), hint="Mend them and send the file again.")
    return readings


def _reader(data: bytes, file: str) -> csv.DictReader[str]:
    if len(data) > _MOST_BYTES:
        raise _whole(file, "it is larger than 4 MiB", "split it")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise _whole(file, "it is not UTF-8 text", "save it as CSV in UTF-8", line) from None
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise _whole(file, "it holds a NUL character", "save it as CSV text", line)
    lines = text.count("\n") + 1
    if lines > _MOST_ROWS:
        raise _whole(file, f"it has {lines} lines", f"at most {_MOST_ROWS} are taken at once")
    first = text.split("\n", 1)[0]
    delimiter = ";" if first.count(";") > first.count(",") else ","
    return csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)


def _whole(file: str, wrong: str, right: str, line: int = 0) -> ImportFileError:
    fault = Fault(file, line, "", wrong, right)
    sentence = f"Nothing was taken from {file or 'the file'}: {wrong}."
    return ImportFileError(sentence, (fault,))


def _header(reader: csv.DictReader[str], file: str) -> list[str]:
    try:
        return [name.strip().lower() for name in (reader.fieldnames or [])]
    except csv.Error as error:
        raise _whole(file, f"it is not CSV ({error})", "check the quotes", 1) from None


def _rows(reader: csv.DictReader[str], file: str) -> list[tuple[int, dict[str | None, str]]]:
    try:
        return [(reader.line_num, dict(row)) for row in reader]
    except csv.Error as error:
        raise _whole(
            file, f"it is not CSV ({error})", "check the quotes", reader.line_num
        ) from None


def _header_faults(header: list[str], file: str) -> list[Fault]:
    faults = [
        Fault(file, 1, name, "the column is missing", f"the first line needs {', '.join(_NEEDED)}")
        for name in _NEEDED
        if name not in header
    ]
    faults += [
        Fault(file, 1, name, "the column is not known", f"known are {', '.join(COLUMNS)}")
        for name in header
        if name not in COLUMNS
    ]
    faults += [
        Fault(file, 1, name, "the column is there twice")
        for name in dict.fromkeys(header)
        if header.count(name) > 1
    ]
    return faults


def _take(
    row: dict[str, str],
    raw: dict[str | None, str],
    file: str,
    line: int,
    entry: Callable[[Row], Reading],
    readings: list[Reading],
    seen: dict[str, int],
) -> Fault | None:
    if None in raw:
        return Fault(file, line, "", "it has more values than the header has columns")
    if row.get("id") and row["id"] in seen:
        return Fault(
            file, line, "id", f"line {seen[row['id']]} has the same id", "one id a reading"
        )
    seen[row.get("id") or str(line)] = line
    try:
        readings.append(entry(Row(**row)))
    except BedplateError as error:
        return Fault(file, line, row.get("feature", ""), error.sentence, error.hint)
    return None
