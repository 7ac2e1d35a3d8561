"""The closed part of a cycle, integrated: a compiled kernel with all that it calls.

Single letters, in SI: t temperature, p pressure, v volume, x burned fraction, c the table of heat
capacities of `gas.THERMAL`, n moles, r throw, l rod, e offset.
"""

from __future__ import annotations

from math import cos, exp, sin, sqrt

import numpy as np

from bedplate.physics._compiled import kernel
from bedplate.physics.checks import Array

_R = 8.314462618
_SWITCH = 1000.0
COLUMNS = ("temperature", "motored temperature", "work", "heat lost")


@kernel
def _energy(c: Array, species: int, t: float) -> tuple[float, float]:
    """Return sensible internal energy, J/mol, and heat capacity at constant volume, J/(mol·K)."""
    a = c[species, 1 if t > _SWITCH else 0]
    heat = a[0] + t * (a[1] + t * (a[2] + t * (a[3] + t * a[4]))) + a[5] / (t * t)
    powers = a[0] + t * (a[1] / 2 + t * (a[2] / 3 + t * (a[3] / 4 + t * a[4] / 5)))
    return _R * (t * powers - a[5] / t + a[6] - t), _R * (heat - 1.0)


@kernel
def _volume(angle: float, geometry: Array) -> tuple[float, float]:
    """Return volume and its slope by angle. geometry: area, r, l, e, clearance, top angle."""
    area, r, l, e = geometry[0], geometry[1], geometry[2], geometry[3]  # noqa: E741 — the rod's letter
    theta = angle + geometry[5]
    side = r * sin(theta) - e
    upright = sqrt(l * l - side * side)
    travel = sqrt((l + r) ** 2 - e * e) - r * cos(theta) - upright
    slope = r * sin(theta) + side * r * cos(theta) / upright
    return geometry[4] + area * travel, area * slope


@kernel
def _burn(angle: float, burn: Array) -> tuple[float, float]:
    """Return Wiebe's burned fraction and its slope inside the burn. burn: start, duration, a, m."""
    y = min(max((angle - burn[0]) / burn[1], 0.0), 1.0)
    power = y ** burn[3]
    left = exp(-burn[2] * power * y)
    return 1.0 - left, burn[2] * (burn[3] + 1.0) * power * left / burn[1]


@kernel
def _woschni(t: float, p: float, v: float, motored: float, walls: Array, area: float) -> float:
    """Return the heat flow to the walls, W.

    walls: scale, bore, mean piston speed, wall temperature, head area over bore area, stiffness of
    the combustion term V_d·T_r/(p_r·V_r), clearance volume.
    """
    if walls[0] == 0.0:
        return 0.0
    speed = 2.28 * walls[2] + 3.24e-3 * walls[5] * max(p - motored, 0.0)
    film = 3.26 * walls[1] ** -0.2 * (p * 1e-3) ** 0.8 * t**-0.55 * speed**0.8
    liner = 4.0 * max(v - walls[6], 0.0) / walls[1]
    flow: float = walls[0] * film * (area * (1.0 + walls[4]) + liner) * (t - walls[3])
    return flow


@kernel
def _slopes(
    angle: float,
    state: Array,
    c: Array,
    n: Array,
    change: Array,
    heat: float,
    geometry: Array,
    burn: Array,
    walls: Array,
    speed: float,
    burning: float,
) -> tuple[float, float, float, float]:
    """Return the slopes by angle of gas temperature, motored temperature, work and heat lost."""
    t, motored_t = state[0], state[1]
    v, dv = _volume(angle, geometry)
    x, dx = _burn(angle, burn)
    dx *= burning
    moles, moles_motored, capacity, capacity_motored, changed = 0.0, 0.0, 0.0, 0.0, 0.0
    for s in range(n.size):
        energy, heat_capacity = _energy(c, s, t)
        _, motored_capacity = _energy(c, s, motored_t)
        amount = n[s] + x * change[s]
        moles += amount
        moles_motored += n[s]
        capacity += amount * heat_capacity
        capacity_motored += n[s] * motored_capacity
        changed += change[s] * energy
    p = moles * _R * t / v
    motored = moles_motored * _R * motored_t / v
    loss = _woschni(t, p, v, motored, walls, geometry[0]) / speed
    motored_loss = _woschni(motored_t, motored, v, motored, walls, geometry[0]) / speed
    warming = ((heat - changed) * dx - loss - p * dv) / capacity
    return warming, (-motored_loss - motored * dv) / capacity_motored, p * dv, loss


@kernel
def integrate(
    nodes: Array,
    start: float,
    c: Array,
    n: Array,
    change: Array,
    heat: float,
    geometry: Array,
    burn: Array,
    walls: Array,
    speed: float,
) -> Array:
    """Return the state at each node: temperature, motored temperature, work, heat lost.

    Classical fourth-order Runge-Kutta from node to node; stops, leaving NaN, where a temperature
    leaves 200 K to 5000 K.
    """
    out = np.full((nodes.size, 4), np.nan)
    state = np.array([start, start, 0.0, 0.0])
    out[0] = state
    shares = (0.0, 0.5, 0.5, 1.0)
    weights = (1.0 / 6.0, 1.0 / 3.0, 1.0 / 3.0, 1.0 / 6.0)
    slope = np.zeros(4)
    for i in range(nodes.size - 1):
        step = nodes[i + 1] - nodes[i]
        middle = nodes[i] + step / 2
        burning = 1.0 if burn[0] < middle < burn[0] + burn[1] else 0.0
        total = np.zeros(4)
        for stage in range(4):
            there = state + shares[stage] * step * slope
            if not (200.0 <= there[0] <= 5000.0 and 200.0 <= there[1] <= 5000.0):
                return out
            at = nodes[i] + shares[stage] * step
            slope[0], slope[1], slope[2], slope[3] = _slopes(
                at, there, c, n, change, heat, geometry, burn, walls, speed, burning
            )
            total += weights[stage] * slope
        state = state + step * total
        out[i + 1] = state
    return out


@kernel
def volumes(nodes: Array, geometry: Array) -> Array:
    """Return the volume at each node, m³."""
    out = np.empty(nodes.size)
    for i in range(nodes.size):
        out[i] = _volume(nodes[i], geometry)[0]
    return out


@kernel
def burned(nodes: Array, burn: Array) -> Array:
    """Return the burned fraction at each node."""
    out = np.empty(nodes.size)
    for i in range(nodes.size):
        out[i] = _burn(nodes[i], burn)[0]
    return out
