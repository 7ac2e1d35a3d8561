"""The finite journal bearing: pressure, load, flow and friction from the Reynolds equation.

Assumed: rigid, parallel, round journal and shell; one viscosity in the whole film; oil that cannot
pull: p ≥ 0, and where the film ends both pressure and its gradient vanish (Swift and Stieber, also
called Reynolds' boundary); both edges at p = 0. Finite differences over cells on a mesh that is
dense at least film and at the edges, second order; the answer at each mesh is exact to rounding.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import atan2, cos, hypot, isfinite, pi, sin, sqrt

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import Array, require_finite

GREATEST_ECCENTRICITY = 0.999
LEAST_WIDTH_RATIO, GREATEST_WIDTH_RATIO = 0.01, 1.5
_EDGE_CLUSTERING = 0.6
"""Share of a sine in the spacing across: the edge steps are a third of even ones or less."""


@dataclass(frozen=True, slots=True)
class Groove:
    """A groove in the shell, held at p = 0; feed pressure is left out.

    Around the middle, as in a grooved half shell; or, with the whole width, along the axis.

    :param width_share: its width over the bearing's width: above 0 and below 0.8, or 1
    :param begin: where it begins, rad from the direction of eccentricity
    :param extent: over which angle it goes on, rad; 2π all round
    """

    width_share: float
    begin: float
    extent: float


@dataclass(frozen=True, slots=True)
class FilmPressure:
    """The film at one position and velocity of the journal, without units.

    Angles count from the direction of eccentricity, where the film is least. Ω is the unit of
    angular rate in which velocity is given.

    :param velocity: of the journal's centre over cΩ, radial and tangential, as seen from the frame
        that turns with the mean speed of journal and shell
    :param load: that it carries, over μΩ(R/c)²LD, radial and tangential
    :param mobility: velocity over the size of the load, radial and tangential
    :param peak: greatest pressure over load per projected area, p LD/W
    :param side_flow: out of both ends, over cΩRL
    :param angle: of each node around, rad, shape (around,)
    :param across: of each node from the mid plane (0) to the edge (1), shape (half + 1,)
    :param pressure: over load per projected area, shape (around, half + 1)
    :param turns: in which the wet part settled
    """

    velocity: tuple[float, float]
    load: tuple[float, float]
    mobility: tuple[float, float]
    peak: float
    side_flow: float
    angle: Array
    across: Array
    pressure: Array
    turns: int


@dataclass(frozen=True, slots=True)
class SteadyBearing:
    """A bearing that rests in a steady load, without units (as Raimondi and Boyd tabled it).

    :param sommerfeld: S = μN/P (R/c)²
    :param attitude: angle from the load to the line of centres, rad
    :param friction: friction force over load, times R/c; film complete all round
    :param flow: drawn in where the film is widest, over R c N L; nan if the film begins anywhere
    :param side_flow: out of both ends, over R c N L
    :param peak: greatest pressure over load per projected area
    """

    eccentricity: float
    width_ratio: float
    sommerfeld: float
    attitude: float
    friction: float
    flow: float
    side_flow: float
    peak: float


def film_pressure(
    eccentricity: float,
    width_ratio: float,
    velocity: tuple[float, float],
    *,
    around: int = 72,
    across: int = 9,
    groove: Groove | tuple[Groove, ...] = (),
) -> FilmPressure:
    """Return the film for a velocity of the journal.

    A journal that turns with ωj in a shell that turns with ωs and moves with (vr, vt), counted in
    any frame: radial vr, tangential vt − ε(ωj + ωs)/2 (in units of cΩ and Ω).

    :param eccentricity: over the radial clearance, 0 to 0.999
    :param width_ratio: width over diameter, 0.01 to 1.5
    :param velocity: radial and tangential, over cΩ; not both 0
    :param around: nodes around, even, 16 or more
    :param across: nodes over the whole width with both edges, 4k + 1, 9 or more; half are solved
    :param groove: one or more, those around the middle all of one width; none: plain
    :returns: the film
    :raises InputError: outside that range
    Source: O. Reynolds (1886); H. W. Swift (1932) and W. Stieber (1933) for the boundary.
    """
    if not (isfinite(velocity[0]) and isfinite(velocity[1])) or velocity == (0.0, 0.0):
        raise InputError("A film without squeeze or wedge carries nothing: give a velocity.")
    opposite = atan2(velocity[1], velocity[0]) + pi
    return _film(eccentricity, width_ratio, velocity, None, opposite, around, across, groove)


def film_mobility(
    eccentricity: float,
    width_ratio: float,
    load_angle: float,
    *,
    around: int = 72,
    across: int = 9,
    groove: Groove | tuple[Groove, ...] = (),
) -> FilmPressure:
    """Return the film for a unit load in a direction: the mobility of the journal.

    :param eccentricity: over the radial clearance, 0 to 0.999
    :param width_ratio: width over diameter, 0.01 to 1.5
    :param load_angle: from the direction of eccentricity to the load, rad
    :param around: as for `film_pressure`
    :param across: as for `film_pressure`
    :param groove: as for `film_pressure`
    :returns: the film, its load of size 1
    :raises InputError: outside that range
    Source: as `film_pressure`; mobility by J. F. Booker, J. Basic Eng. 87 (1965) 537.
    """
    load = (cos(load_angle), sin(load_angle))
    left = 1.0 - eccentricity * cos(load_angle)
    along, aside = left**2.5, 4.0 / pi * eccentricity * sin(load_angle) * left**1.5
    guess = (along * load[0] - aside * load[1], along * load[1] + aside * load[0])
    opposite = atan2(guess[1], guess[0]) + pi
    return _film(eccentricity, width_ratio, guess, load, opposite, around, across, groove)


def steady_bearing(
    eccentricity: float,
    width_ratio: float,
    *,
    around: int = 180,
    across: int = 17,
    begins_at_widest: bool = True,
) -> SteadyBearing:
    """Return the plain bearing that rests in a steady load while its journal turns.

    :param eccentricity: over the radial clearance, above 0 to 0.999
    :param width_ratio: width over diameter, 0.01 upwards; to 1.5 if the film begins anywhere
    :param around: as for `film_pressure`
    :param across: as for `film_pressure`
    :param begins_at_widest: oil is fed along the whole width where the film is widest, as in the
        published tables; else the film begins where pressure wants it to
    :returns: the bearing
    :raises InputError: outside that range
    Source: A. A. Raimondi and J. Boyd, ASLE Trans. 1 (1958) 159-209, for the definitions; friction
    from shear all round and the couple of the load, f R/c = 2π²S/√(1 − ε²) + ε/2 sin φ.
    """
    if not eccentricity > 0.0:
        raise InputError("A bearing that carries a load has an eccentricity above zero.")
    if not begins_at_widest and width_ratio > GREATEST_WIDTH_RATIO:
        raise InputError(f"The width over the diameter must not pass {GREATEST_WIDTH_RATIO}.")
    _require_range(eccentricity, min(width_ratio, GREATEST_WIDTH_RATIO))
    cut = pi if begins_at_widest else pi / 2
    result, theta, _, _ = _solved(
        eccentricity, width_ratio, (0.0, -eccentricity), None, cut, around, across, ()
    )
    _, _, x, y, peak, leak, inflow = result[:7]
    load = hypot(x, y)
    sommerfeld, attitude = 1.0 / (pi * load), atan2(-y, x)
    friction = 2 * pi**2 * sommerfeld / sqrt(1 - eccentricity**2) + eccentricity / 2 * sin(attitude)
    middle = pi + 0.5 * float(theta[around // 2 + 1] - theta[around // 2])
    drawn = pi * (1.0 - eccentricity * cos(middle) + inflow) if begins_at_widest else float("nan")
    return SteadyBearing(
        eccentricity, width_ratio, sommerfeld, attitude, friction, drawn, pi * leak, peak / load
    )


def steady_grooved_bearing(
    eccentricity: float,
    width_ratio: float,
    grooves: tuple[Groove, ...],
    *,
    around: int = 180,
    across: int = 17,
) -> SteadyBearing:
    """Return the grooved bearing that rests in a steady load while its journal turns.

    :param eccentricity: over the radial clearance, 0.001 to 0.999
    :param width_ratio: width over diameter, 0.01 to 1.5
    :param grooves: their angles from the direction of the load, positive with the rotation
    :param around: as for `film_pressure`
    :param across: as for `film_pressure`
    :returns: the bearing; its flow is nan, as what the grooves give out is not counted
    :raises InputError: outside that range; a load that no attitude bears
    Source: as `film_pressure`; the attitude by bisection, until the load points where it should.
    """
    if not eccentricity >= 0.001:
        raise InputError("A grooved bearing is solved for an eccentricity of 0.001 or more.")

    def film(attitude: float) -> FilmPressure:
        turned = tuple(Groove(g.width_share, g.begin - attitude, g.extent) for g in grooves)
        turning = (0.0, -eccentricity)
        return film_pressure(
            eccentricity, width_ratio, turning, around=around, across=across, groove=turned
        )

    # The load found lies behind the line of centres by the attitude; it must be the one assumed.
    low, high = 0.0, pi * 0.75
    for _ in range(40):
        attitude = (low + high) / 2
        found = film(attitude)
        if atan2(-found.load[1], found.load[0]) > attitude:
            low = attitude
        else:
            high = attitude
    if not 1e-6 < attitude < pi * 0.75 - 1e-6:
        raise InputError("No attitude of the journal bears a load in this direction.")
    load = hypot(*found.load)
    sommerfeld = 1.0 / (pi * load)
    friction = 2 * pi**2 * sommerfeld / sqrt(1 - eccentricity**2) + eccentricity / 2 * sin(attitude)
    return SteadyBearing(
        eccentricity, width_ratio, sommerfeld, attitude, friction, float("nan"),
        pi * found.side_flow, found.peak,
    )  # fmt: skip


def steady_eccentricity(
    sommerfeld: float, width_ratio: float, *, begins_at_widest: bool = True
) -> float:
    """Return the eccentricity at which a bearing carries a steady load.

    :param sommerfeld: S = μN/P (R/c)², above 0
    :param width_ratio: width over diameter
    :param begins_at_widest: as for `steady_bearing`
    :returns: eccentricity over the radial clearance; nan if it would pass 0.999: the film breaks
        down
    :raises InputError: as `steady_bearing`
    Source: `steady_bearing`, solved by bisection on the logarithm of the least film.
    """
    if not sommerfeld > 0.0:
        raise InputError("The Sommerfeld number must be above zero.")

    def carries(eccentricity: float) -> bool:
        found = steady_bearing(eccentricity, width_ratio, begins_at_widest=begins_at_widest)
        return found.sommerfeld < sommerfeld

    if not carries(GREATEST_ECCENTRICITY):
        return float("nan")
    # Between 1e-6 of eccentricity and 0.999, on u = ln(ε/(1 − ε)).
    low, high = -13.8, float(np.log(GREATEST_ECCENTRICITY / (1 - GREATEST_ECCENTRICITY)))
    for _ in range(50):
        middle = (low + high) / 2
        if carries(1.0 / (1.0 + float(np.exp(-middle)))):
            high = middle
        else:
            low = middle
    return 1.0 / (1.0 + float(np.exp(-(low + high) / 2)))


Solved = tuple[float, float, float, float, float, float, float, float, int]
Mesh = tuple[Array, Array, Array]


def _film(
    eccentricity: float,
    width_ratio: float,
    velocity: tuple[float, float],
    load: tuple[float, float] | None,
    cut: float,
    around: int,
    across: int,
    groove: Groove | tuple[Groove, ...],
) -> FilmPressure:
    _require_range(eccentricity, width_ratio)
    result, theta, zeta, pressure = _solved(
        eccentricity, width_ratio, velocity, load, cut, around, across, groove
    )
    vx, vy, x, y, peak, leak = result[:6]
    size = hypot(x, y)
    return FilmPressure(
        velocity=(vx, vy),
        load=(x, y),
        mobility=(vx / size, vy / size),
        peak=peak / size,
        side_flow=leak,
        angle=theta,
        across=zeta,
        pressure=pressure / size,
        turns=result[8],
    )


def _solved(
    eccentricity: float,
    width_ratio: float,
    velocity: tuple[float, float],
    load: tuple[float, float] | None,
    cut: float,
    around: int,
    across: int,
    groove: Groove | tuple[Groove, ...],
) -> tuple[Solved, Array, Array, Array]:
    from bedplate.physics._reynolds_kernels import nearest_node, solve

    _require_mesh(around, across)
    grooves = (groove,) if isinstance(groove, Groove) else groove
    share = _middle_share(grooves)
    zeta, lines = _lines(across, share)
    arcs = np.array(
        [(across if g.width_share == 1.0 else lines, g.begin, g.extent) for g in grooves]
    ).reshape(-1, 3)
    half = (across - 1) // 2
    theta, flat = np.empty(around), np.empty((around - 1) * half)
    result = solve(
        eccentricity,
        1.0 / width_ratio**2,
        (float(velocity[0]), float(velocity[1])),
        load or (0.0, 0.0),
        int(load is not None),
        cut,
        arcs,
        theta,
        mesh_across(across, share),
        flat,
    )
    if result[8] < 0:
        raise InputError(
            f"The wet part of the film did not settle in {-result[8]} turns on a mesh of "
            f"{around} by {across}."
        )
    pressure = np.zeros((around, half + 1))
    after = nearest_node(theta, cut) + 1
    pressure[(after + np.arange(around - 1)) % around, :half] = flat.reshape(around - 1, half)
    return result, theta, zeta, pressure


@lru_cache(maxsize=32)
def mesh_across(across: int, groove_share: float) -> Mesh:
    """Return the steps in ζ, the cells, and the weights that integrate parabolas over ζ.

    :param across: nodes over the whole width
    :param groove_share: width of a groove over the bearing's, 0 for none
    :returns: three arrays of shape (half,), without the edge, where p = 0
    """
    zeta, _ = _lines(across, groove_share)
    gap = np.diff(zeta)
    share = np.concatenate(([gap[0] / 2], (gap[:-1] + gap[1:]) / 2))
    weights = np.zeros(zeta.size)
    for k in range(0, gap.size, 2):
        a, b = gap[k], gap[k + 1]
        both = a + b
        weights[k] += both / 6 * (2 - b / a)
        weights[k + 1] += both**3 / (6 * a * b)
        weights[k + 2] += both / 6 * (2 - a / b)
    return gap, share, weights[:-1].copy()


def _middle_share(grooves: tuple[Groove, ...]) -> float:
    """Return the width of the grooves around the middle over the bearing's; 0 without one."""
    for groove in grooves:
        narrow = 0.0 < groove.width_share < 0.8
        if not ((narrow or groove.width_share == 1.0) and 0.0 <= groove.extent <= 2 * pi):
            raise InputError(
                "A groove takes less than 0.8 of the width, or all of it, and at most one turn."
            )
        require_finite(begin_of_the_groove=groove.begin)
    shares = {groove.width_share for groove in grooves} - {1.0}
    if len(shares) > 1:
        raise InputError("Grooves around the middle must all be of one width.")
    return shares.pop() if shares else 0.0


def _lines(across: int, groove_share: float) -> tuple[Array, int]:
    """Return ζ from mid plane to edge, and how many nodes a groove covers; its rim is a node."""
    half = (across - 1) // 2
    even = np.linspace(0.0, 1.0, half + 1)
    if not groove_share:
        zeta = (1 - _EDGE_CLUSTERING) * even + _EDGE_CLUSTERING * np.sin(pi / 2 * even)
        return zeta, 0
    inside = min(max(2, 2 * round(half * groove_share / 2)), half - 2)
    land = np.linspace(0.0, 1.0, half - inside + 1)
    # Steps of the land are short at both its edges.
    land = (1 - _EDGE_CLUSTERING) * land + _EDGE_CLUSTERING * np.sin(pi / 2 * land) ** 2
    groove = np.linspace(0.0, groove_share, inside + 1)
    return np.concatenate((groove, groove_share + (1 - groove_share) * land[1:])), inside + 1


def _require_mesh(around: int, across: int) -> None:
    if around < 16 or around % 2:
        raise InputError(f"A film needs an even number of nodes around, 16 or more, not {around}.")
    if across < 9 or across % 4 != 1:
        raise InputError(f"A film needs 9, 13, 17 … nodes across, not {across}.")


def _require_range(eccentricity: float, width_ratio: float) -> None:
    if not 0.0 <= eccentricity <= GREATEST_ECCENTRICITY:
        raise InputError(
            f"The film is solved for an eccentricity of 0 to {GREATEST_ECCENTRICITY}, not "
            f"{eccentricity:g}."
        )
    if not LEAST_WIDTH_RATIO <= width_ratio <= GREATEST_WIDTH_RATIO:
        raise InputError(
            f"The film is solved for widths of {LEAST_WIDTH_RATIO} to {GREATEST_WIDTH_RATIO} "
            f"diameters, not {width_ratio:g}."
        )
