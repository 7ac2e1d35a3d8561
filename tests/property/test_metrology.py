"""What holds of sizes and verdicts whatever is measured."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.metrology_makers import bench, feature, gauge, reading, setting, station
from uncertainties import ufloat

from bedplate.engine import FitForm
from bedplate.engine.features import Per
from bedplate.engine.fits import Gate
from bedplate.engine.model import Fit, Limit, Way
from bedplate.metrology import (
    Source,
    Verdict,
    combine,
    conformance_probability,
    judge,
    mean,
    size_of,
    standard_uncertainty,
)
from bedplate.metrology.doubts import _of_value, _ordinary
from bedplate.metrology.sources import value_of
from bedplate.quantity import Dimension, Range
from bedplate.shop.evaluate import evaluate

MICROMETRES = st.floats(-100.0, 100.0).map(lambda x: round(x, 3))
UNCERTAINTIES = st.floats(0.05, 20.0)
RANK = {Verdict.INSIDE: 0, Verdict.UNDECIDED: 1, Verdict.OUTSIDE: 2}


def value(nominal, lasting, own=0.0):
    return value_of(nominal, {Source(lasting, "cal"): 1.0, Source(own, "own", "a"): 1.0})


@given(MICROMETRES, MICROMETRES, UNCERTAINTIES, st.floats(1.0, 5.0))
def test_more_uncertainty_never_decides(least, more, uncertainty, factor):
    greatest = least + abs(more)
    verdicts = [
        judge(value(least, u), value(greatest, u), -40.0, 60.0, coverage=2.0).verdict
        for u in (uncertainty, uncertainty * factor)
    ]
    assert verdicts[1] in (verdicts[0], Verdict.UNDECIDED)


@given(MICROMETRES, UNCERTAINTIES, st.floats(0.0, 5.0))
def test_sign_does_not_matter(nominal, lasting, own):
    ours = judge(value(nominal, lasting, own), value(nominal, lasting, own), -40.0, 60.0,
                 coverage=2.0)  # fmt: skip
    theirs = judge(value(-nominal, lasting, own), value(-nominal, lasting, own), -60.0, 40.0,
                   coverage=2.0)  # fmt: skip
    assert replace(ours, advice="") == replace(theirs, advice="")


@given(MICROMETRES, UNCERTAINTIES, st.floats(0.0, 5.0), st.sampled_from([1e-6, 1 / 25.4, 1e3]))
def test_unit_does_not_matter(nominal, lasting, own, unit):
    # A hundredth of a micrometre to spare, so that rounding in the other unit cannot tip it.
    room = min(
        abs(abs(nominal - limit) - 2.0 * (lasting**2 + own**2) ** 0.5) for limit in (-40, 60)
    )
    ours = judge(value(nominal, lasting, own), value(nominal, lasting, own), -40.0, 60.0,
                 coverage=2.0)  # fmt: skip
    scaled = value(nominal * unit, lasting * unit, own * unit)
    theirs = judge(scaled, scaled, -40.0 * unit, 60.0 * unit, coverage=2.0)
    if room > 0.01:
        assert ours.verdict is theirs.verdict
    assert theirs.expanded == pytest.approx(ours.expanded * unit)


@given(MICROMETRES, UNCERTAINTIES, st.floats(0.1, 10.0))
def test_readings_that_are_asked_for_decide(nominal, lasting, own):
    judgement = judge(value(nominal, lasting, own), value(nominal, lasting, own), -40.0, 60.0,
                      coverage=2.0)  # fmt: skip
    needed = judgement.readings_needed
    if needed is not None:
        after = value(nominal, lasting, own / (1 + needed) ** 0.5)
        # A hair less, against rounding on the very edge of the zone.
        after = value_of(nominal, {s: c * (1 - 1e-12) for s, c in after.derivatives.items()})
        decided = judge(after, after, -40.0, 60.0, coverage=2.0)
        assert decided.verdict is not Verdict.UNDECIDED


@given(MICROMETRES, UNCERTAINTIES)
def test_verdict_agrees_with_probability(nominal, uncertainty):
    one = value(nominal, uncertainty)
    chance = conformance_probability(one, -40.0, 60.0)
    verdict = judge(one, one, -40.0, 60.0, coverage=2.0).verdict
    assert 0.0 <= chance <= 1.0
    if verdict is Verdict.INSIDE:
        assert chance >= 0.9544
    if verdict is Verdict.OUTSIDE:
        assert chance <= 0.0228


TERMS = st.lists(
    st.tuples(st.floats(-3.0, 3.0), st.lists(st.integers(0, 5), min_size=1, max_size=4)),
    min_size=1,
    max_size=6,
)


@given(TERMS, st.floats(-10.0, 10.0))
def test_combining_is_what_operators_would_give(terms, constant):
    errors = [ufloat(0.0, 0.5 + n) for n in range(6)]
    values = [sum((errors[n] for n in shared), 10.0 + i) for i, (_, shared) in enumerate(terms)]
    ours = combine([(f, v) for (f, _), v in zip(terms, values, strict=True)], constant)
    theirs = constant + sum(f * v for (f, _), v in zip(terms, values, strict=True))
    assert ours.nominal_value == pytest.approx(theirs.nominal_value, abs=1e-9)
    assert standard_uncertainty(ours) == pytest.approx(theirs.std_dev, abs=1e-9)
    middle = mean(values)
    assert middle.nominal_value == pytest.approx((sum(values) / len(values)).nominal_value)
    assert standard_uncertainty(middle) == pytest.approx((sum(values) / len(values)).std_dev)


STATIONS = [station(f"{w}-{d}", d, w) for d in ("top", "foot") for w in ("thrust", "crank")]
PLACES = st.tuples(st.sampled_from([s.id for s in STATIONS]), st.integers(-40, 40))


@given(st.lists(PLACES, min_size=1, max_size=12), st.randoms(use_true_random=False))
def test_order_of_readings_changes_nothing(places, random):
    held = bench(
        [gauge("mic"), gauge("dbg", comparator=True)], [setting("dbg", "86.000 mm", on_gauge="mic")]
    )
    of = feature("bore", STATIONS)
    rows = []
    for number, (where, micrometres) in enumerate(places, 31):
        taken = reading(f"{micrometres / 1000:.3f} mm", by="dbg", station=where, setting="s1")
        rows.append((number, where, held.measure(number, taken, of)))
    one = size_of(of, rows)
    random.shuffle(rows)
    other = size_of(of, rows)
    assert one.stations == other.stations or [s.values for s in one.stations] == [
        s.values for s in other.stations
    ]
    for name in ("mean", "least", "greatest", "out_of_round", "taper"):
        ours, theirs = getattr(one, name), getattr(other, name)
        assert (ours is None) == (theirs is None)
        if ours is not None:
            assert ours.nominal_value == theirs.nominal_value
            assert standard_uncertainty(ours) == standard_uncertainty(theirs)


@given(
    st.integers(-60, 60),
    st.lists(st.integers(-60, 60), max_size=5),
    st.lists(st.integers(-60, 60), max_size=5),
    st.sampled_from([("mic", False), ("dbg", True)]),
    st.sampled_from([None, 0.03e-3, 0.15e-3]),
)
def test_the_quick_look_misses_nothing(shown, others, repeats, which, play):
    name, comparator = which
    held = gauge(name, comparator=comparator)
    taken = reading(f"{shown / 1000:.3f} mm", by=name)
    of = feature("bore", nominal=None if play is None else 0.0, play=play)
    beside = [[micrometres * 1e-6 for micrometres in values] for values in (others, repeats)]
    size = taken.value.si
    if _ordinary(size, size, of, held, *beside):
        assert list(_of_value(taken, size, of, held, *beside)) == []


@given(st.lists(PLACES, min_size=1, max_size=12))
def test_extremes_bound_the_mean(places):
    held, of = bench([gauge("mic")]), feature("bore", STATIONS)
    rows = [
        (n, where, held.measure(n, reading(f"{86 + d / 1000:.3f} mm", station=where), of))
        for n, (where, d) in enumerate(places, 31)
    ]
    size = size_of(of, rows)
    slack = 1e-15
    assert size.least.nominal_value <= size.mean.nominal_value + slack
    assert size.mean.nominal_value <= size.greatest.nominal_value + slack
    for form in (size.out_of_round, size.taper):
        if form is not None:
            spread = size.greatest.nominal_value - size.least.nominal_value
            assert 0.0 <= form.nominal_value <= spread + slack


def limit(low, high):
    return Limit(Range("", low, high, None, Dimension.LENGTH, "m", 0.0))


def fit_between(form, limits, directions=()):
    way = Way("bore", ("journal",) if form is FitForm.DIFFERENCE else ())
    return Fit(
        id="f", kind="own", form=form, sense="", formula="", per=Per.MAIN, number="1", name="f",
        gate=Gate.CLOSING_MAINS, ways=(way,), directions=directions, depth=None,
        limits=(limit(*limits),), target=None, condition="", source="t", line=1,
    )  # fmt: skip


ONE = st.tuples(st.integers(-12, 12), st.sampled_from(["mic", "rough"]))
TAKEN = st.tuples(*(st.lists(ONE, min_size=1, max_size=2) for _ in STATIONS)).map(
    lambda held: [(s.id, d, by) for s, rows in zip(STATIONS, held, strict=True) for d, by in rows]
)


def taken_by_two(held, of, rows, middle, first):
    return size_of(
        of,
        [
            (n, where, held.measure(n, reading(f"{middle + d / 1000:.3f} mm", by=by, station=where,
                                               feature=of.id), of))
            for n, (where, d, by) in enumerate(rows, first)
        ],
    )  # fmt: skip


def by_all(values, low, high):
    """Judge every value for itself; None where one lies on the edge of a zone."""
    rooms = [
        (side, 2.0 * float(value.std_dev))
        for value in values
        for side in (
            *([] if low is None else [value.nominal_value - low]),
            *([] if high is None else [high - value.nominal_value]),
        )
    ]
    if any(abs(abs(room) - expanded) < 1e-10 for room, expanded in rooms):
        return None
    if any(room < -expanded for room, expanded in rooms):
        return Verdict.OUTSIDE
    return (
        Verdict.INSIDE if all(room >= expanded for room, expanded in rooms) else Verdict.UNDECIDED
    )


@given(TAKEN, TAKEN, st.integers(0, 40), st.booleans())
def test_a_verdict_is_that_of_every_pair_of_stations(holes, shafts, gap, interference):
    held = bench([gauge("mic"), gauge("rough", expanded_uncertainty="0.012 mm")])
    bore, shaft = feature("bore", STATIONS), feature("journal", STATIONS)
    hole = taken_by_two(held, bore, holes, 60 + gap / 1000, 31)
    pin = taken_by_two(held, shaft, shafts, 60, 61)
    fit = fit_between(FitForm.DIFFERENCE, (0.005e-3, 0.035e-3))
    if interference:
        fit = replace(fit, sense="interference", limits=(limit(-0.035e-3, -0.005e-3),))
    sizes = {"bore": hole, "journal": pin}
    found = evaluate(fit, {"bore": bore, "journal": shaft}, sizes, 2.0)
    # By operator arithmetic, over every pair of stations.
    pairs = [a.value - b.value for a in hole.stations for b in pin.stations]
    wanted = by_all(pairs, 0.005e-3, 0.035e-3)
    if wanted is not None:
        assert found.judgement.verdict is wanted


@given(TAKEN, st.sampled_from([FitForm.OUT_OF_ROUND, FitForm.TAPER, FitForm.SIZE]))
def test_a_verdict_on_form_is_that_of_every_pair_it_spans(rows, form):
    held = bench([gauge("mic"), gauge("rough", expanded_uncertainty="0.012 mm")])
    bore = feature("bore", STATIONS)
    size = taken_by_two(held, bore, rows, 60, 31)
    low, high = (59.99e-3, 60.01e-3) if form is FitForm.SIZE else (None, 0.012e-3)
    found = evaluate(fit_between(form, (low, high)), {"bore": bore}, {"bore": size}, 2.0)
    where = {s.id: s for s in STATIONS}
    if form is FitForm.SIZE:
        spans = [row.value for row in size.stations]
    else:
        along = "section" if form is FitForm.OUT_OF_ROUND else "direction"
        spans = [
            a.value - b.value if a.value.nominal_value >= b.value.nominal_value
            else b.value - a.value
            for a, b in combinations(size.stations, 2)
            if getattr(where[a.station], along) == getattr(where[b.station], along)
        ]  # fmt: skip
    wanted = by_all(spans, low, high)
    if wanted is not None:
        assert found.judgement.verdict is wanted
