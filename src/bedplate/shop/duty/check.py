"""The duty check: an engine at its speeds, each quantity with its rating, its source, or 'unknown'.

An estimate for comparing choices, never a release.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from math import pi
from pathlib import Path

from bedplate.errors import BedplateError, InputError
from bedplate.physics.checks import Array
from bedplate.physics.loads import CylinderLoads, in_axes
from bedplate.quantity import Units
from bedplate.shop.duty.bearings import (
    AS_IT_IS,
    BearingLoad,
    Choice,
    FilmBearing,
    film_bearings,
    loads_at,
    oil_of,
)
from bedplate.shop.duty.films import FilmAt, films_of, least_film, usable
from bedplate.shop.duty.gas import Pressure, Pressures, crankcase, trace_name
from bedplate.shop.duty.given import Given, How, Value
from bedplate.shop.duty.heat import HotFit, hot_fits
from bedplate.shop.duty.items import Item, items_at, unrated
from bedplate.shop.duty.reasons import beyond_words, lacking_words, whole_reason, why
from bedplate.shop.duty.sense import doubts_of
from bedplate.shop.duty.tasks import Progress
from bedplate.shop.duty.traces import Basis
from bedplate.shop.duty.train import Train, crank_train
from bedplate.shop.duty.volumes import Volumes, volumes

WORDS = "An estimate for comparing choices, never a release: the makers' figures go before it."
_USUAL_SPEEDS = 8
_SLOWEST = 0.3
"""Of the greatest speed: where a full-load table begins that nobody asked otherwise. Ours."""


@dataclass(frozen=True, slots=True)
class DutyAt:
    """The engine at one speed.

    :param speed: rad/s
    :param films: of every bearing, mains first
    :param least: the one with the least film of those that have one, else one without; None where
        no film could be looked at
    :param why: which bearings have no film, and what makes the least film the least
    """

    speed: float
    pressure: Pressure
    loads: CylinderLoads
    mains: Array
    items: tuple[Item, ...]
    films: tuple[FilmAt, ...]
    least: FilmAt | None
    why: str

    @property
    def pressure_words(self) -> str:
        """Return in two words what the cylinder pressure is known from, the least sure first."""
        order = (Basis.NEAREST, Basis.ONE_FOR_ALL, Basis.BETWEEN, Basis.COMPUTED, Basis.MEASURED)
        return next(one.short for one in order if one in self.pressure.bases)

    @property
    def pressure_from(self) -> str:
        """Return a sentence where the cylinder pressure is of another speed; '' elsewhere."""
        if Basis.NEAREST not in self.pressure.bases:
            return ""
        return f"Cylinder pressure at {self.rpm:.0f} rpm: {self.pressure.note}."

    @property
    def rpm(self) -> float:
        """Return the speed in revolutions per minute."""
        return self.speed * 30 / pi


@dataclass(frozen=True, slots=True)
class DutyCheck:
    """The whole check.

    :param least: where the least film of all is met, of those that have one; None where no film
        could be looked at
    :param hot: fits at running temperature
    :param unknown: what could not be told, as sentences
    :param sources: (what, Value) of every figure that went in
    """

    name: str
    invented: bool
    units: Units
    train: Train
    volumes: Volumes | None
    rows: tuple[DutyAt, ...]
    least: DutyAt | None
    hot: tuple[HotFit, ...]
    unknown: tuple[str, ...]
    sources: tuple[tuple[str, Value], ...]
    words: str = WORDS

    @property
    def lacking(self) -> str:
        """Return which bearings have no film, or none that could be told; '' where all have."""
        return lacking_words([(row.rpm, row.films) for row in self.rows])

    @property
    def beyond(self) -> str:
        """Return what is beyond its rating, each where it is furthest; '' where nothing is."""
        return beyond_words([(row.rpm, row.items) for row in self.rows], self.units)

    @property
    def lead(self) -> str:
        """Return what to know first: beyond its rating, without a film, then the least and why."""
        parts = [self.beyond, self.lacking]
        row = self.least
        if row is not None and row.least is not None:
            parts += [self._least_words(row, row.least), row.pressure_from]
        return " ".join(part for part in parts if part)

    def _least_words(self, row: DutyAt, least: FilmAt) -> str:
        if not least.holds:
            return row.why
        said = why(self.train, row.films, least, row.rpm, self.units)
        name = "The least that could be told" if self.lacking else "Least film of all"
        return f"{name}: {said}"

    @property
    def pressure_notes(self) -> tuple[str, ...]:
        """Return what the cylinder pressure is known from: once for all speeds that are alike."""
        by_note: dict[str, list[str]] = {}
        for row in self.rows:
            by_note.setdefault(row.pressure.note, []).append(f"{row.rpm:.0f}")
        if len(by_note) == 1:
            return tuple(f"Cylinder pressure {note}." for note in by_note)
        return tuple(
            f"Cylinder pressure at {', '.join(speeds)} rpm: {note}."
            for note, speeds in by_note.items()
        )


def speeds_of(given: Given) -> tuple[float, ...]:
    """Return the speeds of the duty table, rad/s.

    :raises InputError: the file gives none
    """
    duty = given.duty
    if duty.speeds:
        return duty.speeds
    if duty.speed is None:
        raise InputError(
            "The engine file gives no speed.", hint="Give duty.speeds, or engine.speed."
        )
    step = (1 - _SLOWEST) / (_USUAL_SPEEDS - 1)
    return tuple(duty.speed.value * (_SLOWEST + step * n) for n in range(_USUAL_SPEEDS))


def duty_check(
    given: Given,
    speeds: tuple[float, ...] = (),
    choice: Choice = AS_IT_IS,
    progress: Progress | None = None,
    *,
    units: Units | None = None,
    executor: Executor | None = None,
    folder: Path | None = None,
) -> DutyCheck:
    """Return the duty check.

    :param speeds: rad/s; none: those of the file
    :param choice: what is changed to see what it does
    :param progress: told how many films of how many are done
    :param units: of the sentences; None: the engine file's
    :param executor: of the films; None: this process, which has done the table before others begin
    :param folder: where what is done is kept, and found again; None: nowhere
    :raises InputError: the file does not give what the loads need
    """
    train = crank_train(given)
    unknown = list(train.unknown)
    found = _volumes(given, unknown)
    bearings = _bearings(given, choice, unknown)
    hot, untold = hot_fits(given, bearings)
    wanted = speeds or speeds_of(given)
    pressures = Pressures(given)
    loaded = [_loaded(given, train, speed, pressures) for speed in wanted]
    films = films_of(
        [(bearing, one.bearings[bearing.id]) for one in loaded for bearing in bearings],
        executor=executor, folder=folder, progress=progress,
    )  # fmt: skip
    each = len(bearings)
    rows = [
        _row(given, train, one, tuple(films[place * each : (place + 1) * each]), units)
        for place, one in enumerate(loaded)
    ]
    unknown += [*given.duty.ignition_doubts, *_doubts(given), *_unmeasured(rows)]
    unknown += [f"The rating of {part}: nobody gave one." for part in unrated(rows[0].items)]
    engine = given.engine
    return DutyCheck(
        name=engine.name,
        invented=engine.invented,
        units=units or engine.units,
        train=train,
        volumes=found,
        rows=tuple(rows),
        least=_least_of(rows),
        hot=hot,
        unknown=(*unknown, *untold),
        sources=_sources(given, train, found, rows, bearings, hot),
    )


def _doubts(given: Given) -> list[str]:
    """Return what is strange about the measured traces."""
    return [
        f"Pressure trace, {trace_name(one)}. {doubt}"
        for one in given.traces
        for doubt in doubts_of(given, one)
    ]


def _unmeasured(rows: Sequence[DutyAt]) -> list[str]:
    """Say at which speeds a cylinder has the trace of another speed."""
    beyond = [row for row in rows if Basis.NEAREST in row.pressure.bases]
    if not beyond:
        return []
    speeds = ", ".join(f"{row.rpm:.0f}" for row in beyond)
    said = f"Cylinder pressure at {speeds} rpm: no trace was measured so far out, and the nearest"
    return [f"{said} one is taken as it is."]


def _volumes(given: Given, unknown: list[str]) -> Volumes | None:
    try:
        found = volumes(given)
    except BedplateError as error:
        unknown.append(f"Volumes: {error.sentence}")
        return None
    unknown += found.unknown
    return found


def _bearings(given: Given, choice: Choice, unknown: list[str]) -> tuple[FilmBearing, ...]:
    if choice.oil:
        oil_of(given, choice.oil)  # another oil was asked for: a grade that is none is refused
    try:
        every = film_bearings(given, choice)
    except BedplateError as error:
        unknown.append(f"Oil films: {error.sentence}")
        return ()
    found, wrong = usable(every)
    unknown += wrong
    return found


def _sources(
    given: Given,
    train: Train,
    found: Volumes | None,
    rows: list[DutyAt],
    bearings: tuple[FilmBearing, ...],
    hot: tuple[HotFit, ...],
) -> tuple[tuple[str, Value], ...]:
    under = ("crankcase pressure", crankcase(given))
    every = [*train.sources, *rows[0].pressure.sources, under]
    if found is not None:
        every += [(f"{n}, cylinder {c.label}", v) for c in found.cylinders for n, v in c.sources]
    every += _of_bearings(bearings)
    named = {(what.partition(", ")[0], value) for what, value in every}
    for fit in hot:
        new = [one for one in fit.sources if one not in named]
        every += [(f"{what}, {fit.name}", value) for what, value in new]
        named |= set(new)
    return tuple(dict.fromkeys(every))


def _of_bearings(bearings: tuple[FilmBearing, ...]) -> list[tuple[str, Value]]:
    """Return what went into the bearings: once what all share, or all of a kind."""
    kinds = {kind: [b for b in bearings if b.kind == kind] for kind in ("main", "rod")}
    shared = _shared(bearings)
    found = [(f"{what}, every bearing", value) for what, value in shared.items()]
    for kind, own in kinds.items():
        alike = {what: value for what, value in _shared(own).items() if what not in shared}
        found += [(f"{what}, every {kind}", value) for what, value in alike.items()]
        found += [
            (f"{what}, {one.name}", value)
            for one in own
            for what, value in one.sources
            if what not in shared and what not in alike
        ]
    return found


def _shared(bearings: Sequence[FilmBearing]) -> dict[str, Value]:
    each = [dict(one.sources) for one in bearings]
    first = each[0] if each else {}
    return {
        what: value for what, value in first.items() if all(one.get(what) == value for one in each)
    }


def duty_at(
    given: Given,
    train: Train,
    bearings: tuple[FilmBearing, ...],
    speed: float,
    pressures: Pressures | None = None,
    units: Units | None = None,
) -> DutyAt:
    """Return the engine at one speed.

    :param speed: rad/s
    :param pressures: read already, for a table of speeds
    :param units: of the sentences; None: the engine file's
    """
    loaded = _loaded(given, train, speed, pressures or Pressures(given))
    films = tuple(films_of([(one, loaded.bearings[one.id]) for one in bearings]))
    return _row(given, train, loaded, films, units)


@dataclass(frozen=True, slots=True)
class _Loaded:
    """What an engine's parts carry at one speed."""

    speed: float
    pressure: Pressure
    loads: CylinderLoads
    bearings: dict[str, BearingLoad]
    mains: Array


def _loaded(given: Given, train: Train, speed: float, pressures: Pressures) -> _Loaded:
    pressure = pressures.at(speed)
    return _Loaded(speed, pressure, *loads_at(given, train, pressure.traces, speed))


def _row(
    given: Given, train: Train, at: _Loaded, films: tuple[FilmAt, ...], units: Units | None
) -> DutyAt:
    return DutyAt(
        speed=at.speed,
        pressure=at.pressure,
        loads=at.loads,
        mains=at.mains,
        items=items_at(given, at.speed, at.loads, at.pressure, at.bearings, films),
        films=films,
        least=least_film(films),
        why=whole_reason(train, films, at.speed * 30 / pi, units or given.engine.units),
    )


def _least_of(rows: list[DutyAt]) -> DutyAt | None:
    """Return the row with the least film of all, one without films only where none has any."""
    met = [(row, row.least) for row in rows if row.least is not None]
    held = [(one.film.least_film, row) for row, one in met if one.holds]
    if held:
        thinnest = min(film for film, _ in held)
        return next(row for film, row in held if film == thinnest)
    return met[0][0] if met else None


def polar_loads(train: Train, row: DutyAt, one: FilmAt) -> list[tuple[Array, str, str]]:
    """Return a bearing's load as its shell sees it, then as its journal does.

    :returns: (load over the cycle in N, whose view it is, what axis 1 points to)
    """
    shell, angle = one.load.cycle.load, row.loads.angle
    if one.bearing.kind == "main":
        return [
            (shell, "as block and cap see it", "up, towards the decks"),
            (in_axes(-shell, angle), "as the journal sees it", "first throw"),
        ]
    place = train.labels.index(one.bearing.number)
    turned = angle + train.layout.throw_angle[place]
    return [
        (shell, "as rod and cap see it", "towards the piston pin"),
        (
            in_axes(-row.loads.rod_bearing[place], turned),
            "as the journal sees it",
            "outwards, along its throw",
        ),
    ]


def is_estimate(value: Value) -> bool:
    """Return True where a figure was filled in, marked so."""
    return value.how is How.ESTIMATED
