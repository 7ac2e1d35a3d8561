"""Which values beside the extremes can decide a verdict (ISO 14253-1: value and uncertainty both).

The extreme by value is the worst one as long as all stations are known equally well. Where one was
read with another gauge, on another setting or less often, it may lie nearer the middle and yet
reach further with its uncertainty. Such values are the rivals of the extremes.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product

from bedplate.engine.model import Feature
from bedplate.metrology.affine import AffineScalarFunc
from bedplate.metrology.results import Size
from bedplate.metrology.sources import combine


@dataclass(frozen=True, slots=True)
class Rivals:
    """Values that may be worse than the extremes, since less is known of them; m.

    :param low: against the lower limit
    :param high: against the upper limit
    """

    low: tuple[AffineScalarFunc, ...] = ()
    high: tuple[AffineScalarFunc, ...] = ()


NO_RIVALS = Rivals()

_WEIGHED_TO = 1000.0
"""Steps of a weight: what reduction to 20 °C does to it is less."""


def rivals_of(values: Iterable[AffineScalarFunc]) -> Rivals:
    """Return the least and the greatest of each way of measuring, nothing where there is one way.

    Values that rest on the same shared sources and as many readings have one U in any difference,
    so the extreme among them is the worst among them.

    :param values: of the stations that count
    """
    ways: dict[tuple[object, ...], list[AffineScalarFunc]] = {}
    for value in values:
        ways.setdefault(_way(value), []).append(value)
    if len(ways) < 2:
        return NO_RIVALS
    ends = [_ends(alike) for alike in ways.values()]
    return Rivals(tuple(low for low, _ in ends), tuple(high for _, high in ends))


def rivals_in(size: Size) -> Rivals:
    """Return the rivals of the least and the greatest of a size."""
    return rivals_of(row.value for row in size.stations)


def difference_rivals(space: Size, bodies: Sequence[Size], *, interference: bool) -> Rivals:
    """Return the rivals of the extremes of space less bodies, or of bodies less space.

    :param interference: bodies less space
    """
    sizes = (space, *bodies)
    found = [rivals_in(size) for size in sizes]
    if all(rivals is NO_RIVALS for rivals in found):
        return NO_RIVALS
    lows = [rivals.low or (size.least,) for rivals, size in zip(found, sizes, strict=True)]
    highs = [rivals.high or (size.greatest,) for rivals, size in zip(found, sizes, strict=True)]
    sign = -1.0 if interference else 1.0
    tight = _differences(sign, lows[0], highs[1:])
    loose = _differences(sign, highs[0], lows[1:])
    return Rivals(loose, tight) if interference else Rivals(tight, loose)


def form_rivals(size: Size, feature: Feature, *, taper: bool) -> Rivals:
    """Return the rivals of the greatest spread within a section, or along a direction.

    Only the upper limit has any: a spread that is small says nothing of the greatest.

    :param taper: along a direction
    """
    if rivals_in(size) is NO_RIVALS:
        return NO_RIVALS
    where = {station.id: station for station in feature.stations}
    groups: dict[str, list[AffineScalarFunc]] = {}
    for row in size.stations:
        station = where[row.station]
        groups.setdefault(station.direction if taper else station.section, []).append(row.value)
    spreads: list[AffineScalarFunc] = []
    for values in groups.values():
        rivals = rivals_of(values)
        least, greatest = _ends(values)
        spreads += [
            combine([(1.0, high), (-1.0, low)])
            for low, high in product(rivals.low or (least,), rivals.high or (greatest,))
            if high is not low
        ]
    return Rivals(high=tuple(spreads))


def _ends(values: Sequence[AffineScalarFunc]) -> tuple[AffineScalarFunc, AffineScalarFunc]:
    """Return the least and the greatest: two values, even where they are equal."""
    ordered = sorted(values, key=lambda value: value.nominal_value)
    return ordered[0], ordered[-1]


def _differences(
    sign: float, ends: Sequence[AffineScalarFunc], bodies: Sequence[Sequence[AffineScalarFunc]]
) -> tuple[AffineScalarFunc, ...]:
    return tuple(
        combine([(sign, end), *((-sign, body) for body in chosen)])
        for end, *chosen in product(ends, *bodies)
    )


def _way(value: AffineScalarFunc) -> tuple[object, ...]:
    """Return what tells one way of measuring from another: shared errors, and how many own ones.

    An error of one station's own counts by its size, a shared one by what it is and its weight.
    """
    return tuple(
        [
            source._std_dev  # noqa: SLF001
            if source.station or source.step
            else (source, int(weight * _WEIGHED_TO + 0.5))
            for source, weight in value.derivatives.items()
        ]
    )
