"""A file of readings is taken whole or not at all, and says what is wrong, line by line."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bedplate.errors import ImportFileError, NotFoundError
from bedplate.record.entries import Reading, Typed
from bedplate.shop.intake import COLUMNS, Row, rows_of


def _reading(row: Row) -> Reading:
    if row.feature != "main-journal-1":
        sentence = f"There is no feature '{row.feature}'."
        raise NotFoundError(sentence)
    return Reading(
        id="0" * 32,
        at="",
        by=row.by,
        feature=row.feature,
        station=row.station,
        gauge=row.gauge,
        value=Typed(text=row.value, si=0.055),
    )


def test_columns_may_come_in_any_order_and_with_semicolons() -> None:
    data = b"value;gauge;feature;station\r\n55,001 mm;mic;main-journal-1;0-deg\r\n"
    (reading,) = rows_of(data, "readings.csv", _reading)
    assert (reading.feature, reading.station, reading.value.text) == (
        "main-journal-1",
        "0-deg",
        "55,001 mm",
    )


def test_every_fault_is_named_with_its_line() -> None:
    data = (
        b"feature,station,value,gauge\n"
        b"main-journal-1,0-deg,55 mm,mic\n"
        b"main-journal-9,0-deg,55 mm,mic\n"
        b"\n"
        b"main-journal-1,0-deg,55 mm,mic,extra\n"
    )
    with pytest.raises(ImportFileError) as caught:
        rows_of(data, "readings.csv", _reading)
    assert [(f.line, f.key) for f in caught.value.faults] == [(3, "main-journal-9"), (5, "")]


@pytest.mark.parametrize(
    ("data", "wrong"),
    [
        (b"", "column is missing"),
        (b"feature,station,value\n", "column is missing"),
        (b"feature,station,value,gauge,colour\n", "not known"),
        (b"feature,station,value,gauge,gauge\n", "twice"),
        (b"feature,station,value,gauge\n", "no line"),
        (b"feature,station,value,gauge\n\xff\n", "UTF-8"),
        (b"feature,station,value,gauge\n\0\n", "NUL"),
        (b'feature,station,value,gauge\n"a"b,c,d,e\n', "not CSV"),
        (b"feature\n" * 20_001, "lines"),
        (b"x" * (4 * 1024 * 1024 + 1), "4 MiB"),
    ],
)
def test_a_file_that_is_no_file_of_readings_is_refused(data: bytes, wrong: str) -> None:
    with pytest.raises(ImportFileError) as caught:
        rows_of(data, "readings.csv", _reading)
    assert any(wrong in fault.wrong for fault in caught.value.faults)


def test_the_same_id_twice_is_a_fault() -> None:
    data = b"feature,station,value,gauge,id\n" + b"main-journal-1,a,55 mm,mic,7\n" * 2
    with pytest.raises(ImportFileError) as caught:
        rows_of(data, "readings.csv", _reading)
    assert caught.value.faults[0].line == 3


@given(st.binary(max_size=400))
def test_noise_never_gives_anything_but_a_fault(data: bytes) -> None:
    try:
        rows_of(data, "noise.csv", _reading)
    except ImportFileError as error:
        assert error.faults


@given(st.lists(st.lists(st.text(max_size=12), min_size=1, max_size=6), max_size=6))
def test_noise_under_a_good_header_never_gives_anything_but_a_fault(rows: list[list[str]]) -> None:
    body = "\n".join(",".join(row) for row in rows)
    data = (",".join(COLUMNS) + "\n" + body).encode("utf-8", "replace")
    try:
        rows_of(data, "noise.csv", _reading)
    except ImportFileError as error:
        assert error.faults
