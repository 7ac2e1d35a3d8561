"""Orders, returns and parts: whatever is typed is read or refused in words."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from bedplate.errors import BedplateError, ImportFileError
from bedplate.quantity import Units
from bedplate.record.entries import OrderIssued, OrderRow
from bedplate.shop.order_sizes import rounded
from bedplate.shop.returns import COLUMNS, blank_sheet, return_row
from bedplate.shop.stock import COLUMNS as PART_COLUMNS
from bedplate.shop.stock import on_hand
from bedplate.shop.table import rows_from_csv

calm = settings(deadline=None, database=None, max_examples=150)
STAMP = {"id": "0" * 32, "at": "", "by": "a tester"}
FIGURES = st.sampled_from(
    ["84.5 mm", "3.3268 in", "3.3268 mm", "-1 mm", "84,5 mm", "84.5", "1e9 mm", "± 2 µm", "x", ""]
)
WORDS = st.one_of(FIGURES, st.text(max_size=12))
ORDER = OrderIssued(
    **STAMP, order="1", revision=1, shop="", derived="0" * 64,
    rows=(
        OrderRow("bore", "boring", "Bore", "length", low=0.0844, aim=0.0845, high=0.0846),
        OrderRow("round", "boring and honing", "Round", "length", high=1e-5),
        OrderRow("ra", "boring and honing", "Ra", "surface", high=1e-6),
        OrderRow("hatch", "boring and honing", "Hatch", "angle", low=0.7, high=0.9),
        OrderRow("wash", "boring and honing", "Wash", "words"),
    ),
)  # fmt: skip


@calm
@given(st.floats(1e-3, 1.0), st.sampled_from([1e-6, 2e-6, 5e-6, 1e-5, 2.54e-6]))
def test_a_finish_size_is_the_nearest_step(size: float, step: float) -> None:
    found = rounded(size, step)
    assert abs(found / step - round(found / step)) < 1e-6
    assert abs(found - size) <= step / 2 + 1e-12


@calm
@given(
    st.fixed_dictionaries(
        {"row": st.sampled_from(["bore", "round", "ra", "hatch", "wash", "none"])},
        optional=dict.fromkeys(COLUMNS[3:], WORDS),
    )
)
def test_a_row_of_a_return_sheet_is_read_or_refused(said: dict[str, str]) -> None:
    try:
        row = return_row(ORDER, said, Units.METRIC)
    except BedplateError as error:
        assert error.sentence
        return
    if row is not None and row.value is not None and row.row == "bore":
        assert abs(row.value.si - 0.0845) <= 1e-3


@calm
@given(st.dictionaries(st.sampled_from(PART_COLUMNS), WORDS))
def test_a_part_is_read_or_refused(said: dict[str, str]) -> None:
    try:
        entry = on_hand(STAMP, said)
    except BedplateError as error:
        assert error.sentence
        return
    assert entry.count >= 0
    assert all(measure.value.si > 0 for measure in entry.measures)


def read_sheet(data: bytes, units: Units) -> list[object]:
    return rows_from_csv(
        data, "x.csv", COLUMNS, lambda row: return_row(ORDER, row, units),
        needed=("row",), unique="row",
    )  # fmt: skip


@calm
@given(st.one_of(st.binary(max_size=200), st.text(max_size=200).map(lambda t: t.encode())))
def test_any_bytes_are_no_return_sheet_or_one(data: bytes) -> None:
    try:
        read_sheet(data, Units.INCH)
    except ImportFileError as error:
        assert error.faults


def test_a_blank_sheet_comes_back_as_it_went_out() -> None:
    data = blank_sheet(ORDER, Units.METRIC)
    rows = read_sheet(data, Units.METRIC)
    assert rows == [None] * len(ORDER.rows)
