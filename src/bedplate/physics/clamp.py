"""How evenly a way of tightening clamps: by torque, by torque and angle, by stretch.

The answer is for one bolt in one joint. Frictions are the widest unknown of a torque; the springs
of bolt and joint are that of an angle, the gauge and the bolt's spring that of a stretch.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf, log, pi

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.bolt import Numbers, narrowest, require_friction, thread_arm
from bedplate.physics.bolt_yield import Hardening, Turned, angle_law
from bedplate.physics.checks import Array, require_positive
from bedplate.physics.joint import Section
from bedplate.physics.spread import Model, Scatter, Shape, Spread, Strain, propagate
from bedplate.physics.thread import Thread
from bedplate.physics.wrench import permissible_deviation

TRIALS = 1_000_000
_FRICTIONS = ("thread friction", "head friction")
_NODES = 65
"""Frictions at which the law of a yielding bolt is worked out; between them by interpolation."""
_CURVE = 4096
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


@dataclass(frozen=True, slots=True)
class Clamp:
    """What one way of tightening gives.

    :param method: 'torque', 'torque and angle' or 'stretch'
    :param scatter: of the preload, N
    :param yield_share: share of bolts that end past their yield; None without `hardening`
    :param ultimate_share: share of bolts asked for more than their steel bears; None as above
    """

    method: str
    scatter: Scatter
    yield_share: float | None = None
    ultimate_share: float | None = None


def wrench(torque: float, kind: str = "II", letter: str = "A") -> Spread:
    """Return a torque as a wrench of a class gives it: anywhere within what the class allows.

    :param torque: on the bolt, N·m
    :param kind: 'I' indicating, 'II' setting
    :param letter: class of the kind
    :source: ISO 6789-1 limits as a rectangular distribution (GUM 4.3.7)
    """
    return Spread(torque, torque * permissible_deviation(torque, kind, letter))


def by_torque(bolted: Bolted, torque: Spread, *, trials: int = TRIALS, seed: int = 1) -> Clamp:
    """Return the clamp of a torque alone.

    :param bolted: bolt and joint
    :param torque: final, on the bolt, N·m: the maker's, with the wrench's spread
    :param trials: 1000 to 10 million
    :param seed: the same seed gives the same trials
    :source: ISO 16047:2005 (torque and preload); JCGM 101 (trials)
    """
    return _clamp("torque", bolted, {"wrench": torque}, _by_torque(bolted), trials, seed)


def by_angle(
    bolted: Bolted, snug: Spread, angle: Spread, *, trials: int = TRIALS, seed: int = 1
) -> Clamp:
    """Return the clamp of a snug torque and an angle from there.

    :param bolted: bolt and joint
    :param snug: torque at which the joint is seated, N·m, with the wrench's spread
    :param angle: beyond snug, rad, with the gauge's or the eye's
    :param trials: 1000 to 10 million
    :param seed: the same seed gives the same trials
    :returns: elastic without `hardening`, else along the yielding curve of `bolt_yield`
    :source: as `bolt_yield.angle_law`; JCGM 101 (trials)
    """
    sources = {"wrench": snug, "angle": angle, "bolt": bolted.bolt, "parts": bolted.parts}
    model = _elastic(bolted) if bolted.hardening is None else _yielding(bolted)
    return _clamp("torque and angle", bolted, sources, model, trials, seed)


def by_stretch(bolted: Bolted, longer: Spread, *, trials: int = TRIALS, seed: int = 1) -> Clamp:
    """Return the clamp of a measured stretch, elastic.

    :param bolted: bolt and joint; its bolt's resilience is that between the points measured on
    :param longer: stretch, m, with the gauge's spread
    :param trials: 1000 to 10 million
    :param seed: the same seed gives the same trials
    :source: Hooke's law; JCGM 101 (trials)
    """
    sources = {"stretch": longer, "bolt": bolted.bolt}
    return _clamp("stretch", bolted, sources, lambda s: s["stretch"] / s["bolt"], trials, seed)


def lubricant_effect(bolted: Bolted, thread_friction: float, head_friction: float) -> float:
    """Return the clamp at the same torque with another lubricant over the clamp as specified.

    :param bolted: with the frictions of the lubricant specified
    :param thread_friction: μ_G of the one used
    :param head_friction: μ_K of the one used
    :returns: 1.67 is two thirds more clamp
    :source: ISO 16047:2005
    """
    require_friction(thread_friction, head_friction)
    meant = _arm(bolted, bolted.thread_friction.value, bolted.head_friction.value)
    return meant / _arm(bolted, thread_friction, head_friction)


def _clamp(
    method: str,
    bolted: Bolted,
    sources: Mapping[str, Spread],
    model: Model,
    trials: int,
    seed: int,
) -> Clamp:
    frictions = dict(zip(_FRICTIONS, (bolted.thread_friction, bolted.head_friction), strict=True))
    steel = bolted.hardening
    scatter = propagate(
        {**frictions, **sources, "strength": bolted.strength},
        model,
        together=_FRICTIONS,
        correlation=bolted.friction_correlation,
        trials=trials,
        seed=seed,
        strain=None if steel is None else _strain(bolted, steel),
        levels=() if steel is None else (1.0, steel.tensile_strength / steel.yield_strength),
    )
    if steel is None:
        return Clamp(method, scatter)
    return Clamp(method, scatter, *scatter.past)


def _arm(bolted: Bolted, thread_friction: Numbers, head_friction: Numbers) -> Numbers:
    return thread_arm(bolted.thread, thread_friction) + head_friction * (bolted.bearing / 2)


def _by_torque(bolted: Bolted) -> Model:
    def preload(source: Mapping[str, Array]) -> Array:
        return source["wrench"] / _arm(bolted, source["thread friction"], source["head friction"])

    return preload


def _elastic(bolted: Bolted) -> Model:
    """Return preload after snug and angle: F = T/arm + φ/(2π·δ/P + wind-up)."""
    snug, linear = _by_torque(bolted), _linear(bolted)

    def preload(source: Mapping[str, Array]) -> Array:
        return snug(source) + source["angle"] / linear(source)

    return preload


def _linear(bolted: Bolted) -> Model:
    """Return the angle for each newton of preload in the elastic range, rad/N."""
    turn = 2 * pi / bolted.thread.pitch
    twist = _turned(bolted).twist if bolted.sections else 0.0

    def law(source: Mapping[str, Array]) -> Array:
        springs = turn * (source["bolt"] + source["parts"])
        if twist == 0:
            return springs
        return springs + twist * thread_arm(bolted.thread, source["thread friction"])

    return law


def _yielding(bolted: Bolted) -> Model:
    """Return preload along the yielding curve.

    With u = a·F/Φ the law Φ = a·F + B·(F/F_y)ⁿ is u + β·uⁿ = 1: one curve u(β) serves every
    trial. Strength scales F_y; ln(B/F_yⁿ) hangs on the thread's friction alone.
    """
    snug, linear = _by_torque(bolted), _linear(bolted)
    low, high = _ends(bolted.thread_friction)
    frictions = np.linspace(low, high, _NODES)
    laws = [angle_law(_turned(bolted), float(friction)) for friction in frictions]
    n = laws[0].exponent
    heights = [log(law.plastic) - n * log(law.yield_preload) for law in laws]
    shares = 1 - np.geomspace(1e-9, 1 - 1e-2, _CURVE)
    curve = np.log1p(-shares) - n * np.log(shares)

    def preload(source: Mapping[str, Array]) -> Array:
        slope, first = linear(source), snug(source)
        height = np.interp(source["thread friction"], frictions, heights)
        height = height - n * np.log(source["strength"])
        whole = slope * first + np.exp(height + n * np.log(first)) + source["angle"]
        elastic = whole / slope
        beta = height + n * np.log(elastic) - np.log(whole)
        return np.asarray(elastic * np.interp(beta, curve, shares))

    return preload


def _strain(bolted: Bolted, steel: Hardening) -> Strain:
    """Return preload over the preload at which the narrowest section yields."""
    waist = min(section.diameter for section in bolted.sections)
    diameter = narrowest(bolted.thread, waist)
    bears = pi / 4 * diameter**2 * steel.yield_strength

    def strain(source: Mapping[str, Array], preload: Array) -> Array:
        ratio = 3 * thread_arm(bolted.thread, source["thread friction"]) / diameter
        return preload * np.sqrt(1 + 3 * ratio**2) / (bears * source["strength"])

    return strain


def _turned(bolted: Bolted) -> Turned:
    return Turned(
        bolted.thread,
        bolted.sections,
        bolted.bolt.value + bolted.parts.value,
        bolted.shear_modulus,
        bolted.hardening,
    )


def _ends(spread: Spread) -> tuple[float, float]:
    """Return what no trial passes; a normal one within six standard deviations."""
    reach = 3 if spread.shape is Shape.NORMAL else 1
    return spread.value - reach * spread.half_width, spread.value + reach * spread.half_width
