"""The journal's orbit by mobility maps, compiled with all that it calls.

Symbols: e = (x, y) eccentricity over the radial clearance in the shell's frame; W = (u, v) load in
N; λ = (c/R)²/(μLDω) turns it into motion per rad of crank; σ = ω̄/ω, ω̄ half the journal's speed in
the shell. Then de/dθ = λ|W| M(e, W/|W|) + σ ẑ×e. A map is a table of cubic B-spline coefficients
over ln(1 − ε) (rows) and the load angle s (columns), two quantities deep; of a half-grooved shell
over the place of its groove's end too (layers). ξ, η: e along and across the load. Three stages of
order 3 with an error of order 2 (Bogacki and Shampine, Appl. Math. Lett. 2 (1989) 321), the last
stage the first of the next step; the load is straight between its nodes.
"""

from __future__ import annotations

from math import atan2, exp, log, log10, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from bedplate.physics._compiled import kernel

Array = NDArray[np.float64]
Marks = NDArray[np.bool_]
Shell = tuple[Array, Array, float, float, int]
"""Map of a plain shell or of lands; map of a half-grooved one, empty where it is none; cosine and
sine of where the groove begins; 1 for Booker's fit of the short bearing."""
Bearing = tuple[float, float, float, float, float, float, float, float, float]
THINNEST = 1e-3
"""Least film over clearance that the maps hold; below it the film has broken down."""
_LN_THINNEST = -6.907755278982137
_TOLERANCE = 3e-4
_SETTLED = 3e-4
"""Step error, and change from lap to lap, both over the film that is left."""
_SAME = 12
"""Nodes in a row that a closed orbit must meet again."""
_LONGEST = 0.12
"""rad: a step sees no more of the load than this."""


@kernel
def spline(row: float, column: float, table: Array) -> tuple[float, float]:
    """Return the two quantities of a table at a place between its nodes."""
    i = min(max(int(row), 0), table.shape[0] - 4)
    j = min(max(int(column + 1.0), 0), table.shape[1] - 4)
    t, q = row - i, column + 1.0 - j
    r, z = 1.0 - t, 1.0 - q
    a0, a1, a2, a3 = (
        r * r * r,
        3.0 * t * t * t - 6.0 * t * t + 4.0,
        3.0 * r * r * r - 6.0 * r * r + 4.0,
        t * t * t,
    )
    b0, b1, b2, b3 = (
        z * z * z,
        3.0 * q * q * q - 6.0 * q * q + 4.0,
        3.0 * z * z * z - 6.0 * z * z + 4.0,
        q * q * q,
    )
    first = second = 0.0
    for k in range(4):
        a = a0 if k == 0 else a1 if k == 1 else a2 if k == 2 else a3
        line = table[i + k]
        first += a * (
            b0 * line[j, 0] + b1 * line[j + 1, 0] + b2 * line[j + 2, 0] + b3 * line[j + 3, 0]
        )
        second += a * (
            b0 * line[j, 1] + b1 * line[j + 1, 1] + b2 * line[j + 2, 1] + b3 * line[j + 3, 1]
        )
    return first / 36.0, second / 36.0


@kernel
def arc(aside: float, ahead: float) -> float:
    """Return the angle of a direction in the upper half plane, 0 to π, to 1e-7.

    A fit of ours to atan z/z at Chebyshev's nodes; it takes half the time of the library's.
    """
    away = abs(ahead)
    z = min(aside, away) / max(aside, away, 1e-300)
    w = z * z
    turn = z * (
        (0.9999998978 - 0.3333195972 * w)
        + w * w * ((0.1996923539 - 0.1401658504 * w)
        + w * w * ((0.09906096896 - 0.05936710079 * w)
        + w * w * (0.02416618952 - 0.004668773307 * w)))
    )  # fmt: skip
    if aside > away:
        turn = 0.5 * pi - turn
    return turn if ahead >= 0.0 else pi - turn


@kernel
def place_in_map(along: float, across: float, table: Array) -> tuple[float, float]:
    """Return the row and column of an eccentricity along and across the load."""
    size = min(sqrt(along * along + across * across), 1.0 - 1e-4)
    aside, ahead = abs(across), size + along
    wide, narrow = sqrt(1.0 + size), sqrt(1.0 - size)
    # Mean of the load angle φ and Sommerfeld's: atan t + atan kt with t = tan φ/2.
    # Both parts over size + along, so that a load straight away from the film is π, not 0/0.
    angle = arc(aside * (wide + narrow), ahead * narrow - (size - along) * wide)
    rows, columns = table.shape[0] - 3, table.shape[1] - 4
    return log(1.0 - size) / _LN_THINNEST * rows, angle / pi * columns - 0.5


@kernel
def map_mobility(along: float, across: float, table: Array) -> tuple[float, float]:
    """Return the mobility along and across the load, times (L/D)²."""
    row, column = place_in_map(along, across, table)
    first, second = spline(row, column, table)
    left = max(1.0 - along, 1e-4)
    return exp(first) * left * sqrt(left), -exp(second) * across * left


@kernel
def cubes(part: float) -> tuple[float, float, float, float]:
    """Return six times the cubic B-splines of four nodes, a part of a step past the second."""
    r = 1.0 - part
    return (
        r * r * r,
        (3.0 * part - 6.0) * part * part + 4.0,
        (3.0 * r - 6.0) * r * r + 4.0,
        part * part * part,
    )


@kernel
def deep_spline(place: tuple[float, float, float], table: Array) -> tuple[float, float]:
    """Return the two quantities of a half-grooved shell at a place between its nodes, as stored."""
    i = min(max(int(place[0]), 0), table.shape[0] - 4)
    j = min(max(int(place[1]), 0), table.shape[1] - 4)
    k = min(max(int(place[2]), 0), table.shape[2] - 4)
    a, b, c = cubes(place[0] - i), cubes(place[1] - j), cubes(place[2] - k)
    first = second = 0.0
    for p in range(4):
        for q in range(4):
            line = table[i + p, j + q]
            weight = a[p] * b[q]
            first += weight * (
                c[0] * line[k, 0] + c[1] * line[k + 1, 0]
                + c[2] * line[k + 2, 0] + c[3] * line[k + 3, 0]
            )  # fmt: skip
            second += weight * (
                c[0] * line[k, 1] + c[1] * line[k + 1, 1]
                + c[2] * line[k + 2, 1] + c[3] * line[k + 3, 1]
            )  # fmt: skip
    return first / 216.0, second / 216.0


@kernel
def mean_angle(cosine: float, sine: float, wide: float, narrow: float) -> float:
    """Return the mean of an angle and of Sommerfeld's; cosine and sine times anything above 0.

    The sum of atan t and atan kt, t = tan φ/2; wide² = 1 + ε, narrow² = 1 − ε.
    """
    size = sqrt(cosine * cosine + sine * sine)
    angle = arc(abs(sine) * (wide + narrow), (size + cosine) * narrow - (size - cosine) * wide)
    return angle if sine >= 0.0 else -angle


@kernel
def place_in_deep(
    x: float, y: float, cosine: float, sine: float, shell: Shell
) -> tuple[float, float, float, float]:
    """Return row, column and layer of a place under a load in a direction, and ±1.

    −1 where the mirror image is meant: there mobility across the load changes its sign.
    """
    table, begin_x, begin_y = shell[1], shell[2], shell[3]
    size = min(sqrt(x * x + y * y), 1.0 - 1e-4)
    if size < 1e-9:
        # Any direction will do where there is none.
        x, y = cosine, sine
    load_x, load_y = x * cosine + y * sine, x * sine - y * cosine
    groove_x, groove_y = x * begin_x + y * begin_y, x * begin_y - y * begin_x
    mirror = 1.0
    if groove_x < 0.0:
        groove_x, load_y, mirror = -groove_x, -load_y, -1.0
    wide, narrow = sqrt(1.0 + size), sqrt(1.0 - size)
    load_angle = mean_angle(load_x, load_y, wide, narrow)
    groove_angle = mean_angle(groove_x, groove_y, wide, narrow)
    quarter = arc(wide + narrow, narrow - wide)
    rows, columns, layers = table.shape[0] - 3, table.shape[1] - 3, table.shape[2] - 3
    column = (load_angle / pi + 1.0) * 0.5 * columns - 0.5
    return (
        log(1.0 - size) / _LN_THINNEST * rows,
        column if column >= 0.0 else column + columns,
        (groove_angle / quarter + 1.0) * 0.5 * layers,
        mirror,
    )


@kernel
def from_deep(
    xi: float, row: float, column: float, layer: float, mirror: float, shell: Shell
) -> tuple[float, float]:
    """Return the mobility of a half-grooved shell along and across the load, times (L/D)²."""
    first, second = deep_spline((row, column, layer), shell[1])
    left = max(1.0 - xi, 1e-4)
    along = exp(first) * left * sqrt(left)
    return along, mirror * second * along


@kernel
def short_motion(along: float, across: float) -> tuple[float, float]:
    """Return Booker's fit of the short bearing's mobility, times (L/D)²."""
    left = max(1.0 - along, 1e-4)
    root = left * sqrt(left)
    return root * left / pi, -4.0 / (pi * pi) * across * root


@kernel
def motion(
    x: float, y: float, u: float, v: float, spin: float, rate: float, shell: Shell
) -> tuple[float, float]:
    """Return de/dθ under the load (u, v); rate is λ/(L/D)² of the shell, or of its lands."""
    size = sqrt(u * u + v * v)
    if size == 0.0:
        return -spin * y, spin * x
    cosine, sine = u / size, v / size
    if shell[1].shape[0]:
        row, column, layer, mirror = place_in_deep(x, y, cosine, sine, shell)
        p, q = from_deep(x * cosine + y * sine, row, column, layer, mirror, shell)
    else:
        along, across = x * cosine + y * sine, y * cosine - x * sine
        p, q = short_motion(along, across) if shell[4] else map_mobility(along, across, shell[0])
    p, q = rate * size * p, rate * size * q
    return p * cosine - q * sine - spin * y, p * sine + q * cosine + spin * x


@kernel
def forces(load: Array, spin: Array, place: float) -> tuple[float, float, float]:
    """Return (u, v, σ) at a place between nodes, 0 to 2n, straight between them."""
    n = spin.size
    whole = int(place)
    part = place - whole
    k = whole if whole < n else whole - n
    after = k + 1 if k + 1 < n else 0
    return (
        load[k, 0] + part * (load[after, 0] - load[k, 0]),
        load[k, 1] + part * (load[after, 1] - load[k, 1]),
        spin[k] + part * (spin[after] - spin[k]),
    )


@kernel
def one_step(
    x: float,
    y: float,
    kx: float,
    ky: float,
    place: float,
    h: float,
    load: Array,
    spin: Array,
    step: float,
    rate: float,
    shell: Shell,
) -> tuple[float, float, float, float, float, float]:
    """Try a step of h nodes; return e and de/dθ at its end, the film left, and the error over it.

    The error is over what is tolerated: the step stands if it is not above 1.
    """
    d = h * step
    u, v, w = forces(load, spin, place + 0.5 * h)
    px, py = motion(x + 0.5 * d * kx, y + 0.5 * d * ky, u, v, w, rate, shell)
    u, v, w = forces(load, spin, place + 0.75 * h)
    qx, qy = motion(x + 0.75 * d * px, y + 0.75 * d * py, u, v, w, rate, shell)
    nx = x + d * (2.0 * kx + 3.0 * px + 4.0 * qx) / 9.0
    ny = y + d * (2.0 * ky + 3.0 * py + 4.0 * qy) / 9.0
    u, v, w = forces(load, spin, place + h)
    sx, sy = motion(nx, ny, u, v, w, rate, shell)
    ex = d * (-5.0 * kx + 6.0 * px + 8.0 * qx - 9.0 * sx) / 72.0
    ey = d * (-5.0 * ky + 6.0 * py + 8.0 * qy - 9.0 * sy) / 72.0
    left = 1.0 - sqrt(nx * nx + ny * ny)
    return nx, ny, sx, sy, left, sqrt(ex * ex + ey * ey) / (_TOLERANCE * max(left, 0.2 * THINNEST))


@kernel
def write_nodes(
    begin: tuple[float, float, float, float],
    end: tuple[float, float, float, float],
    place: float,
    h: float,
    step: float,
    known: int,
    since: int,
    path: Array,
    broken: Marks,
    changes: Array,
) -> tuple[float, int]:
    """Write the nodes that a step passed, by the cubic through its ends; return what is missing.

    What is missing to a closed orbit is the change from the lap before over the film left, summed
    as the geometric row that it makes with the change a lap earlier. Returns the last of them, and
    for how many nodes it has been small. Below the first that is known there is no lap before.
    """
    n, missing = path.shape[0], 1e9
    d, inverse = h * step, 1.0 / h
    for node in range(int(place) + 1, int(place + h) + 1):
        t = (node - place) * inverse
        r = 1.0 - t
        a, b, c, e = r * r * (1.0 + 2.0 * t), t * r * r * d, t * t * (3.0 - 2.0 * t), -t * t * r * d
        x = a * begin[0] + b * begin[2] + c * end[0] + e * end[2]
        y = a * begin[1] + b * begin[3] + c * end[1] + e * end[3]
        k = node if node < n else node - n
        square = x * x + y * y
        if node < known:
            changes[k] = 1e9
        else:
            left = 1.0 - sqrt(square)
            moved = sqrt((x - path[k, 0]) ** 2 + (y - path[k, 1]) ** 2)
            change = moved / max(left, THINNEST)
            missing = change / (1.0 - min(change / changes[k], 0.999))
            changes[k] = max(change, 1e-12)
            since = since + 1 if missing <= _SETTLED else 0
        path[k, 0], path[k, 1], broken[k] = x, y, square > (1.0 - THINNEST) ** 2
    return missing, since


@kernel
def jump_ahead(starts: Array) -> tuple[float, float]:
    """Return where four starts of laps in a row lead, if one matrix takes each to the next.

    Returns the last of them where they tell of no such place inside the clearance. A lightly
    loaded journal whirls for a hundred laps; this spares them.
    """
    ax, ay = starts[1, 0] - starts[0, 0], starts[1, 1] - starts[0, 1]
    bx, by = starts[2, 0] - starts[1, 0], starts[2, 1] - starts[1, 1]
    cx, cy = starts[3, 0] - starts[2, 0], starts[3, 1] - starts[2, 1]
    det = ax * by - bx * ay
    if abs(det) > 1e-4 * (ax * ax + ay * ay):
        # J (a b) = (b c)
        j00, j01 = (bx * by - cx * ay) / det, (cx * ax - bx * bx) / det
        j10, j11 = (by * by - cy * ay) / det, (cy * ax - by * bx) / det
    else:
        # All but one way: the same share of each change is left.
        share = (bx * cx + by * cy) / max(bx * bx + by * by, 1e-300)
        j00, j01, j10, j11 = share, 0.0, 0.0, share
    free = (1.0 - j00) * (1.0 - j11) - j01 * j10
    if abs(free) < 1e-9:
        return starts[3, 0], starts[3, 1]
    # Σ J^k c from k = 1 on: (I − J)⁻¹ c − c.
    sx = ((1.0 - j11) * cx + j01 * cy) / free - cx
    sy = (j10 * cx + (1.0 - j00) * cy) / free - cy
    x, y = starts[3, 0] + sx, starts[3, 1] + sy
    if x * x + y * y < 0.98:
        return x, y
    return starts[3, 0], starts[3, 1]


@kernel
def orbit(
    load: Array,
    spin: Array,
    step: float,
    rate: float,
    shell: Shell,
    most_laps: int,
    path: Array,
    broken: Marks,
) -> tuple[float, float]:
    """Follow the journal until its orbit closes; path, shape (n, 2), begins where the last ended.

    Returns laps gone, and what is missing to a closed orbit over the film left: above the settled
    one if the orbit did not close.
    """
    n = load.shape[0]
    x, y = path[0, 0], path[0, 1]
    place, h, missing, since, laps, known = 0.0, 1.0, 1e9, 0, 0, n + 1
    starts, changes = np.zeros((4, 2)), np.full(n, 1e9)
    kx, ky = motion(x, y, load[0, 0], load[0, 1], spin[0], rate, shell)
    while laps < most_laps:
        nx, ny, sx, sy, left, error = one_step(
            x, y, kx, ky, place, h, load, spin, step, rate, shell
        )
        stands = left > 0.0 and error <= 1.0
        if not stands and h > 1e-5:
            h *= 0.25 if left <= 0.0 else max(0.2, 0.9 / error ** (1.0 / 3.0))
            continue
        again = not stands or left < THINNEST
        if again:
            # Carry on from the thinnest film that is known; the nodes on the way are marked.
            back = (1.0 - 1.2 * THINNEST) / sqrt(nx * nx + ny * ny)
            broken[int(place) % n] = broken[int(place + 1.0) % n] = True
            place, since, h = float(int(place) + 1), 0, 1.0
            x, y = nx * back, ny * back
            path[int(place) % n, 0], path[int(place) % n, 1] = x, y
        else:
            if int(place + h) > int(place):
                missing, since = write_nodes(
                    (x, y, kx, ky), (nx, ny, sx, sy), place, h, step, known, since,
                    path, broken, changes,
                )  # fmt: skip
            place += h
            x, y, kx, ky = nx, ny, sx, sy
            if since >= _SAME:
                return laps + place / n, missing
            grown = 4.0 if error < 0.011 else 0.9 / error ** (1.0 / 3.0)
            h = min(h * grown, _LONGEST / step)
        if place >= n:
            place, laps, known = place - n, laps + 1, 0
            starts[(laps - 1) % 4] = path[0]
            if laps % 4 == 0:
                x, y = jump_ahead(starts)
                place, again, changes[:], path[0, 0], path[0, 1] = 0.0, True, 1e9, x, y
        if again:
            u, v, w = forces(load, spin, place)
            kx, ky = motion(x, y, u, v, w, rate, shell)
    return float(most_laps), missing


@kernel
def film_at(
    x: float, y: float, cosine: float, sine: float, land_share: float, shell: Shell, more: Shell
) -> tuple[float, float, float, float]:
    """Return mobility along and across the load, times (L/D)², peak pressure and flow.

    The peak over the load's pressure, the flow out of both ends over R L and the velocity. shell
    and more hold the mobility and these two. land_share: lands over width, 1 without groove.
    """
    if shell[1].shape[0]:
        row, column, layer, mirror = place_in_deep(x, y, cosine, sine, shell)
        p, q = from_deep(x * cosine + y * sine, row, column, layer, mirror, shell)
        peak, flow = deep_spline((row, column, layer), more[1])
        return p, q, exp(peak), exp(flow)
    along, across = x * cosine + y * sine, y * cosine - x * sine
    row, column = place_in_map(along, across, shell[0])
    p, q = short_motion(along, across) if shell[4] else map_mobility(along, across, shell[0])
    peak, flow = spline(row, column, more[0])
    # Of what the lands press out, half goes back into the groove.
    out = 1.0 if land_share == 1.0 else 0.5 * land_share
    return p, q, exp(peak) / land_share, out * exp(flow)


@kernel
def orbit_figures(
    path: Array,
    load: Array,
    spin: Array,
    rate: float,
    shell: Shell,
    more: Shell,
    land_share: float,
    figures: Array,
) -> None:
    """Fill, for each node: film, peak pressure over load, flow, shear and squeeze.

    Columns: least film over c; peak pressure times LD over load; side flow over cωRL; 1/√(1 − ε²)
    times (2σ)²; and W·de/dθ without the turning of the frame, in N.
    """
    for k in range(path.shape[0]):
        x, y, u, v = path[k, 0], path[k, 1], load[k, 0], load[k, 1]
        square = x * x + y * y
        size = sqrt(u * u + v * v)
        figures[k, 0] = 1.0 - sqrt(square)
        figures[k, 1] = figures[k, 2] = figures[k, 4] = 0.0
        figures[k, 3] = (2.0 * spin[k]) ** 2 / sqrt(1.0 - square)
        if size == 0.0:
            continue
        along, across, peak, flow = film_at(x, y, u / size, v / size, land_share, shell, more)
        figures[k, 1] = peak
        figures[k, 2] = flow * rate * size * sqrt(along * along + across * across)
        figures[k, 4] = rate * size * size * along


SETTLED, BROKEN, OPEN, UNBALANCED, BEYOND_OIL, CLOSED = 0, 1, 2, 3, 4, 5
_HEAT_TURNS, _BROKEN_TURNS = 25, 5
"""Turns until the heat is given up, and until a film that breaks down is not looked at again."""


@kernel
def oil_at(
    temperature: float, shear_rate: float, liquid: tuple[float, float, float, float, float]
) -> tuple[float, float]:
    """Return dynamic viscosity and heat capacity per volume; liquid: A, B, ρ15, ratio, test stress.

    The same as `oil.dynamic_viscosity`, `oil.density` and `oil.specific_heat`.
    """
    kinematic = (10.0 ** (10.0 ** (liquid[0] - liquid[1] * log10(temperature))) - 0.7) * 1e-6
    swell = 0.6278 / liquid[2] * (temperature - 288.15)
    dense = liquid[2] * exp(-swell * (1.0 + 0.8 * swell))
    low = kinematic * dense
    heat = 4186.8 * (0.403 + 0.00081 * (temperature - 273.15)) / sqrt(liquid[2] / 999.0)
    reduced = min(low * shear_rate / liquid[4], 1.0)
    return low / (1.0 + (1.0 / liquid[3] - 1.0) * reduced), dense * heat


@kernel
def arc_of_cubes(eccentricity: float, begin: float, end: float) -> float:
    """Return ∫(1 − ε cos t)³dt, t from the direction of eccentricity."""
    total = 0.0
    for sign in (-1.0, 1.0):
        t = begin if sign < 0.0 else end
        s = sin(t)
        total += sign * (
            t
            - 3.0 * eccentricity * s
            + 3.0 * eccentricity**2 * (0.5 * t + 0.25 * sin(2.0 * t))
            - eccentricity**3 * (s - s**3 / 3.0)
        )
    return total


@kernel
def feed_shape(path: Array, groove: tuple[float, float]) -> tuple[float, float, float]:
    """Return cycle means of ∫(h/c)³dθ over the groove, of 1 + 1.5ε², and of 1/√(1 − ε²)."""
    n = path.shape[0]
    arc = whole = shear = 0.0
    for k in range(n):
        square = path[k, 0] ** 2 + path[k, 1] ** 2
        whole += 1.0 + 1.5 * square
        shear += 1.0 / sqrt(1.0 - min(square, 1.0 - 1e-6))
        if groove[1] > 0.0:
            middle = groove[0] - atan2(path[k, 1], path[k, 0])
            arc += arc_of_cubes(sqrt(square), middle - groove[1], middle + groove[1])
    return arc / n, whole / n, shear / n


@kernel
def heat_turn(
    path: Array,
    load: Array,
    spin: Array,
    viscosity: float,
    clearance: float,
    bearing: Bearing,
    rate: float,
    shell: Shell,
    more: Shell,
    figures: Array,
) -> tuple[float, float, float]:
    """Return mean power loss, mean flow out, and the mean shear factor 1/√(1 − ε²)."""
    crank, diameter, width, lands, feed, hole = (
        bearing[0], bearing[1], bearing[2], bearing[3], bearing[4], bearing[5],
    )  # fmt: skip
    groove = (bearing[6], bearing[7])
    orbit_figures(path, load, spin, rate, shell, more, lands, figures)
    arc, whole, shear = feed_shape(path, groove)
    radius, gap = 0.5 * diameter, 0.5 * clearance
    rubbed = figures[:, 3].mean() * crank**2 * 2.0 * pi * viscosity * radius**3 * width / gap
    pressed = figures[:, 4].mean() * gap * crank
    flow = figures[:, 2].mean() * gap * crank * radius * width
    if groove[1] > 0.0:
        flow += 2.0 * feed * gap**3 * radius * arc / (12.0 * viscosity * 0.5 * lands * width)
    if hole > 0.0:
        flow += pi * gap**3 * whole * feed / (6.0 * viscosity * log(4.0 * width / (pi * hole)))
    return rubbed + pressed, flow, shear


@kernel
def rate_of(clearance: float, viscosity: float, bearing: Bearing, half: int) -> float:
    """Return λ/(L/D)² of the shell: of the whole width, or of two lands grooved all round."""
    diameter, width = bearing[1], bearing[2]
    squeeze = (clearance / diameter) ** 2 / (viscosity * bearing[0])
    if half:
        return squeeze * diameter / width**3
    return squeeze * diameter * (1.0 if bearing[3] == 1.0 else 4.0) / (width * bearing[3]) ** 3


@kernel
def best_and_worst(
    path: Array, load: Array, figures: Array, bearing: Bearing, clearance: float, result: Array
) -> None:
    """Fill least film, its step and shell angle, peak pressure and its step."""
    least, most, peak = 0, 0, 0.0
    for k in range(path.shape[0]):
        if figures[k, 0] < figures[least, 0]:
            least = k
        pressure = figures[k, 1] * sqrt(load[k, 0] ** 2 + load[k, 1] ** 2)
        if pressure > peak:
            most, peak = k, pressure
    result[1], result[2] = 0.5 * clearance * figures[least, 0], least
    result[3] = atan2(path[least, 1], path[least, 0])
    result[4], result[5] = peak / (bearing[1] * bearing[2]), most


@kernel
def film_case(
    load: Array,
    spin: Array,
    step: float,
    case: tuple[float, float, float],
    bearing: Bearing,
    growth: tuple[float, float, float],
    liquid: tuple[float, float, float, float, float],
    reach: tuple[float, float],
    shell: Shell,
    more: Shell,
    first_rise: float,
    path: Array,
    figures: Array,
    result: Array,
) -> None:
    """Balance the heat of one bearing and fill its result.

    case: cold diametral clearance, factor on viscosity, supply temperature. growth: what the
    clearance gains, then per K of supply and per K of film above 20 °C.
    bearing: ω, D, B, lands over width, feed pressure, hole, groove middle and half extent, heat
    share that leaves with the oil. Result: state, least film, its step, its shell angle, peak
    pressure, its step, flow, power, film temperature, hot clearance, viscosity, laps; then what was
    reached: change of the last lap over the film left, K missing to the balance.
    """
    broken = np.zeros(load.shape[0], np.bool_)
    supply, half = case[2], int(shell[1].shape[0] > 0)
    temperature, shear, laps = supply + first_rise, 1.3, 0.0
    mean_spin = np.abs(spin).mean()
    state = UNBALANCED
    result[:] = np.nan
    viscosity = clearance = power = flow = 0.0
    change = missing = np.nan
    at_end = False
    for turn in range(_HEAT_TURNS):
        inside = reach[0] <= temperature <= reach[1]
        if at_end and not inside:
            # A film that is broken already is so in hotter oil too.
            state = BROKEN if broken.any() and temperature > reach[1] else BEYOND_OIL
            break
        at_end = not inside
        temperature = min(max(temperature, reach[0]), reach[1])
        clearance = case[0] + growth[0] + growth[1] * (supply - 293.15)
        clearance += growth[2] * (temperature - 293.15)
        if clearance <= 0.0:
            state = CLOSED
            break
        sheared = 2.0 * mean_spin * bearing[0] * bearing[1] / clearance * shear
        thin, capacity = oil_at(temperature, sheared, liquid)
        viscosity = case[1] * thin
        rate = rate_of(clearance, viscosity, bearing, half)
        begun, change = orbit(load, spin, step, rate, shell, 9, path, broken)
        laps += begun
        power, flow, shear = heat_turn(
            path, load, spin, viscosity, clearance, bearing, rate, shell, more, figures
        )
        rise = 0.5 * bearing[8] * power / (capacity * max(flow, 1e-12))
        warmer, _ = oil_at(temperature + 1.0, sheared, liquid)
        fall = min(log(warmer / thin), 0.0)
        missing = (supply + rise - temperature) / (1.0 - rise * fall)
        if abs(missing) < 0.05:
            state = BROKEN if broken.any() else SETTLED if change <= 1e-3 else OPEN
            if state != OPEN:
                break
        else:
            state = UNBALANCED
        if turn >= _BROKEN_TURNS and broken.any():
            state = BROKEN
            break
        temperature += min(max(missing, -30.0), 30.0)
    result[0], result[8], result[9], result[11] = state, temperature, clearance, laps
    result[12], result[13] = change, missing
    if state == SETTLED:
        best_and_worst(path, load, figures, bearing, clearance, result)
        result[6], result[7], result[10] = flow, power, viscosity


@kernel
def film_cases(
    load: Array,
    pressed: Array,
    spin: Array,
    step: float,
    cases: Array,
    bearing: Bearing,
    growth: tuple[float, float, float],
    liquid: tuple[float, float, float, float, float],
    reach: tuple[float, float],
    shell: Shell,
    more: Shell,
    first_rise: float,
    begin: Array,
    results: Array,
) -> None:
    """Fill a result for each case: cold clearance, viscosity factor, supply, pressure factor.

    load is the part that does not follow the pressure, pressed the part that does; begin is the
    path of a case like these, to start from.
    """
    n = load.shape[0]
    path, figures, own = np.empty((n, 2)), np.empty((n, 5)), np.empty((n, 2))
    for k in range(cases.shape[0]):
        path[:] = begin
        for i in range(n):
            own[i, 0] = load[i, 0] + cases[k, 3] * pressed[i, 0]
            own[i, 1] = load[i, 1] + cases[k, 3] * pressed[i, 1]
        film_case(
            own, spin, step, (cases[k, 0], cases[k, 1], cases[k, 2]), bearing, growth, liquid,
            reach, shell, more, first_rise, path, figures, results[k],
        )  # fmt: skip
