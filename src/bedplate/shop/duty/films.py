"""The film of one bearing at one speed, and which of several is in most need."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from math import nan
from pathlib import Path

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.film import NO_FILM, BearingFilm, bearing_film, require_bearing
from bedplate.shop.duty.bearings import BearingLoad, FilmBearing
from bedplate.shop.duty.tasks import FilmTask, Progress, film_of, run_study
from bedplate.wording import capital

SETTLED = "settled"
_NO_CLEARANCE = "no clearance left"
_ALIKE = 1.001
"""Films that differ by less are the same; the first bearing is named."""


@dataclass(frozen=True, slots=True)
class FilmAt:
    """The film of one bearing at one speed, with the load that made it."""

    bearing: FilmBearing
    load: BearingLoad
    film: BearingFilm

    @property
    def holds(self) -> bool:
        """Return True where there is a film that could be computed."""
        return self.film.state == SETTLED

    @property
    def is_broken(self) -> bool:
        """Return True where there is no film; False too where none could be computed."""
        return self.film.state in NO_FILM

    @property
    def is_carried_on(self) -> bool:
        """Return True where the film is hotter than the oil's data: its line is carried on."""
        return self.holds and self.film.film_temperature > self.bearing.bearing.oil.told

    @property
    def words(self) -> str:
        """Return what a table says where there is no figure."""
        return "" if self.holds else "no film" if self.is_broken else "not known"

    @property
    def unit_load(self) -> float:
        """Return the greatest load over width times diameter, Pa."""
        shape = self.bearing.bearing.shape
        size = np.hypot(self.load.cycle.load[:, 0], self.load.cycle.load[:, 1]).max()
        return float(size) / (shape.width * shape.diameter)


def film_at(bearing: FilmBearing, load: BearingLoad) -> FilmAt:
    """Return the film of a bearing under a load; without a clearance there is none.

    :raises InputError: the bearing cannot be, and its name with what is wrong
    """
    clearance = bearing.bearing.shape.diametral_clearance
    if clearance <= 0:
        nothing = np.full(len(load.cycle.load), nan)
        none = BearingFilm(
            _NO_CLEARANCE, *(nan,) * 8, clearance, nan, nan, np.stack([nothing] * 2, -1), nothing
        )
        return FilmAt(bearing, load, none)
    require_named(bearing)
    return FilmAt(bearing, load, bearing_film(bearing.bearing, load.cycle))


def films_of(
    loaded: Sequence[tuple[FilmBearing, BearingLoad]],
    *,
    executor: Executor | None = None,
    folder: Path | None = None,
    progress: Progress | None = None,
) -> list[FilmAt]:
    """Return the film of each bearing under its load, to the bit whoever looks.

    :param executor: None: this process, which has done some hundred before others have begun
    :param folder: where what is done is kept, and found again; None: nowhere
    :param progress: told how many films of how many are done
    :raises InputError: as `film_at`
    """
    if executor is None and folder is None:
        found = []
        for bearing, load in loaded:
            found.append(film_at(bearing, load))
            if progress is not None:
                progress(len(found), len(loaded))
        return found
    for bearing, _ in loaded:
        require_named(bearing)
    there = [bearing.bearing.shape.diametral_clearance > 0 for bearing, _ in loaded]
    tasks = [
        FilmTask(bearing.bearing, load.cycle)
        for (bearing, load), is_there in zip(loaded, there, strict=True)
        if is_there
    ]
    done = iter(run_study(tasks, executor=executor, here=True, folder=folder, progress=progress))
    return [
        FilmAt(bearing, load, film_of(next(done)[0])) if is_there else film_at(bearing, load)
        for (bearing, load), is_there in zip(loaded, there, strict=True)
    ]


def require_named(bearing: FilmBearing) -> None:
    """Refuse a bearing that cannot be, by its name; one without a clearance has no film, and can.

    :raises InputError: with its name and what is wrong
    """
    try:
        if bearing.bearing.shape.diametral_clearance > 0:
            require_bearing(bearing.bearing)
    except InputError as error:
        raise InputError(wrong_with(bearing, error), hint=error.hint) from error


def usable(bearings: Sequence[FilmBearing]) -> tuple[tuple[FilmBearing, ...], list[str]]:
    """Return the bearings of which a film can be looked at, and what is wrong with the others."""
    found, wrong = [], []
    for one in bearings:
        try:
            require_named(one)
        except InputError as error:
            wrong.append(error.sentence)
        else:
            found.append(one)
    return tuple(found), wrong


def wrong_with(bearing: FilmBearing, error: InputError) -> str:
    """Return what is wrong with a bearing, with its name."""
    return f"{capital(bearing.name)}: {error.sentence}"


def least_film(films: Sequence[FilmAt]) -> FilmAt | None:
    """Return the bearing with the least film of those that have one, else one without."""
    held = [one for one in films if one.holds]
    if not held:
        return in_need(films)
    thinnest = min(one.film.least_film for one in held)
    return next(one for one in held if one.film.least_film <= _ALIKE * thinnest)


def in_need(films: Sequence[FilmAt]) -> FilmAt | None:
    """Return the bearing in most need: without a film, else not told, else with the least film."""
    if not films:
        return None
    broken = [one for one in films if one.is_broken]
    untold = [one for one in films if not one.holds]
    return next(iter((*broken, *untold)), None) or least_film(films)


def no_film(state: str) -> str:
    """Return what a state without a film means, in words."""
    return {
        "film breaks down": "the film breaks down",
        "not settled": "the orbit did not settle in the cycles allowed",
        "heat not balanced": "no film temperature balances the heat",
        "beyond the oil's data": "the film gets hotter than the oil's data reach",
        "no clearance left": "there is no clearance left",
        "roughness touches": "the roughness touches and no full film is claimed",
        "beyond stiff shells": "the film's pressure is beyond what stiff shells stand for",
    }.get(state, state)
