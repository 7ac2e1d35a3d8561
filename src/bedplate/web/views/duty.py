"""The duty check on the page: the whole check, and one bearing to turn knobs on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isnan, pi

from markupsafe import Markup

from bedplate.documents import duty_pictures as pictures
from bedplate.errors import InputError
from bedplate.physics.clearance_band import ClearanceBand
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.duty.bearings import COMPARED, Choice, film_bearings
from bedplate.shop.duty.check import DutyAt, DutyCheck, duty_at, polar_loads, speeds_of
from bedplate.shop.duty.films import FilmAt, no_film, usable
from bedplate.shop.duty.given import Given, How
from bedplate.shop.duty.heat import alike
from bedplate.shop.duty.items import Item, Standing, amount, flow_words, power_words, step_words
from bedplate.shop.duty.reasons import reached_words, why
from bedplate.shop.duty.study import film_band, span_of, spread_at_once
from bedplate.shop.duty.telling import band_words, doubt_words, spread_words
from bedplate.shop.duty.train import Train, beside, crank_train
from bedplate.shop.duty.volumes import CylinderVolumes, Volumes, squish_words
from bedplate.web.views.common import DASH, length
from bedplate.wording import capital

_CASES = 1000
_WIDER = 30
"""µm: how far the slider takes the clearance either way."""
_RPM = 30 / pi
_COVERAGE = 2.0
_NO_CLEARANCE = 1e-6
"""m"""
_BY_SPEED = "speed by speed, below the table"


@dataclass(frozen=True, slots=True)
class Knobs:
    """What the sliders stand at.

    :param rpm: with the least and the greatest that the slider goes to
    :param wider: added to the clearance of every bearing, µm
    :param opened: nobody chose the bearing; it is one that has an orbit to show
    """

    bearing: str
    opened: bool
    rpm: int
    least_rpm: int
    most_rpm: int
    oil: str
    wider: int
    reach: int
    bearings: tuple[str, ...]
    oils: tuple[str, ...]
    spread: bool


@dataclass(frozen=True, slots=True)
class Answer:
    """One bearing at one speed with one oil and one clearance.

    :param figures: (name, value) to read
    :param others: (name, least film, is it this one) of every bearing at the same choice
    """

    knobs: Knobs
    title: str
    big: str
    big_words: str
    why: str
    orbit: Markup
    polars: tuple[Markup, ...]
    cycle: Markup
    clearance: Markup
    band: str
    figures: tuple[tuple[str, str], ...]
    others: tuple[tuple[str, str, str, bool], ...]
    spread: Markup
    spread_words: str


@dataclass(frozen=True, slots=True)
class Row:
    """A quantity over the speeds."""

    name: str
    values: tuple[tuple[str, str], ...]
    rated: str
    standing: str
    source: str


@dataclass(frozen=True, slots=True)
class DutyPage:
    """The whole check, ready to be printed."""

    words: str
    basis: str
    lead: str
    lacking: str
    speeds: tuple[str, ...]
    items: tuple[Row, ...]
    films: tuple[Row, ...]
    pressure_notes: tuple[str, ...]
    traces: int
    reasons: tuple[str, ...]
    volumes: VolumesView | None
    hot: tuple[tuple[str, str, str, str, str, str], ...]
    unknown: tuple[str, ...]
    sources: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class VolumesView:
    """Volumes, each term of each cylinder."""

    terms: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    spread: str
    steps: str
    squish: str


def knobs(given: Given, asked: Mapping[str, str], begin: DutyAt | None = None) -> Knobs:
    """Return what the sliders stand at, kept within what they reach.

    :param asked: of the address; what is not a choice is taken as not said
    :param begin: the speed to begin with, at its bearing with the least film
    """
    names = tuple(one.id for one in film_bearings(given))
    speeds = speeds_of(given)
    low, high = round(min(speeds[0] * _RPM, 1000)), round(speeds[-1] * _RPM)
    bearing, least = asked.get("bearing", ""), begin.least if begin is not None else None
    opened = bearing not in names
    if opened:
        bearing = least.bearing.id if least is not None else names[0]
    usual = high
    if opened and begin is not None:
        usual = min(max(round(begin.rpm), low), high)
    oil = asked.get("oil", "")
    return Knobs(
        bearing=bearing,
        opened=opened and least is not None and least.holds,
        rpm=_whole(asked.get("speed", ""), usual, low, high),
        least_rpm=low,
        most_rpm=high,
        oil=oil if oil in COMPARED else "",
        wider=_whole(asked.get("wider", ""), 0, -_WIDER, _WIDER),
        reach=_WIDER,
        bearings=names,
        oils=COMPARED,
        spread=asked.get("spread", "") == "1",
    )


def _whole(text: str, usual: int, low: int, high: int) -> int:
    text = text.strip().removesuffix("rpm").strip()
    number = int(text) if text.lstrip("-").isdecimal() and len(text) < 9 else usual
    return min(max(number, low), high)


def answer(given: Given, at: Knobs) -> Answer:
    """Return one bearing at what the knobs stand at, and what the others do there.

    :raises InputError: the file does not give what films need
    """
    train = crank_train(given)
    choice = Choice(oil=at.oil, clearance=at.wider * 1e-6)
    bearings, wrong = usable(film_bearings(given, choice))
    row = duty_at(given, train, bearings, at.rpm / _RPM)
    one = next((film for film in row.films if film.bearing.id == at.bearing), None)
    if one is None:
        raise InputError(" ".join(wrong))
    if one.bearing.bearing.shape.diametral_clearance <= _NO_CLEARANCE:
        raise InputError(
            f"Nothing is left of the clearance of {at.bearing.replace('-', ' ')}.",
            hint="Take less away.",
        )
    band = film_band(given, one)
    drawn, words = _spread(given, one) if at.spread else (Markup(), "")
    units = given.engine.units
    return Answer(
        knobs=at,
        title=f"{capital(one.bearing.name)} at {at.rpm} rpm",
        big=f"{one.film.least_film * 1e6:.2f} µm" if one.holds else no_film(one.film.state),
        big_words="least film" if one.holds else "no thickness to give",
        why=why(train, row.films, one, at.rpm, units),
        orbit=Markup(  # noqa: S704 - our own drawing
            pictures.orbit(one, clockwise=given.engine.layout.clockwise, moving=True)
        ),
        polars=tuple(Markup(p) for p in polars(given, train, row, one)),  # noqa: S704
        cycle=Markup(pictures.over_cycle(one, beside(train, one.bearing.kind, one.bearing.number))),  # noqa: S704
        clearance=Markup(clearance_picture(given, one, band)),  # noqa: S704
        band=band_words(band, units),
        figures=_figures(one, units),
        others=tuple(_other(film, one) for film in row.films),
        spread=drawn,
        spread_words=words,
    )


def _spread(given: Given, one: FilmAt) -> tuple[Markup, str]:
    """Return the distribution of the least film, drawn and in words."""
    found = spread_at_once(given, one.bearing, one.load, _CASES)
    drawn = pictures.spread(
        found.films, low=found.low, middle=found.middle, high=found.high, name=one.bearing.name
    )
    words = f"{spread_words(found)} {doubt_words(found.doubt, given.engine.units)}"
    return Markup(drawn), words  # noqa: S704 - our own drawing


def _other(film: FilmAt, one: FilmAt) -> tuple[str, str, str, bool]:
    shown = f"{film.film.least_film * 1e6:.2f} µm" if film.holds else film.words
    return film.bearing.id, film.bearing.name, shown, film is one


def polars(given: Given, train: Train, row: DutyAt, one: FilmAt) -> list[str]:
    """Return the polar load diagrams of a bearing: as its shell sees it, as its journal does."""
    return [
        pictures.polar(
            load, clockwise=given.engine.layout.clockwise, frame=frame,
            name=f"Load of {one.bearing.name}", up=up, moving=True,
            inch=given.engine.units is Units.INCH)
        for load, frame, up in polar_loads(train, row, one)
    ]  # fmt: skip


def clearance_picture(given: Given, one: FilmAt, band: ClearanceBand) -> str:
    """Return the film against clearance with the clearance drawn on it."""
    limits = given.engine.fits[one.bearing.fit].limits[0].range
    measured = one.bearing.clearance.how is How.MEASURED
    return pictures.against_clearance(
        band,
        value=one.bearing.bearing.shape.diametral_clearance,
        span=span_of(given, one.bearing),
        limits=(limits.low, limits.high),
        measured=measured,
        name=one.bearing.name,
        inch=given.engine.units is Units.INCH,
    )


def _figures(one: FilmAt, units: Units) -> tuple[tuple[str, str], ...]:
    shape, own, film = one.bearing.bearing.shape, one.bearing.clearance, one.film
    doubt = f", U = {length(2 * own.standard, units, 1e-6)}" if own.standard else ""
    rows = [
        ("Clearance at 20 °C", length(shape.diametral_clearance, units, 1e-6)),
        ("Known from", own.source + doubt),
        ("Oil", one.bearing.bearing.oil.name),
        (
            "Load on its projected area",
            f"{amount(one.unit_load, Dimension.PRESSURE, units)} at most",
        ),
    ]
    if not one.holds:
        reached = reached_words(film, units)
        return (*rows, ("Reached", reached)) if reached else tuple(rows)
    rows += [
        (one.bearing.clearance_name, length(film.clearance, units, 1e-6)),
        ("Film temperature", show(film.film_temperature, Dimension.TEMPERATURE, units,
                                  uncertainty=1.0)),
        ("Viscosity in the film", f"{film.viscosity * 1e3:.1f} mPa·s"),
        ("Peak film pressure", amount(film.peak_pressure, Dimension.PRESSURE, units)),
        ("Oil through it", flow_words(film.flow, units)),
        ("Power it takes", power_words(film.power_loss, units)),
    ]  # fmt: skip
    if not isnan(film.film_ratio):
        rows.append(("Film over roughness", f"{film.film_ratio:.1f}"))
    return tuple(rows)


def duty_page(given: Given, check: DutyCheck) -> DutyPage:
    """Return the whole check, ready to be printed."""
    units = given.engine.units
    measured = given.state is not None and any(
        value.source.startswith("measured, ") for _, value in check.sources
    )
    return DutyPage(
        words=check.words,
        basis="as measured, where it is measured" if measured else "nominal: nothing is measured",
        lead=check.lead,
        lacking=check.lacking,
        speeds=tuple(f"{row.rpm:.0f}" for row in check.rows),
        items=_items(check, units),
        films=_films(check),
        pressure_notes=check.pressure_notes,
        traces=len(given.traces),
        reasons=tuple(row.why for row in check.rows if row.why),
        volumes=None if check.volumes is None else volumes_view(check.volumes, units),
        hot=tuple(
            (
                name,
                length(fit.cold.value, units, 1e-6),
                length(fit.hot, units, 1e-6),
                length(2 * fit.standard, units, 1e-6),
                fit.warm(units),
                fit.says(units),
            )
            for name, fit in alike(check.hot, units)
        ),
        unknown=check.unknown,
        sources=tuple(
            dict.fromkeys((what, value.how.value, value.source) for what, value in check.sources)
        ),
    )


def _items(check: DutyCheck, units: Units) -> tuple[Row, ...]:
    rows = []
    for place, first in enumerate(check.rows[0].items):
        if first.dimension is Dimension.ROTATION and first.rating is None:
            continue
        each = [row.items[place] for row in check.rows]
        rated = f"{first.rating_words(units)}, {first.rating.source}" if first.rating else "unknown"
        beyond = any(item.standing is Standing.BEYOND for item in each)
        rows.append(
            Row(
                name=first.name,
                values=tuple((item.words(units, where=True), _mark(item)) for item in each),
                rated=rated,
                standing="beyond its rating" if beyond else first.standing.value,
                source=first.source if len({item.source for item in each}) == 1 else _BY_SPEED,
            )
        )
        if first.name == "cylinder pressure":
            known = tuple((row.pressure_words, "") for row in check.rows)
            rows.append(Row("how pressure is known", known, "", "", ""))
    return tuple(rows)


def _mark(item: Item) -> str:
    return "beyond" if item.standing is Standing.BEYOND else ""


def _films(check: DutyCheck) -> tuple[Row, ...]:
    rows = []
    for place, one in enumerate(check.rows[0].films):
        each = [row.films[place] for row in check.rows]
        least = [row.least is film for row, film in zip(check.rows, each, strict=True)]
        values = tuple(
            (f"{film.film.least_film * 1e6:.2f}" if film.holds else film.words,
             "least" if is_least else "")
            for film, is_least in zip(each, least, strict=True)
        )  # fmt: skip
        clearance = one.bearing.clearance
        rows.append(Row(one.bearing.name, values, one.bearing.id, "", clearance.source))
    return tuple(rows)


def volumes_view(found: Volumes, units: Units) -> VolumesView:
    """Return the volumes of every cylinder, lowest ratio first."""
    by_ratio = found.by_ratio
    low, high = by_ratio[0], by_ratio[-1]
    first = found.cylinders[0]
    step, many = step_words(units)
    return VolumesView(
        terms=("swept", "chamber", "gasket", "deck", "dish", "dome", "crevice", "in all", "ratio",
               "effective", "squish"),
        rows=tuple((one.label, _volume_cells(one, units)) for one in by_ratio),
        spread=f"Lowest {low.ratio:.2f} in cylinder {low.label}, highest {high.ratio:.2f} in"
        f" cylinder {high.label}; U = {_COVERAGE * first.ratio_standard:.2f}.",
        steps=f"{step} changes it: "
        + _signed(", ".join(f"{name} {change * many:+.3f}" for name, change in first.per_step))
        + _signed(f"; one cm³ more {first.per_volume:+.2f}."),
        squish=squish_words(found, units),
    )  # fmt: skip


def _signed(text: str) -> str:
    return text.replace("-", "−")


def _volume_cells(one: CylinderVolumes, units: Units) -> tuple[str, ...]:
    terms = one.terms
    each = (one.swept, terms.chamber, terms.gasket, terms.deck, terms.dish, terms.dome,
            terms.crevice, one.clearance)  # fmt: skip
    effective = DASH if one.effective is None else f"{one.effective:.2f}"
    cells = [f"{volume * 1e6 + 0.0:.2f}".replace("-", "−") for volume in each]
    return (*cells, f"{one.ratio:.2f}", effective, length(one.squish, units))
