"""The Reynolds equation of a journal bearing with Reynolds' boundary, compiled.

Symbols: θ angle from the direction of eccentricity (least film at 0), ζ from the mid plane (0) to
the edge (1), h = 1 − ε cos θ film over radial clearance, p pressure over μΩ(R/c)², V = (x, y)
squeeze velocity of the journal over cΩ, radial and tangential, seen from the frame that turns with
the mean speed of journal and shell; W = (x, y) load over μΩ(R/c)²LD. Then

    −∂θ(h³ ∂θ p) − (D/L)² ∂ζ(h³ ∂ζ p) = 12 (V · n),  p ≥ 0, and p = 0 where the residual is not 0.

p ≥ 0 with its complement is Swift's and Stieber's condition in two dimensions. Cells around nodes;
faces carry 1/∫h⁻³dθ. The set of wet nodes is improved until it stands (Howard's policy iteration,
finite for an M-matrix); each turn is one banded LDLᵀ. Row 0 follows the `cut`, a node row kept at
p = 0. With a load given, each turn solves for unit V in both directions and scales them to W.
"""

from __future__ import annotations

from math import atan2, cos, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from bedplate.physics._compiled import reordered_kernel as kernel

Array = NDArray[np.float64]
Marks = NDArray[np.bool_]
Film = tuple[Array, Array, Array, Array]
Mesh = tuple[Array, Array, Array]
TURNS = 80
"""Turns of the policy iteration after which the solve is given up; 4 to 8 are usual."""


@kernel
def place_nodes(eccentricity: float, theta: Array) -> None:
    """Fill theta with n even angles: half by θ, half by Sommerfeld's angle, dense at least film."""
    n = theta.size
    wide, narrow = sqrt(1.0 + eccentricity), sqrt(1.0 - eccentricity)
    root = wide * narrow
    angle = 0.0
    for k in range(n // 2 + 1):
        wanted = 4.0 * pi * k / n
        for _ in range(60):
            half = 0.5 * angle
            image = 2.0 * atan2(wide * sin(half), narrow * cos(half))
            slope = 1.0 + root / (1.0 - eccentricity * cos(angle))
            step = (wanted - angle - image) / slope
            angle += step
            if abs(step) < 1e-13:
                break
        theta[k] = angle
    theta[0] = 0.0
    theta[n // 2] = pi
    for k in range(n // 2 + 1, n):
        theta[k] = 2.0 * pi - theta[n - k]


@kernel
def film_cells(
    eccentricity: float,
    theta: Array,
    cut: int,
    face: Array,
    cell: Array,
    weight_x: Array,
    weight_y: Array,
) -> None:
    """Fill faces and cells in order from the row after the cut; the last row is the cut itself.

    face is the conductance before each row; cell, weight_x, weight_y are ∫h³, ∫cos θ, ∫sin θ dθ.
    """
    n = theta.size
    before = theta[cut]
    for r in range(n + 1):
        k = (cut + 1 + r) % n
        here = theta[k]
        width = here - before
        if width < 0.0:
            width += 2.0 * pi
        middle = before + 0.5 * width
        a = 1.0 - eccentricity * cos(before)
        b = 1.0 - eccentricity * cos(middle)
        c = 1.0 - eccentricity * cos(here)
        sine, cosine = sin(middle), cos(middle)
        conductance = 6.0 / (width * (1.0 / a**3 + 4.0 / b**3 + 1.0 / c**3))
        # ∫h³ from node to face by Simpson, with h at the quarter by the mean of its neighbours.
        left = width / 12.0 * (a**3 + 4.0 * (0.5 * (a + b)) ** 3 + b**3)
        right = width / 12.0 * (b**3 + 4.0 * (0.5 * (b + c)) ** 3 + c**3)
        if r > 0:
            cell[r - 1] += left
            weight_x[r - 1] += sine
            weight_y[r - 1] -= cosine
        if r < n:
            face[r] = conductance
            cell[r] = right
            weight_x[r] = -sine
            weight_y[r] = cosine
        before = here


@kernel
def wet_rows(
    source: Array, face: Array, cell: Array, ratio: float, wet: Marks, diagonal: Array, p: Array
) -> None:
    """Mark rows that are wet when p is a parabola in ζ: a start for the two-dimensional solve."""
    rows = source.size - 1
    for r in range(rows):
        wet[r] = True
    for _ in range(TURNS):
        for r in range(rows):
            own = 2.0 / 3.0 * (face[r] + face[r + 1]) + 2.0 * ratio * cell[r]
            diagonal[r], p[r] = (own, source[r]) if wet[r] else (1.0, 0.0)
            if r > 0 and wet[r] and wet[r - 1]:
                share = 2.0 / 3.0 * face[r] / diagonal[r - 1]
                diagonal[r] -= share * 2.0 / 3.0 * face[r]
                p[r] += share * p[r - 1]
        for r in range(rows - 1, -1, -1):
            if r < rows - 1 and wet[r] and wet[r + 1]:
                p[r] += 2.0 / 3.0 * face[r + 1] * p[r + 1]
            p[r] /= diagonal[r]
        changed = False
        for r in range(rows):
            if wet[r]:
                stays = p[r] > 0.0
            else:
                near = (face[r] * p[r - 1] if r > 0 else 0.0) + (
                    face[r + 1] * p[r + 1] if r < rows - 1 else 0.0
                )
                stays = source[r] + 2.0 / 3.0 * near > 0.0
            changed = changed or stays != wet[r]
            wet[r] = stays
        if not changed:
            return


@kernel
def fill_band(
    first: int,
    last: int,
    face: Array,
    cell: Array,
    gap: Array,
    share: Array,
    ratio: float,
    wet: Marks,
    band: Array,
) -> None:
    """Fill rows first to last of the upper band of the matrix; dry nodes get a one."""
    m = share.size
    for r in range(first, last + 1):
        for j in range(m):
            k = r * m + j
            for a in range(m + 1):
                band[k, a] = 0.0
            if not wet[k]:
                band[k, 0] = 1.0
                continue
            outer = ratio * cell[r] / gap[j]
            inner = ratio * cell[r] / gap[j - 1] if j > 0 else 0.0
            band[k, 0] = share[j] * (face[r] + face[r + 1]) + outer + inner
            if j < m - 1 and wet[k + 1]:
                band[k, 1] = -outer
            if r < last and wet[k + m]:
                band[k, m] -= share[j] * face[r + 1]


@kernel
def solve_band(band: Array, begin: int, end: int, x: Array, y: Array, both: int) -> None:
    """Solve a symmetric band in place by LDLᵀ, for right sides x and, unless both is 0, y."""
    m = band.shape[1] - 1
    for k in range(begin, end):
        reach = min(m, end - k - 1)
        inverse = 1.0 / band[k, 0]
        for a in range(1, reach + 1):
            if band[k, a] == 0.0:
                continue
            factor = band[k, a] * inverse
            for b in range(a, reach + 1):
                band[k + a, b - a] -= factor * band[k, b]
            x[k + a] -= factor * x[k]
            if both:
                y[k + a] -= factor * y[k]
    for k in range(end - 1, begin - 1, -1):
        reach = min(m, end - k - 1)
        u, v = x[k], y[k]
        for a in range(1, reach + 1):
            u -= band[k, a] * x[k + a]
            if both:
                v -= band[k, a] * y[k + a]
        x[k] = u / band[k, 0]
        if both:
            y[k] = v / band[k, 0]


@kernel
def resultant(
    p: Array, first: int, last: int, weight_x: Array, weight_y: Array, across: Array
) -> tuple[float, float]:
    """Return the load ½∫∫ p n dζ dθ of pressures on rows first to last."""
    m = across.size
    x = y = 0.0
    for r in range(first, last + 1):
        line = 0.0
        for j in range(m):
            line += across[j] * p[r * m + j]
        x += line * weight_x[r]
        y += line * weight_y[r]
    return 0.5 * x, 0.5 * y


@kernel
def renew_wet(
    face: Array,
    cell: Array,
    source: Array,
    gap: Array,
    share: Array,
    ratio: float,
    fixed: Marks,
    p: Array,
    wet: Marks,
) -> int:
    """Dry what sucks, wet what would be pressed; return how many nodes changed."""
    m, rows = share.size, source.size - 1
    changed = 0
    for r in range(rows):
        for j in range(m):
            k = r * m + j
            if wet[k]:
                stays = p[k] > 0.0
            elif fixed[k]:
                continue
            else:
                pressed = share[j] * source[r]
                if r > 0:
                    pressed += share[j] * face[r] * p[k - m]
                if r < rows - 1:
                    pressed += share[j] * face[r + 1] * p[k + m]
                if j > 0:
                    pressed += ratio * cell[r] / gap[j - 1] * p[k - 1]
                if j < m - 1:
                    pressed += ratio * cell[r] / gap[j] * p[k + 1]
                stays = pressed > 1e-13 * share[j] * abs(source[r])
            if stays != wet[k]:
                changed += 1
                wet[k] = stays
    return changed


@kernel
def wet_span(wet: Marks, rows: int, m: int) -> tuple[int, int]:
    """Return the first and the last row with a wet node; (0, −1) where all is dry."""
    first, last = 0, -1
    for r in range(rows):
        for j in range(m):
            if wet[r * m + j]:
                if last < 0:
                    first = r
                last = r
                break
    return first, last


@kernel
def start_wet(wet: Marks, fixed: Marks, rows: Marks, m: int, count: int) -> None:
    """Wet every free node of a wet row and of its neighbours."""
    for r in range(count):
        near = rows[r] or (r > 0 and rows[r - 1]) or (r < count - 1 and rows[r + 1])
        for j in range(m):
            k = r * m + j
            wet[k] = near and not fixed[k]


@kernel
def mark_grooves(theta: Array, cut: int, arcs: Array, fixed: Marks, m: int) -> None:
    """Mark the nodes in grooves; each row of arcs: lines from the mid plane, begin, extent.

    The row nearest a groove's middle is always taken, however narrow the groove.
    """
    n = theta.size
    for g in range(arcs.shape[0]):
        lines, begin, extent = int(arcs[g, 0]), arcs[g, 1], arcs[g, 2]
        middle = nearest_node(theta, begin + 0.5 * extent)
        for r in range(n - 1):
            k = (cut + 1 + r) % n
            if k == middle or (theta[k] - begin + 1e-9) % (2.0 * pi) <= extent + 2e-9:
                for j in range(min(lines, m)):
                    fixed[r * m + j] = True


@kernel
def move_to_ends(theta: Array, arcs: Array) -> None:
    """Move the nodes nearest a groove's ends onto them, unless one node is nearest to both."""
    for g in range(arcs.shape[0]):
        begin, end = arcs[g, 1], arcs[g, 1] + arcs[g, 2]
        first, last = nearest_node(theta, begin), nearest_node(theta, end)
        if first != last:
            theta[first] = round_to(theta[first], begin)
            theta[last] = round_to(theta[last], end)


@kernel
def round_to(near: float, angle: float) -> float:
    """Return the angle, by as many turns off as brings it near another one."""
    return near + (angle - near + pi) % (2.0 * pi) - pi


@kernel
def nearest_node(theta: Array, angle: float) -> int:
    """Return the node nearest an angle."""
    best, found = 10.0, 0
    for k in range(theta.size):
        apart = abs((theta[k] - angle + pi) % (2.0 * pi) - pi)
        if apart < best:
            best, found = apart, k
    return found


@kernel
def set_source(vx: float, vy: float, film: Film, source: Array) -> None:
    """Fill ∫12 V·n dθ of each cell."""
    for r in range(source.size):
        source[r] = 12.0 * (vx * film[2][r] + vy * film[3][r])


@kernel
def one_turn(
    first: int,
    last: int,
    velocity: tuple[float, float],
    load: tuple[float, float],
    load_given: int,
    film: Film,
    mesh: Mesh,
    ratio: float,
    wet: Marks,
    band: Array,
    p: Array,
    side: Array,
) -> tuple[float, float, float, float]:
    """Solve with the wet nodes as they are, for V or for the load; return V and W."""
    face, cell, weight_x, weight_y = film
    gap, share, across = mesh
    m = share.size
    vx, vy = velocity
    fill_band(first, last, face, cell, gap, share, ratio, wet, band)
    p[:] = 0.0
    for r in range(first, last + 1):
        for j in range(m):
            k = r * m + j
            here = 12.0 * share[j] if wet[k] else 0.0
            if load_given:
                p[k], side[k] = here * weight_x[r], here * weight_y[r]
            else:
                p[k] = here * (vx * weight_x[r] + vy * weight_y[r])
    solve_band(band, first * m, (last + 1) * m, p, side, load_given)
    wx, wy = resultant(p, first, last, weight_x, weight_y, across)
    if not load_given:
        return vx, vy, wx, wy
    qx, qy = resultant(side, first, last, weight_x, weight_y, across)
    det = wx * qy - qx * wy
    vx, vy = (load[0] * qy - load[1] * qx) / det, (wx * load[1] - wy * load[0]) / det
    for k in range(first * m, (last + 1) * m):
        p[k] = vx * p[k] + vy * side[k]
    return vx, vy, load[0], load[1]


@kernel
def gather(
    first: int, last: int, film: Film, mesh: Mesh, ratio: float, source: Array, p: Array
) -> tuple[float, float, float, float]:
    """Return peak, axial outflow and inflow from the cut, both over cΩRL, and a check.

    The check is how hard the cut itself is pressed: it should not be, so ≤ 0.
    """
    gap, share, across = mesh
    m, n = share.size, source.size
    peak = leak = inflow = 0.0
    pressed = -1e300
    for r in range(first, last + 1):
        edge = p[r * m + m - 1]
        for j in range(m):
            peak = max(peak, p[r * m + j])
        if edge > 0.0:
            leak += ratio * film[1][r] * edge / gap[m - 1] + 0.5 * gap[m - 1] * source[r]
    for j in range(m):
        from_cut, to_cut = p[j] * film[0][0], p[(n - 2) * m + j] * film[0][n - 1]
        inflow -= across[j] * from_cut
        pressed = max(pressed, source[n - 1] + from_cut + to_cut)
    return peak, leak / 12.0, inflow / 12.0, pressed


@kernel
def solve(
    eccentricity: float,
    ratio: float,
    velocity: tuple[float, float],
    load: tuple[float, float],
    load_given: int,
    cut_angle: float,
    arcs: Array,
    theta: Array,
    mesh: Mesh,
    p: Array,
) -> tuple[float, float, float, float, float, float, float, float, int]:
    """Solve for the pressure p, shape (rows·m,) from the row after the cut.

    ratio is (D/L)²; with a load given, V is only a first guess. mesh: steps and cells in ζ, and
    the weights of ∫dζ; arcs: grooves as in `mark_grooves`. Returns V,
    W, then what `gather` returns, then the turns, negative if the wet nodes did not settle.
    """
    n, m = theta.size, mesh[1].size
    place_nodes(eccentricity, theta)
    move_to_ends(theta, arcs)
    cut = nearest_node(theta, cut_angle)
    film = (np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n))
    film_cells(eccentricity, theta, cut, film[0], film[1], film[2], film[3])
    source, row_wet = np.zeros(n), np.zeros(n, np.bool_)
    set_source(velocity[0], velocity[1], film, source)
    wet_rows(source, film[0], film[1], ratio, row_wet, np.zeros(n), np.zeros(n))
    fixed, wet = np.zeros((n - 1) * m, np.bool_), np.zeros((n - 1) * m, np.bool_)
    mark_grooves(theta, cut, arcs, fixed, m)
    start_wet(wet, fixed, row_wet, m, n - 1)
    band, side = np.empty(((n - 1) * m, m + 1)), np.zeros((n - 1) * m)
    vx, vy, wx, wy = velocity[0], velocity[1], load[0], load[1]
    first, last = wet_span(wet, n - 1, m)
    turns = -TURNS
    for turn in range(1, TURNS + 1):
        vx, vy, wx, wy = one_turn(
            first, last, (vx, vy), load, load_given, film, mesh, ratio, wet, band, p, side
        )
        set_source(vx, vy, film, source)
        if renew_wet(film[0], film[1], source, mesh[0], mesh[1], ratio, fixed, p, wet) == 0:
            turns = turn
            break
        first, last = wet_span(wet, n - 1, m)
    peak, leak, inflow, pressed = gather(first, last, film, mesh, ratio, source, p)
    return vx, vy, wx, wy, peak, leak, inflow, pressed, turns


@kernel
def full_motion(
    x: float,
    y: float,
    u: float,
    v: float,
    spin: float,
    scale: float,
    ratio: float,
    arcs: Array,
    theta: Array,
    mesh: Mesh,
    p: Array,
) -> tuple[float, float]:
    """Return de/dθ of the journal at (x, y) under (u, v), by one solve; arcs in shell angles."""
    size, eccentricity = sqrt(u * u + v * v), sqrt(x * x + y * y)
    if size == 0.0:
        return -spin * y, spin * x
    eccentricity = min(eccentricity, 0.9995)
    turned = atan2(y, x)
    phi = atan2(v, u) - turned
    left = 1.0 - eccentricity * cos(phi)
    along, aside = left**2.5, 4.0 / pi * eccentricity * sin(phi) * left**1.5
    guess = (along * cos(phi) - aside * sin(phi), along * sin(phi) + aside * cos(phi))
    own = arcs.copy()
    own[:, 1] -= turned
    found = solve(
        eccentricity,
        ratio,
        guess,
        (cos(phi), sin(phi)),
        1,
        atan2(guess[1], guess[0]) + pi,
        own,
        theta,
        mesh,
        p,
    )
    radial, tangential = scale * size * found[0], scale * size * found[1]
    cosine, sine = cos(turned), sin(turned)
    return (
        radial * cosine - tangential * sine - spin * y,
        radial * sine + tangential * cosine + spin * x,
    )


@kernel
def full_orbit(
    load: Array,
    spin: Array,
    step: float,
    scale: float,
    ratio: float,
    arcs: Array,
    theta: Array,
    mesh: Mesh,
    laps: int,
    path: Array,
) -> float:
    """Follow the journal for some laps by Runge and Kutta's fourth order, a solve at every stage.

    Each step is cut so that no part moves the journal by more than a quarter of the film left.
    Returns the greatest change from the lap before over the film left; path is as in the maps.
    """
    n, h, worst = load.shape[0], 0.0, 1e9
    p = np.zeros((theta.size - 1) * mesh[1].size)
    x, y = path[0, 0], path[0, 1]
    for _ in range(laps):
        worst = 0.0
        for k in range(n):
            after, done = (k + 1) % n, 0.0
            du, dv = load[after, 0] - load[k, 0], load[after, 1] - load[k, 1]
            dw = spin[after] - spin[k]
            while done < 1.0 - 1e-12:
                kx = ky = sx = sy = 0.0
                for stage in range(4):
                    part = 0.0 if stage == 0 else 1.0 if stage == 3 else 0.5
                    a = done + part * h
                    kx, ky = full_motion(
                        x + part * h * step * kx,
                        y + part * h * step * ky,
                        load[k, 0] + a * du,
                        load[k, 1] + a * dv,
                        spin[k] + a * dw,
                        scale,
                        ratio,
                        arcs,
                        theta,
                        mesh,
                        p,
                    )
                    if stage == 0:
                        left = 1.0 - sqrt(x * x + y * y)
                        rate = sqrt(kx * kx + ky * ky) * step
                        h = min(1.0 - done, 0.25 * left / max(rate, 1e-300))
                    weight = 1.0 if stage in {0, 3} else 2.0
                    sx, sy = sx + weight * kx, sy + weight * ky
                x, y, done = x + h * step * sx / 6.0, y + h * step * sy / 6.0, done + h
                size = sqrt(x * x + y * y)
                if size > 0.9995:
                    x, y = x * 0.9995 / size, y * 0.9995 / size
            moved = sqrt((x - path[after, 0]) ** 2 + (y - path[after, 1]) ** 2)
            worst = max(worst, moved / (1.0 - sqrt(x * x + y * y)))
            path[after, 0], path[after, 1] = x, y
    return worst
