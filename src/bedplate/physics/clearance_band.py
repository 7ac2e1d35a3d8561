"""Least film against clearance, and the band of clearance where it is near its best."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from math import isfinite, nan

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import Array, require_positive
from bedplate.physics.film import NO_FILM, STATES, Bearing, FilmCases, film_over_cases
from bedplate.physics.mobility import LoadCycle

RANGE_ENDS = "range ends"
"""A band is open because no clearance beyond was tried."""
_NEAR_BEST = 0.9
_MORE = 4
"""Clearances tried at a time where a band does not close."""
_TIGHTEST, _WIDEST = 2e-6, 2.0
"""m, and of the greatest first tried: from there on no more are looked at."""


@dataclass(frozen=True, slots=True)
class ClearanceBand:
    """Least film against cold clearance, and the band where it is near its best.

    Of clearances where nobody can tell the film, because it would be hotter than the oil's data
    reach say, nothing is assumed: there the band is open.

    :param clearance: diametral at 20 °C, m, rising, shape (n,)
    :param cases: the film at each
    :param best_clearance: of those told, m; nan if none carries
    :param best_film: m
    :param lowest: where the film reaches 0.9 of the best, m; the last one told where it is open
    :param highest: the same on the other side, m
    :param below: why the band is open at its lowest: `RANGE_ENDS`, or the state that follows; ''
        where it closes
    :param above: the same at its highest
    :param best_below: why a better film may lie below the best clearance, as `below`; '' if none
    :param best_above: the same above it
    """

    clearance: Array
    cases: FilmCases
    best_clearance: float
    best_film: float
    lowest: float
    highest: float
    below: str = ""
    above: str = ""
    best_below: str = ""
    best_above: str = ""


def clearance_band(
    bearing: Bearing, cycle: LoadCycle, lowest: float, highest: float, *, steps: int = 41
) -> ClearanceBand:
    """Return the least film against clearance, and where it is within 10 % of its best.

    :param bearing: its own clearance is not used
    :param cycle: the loads in the shell's frame
    :param lowest: cold diametral clearance to begin with, m
    :param highest: to end with, m
    :param steps: how many to try, evenly, 5 or more
    :returns: the band; nan where no clearance carries
    :raises InputError: as `bearing_film`; a range that is none
    Source: as `bearing_film`; the band's ends by straight lines between the clearances tried.
    """
    require_positive(lowest_clearance=lowest)
    if not (isfinite(highest) and highest > lowest and steps >= 5):
        raise InputError(
            "A band of clearance goes from a lower to a higher one in 5 steps or more."
        )
    tried = np.linspace(lowest, highest, steps)
    return band_of(tried, film_over_cases(bearing, cycle, clearance=tried))


def closed_band(solve: Callable[[Array], FilmCases], tried: Array) -> ClearanceBand:
    """Return the band of clearance, trying more where it does not close within those tried.

    Wider ones in steps that double every four, to twice the greatest first tried or a little more;
    tighter ones down to 2 µm, in steps that halve. Where the film cannot be told there, it stays
    open.

    :param solve: gives the film at clearances, diametral at 20 °C in m
    :param tried: to begin with, rising and even, shape (n,)
    Source: as `clearance_band`; how far is ours.
    """
    step, most = float(tried[1] - tried[0]), _WIDEST * float(tried[-1])
    band = band_of(tried, solve(tried))
    while RANGE_ENDS in (band.above, band.best_above) and band.clearance[-1] < most:
        step *= 2
        more = band.clearance[-1] + step * np.arange(1, _MORE + 1)
        band = _joined(band.clearance, band.cases, more, solve(more))
    while RANGE_ENDS in (band.below, band.best_below) and band.clearance[0] > _TIGHTEST:
        down = max(band.clearance[0] / 2, _TIGHTEST)
        less = np.linspace(down, band.clearance[0], _MORE, endpoint=False)
        band = _joined(less, solve(less), band.clearance, band.cases)
    return band


def band_of(tried: Array, cases: FilmCases) -> ClearanceBand:
    """Return where the film is within 10 % of its best, of cases that were solved already.

    :param tried: diametral clearance at 20 °C of each case, m, rising, shape (n,)
    :param cases: the film at each
    :returns: the band; nan where no clearance carries
    Source: as `clearance_band`.
    """
    states = [STATES[place] for place in cases.state.tolist()]
    none = np.array([state in NO_FILM for state in states])
    film = np.where(none, 0.0, cases.least_film)
    best = int(np.argmax(np.nan_to_num(film)))
    if not film[best] > 0.0:
        return ClearanceBand(tried, cases, nan, nan, nan, nan)
    wanted = _NEAR_BEST * film[best]
    down, up = slice(best, None, -1), slice(best, None)
    lowest, below = _end(tried[down], film[down], states[down], wanted)
    highest, above = _end(tried[up], film[up], states[up], wanted)
    return ClearanceBand(
        clearance=tried,
        cases=cases,
        best_clearance=float(tried[best]),
        best_film=float(film[best]),
        lowest=lowest,
        highest=highest,
        below=below,
        above=above,
        best_below=_open(film[down], states[down], 1),
        best_above=_open(film[up], states[up], 1),
    )


def _joined(low: Array, low_cases: FilmCases, high: Array, high_cases: FilmCases) -> ClearanceBand:
    both = {
        field.name: np.concatenate(
            [getattr(low_cases, field.name), getattr(high_cases, field.name)]
        )
        for field in fields(FilmCases)
    }
    return band_of(np.concatenate([low, high]), FilmCases(**both))


def _open(film: Array, states: list[str], place: int) -> str:
    """Return why nothing is told at a place of a row, '' where something is."""
    if place >= film.size:
        return RANGE_ENDS
    return states[place] if np.isnan(film[place]) else ""


def _end(clearance: Array, film: Array, states: list[str], wanted: float) -> tuple[float, str]:
    """Return where film falls to what is wanted, going from the best, and '' or why it is open."""
    for k in range(1, film.size):
        if np.isnan(film[k]):
            break
        if film[k] < wanted:
            part = (film[k - 1] - wanted) / (film[k - 1] - film[k])
            return float(clearance[k - 1] + part * (clearance[k] - clearance[k - 1])), ""
    else:
        return float(clearance[-1]), RANGE_ENDS
    return float(clearance[k - 1]), states[k]
