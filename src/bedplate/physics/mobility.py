"""The orbit of a journal under a load that changes, by mobility maps of finite width.

Assumed: rigid, round and parallel journal and shell, one viscosity, oil that cannot pull, no
history of the oil (a gap that opens is filled again at once), edges and grooves at p = 0. The maps
hold what `reynolds` solves; `make_maps` makes them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, hypot, isfinite, pi, sin

import numpy as np
from numpy.typing import NDArray

from bedplate.errors import InputError
from bedplate.physics.checks import Array, require_positive
from bedplate.physics.map_tables import (
    GREATEST_GROOVE,
    LEAST_GROOVE,
    grooved_tables,
    spline_tables,
)

LEAST_WIDTH_RATIO, GREATEST_WIDTH_RATIO = 0.1, 1.5
LEAST_HALF_GROOVED, LEAST_LAND = 0.12, 0.035
"""Over the diameter: width of a half-grooved bearing, and of a land beside a groove all round."""
THINNEST = 1e-3
"""Least film over radial clearance that the maps hold; below it the film has broken down."""
MOST_LAPS = 25


@dataclass(frozen=True, slots=True)
class LoadCycle:
    """What a bearing carries over one period, seen from its shell.

    The frame is fixed in the shell and may turn with it (a rod's). All rows are at even steps of
    crank angle, the period's end left out.

    :param load: on the journal, as the journal passes it to the shell, N, shape (n, 2)
    :param relative_speed: of the journal in the shell, rad/s, positive from x to y, shape (n,)
    :param crank_speed: rad/s, above 0
    :param period: rad of crank, 4π for a four-stroke engine
    """

    load: Array
    relative_speed: Array
    crank_speed: float
    period: float


@dataclass(frozen=True, slots=True)
class BearingShape:
    """A plain bearing, or one with a groove around the middle of one shell or of both.

    :param diameter: of the journal, m
    :param width: of the shell that carries, m
    :param diametral_clearance: m
    :param groove_width: m; 0 for none
    :param groove_middle: where the groove's arc has its middle, in the shell's frame, rad
    :param groove_extent: over which angle it goes, rad: π for a half shell, or 2π all round
    """

    diameter: float
    width: float
    diametral_clearance: float
    groove_width: float = 0.0
    groove_middle: float = 0.0
    groove_extent: float = 0.0


@dataclass(frozen=True, slots=True)
class Orbit:
    """How the journal moves in its clearance once its motion repeats.

    Where the film has broken down `film` is nan and so is `least_film`: the load was more than the
    maps reach, and no number is pretended.

    :param state: 'settled', 'film breaks down', or 'not settled'
    :param position: eccentricity over the radial clearance, in the shell's frame, shape (n, 2)
    :param film: least film around the bearing at each step, m, shape (n,)
    :param least_film: least over the cycle, m; nan unless settled
    :param least_step: step at which it is met; −1 unless settled
    :param least_angle: where on the shell, rad in its frame; nan unless settled
    :param laps: cycles gone when the orbit closed, or when it was given up
    :param change: over the last lap, over the film left
    """

    state: str
    position: Array
    film: Array
    least_film: float
    least_step: int
    least_angle: float
    laps: float
    change: float


def require_cycle(cycle: LoadCycle) -> None:
    """Refuse a load cycle that cannot be followed.

    :raises InputError: wrong shapes, no numbers, fewer than 24 steps, a crank that stands
    """
    load, speed = cycle.load, cycle.relative_speed
    if load.ndim != 2 or load.shape[1] != 2 or speed.shape != load.shape[:1]:
        raise InputError("A load cycle needs two components and one speed at each step.")
    if load.shape[0] < 24:
        raise InputError(f"A load cycle needs 24 steps or more, not {load.shape[0]}.")
    if not (np.isfinite(load).all() and np.isfinite(speed).all()):
        raise InputError("A load cycle has a value that is no number.")
    require_positive(crank_speed=cycle.crank_speed, period=cycle.period)


def require_shape(shape: BearingShape) -> None:
    """Refuse a bearing that cannot be one, or whose width is beyond the maps.

    :raises InputError: a size not above zero, a clearance above 2 % of the diameter, a groove that
        goes neither half round nor all round, a width, a land or a groove outside the maps
    """
    require_positive(
        bearing_diameter=shape.diameter,
        bearing_width=shape.width,
        bearing_clearance=shape.diametral_clearance,
    )
    if shape.diametral_clearance > 0.02 * shape.diameter:
        raise InputError(
            f"A diametral clearance of {shape.diametral_clearance * 1e3:.3g} mm on a journal of "
            f"{shape.diameter * 1e3:.4g} mm is no bearing's; is the unit right?"
        )
    if not 0.0 <= shape.groove_width < shape.width:
        raise InputError("A groove must be narrower than its shell.")
    if shape.groove_width and not (is_half_grooved(shape) or _same(shape.groove_extent, 2 * pi)):
        raise InputError("A groove goes round half of its bearing or all of it, π or 2π.")
    if not isfinite(shape.groove_middle):
        raise InputError("The middle of the groove is no number.")
    share = shape.groove_width / shape.width
    if is_half_grooved(shape) and not LEAST_GROOVE <= round(share, 9) <= GREATEST_GROOVE:
        raise InputError(
            f"The groove takes {share:.3g} of the width; the maps of half-grooved bearings hold "
            f"{LEAST_GROOVE} to {GREATEST_GROOVE}."
        )
    _require_ratios(shape)


def is_half_grooved(shape: BearingShape) -> bool:
    """Return whether one shell of two is grooved around its middle."""
    return shape.groove_width > 0.0 and _same(shape.groove_extent, pi)


def journal_orbit(
    shape: BearingShape,
    cycle: LoadCycle,
    viscosity: float,
    *,
    short: bool = False,
    most_laps: int = MOST_LAPS,
) -> Orbit:
    """Return the journal's orbit over a load cycle.

    :param shape: the bearing
    :param cycle: the loads, in the shell's frame
    :param viscosity: dynamic, one for the whole film, Pa·s
    :param short: by Booker's fit of the short bearing instead of the maps; not half-grooved
    :param most_laps: cycles after which the orbit is given up
    :returns: the orbit; its state says if it is one
    :raises InputError: as `require_shape`, `require_cycle`
    Source: J. F. Booker, J. Basic Eng. 87 (1965) 537 and J. Lubr. Technol. 93 (1971) 168.
    """
    from bedplate.physics._orbit_kernels import orbit

    require_shape(shape)
    require_cycle(cycle)
    require_positive(viscosity=viscosity)
    load, spin, step = kernel_cycle(cycle)
    path, broken = start(load), np.zeros(load.shape[0], np.bool_)
    shell, _ = kernel_shell(shape, short=short)
    laps, change = orbit(
        load,
        spin,
        step,
        kernel_rate(shape, viscosity, cycle.crank_speed),
        shell,
        most_laps,
        path,
        broken,
    )
    return as_orbit(shape, path, broken, laps, change)


def as_orbit(
    shape: BearingShape, path: Array, broken: NDArray[np.bool_], laps: float, change: float
) -> Orbit:
    """Return what a kernel followed as an orbit.

    :param path: eccentricity over the radial clearance, shape (n, 2)
    :param broken: where the film broke down, shape (n,)
    :param laps: cycles gone
    :param change: over the last lap, over the film left
    """
    clearance = shape.diametral_clearance / 2
    x, y = path[:, 0], path[:, 1]
    film = clearance * (1.0 - np.sqrt(x * x + y * y))
    state = "settled" if change <= 1e-3 else "not settled"
    if broken.any():
        film[broken] = np.nan
        state = "film breaks down"
    if state != "settled":
        return Orbit(state, path, film, float("nan"), -1, float("nan"), laps, change)
    least = int(film.argmin())
    angle = atan2(y[least], x[least])
    return Orbit(state, path, film, float(film[least]), least, angle, laps, change)


def mobility(
    width_ratio: float, along: float, across: float, *, short: bool = False
) -> tuple[float, float]:
    """Return the mobility along and across the load, from the maps.

    :param width_ratio: width over diameter, 0.1 to 1.5
    :param along: eccentricity along the load, over the radial clearance
    :param across: across it, a quarter turn ahead of the load
    :param short: by Booker's fit of the short bearing
    :returns: journal velocity over cW(c/R)²/(μLD), along and across the load
    :raises InputError: outside the maps
    Source: as `journal_orbit`.
    """
    from bedplate.physics._orbit_kernels import map_mobility, short_motion

    if not hypot(along, across) <= 1.0 - THINNEST:
        raise InputError(f"The maps reach an eccentricity of {1.0 - THINNEST}.")
    if not LEAST_WIDTH_RATIO <= width_ratio <= GREATEST_WIDTH_RATIO:
        raise InputError(f"The maps hold widths of {LEAST_WIDTH_RATIO} to {GREATEST_WIDTH_RATIO}.")
    if short:
        found = short_motion(along, across)
    else:
        found = map_mobility(along, across, spline_tables(width_ratio)[0])
    return found[0] / width_ratio**2, found[1] / width_ratio**2


def kernel_cycle(cycle: LoadCycle) -> tuple[Array, Array, float]:
    """Return the loads, the spin σ and the step as the kernels take them."""
    load = np.ascontiguousarray(cycle.load, dtype=np.float64)
    spin = np.ascontiguousarray(cycle.relative_speed / (2.0 * cycle.crank_speed))
    return load, spin, cycle.period / load.shape[0]


def kernel_rate(shape: BearingShape, viscosity: float, crank_speed: float) -> float:
    """Return λ/(L/D)², rad⁻¹N⁻¹: of the whole width, or of the lands where grooved all round.

    :param viscosity: Pa·s
    :param crank_speed: rad/s
    """
    squeeze = (shape.diametral_clearance / shape.diameter) ** 2 / (viscosity * crank_speed)
    if not shape.groove_width or is_half_grooved(shape):
        return squeeze * shape.diameter / shape.width**3
    # Two lands, half the load on each.
    return 4.0 * squeeze * shape.diameter / (shape.width - shape.groove_width) ** 3


def kernel_groove(shape: BearingShape) -> tuple[float, float]:
    """Return the groove's middle and half its extent, rad; (0, 0) without one."""
    if not shape.groove_width:
        return 0.0, 0.0
    return float(shape.groove_middle), float(shape.groove_extent / 2)


Shell = tuple[Array, Array, float, float, int]


def kernel_shell(shape: BearingShape, *, short: bool = False) -> tuple[Shell, Shell]:
    """Return what the kernels know of a shell: for its mobility, and for peak pressure and flow.

    :param short: by Booker's fit of the short bearing
    :raises InputError: that fit asked of a half-grooved bearing
    """
    if not is_half_grooved(shape):
        width = _land(shape) if shape.groove_width else shape.width / shape.diameter
        flat, flat_more = spline_tables(width)
        none = np.zeros((0, 0, 0, 2))
        return (flat, none, 1.0, 0.0, int(short)), (flat_more, none, 1.0, 0.0, int(short))
    if short:
        raise InputError("The short bearing's fit knows no shell that is half grooved.")
    deep, more = grooved_tables(shape.width / shape.diameter, shape.groove_width / shape.width)
    begin = shape.groove_middle - pi / 2
    none = np.zeros((0, 0, 2))
    return (none, deep, cos(begin), sin(begin), 0), (none, more, cos(begin), sin(begin), 0)


def start(load: Array) -> Array:
    """Return a path to begin with: 0.8 of the clearance along the first load.

    :param load: N, shape (n, 2)
    :returns: shape (n, 2)
    """
    path = np.zeros(load.shape)
    size = float(np.hypot(load[0, 0], load[0, 1]))
    if size > 0.0:
        path[0] = 0.8 * load[0] / size
    return path


def _require_ratios(shape: BearingShape) -> None:
    half = is_half_grooved(shape)
    held = [
        ("bearing", shape.width / shape.diameter, LEAST_HALF_GROOVED if half else LEAST_WIDTH_RATIO)
    ]
    if shape.groove_width:
        held.append(("land beside the groove", _land(shape), LEAST_LAND))
    for name, ratio, least in held:
        # A width of a tenth in figures that are no tenth in binary is a tenth.
        if not least <= round(ratio, 9) <= GREATEST_WIDTH_RATIO:
            raise InputError(
                f"The {name} is {ratio:.3g} diameters wide; the maps hold "
                f"{least} to {GREATEST_WIDTH_RATIO}."
            )


def _land(shape: BearingShape) -> float:
    return (shape.width - shape.groove_width) / 2 / shape.diameter


def _same(angle: float, wanted: float) -> bool:
    return abs(angle - wanted) < 1e-6
