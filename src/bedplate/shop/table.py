"""Rows of a CSV file a person filled in: all of them, or none, with every fault at once."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TypeVar

from bedplate.errors import BedplateError, Fault, ImportFileError

Taken = TypeVar("Taken")

_MOST_BYTES = 4 * 1024 * 1024
_MOST_LINES = 20_000


def rows_from_csv(
    data: bytes,
    file: str,
    columns: Sequence[str],
    entry: Callable[[Mapping[str, str]], Taken],
    *,
    needed: Sequence[str],
    unique: str,
) -> list[Taken]:
    """Return what each line gives (UTF-8, comma or semicolon, a header line).

    :param columns: those that are known, in any order; '_' in a header is as good as a space
    :param needed: columns that must be there
    :param unique: column in which no two lines may say the same; blanks do not count
    :param entry: makes what is wanted of a row, or raises a BedplateError that says why not
    :raises ImportFileError: with a fault for each line that cannot be taken
    """
    lines = _lines(data, file)
    spelled = {_spoken(name): name for name in columns}
    header = [spelled.get(_spoken(name), name.strip()) for name in lines[0][1]] if lines else []
    faults = list(_header_faults(header, file, columns, needed))
    taken: list[Taken] = []
    seen: dict[str, int] = {}
    for line, cells in lines[1:] if not faults else ():
        if any(cell.strip() for cell in cells):
            found = _row(line, cells, header, file, unique, seen, entry)
            if isinstance(found, Fault):
                faults.append(found)
            else:
                taken.append(found)
    if not faults and not taken:
        faults = [Fault(file, 1, "", "there is no line in it", "one line for each")]
    if faults:
        count = "1 line" if len(faults) == 1 else f"{len(faults)} lines"
        sentence = f"Nothing was taken from {file or 'the file'}: {count} cannot be read."
        raise ImportFileError(sentence, tuple(faults), hint="Mend them and send the file again.")
    return taken


def _spoken(name: str) -> str:
    return name.strip().lower().replace("_", " ")


def _row(
    line: int,
    cells: Sequence[str],
    header: Sequence[str],
    file: str,
    unique: str,
    seen: dict[str, int],
    entry: Callable[[Mapping[str, str]], Taken],
) -> Taken | Fault:
    if len(cells) > len(header):
        return Fault(file, line, "", "it has more values than the header has columns")
    row = dict(zip(header, (cell.strip() for cell in cells), strict=False))
    name = row.get(unique, "")
    if name and name in seen:
        return Fault(file, line, unique, f"'{name}' stands on line {seen[name]} too", "once each")
    seen[name] = line
    try:
        return entry(row)
    except BedplateError as error:
        return Fault(file, line, name or row.get(header[0], ""), error.sentence, error.hint)


def _lines(data: bytes, file: str) -> list[tuple[int, list[str]]]:
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
    if lines > _MOST_LINES:
        raise _whole(file, f"it has {lines} lines", f"at most {_MOST_LINES} are taken at once")
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


def _header_faults(
    header: Sequence[str], file: str, columns: Sequence[str], needed: Sequence[str]
) -> Iterator[Fault]:
    for name in needed:
        if name not in header:
            right = f"the first line needs {', '.join(needed)}"
            yield Fault(file, 1, name, "the column is missing", right)
    for name in dict.fromkeys(header):
        if name not in columns:
            right = f"known are {', '.join(columns)}"
            yield Fault(file, 1, name, "the column is not known", right)
        if header.count(name) > 1:
            yield Fault(file, 1, name, "the column is there twice")
