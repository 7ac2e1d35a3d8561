"""What is known of a fit: its value, its verdict, and whether a person's acceptance still holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from bedplate.engine import Engine, Fit
from bedplate.metrology import Size, Verdict, not_measured, standard_uncertainty
from bedplate.metrology.affine import AffineScalarFunc
from bedplate.record.entries import Accepted
from bedplate.shop.evaluate import evaluate, lacking
from bedplate.shop.facts import Facts
from bedplate.shop.model import FeatureState, FitState

_SAME = 1e-12
"""m: two values of a fit that differ by less are the same."""


def fit_state(
    fit: Fit,
    engine: Engine,
    features: Mapping[str, FeatureState],
    sizes: Mapping[str, Size],
    facts: Facts,
) -> FitState:
    """Return what is known of a fit.

    :param sizes: by feature id, those that hold good now
    """
    coverage = engine.measuring.coverage
    found = evaluate(fit, engine.features, sizes, coverage)
    missing = lacking(fit, engine.features, sizes)

    def expanded(value: AffineScalarFunc) -> float:
        return coverage * standard_uncertainty(value)

    def reach(end: AffineScalarFunc, rivals: Sequence[AffineScalarFunc], sign: float) -> float:
        beyond = [sign * (_nominal(v) - _nominal(end)) + expanded(v) for v in rivals]
        return max((expanded(end), *beyond))

    state = FitState(
        fit=fit,
        low=found.low if found else fit.limits[0].range.low,
        high=found.high if found else fit.limits[0].range.high,
        value=_nominal(found.value) if found else None,
        least=_nominal(found.least) if found else None,
        greatest=_nominal(found.greatest) if found else None,
        expanded=expanded(found.value) if found else None,
        expanded_least=reach(found.least, found.rivals.low, -1.0) if found else None,
        expanded_greatest=reach(found.greatest, found.rivals.high, 1.0) if found else None,
        judgement=found.judgement if found else not_measured(),
        way=found.way if found else None,
        rests_on=fit.ways[found.way if found else 0].features,
        missing=missing,
        uncertain=found.value if found else None,
        stale=any(features[name].stale for name in missing),
        accepted="",
        accepted_by="",
        lapsed=False,
        eccentricity=found.eccentricity if found else None,
    )
    return _with_acceptance(state, facts)


def _with_acceptance(state: FitState, facts: Facts) -> FitState:
    """Say whether the last acceptance that stands was of the values as they are now."""
    rows = [n for n in facts.accepted.get(state.fit.id, ()) if facts.stands(n)]
    entry = rows[-1].entry if rows else None
    if not isinstance(entry, Accepted):
        return state
    holds = (
        not state.stale
        and _same(entry.least, state.least)
        and _same(entry.greatest, state.greatest)
    )
    if holds:
        return replace(state, accepted=entry.reason, accepted_by=entry.by)
    return replace(state, lapsed=state.verdict is not Verdict.INSIDE)


def _nominal(value: AffineScalarFunc) -> float:
    return float(value.nominal_value)


def _same(then: float | None, now: float | None) -> bool:
    if then is None or now is None:
        return then is now
    return abs(then - now) < _SAME
