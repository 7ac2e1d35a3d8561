"""Tables of spline coefficients from the maps that the package ships, for one bearing at a time.

A half-grooved bearing has one angle more than a plain one: where its groove begins. Whichever end
of the groove is nearer to the direction of eccentricity is taken, the other by a mirror. Films go
in even steps of ln(1 − ε); both angles in even steps of the mean of the angle and of Sommerfeld's.
"""

from __future__ import annotations

from functools import cache, lru_cache
from math import atan2, cos, exp, log, pi, sin, sqrt
from pathlib import Path

import numpy as np

from bedplate.physics.checks import Array
from bedplate.physics.make_maps import MAP_FILE

GROOVED_MAP_FILE = Path(__file__).with_name("grooved_maps.npz")
LEAST_GROOVE, GREATEST_GROOVE = 0.04, 0.45
"""Width of the groove over the bearing's."""
FILMS, ANGLES, PLACES = 20, 32, 20
_THINNEST = 1e-3
STEPS_PER_UNIT = (20000.0, 800.0, 4000.0, 4000.0)
"""What is stored is a whole number of these steps."""


def film_at(row: int) -> float:
    """Return the eccentricity of a row of the grooved maps."""
    return float(1.0 - _THINNEST ** (row / (FILMS - 1)))


@cache
def load_angle_at(eccentricity: float, column: int) -> float:
    """Return the load angle of a column of the grooved maps, from the direction of eccentricity.

    :param eccentricity: over the radial clearance
    :returns: rad, −π to π
    """
    return _angle_of((column + 0.5) * 2 * pi / ANGLES - pi, eccentricity)


def groove_begin_at(eccentricity: float, place: int) -> float:
    """Return where the groove begins at a place of the grooved maps.

    :param eccentricity: over the radial clearance
    :returns: rad from the direction of eccentricity, −π/2 to π/2
    """
    share = 2 * place / (PLACES - 1) - 1
    return _angle_of(share * _mean_angle(pi / 2, eccentricity), eccentricity)


def _mean_angle(angle: float, eccentricity: float) -> float:
    """Return the mean of an angle and of Sommerfeld's."""
    wide, narrow = sqrt(1.0 + eccentricity), sqrt(1.0 - eccentricity)
    return angle / 2 + atan2(wide * sin(angle / 2), narrow * cos(angle / 2))


def _angle_of(mean: float, eccentricity: float) -> float:
    low, high = -pi, pi
    for _ in range(60):
        middle = (low + high) / 2
        if _mean_angle(middle, eccentricity) > mean:
            high = middle
        else:
            low = middle
    return (low + high) / 2


@lru_cache(maxsize=64)
def spline_tables(width_ratio: float) -> tuple[Array, Array]:
    """Return the coefficients of a width: of the mobility, and of peak pressure and flow.

    Cubic in ln(L/D), cubic B-splines in the other two; not-a-knot at both ends of the films, even
    about both ends of the angles.

    :param width_ratio: width over diameter, 0.035 to 1.5
    :returns: two arrays of shape (films + 2, angles + 4, 2)
    """
    ratios, maps = _plain_maps()
    table = _between(np.log(ratios), maps, log(width_ratio))
    films, angles = table.shape[:2]
    inner = _along(table, _inverse(_not_a_knot(films))[:, 1:-1], 0)
    inner = _along(inner, _inverse(_even(angles)), 1)
    padded = np.concatenate((inner[:, 1::-1], inner, inner[:, :-3:-1]), axis=1)
    return padded[..., :2].copy(), padded[..., 2:].copy()


@lru_cache(maxsize=64)
def grooved_tables(width_ratio: float, groove_share: float) -> tuple[Array, Array]:
    """Return the coefficients of a half-grooved bearing: as `spline_tables`, one axis more.

    What is stored is how far each quantity has gone from the plain bearing's to that of the two
    lands; cubic in ln(L/D), a parabola in the groove's share, cubic B-splines in the other three:
    not-a-knot in the films and the groove's place, periodic in the load angle.

    :param width_ratio: width over diameter, 0.12 to 1.5
    :param groove_share: width of the groove over the bearing's, 0.04 to 0.45
    :returns: two arrays of shape (films + 2, angles + 3, places + 2, 2)
    """
    ratios, shares, maps = _grooved_maps()
    over_widths = _between_weights(np.log(ratios), log(width_ratio))
    over_shares = _lagrange(shares, groove_share)
    gone = np.einsum("w,s,wsfapq->fapq", over_widths, over_shares, maps)
    inner = from_share(gone, *ends(width_ratio, groove_share))
    films, angles, places = inner.shape[:3]
    inner = _along(inner, _inverse(_not_a_knot(films))[:, 1:-1], 0)
    inner = _along(inner, _inverse(_periodic(angles)), 1)
    inner = _along(inner, _inverse(_not_a_knot(places))[:, 1:-1], 2)
    padded = np.concatenate((inner[:, -1:], inner, inner[:, :2]), axis=1)
    return padded[..., :2].copy(), padded[..., 2:].copy()


def ends(width_ratio: float, groove_share: float) -> tuple[Array, Array]:
    """Return what a bearing gives without its groove, and grooved all round, at a map's nodes.

    :param width_ratio: width over diameter
    :param groove_share: width of the groove over the bearing's
    :returns: ln of M along the load over (1 − ξ)^1.5, M across over M along, ln of the peak
        pressure over the load's, ln of the flow out of both ends over R L and the velocity; for
        the whole width; two arrays of shape (films, angles, 1, 4)
    """
    whole = _at_nodes(width_ratio)
    lands = _at_nodes(width_ratio * (1.0 - groove_share) / 2)
    # Each land carries half the load; what it presses out goes half into the groove.
    lands = lands + np.log([4.0 / (1.0 - groove_share) ** 3, 1.0, 1.0 / (1.0 - groove_share), 0.5])
    lands[..., 3] += log(1.0 - groove_share)
    return whole, lands


def to_share(values: Array, whole: Array, lands: Array) -> Array:
    """Return how far values have gone from the bearing without groove to one grooved all round.

    :param values: as `ends` gives them, shape (…, 4)
    :param whole: the first of `ends`
    :param lands: the second of `ends`
    :returns: the share of the way of the first; what the others are off the same share
    """
    share = (values[..., :1] - whole[..., :1]) / (lands[..., :1] - whole[..., :1])
    rest = values - whole - share * (lands - whole)
    return np.concatenate((share, rest[..., 1:]), axis=-1)


def from_share(gone: Array, whole: Array, lands: Array) -> Array:
    """Return the values of which `to_share` made shares.

    :param gone: the shares, shape (…, 4)
    :param whole: the first of `ends`
    :param lands: the second of `ends`
    """
    values: Array = whole + gone[..., :1] * (lands - whole)
    values[..., 1:] += gone[..., 1:]
    return values


def _at_nodes(width_ratio: float) -> Array:
    """Return a plain bearing's quantities at the nodes of the grooved maps, (films, angles, 1, 4).

    The mobility times (L/D)².
    """
    from bedplate.physics._orbit_kernels import place_in_map, spline

    mobile, more = spline_tables(width_ratio)
    found = np.empty((FILMS, ANGLES, 1, 4))
    for row in range(FILMS):
        size = film_at(row)
        for column in range(ANGLES):
            angle = load_angle_at(size, column)
            along, across = size * cos(angle), -size * sin(angle)
            place = place_in_map(along, across, mobile)
            first, second = spline(*place, mobile)
            aside = -exp(second - first) * across / sqrt(1.0 - along)
            found[row, column, 0] = first, aside, *spline(*place, more)
    return found


@cache
def _plain_maps() -> tuple[Array, Array]:
    with np.load(MAP_FILE) as stored:
        return stored["width_ratios"], stored["maps"].astype(np.float64)


@cache
def _grooved_maps() -> tuple[Array, Array, Array]:
    with np.load(GROOVED_MAP_FILE) as stored:
        maps = stored["maps"] * (1.0 / np.array(STEPS_PER_UNIT, np.float32))
        return stored["width_ratios"], stored["groove_shares"], maps


def _along(table: Array, matrix: Array, axis: int) -> Array:
    """Return a table multiplied by a matrix along one axis.

    In one order of sums: a library's threads would give another last bit in another process.
    """
    moved = np.moveaxis(table, axis, 0)
    found: Array = np.einsum("ir,r...->i...", matrix, np.ascontiguousarray(moved))
    return np.moveaxis(found, 0, axis)


def _between(knots: Array, tables: Array, place: float) -> Array:
    """Return the natural cubic spline through tables at a place."""
    found: Array = np.einsum("w,w...->...", _between_weights(knots, place), tables)
    return found


def _between_weights(knots: Array, place: float) -> Array:
    """Return the weights of tables in the natural cubic spline through them at a place."""
    n = knots.size
    gap = np.diff(knots)
    left, right = np.zeros((n, n)), np.zeros((n, n))
    left[0, 0] = left[-1, -1] = 1.0
    for k in range(1, n - 1):
        left[k, k - 1 : k + 2] = gap[k - 1], 2 * (gap[k - 1] + gap[k]), gap[k]
        right[k, k - 1 : k + 2] = 1 / gap[k - 1], -1 / gap[k - 1] - 1 / gap[k], 1 / gap[k]
    bend = np.linalg.solve(left, 6 * right)
    k = min(max(int(np.searchsorted(knots, place)) - 1, 0), n - 2)
    a, b, h = (knots[k + 1] - place) / gap[k], (place - knots[k]) / gap[k], gap[k]
    weights: Array = ((a**3 - a) * bend[k] + (b**3 - b) * bend[k + 1]) * h**2 / 6
    weights[k] += a
    weights[k + 1] += b
    return weights


def _lagrange(knots: Array, place: float) -> Array:
    """Return the weights of tables in the one polynomial through them at a place."""
    return np.array(
        [
            np.prod([(place - other) / (own - other) for other in knots if other != own])
            for own in knots
        ]
    )


def _inverse(matrix: Array) -> Array:
    return np.linalg.inv(matrix).astype(np.float64)


def _not_a_knot(count: int) -> Array:
    """Return the matrix from coefficients to values, its ends the third differences."""
    matrix = np.zeros((count + 2, count + 2))
    for k in range(count):
        matrix[k + 1, k : k + 3] = 1 / 6, 4 / 6, 1 / 6
    matrix[0, :5] = matrix[-1, -5:] = 1, -4, 6, -4, 1
    return matrix


def _even(count: int) -> Array:
    """Return the matrix from coefficients to values, mirrored half a step off both ends."""
    matrix = np.zeros((count, count))
    for k in range(count):
        for j, weight in ((k - 1, 1 / 6), (k, 4 / 6), (k + 1, 1 / 6)):
            matrix[k, min(max(j, 0), count - 1)] += weight
    return matrix


def _periodic(count: int) -> Array:
    """Return the matrix from coefficients to values, the last beside the first."""
    matrix = np.zeros((count, count))
    for k in range(count):
        matrix[k, [k - 1, k, (k + 1) % count]] = 1 / 6, 4 / 6, 1 / 6
    return matrix
