"""Why a film is the least: when and where it is met, what presses it, how the others differ."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, inf, isnan, pi

import numpy as np

from bedplate.physics.film import BearingFilm
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.duty.bearings import BearingLoad, FilmBearing
from bedplate.shop.duty.films import FilmAt, in_need, least_film, no_film
from bedplate.shop.duty.given import How
from bedplate.shop.duty.items import Item, Standing, amount
from bedplate.shop.duty.train import Train
from bedplate.wording import capital

_FULLY_PARTED = 3.0
"""Film ratio above which asperities hardly touch. Common practice, no source."""
_WITH_THE_OIL = 0.5
"""Of half the journal's speed: nearer than this a load turns with the oil. Ours."""
_NEARLY_ALL = 0.8
_STIFF = 2e8
"""Pa: from here on it is said that shells are taken as stiff. Ours: steel is pressed in by a
thousandth there, the usual clearance over the diameter, and a mineral oil is some 30 times as thick
as without pressure (Barus, 15 to 20 per GPa; common practice, no source)."""
_MOST_NAMES = 3
"""Bearings without a film that are named; more are counted."""


def why(train: Train, films: Sequence[FilmAt], one: FilmAt, rpm: float, units: Units) -> str:
    """Return the sentences that say what a bearing's film is, and what makes it so.

    :param films: of every bearing at that speed
    """
    name = capital(one.bearing.name)
    load, film = one.load, one.film
    size = np.hypot(load.cycle.load[:, 0], load.cycle.load[:, 1])
    pressed = f"{amount(one.unit_load, Dimension.PRESSURE, units)} on its projected area"
    if not one.holds:
        place = int(np.argmax(size))
        return (
            f"{name}: {no_film(film.state)} at {rpm:.0f} rpm, {_chosen(one, units)}, with up to"
            f" {_force(size[place], units)} of {_gas_or_inertia(load, place)}; {pressed}."
            f"{_reached(film, units)}{_thinner(one)}"
        )
    step = load.cycle.period / size.size
    window = _window(round(film.least_crank_angle / step), size.size)
    index = window[int(np.argmax(size[window]))]
    spot = _place_on_shell(film.least_shell_angle, upright=one.bearing.upright)
    sentence = (
        f"{name}: {film.least_film * 1e6:.2f} µm at {rpm:.0f} rpm, {_chosen(one, units)},"
        f" {_moment(train, one.bearing, film.least_crank_angle)}, on the"
        f" {spot}. There {_force(size[index], units)} of"
        f" {_gas_or_inertia(load, index)} press it, {_cause(load, window)}; the most in its cycle"
        f" is {_force(size.max(), units)}, {pressed}."
    )
    ends = pressed_hard(one, units) + carried_on(one, units)
    return sentence + _against_others(films, one, units) + _parted(one) + ends


def _chosen(one: FilmAt, units: Units) -> str:
    """Return what a builder chooses of a bearing and its film hangs on."""
    own = one.bearing.bearing
    wide = show(own.shape.diametral_clearance, Dimension.LENGTH, units, uncertainty=1e-6)
    return f"oil {own.oil.name}, cold clearance {wide}"


def beyond_words(rows: Sequence[tuple[float, Sequence[Item]]], units: Units) -> str:
    """Return what is beyond its rating, each where it is furthest; '' where nothing is.

    :param rows: (rpm, every quantity)
    """
    furthest: dict[str, tuple[float, float, Item]] = {}
    for rpm, items in rows:
        for item in items:
            if item.standing is not Standing.BEYOND or item.rating is None:
                continue
            far = inf if isnan(item.value) else abs(item.value - item.rating.value)
            if item.name not in furthest or far > furthest[item.name][0]:
                furthest[item.name] = (far, rpm, item)
    said = [_beyond(rpm, item, units) for _, rpm, item in furthest.values()]
    return f"Beyond its rating: {'; '.join(said)}." if said else ""


def _beyond(rpm: float, item: Item, units: Units) -> str:
    at = "" if item.dimension is Dimension.ROTATION else f" at {rpm:.0f} rpm"
    return f"{item.name} {item.words(units)}{at}, rated {item.limit_words(units)}"


def reached_words(film: BearingFilm, units: Units) -> str:
    """Return what was reached where no film could be told or none is left; '' if nothing was."""
    if isnan(film.laps) or not film.laps or isnan(film.film_temperature):
        return ""
    stood = show(film.film_temperature, Dimension.TEMPERATURE, units, uncertainty=1.0)
    said = f"after {film.laps:.0f} cycles the film stood at {stood}"
    if film.state == "not settled":
        still = f"{100 * film.change:.2f} % of what is left of it"
        return f"{said} and its orbit still changed by {still}"
    if film.state == "heat not balanced":
        kelvin = show(abs(film.missing), Dimension.TEMPERATURE_DIFFERENCE, units, uncertainty=0.1)
        return f"{said} and wanted {kelvin} {'more' if film.missing > 0 else 'less'}"
    return said


def _reached(film: BearingFilm, units: Units) -> str:
    said = reached_words(film, units)
    return f" {capital(said)}." if said else ""


def whole_reason(train: Train, films: Sequence[FilmAt], rpm: float, units: Units) -> str:
    """Return what to know of the films at one speed: those that are not there, then the least."""
    worst, least = in_need(films), least_film(films)
    if worst is None or least is None:
        return ""
    lacking = [one for one in films if not one.holds]
    said = [] if not lacking else [why(train, films, worst, rpm, units)]
    others = [one for one in lacking if one is not worst]
    if others:
        said.append(f"Nor is there a film to be told in {_named(others)}.")
    if least.holds:
        said.append(why(train, films, least, rpm, units))
    return " ".join(said)


def _named(films: Sequence[FilmAt]) -> str:
    names = list(dict.fromkeys(one.bearing.name for one in films))
    if len(names) > _MOST_NAMES:
        return f"{len(names)} more bearings"
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]


def lacking_words(rows: Sequence[tuple[float, Sequence[FilmAt]]]) -> str:
    """Return which bearings have no film, or none that could be told, at which speeds.

    :param rows: (rpm, films of every bearing)
    """
    by_state: dict[str, dict[str, list[str]]] = {}
    for rpm, films in rows:
        for state in dict.fromkeys(one.film.state for one in films if not one.holds):
            where = _named([one for one in films if one.film.state == state])
            speeds = by_state.setdefault(state, {}).setdefault(where.replace(" more ", " "), [])
            speeds.append(f"{rpm:.0f}")
    said = []
    for state, places in by_state.items():
        begin = no_film(state)
        where = "; ".join(f"in {one} at {', '.join(speeds)} rpm" for one, speeds in places.items())
        said.append(f"{capital(begin)} {where}.")
    return " ".join(said)


def _force(value: float, units: Units) -> str:
    return amount(float(value), Dimension.FORCE, units)


def _window(place: int, count: int) -> list[int]:
    """Return the steps of the last twelfth of the cycle: what moved the journal there."""
    return [(place - k) % count for k in range(max(1, round(count / 12)))]


def _gas_or_inertia(load: BearingLoad, place: int) -> str:
    gas = float(np.hypot(*load.gas[place]))
    rest = float(np.hypot(*(load.cycle.load[place] - load.gas[place])))
    if gas > 2 * rest:
        return "gas load"
    return "inertia load" if rest > 2 * gas else "gas and inertia load together"


def _cause(load: BearingLoad, window: list[int]) -> str:
    """Return what thins the film: the load's size, or that it turns with the oil.

    A load that turns at half the journal's speed in its shell leaves the wedge nothing to carry
    with (any text on journal bearings: half-frequency whirl); only squeezing holds it.
    """
    row = load.cycle.load
    size = np.hypot(row[:, 0], row[:, 1])
    direction = np.unwrap(np.arctan2(row[window[::-1], 1], row[window[::-1], 0]))
    step = load.cycle.period / size.size / load.cycle.crank_speed
    turning = float(direction[-1] - direction[0]) / (step * max(1, len(window) - 1))
    half = float(load.cycle.relative_speed[window].mean()) / 2
    if half and abs(1 - turning / half) < _WITH_THE_OIL:
        return "turning at about half the journal's speed, where a wedge carries least"
    if size[window].max() > _NEARLY_ALL * size.max():
        return "near the greatest of its cycle"
    return "below the most but for longer"


def _moment(train: Train, bearing: FilmBearing, angle: float) -> str:
    """Return when it is met: after firing of its own cylinder, or of the nearest one."""
    if bearing.kind == "rod":
        place = train.labels.index(bearing.number)
        label = bearing.number
    else:
        at = train.mains[train.main_labels.index(bearing.number)]
        near = np.abs(train.layout.position - at)
        beside = np.flatnonzero(near < near.min() + 0.6 * _pitch(train))
        after = [float(np.mod(angle - train.firing[k], train.cycle)) for k in beside]
        place = int(beside[int(np.argmin(after))])
        label = train.labels[place]
    after_firing = degrees(float(np.mod(angle - train.firing[place], train.cycle)))
    return f"{after_firing:.0f}° after cylinder {label} fires"


def _pitch(train: Train) -> float:
    places = np.unique(np.round(train.layout.position, 6))
    return float(np.diff(places).max()) if places.size > 1 else 1.0


def _place_on_shell(angle: float, *, upright: bool) -> str:
    """Return where on the shells an angle from the top lies."""
    turned = degrees((angle + pi) % (2 * pi) - pi)
    if upright:
        way = "with" if turned > 0 else "against"
        return f"half shell {way} the rotation from the top of the split, {abs(turned):.0f}° on"
    half = "upper" if abs(turned) <= 90 else "lower"
    from_crown = abs(turned) if half == "upper" else 180 - abs(turned)
    if from_crown < 2:
        return f"crown of the {half} shell"
    leading = (turned > 0) == (half == "upper")
    way = "with" if leading else "against"
    return f"{half} shell, {from_crown:.0f}° from its crown {way} the rotation"


def _against_others(films: Sequence[FilmAt], least: FilmAt, units: Units) -> str:
    """Return how it differs from the bearing of its kind with the greatest film."""
    alike = [one for one in films if one.bearing.kind == least.bearing.kind and one.holds]
    if len(alike) == 1:
        return ""
    best = max(alike, key=lambda one: one.film.least_film)
    if best.film.least_film < 1.02 * least.film.least_film:
        return f" All {least.bearing.kind} bearings are alike to 2 %."
    reasons = []
    if least.unit_load > 1.05 * best.unit_load:
        reasons.append(f"{100 * (least.unit_load / best.unit_load - 1):.0f} % more load")
    gap = best.film.clearance - least.film.clearance
    if abs(gap) > 0.5e-6:
        word = "less" if gap > 0 else "more"
        wide = f"{abs(gap) * 1e6:.1f} µm"
        if units is Units.INCH:
            wide = show(abs(gap), Dimension.LENGTH, units, uncertainty=1e-6)
        reasons.append(f"{wide} {word} {least.bearing.clearance_name.lower()}")
    if least.film.film_temperature > best.film.film_temperature + 2:
        hotter = least.film.film_temperature - best.film.film_temperature
        warm = show(hotter, Dimension.TEMPERATURE_DIFFERENCE, units, uncertainty=1.0)
        reasons.append(f"{warm} more in the film")
    if not reasons:
        reasons.append("its load turns and lasts otherwise over the cycle")
    return (
        f" {capital(best.bearing.name)} keeps"
        f" {best.film.least_film * 1e6:.2f} µm; here: {', '.join(reasons)}."
    )


def _parted(one: FilmAt) -> str:
    film = one.film
    if isnan(film.film_ratio):
        return ""
    words = "" if film.film_ratio >= _FULLY_PARTED else ": the surfaces are not fully parted"
    return f" Film over roughness{_guessed(one)} {film.film_ratio:.1f}{words}."


def _guessed(one: FilmAt) -> str:
    """Return a remark on a roughness that nobody gave."""
    parts = [found for name, found in one.bearing.sources if name.startswith("roughness of")]
    return " (estimated)" if any(found.how is How.ESTIMATED for found in parts) else ""


def _thinner(one: FilmAt) -> str:
    """Return what a film that is not claimed would have to be thicker than."""
    if one.film.state != "roughness touches":
        return ""
    rough = one.bearing.bearing.roughness * 1e6
    return (
        f" Its film is thinner than the roughness of journal and shell together, {rough:.2f} µm"
        f"{_guessed(one)}."
    )


def pressed_hard(one: FilmAt, units: Units) -> str:
    """Return that the shells are taken as stiff where that tells, '' elsewhere."""
    if not one.film.peak_pressure > _STIFF:
        return ""
    peak = amount(one.film.peak_pressure, Dimension.PRESSURE, units)
    return (
        f" At its peak of {peak} shell and housing give and the oil thickens, which is not"
        " reckoned with: for comparing only."
    )


def carried_on(one: FilmAt, units: Units) -> str:
    """Return that the oil's viscosity is carried on beyond its data, '' where it is not."""
    if not one.is_carried_on:
        return ""
    hot, told = (
        show(at, Dimension.TEMPERATURE, units, uncertainty=1.0)
        for at in (one.film.film_temperature, one.bearing.bearing.oil.told)
    )
    return f" Its film is at {hot}: above {told} the oil's viscosity is carried on, not known."
