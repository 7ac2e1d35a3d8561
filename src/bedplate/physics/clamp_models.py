"""Preload as a function of everything that scatters, for a million bolts at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf, log, pi

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.bolt import narrowest
from bedplate.physics.bolt_resilience import Section
from bedplate.physics.bolt_yield import Turned, angle_law
from bedplate.physics.checks import Array, require_positive
from bedplate.physics.first_order import Model
from bedplate.physics.hardening import Hardening
from bedplate.physics.scatter import Strain
from bedplate.physics.spread import Shape, Spread
from bedplate.physics.thread import Thread
from bedplate.physics.tightening import Numbers, require_friction, thread_arm

_NODES = 65
"""Frictions at which the law of a yielding bolt is worked out; between them by interpolation."""
_CURVE = 2048
_MOST_EXPONENT = 600.0
"""Of e, below overflow; a snug torque so far past yield has broken the bolt."""
_AS_STATED = Spread(1.0)


@dataclass(frozen=True, slots=True)
class Bolted:
    """A bolt in its joint, and how well each is known.

    :param thread: of basic size
    :param bearing: diameter at which friction under the head acts, m
    :param thread_friction: μ_G
    :param head_friction: μ_K
    :param bolt: resilience of the bolt, m/N
    :param parts: resilience of the clamped parts, m/N
    :param friction_correlation: 1 where one lubricant decides both frictions, as VDI 2230 takes
        it; 0 where they have nothing to do with each other
    :param sections: free lengths of the bolt, for its wind-up and its yield; may be empty
    :param shear_modulus: of the bolt, Pa; infinite leaves its wind-up out
    :param hardening: of its steel; None keeps it elastic
    :param strength: yield and tensile strength over those of `hardening`, such as 1.05 ± 0.05
    """

    thread: Thread
    bearing: float
    thread_friction: Spread
    head_friction: Spread
    bolt: Spread
    parts: Spread
    friction_correlation: float = 1.0
    sections: tuple[Section, ...] = ()
    shear_modulus: float = inf
    hardening: Hardening | None = None
    strength: Spread = _AS_STATED

    def __post_init__(self) -> None:
        """Refuse frictions that are none, and a steel without a length to yield."""
        require_positive(bearing_diameter=self.bearing)
        for friction in (self.thread_friction, self.head_friction):
            require_friction(friction.value + friction.half_width)
        if self.hardening is not None and not self.sections:
            raise InputError("A bolt that may yield needs the lengths that do.")


def torque_arm(bolted: Bolted, thread_friction: Numbers, head_friction: Numbers) -> Numbers:
    """Return the torque for each newton of preload, N·m/N.

    :param bolted: bolt and joint
    :param thread_friction: μ_G, any shape; not checked here
    :param head_friction: μ_K, any shape; not checked here
    :source: ISO 16047:2005
    """
    return thread_arm(bolted.thread, thread_friction) + head_friction * (bolted.bearing / 2)


def torque_model(bolted: Bolted) -> Model:
    """Return preload by torque: F = T/arm."""

    def preload(source: Mapping[str, Array]) -> Array:
        return source["wrench"] / torque_arm(
            bolted, source["thread friction"], source["head friction"]
        )

    return preload


def elastic_angle_model(bolted: Bolted) -> Model:
    """Return preload after snug and angle: F = T/arm + φ/(2π·δ/P + wind-up)."""
    snug, linear = torque_model(bolted), _linear(bolted)

    def preload(source: Mapping[str, Array]) -> Array:
        return snug(source) + source["angle"] / linear(source)

    return preload


def yielding_angle_model(bolted: Bolted) -> Model:
    """Return preload along the yielding curve.

    With u = a·F/Φ the law Φ = a·F + B·(F/F_y)ⁿ is u + β·uⁿ = 1: one curve u(β) serves every
    trial. Strength scales F_y; ln(B/F_yⁿ) hangs on the thread's friction alone.
    """
    snug, linear = torque_model(bolted), _linear(bolted)
    low, high = _ends(bolted.thread_friction)
    frictions = np.linspace(low, high, _NODES)
    laws = [angle_law(turned(bolted), float(friction)) for friction in frictions]
    n = laws[0].exponent
    heights = [log(law.plastic) - n * log(law.yield_preload) for law in laws]
    shares, curve = _curve(n)

    def preload(source: Mapping[str, Array]) -> Array:
        slope, first = linear(source), snug(source)
        height = np.interp(source["thread friction"], frictions, heights)
        height = height - n * np.log(source["strength"])
        bent = np.exp(np.minimum(height + n * np.log(first), _MOST_EXPONENT))
        whole = slope * first + bent + source["angle"]
        elastic = whole / slope
        beta = height + n * np.log(elastic) - np.log(whole)
        return np.asarray(elastic * np.exp(np.interp(beta, curve, shares)))

    return preload


def strain_of(bolted: Bolted, steel: Hardening) -> Strain:
    """Return preload over the preload at which the narrowest section yields."""
    waist = min(section.diameter for section in bolted.sections)
    diameter = narrowest(bolted.thread, waist)
    bears = pi / 4 * diameter**2 * steel.yield_strength

    def strain(source: Mapping[str, Array], preload: Array) -> Array:
        ratio = 3 * thread_arm(bolted.thread, source["thread friction"]) / diameter
        return preload * np.sqrt(1 + 3 * ratio**2) / (bears * source["strength"])

    return strain


def _linear(bolted: Bolted) -> Model:
    """Return the angle for each newton of preload in the elastic range, rad/N."""
    turn = 2 * pi / bolted.thread.pitch
    twist = turned(bolted).twist if bolted.sections else 0.0

    def law(source: Mapping[str, Array]) -> Array:
        springs = turn * (source["bolt"] + source["parts"])
        if twist == 0:
            return springs
        return springs + twist * thread_arm(bolted.thread, source["thread friction"])

    return law


def turned(bolted: Bolted) -> Turned:
    """Return the bolt at its best estimates, as one bolt is tightened by angle."""
    return Turned(
        bolted.thread,
        bolted.sections,
        bolted.bolt.value + bolted.parts.value,
        bolted.shear_modulus,
        bolted.hardening,
    )


def _curve(exponent: float) -> tuple[Array, Array]:
    """Return ln u and ln β of u + β·uⁿ = 1, from β near 0 to where u falls as a power of β."""
    near = np.log1p(-np.geomspace(1e-9, 0.5, _CURVE))
    far = np.append(np.linspace(-0.7, -30.0, _CURVE), -_MOST_EXPONENT)
    shares = np.concatenate((near, far))
    return shares, np.log(-np.expm1(shares)) - exponent * shares


def _ends(spread: Spread) -> tuple[float, float]:
    """Return what no trial passes; a normal one within six standard deviations."""
    reach = (3 if spread.shape is Shape.NORMAL else 1) * spread.half_width
    return max(spread.value - reach, 0.0), min(spread.value + reach, 0.999)
