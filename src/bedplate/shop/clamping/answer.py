"""What clamp a tightening gives, how widely, and which way of tightening spreads it less."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, pi
from typing import TYPE_CHECKING

from bedplate.errors import InputError
from bedplate.physics.bolt import preload_at
from bedplate.physics.tightening import nut_factor, preload
from bedplate.quantity import Dimension, Units, show, show_both
from bedplate.shop.clamping.bolts import bearing_of
from bedplate.shop.clamping.doubts import Held, doubt_about
from bedplate.shop.clamping.question import Question

if TYPE_CHECKING:
    from bedplate.physics.clamp import Clamp
    from bedplate.physics.clamp_models import Bolted

_STEEL, _SHEAR = 205e9, 79e9
"""Pa: Young's and shear modulus of a steel bolt (VDI 2230-1:2003, 5.1 takes 205 GPa)."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way of tightening, with its clamp.

    :param asks: what is set and turned: '68 N·m', '42 N·m + 75°'
    :param low, middle, high: clamp of 19 bolts in 20, and the mean, N
    :param plus_minus: half of that band over its middle, a share
    :param yielding: share of bolts past their yield, None where the class is not known
    :param parts: what the spread is made of: (source, share of the variance), largest first
    :param histogram: edges (N) and shares
    """

    name: str
    asks: str
    low: float
    middle: float
    high: float
    plus_minus: float
    yielding: float | None
    parts: tuple[tuple[str, float], ...]
    edges: tuple[float, ...]
    shares: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """What the calculator says.

    :param nut_factor: K of T = K·F·d at the middle of the friction
    :param proof: clamp that leaves no lasting set, N; None where the class is not known
    :param ends: where the angle ends on the bolt's curve, '' where there is none
    :param assumed: what was taken, a sentence each
    :param doubt: the question about a torque that is strange for the size, '' if there is none
    """

    ways: tuple[Way, ...]
    verdict: str
    nut_factor: float
    proof: float | None
    ninety: float | None
    ends: str
    assumed: tuple[str, ...]
    doubt: str = ""


def answer(asked: Question, *, trials: int = 200_000) -> Answer:
    """Return what a tightening gives, with torque alone to the same clamp beside an angle.

    :param trials: of the Monte Carlo (JCGM 101)
    :raises InputError: an angle or a stretch without a grip, or figures that fit no bolt
    """
    from bedplate.physics.clamp import by_angle, by_stretch, by_torque, wrench
    from bedplate.physics.spread import Spread

    if (asked.angle or asked.stretch) and not asked.grip:
        sentence = "An angle or a stretch needs the length that is clamped."
        raise InputError(sentence, hint="Give it with --grip '66 mm'.")
    bolted = _bolted(asked)
    bearing = bearing_of(asked.size, asked.head, asked.hole)
    friction = sum(asked.friction) / 2
    kind, letter = asked.class_of_wrench
    ways: list[Way] = []
    if asked.angle:
        turned = by_angle(
            bolted,
            wrench(asked.torque, kind, letter),
            Spread(asked.angle, min(asked.angle_off, asked.angle)),
            trials=trials,
        )
        ways.append(_way("torque and angle", _torque_and_angle(asked), turned))
    if asked.stretch:
        longer = by_stretch(bolted, Spread(asked.stretch, asked.stretch_off), trials=trials)
        ways.append(_way("stretch", _stretch(asked.stretch), longer))
    torque = asked.torque
    if ways:
        arm = nut_factor(asked.size, friction, friction, bearing) * asked.size.diameter
        torque = ways[0].middle * arm
    alone = by_torque(bolted, wrench(torque, kind, letter), trials=trials)
    ways.insert(0, _way("torque alone", _torque(torque), alone))
    strength = asked.strength
    return Answer(
        ways=tuple(ways),
        verdict=_verdict(ways),
        nut_factor=nut_factor(asked.size, friction, friction, bearing),
        proof=None if strength is None else strength.proof_load(asked.size.stress_area),
        ninety=None
        if strength is None
        else preload_at(0.9, asked.size, friction, strength.yield_strength),
        ends=_end(asked, bolted, bearing) if asked.angle else "",
        assumed=_assumed(asked, bearing, same=bool(len(ways) > 1)),
        doubt=_doubt_of_question(asked, bearing),
    )


def _doubt_of_question(asked: Question, bearing: float) -> str:
    if asked.typed is None:
        return ""
    called, torque = asked.typed
    held = Held(called, asked.size, asked.strength, sum(asked.friction) / 2, bearing)
    return doubt_about(held, torque, last=not asked.angle, units=Units.METRIC)


def _end(asked: Question, bolted: Bolted, bearing: float) -> str:
    """Say where the angle ends, at the middle of everything and the least steel of the class."""
    from bedplate.physics.bolt_yield import angle_tightening
    from bedplate.physics.clamp_models import turned

    friction = sum(asked.friction) / 2
    snug = preload(asked.torque, asked.size, friction, friction, bearing)
    end = angle_tightening(turned(bolted), snug, asked.angle or 0.0, friction)
    start = (
        f"From {snug / 1e3:.1f} kN at the snug torque the angle ends at {end.preload / 1e3:.1f} kN"
    )
    if asked.strength is None:
        return f"{start}; whether that is past yield is not known without the class."
    if end.share_of_ultimate >= 1:
        return f"{start}: more than the steel of its class bears."
    if end.lengthening > 1e-6:
        longer = show(end.lengthening, Dimension.LENGTH, Units.METRIC)
        return (
            f"{start}, {end.share_of_yield * 100:.0f} % of the preload at yield: past it, the bolt "
            f"stays about {longer} longer, which its length shows afterwards."
        )
    return f"{start}, {end.share_of_yield * 100:.0f} % of the preload at yield: elastic."


def _bolted(asked: Question) -> Bolted:
    from bedplate.physics.bolt_resilience import Held, Section, bolt_resilience
    from bedplate.physics.clamp_models import Bolted
    from bedplate.physics.hardening import Hardening
    from bedplate.physics.parts_resilience import Layer, parts_resilience
    from bedplate.physics.spread import Spread, between

    size, grip = asked.size, asked.grip or 4 * asked.size.diameter
    free = min(asked.free_thread if asked.free_thread is not None else grip / 3, grip)
    sections = tuple(
        Section(length, diameter)
        for length, diameter in ((grip - free, size.diameter), (free, size.stress_diameter))
        if length > 1e-9
    )
    head = asked.head or 1.5 * size.diameter
    hole = asked.hole or 1.1 * size.diameter
    around = asked.around or 2 * head
    bolt = bolt_resilience(size, sections, _STEEL, holder_modulus=asked.part_modulus)
    parts = parts_resilience(
        [Layer(grip, asked.part_modulus, around)], head, hole, Held.TAPPED_HOLE
    )
    friction = between(*asked.friction)
    strength = asked.strength
    return Bolted(
        thread=size,
        bearing=bearing_of(size, asked.head, asked.hole),
        thread_friction=friction,
        head_friction=friction,
        bolt=Spread(bolt, 0.05 * bolt),
        parts=Spread(parts, 0.2 * parts),
        sections=sections,
        shear_modulus=_SHEAR if sections else inf,
        hardening=None
        if strength is None
        else Hardening(strength.yield_strength, strength.tensile_strength, 0.03),
        strength=between(1.0, 1.12),
    )


def _way(name: str, asks: str, clamp: Clamp) -> Way:
    scatter = clamp.scatter
    first = scatter.first_order
    variance = sum(part.effect**2 for part in first.contributions) or 1.0
    parts = sorted(
        ((part.source, part.effect**2 / variance) for part in first.contributions),
        key=lambda one: -one[1],
    )
    return Way(
        name=name,
        asks=asks,
        low=scatter.low,
        middle=scatter.mean,
        high=scatter.high,
        plus_minus=scatter.plus_minus,
        yielding=clamp.yield_share,
        parts=tuple(parts),
        edges=scatter.edges,
        shares=scatter.shares,
    )


def _torque(torque: float) -> str:
    return show_both(torque, Dimension.TORQUE, Units.METRIC)


def _torque_and_angle(asked: Question) -> str:
    angle = show(asked.angle or 0.0, Dimension.ANGLE, Units.METRIC)
    return f"{show(asked.torque, Dimension.TORQUE, Units.METRIC)} + {angle}"


def _stretch(stretch: float) -> str:
    return show(stretch, Dimension.LENGTH, Units.METRIC)


def _verdict(ways: Sequence[Way]) -> str:
    if len(ways) < 2:
        return (
            f"Torque alone: ±{ways[0].plus_minus * 100:.0f} % for 19 bolts in 20. Give an angle as "
            "well ('42 N·m + 75 deg') to see what it does."
        )
    alone, other = ways[0], min(ways[1:], key=lambda way: way.plus_minus)
    better = other.plus_minus < 0.8 * alone.plus_minus
    start = "Yes" if better else "Hardly" if other.plus_minus < alone.plus_minus else "No"
    return (
        f"{start}: for this bolt, torque alone to the same clamp ±{alone.plus_minus * 100:.0f} %, "
        f"{other.name} ±{other.plus_minus * 100:.0f} % (19 bolts in 20)."
    )


def _assumed(asked: Question, bearing: float, *, same: bool) -> tuple[str, ...]:
    low, high = asked.friction
    kind, letter = asked.class_of_wrench
    lines = [
        f"friction {low:g} to {high:g} in thread and under the head, evenly likely, one for both",
        f"friction under the head acts at {bearing * 1e3:.1f} mm"
        + ("" if asked.head and asked.hole else " (1.3 × the thread; give --head and --hole)"),
        f"wrench: ISO 6789 type {kind} class {letter}, anywhere within what its class allows",
    ]
    if same:
        lines += [
            f"angle: off by up to {asked.angle_off * 180 / pi:.0f}°; common practice, no source",
            "bolt's spring known to 5 %, that of the parts to 20 %; estimates, no source",
            f"tapped hole, clamped parts of {asked.part_modulus / 1e9:.0f} GPa, cone of VDI 2230-1",
        ]
        if asked.strength is not None:
            lines.append(
                "the steel yields between the least its class asks and 12 % above (estimate), and "
                "hardens up to 3 % strain (estimate)"
            )
    return tuple(lines)
