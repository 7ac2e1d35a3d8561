"""Measured traces of an engine: of several speeds, of one cylinder or all, between and beyond."""

from math import pi, radians

import numpy as np
import pytest
from tests.engine_makers import an_engine, six

from bedplate.engine import read_engine
from bedplate.engine.traces import LONGEST_TRACE, MeasuredTrace, read_points
from bedplate.errors import EngineFileError, InputError
from bedplate.record import limits
from bedplate.shop.duty.check import duty_check
from bedplate.shop.duty.gas import Pressures, pressure_at
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.look import look_at
from bedplate.shop.duty.traces import Basis, Traces, even_trace

RPM = pi / 30
CYCLE = 4 * pi


def text(peak: float, at: int = 14, step: int = 2, unit: str = "bar") -> str:
    """Return a trace whose peak of so many bar above 1 stands at an angle."""
    away = {a: abs((a - at + 360) % 720 - 360) for a in range(-360, 360, step)}
    rows = [f"{a},{1 + peak * max(0.0, 1 - off / 90):.4f}" for a, off in away.items()]
    return "\n".join([f"angle deg,pressure {unit}", *rows])


def taken(peak: float, rpm: float | None, cylinder: str = "", at: int = 14) -> MeasuredTrace:
    speed = None if rpm is None else rpm * RPM
    return MeasuredTrace(read_points(text(peak, at)), speed, cylinder)


def table(rpm: int, peak: float, more: str = "") -> str:
    return f'[[trace]]\nspeed = "{rpm} rpm"\n{more}points = """\n{text(peak)}\n"""\n'


def with_traces(*tables: str) -> Given:
    return Given(read_engine(six(("[combustion]\n", "\n".join([*tables, "[combustion]\n"])))))


def test_between_two_measured_speeds_the_pressure_goes_straight_and_says_so():
    known = Traces([taken(60, 6000), taken(40, 4000)], CYCLE)
    found = known.of("1", 4500 * RPM)
    low, high = even_trace(taken(40, 4000), CYCLE), even_trace(taken(60, 6000), CYCLE)
    assert found.trace.pressure == pytest.approx(0.75 * low.pressure + 0.25 * high.pressure)
    assert found.basis is Basis.BETWEEN
    assert "between the traces of 4000 rpm and 6000 rpm" in found.words()
    assert known.of("1", 6000 * RPM * (1 + 1e-12)).basis is Basis.MEASURED


@pytest.mark.parametrize(("rpm", "peak"), [(2000, 40), (3880, 40), (6200, 60), (9000, 60)])
def test_beyond_the_measured_speeds_the_nearest_is_taken_as_it_is_and_marked(rpm, peak):
    found = Traces([taken(60, 6000), taken(40, 4000)], CYCLE).of("1", rpm * RPM)
    assert found.trace.peak[0] == pytest.approx((1 + peak) * 1e5, rel=0.01)
    assert found.basis is Basis.NEAREST
    assert "nothing was measured at this speed" in found.words()


def test_two_per_cent_beyond_counts_as_measured():
    found = Traces([taken(60, 6000)], CYCLE).of("1", 6100 * RPM)
    assert (found.basis, found.words()) == (Basis.MEASURED, "measured at 6000 rpm")


def test_peaks_that_stand_apart_are_said_to_blur():
    known = Traces([taken(60, 4000, at=8), taken(60, 6000, at=30)], CYCLE)
    found = known.of("1", 5000 * RPM)
    assert found.trace.peak[0] < 0.95 * 61e5
    assert "22° apart" in found.words()


def test_a_cylinders_own_trace_goes_before_that_for_all():
    known = Traces([taken(60, 6000), taken(66, 6000, "3"), taken(50, 4000)], CYCLE)
    assert known.of("3", 6000 * RPM).trace.peak[0] > 1.05 * known.of("1", 6000 * RPM).trace.peak[0]
    low = known.of("3", 4000 * RPM).trace.pressure
    assert low == pytest.approx(known.of("1", 4000 * RPM).trace.pressure)


def test_an_engine_file_carries_traces_by_speed_and_cylinder():
    given = with_traces(table(4000, 40), table(6000, 60), table(6000, 66, 'cylinder = "3"\n'))
    assert [(t.speed / RPM, t.cylinder) for t in given.traces] == [
        (pytest.approx(4000), ""), (pytest.approx(6000), ""), (pytest.approx(6000), "3"),
    ]  # fmt: skip
    pressure = pressure_at(given, 6000 * RPM)
    assert pressure.peaks[2] == pytest.approx(67e5, rel=0.01)
    assert pressure.peaks[0] == pytest.approx(61e5, rel=0.01)
    assert pressure.note == "measured at 6000 rpm"
    assert any(
        what.startswith("pressure trace, 6000 rpm, cylinder 3") for what, _ in pressure.sources
    )


def test_the_check_says_where_nothing_was_measured():
    given = with_traces(table(4000, 40), table(6000, 60))
    check = duty_check(given, tuple(rpm * RPM for rpm in (3000, 5000, 6000)))
    assert [row.pressure_words for row in check.rows] == ["nearest", "between", "measured"]
    said = next(one for one in check.unknown if one.startswith("Cylinder pressure at"))
    assert said.startswith("Cylinder pressure at 3000 rpm")
    assert any("5000 rpm: between" in note for note in check.pressure_notes)


def test_what_was_measured_in_one_cylinder_only_leaves_the_others_computed():
    given = with_traces(table(6000, 66, 'cylinder = "3"\n'))
    computed = pressure_at(Given(read_engine(six())), 6000 * RPM)
    pressure = pressure_at(given, 6000 * RPM)
    assert pressure.bases == tuple(
        Basis.MEASURED if label == 3 else Basis.COMPUTED for label in range(1, 7)
    )
    assert pressure.peaks[0] == computed.peaks[0]
    assert pressure.note.startswith("cylinders 1, 2, 4, 5, 6 computed")
    assert "cylinder 3 measured at 6000 rpm" in pressure.note


def test_pegging_and_firing_of_the_file_are_followed():
    given = with_traces(
        f'[[trace]]\nspeed = "6000 rpm"\nfiring = "10 deg"\npegged_to = "1.5 bar"\n'
        f'points = """\n{text(60)}\n"""\n'
    )
    trace = Pressures(given).at(6000 * RPM).traces[0]
    assert trace.peak[1] == pytest.approx(radians(4), abs=radians(1))
    assert trace.at(-radians(195)) == pytest.approx(1.5e5, rel=1e-3)


@pytest.mark.parametrize(
    ("tables", "key", "sentence"),
    [
        ([table(6000, 60), table(6000, 50)], "trace[2].speed", "already"),
        ([table(6000, 60, 'cylinder = "9"\n')], "trace[1].cylinder", "no cylinder '9'"),
        ([table(60, 60).replace("60 rpm", "6000 mm")], "trace[1].speed", "mm"),
        ([table(6000, 60, 'pegged_to = "1 Pa"\n')], "trace[1].pegged_to", "no pegged to"),
        ([table(6000, 60).replace("pressure bar", "pressure mm")], "trace[1].points", "pressure"),
    ],
)
def test_a_trace_that_cannot_be_is_a_fault_of_the_file(tables, key, sentence):
    with pytest.raises(EngineFileError) as caught:
        with_traces(*tables)
    assert [(fault.key, sentence in fault.wrong) for fault in caught.value.faults] == [(key, True)]


def test_a_file_with_a_gap_in_its_trace_is_refused_in_one_sentence():
    rows = table(6000, 60).splitlines()
    given = with_traces("\n".join([*rows[:60], *rows[90:]]))
    with pytest.raises(InputError, match="has a gap of"):
        duty_check(given)


def test_a_look_says_what_was_read():
    look = look_at(Given(an_engine()), taken(60, 6000))
    assert (look.points, look.finest, look.widest) == (
        360, pytest.approx(radians(2)), pytest.approx(radians(2)),
    )  # fmt: skip
    assert look.peak == (pytest.approx(61e5, rel=0.01), pytest.approx(radians(14), abs=0.02))
    assert look.least == pytest.approx(1e5)
    assert look.doubts == ()
    early = look_at(Given(an_engine()), taken(60, 6000, at=-10))
    assert "peaks 10° before firing top dead centre" in early.doubts[0]


def test_reader_and_record_hold_a_trace_to_the_same_length():
    assert LONGEST_TRACE == limits.TRACE_LENGTH
    with pytest.raises(InputError, match="characters"):
        read_points("angle deg,pressure bar\n" + "1,2\n" * (LONGEST_TRACE // 4))


@pytest.mark.parametrize(
    ("head", "row"),
    [
        ("angle deg,pressure bar", "90,12.5"),
        ("Angle [deg];Pressure [bar]", "90,0;12,5"),
        ('"angle deg","pressure kPa"', '"90","1250"'),
        ("angle °\tpressure MPa", "90\t1.25"),
        ("angle rad, pressure Pa", "1.5707963267948966, 1250000"),
    ],
)
def test_what_a_spreadsheet_writes_is_read(head, row):
    points = read_points(f"{head}\r\n{row}\r\n\r\n{row}\r\n")
    assert points.angle == pytest.approx([pi / 2] * 2)
    assert points.pressure == pytest.approx([12.5e5] * 2)


def test_an_engine_without_traces_has_none():
    assert Given(an_engine()).traces == ()
    assert Traces([], CYCLE).of("1", 100.0) is None
    assert not np.isnan(pressure_at(Given(read_engine(six())), 500.0).peaks).any()
