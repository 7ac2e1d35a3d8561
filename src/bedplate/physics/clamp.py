"""How evenly a way of tightening clamps: by torque, by torque and angle, by stretch.

The answer is for one bolt in one joint. Frictions are the widest unknown of a torque; the springs
of bolt and joint are that of an angle, the gauge and the bolt's spring that of a stretch.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bedplate.physics.bolt_yield import angle_law, require_snug
from bedplate.physics.clamp_models import (
    Bolted,
    elastic_angle_model,
    strain_of,
    torque_arm,
    torque_model,
    turned,
    yielding_angle_model,
)
from bedplate.physics.first_order import Model
from bedplate.physics.scatter import Scatter, propagate
from bedplate.physics.spread import Spread
from bedplate.physics.tightening import require_friction
from bedplate.physics.wrench import permissible_deviation

TRIALS = 1_000_000
_FRICTIONS = ("thread friction", "head friction")


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
    return _clamp("torque", bolted, {"wrench": torque}, torque_model(bolted), trials, seed)


def by_angle(
    bolted: Bolted, snug: Spread, angle: Spread, *, trials: int = TRIALS, seed: int = 1
) -> Clamp:
    """Return the clamp of a snug torque and an angle from there.

    :param bolted: bolt and joint
    :param snug: torque at which the joint is seated, N·m, with the wrench's spread
    :param angle: beyond snug, rad, with the gauge's or the eye's
    :param trials: 1000 to 10 million
    :param seed: the same seed gives the same trials
    :returns: elastic without `hardening`, else along the yielding curve of `bolt_yield`; a snug
        torque that breaks the bolt is refused
    :source: as `bolt_yield.angle_law`; JCGM 101 (trials)
    """
    sources = {"wrench": snug, "angle": angle, "bolt": bolted.bolt, "parts": bolted.parts}
    if bolted.hardening is None:
        model = elastic_angle_model(bolted)
    else:
        frictions = bolted.thread_friction.value, bolted.head_friction.value
        law = angle_law(turned(bolted), frictions[0])
        require_snug(snug.value / torque_arm(bolted, *frictions), law)
        model = yielding_angle_model(bolted)
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
    meant = torque_arm(bolted, bolted.thread_friction.value, bolted.head_friction.value)
    return meant / torque_arm(bolted, thread_friction, head_friction)


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
        strain=None if steel is None else strain_of(bolted, steel),
        levels=() if steel is None else (1.0, steel.tensile_strength / steel.yield_strength),
    )
    if steel is None:
        return Clamp(method, scatter)
    return Clamp(method, scatter, *scatter.past)
