"""Readings from a CSV file: all of them, or none, with every fault of the file at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields

from bedplate.record.entries import Reading
from bedplate.shop.table import rows_from_csv


@dataclass(frozen=True, slots=True)
class Row:
    """One reading as it stands in a CSV file; absent columns are ''."""

    feature: str = ""
    station: str = ""
    value: str = ""
    gauge: str = ""
    part_temperature: str = ""
    gauge_temperature: str = ""
    condition: str = ""
    by: str = ""
    id: str = ""


COLUMNS = tuple(one.name for one in fields(Row))
"""Columns of a CSV file of readings; the first four must be there, in any order."""


def rows_of(data: bytes, file: str, entry: Callable[[Row], Reading]) -> list[Reading]:
    """Return the readings of a CSV file (UTF-8, comma or semicolon, a header line).

    :param entry: makes a reading of a row, or raises a BedplateError that says why not
    :raises ImportFileError: with a fault for each line that cannot be taken
    """
    return rows_from_csv(
        data, file, COLUMNS, lambda row: entry(Row(**row)), needed=COLUMNS[:4], unique="id"
    )
