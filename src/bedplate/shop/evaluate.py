"""From the sizes of features to the value and the verdict of a fit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import pi

from bedplate.engine import Feature, Fit, FitForm, Limit, Station, Way
from bedplate.metrology import (
    Judgement,
    Size,
    Verdict,
    combine,
    eccentricity,
    judge,
    not_measured,
    select,
)
from bedplate.metrology.affine import AffineScalarFunc
from bedplate.metrology.worst import (
    Rivals,
    difference_rivals,
    form_rivals,
    rivals_in,
    rivals_of,
)

_WORST_FIRST = (Verdict.OUTSIDE, Verdict.UNDECIDED, Verdict.NOT_MEASURED, Verdict.INSIDE)
_ANGLE_SLACK = 1e-6
"""rad: 60 deg from the crown counts as within 30 deg of the split in spite of rounding."""


@dataclass(frozen=True, slots=True)
class Evaluation:
    """What the sizes say of a fit; lengths in m.

    :param low, high: the limits that the judgement rests on
    :param rivals: values of less known stations that were judged beside the extremes
    :param complete: every station that counts has been measured
    """

    value: AffineScalarFunc
    least: AffineScalarFunc
    greatest: AffineScalarFunc
    low: float | None
    high: float | None
    judgement: Judgement
    rivals: Rivals
    way: int
    complete: bool
    eccentricity: float | None


def evaluate(
    fit: Fit, features: Mapping[str, Feature], sizes: Mapping[str, Size], coverage: float
) -> Evaluation | None:
    """Return the value of a fit with its verdict, or None if no way to it is measured.

    The least and the greatest value are judged: a difference is least where the space is least and
    the bodies are greatest. A station that is known less well is judged beside them, as it may
    reach further with its uncertainty. While stations that count are still to be measured,
    'outside' is already certain, and anything else is withheld.

    :param sizes: by feature id, only those that hold good now
    :param coverage: k
    """
    for index, way in enumerate(fit.ways):
        if all(name in sizes for name in (way.space, *way.bodies)):
            return _by_way(fit, index, way, features, sizes, coverage)
    return None


def _by_way(
    fit: Fit,
    index: int,
    way: Way,
    features: Mapping[str, Feature],
    sizes: Mapping[str, Size],
    coverage: float,
) -> Evaluation | None:
    space_feature = features[way.space]
    space = counting(fit, space_feature, sizes[way.space])
    if space is None:
        return None
    if fit.form in (FitForm.OUT_OF_ROUND, FitForm.TAPER):
        value = space.out_of_round if fit.form is FitForm.OUT_OF_ROUND else space.taper
        if value is None:
            return None
        extremes = (value, value, value)
        rivals = form_rivals(space, space_feature, taper=fit.form is FitForm.TAPER)
        complete = space.complete
    elif fit.form is FitForm.SIZE and len(fit.limits) > 1:
        return _by_direction(fit, index, space_feature, space, coverage)
    else:
        bodies = [counting(fit, features[name], sizes[name]) for name in way.bodies]
        held = [body for body in bodies if body is not None]
        if len(held) < len(bodies):
            return None
        turned = fit.sense == "interference"
        extremes = _difference(space, held, interference=turned)
        rivals = difference_rivals(space, held, interference=turned) if held else rivals_in(space)
        complete = space.complete and all(body.complete for body in held)
    return _judged(
        index,
        extremes,
        rivals,
        fit.limits[0],
        coverage,
        complete=complete,
        crown_excess=_crown(fit, space_feature, sizes),
    )


def lacking(
    fit: Fit, features: Mapping[str, Feature], sizes: Mapping[str, Size]
) -> tuple[str, ...]:
    """Return the features still to be measured for the way to a fit that lacks fewest."""

    def open_in(way: Way) -> tuple[str, ...]:
        return tuple(
            name for name in way.features if not _known(fit, features[name], sizes.get(name))
        )

    return min((open_in(way) for way in fit.ways), key=len)


def _known(fit: Fit, feature: Feature, size: Size | None) -> bool:
    if size is not None and size.complete:
        return True
    held = None if size is None else counting(fit, feature, size)
    return held is not None and held.complete


def counting(fit: Fit, feature: Feature, size: Size) -> Size | None:
    """Return the size over the stations of a feature that count for a fit, if there are any."""
    directions = {station.direction for station in feature.stations}
    wanted = fit.directions if directions.intersection(fit.directions) else ()
    depth = fit.depth if any(s.depth is not None for s in feature.stations) else None
    if not wanted and depth is None:
        return size
    return select(size, feature, directions=wanted, depth=depth)


def _difference(
    space: Size, bodies: Sequence[Size], *, interference: bool
) -> tuple[AffineScalarFunc, AffineScalarFunc, AffineScalarFunc]:
    if not bodies:
        return space.mean, space.least, space.greatest
    sign = -1.0 if interference else 1.0
    mean = combine([(sign, space.mean), *((-sign, b.mean) for b in bodies)])
    tight = combine([(sign, space.least), *((-sign, b.greatest) for b in bodies)])
    loose = combine([(sign, space.greatest), *((-sign, b.least) for b in bodies)])
    return (mean, loose, tight) if interference else (mean, tight, loose)


def _judged(
    index: int,
    extremes: tuple[AffineScalarFunc, AffineScalarFunc, AffineScalarFunc],
    rivals: Rivals,
    limit: Limit,
    coverage: float,
    *,
    complete: bool,
    crown_excess: float | None = None,
) -> Evaluation:
    value, least, greatest = extremes
    low, high = limit.range.low, limit.range.high
    judgement = judge(least, greatest, low, high, coverage=coverage, rivals=rivals)
    if not complete and judgement.verdict is not Verdict.OUTSIDE:
        judgement = not_measured()
    return Evaluation(
        value, least, greatest, low, high, judgement, rivals, index, complete, crown_excess
    )


def _crown(fit: Fit, feature: Feature, sizes: Mapping[str, Size]) -> float | None:
    if not fit.directions or fit.sense == "interference":
        return None
    excess = eccentricity(sizes[feature.id], feature)
    return None if excess is None else float(excess.nominal_value)


def _by_direction(
    fit: Fit, index: int, feature: Feature, size: Size, coverage: float
) -> Evaluation | None:
    stations = {station.id: station for station in feature.stations}
    parts: list[Evaluation] = []
    for limit in fit.limits:
        values = [
            s.value for s in size.stations if limit_for(fit.limits, stations[s.station]) is limit
        ]
        if not values:
            continue
        least = min(values, key=lambda v: v.nominal_value)
        greatest = max(values, key=lambda v: v.nominal_value)
        extremes = (size.mean, least, greatest)
        rivals = rivals_of(values)
        parts.append(_judged(index, extremes, rivals, limit, coverage, complete=size.complete))
    if not parts:
        return None
    return min(parts, key=lambda part: _WORST_FIRST.index(part.judgement.verdict))


def limit_for(limits: Sequence[Limit], station: Station) -> Limit:
    """Return the limits that hold at a station: the narrowest about the split that reach it."""
    default = next(limit for limit in limits if limit.within is None)
    if station.angle is None:
        return default
    folded = abs((station.angle + pi / 2) % pi - pi / 2)
    from_split = pi / 2 - folded
    reaching = [
        limit
        for limit in limits
        if limit.within is not None and from_split <= limit.within + _ANGLE_SLACK
    ]
    return min(reaching, key=lambda limit: limit.within or 0.0, default=default)
