"""Rows of a CSV file a person filled in: all of them, or none, with every fault at once."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from bedplate.errors import BedplateError, Fault, ImportFileError

Taken = TypeVar("Taken")

_MOST_BYTES = 4 * 1024 * 1024
_MOST_ROWS = 5_000


def rows_from_csv(
    data: bytes,
    file: str,
    columns: Sequence[str],
    key: str,
    entry: Callable[[Mapping[str, str]], Taken],
) -> list[Taken]:
    """Return what each line gives (UTF-8, comma or semicolon, a header line).

    :param columns: those that are known; '_' in a header stands for a space
    :param key: the column that must be there, and that no two lines may share
    :param entry: makes what is wanted of a row, or raises a BedplateError that says why not
    :raises ImportFileError: with a fault for each line that cannot be taken
    """
    lines = _lines(data, file)
    header = [name.strip().lower().replace("_", " ") for name in lines[0][1]] if lines else []
    faults = _header_faults(header, file, columns, key)
    taken: list[Taken] = []
    seen: dict[str, int] = {}
    for line, cells in lines[1:] if not faults else ():
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > len(header):
            faults.append(Fault(file, line, "", "it has more values than the header has columns"))
            continue
        row = dict(zip(header, (cell.strip() for cell in cells), strict=False))
        name = row.get(key, "")
        if name in seen:
            wrong = f"'{name}' stands on line {seen[name]} too"
            faults.append(Fault(file, line, key, wrong, "each stands once"))
            continue
        seen[name] = line
        try:
            taken.append(entry(row))
        except BedplateError as error:
            faults.append(Fault(file, line, name, error.sentence, error.hint))
    if not faults and not taken:
        faults = [Fault(file, 1, "", "there is no line in it", "one line for each")]
    if faults:
        count = "1 line" if len(faults) == 1 else f"{len(faults)} lines"
        sentence = f"Nothing was taken from {file or 'the file'}: {count} cannot be read."
        raise ImportFileError(sentence, tuple(faults), hint="Mend them and send the file again.")
    return taken


def _lines(data: bytes, file: str) -> list[tuple[int, list[str]]]:
    if len(data) > _MOST_BYTES:
        raise _whole(file, "it is larger than 4 MiB", "split it")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise _whole(file, "it is not UTF-8 text", "save it as CSV in UTF-8", line) from None
    if "\0" in text:
        raise _whole(file, "it holds a NUL character", "save it as CSV text")
    if text.count("\n") > _MOST_ROWS:
        raise _whole(file, "it has too many lines", f"at most {_MOST_ROWS} are taken at once")
    first = text.split("\n", 1)[0]
    delimiter = ";" if first.count(";") > first.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        return [(reader.line_num, cells) for cells in reader]
    except csv.Error as error:
        wrong = f"it is not CSV ({error})"
        raise _whole(file, wrong, "check the quotes", reader.line_num) from None


def _whole(file: str, wrong: str, right: str, line: int = 0) -> ImportFileError:
    sentence = f"Nothing was taken from {file or 'the file'}: {wrong}."
    return ImportFileError(sentence, (Fault(file, line, "", wrong, right),))


def _header_faults(header: list[str], file: str, columns: Sequence[str], key: str) -> list[Fault]:
    faults = []
    if key not in header:
        faults.append(Fault(file, 1, key, "the column is missing", "each line needs it"))
    known = ", ".join(columns)
    faults += [
        Fault(file, 1, name, "the column is not known", f"known are {known}")
        for name in header
        if name not in columns
    ]
    faults += [
        Fault(file, 1, name, "the column is there twice")
        for name in dict.fromkeys(header)
        if header.count(name) > 1
    ]
    return faults
