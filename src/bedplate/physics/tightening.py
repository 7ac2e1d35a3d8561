"""Torque and preload of a bolt, with each friction on its own diameter.

Friction in the thread and friction under the head are kept apart. No torque is proposed here:
whoever asks brings the maker's figure and learns what clamp it gives.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TypeVar

from bedplate.errors import InputError
from bedplate.physics.checks import (
    Array,
    require_finite,
    require_not_negative,
    require_positive,
)
from bedplate.physics.thread import FLANK_COSINE, Thread

Numbers = TypeVar("Numbers", float, Array)
"""One bolt, or a row of them."""


@dataclass(frozen=True, slots=True)
class TorqueParts:
    """Where a tightening torque goes, N·m.

    :param pitch: into clamp, P/2π
    :param thread: into friction of the thread
    :param head: into friction under the turned head or nut
    """

    pitch: float
    thread: float
    head: float

    @property
    def whole(self) -> float:
        """Torque on the wrench, N·m."""
        return self.pitch + self.thread + self.head


def thread_arm(thread: Thread, friction: Numbers) -> Numbers:
    """Return the torque in the thread for each newton of preload, N·m/N.

    Force on a wedge that climbs by the lead angle φ, with its friction on flanks at 30°:
    T_G/F = d2/2·tan(φ + ρ′) = ½·(P + π·d2·μ′)/(π − μ′·P/d2), μ′ = μ/cos 30°.
    VDI 2230-1 leaves out the small product, P/2π + d2/2·μ′, which gives 0.3 to 1 % less.

    :param thread: of basic size
    :param friction: μ_G in the thread, any shape; not checked here
    :source: ISO 16047:2005, formula for K; VDI 2230-1:2003, equation (R13) for the shorter form
    """
    flank = friction / FLANK_COSINE
    return (
        0.5
        * (thread.pitch + pi * thread.pitch_diameter * flank)
        / (pi - flank * thread.pitch / thread.pitch_diameter)
    )


def bearing_diameter(outer: float, hole: float) -> float:
    """Return the diameter at which friction under the head acts, D_Km = (d_w + d_h)/2, m.

    :param outer: d_w, of the bearing face (the washer face, or the smaller contact), m
    :param hole: d_h, its inner diameter: of the hole, or of its chamfer, m; below `outer`
    :source: ISO 16047:2005; VDI 2230-1:2003, 5.4.2
    """
    require_positive(bearing_diameter=outer, hole_diameter=hole)
    if hole >= outer:
        raise InputError(
            f"A hole of {hole * 1e3:g} mm leaves no bearing face under"
            f" a head of {outer * 1e3:g} mm."
        )
    return (outer + hole) / 2


def torque_parts(
    preload: float,
    thread: Thread,
    thread_friction: float,
    head_friction: float,
    bearing: float,
) -> TorqueParts:
    """Return the torque that gives a preload, and where it goes.

    Tightening, thread running free: a prevailing torque (a locking element, thread adhesive)
    comes on top. T = F·(T_G/F + μ_K·D_Km/2).

    :param preload: F, N; not below 0
    :param thread: of basic size
    :param thread_friction: μ_G; 0 to 1, else refused
    :param head_friction: μ_K under the head or nut that is turned; 0 to 1, else refused
    :param bearing: D_Km, m, from `bearing_diameter`
    :source: ISO 16047:2005; VDI 2230-1:2003, 5.4.2
    """
    require_not_negative(preload=preload)
    require_friction(thread_friction, head_friction)
    require_positive(bearing_diameter=bearing)
    pitch = preload * thread.pitch / (2 * pi)
    return TorqueParts(
        pitch=pitch,
        thread=preload * thread_arm(thread, thread_friction) - pitch,
        head=preload * head_friction * bearing / 2,
    )


def preload(
    torque: float,
    thread: Thread,
    thread_friction: float,
    head_friction: float,
    bearing: float,
) -> float:
    """Return the preload that a torque gives, N.

    :param torque: T on the bolt, N·m; not below 0
    :param thread: of basic size
    :param thread_friction: μ_G; 0 to 1, else refused
    :param head_friction: μ_K; 0 to 1, else refused
    :param bearing: D_Km, m, from `bearing_diameter`
    :returns: linear in torque: a preload past yield is given as if the bolt had held
    :source: as `torque_parts`, solved for F
    """
    require_not_negative(torque=torque)
    return torque / torque_parts(1.0, thread, thread_friction, head_friction, bearing).whole


def nut_factor(
    thread: Thread, thread_friction: float, head_friction: float, bearing: float
) -> float:
    """Return the factor K of T = K·F·d that stands for the same two frictions.

    :param thread: of basic size
    :param thread_friction: μ_G; 0 to 1, else refused
    :param head_friction: μ_K; 0 to 1, else refused
    :param bearing: D_Km, m
    :source: ISO 16047:2005, torque coefficient K; Shigley, Mechanical Engineering Design, 8-8
    """
    return torque_parts(1.0, thread, thread_friction, head_friction, bearing).whole / (
        thread.diameter
    )


def preload_by_factor(torque: float, factor: float, diameter: float) -> float:
    """Return the preload of a torque where only a factor K is known, F = T/(K·d), N.

    :param torque: T, N·m; not below 0
    :param factor: K; above 0
    :param diameter: d of the thread, m
    :source: Shigley, Mechanical Engineering Design, 8-8
    """
    require_not_negative(torque=torque)
    require_positive(nut_factor=factor, thread_diameter=diameter)
    return torque / (factor * diameter)


def clamp_ratio(
    thread: Thread,
    bearing: float,
    specified: tuple[float, float],
    used: tuple[float, float],
) -> float:
    """Return the clamp with another lubricant over the clamp with the one specified.

    Same torque, other friction; 1.67 is two thirds more clamp than meant.

    :param thread: of basic size
    :param bearing: D_Km, m
    :param specified: (μ_G, μ_K) of the lubricant that the torque was given for
    :param used: (μ_G, μ_K) of the one on the bolt
    :source: as `torque_parts`
    """
    meant = torque_parts(1.0, thread, *specified, bearing).whole
    return meant / torque_parts(1.0, thread, *used, bearing).whole


def require_friction(*friction: float) -> None:
    """Refuse a coefficient of friction that is none: below 0, or 1 and more.

    :param friction: each μ
    """
    for value in friction:
        require_finite(coefficient_of_friction=value)
        if not 0 <= value < 1:
            raise InputError(
                f"A coefficient of friction of {value:g} is none.",
                hint="Between 0.06 and 0.25 is usual.",
            )
