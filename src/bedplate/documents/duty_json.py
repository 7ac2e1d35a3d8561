"""The duty check in the one form that page, paper and terminal share."""

from __future__ import annotations

from math import isnan
from typing import TYPE_CHECKING, Any

from bedplate.quantity import Units

if TYPE_CHECKING:
    from bedplate.shop.duty.check import DutyAt, DutyCheck
    from bedplate.shop.duty.films import FilmAt
    from bedplate.shop.duty.given import Given, Value
    from bedplate.shop.duty.heat import HotFit
    from bedplate.shop.duty.look import TraceLook
    from bedplate.shop.duty.study import FilmStudy
    from bedplate.shop.duty.volumes import CylinderVolumes, Volumes


def number(value: float | None) -> float | None:
    """Return a number, or nothing where there is none to be shown."""
    return None if value is None or isnan(value) else value


def duty_as_dict(check: DutyCheck) -> dict[str, Any]:
    """Return a duty check as plain data; SI units."""
    return {
        "engine": check.name,
        "invented": check.invented,
        "words": check.words,
        "rows": [_row(row) for row in check.rows],
        "least": _least(check.least),
        "lacking": check.lacking,
        "volumes": volumes_as_dict(check.volumes) if check.volumes else None,
        "hot": [_hot(fit) for fit in check.hot],
        "unknown": list(check.unknown),
        "sources": [{"figure": what, **_value(found)} for what, found in check.sources],
    }


def _hot(fit: HotFit) -> dict[str, Any]:
    return {
        "fit": fit.name,
        "kind": fit.kind,
        "cold": _value(fit.cold),
        "hot": fit.hot,
        "standard_uncertainty": fit.standard,
        "per_kelvin": fit.per_kelvin,
        "contact_pressure": None if fit.pressure is None else list(fit.pressure),
        "says": fit.says(Units.METRIC),
        "sources": {what: _value(found) for what, found in fit.sources},
    }


def _least(row: DutyAt | None) -> dict[str, Any] | None:
    if row is None or row.least is None:
        return None
    return {"speed": row.speed, "why": row.why, **_film(row.least)}


def _row(row: DutyAt) -> dict[str, Any]:
    return {
        "speed": row.speed,
        "pressure": row.pressure.note,
        "pressure_from": [basis.value for basis in row.pressure.bases],
        "peak_pressures": list(row.pressure.peaks),
        "mean_effective_pressure": number(row.pressure.mean_effective),
        "items": [
            {
                "name": item.name,
                "value": number(item.value),
                "worst": item.worst,
                "rated": None if item.rating is None else item.rating.value,
                "rated_by": None if item.rating is None else item.rating.source,
                "rated_part": item.rated or None,
                "unrated": list(item.unrated),
                "standing": item.standing.value,
                "note": item.note,
                "source": item.source,
            }
            for item in row.items
        ],
        "films": [_film(film) for film in row.films],
        "why": row.why,
    }


def _film(one: FilmAt) -> dict[str, Any]:
    film = one.film
    return {
        "bearing": one.bearing.id,
        "state": film.state,
        "least_film": number(film.least_film),
        "crank_angle": number(film.least_crank_angle),
        "shell_angle": number(film.least_shell_angle),
        "peak_pressure": number(film.peak_pressure),
        "flow": number(film.flow),
        "power_loss": number(film.power_loss),
        "film_temperature": number(film.film_temperature),
        "carried_on": one.is_carried_on,
        "clearance_hot": number(film.clearance) if one.bearing.is_warmed else None,
        "film_ratio": number(film.film_ratio),
        "cycles_followed": number(film.laps),
        "change_per_cycle": number(film.change),
        "missing_kelvin": number(film.missing),
        "unit_load": one.unit_load,
        "clearance": _value(one.bearing.clearance),
    }


def _value(found: Value) -> dict[str, Any]:
    return {
        "value": number(found.value),
        "standard_uncertainty": found.standard,
        "how": found.how.value,
        "source": found.source,
    }


def volumes_as_dict(found: Volumes) -> dict[str, Any]:
    """Return the volumes of every cylinder as plain data; SI units."""
    return {
        "displacement": found.displacement,
        "wanted_squish": None if found.wanted_squish is None else found.wanted_squish.value,
        "cylinders": [_cylinder(one) for one in found.cylinders],
        "unknown": list(found.unknown),
    }


def look_as_dict(look: TraceLook) -> dict[str, Any]:
    """Return what was read of a trace as plain data; SI units."""
    return {
        "points": look.points,
        "finest_step": look.finest,
        "widest_step": look.widest,
        "peak_pressure": look.peak[0],
        "peak_angle": look.peak[1],
        "least_pressure": look.least,
        "doubts": list(look.doubts),
    }


def traces_as_dict(given: Given) -> list[dict[str, Any]]:
    """Return every trace that the check uses as plain data; SI units."""
    from bedplate.shop.duty.look import look_at

    return [
        {
            "speed": one.speed,
            "cylinder": one.cylinder,
            "entry": one.number or None,
            "source": one.source,
            **look_as_dict(look_at(given, one)),
        }
        for one in given.traces
    ]


def _cylinder(one: CylinderVolumes) -> dict[str, Any]:
    terms = ("chamber", "gasket", "deck", "dish", "dome", "crevice")
    return {
        "label": one.label,
        "swept": one.swept,
        "terms": {term: getattr(one.terms, term) for term in terms},
        "clearance": one.clearance,
        "ratio": one.ratio,
        "ratio_standard_uncertainty": one.ratio_standard,
        "effective_ratio": one.effective,
        "squish": one.squish,
        "squish_standard_uncertainty": one.squish_standard,
        "per_hundredth_of_a_millimetre": dict(one.per_step),
        "per_cubic_centimetre": one.per_volume,
        "sources": {what: _value(found) for what, found in one.sources},
    }


def study_as_dict(study: FilmStudy) -> dict[str, Any]:
    """Return a study of one bearing as plain data; SI units."""
    from bedplate.physics.film import STATES

    band, spread = study.band, study.spread
    return {
        "bearing": study.bearing.id,
        "clearance": _value(study.bearing.clearance),
        "rows": [{"speed": speed, **_film(one)} for speed, one in study.rows],
        "worst_speed": study.worst,
        "band": None
        if band is None
        else {
            "clearance": band.clearance.tolist(),
            "least_film": [number(film) for film in band.cases.least_film.tolist()],
            "best_clearance": number(band.best_clearance),
            "best_film": number(band.best_film),
            "lowest": number(band.lowest),
            "highest": number(band.highest),
            "state": [STATES[place] for place in band.cases.state.tolist()],
            "open_below": band.below or None,
            "open_above": band.above or None,
            "better_below": band.best_below or None,
            "better_above": band.best_above or None,
        },
        "spread": None
        if spread is None
        else {
            "cases": int(spread.films.size),
            "carried": spread.carried,
            "broken": spread.broken,
            "not_known": dict(spread.untold),
            "carried_on": spread.carried_on,
            "clearance_between": spread.doubt.between,
            "least_film_95": [number(film) for film in (spread.low, spread.middle, spread.high)],
        },
    }
