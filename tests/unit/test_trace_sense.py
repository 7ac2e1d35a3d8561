"""A trace in another unit, with another zero or at another angle is asked about, or refused."""

from dataclasses import replace
from math import degrees, pi, radians

import numpy as np
import pytest
from tests.engine_makers import six

from bedplate.engine import examples, read_engine
from bedplate.engine.traces import MeasuredTrace, TracePoints, read_points
from bedplate.errors import InputError
from bedplate.physics.trace import PressureTrace
from bedplate.physics.volumes import volume_at
from bedplate.shop.duty.check import duty_check
from bedplate.shop.duty.gas import pressure_at
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.sense import compression_of, doubts_of
from bedplate.shop.duty.traces import even_trace
from bedplate.shop.duty.volumes import volumes

SPEED = 6000 * pi / 30
PASCAL = {"bar": 1e5, "psi": 6894.757, "kPa": 1e3, "MPa": 1e6}
BOOSTED = ("manifold_temperature", 'manifold_pressure = "2.0 bar"\nmanifold_temperature')


@pytest.fixture(scope="module")
def known():
    return Given(read_engine(six()))


@pytest.fixture(scope="module")
def true(known):
    """Return a trace as an engine makes it: what is computed for it."""
    return pressure_at(known, SPEED).traces[0]


def measured(trace, *, unit="bar", called="", more=0.0, firing=0.0):
    """Return a trace as its file would give it.

    :param unit: it was really written in
    :param called: what the file calls it
    :param more: Pa, added to every point
    :param firing: where in the file the cylinder fires, rad
    """
    rows = [
        f"{(degrees(angle + firing) + 360) % 720 - 360:.1f},{(p + more) / PASCAL[unit]:.7g}"
        for angle, p in zip(trace.angle[::2], trace.pressure[::2], strict=True)
    ]
    rows.sort(key=lambda row: float(row.partition(",")[0]))
    return MeasuredTrace(read_points("\n".join([f"angle deg,pressure {called or unit}", *rows])))


@pytest.mark.parametrize("name", sorted(examples()))
@pytest.mark.parametrize("share", [0.3, 1.0])
def test_what_the_engines_here_make_is_nothing_to_ask_about(name, share):
    given = Given(read_engine(examples()[name]))
    speed = share * given.duty.speed.value
    for trace in pressure_at(given, speed).traces[:2]:
        assert doubts_of(given, measured(trace)) == ()


def test_the_exponent_is_that_of_the_compression(known, true):
    # p·V^1.32 by hand; the fit has to give it back, and the pressure where it begins.
    engine = known.engine
    clearance = volumes(known).cylinders[0].clearance
    volume = np.array(
        [volume_at(a, engine.bore, engine.stroke / 2, engine.rod, clearance) for a in true.angle]
    )
    made = PressureTrace(true.angle, 1e5 * (volume.max() / volume) ** 1.32, true.cycle)
    found = compression_of(known, made)
    assert found.exponent == pytest.approx(1.32, abs=1e-3)
    assert found.rise == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize(
    ("unit", "called", "asked"),
    [
        ("psi", "bar", "is it in psi, not bar?"),
        ("MPa", "bar", "is it in MPa, not bar?"),
        ("kPa", "bar", "is it in kPa, not bar?"),
        ("kPa", "psi", "is it in kPa, not psi?"),
        ("bar", "psi", "is it in bar, not psi?"),
        ("bar", "MPa", "is it in bar, not MPa?"),
        ("bar", "kPa", "is it in bar, not kPa?"),
    ],
)
def test_the_likelier_unit_is_named(known, true, unit, called, asked):
    one = measured(true, unit=unit, called=called)
    try:
        said = doubts_of(known, one)[0]
    except InputError as error:
        said = error.sentence
    assert said.endswith(asked)


def test_more_than_any_engine_has_is_refused(known, true):
    with pytest.raises(InputError, match="which no engine does: is it in psi, not bar"):
        even_trace(measured(true, unit="psi", called="bar"), known.engine.layout.cycle)


def test_part_load_in_kpa_called_psi_is_asked_about(known, true):
    # Its peak is one that some engines have.
    part = replace(true, pressure=true.pressure * 0.5)
    assert doubts_of(known, measured(part, unit="kPa", called="psi"))[0].endswith(
        "is it in kPa, not psi?"
    )


def test_a_boosted_trace_above_the_air_outside_is_asked_about():
    given = Given(read_engine(six(BOOSTED)))
    trace = pressure_at(given, SPEED).traces[0]
    assert doubts_of(given, measured(trace)) == ()
    lowered = replace(trace, pressure=np.maximum(trace.pressure - 101_325.0, 2e3))
    (said,) = doubts_of(given, measured(lowered))
    assert said.endswith("does it count from the air outside, and is not absolute?")
    assert "follows p·Vⁿ with n = 1." in said


def test_a_pressure_that_calls_itself_one_above_the_air_is_refused(known, true):
    one = measured(true, unit="psi", called="psig")
    with pytest.raises(InputError, match="psig counts from the air outside"):
        even_trace(one, known.engine.layout.cycle)
    pegged = replace(one, pegged_to=1e5)
    assert even_trace(pegged, known.engine.layout.cycle).peak[0] > 20e5


def test_a_pegged_trace_in_another_unit_is_asked_about(known, true):
    one = replace(measured(true, unit="MPa", called="bar"), pegged_to=1.91e5)
    assert doubts_of(known, one)[0].endswith("is it in MPa, not bar?")


def test_firing_that_was_not_stated_is_refused_with_where_it_is(known, true):
    # The file counts from 360° before; nobody said so.
    one = measured(true, firing=radians(720))
    assert doubts_of(known, one) == ()
    turned = measured(true, firing=radians(360))
    with pytest.raises(InputError, match="firing top dead centre, where no cylinder does") as told:
        doubts_of(known, turned)
    assert "does firing top dead centre lie at -360° of the trace?" in told.value.sentence
    put_right = replace(turned, firing=radians(360))
    assert doubts_of(known, put_right) == ()


def test_the_check_asks_too(true):
    low = replace(true, pressure=true.pressure / 10)
    given = Given(read_engine(six())).with_trace(measured(low))
    check = duty_check(given, (SPEED,))
    (said,) = [one for one in check.unknown if one.startswith("Pressure trace")]
    assert said.endswith("is it in MPa, not bar?")


def test_volumes_that_are_not_known_leave_only_the_angle_to_ask_about(true):
    from tests.engine_makers import an_engine

    low = replace(true, pressure=true.pressure / 10)
    assert doubts_of(Given(an_engine()), measured(low)) == ()
    assert TracePoints((), ()).unit == ""
