"""Fits, by kind, and one fit in full."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from bedplate.engine.fits import Gate
from bedplate.metrology.results import Verdict
from bedplate.shop.model import FeatureState, FitState, State
from bedplate.web.views.common import FitView, both, fine, fit_view, length
from bedplate.web.views.measure import PastReading, past_reading


@dataclass(frozen=True, slots=True)
class FitGroup:
    """Fits of one kind, as rows.

    :param sets: those that share limits, source and condition stand together, under one head
    :param folded: nothing in it asks for a look: every one is inside or not measured yet
    """

    name: str
    fits: tuple[FitView, ...]
    sets: tuple[tuple[FitView, ...], ...]
    tally: str
    folded: bool

    @property
    def anchor(self) -> str:
        """Return the address of the group on its page."""
        return "kind-" + self.name.replace(" ", "-")


@dataclass(frozen=True, slots=True)
class FitsPage:
    """The page of fits, filtered."""

    groups: tuple[FitGroup, ...]
    gates: tuple[str, ...]
    gate: str
    verdicts: tuple[str, ...]
    verdict: str
    count: int


def fits_page(state: State, gate: str, verdict: str) -> FitsPage:
    """Return the fits that guard a gate and have a verdict; '' for all."""
    kinds: dict[str, list[FitState]] = {}
    for fit in state.fits.values():
        if gate and fit.fit.gate.value != gate:
            continue
        if verdict and fit.verdict.value != verdict:
            continue
        kinds.setdefault(fit.fit.kind if fit.fit.kind != "own" else "others", []).append(fit)
    groups = tuple(_group(name, fits, state, open_=bool(verdict)) for name, fits in kinds.items())
    return FitsPage(
        groups=groups,
        gates=tuple(g.value for g in Gate),
        gate=gate,
        verdicts=tuple(v.value for v in Verdict),
        verdict=verdict,
        count=sum(len(g.fits) for g in groups),
    )


def _group(name: str, fits: list[FitState], state: State, *, open_: bool) -> FitGroup:
    views = tuple(fit_view(fit, state.units, slim=True) for fit in fits)
    alike: dict[tuple[str, ...], list[FitView]] = {}
    for view in views:
        shared = (view.limits, view.target, view.source, view.condition, view.formula)
        alike.setdefault(shared, []).append(view)
    counts = Counter(fit.verdict for fit in fits)
    quiet = counts.keys() <= {Verdict.INSIDE, Verdict.NOT_MEASURED}
    asks = any(fit.stale or fit.lapsed for fit in fits)
    tally = ", ".join(f"{counts[v]} {v.value}" for v in Verdict if counts[v])
    return FitGroup(
        name, views, tuple(map(tuple, alike.values())), tally,
        folded=quiet and not asks and not open_,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One source of uncertainty, with a bar as long as its share.

    :param share: of the variance, percent
    """

    source: str
    amount: str
    share: int
    shared: bool


@dataclass(frozen=True, slots=True)
class Rest:
    """A feature that the fit rests on."""

    id: str
    name: str
    size: str
    extent: str
    expanded: str
    readings: tuple[PastReading, ...]


@dataclass(frozen=True, slots=True)
class FitDetail:
    """A fit in full."""

    rows: tuple[tuple[str, str], ...]
    budget: tuple[BudgetLine, ...]
    rests: tuple[Rest, ...]
    missing: tuple[tuple[str, str], ...]


def fit_detail(state: State, fit: FitState) -> FitDetail:
    """Return everything that is known of a fit."""
    units = state.units
    rows = [("Value", both(fit.value, units, fit.expanded))]
    if fit.least is not None and fit.greatest is not None and fit.least != fit.greatest:
        rows.append(("Least", _with(fit.least, fit.expanded_least, state)))
        rows.append(("Greatest", _with(fit.greatest, fit.expanded_greatest, state)))
    if fit.expanded is not None:
        k = state.engine.measuring.coverage
        rows.append((f"Expanded uncertainty (k = {k:g})", fine(fit.expanded, units)))
    if fit.eccentricity is not None:
        rows.append(("Crown less the sides", fine(fit.eccentricity, units)))
    budget = tuple(
        BudgetLine(
            line.source,
            fine(abs(line.amount), units),
            round(100 * line.share),
            line.shared,
        )
        for line in fit.budget
    )
    return FitDetail(
        tuple(rows),
        budget,
        tuple(_rest(state, state.features[name]) for name in fit.rests_on),
        tuple((name, state.features[name].feature.name) for name in fit.missing),
    )


def _with(value: float, expanded: float | None, state: State) -> str:
    shown = both(value, state.units, expanded)
    return shown if expanded is None else f"{shown}, ± {fine(expanded, state.units)}"


def _rest(state: State, feature: FeatureState) -> Rest:
    size, units = feature.size, state.units
    names = {s.id: s.name for s in feature.feature.stations}
    return Rest(
        id=feature.feature.id,
        name=feature.feature.name,
        size="" if size is None else both(float(size.mean.nominal_value), units, feature.expanded),
        extent=""
        if size is None or len(size.stations) < 2
        else f"{length(float(size.least.nominal_value), units)} to "
        f"{length(float(size.greatest.nominal_value), units)}",
        expanded="" if feature.expanded is None else fine(feature.expanded, units),
        readings=tuple(past_reading(state, r, names, "") for r in feature.readings),
    )
