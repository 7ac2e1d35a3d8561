"""How far tension and torsion together use a bolt up, in its narrowest section."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

from bedplate.physics.checks import require_not_negative, require_positive
from bedplate.physics.thread import Thread
from bedplate.physics.tightening import require_friction, thread_arm


@dataclass(frozen=True, slots=True)
class Utilisation:
    """Stress of a bolt at the moment the wrench lets go, in its narrowest section.

    :param tension: preload over area, Pa
    :param torsion: shear stress of the thread's torque, Pa
    :param equivalent: of both, after von Mises, Pa
    :param share: equivalent over yield strength; above 1 the bolt yields
    """

    tension: float
    torsion: float
    equivalent: float
    share: float


def torsion_ratio(thread: Thread, friction: float, diameter: float) -> float:
    """Return shear stress over tension in a section while the wrench turns.

    τ/σ = 3·(T_G/F)/d0: the shear stress is taken as even over the section, W_P = π·d0³/12,
    which is what it comes to when the bolt begins to yield.

    :param thread: of basic size
    :param friction: μ_G; 0 to 1, else refused
    :param diameter: d0 of the section, m: `stress_diameter`, or a waist that is narrower
    :source: VDI 2230-1:2003, 5.5.1 (edition 1986 took W_P = π·d0³/16, a quarter less strength)
    """
    require_friction(friction)
    require_positive(section_diameter=diameter)
    return 3 * thread_arm(thread, friction) / diameter


def narrowest(thread: Thread, waist: float | None = None) -> float:
    """Return the diameter of the section that yields first, m.

    :param thread: of basic size
    :param waist: d_T, narrowest plain shank, m; None: none is narrower than the thread
    """
    if waist is None:
        return thread.stress_diameter
    require_positive(waist=waist)
    return min(waist, thread.stress_diameter)


def utilisation(
    preload: float,
    thread: Thread,
    thread_friction: float,
    yield_strength: float,
    waist: float | None = None,
) -> Utilisation:
    """Return how far tension and torsion together use a bolt up at the end of tightening.

    Afterwards about half of the torsion springs back, so that the bolt at rest is less strained.

    :param preload: F, N; not below 0
    :param thread: of basic size
    :param thread_friction: μ_G; 0 to 1, else refused
    :param yield_strength: R_p0.2, Pa, of this bolt or the least of its class
    :param waist: narrowest plain shank, m; None: none is narrower than the thread
    :source: VDI 2230-1:2003, 5.5.1, σ_red = √(σ² + 3τ²)
    """
    require_not_negative(preload=preload)
    require_positive(yield_strength=yield_strength)
    diameter = narrowest(thread, waist)
    tension = preload / (pi / 4 * diameter**2)
    torsion = tension * torsion_ratio(thread, thread_friction, diameter)
    equivalent = sqrt(tension**2 + 3 * torsion**2)
    return Utilisation(tension, torsion, equivalent, equivalent / yield_strength)


def preload_at(
    share: float,
    thread: Thread,
    thread_friction: float,
    yield_strength: float,
    waist: float | None = None,
) -> float:
    """Return the preload at which tension and torsion use a share of the yield strength, N.

    With a share of 0.9 it is VDI's assembly preload F_M,zul. It says what a bolt bears, not what
    an engine wants: a maker's torque may lie below it or, for a bolt made to yield, above.

    :param share: ν of the yield strength; above 0
    :param thread: of basic size
    :param thread_friction: μ_G; 0 to 1, else refused
    :param yield_strength: R_p0.2, Pa
    :param waist: narrowest plain shank, m; None: none is narrower than the thread
    :source: VDI 2230-1:2003, 5.5.1, and its tables A1 to A4 for ν = 0.9
    """
    require_positive(share_of_yield=share)
    return share / utilisation(1.0, thread, thread_friction, yield_strength, waist).share
