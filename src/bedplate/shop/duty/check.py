"""The duty check: an engine at its speeds, each quantity with its rating, its source, or 'unknown'.

An estimate for comparing choices, never a release.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import asin, degrees, isnan, pi

import numpy as np

from bedplate.engine.duty import Figure
from bedplate.errors import BedplateError, InputError
from bedplate.physics.checks import Array
from bedplate.physics.film import BearingFilm, bearing_film
from bedplate.physics.loads import CylinderLoads, in_axes
from bedplate.physics.slider_crank import mean_piston_speed, peak_acceleration
from bedplate.quantity import Dimension
from bedplate.shop.duty.bearings import (
    AS_IT_IS,
    BearingLoad,
    Choice,
    FilmBearing,
    film_bearings,
    loads_at,
    oil_of,
)
from bedplate.shop.duty.gas import Pressure, Pressures
from bedplate.shop.duty.given import Given, How, Value
from bedplate.shop.duty.traces import Basis
from bedplate.shop.duty.train import Train, crank_train
from bedplate.shop.duty.volumes import Volumes, crank_offset, throw_of, volumes

SETTLED = "settled"
WORDS = "An estimate for comparing choices, never a release: the makers' figures go before it."
_USUAL_SPEEDS = 8
_SLOWEST = 0.3
"""Of the greatest speed: where a full-load table begins that nobody asked otherwise. Ours."""
_FULLY_PARTED = 3.0
"""Film ratio above which asperities hardly touch. Common practice, no source."""

_WITH_THE_OIL = 0.5
"""Of half the journal's speed: nearer than this a load turns with the oil. Ours."""
_NEARLY_ALL = 0.8
_ALIKE = 1.001
"""Films that differ by less are the same; the first bearing is named."""


class Standing(StrEnum):
    """How a quantity stands to its rating."""

    WITHIN = "within its rating"
    BEYOND = "beyond its rating"
    UNKNOWN = "unknown: no rating"
    NO_VALUE = "no value"


@dataclass(frozen=True, slots=True)
class Item:
    """One quantity at one speed.

    :param value: SI; nan where there is none
    :param worst: where it is met, '' where it is the same everywhere
    :param rating: as typed with its source; None where nobody rates it
    """

    name: str
    dimension: Dimension
    value: float
    worst: str
    rating: Figure | None
    standing: Standing
    source: str


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
    def unit_load(self) -> float:
        """Return the greatest load over width times diameter, Pa."""
        shape = self.bearing.bearing.shape
        size = np.hypot(self.load.cycle.load[:, 0], self.load.cycle.load[:, 1]).max()
        return float(size) / (shape.width * shape.diameter)


@dataclass(frozen=True, slots=True)
class DutyAt:
    """The engine at one speed.

    :param speed: rad/s
    :param films: of every bearing, mains first
    :param least: the one with the least film, or one whose film breaks down; None without films
    :param why: sentence on what makes it the least
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
    def rpm(self) -> float:
        """Return the speed in revolutions per minute."""
        return self.speed * 30 / pi


@dataclass(frozen=True, slots=True)
class DutyCheck:
    """The whole check.

    :param least: where the least film of all is met; None where no film could be computed
    :param unknown: what could not be told, as sentences
    :param sources: (what, Value) of every figure that went in
    """

    name: str
    invented: bool
    train: Train
    volumes: Volumes | None
    rows: tuple[DutyAt, ...]
    least: DutyAt | None
    unknown: tuple[str, ...]
    sources: tuple[tuple[str, Value], ...]
    words: str = WORDS

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
    progress: Callable[[int, int], None] | None = None,
) -> DutyCheck:
    """Return the duty check.

    :param speeds: rad/s; none: those of the file
    :param choice: what is changed to see what it does
    :param progress: told how many speeds of how many are done
    :raises InputError: the file does not give what the loads need
    """
    train = crank_train(given)
    unknown = list(train.unknown)
    found = _volumes(given, unknown)
    bearings = _bearings(given, choice, unknown)
    wanted = speeds or speeds_of(given)
    rows, pressures = [], Pressures(given)
    for number, speed in enumerate(wanted):
        rows.append(duty_at(given, train, bearings, speed, pressures))
        if progress is not None:
            progress(number + 1, len(wanted))
    unrated = [item.name for item in rows[0].items if item.standing is Standing.UNKNOWN]
    unknown += _unmeasured(rows)
    unknown += [f"The rating of {name}: nobody gave one." for name in unrated]
    engine = given.engine
    return DutyCheck(
        name=engine.name,
        invented=engine.invented,
        train=train,
        volumes=found,
        rows=tuple(rows),
        least=_least_of(rows),
        unknown=tuple(unknown),
        sources=_sources(train, found, rows, bearings),
    )


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
        return film_bearings(given, choice)
    except BedplateError as error:
        unknown.append(f"Oil films: {error.sentence}")
        return ()


def _sources(
    train: Train, found: Volumes | None, rows: list[DutyAt], bearings: tuple[FilmBearing, ...]
) -> tuple[tuple[str, Value], ...]:
    every = [*train.sources, *rows[0].pressure.sources]
    if found is not None:
        every += [(f"{n}, cylinder {c.label}", v) for c in found.cylinders for n, v in c.sources]
    every += [(f"{n}, {b.name}", v) for b in bearings for n, v in b.sources]
    return tuple(every)


def duty_at(
    given: Given,
    train: Train,
    bearings: tuple[FilmBearing, ...],
    speed: float,
    pressures: Pressures | None = None,
) -> DutyAt:
    """Return the engine at one speed.

    :param speed: rad/s
    :param pressures: read already, for a table of speeds
    """
    pressure = (pressures or Pressures(given)).at(speed)
    loads, by_bearing, mains = loads_at(given, train, pressure.traces, speed)
    films = tuple(
        FilmAt(one, by_bearing[one.id], bearing_film(one.bearing, by_bearing[one.id].cycle))
        for one in bearings
    )
    least = least_film(films)
    items = (*_motion(given, speed), *_forces(given, loads, pressure, by_bearing),
             *_film_items(given, films))  # fmt: skip
    row = DutyAt(speed, pressure, loads, mains, items, films, least, "")
    return replace(row, why=why(train, row))


def least_film(films: tuple[FilmAt, ...]) -> FilmAt | None:
    """Return the bearing in most need: one without a film first, then the least film."""
    if not films:
        return None
    parted = [one for one in films if not one.holds]
    if parted:
        return parted[0]
    thinnest = min(one.film.least_film for one in films)
    return next(one for one in films if one.film.least_film <= _ALIKE * thinnest)


def _least_of(rows: list[DutyAt]) -> DutyAt | None:
    met = [row for row in rows if row.least is not None]
    if not met:
        return None

    def film(row: DutyAt) -> float:
        least = row.least
        return least.film.least_film if least is not None and least.holds else -1.0

    return min(met, key=film)


def _item(
    given: Given, name: str, dimension: Dimension, value: float, worst: str, source: str
) -> Item:
    rating = next((r for r in given.duty.ratings if r.of == name), None)
    if isnan(value):
        standing = Standing.NO_VALUE
    elif rating is None:
        standing = Standing.UNKNOWN
    else:
        beyond = value < rating.limit.value if rating.is_least else value > rating.limit.value
        standing = Standing.BEYOND if beyond else Standing.WITHIN
    return Item(name, dimension, value, worst, rating.limit if rating else None, standing, source)


def _motion(given: Given, speed: float) -> tuple[Item, ...]:
    engine = given.engine
    geometry = "exact slider-crank, engine file, [geometry]"
    hard = peak_acceleration(throw_of(engine), engine.rod, crank_offset(engine), speed)
    return (
        _item(given, "engine speed", Dimension.ROTATION, speed, "", "engine file"),
        _item(given, "mean piston speed", Dimension.VELOCITY,
              mean_piston_speed(engine.stroke, speed), "", "2·stroke·speed"),
        _item(given, "piston acceleration", Dimension.ACCELERATION, hard, "", geometry),
        _item(given, "rod angle", Dimension.ANGLE, _rod_angle(given), "", geometry),
    )  # fmt: skip


def _rod_angle(given: Given) -> float:
    """Return the greatest angle of the rod from the cylinder's axis, rad."""
    return asin((throw_of(given.engine) + abs(crank_offset(given.engine))) / given.engine.rod)


def _forces(
    given: Given,
    loads: CylinderLoads,
    pressure: Pressure,
    by_bearing: dict[str, BearingLoad],
) -> tuple[Item, ...]:
    balance = "gas and inertia in equilibrium"
    along = loads.piston_pin[..., 0] * np.cos(loads.rod_direction) + loads.piston_pin[
        ..., 1
    ] * np.sin(loads.rod_direction)
    names = [cylinder.label for cylinder in given.engine.layout.cylinders]

    def worst(values: Array) -> tuple[float, str]:
        place = int(np.argmax(values.max(axis=1)))
        return float(values[place].max()), _where(values.max(axis=1), names)

    rows = [
        ("rod tension", *worst(along), balance),
        ("rod compression", *worst(-along), balance),
        ("side thrust", *worst(np.abs(loads.side_thrust)), balance),
    ]
    for kind in ("main", "rod"):
        own = {n: one for n, one in by_bearing.items() if n.startswith(f"{kind}-")}
        sizes = np.array([np.hypot(*one.cycle.load.T).max() for one in own.values()])
        numbers = [name.removeprefix(f"{kind}-") for name in own]
        method = "span method, statically determinate" if kind == "main" else balance
        rows.append((f"{kind} bearing load", float(sizes.max()), _where(sizes, numbers), method))
    items = [_item(given, name, Dimension.FORCE, v, place, how) for name, v, place, how in rows]
    peaks = np.array(pressure.peaks)
    peak = _item(given, "cylinder pressure", Dimension.PRESSURE, float(peaks.max()),
                 _where(peaks, names), pressure.note)  # fmt: skip
    return (peak, *items)


def _where(values: Array, names: list[str]) -> str:
    """Return the number of the worst one, '' where all are alike."""
    if values.max() - values.min() < 1e-6 * abs(values.max()):
        return ""
    return names[int(np.argmax(values))]


def _film_items(given: Given, films: tuple[FilmAt, ...]) -> tuple[Item, ...]:
    if not films:
        return ()
    items = []
    source = "mobility maps of finite width, heat balanced"
    for kind in ("main", "rod"):
        own = tuple(one for one in films if one.bearing.kind == kind)
        least = least_film(own)
        if least is not None:
            items.append(
                _item(given, f"least {kind} film", Dimension.LENGTH, least.film.least_film,
                      least.bearing.number, source if least.holds else least.film.state)
            )  # fmt: skip
    held = [one for one in films if one.holds]
    if held:
        most = max(held, key=lambda one: one.film.peak_pressure)
        items.append(
            _item(given, "film pressure", Dimension.PRESSURE, most.film.peak_pressure,
                  most.bearing.name, source)
        )  # fmt: skip
    return tuple(items)


def why(train: Train, row: DutyAt) -> str:
    """Return the sentence that says what makes the least film of a speed the least."""
    least = row.least
    if least is None:
        return ""
    name = f"{least.bearing.name[:1].upper()}{least.bearing.name[1:]}"
    load = least.load
    size = np.hypot(load.cycle.load[:, 0], load.cycle.load[:, 1])
    if not least.holds:
        place = int(np.argmax(size))
        return (
            f"{name}: {no_film(least.film.state)} at {row.rpm:.0f} rpm, with up to"
            f" {size[place] / 1e3:.1f} kN of {_gas_or_inertia(load, place)};"
            f" {least.unit_load / 1e6:.0f} MPa on its projected area."
        )
    film = least.film
    step = load.cycle.period / size.size
    window = _window(round(film.least_crank_angle / step), size.size)
    index = window[int(np.argmax(size[window]))]
    spot = _place_on_shell(film.least_shell_angle, upright=least.bearing.upright)
    sentence = (
        f"{name}: {film.least_film * 1e6:.2f} µm at {row.rpm:.0f} rpm,"
        f" {_moment(train, least.bearing, film.least_crank_angle)}, on the"
        f" {spot}. There {size[index] / 1e3:.1f} kN of"
        f" {_gas_or_inertia(load, index)} press it, {_cause(load, window)}; the most in its cycle"
        f" is {size.max() / 1e3:.1f} kN, {least.unit_load / 1e6:.0f} MPa on its projected area."
    )
    return sentence + _against_others(row.films, least) + _touching(film)


def no_film(state: str) -> str:
    """Return what a state without a film means, in words."""
    return {
        "film breaks down": "the film breaks down",
        "not settled": "the orbit did not settle in the cycles allowed",
        "heat not balanced": "no film temperature balances the heat",
        "beyond the oil's data": "the film gets hotter than the oil's data reach",
        "no clearance left": "the clearance closes up when hot",
    }.get(state, state)


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
    return "less than its greatest, but lasting"


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


def _against_others(films: tuple[FilmAt, ...], least: FilmAt) -> str:
    """Return how it differs from the bearing of its kind with the greatest film."""
    alike = [one for one in films if one.bearing.kind == least.bearing.kind and one.holds]
    best = max(alike, key=lambda one: one.film.least_film)
    if best.film.least_film < 1.02 * least.film.least_film:
        return f" All {least.bearing.kind} bearings are alike to 2 %."
    reasons = []
    if least.unit_load > 1.05 * best.unit_load:
        reasons.append(f"{100 * (least.unit_load / best.unit_load - 1):.0f} % more load")
    gap = best.film.clearance - least.film.clearance
    if abs(gap) > 0.5e-6:
        word = "less" if gap > 0 else "more"
        reasons.append(f"{abs(gap) * 1e6:.1f} µm {word} clearance when hot")
    if least.film.film_temperature > best.film.film_temperature + 2:
        hotter = least.film.film_temperature - best.film.film_temperature
        reasons.append(f"{hotter:.0f} K more in the film")
    if not reasons:
        reasons.append("its load turns and lasts otherwise over the cycle")
    return (
        f" {best.bearing.name[:1].upper()}{best.bearing.name[1:]} keeps"
        f" {best.film.least_film * 1e6:.2f} µm; here: {', '.join(reasons)}."
    )


def _touching(film: BearingFilm) -> str:
    if isnan(film.film_ratio):
        return ""
    words = "" if film.film_ratio >= _FULLY_PARTED else ": the surfaces are not fully parted"
    words = words if film.film_ratio >= 1 else ": the surfaces touch"
    return f" Film over roughness {film.film_ratio:.1f}{words}."


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
