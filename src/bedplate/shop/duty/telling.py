"""What a band of clearance and a distribution of films say: told, broken and not known."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan, pi

from bedplate.physics.clearance_band import RANGE_ENDS, ClearanceBand
from bedplate.physics.film import NO_FILM, STATES
from bedplate.physics.film_spread import FilmDoubt
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.duty.films import FilmAt, no_film
from bedplate.shop.duty.reasons import carried_on, pressed_hard
from bedplate.shop.duty.study import Distribution

_TOO_HOT = "the oil would be hotter than its data reach"


def band_words(band: ClearanceBand, units: Units) -> str:
    """Return which clearance is near the best, what of it is open, and why."""
    if isnan(band.best_clearance):
        return _nothing_carries(band)
    low, high = _size(band.lowest, units), _size(band.highest, units)
    said = (
        f"Within 10 % of its best, {band.best_film * 1e6:.2f} µm at"
        f" {_size(band.best_clearance, units)}, from {'at most ' if band.below else ''}{low} to"
        f" {'at least ' if band.above else ''}{high}."
    )
    for side, at, state in (("Tighter", low, band.below), ("Wider", high, band.above)):
        if state:
            said += f" {side} than {at} {_why_open(state)}."
    if band.best_below or band.best_above:
        said += " The best is that of the clearances told: a better one may lie beyond."
    return said


def _nothing_carries(band: ClearanceBand) -> str:
    states = [STATES[place] for place in band.cases.state.tolist()]
    untold = [state for state in states if state not in NO_FILM]
    if not untold:
        return "No clearance tried carries this load."
    if len(untold) == len(states):
        return f"Not known at any clearance tried: {_would(untold[0])}."
    return (
        "No clearance of which it can be told carries this load; not known in"
        f" {len(untold)} of {len(states)} tried: {_would(untold[0])}."
    )


def _why_open(state: str) -> str:
    return "nothing was tried" if state == RANGE_ENDS else f"it is not known: {_would(state)}"


def _would(state: str) -> str:
    return _TOO_HOT if state == "beyond the oil's data" else no_film(state)


def _size(value: float, units: Units) -> str:
    return show(value, Dimension.LENGTH, units, uncertainty=1e-6)


def ends_words(rows: Sequence[tuple[float, FilmAt]], units: Units) -> tuple[str, ...]:
    """Return where over the speeds a film is nearest the ends of the model, if anywhere.

    :param rows: (speed in rad/s, its film)
    """
    held = [row for row in rows if row[1].holds]
    if not held:
        return ()
    hardest = max(held, key=lambda row: row[1].film.peak_pressure)
    hottest = max(held, key=lambda row: row[1].film.film_temperature)
    said = ((hardest, pressed_hard(hardest[1], units)), (hottest, carried_on(hottest[1], units)))
    return tuple(f"{row[0] * 30 / pi:.0f} rpm.{words}" for row, words in said if words)


def spread_words(spread: Distribution) -> str:
    """Return between which films nearly all cases lie, and how many have none or are not known."""
    if isnan(spread.middle):
        return f"{spread.films.size} cases. {shares_words(spread)}"
    low, middle = (
        f"{film * 1e6:.2f} µm" if film else "none" for film in (spread.low, spread.middle)
    )
    of = " of those told" if spread.untold else ""
    return (
        f"{spread.films.size} cases: least film from {low.removesuffix(' µm')} to"
        f" {spread.high * 1e6:.2f} µm (95 %{of}), median {middle}. {shares_words(spread)}"
    )


def shares_words(spread: Distribution) -> str:
    """Return in how many cases there is a film, none, and in how many nobody can tell."""
    parts = [f"Film in {_share(spread.carried)}"]
    if spread.broken:
        parts.append(f"broken or touching in {_share(spread.broken)}")
    parts += [f"not known in {_share(share)}: {_would(state)}" for state, share in spread.untold]
    said = f"{', '.join(parts)}."
    if spread.carried_on:
        hot = _share(spread.carried_on)
        said += f" In {hot} the oil's viscosity is carried on beyond its data."
    return said


def _share(share: float) -> str:
    if share == 1:
        return "all"
    if 0 < share < 0.0005:
        return "under 0.1 %"
    if 0.9995 < share < 1:
        return "over 99.9 %"
    return f"{100 * share:.1f} %"


def _fine(value: float, units: Units) -> str:
    return f"{value / 2.54e-5:.3f} thou" if units is Units.INCH else f"{value * 1e6:.1f} µm"


def _form(doubt: FilmDoubt, units: Units) -> str:
    said = _fine(doubt.form, units)
    return "" if float(said.split(" ")[0]) == 0 else f"; form up to {said}"


def doubt_words(doubt: FilmDoubt, units: Units) -> str:
    """Return what was drawn, and how."""
    warm = show(doubt.supply_temperature, Dimension.TEMPERATURE_DIFFERENCE, units, uncertainty=1.0)
    rest = (
        f"viscosity {100 * doubt.viscosity:.0f} %, oil supplied {warm},"
        f" gas force {100 * doubt.pressure:.0f} %{_form(doubt, units)}."
    )
    if doubt.between is None:
        return f"Standard uncertainties: clearance {_fine(doubt.clearance, units)}, {rest}"
    low, high = (_size(size, units) for size in doubt.between)
    return (
        f"Clearance anywhere from {low} to {high}, one as likely as another. Standard"
        f" uncertainties: {rest}"
    )
