"""From the values of stations to the size and form of a feature (ISO 14405-1 two-point sizes).

Form is the difference of station values, so an error they share cancels in it. Two-point gauges do
not see a lobed shape of odd order (ISO 1101 roundness is more than out-of-round).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import atan2, cos, fsum, hypot, pi, radians, sin, sqrt
from typing import Literal

from bedplate.engine.model import Feature, Station
from bedplate.errors import NotPossibleError
from bedplate.metrology.affine import AffineScalarFunc
from bedplate.metrology.results import Size, StationValue
from bedplate.metrology.sources import combine, mean

_Placed = tuple[Station, AffineScalarFunc]
_CROWN = radians(15.0)
_SIDES = (radians(45.0), radians(75.0))
"""Directions that count as crown, and as the two sides about 60° from it."""
_APART = 1e-4
"""Determinant of the normal equations, per n³, under which directions lie too close together."""


def size_of(feature: Feature, measured: Sequence[tuple[int, str, AffineScalarFunc]]) -> Size:
    """Return the size and form of a feature.

    A station's value is the mean of its readings; the mean size is the mean of the stations,
    whatever number of readings each has.

    :param feature: with the stations that were asked for
    :param measured: (record number, station id, size in m) of the readings that count, in any order
    :returns: lengths in m; readings at stations the feature does not have are left out
    :raises NotPossibleError: no reading is at a station of the feature
    Source: ISO 14405-1 (two-point size), GUM 4.2.1 (mean of repeats).
    """
    rows: dict[str, list[tuple[int, AffineScalarFunc]]] = {}
    for number, station, value in measured:
        rows.setdefault(station, []).append((number, value))
    stations = [
        _station_value(station.id, rows[station.id])
        for station in feature.stations
        if station.id in rows
    ]
    if not stations:
        raise NotPossibleError(f"No reading is at a station of {feature.name}.")
    return _size(stations, feature.stations, len(feature.stations))


def select(
    size: Size, feature: Feature, directions: Sequence[str] = (), depth: float | None = None
) -> Size | None:
    """Return the size over some stations only.

    :param size: of the feature
    :param directions: names of the directions that count, empty for all
    :param depth: the section nearest to it counts, m; None for all, and for a feature without
        depths
    :returns: None where no station that counts is measured; `complete` speaks of those that count
    """
    counting = [s for s in feature.stations if not directions or s.direction in directions]
    depths = [s.depth for s in counting if s.depth is not None]
    if depth is not None and depths:
        nearest = min(depths, key=lambda d: (abs(d - depth), d))
        counting = [s for s in counting if s.depth == nearest]
    wanted = {station.id for station in counting}
    held = [value for value in size.stations if value.station in wanted]
    return _size(held, counting, len(counting)) if held else None


def eccentricity(size: Size, feature: Feature) -> AffineScalarFunc | None:
    """Return the diameter at the crown less the mean of the two sides about 60° from it.

    A plain bearing is thicker at the crown than toward the split, so its bore is wider at the
    sides and this is negative. Sections that hold both are averaged.

    :returns: m; None where no section has both
    Source: the idea of bearing eccentricity in ISO 3548-2 (a wall measurement there), from memory.
    """
    differences: list[AffineScalarFunc] = []
    for held in _grouped(_placed(size, feature), "section").values():
        crown = [v for station, v in held if _off_crown(station, 0.0, _CROWN)]
        sides = [v for station, v in held if _off_crown(station, *_SIDES)]
        if crown and sides:
            differences.append(combine([(1.0, mean(crown)), (-1.0, mean(sides))]))
    return mean(differences) if differences else None


def pooled_deviation(size: Size) -> tuple[float, int]:
    """Return the standard deviation of one reading, pooled over the stations, and its freedom.

    :param size: with the readings of each station
    :returns: m, and degrees of freedom Σ(n − 1); 0.0 and 0 where no station has a repeat
    Source: GUM 4.2.2 and 4.2.4, the pooled estimate of variance.
    """
    squares, freedom = 0.0, 0
    for station in size.stations:
        middle = fsum(station.values) / len(station.values)
        squares += fsum((value - middle) ** 2 for value in station.values)
        freedom += len(station.values) - 1
    return (sqrt(squares / freedom) if freedom else 0.0), freedom


def coarsest_step(size: Size) -> float:
    """Return the coarsest step that a reading of the size was rounded to.

    :returns: m; 0.0 where no reading says
    """
    return max(
        getattr(source, "step", 0.0) for row in size.stations for source in row.value.derivatives
    )


@dataclass(frozen=True, slots=True)
class Ellipse:
    """What two-point diameters in one section say of its shape, as far as an ellipse goes.

    :param section: as in the stations
    :param mean: m
    :param ovality: greatest less least diameter of the ellipse, m, ≥ 0
    :param direction: of the major axis, rad in [0, π), counted as the stations' angles are
    """

    section: str
    mean: AffineScalarFunc
    ovality: AffineScalarFunc
    direction: float


def two_point_ellipse(size: Size, feature: Feature) -> tuple[Ellipse, ...]:
    """Return the best ellipse of each section with at least three directions.

    Least squares of d(θ) = m + a·cos 2θ + b·sin 2θ: the second harmonic, which is all that
    two-point diameters show of an oval; exact with three directions.

    :returns: one per section that has them, in station order; a section is left out where
        directions lie so that a and b cannot be told apart (0°, 90° and 180°)
    Source: ISO 12181-1 (harmonics of a roundness profile); the fit is ordinary least squares.
    """
    ellipses = (
        _ellipse(section, [(s.angle, v) for s, v in held if s.angle is not None])
        for section, held in _grouped(_placed(size, feature), "section").items()
    )
    return tuple(ellipse for ellipse in ellipses if ellipse is not None)


def _station_value(station: str, rows: Sequence[tuple[int, AffineScalarFunc]]) -> StationValue:
    ordered = sorted(rows, key=lambda row: row[0])
    values = [value for _, value in ordered]
    return StationValue(
        station,
        mean(values),
        tuple(number for number, _ in ordered),
        tuple(float(value.nominal_value) for value in values),
    )


def _size(held: Sequence[StationValue], stations: Iterable[Station], asked: int) -> Size:
    where = {station.id: station for station in stations}
    values = [row.value for row in held]
    rows = [(where[row.station], row.value) for row in held]
    return Size(
        mean=mean(values),
        least=min(values, key=_nominal),
        greatest=max(values, key=_nominal),
        out_of_round=_worst(_grouped(rows, "section"), "direction"),
        taper=_worst(_grouped(rows, "direction"), "section"),
        stations=tuple(held),
        complete=len(held) == asked,
    )


def _nominal(value: AffineScalarFunc) -> float:
    return float(value.nominal_value)


def _placed(size: Size, feature: Feature) -> list[_Placed]:
    where = {station.id: station for station in feature.stations}
    return [(where[row.station], row.value) for row in size.stations]


def _grouped(
    rows: Iterable[_Placed], along: Literal["section", "direction"]
) -> dict[str, list[_Placed]]:
    groups: dict[str, list[_Placed]] = {}
    for row in rows:
        groups.setdefault(getattr(row[0], along), []).append(row)
    return groups


def _worst(
    groups: Mapping[str, Sequence[_Placed]], across: Literal["section", "direction"]
) -> AffineScalarFunc | None:
    """Return greatest less least of the widest group, None if no group spans two places."""
    widest: tuple[float, AffineScalarFunc, AffineScalarFunc] | None = None
    for rows in groups.values():
        if len({getattr(station, across) for station, _ in rows}) < 2:
            continue
        # Sorted, so that equal stations stay two: their difference is nought, not certain.
        values = sorted((value for _, value in rows), key=_nominal)
        low, high = values[0], values[-1]
        spread = _nominal(high) - _nominal(low)
        if widest is None or spread > widest[0]:
            widest = (spread, low, high)
    if widest is None:
        return None
    return combine([(1.0, widest[2]), (-1.0, widest[1])])


def _off_crown(station: Station, least: float, most: float) -> bool:
    """Tell whether a direction lies so far from the crown; a diameter has no sense, so mod π."""
    if station.angle is None:
        return False
    return least <= abs((station.angle + pi / 2) % pi - pi / 2) <= most


def _ellipse(section: str, rows: Sequence[tuple[float, AffineScalarFunc]]) -> Ellipse | None:
    weights = _harmonic_weights([angle for angle, _ in rows])
    if weights is None:
        return None
    values = [value for _, value in rows]
    middle, a, b = (combine(list(zip(row, values, strict=True))) for row in weights)
    amplitude = hypot(_nominal(a), _nominal(b))
    # At no ovality at all the direction is open; any one serves for the sensitivities.
    along = (_nominal(a) / amplitude, _nominal(b) / amplitude) if amplitude else (1.0, 0.0)
    ovality = combine([(2.0 * along[0], a), (2.0 * along[1], b)])
    return Ellipse(section, middle, ovality, (atan2(_nominal(b), _nominal(a)) / 2.0) % pi)


def _harmonic_weights(angles: Sequence[float]) -> list[list[float]] | None:
    """Return the rows of (AᵀA)⁻¹Aᵀ, A = [1, cos 2θ, sin 2θ]; None where that cannot be had."""
    rows = [(1.0, cos(2.0 * angle), sin(2.0 * angle)) for angle in angles]
    normal = [[sum(r[i] * r[j] for r in rows) for j in range(3)] for i in range(3)]

    def cofactor(i: int, j: int) -> float:
        (a, b), (c, d) = (
            [normal[row][column] for column in range(3) if column != j]
            for row in range(3)
            if row != i
        )
        return float((-1) ** (i + j) * (a * d - b * c))

    determinant = sum(normal[0][j] * cofactor(0, j) for j in range(3))
    if len(angles) < 3 or determinant < _APART * len(angles) ** 3:
        return None
    inverse = [[cofactor(j, i) / determinant for j in range(3)] for i in range(3)]
    return [[sum(inverse[i][k] * row[k] for k in range(3)) for row in rows] for i in range(3)]
