"""Least-squares circle and cylinder, and what an indicator says of a turning part.

The geometric fits: the sum of squared distances from the curve is least (ISO 12181-1 LSCI, ISO
12180-1 LSCY), not an algebraic stand-in for it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bedplate.errors import NotPossibleError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Vector = NDArray[np.float64]

_STEPS = 200
_SETTLED = 1e-14
"""Relative step at which a fit has settled."""


@dataclass(frozen=True, slots=True)
class Circle:
    """A least-squares circle.

    :param centre: m
    :param radius: m
    :param roundness: RONt, greatest less least distance from the centre, m (ISO 12181-1)
    :param residuals: distance of each point outside the circle, m
    """

    centre: tuple[float, float]
    radius: float
    roundness: float
    residuals: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A least-squares cylinder.

    :param point: on the axis, nearest the centroid of the points, m
    :param direction: of the axis, unit vector, its largest component positive
    :param radius: m
    :param cylindricity: CYLt, greatest less least distance from the axis, m (ISO 12180-1)
    """

    point: tuple[float, float, float]
    direction: tuple[float, float, float]
    radius: float
    cylindricity: float


def least_squares_circle(x: Sequence[float], y: Sequence[float]) -> Circle:
    """Return the circle with the least sum of squared distances (ISO 12181-1: LSCI).

    Gauss–Newton with halved steps from an algebraic start; every point weighs the same.

    :param x: m, shape (n,), n ≥ 3
    :param y: m, shape (n,)
    :returns: lengths in m
    :raises NotPossibleError: fewer than three points, or all on one line
    Source: ISO 12181-1; Gander, Golub, Strebel, BIT 34 (1994) 558, section 3.
    """
    import numpy as np

    points = _points(list(zip(x, y, strict=True)), 3, "circle")
    centroid = points.mean(axis=0)
    moved = points - centroid
    size = float(np.sqrt((moved**2).sum(axis=1).mean())) or 1.0
    scaled = moved / size
    _spread_out(scaled, 2, "circle")
    start = np.append(_algebraic_centre(scaled), 0.0)
    start[2] = np.hypot(*(scaled - start[:2]).T).mean()

    def distances(p: Vector) -> tuple[Vector, Vector]:
        away = scaled - p[:2]
        radii = np.hypot(away[:, 0], away[:, 1])
        slopes = np.column_stack([-away / radii[:, None], -np.ones(len(radii))])
        return radii - p[2], slopes

    fitted = _gauss_newton(start, distances)
    residuals = distances(fitted)[0] * size
    centre = centroid + fitted[:2] * size
    return Circle(
        (float(centre[0]), float(centre[1])),
        float(fitted[2] * size),
        float(np.ptp(residuals)),
        tuple(residuals.tolist()),
    )


def least_squares_cylinder(points: Sequence[tuple[float, float, float]]) -> Cylinder:
    """Return the cylinder with the least sum of squared distances (ISO 12180-1: LSCY).

    Gauss–Newton over the axis' point, tilt and the radius, started from each principal direction
    of the points; the best of them counts.

    :param points: m, shape (n, 3), n ≥ 6
    :returns: lengths in m
    :raises NotPossibleError: fewer than six points, or all in one plane
    Source: ISO 12180-1.
    """
    import numpy as np

    held = _points(points, 6, "cylinder")
    centroid = held.mean(axis=0)
    size = float(np.sqrt(((held - centroid) ** 2).sum(axis=1).mean())) or 1.0
    scaled = (held - centroid) / size
    _spread_out(scaled, 3, "cylinder")
    _, _, principal = np.linalg.svd(scaled, full_matrices=False)
    fits = [_cylinder_about(scaled, np.roll(principal, -k, axis=0)) for k in range(3)]
    _, frame, fitted = min(fits, key=lambda fit: fit[0])
    direction = np.array([fitted[2], fitted[3], 1.0])
    direction /= np.linalg.norm(direction)
    point = np.array([fitted[0], fitted[1], 0.0])
    point -= direction * (point @ direction)
    radii = np.linalg.norm(np.cross(scaled @ frame.T - point, direction), axis=1)
    axis = direction @ frame
    axis *= np.sign(axis[np.argmax(np.abs(axis))])
    place = centroid + (point @ frame) * size
    return Cylinder(
        (float(place[0]), float(place[1]), float(place[2])),
        (float(axis[0]), float(axis[1]), float(axis[2])),
        float(fitted[4] * size),
        float(np.ptp(radii) * size),
    )


def runout(readings: Sequence[float]) -> float:
    """Return the total indicator reading of one turn: greatest less least.

    Holds the eccentricity and the form of the part together, and what the rests add.

    :param readings: m, shape (n,), n ≥ 1
    :returns: m, ≥ 0
    Source: ISO 1101, run-out.
    """
    return max(readings) - min(readings)


def profile_from_indicator(angles: Sequence[float], readings: Sequence[float]) -> Circle:
    """Return roundness and eccentricity of a part that turns under an indicator.

    The limaçon: reading = R + x·cos θ + y·sin θ + form, right where the eccentricity is small
    against the radius, which the indicator does not know.

    :param angles: rad, shape (n,), n ≥ 3, spread over the turn
    :param readings: m, shape (n,), larger away from the axis
    :returns: centre (x, y) relative to the axis of turning, m; radius is the mean reading, m
    :raises NotPossibleError: fewer than three places, or too close together to tell
    Source: ISO 4291 (radius variation method), least-squares mean circle.
    """
    import numpy as np

    theta = np.asarray(angles, dtype=float)
    values = np.asarray(readings, dtype=float)
    design = np.column_stack([np.ones_like(theta), np.cos(theta), np.sin(theta)])
    if len(theta) < 3 or np.linalg.matrix_rank(design, tol=1e-6) < 3:
        raise NotPossibleError("Run-out needs readings at three places or more round the turn.")
    fitted = np.linalg.lstsq(design, values, rcond=None)[0]
    residuals = values - design @ fitted
    return Circle(
        (float(fitted[1]), float(fitted[2])),
        float(fitted[0]),
        float(np.ptp(residuals)),
        tuple(residuals.tolist()),
    )


def _points(points: Sequence[Sequence[float]], least: int, what: str) -> Vector:
    import numpy as np

    held = np.asarray(points, dtype=float)
    if len(held) < least or not np.isfinite(held).all():
        raise NotPossibleError(f"A {what} needs at least {least} finite points.")
    return held


def _spread_out(scaled: Vector, rank: int, what: str) -> None:
    import numpy as np

    if np.linalg.matrix_rank(scaled, tol=1e-9) < rank:
        flat = "line" if rank == 2 else "plane"
        raise NotPossibleError(f"The points lie on one {flat}: they fix no {what}.")


def _algebraic_centre(scaled: Vector) -> Vector:
    """Return the centre of Kåsa's fit: least Σ(d² − r²)², linear, near enough for a start."""
    import numpy as np

    design = np.column_stack([2.0 * scaled, np.ones(len(scaled))])
    centre: Vector = np.linalg.lstsq(design, (scaled**2).sum(axis=1), rcond=None)[0][:2]
    return centre


def _cylinder_about(scaled: Vector, principal: Vector) -> tuple[float, Vector, Vector]:
    """Return (sum of squares, frame, [x, y, tilts, radius]); the axis starts along frame row 3."""
    import numpy as np

    frame = np.array([*principal[1:], principal[0]])
    local = scaled @ frame.T
    centre = _algebraic_centre(local[:, :2])
    radius = np.hypot(*(local[:, :2] - centre).T).mean()

    def distances(p: Vector) -> tuple[Vector, Vector]:
        direction = np.array([p[2], p[3], 1.0])
        length = np.linalg.norm(direction)
        unit = direction / length
        away = local - np.array([p[0], p[1], 0.0])
        along = away @ unit
        foot = away - along[:, None] * unit
        radii = np.linalg.norm(foot, axis=1)
        normal = foot / radii[:, None]
        tilt = -(along / length)[:, None] * normal[:, :2]
        return radii - p[4], np.column_stack([-normal[:, :2], tilt, -np.ones(len(radii))])

    start = np.array([centre[0], centre[1], 0.0, 0.0, radius])
    fitted = _gauss_newton(start, distances)
    return float((distances(fitted)[0] ** 2).sum()), frame, fitted


def _gauss_newton(start: Vector, distances: Callable[[Vector], tuple[Vector, Vector]]) -> Vector:
    """Return the parameters of the least sum of squares near the start; all of the order of 1."""
    import numpy as np

    held = start
    residuals, slopes = distances(held)
    best = float(residuals @ residuals)
    for _ in range(_STEPS):
        step = np.linalg.lstsq(slopes, -residuals, rcond=None)[0]
        for _ in range(30):
            trial, trial_slopes = distances(held + step)
            total = float(trial @ trial)
            if total <= best:
                break
            step = step / 2.0
        else:
            return held
        held, residuals, slopes, best = held + step, trial, trial_slopes, total
        if np.abs(step).max() < _SETTLED:
            break
    return held
