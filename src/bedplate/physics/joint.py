"""Bolt and clamped parts as two springs: a turn of the wrench is shared between them."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from bedplate.physics.checks import require_finite, require_not_negative, require_positive


@dataclass(frozen=True, slots=True)
class Joint:
    """Bolt and clamped parts as two springs.

    :param bolt: resilience δ_S, m/N
    :param parts: resilience δ_P of the clamped parts, m/N
    """

    bolt: float
    parts: float

    @property
    def whole(self) -> float:
        """Resilience of both, m/N: how far the nut must travel for each newton."""
        return self.bolt + self.parts

    @property
    def load_factor(self) -> float:
        """Share Φ of a load on the joint that the bolt feels, if it acts under head and nut."""
        return self.parts / self.whole


def nut_travel(angle: float, pitch: float) -> float:
    """Return how far an angle moves the nut along the thread, m, shared by bolt and joint.

    :param angle: rad
    :param pitch: P, m
    :source: lead of a single start, P·φ/2π
    """
    return pitch * angle / (2 * pi)


def angle_preload(angle: float, pitch: float, resilience: float) -> float:
    """Return the preload that an angle adds once the joint is seated, N.

    Elastic, no wind-up of the shank (see `angle_tightening` for both).

    :param angle: from snug, rad; not below 0
    :param pitch: P, m
    :param resilience: of bolt and joint together, m/N
    :source: VDI 2230-1:2003, 5.1: F = P·φ/(2π·(δ_S + δ_P))
    """
    require_not_negative(angle=angle)
    require_positive(pitch=pitch, resilience=resilience)
    return nut_travel(angle, pitch) / resilience


def stretch(preload: float, resilience: float) -> float:
    """Return how much longer a bolt is under a preload, m, over its ends.

    :param preload: N, in the elastic range
    :param resilience: of the bolt alone, m/N
    :source: Hooke's law
    """
    require_finite(preload=preload)
    require_positive(resilience=resilience)
    return preload * resilience


def stretch_preload(longer: float, resilience: float) -> float:
    """Return the preload that a measured stretch stands for, N.

    :param longer: how much longer the bolt is than relaxed, m; not below 0
    :param resilience: of the bolt alone between the points measured on, m/N
    :returns: true in the elastic range only: what has yielded is longer without more clamp
    :source: Hooke's law
    """
    require_not_negative(stretch=longer)
    require_positive(resilience=resilience)
    return longer / resilience
