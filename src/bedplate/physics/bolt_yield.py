"""Angle tightening with wind-up and yield: where the angle ends on the bolt's own curve.

The model, in four statements.
The nut's travel is shared by bolt and joint as springs, until a section of the bolt yields.
Steel hardens after Ramberg and Osgood: plastic strain 0.002·(σ/R_p0.2)ⁿ, n so that it reaches
the uniform strain at R_m. Tension and torsion stay in the ratio of the thread's friction and
yield together (von Mises; deformation theory), which takes clamp and adds lasting twist.
Head, engaged thread and clamped parts stay elastic; the shank winds up under the thread's torque.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, pi, sqrt

import numpy as np
from numpy.typing import ArrayLike

from bedplate.errors import InputError
from bedplate.physics.bolt import torsion_ratio
from bedplate.physics.bolt_resilience import Section, twist_resilience
from bedplate.physics.checks import Array, require_not_negative, require_positive
from bedplate.physics.hardening import OFFSET, Hardening
from bedplate.physics.thread import Thread
from bedplate.physics.tightening import require_friction, thread_arm


@dataclass(frozen=True, slots=True)
class Turned:
    """A bolt, its joint and its steel, ready to be tightened by angle.

    :param thread: of basic size
    :param sections: free lengths between head and engaged thread, which may yield; a free thread
        by its stress diameter, because the strength of a class is a stress on that area
    :param resilience: of bolt and clamped parts together, m/N
    :param shear_modulus: of the bolt, Pa; infinite leaves the wind-up of the shank out
    :param hardening: None keeps the bolt elastic whatever the angle
    """

    thread: Thread
    sections: tuple[Section, ...]
    resilience: float
    shear_modulus: float = inf
    hardening: Hardening | None = None

    def __post_init__(self) -> None:
        """Refuse a bolt without length or spring."""
        require_positive(resilience=self.resilience)
        if not self.sections:
            raise InputError("A bolt needs at least one length between head and engaged thread.")
        for section in self.sections:
            require_positive(section_length=section.length, section_diameter=section.diameter)

    @property
    def twist(self) -> float:
        """Wind-up of the free length, rad/(N·m)."""
        if self.shear_modulus == inf:
            return 0.0
        return twist_resilience(self.sections, self.shear_modulus)


@dataclass(frozen=True, slots=True)
class AngleLaw:
    """The angle that a preload takes: a·F, and B·(F/F_y)ⁿ where the bolt yields.

    :param linear: a, rad/N
    :param plastic: B, rad; 0 for a bolt kept elastic
    :param yield_preload: F_y at which the narrowest section meets R_p0.2, N; infinite if elastic
    :param ultimate_preload: at which it meets R_m, N; infinite if elastic
    :param exponent: n
    :param lengthening: lasting lengthening of the bolt at F_y, m
    """

    linear: float
    plastic: float
    yield_preload: float
    ultimate_preload: float
    exponent: float
    lengthening: float

    def angle(self, preload: float) -> float:
        """Return the angle from no load to a preload, rad.

        :param preload: N; not below 0
        """
        return float(
            self.linear * preload + self.plastic * (preload / self.yield_preload) ** self.exponent
        )


@dataclass(frozen=True, slots=True)
class AngleEnd:
    """Where the wrench stopped.

    :param preload: N
    :param lengthening: lasting, of the bolt, m: what a length gauge finds after undoing
    :param share_of_yield: preload over the preload at yield; 0 if the bolt was kept elastic
    :param share_of_ultimate: preload over the greatest it bears; at 1 and above it necks
    """

    preload: float
    lengthening: float
    share_of_yield: float
    share_of_ultimate: float


def angle_law(bolt: Turned, friction: float) -> AngleLaw:
    """Return the law of angle and preload for one friction in the thread.

    :param bolt: with its joint and steel
    :param friction: μ_G; 0 to 1, else refused
    :source: VDI 2230-1:2003, 5.1 and 5.5.1 (springs, section modulus); MIL-HDBK-5H, 9.3.2
        (Ramberg–Osgood); Hencky's deformation theory for the share of torsion
    """
    require_friction(friction)
    thread, hardening = bolt.thread, bolt.hardening
    turn = 2 * pi / thread.pitch
    linear = turn * bolt.resilience + bolt.twist * thread_arm(thread, friction)
    if hardening is None:
        return AngleLaw(linear, 0.0, inf, inf, 1.0, 0.0)
    ratios = [torsion_ratio(thread, friction, section.diameter) for section in bolt.sections]
    raised = [sqrt(1 + 3 * ratio**2) for ratio in ratios]
    bears = min(s.area / m for s, m in zip(bolt.sections, raised, strict=True))
    n, plastic, lengthening = hardening.exponent, 0.0, 0.0
    for section, ratio, m in zip(bolt.sections, ratios, raised, strict=True):
        strain = OFFSET * (bears * m / section.area) ** n / m
        lengthening += strain * section.length
        plastic += strain * section.length * (turn + 6 * ratio / section.diameter)
    return AngleLaw(
        linear=linear,
        plastic=plastic,
        yield_preload=bears * hardening.yield_strength,
        ultimate_preload=bears * hardening.tensile_strength,
        exponent=n,
        lengthening=lengthening,
    )


def angle_tightening(
    bolt: Turned, snug_preload: float, angle: float, thread_friction: float
) -> AngleEnd:
    """Return where an angle beyond snug ends.

    :param bolt: with its joint and steel
    :param snug_preload: N, in the seated joint; from 0 to what the bolt bears, else refused
    :param angle: of the wrench beyond snug, rad; not below 0
    :param thread_friction: μ_G; 0 to 1, else refused
    :returns: one monotone curve, elastic and yielding; past R_m it goes on, flagged by a share of
        the ultimate above 1, where the real bolt necks and loses clamp
    :source: as `angle_law`, solved for the preload to 1e-12 of itself
    """
    require_not_negative(snug_preload=snug_preload, angle=angle)
    law = angle_law(bolt, thread_friction)
    require_snug(snug_preload, law)
    force = float(preloads(law, law.angle(snug_preload) + angle))
    share = force / law.yield_preload
    return AngleEnd(
        preload=force,
        lengthening=law.lengthening * share**law.exponent,
        share_of_yield=share,
        share_of_ultimate=force / law.ultimate_preload,
    )


def preloads(law: AngleLaw, angles: ArrayLike) -> Array:
    """Return the preload at angles from no load, N, for drawing the curve.

    :param law: of one bolt and friction
    :param angles: rad, any shape; not below 0
    :source: Newton's method on the law from the elastic side, which is convex and so never misses
    """
    angle = np.asarray(angles, dtype=np.float64)
    elastic = angle / law.linear
    if law.plastic == 0:
        return elastic
    n = law.exponent
    # From above the root of a convex law Newton's steps fall without passing it. Either the
    # elastic or the plastic part alone gives a preload that is too high.
    force = np.minimum(elastic, law.yield_preload * (angle / law.plastic) ** (1 / n))
    for _ in range(60):
        bent = law.plastic * (force / law.yield_preload) ** n
        slope = law.linear + n * bent / np.maximum(force, 1e-300)
        step = (law.linear * force + bent - angle) / slope
        force = force - step
        if np.all(np.abs(step) <= 1e-14 * np.maximum(force, 1e-300)):
            break
    return np.maximum(force, 0.0)


def require_snug(preload: float, law: AngleLaw) -> None:
    """Refuse a snug preload that the bolt does not bear.

    :param preload: N
    :param law: of the bolt
    """
    if preload >= law.ultimate_preload:
        raise InputError(
            f"The snug torque alone would give {preload / 1e3:.3g} kN, and the bolt bears"
            f" {law.ultimate_preload / 1e3:.3g} kN.",
            hint="Is the torque in the right unit?",
        )
