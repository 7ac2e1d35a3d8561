"""Verdicts, and what would settle an undecided one."""

from __future__ import annotations

import pytest

from bedplate.metrology import Source, Verdict, conformance_probability, judge, not_measured
from bedplate.metrology.sources import value_of
from bedplate.metrology.worst import NO_RIVALS, Rivals, rivals_of

LOW, HIGH = 28e-6, 52e-6
CAL = Source(1e-6, "calibration")


def value(micrometres, lasting=1.0, own=0.0, readings=1):
    """Make a value from a lasting error and the mean of some readings, u in µm."""
    parts = {Source(lasting * 1e-6, "calibration"): 1.0} if lasting else {}
    parts |= {Source(own * 1e-6, str(n), "j/a"): 1.0 / readings for n in range(readings) if own}
    return value_of(micrometres * 1e-6, parts)


def judged(one, low=LOW, high=HIGH, greatest=None):
    return judge(one, greatest or one, low, high, coverage=2.0)


def test_both_extremes_must_be_proved_inside():
    assert judged(value(31), greatest=value(49)).verdict is Verdict.INSIDE
    assert judged(value(31), greatest=value(51)).verdict is Verdict.UNDECIDED
    assert judged(value(29), greatest=value(49)).verdict is Verdict.UNDECIDED


def test_one_extreme_proved_outside_is_enough():
    assert judged(value(31), greatest=value(55)).verdict is Verdict.OUTSIDE
    assert judged(value(25), greatest=value(51)).verdict is Verdict.OUTSIDE


@pytest.mark.parametrize(
    ("low", "high", "micrometres", "verdict"),
    [
        (LOW, None, 900, Verdict.INSIDE),
        (LOW, None, 25, Verdict.OUTSIDE),
        (None, HIGH, -900, Verdict.INSIDE),
        (None, HIGH, 55, Verdict.OUTSIDE),
        (None, HIGH, 51, Verdict.UNDECIDED),
        (None, None, 51, Verdict.INSIDE),
    ],
)
def test_one_sided_limits(low, high, micrometres, verdict):
    assert judged(value(micrometres), low, high).verdict is verdict


def test_decided_needs_nothing():
    judgement = judged(value(40))
    assert judgement.verdict is Verdict.INSIDE
    assert judgement.expanded == pytest.approx(2e-6)
    assert (judgement.readings_needed, judgement.gauge_needed, judgement.advice) == (None, None, "")


def test_expanded_is_that_of_the_extreme_nearest_its_limit():
    # 3.5 − 1 µm of room is left at the low limit, 6 − 5 µm at the high one.
    judgement = judged(value(31.5, lasting=0.5), greatest=value(46, lasting=2.5))
    assert judgement.expanded == pytest.approx(5e-6)


def test_more_readings_that_decide():
    # By hand: room 3 µm; U² = 4·(1² + 2²/n): n = 1 → 4.47, 2 → 3.46, 3 → 3.06, 4 → 2.83 µm, so
    # three more than the one there is.
    judgement = judged(value(31, lasting=1.0, own=2.0))
    assert judgement.verdict is Verdict.UNDECIDED
    assert judgement.readings_needed == 3
    assert judgement.gauge_needed == pytest.approx(3e-6)
    assert judgement.advice.startswith("3 more readings of each station would decide")
    again = judged(value(31, lasting=1.0, own=2.0, readings=3))
    assert again.readings_needed == 1
    assert again.advice.startswith("One more reading of each station")
    assert judged(value(31, lasting=1.0, own=2.0, readings=4)).verdict is Verdict.INSIDE


def test_more_readings_that_prove_it_outside():
    # 3 µm beyond the limit, the same figures as inside it.
    judgement = judged(value(55, lasting=1.0, own=2.0))
    assert judgement.verdict is Verdict.UNDECIDED
    assert judgement.readings_needed == 3


def test_readings_do_not_decide_what_lasts():
    judgement = judged(value(30, lasting=1.5, own=0.5))
    assert judgement.readings_needed is None
    assert judgement.gauge_needed == pytest.approx(2e-6)
    assert judgement.advice.startswith("More readings do not decide; a result known to ±0.0020 mm")


def test_more_readings_than_twenty_are_no_advice():
    # U² = 4·2.2²/n meets 0.9 µm at n = 23.9, so 22 more would do; twenty at most are advised.
    assert judged(value(28.9, lasting=0.0, own=2.2)).readings_needed is None
    assert judged(value(29.0, lasting=0.0, own=2.29)).readings_needed == 20


def test_gauge_that_decides_does_decide():
    for micrometres in (29.0, 27.2, 51.5, 52.9):
        needed = judged(value(micrometres, lasting=2.0)).gauge_needed
        better = judged(value(micrometres, lasting=needed * 1e6 / 2 * 0.999))
        worse = judged(value(micrometres, lasting=needed * 1e6 / 2 * 1.001))
        assert better.verdict is not Verdict.UNDECIDED
        assert worse.verdict is Verdict.UNDECIDED


def test_on_the_limit_no_gauge_decides():
    judgement = judged(value(28.0, lasting=1.0))
    assert judgement.verdict is Verdict.UNDECIDED
    assert (judgement.readings_needed, judgement.gauge_needed) == (None, None)
    assert judgement.advice == "It lies on the limit: no gauge decides."


def test_not_measured():
    assert not_measured().verdict is Verdict.NOT_MEASURED
    assert not_measured().advice == ""


@pytest.mark.parametrize(
    ("micrometres", "low", "high", "expected"),
    [(40, LOW, HIGH, 1.0), (28, LOW, HIGH, 1.0), (52, LOW, HIGH, 1.0), (27.9, LOW, HIGH, 0.0),
     (52.1, LOW, HIGH, 0.0), (40, LOW, None, 1.0), (40, None, None, 1.0), (1, LOW, None, 0.0)],
)  # fmt: skip
def test_probability_without_uncertainty_is_yes_or_no(micrometres, low, high, expected):
    assert conformance_probability(value(micrometres, lasting=0.0), low, high) == expected


def test_a_value_between_the_extremes_that_is_known_less_well_is_judged_too():
    # 6 − 4 µm of room is left at the greatest, known to ±4; the place beside it is known to ±10.
    well, ill = value(46, lasting=2), value(45, lasting=5)
    assert judge(value(40), well, LOW, HIGH, coverage=2.0).verdict is Verdict.INSIDE
    judgement = judge(value(40), well, LOW, HIGH, coverage=2.0, rivals=Rivals(high=(well, ill)))
    assert judgement.verdict is Verdict.UNDECIDED
    assert judgement.expanded == pytest.approx(10e-6)
    assert judgement.gauge_needed == pytest.approx(7e-6)
    assert judgement.advice.startswith(
        "What decides is no extreme, but 0.045 mm = 0.0018 in at a place known to ±0.010 mm"
    )


def test_a_value_between_the_extremes_can_be_outside_for_certain():
    # The greatest lies 3 ± 4 µm beyond the limit, another 2 ± 1 µm.
    greatest, sure = value(55, lasting=2), value(54, lasting=0.5)
    assert judge(greatest, greatest, None, HIGH, coverage=2.0).verdict is Verdict.UNDECIDED
    judgement = judge(greatest, greatest, None, HIGH, coverage=2.0, rivals=Rivals(high=(sure,)))
    assert judgement.verdict is Verdict.OUTSIDE
    assert "0.0540 mm" in judgement.advice
    assert judgement.readings_needed is None


def test_stations_measured_alike_have_no_rivals():
    alike = [value_of(n * 1e-6, {CAL: 1.0, Source(1e-6, "own", "j/a"): 1.0}) for n in (3, 1, 2)]
    assert rivals_of(alike) is NO_RIVALS
    twice = value_of(2e-6, {CAL: 1.0, **{Source(1e-6, str(n), "j/b"): 0.5 for n in range(2)}})
    found = rivals_of([*alike, twice])
    assert found == Rivals(low=(alike[1], twice), high=(alike[0], twice))
