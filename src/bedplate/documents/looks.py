"""What the drawing shows of each feature: the mark of its worst fit, and words for it."""

from __future__ import annotations

from collections.abc import Callable

from bedplate.documents.marks import Mark, is_below
from bedplate.documents.places import Shown
from bedplate.metrology.results import Verdict
from bedplate.shop.model import FeatureState, FitState, State

_WORST_FIRST = (Verdict.OUTSIDE, Verdict.UNDECIDED, Verdict.NOT_MEASURED, Verdict.INSIDE)


def mark_of(fit: FitState) -> Mark:
    """Return the mark of a fit."""
    below = is_below(fit.least, fit.greatest, fit.low, fit.high)
    return Mark(fit.verdict, below, fit.stale or fit.lapsed)


def words_of(fit: FitState) -> str:
    """Return the verdict of a fit in words; of one with part of its readings, that it is begun."""
    if fit.verdict is Verdict.NOT_MEASURED and fit.value is not None and not fit.stale:
        return "not all of it measured yet"
    return mark_of(fit).words


def fits_on(state: State) -> dict[str, list[FitState]]:
    """Return the fits that rest on each feature, worst first."""
    resting: dict[str, list[FitState]] = {name: [] for name in state.features}
    for fit in state.fits.values():
        for name in fit.rests_on:
            resting[name].append(fit)
    for fits in resting.values():
        fits.sort(key=lambda fit: _WORST_FIRST.index(fit.verdict))
    return resting


def progress(feature: FeatureState) -> tuple[int, int]:
    """Return how many stations of a feature have a reading that counts, and how many there are."""
    done = {r.station for r in feature.readings if r.standing == "counts"}
    return len(done), len(feature.feature.stations)


def looks(state: State, href: Callable[[str], str]) -> dict[str, Shown]:
    """Return what is shown of each feature.

    :param href: address of a feature by its id
    """
    resting = fits_on(state)
    return {
        name: _shown(feature, resting[name], href(name)) for name, feature in state.features.items()
    }


def _shown(feature: FeatureState, fits: list[FitState], href: str) -> Shown:
    done, all_of_them = progress(feature)
    mark = mark_of(fits[0]) if fits else Mark(Verdict.NOT_MEASURED, stale=feature.stale)
    worst = f"{fits[0].fit.name} {mark.words}" if fits else "no fit rests on it"
    name = f"{feature.feature.name}: {worst}; {done} of {all_of_them} stations measured"
    return Shown(mark, name, href)
