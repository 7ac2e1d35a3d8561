"""Whatever a trace or an engine file says of the engine at work: an answer, or one sentence."""

import re
from math import isfinite, pi

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.engine_makers import six

from bedplate.engine import read_engine
from bedplate.engine.traces import MeasuredTrace, read_points
from bedplate.errors import BedplateError
from bedplate.shop.duty.check import duty_check
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.traces import even_trace
from bedplate.shop.duty.volumes import volumes

SPEED = 6000 * pi / 30
QUIET = settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
FEW = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))

numbers = st.floats(allow_nan=True, allow_infinity=True).map(str) | st.integers(-999, 999).map(str)
rows = st.lists(st.tuples(numbers, numbers), max_size=40)


@QUIET
@given(
    head=st.sampled_from(
        ["angle deg,pressure bar", "angle rad;pressure Pa", "a,b", "angle,pressure"]
    )
    | st.text(max_size=30),
    rows=rows,
    mark=st.sampled_from([",", ";", "\t", " "]),
)
def test_a_trace_is_read_or_refused(head, rows, mark):
    text = "\n".join([head, *(mark.join(row) for row in rows)])
    try:
        trace = even_trace(MeasuredTrace(read_points(text)), 4 * pi)
    except BedplateError as error:
        assert error.sentence.endswith((".", "?"))
    else:
        assert isfinite(trace.peak[0])


SWAPPED = (
    'volume      = "40.2 cc"', 'gasket      = "1.30 mm"', 'dish        = "11.5 cc"',
    'piston    = "328 g"', 'big_end   = "384 g"', 'pitch    = "96.0 mm"',
    'opposite = "20 kg·mm"', 'temperature = "105 °C"', 'pressure    = "4.8 bar"',
    'burn_start           = "-12 deg"', 'burn_duration        = "60 deg"',
    'manifold_temperature = "50 °C"', 'exhaust_pressure     = "1.6 bar"',
    'inlet_closes  = "58 deg"', 'shell_width = "18.6 mm"', 'block  = "112 °C"',
)  # fmt: skip


@FEW
@given(
    which=st.sampled_from(SWAPPED),
    factor=st.sampled_from([-1.0, 0.0, 1e-6, 0.01, 0.2, 3.0, 50.0, 1e6]),
)
def test_a_figure_that_is_off_gives_a_sentence_and_never_a_traceback(which, factor):
    value = re.search(r'"(-?[\d.]+)', which)[1]
    changed = which.replace(value, f"{float(value) * factor:g}")
    try:
        known = Given(read_engine(six((which, changed))))
        check = duty_check(known, (SPEED,))
        volumes(known)
    except BedplateError as error:
        assert error.sentence
        return
    for row in check.rows:
        assert all(not one.holds or one.film.least_film > 0 for one in row.films)
        assert all(item.source for item in row.items)


@pytest.mark.parametrize("rod", ["30 mm", "43 mm", "44.0 mm"])
def test_a_rod_shorter_than_the_throw_is_a_fault_of_the_file(rod):
    with pytest.raises(BedplateError):
        read_engine(six(('rod        = "142.0 mm"', f'rod        = "{rod}"')))
