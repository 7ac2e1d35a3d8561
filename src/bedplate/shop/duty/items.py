"""Each quantity of the duty check at one speed, and how it stands to what parts are rated for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import asin, isnan, nan

import numpy as np

from bedplate.engine.duty import Rating
from bedplate.engine.figures import Figure
from bedplate.physics.checks import Array
from bedplate.physics.loads import CylinderLoads, in_axes, seen_by_rod
from bedplate.physics.slider_crank import mean_piston_speed, peak_acceleration
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.duty.bearings import BearingLoad
from bedplate.shop.duty.films import FilmAt, least_film
from bedplate.shop.duty.gas import Pressure
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.volumes import crank_offset, throw_of

_CARRIED_BY = {
    "rod tension, small end": ("rod tension",),
    "rod tension, big end": ("rod tension", "rod cap", "rod bolts"),
    "rod compression, small end": ("rod compression",),
    "rod compression, big end": ("rod compression",),
}
"""Loads by place, and what is rated for them; other quantities are rated by their own name."""
_HIGH = 3e7
"""Pa: from here on pressure reads better in MPa than in bar."""
_QUART = 9.46352946e-4
"""m³: a US liquid quart, 57.75 in³ (NIST SP 811, appendix B)."""
_HORSEPOWER = 745.69987
"""W: 550 ft·lbf/s (NIST SP 811, appendix B)."""


class Standing(StrEnum):
    """How a quantity stands to its rating."""

    WITHIN = "within its rating"
    BEYOND = "beyond its rating"
    UNKNOWN = "unknown: no rating"
    NO_FILM = "no film"
    NO_VALUE = "no value"


@dataclass(frozen=True, slots=True)
class Item:
    """One quantity at one speed.

    :param value: SI; nan where there is none
    :param worst: where it is met, '' where it is the same everywhere
    :param rating: the tightest that is given, as typed with its source; None where there is none
    :param rated: what that rating is of
    :param unrated: what else carries it, of which nobody gave a rating
    :param note: what the value does not tell: bearings without a film
    """

    name: str
    dimension: Dimension
    value: float
    worst: str
    rating: Figure | None
    standing: Standing
    source: str
    rated: str = ""
    unrated: tuple[str, ...] = ()
    note: str = ""

    def rating_words(self, units: Units) -> str:
        """Return the rating as typed and in the builder's units, and what is rated if it is more.

        That is where several parts carry the load.
        """
        if self.rating is None:
            return "unknown"
        rest = f"; {' and '.join(self.unrated)} unknown" if self.unrated else ""
        return self.limit_words(units) + rest

    def limit_words(self, units: Units) -> str:
        """Return the rating alone, as typed and in the builder's units; 'unknown' without one."""
        if self.rating is None:
            return "unknown"
        said, shown = self.rating.text, amount(self.rating.value, self.dimension, units)
        if shown.split(" ")[-1] != said.strip().split(" ")[-1]:
            said += f" = {shown}"
        return said if self.rated == self.name else f"{said} ({self.rated})"

    def words(self, units: Units, *, where: bool = False) -> str:
        """Return the value in the builder's units, with what it does not tell.

        :param where: with the number of the worst one
        """
        said = amount(self.value, self.dimension, units)
        if where and said and self.worst:
            said += f" ({self.worst})"
        return ", ".join(part for part in (said, self.note) if part) or "not known"


def amount(value: float, dimension: Dimension, units: Units) -> str:
    """Return a quantity of the check in the builder's units, with three digits or so.

    :returns: '' where there is none; a film in µm whatever the builder's units are
    """
    if isnan(value):
        return ""
    if dimension is Dimension.LENGTH:
        return f"{value * 1e6:.2f} µm"
    if dimension is Dimension.FORCE and units is Units.METRIC:
        return f"{value / 1e3:.1f} kN"
    if dimension is Dimension.PRESSURE and value > _HIGH and units is Units.METRIC:
        return f"{value / 1e6:.0f} MPa"
    return show(value, dimension, units, uncertainty=abs(value) / 100 or None)


def step_words(units: Units) -> tuple[str, float]:
    """Return the small step of the builder's units in words, and in hundredths of a millimetre."""
    if units is Units.INCH:
        return "A thousandth of an inch", 2.54
    return "A hundredth of a millimetre", 1.0


def flow_words(flow: float, units: Units) -> str:
    """Return a flow of oil in the builder's units.

    :param flow: m³/s
    """
    if units is Units.INCH:
        return f"{flow * 60 / _QUART:.2f} qt/min"
    return f"{flow * 6e4:.2f} l/min"


def power_words(power: float, units: Units) -> str:
    """Return a loss in the builder's units.

    :param power: W
    """
    return f"{power / _HORSEPOWER:.2f} hp" if units is Units.INCH else f"{power:.0f} W"


def items_at(
    given: Given,
    speed: float,
    loads: CylinderLoads,
    pressure: Pressure,
    bearings: Mapping[str, BearingLoad],
    films: Sequence[FilmAt],
) -> tuple[Item, ...]:
    """Return every quantity at one speed; the same ones in the same order at each.

    :param speed: rad/s
    :param bearings: the load of each bearing by id
    """
    return (
        *_motion(given, speed),
        _peak(given, pressure),
        *_rods(given, loads),
        *_bearings(given, bearings),
        *_films(given, films),
    )


def unrated(items: Iterable[Item]) -> tuple[str, ...]:
    """Return what nobody gave a rating of, each once."""
    return tuple(dict.fromkeys(part for item in items for part in item.unrated))


def _item(
    given: Given,
    name: str,
    dimension: Dimension,
    value: float,
    worst: str,
    source: str,
    lacking: Sequence[FilmAt] = (),
    note: str = "",
) -> Item:
    """Return a quantity beside its rating.

    :param lacking: bearings of which it cannot be told, or that have no film
    """
    parts = _CARRIED_BY.get(name, (name,))
    known = [rating for rating in given.duty.ratings if rating.of in parts]
    tightest = min(known, key=_tightness, default=None)
    standing = _standing(value, tightest, lacking)
    rest = tuple(part for part in parts if part not in {rating.of for rating in known})
    limit, of = (tightest.limit, tightest.of) if tightest is not None else (None, "")
    return Item(name, dimension, value, worst, limit, standing, source, of, rest, note)


def _tightness(rating: Rating) -> float:
    return -rating.limit.value if rating.is_least else rating.limit.value


def _standing(value: float, rating: Rating | None, lacking: Sequence[FilmAt]) -> Standing:
    broken = any(one.is_broken for one in lacking)
    if rating is None:
        if broken:
            return Standing.NO_FILM
        return Standing.NO_VALUE if isnan(value) else Standing.UNKNOWN
    if rating.is_least and (broken or value < rating.limit.value):
        return Standing.BEYOND
    if not rating.is_least and value > rating.limit.value:
        return Standing.BEYOND
    return Standing.NO_VALUE if lacking or isnan(value) else Standing.WITHIN


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


def _peak(given: Given, pressure: Pressure) -> Item:
    peaks = np.array(pressure.peaks)
    names = [cylinder.label for cylinder in given.engine.layout.cylinders]
    return _item(given, "cylinder pressure", Dimension.PRESSURE, float(peaks.max()),
                 _where(peaks, names), pressure.note)  # fmt: skip


def _rods(given: Given, loads: CylinderLoads) -> tuple[Item, ...]:
    """Return what pulls and presses the rods at either end, and what they press on the walls.

    Along the rod a pin pulls with what the piston's mass and the gas ask; the crankpin with that
    and the rod's own mass. The cap and its bolts carry the crankpin's pull, less what the cap's
    own mass asks, which is not taken off.
    """
    names = [cylinder.label for cylinder in given.engine.layout.cylinders]
    pin = in_axes(loads.piston_pin, loads.rod_direction)[..., 0]
    crankpin = seen_by_rod(loads)[..., 0]
    balance = "gas and inertia in equilibrium"
    at_pin, at_crankpin = f"pin on the small end, {balance}", f"crankpin on the big end, {balance}"
    cap = f"{at_crankpin}; the cap's own mass not taken off"
    rows = (
        ("rod tension, small end", pin, at_pin, "never pulled"),
        ("rod tension, big end", -crankpin, cap, "never pulled"),
        ("rod compression, small end", -pin, at_pin, "never pressed"),
        ("rod compression, big end", crankpin, at_crankpin, "never pressed"),
        ("side thrust", np.abs(loads.side_thrust), balance, ""),
    )
    made = []
    for name, along, source, never in rows:
        most = along.max(axis=1)
        if most.max() <= 0:
            made.append(_item(given, name, Dimension.FORCE, 0.0, "", source, note=never))
            continue
        made.append(
            _item(given, name, Dimension.FORCE, float(most.max()), _where(most, names), source)
        )
    return tuple(made)


def _bearings(given: Given, bearings: Mapping[str, BearingLoad]) -> tuple[Item, ...]:
    made = []
    for kind in ("main", "rod"):
        own = {n: one for n, one in bearings.items() if n.startswith(f"{kind}-")}
        sizes = np.array([np.hypot(*one.cycle.load.T).max() for one in own.values()])
        numbers = [name.removeprefix(f"{kind}-") for name in own]
        span = "span method, statically determinate"
        method = span if kind == "main" else "gas and inertia in equilibrium"
        made.append(
            _item(given, f"{kind} bearing load", Dimension.FORCE, float(sizes.max()),
                  _where(sizes, numbers), method)
        )  # fmt: skip
    return tuple(made)


def _where(values: Array, names: list[str]) -> str:
    """Return the number of the worst one, '' where all are alike."""
    if values.max() - values.min() < 1e-6 * abs(values.max()):
        return ""
    return names[int(np.argmax(values))]


def _films(given: Given, films: Sequence[FilmAt]) -> tuple[Item, ...]:
    if not films:
        return ()
    made = []
    source = "mobility maps of finite width, heat balanced"
    for kind in ("main", "rod"):
        own = [one for one in films if one.bearing.kind == kind]
        least = least_film(own)
        if least is None:
            continue
        number = least.bearing.number if least.holds else ""
        lacking = [one for one in own if not one.holds]
        made.append(
            _item(given, f"least {kind} film", Dimension.LENGTH, least.film.least_film, number,
                  source, lacking, _lacking_words(lacking, len(own)))
        )  # fmt: skip
    held = [one for one in films if one.holds]
    most = max(held, key=lambda one: one.film.peak_pressure, default=None)
    value, name = (most.film.peak_pressure, most.bearing.name) if most else (nan, "")
    lacking = [one for one in films if not one.holds]
    note = _lacking_words(lacking, len(films)) if not held else ""
    made.append(
        _item(given, "film pressure", Dimension.PRESSURE, value, name, source, lacking, note)
    )
    return tuple(made)


def _lacking_words(lacking: Sequence[FilmAt], of: int) -> str:
    """Say how many of a kind have no film, and in how many none could be told."""
    broken = [one.bearing.name for one in lacking if one.is_broken]
    untold = [one.bearing.name for one in lacking if not one.is_broken]
    return "; ".join(
        f"{word} in {_counted(names, of)}"
        for word, names in (("no film", broken), ("not known", untold))
        if names
    )


def _counted(names: Sequence[str], of: int) -> str:
    if len(names) == of:
        return "any"
    return names[0] if len(names) == 1 else f"{len(names)} of {of}"
