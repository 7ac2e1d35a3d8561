"""The pages of the build book on the engine at work: films, loads, volumes, and what is unknown."""

from __future__ import annotations

import re
from math import degrees
from typing import TYPE_CHECKING

from bedplate.documents import paper
from bedplate.documents.paper import Tree
from bedplate.errors import BedplateError
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.model import State

if TYPE_CHECKING:
    from bedplate.shop.duty.check import DutyCheck
    from bedplate.shop.duty.films import FilmAt
    from bedplate.shop.duty.given import Given
    from bedplate.shop.duty.volumes import Volumes

_MOST_SPEEDS = 8
_PLACE = re.compile(r", (cylinder|main|rod|every) .*")


def duty_chapter(state: State) -> Tree | None:
    """Return the chapter, or None where the engine file does not say what loads need."""
    duty = state.engine.duty
    if duty.figure("weights.piston") is None:
        return None
    from bedplate.shop.duty.check import duty_check, speeds_of
    from bedplate.shop.duty.given import Given

    given = Given(state.engine, state)
    try:
        speeds = speeds_of(given)
        check = duty_check(given, _some(speeds))
    except BedplateError as error:
        return {"lacking": f"{error.sentence} {error.hint}".strip()}
    units = state.units
    return {
        "lacking": "",
        "words": check.words,
        "lead": check.lead,
        "speeds": [f"{row.rpm:.0f}" for row in check.rows],
        "films": _films(check),
        "items": _items(check, units),
        "pressure": list(check.pressure_notes),
        "traces": _traces(given),
        "pictures": _pictures(given, check),
        "volumes": None if check.volumes is None else _volumes(check.volumes, units),
        "hot": _hot(check, units),
        "unknown": list(check.unknown),
        "sources": _sources(check),
    }


def _some(speeds: tuple[float, ...]) -> tuple[float, ...]:
    """Return as many speeds as a page is wide, the last one always."""
    if len(speeds) <= _MOST_SPEEDS:
        return speeds
    step = (len(speeds) - 1) / (_MOST_SPEEDS - 1)
    return tuple(speeds[round(step * number)] for number in range(_MOST_SPEEDS))


def _films(check: DutyCheck) -> list[Tree]:
    return [
        {
            "name": one.bearing.name,
            "clearance": f"{one.bearing.clearance.value * 1e6:.1f}",
            "how": one.bearing.clearance.how.value,
            "cells": [
                {"text": _film(row.films[place]), "least": row.least is row.films[place]}
                for row in check.rows
            ],
        }
        for place, one in enumerate(check.rows[0].films)
    ]


def _film(one: FilmAt) -> str:
    return f"{one.film.least_film * 1e6:.2f}" if one.holds else one.words


def _items(check: DutyCheck, units: Units) -> list[Tree]:
    rows = []
    for place, first in enumerate(check.rows[0].items):
        if first.dimension is Dimension.ROTATION and first.rating is None:
            continue
        each = [row.items[place] for row in check.rows]
        rows.append(
            {
                "name": first.name,
                "cells": [item.words(units) for item in each],
                "rated": f"rated {first.rating_words(units)}" if first.rating else "no rating",
                "beyond": any(item.standing.name == "BEYOND" for item in each),
            }
        )
        if first.name == "cylinder pressure":
            known = [row.pressure_words for row in check.rows]
            name = "how pressure is known"
            rows.append({"name": name, "cells": known, "rated": "", "beyond": False})
    return rows


def _traces(given: Given) -> list[Tree]:
    """Return every measured trace, drawn."""
    from bedplate.documents.trace_picture import pressure_over_angle
    from bedplate.shop.duty.gas import trace_name
    from bedplate.shop.duty.look import peak_words
    from bedplate.shop.duty.traces import even_trace

    found, units = [], given.engine.units
    for one in sorted(given.traces, key=lambda one: (one.speed or 0.0, one.cylinder)):
        trace = even_trace(one, given.engine.layout.cycle)
        name = trace_name(one)
        picture = paper.drawing(pressure_over_angle(trace, name, units), name)
        at = f"{degrees(trace.peak[1]):.0f}°".replace("-", "−")
        found.append(
            {"name": name, "peak": f"{peak_words(trace, units)} at {at}", "source": one.source,
             "picture": picture}
        )  # fmt: skip
    return found


def _pictures(given: Given, check: DutyCheck) -> list[Tree]:
    """Return the pictures of the bearing with the least film, at its speed."""
    from bedplate.documents import duty_pictures as pictures
    from bedplate.shop.duty.check import polar_loads
    from bedplate.shop.duty.given import How
    from bedplate.shop.duty.study import film_band, span_of
    from bedplate.shop.duty.train import beside

    row = check.least
    if row is None or row.least is None:
        return []
    one, clockwise = row.least, given.engine.layout.clockwise
    own, fit = one.bearing.clearance, given.engine.fits[one.bearing.fit]
    measured = own.how is How.MEASURED
    name = one.bearing.name
    drawn = [pictures.orbit(one, clockwise=clockwise)]
    drawn += [
        pictures.polar(
            load,
            clockwise=clockwise,
            frame=frame,
            name=f"Load of {name}",
            up=up,
            inch=given.engine.units is Units.INCH,
        )
        for load, frame, up in polar_loads(check.train, row, one)
    ]
    drawn += [
        pictures.over_cycle(one, beside(check.train, one.bearing.kind, one.bearing.number)),
        pictures.against_clearance(
            film_band(given, one),
            value=own.value,
            span=span_of(given, one.bearing),
            limits=(fit.limits[0].range.low, fit.limits[0].range.high),
            measured=measured,
            name=name,
            inch=given.engine.units is Units.INCH,
        ),
    ]
    return [paper.drawing(picture, f"{name} at {row.rpm:.0f} rpm") for picture in drawn]


def _volumes(found: Volumes, units: Units) -> Tree:
    from bedplate.documents.duty_pictures import signs
    from bedplate.shop.duty.volumes import squish_words

    low, high = found.by_ratio[0], found.by_ratio[-1]
    return {
        "signs": paper.drawing(signs(), "Signs of dish, dome and deck"),
        "says": f"Lowest ratio {low.ratio:.2f} in cylinder {low.label}, highest {high.ratio:.2f} in"
        f" cylinder {high.label}, U = {2 * low.ratio_standard:.2f}."
        f" {squish_words(found, units)}",
        "rows": [
            [
                one.label,
                *(
                    f"{volume * 1e6 + 0.0:.2f}".replace("-", "−")
                    for volume in (
                        one.swept, one.terms.chamber, one.terms.gasket, one.terms.deck,
                        one.terms.dish, one.terms.dome, one.terms.crevice, one.clearance,
                    )
                ),
                f"{one.ratio:.2f}",
                "–" if one.effective is None else f"{one.effective:.2f}",
            ]
            for one in found.by_ratio
        ],
    }  # fmt: skip


def _hot(check: DutyCheck, units: Units) -> list[list[str]]:
    """Return the fits at running temperature as rows, those that are alike in one."""
    from bedplate.shop.duty.heat import alike

    rows = []
    for name, fit in alike(check.hot, units):
        cold, hot, doubt = (
            show(value, Dimension.LENGTH, units, uncertainty=1e-6)
            for value in (fit.cold.value, fit.hot, 2 * fit.standard)
        )
        says = fit.says(units)
        whole = f"{name}; {says}" if says else name
        rows.append([whole, cold, fit.cold.how.value, hot, doubt, fit.warm(units)])
    return rows


def _sources(check: DutyCheck) -> list[list[str]]:
    """Return each source once, with the figures that come from it."""
    by_source: dict[tuple[str, str], list[str]] = {}
    for what, value in check.sources:
        source = value.source
        if source.startswith("measured, "):
            source = "readings of this build, listed further on"
        named = by_source.setdefault((value.how.value, source), [])
        plain = _PLACE.sub("", what)
        if plain not in named:
            named.append(plain)
    return [[", ".join(what), how, source] for (how, source), what in by_source.items()]
