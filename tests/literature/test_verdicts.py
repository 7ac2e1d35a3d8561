"""Verdicts and probabilities against ISO 14253-1 and JCGM 106:2012."""

from __future__ import annotations

import numpy as np
import pytest

from bedplate.metrology import Source, Verdict, conformance_probability, judge
from bedplate.metrology.sources import value_of


def known_to(nominal, uncertainty):
    return value_of(nominal, {Source(uncertainty, "all of it"): 1.0})


# A guard band of r·U (U = 2u) leaves at most this risk at one limit: tails of the normal
# distribution, as JCGM 106:2012, clause 8, and ILAC-G8:09/2019, table 1, set decision rules by them
# (from memory).
@pytest.mark.parametrize(
    ("share", "risk"),
    [(0.0, 0.5), (0.5, 0.1587), (0.75, 0.0668), (1.0, 0.02275), (1.5, 0.00135)],
)
def test_risk_behind_a_guard_band(share, risk):
    u, limit = 0.5, 10.0
    at_acceptance_limit = known_to(limit - share * 2 * u, u)
    outside = 1 - conformance_probability(at_acceptance_limit, None, limit)
    assert outside == pytest.approx(risk, abs=5e-5)
    mirrored = known_to(-limit + share * 2 * u, u)
    assert 1 - conformance_probability(mirrored, -limit, None) == pytest.approx(outside, abs=1e-12)


def test_resistors_that_are_sorted():
    # JCGM 106:2012, example of 9.5 (figures from memory, reproduced by two independent programs):
    # 1500 Ω ± 0.2, process u0 = 0.12, ohmmeter u = 0.04. Limits of acceptance equal to those of
    # tolerance: consumer's risk 0.0189, producer's 0.0372; drawn in to 1499.82..1500.18: about 1 %
    # and 7 %. The probability of acceptance at each true value is the function under test.
    true = np.linspace(-0.96, 0.96, 6401)
    density = np.exp(-0.5 * (true / 0.12) ** 2) / (0.12 * np.sqrt(2 * np.pi))
    conforming = np.abs(true) <= 0.2 + 1e-12

    def risks(limit):
        accepted = np.array(
            [conformance_probability(known_to(x, 0.04), -limit, limit) for x in true]
        )
        step = true[1] - true[0]
        consumer = float((density * accepted)[~conforming].sum() * step)
        producer = float((density * (1 - accepted))[conforming].sum() * step)
        return consumer, producer

    assert risks(0.2) == pytest.approx((0.018942, 0.037208), rel=5e-3)
    assert risks(0.18) == pytest.approx((0.0098783, 0.0690265), rel=5e-3)


# ISO 14253-1:1998, clause 5, on one size with limits 0.028..0.052 mm and U = 4 µm (k = 2): the
# zones of proof begin U inside and U outside each limit.
@pytest.mark.parametrize(
    ("micrometres", "verdict"),
    [
        (23.9, Verdict.OUTSIDE),
        (24.1, Verdict.UNDECIDED),
        (28.0, Verdict.UNDECIDED),
        (31.9, Verdict.UNDECIDED),
        (32.1, Verdict.INSIDE),
        (40.0, Verdict.INSIDE),
        (47.9, Verdict.INSIDE),
        (48.1, Verdict.UNDECIDED),
        (55.9, Verdict.UNDECIDED),
        (56.1, Verdict.OUTSIDE),
    ],
)
def test_zones_of_proof(micrometres, verdict):
    value = known_to(micrometres * 1e-6, 2e-6)
    assert judge(value, value, 28e-6, 52e-6, coverage=2.0).verdict is verdict


def test_the_newer_default_leaves_a_twentieth():
    # ISO 14253-1:2017 (from memory): 95 % conformance at the edge of the zone, k = 1.645.
    edge = known_to(52e-6 - 1.645 * 2e-6, 2e-6)
    assert conformance_probability(edge, None, 52e-6) == pytest.approx(0.95, abs=1e-4)
    inside = known_to(52e-6 - 1.6451 * 2e-6, 2e-6)
    assert judge(inside, inside, None, 52e-6, coverage=1.645).verdict is Verdict.INSIDE
    assert judge(inside, inside, None, 52e-6, coverage=2.0).verdict is Verdict.UNDECIDED
