"""The short bearing in closed form: Ocvirk's steady bearing, its squeeze and its mobility.

Pressure is a parabola across the width; the film carries on the half turn where it is pressed
(half film, Gümbel's boundary). A wide bearing carries less than this says, the more so the higher
the eccentricity: by a fifth at L/D ½ and ε 0.5.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import atan2, cos, hypot, pi, sin, sqrt

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import Array


@dataclass(frozen=True, slots=True)
class ShortBearing:
    """A short bearing at rest in its load.

    :param sommerfeld: S = μN/P (R/c)², N in 1/s, P load over width times diameter
    :param modified_sommerfeld: S (L/D)²
    :param load: over μω R L (R/c)², no unit
    :param attitude: angle from the load to the line of centres, rad
    :param friction: friction force over load, times R/c; film complete all round
    :param side_flow: over R c N L, no unit; what the wedge presses out of both ends
    """

    sommerfeld: float
    modified_sommerfeld: float
    load: float
    attitude: float
    friction: float
    side_flow: float


def short_steady_bearing(eccentricity: float, width_ratio: float) -> ShortBearing:
    """Return Ocvirk's steady bearing.

    :param eccentricity: over the radial clearance, above 0 and below 1
    :param width_ratio: width over diameter, above 0
    :returns: the bearing, without units
    :raises InputError: outside that range
    Source: G. B. Dubois and F. W. Ocvirk, NACA Report 1157 (1953); Friswell et al., Dynamics of
    Rotating Machines (2010), section 5.5.1; side flow 2πε R c N L by its definition.
    """
    if not 0.0 < eccentricity < 1.0:
        raise InputError("The eccentricity ratio of a loaded bearing lies between 0 and 1.")
    if not width_ratio > 0.0:
        raise InputError("The width over the diameter must be above zero.")
    left = 1.0 - eccentricity**2
    root = sqrt(pi**2 * left + 16.0 * eccentricity**2)
    modified = left**2 / (pi * eccentricity * root)
    sommerfeld = modified / width_ratio**2
    attitude = atan2(pi * sqrt(left), 4.0 * eccentricity)
    friction = 2.0 * pi**2 * sommerfeld / sqrt(left) + eccentricity / 2.0 * sin(attitude)
    # P = W/(2RL), N = ω/2π: W over μωRL(R/c)² is 1/(πS).
    return ShortBearing(
        sommerfeld, modified, 1.0 / (pi * sommerfeld), attitude, friction, 2.0 * pi * eccentricity
    )


def short_mobility(along: float, across: float, width_ratio: float) -> tuple[float, float]:
    """Return the mobility of the short bearing by Booker's fit.

    The journal moves with W(c/R)²/(μLD) times this, over the clearance, seen from the frame that
    turns with the mean speed of journal and shell. Within 3 % of the exact half film on the load
    line and within 8 % off it.

    :param along: component of the eccentricity ratio along the load
    :param across: component across it, a quarter turn ahead of the load
    :param width_ratio: width over diameter
    :returns: mobility along the load and across it
    :raises InputError: outside the clearance circle
    Source: J. F. Booker, J. Basic Eng. 87 (1965) 537 and J. Lubr. Technol. 93 (1971) 168.
    """
    _require_inside(along, across)
    left = 1.0 - along
    scale = 1.0 / (pi * width_ratio**2)
    return scale * left**2.5, -scale * 4.0 / pi * across * left**1.5


def exact_short_mobility(along: float, across: float, width_ratio: float) -> tuple[float, float]:
    """Return the mobility of the short bearing with its half film, by integration.

    :param along: component of the eccentricity ratio along the load
    :param across: component across it
    :param width_ratio: width over diameter
    :returns: mobility along the load and across it
    :raises InputError: outside the clearance circle
    Source: the short-bearing Reynolds equation, p = 6(L/D)²(1 − ζ²)·max(V·n, 0)/h³; Gauss-Legendre
    over the half turn in Sommerfeld's angle, and the direction of V by bisection.
    """
    _require_inside(along, across)
    eccentricity = hypot(along, across)
    load_angle = -atan2(across, along) if eccentricity else 0.0
    low, high = load_angle - pi / 2, load_angle + pi / 2
    for _ in range(60):
        middle = (low + high) / 2
        x, y = _short_load(eccentricity, middle)
        if y * cos(load_angle) > x * sin(load_angle):
            high = middle
        else:
            low = middle
    x, y = _short_load(eccentricity, middle)
    size = 1.0 / (hypot(x, y) * width_ratio**2)
    return size * cos(middle - load_angle), size * sin(middle - load_angle)


def short_squeeze_time(first: float, last: float) -> float:
    """Return how long a steady load without rotation presses the journal straight to the shell.

    Full film all round (2π), which holds while no oil cavitates behind the journal.

    :param first: eccentricity ratio to begin with, 0 to 1
    :param last: eccentricity ratio at the end, first to below 1
    :returns: time over μRL³/(Wc²), no unit; infinite at the wall
    :raises InputError: outside that range
    Source: integral of π(1 + 2ε²)/(1 − ε²)^2.5, which is πε/(1 − ε²)^1.5; J. F. Booker (1965).
    """
    if not 0.0 <= first <= last < 1.0:
        raise InputError("A squeeze goes from an eccentricity ratio of 0 or more to less than 1.")
    ends = [e / sqrt(1.0 - e**2) ** 3 for e in (first, last)]
    return pi * (ends[1] - ends[0])


def speed_factor(load_speed: float, journal_speed: float, shell_speed: float = 0.0) -> float:
    """Return the share of a bearing's wedge that is left when its load turns.

    A load that turns with half the journal's speed finds no wedge at all; one that turns with the
    journal finds the whole.

    :param load_speed: rad/s
    :param journal_speed: rad/s, not 0 with the shell's
    :param shell_speed: rad/s
    :returns: |ωj + ωs − 2ωW|/|ωj + ωs|, no unit
    :raises InputError: if journal and shell turn against each other at one speed
    Source: J. F. Booker (1965); textbooks since, e.g. Hamrock, Fluid Film Lubrication, chapter 13.
    """
    mean = journal_speed + shell_speed
    if mean == 0.0:
        raise InputError("Journal and shell that do not turn on average make no wedge to share.")
    return abs((mean - 2.0 * load_speed) / mean)


def _require_inside(along: float, across: float) -> None:
    if not hypot(along, across) < 1.0:
        raise InputError("The journal must lie inside its clearance.")


def _sommerfeld_angle(theta: float, eccentricity: float) -> float:
    turns = round(theta / (2 * pi))
    half = theta / 2 - turns * pi
    image = atan2(sqrt(1.0 + eccentricity) * sin(half), sqrt(1.0 - eccentricity) * cos(half))
    return 2.0 * (image + turns * pi)


@cache
def _legendre() -> tuple[Array, Array]:
    nodes, weights = np.polynomial.legendre.leggauss(48)
    return nodes, weights


def _short_load(eccentricity: float, direction: float) -> tuple[float, float]:
    """Return the load of unit velocity in a direction over (L/D)²: 2∫(V·n) n/h³ dθ, half film."""
    begin = _sommerfeld_angle(direction - pi / 2, eccentricity)
    end = _sommerfeld_angle(direction + pi / 2, eccentricity)
    nodes, weights = _legendre()
    gamma = (begin + end) / 2 + (end - begin) / 2 * nodes
    share = 1.0 + eccentricity * np.cos(gamma)
    cosine = (np.cos(gamma) + eccentricity) / share
    sine = sqrt(1.0 - eccentricity**2) * np.sin(gamma) / share
    pressed = cosine * cos(direction) + sine * sin(direction)
    # dθ/h³ = share²/(1 − ε²)^2.5 dγ
    weight = (end - begin) * weights * pressed * share**2 / (1.0 - eccentricity**2) ** 2.5
    return float(weight @ cosine), float(weight @ sine)
