"""What a tightening makes of a bolt: its clamp, how even that is, and what another lubricant does.

Nothing here proposes a torque. Whoever asks brings the maker's figure; the answer says what clamp
it gives, how widely, and which way of tightening spreads it less.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf, pi
from typing import TYPE_CHECKING

from bedplate.engine import Doing, Fastener, Plan, Stage
from bedplate.errors import InputError
from bedplate.physics.bolt import preload_at, utilisation
from bedplate.physics.property_class import Strength, grade, property_class
from bedplate.physics.thread import Thread, thread
from bedplate.physics.tightening import bearing_diameter, clamp_ratio, nut_factor, preload
from bedplate.quantity import Dimension, Quantity, Units, parse, parse_tightening, show, show_both

if TYPE_CHECKING:
    from bedplate.physics.clamp import Clamp
    from bedplate.physics.clamp_models import Bolted

_STEEL, _SHEAR = 205e9, 79e9
"""Pa: Young's and shear modulus of a steel bolt (VDI 2230-1:2003, 5.1 takes 205 GPa)."""

_USUAL_FRICTION = (0.08, 0.16)
_WIDER = 1.3
"""Diameter of friction under the head over that of the thread, where the file gives no head."""

_TOO_LITTLE, _TOO_LITTLE_FIRST, _TOO_LITTLE_INCHES, _TOO_MUCH = 0.12, 0.02, 0.06, 1.2
"""Shares of the yield strength beyond which a torque is asked about: for the last torque, for one
that more follows, for such a one in lbf·in, and for any. A rule of ours, common practice, no
source."""


@dataclass(frozen=True, slots=True)
class Lubricant:
    """A lubricant by its kind, and the coefficients of friction that go with it.

    :param words: by which it is known in what people write
    :param low, high: μ in the thread and under the head
    """

    name: str
    words: tuple[str, ...]
    low: float
    high: float

    @property
    def middle(self) -> float:
        """Return the middle of the band."""
        return (self.low + self.high) / 2


LUBRICANTS = (
    Lubricant(
        "solid lubricant, paste or wax",
        ("moly", "mos2", "molybdenum", "graphite", "paste", "ptfe", "wax", "copper", "nickel"),
        0.04,
        0.10,
    ),
    Lubricant("oil or grease", ("oil", "grease"), 0.08, 0.16),
    Lubricant("dry, as it comes", ("dry", "clean", "none", "as delivered"), 0.14, 0.24),
)
"""Friction classes A, B and C of VDI 2230-1:2003, table A5, from memory."""

FRICTION_SOURCE = "friction classes of VDI 2230-1:2003, table A5, from memory"


def lubricant(text: str) -> Lubricant | None:
    """Return the kind of a lubricant as people write it, None if it is not known."""
    plain = text.casefold()
    return next((one for one in LUBRICANTS if any(word in plain for word in one.words)), None)


def same_lubricant(one: str, other: str) -> bool:
    """Tell whether two texts mean the same lubricant."""
    return " ".join(one.casefold().split()) == " ".join(other.casefold().split())


def strength_of(name: str, diameter: float) -> Strength | None:
    """Return the strength of a class or grade as an engine file writes it, None if not known.

    :param diameter: of the thread, m
    """
    plain = name.strip().lower()
    try:
        if plain.startswith("grade"):
            return grade(plain.removeprefix("grade").strip(), diameter)
        return property_class(plain.removeprefix("class").strip(), diameter)
    except InputError:
        return None


def bearing_of(size: Thread, head: float | None, hole: float | None) -> float:
    """Return the diameter at which friction under the head acts, m.

    :param head: outer diameter of the bearing face, m, None if not known
    :param hole: of the hole, m, None if not known
    :return: (head + hole)/2, or 1.3 × the thread's diameter where one of them is not known
    """
    if head is None or hole is None:
        return _WIDER * size.diameter
    return bearing_diameter(head, hole)


@dataclass(frozen=True, slots=True)
class Mismatch:
    """What another lubricant than the specified one does to the clamp at the same torque.

    :param ratio: clamp over the clamp that was meant, middle of both bands; None if not known
    :param worst: at the far ends of both bands
    """

    specified: str
    used: str
    ratio: float | None
    worst: float | None

    @property
    def sentence(self) -> str:
        """Say it in one sentence."""
        start = f"'{self.specified}' is specified and '{self.used}' is on the bolts"
        if self.ratio is None or self.worst is None:
            return f"{start}: what that does to the clamp is not known."
        if abs(self.ratio - 1) < 0.005:
            return f"{start}: both are of one friction class, so the clamp is about as meant."
        word = "more" if self.ratio > 1 else "less"
        return (
            f"{start}: at the same torque about {abs(self.ratio - 1) * 100:.0f} % {word} clamp "
            f"(at worst {abs(self.worst - 1) * 100:.0f} % {word})."
        )


def mismatch(fastener: Fastener, used: str) -> Mismatch | None:
    """Return what the lubricant on the bolts does, None if it is the one specified."""
    if not fastener.lubricant or same_lubricant(fastener.lubricant, used):
        return None
    meant, got = lubricant(fastener.lubricant), lubricant(used)
    size = thread_of(fastener)
    if meant is None or got is None or size is None:
        return Mismatch(fastener.lubricant, used, None, None)
    bearing = bearing_of(size, *_head(fastener))
    ratio = clamp_ratio(size, bearing, (meant.middle,) * 2, (got.middle,) * 2)
    ends = (meant.high, got.low) if ratio >= 1 else (meant.low, got.high)
    worst = clamp_ratio(size, bearing, (ends[0],) * 2, (ends[1],) * 2)
    return Mismatch(fastener.lubricant, used, ratio, worst)


def thread_of(fastener: Fastener) -> Thread | None:
    """Return the thread of a group, None where the file does not say it, or says an unusual one."""
    if not fastener.thread:
        return None
    try:
        return thread(fastener.thread)
    except InputError:
        return None


def _head(fastener: Fastener) -> tuple[float | None, float | None]:
    return tuple(  # type: ignore[return-value]
        None if one is None else one.value for one in (fastener.head, fastener.hole)
    )


def doubt_of_torque(fastener: Fastener, stage: Stage, *, last: bool, units: Units) -> str:
    """Return the question about a torque that is strange for the size, '' if there is none.

    :param last: nothing tightens the group after this stage
    """
    size = thread_of(fastener)
    if stage.doing is not Doing.TORQUE or stage.value is None or size is None:
        return ""
    kind = lubricant(fastener.lubricant)
    strength = strength_of(fastener.property_class, size.diameter)
    friction = kind.middle if kind else sum(_USUAL_FRICTION) / 2
    held = _Held(fastener.thread, size, strength, friction, bearing_of(size, *_head(fastener)))
    return _doubt(held, stage.value, last=last, units=units)


@dataclass(frozen=True, slots=True)
class _Held:
    """A bolt that a torque is held against.

    :param called: its thread as typed
    :param strength: None where nobody gives its class
    """

    called: str
    size: Thread
    strength: Strength | None
    friction: float
    bearing: float

    @property
    def steel(self) -> Strength:
        """Return its strength, or the usual one."""
        return self.strength or property_class("8.8", self.size.diameter)

    def share(self, torque: float) -> tuple[float, float]:
        """Return the clamp (N) that a torque (N·m) gives, and what share of yield it uses."""
        size, friction = self.size, self.friction
        force = preload(torque, size, friction, friction, self.bearing)
        return force, utilisation(force, size, friction, self.steel.yield_strength).share


def _doubt(held: _Held, torque: Quantity, *, last: bool, units: Units) -> str:
    force, used = held.share(torque.value)
    inches = torque.unit == "lbf·in"
    least = _TOO_LITTLE if last else _TOO_LITTLE_INCHES if inches else _TOO_LITTLE_FIRST
    if least <= used <= _TOO_MUCH:
        return ""
    other = _other_unit(torque.unit, 12 if used < least else 1 / 12)
    hint = ""
    if other and least <= held.share(_converted(torque.text, other))[1] <= _TOO_MUCH:
        hint = f" Is it {other}?"
    steel = held.steel.name
    named = steel if held.strength else f"class {steel} (none is given)"
    return (
        f"{torque.text} on {held.called} would clamp about "
        f"{show(force, Dimension.FORCE, units, unit='kN')}, {used * 100:.0f} % of the yield of "
        f"{named}.{hint}"
    )


def _other_unit(unit: str, factor: float) -> str:
    pairs = {("lbf·in", True): "lbf·ft", ("lbf·ft", False): "lbf·in"}
    return pairs.get((unit, factor > 1), "")


def _converted(text: str, unit: str) -> float:
    number = text.strip().split()[0].rstrip("lbfint·-")
    return parse(f"{number} {unit}", Dimension.TORQUE).value


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of the calculator: a bolt, its joint and how it is tightened; SI.

    :param torque: final, or where the angle begins, N·m
    :param angle: from there, rad; None for torque alone
    :param grip: length that is clamped, m; needed for an angle or a stretch
    :param free_thread: length of it that is thread, m
    :param around: diameter of the material around the hole, m
    :param friction: lower and upper μ, in the thread and under the head
    :param class_of_wrench: type and class of ISO 6789, ('II', 'A')
    :param angle_off: how far off the angle may be, rad
    :param typed: thread and torque as typed, None where nobody typed them
    """

    size: Thread
    strength: Strength | None
    torque: float
    angle: float | None = None
    stretch: float | None = None
    grip: float | None = None
    free_thread: float | None = None
    head: float | None = None
    hole: float | None = None
    around: float | None = None
    part_modulus: float = 70e9
    friction: tuple[float, float] = _USUAL_FRICTION
    class_of_wrench: tuple[str, str] = ("II", "A")
    angle_off: float = 3 * pi / 180
    stretch_off: float = 0.0003 * 0.0254
    typed: tuple[str, Quantity] | None = None


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
    held = _Held(called, asked.size, asked.strength, sum(asked.friction) / 2, bearing)
    return _doubt(held, torque, last=not asked.angle, units=Units.METRIC)


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


def question_of(fastener: Fastener, plan: Plan, part_modulus: float = 70e9) -> Question | None:
    """Return what a plan asks of a group, None where figures for an answer are missing."""
    size = thread_of(fastener)
    stages = [s for s in plan.stages if s.group == fastener.group and s.value is not None]
    torques = [s.value.value for s in stages if s.doing is Doing.TORQUE and s.value]
    angles = [s.value.value for s in stages if s.doing is Doing.ANGLE and s.value]
    if size is None or not torques:
        return None
    kind = lubricant(fastener.lubricant)
    head, hole = _head(fastener)
    with_angle = bool(angles) and fastener.grip is not None
    return Question(
        size=size,
        strength=strength_of(fastener.property_class, size.diameter),
        torque=torques[-1],
        angle=sum(angles) if with_angle else None,
        grip=fastener.grip.value if fastener.grip else None,
        free_thread=fastener.free_thread.value if fastener.free_thread else None,
        head=head,
        hole=hole,
        friction=(kind.low, kind.high) if kind else _USUAL_FRICTION,
        part_modulus=part_modulus,
    )


_FIELDS = {
    "grip": Dimension.LENGTH,
    "free_thread": Dimension.LENGTH,
    "head": Dimension.LENGTH,
    "hole": Dimension.LENGTH,
    "around": Dimension.LENGTH,
}
_PARTS = {"aluminium": 70e9, "iron": 110e9, "steel": 205e9, "magnesium": 45e9}
"""Pa: Young's modulus of what is clamped; handbook values, from memory."""


def read_question(typed: Mapping[str, str]) -> Question:
    """Read a question as typed, by the names of its fields.

    `thread` and `tightening` ('60 N·m' or '42 N·m + 75 deg') are needed; `class`, `grip`,
    `free_thread`, `head`, `hole`, `around`, `parts`, `lubricant`, `friction` ('0.10..0.14'),
    `stretch`, `wrench` ('II A') may be left out.

    :raises InputError: a field cannot be read
    """
    fields = {name: text.strip() for name, text in typed.items() if text.strip()}
    size = thread(fields.get("thread", ""))
    tightening = parse_tightening(fields.get("tightening", ""))
    if tightening.torque is None:
        sentence = f"'{fields['tightening'][:60]}' has no torque: an angle begins somewhere."
        raise InputError(sentence, hint="Write both, such as '42 N·m + 75 deg'.")
    lengths = {
        name: parse(fields[name], dimension).value
        for name, dimension in _FIELDS.items()
        if name in fields
    }
    stretch = fields.get("stretch")
    return Question(
        size=size,
        strength=_strength(fields.get("class", ""), size),
        torque=tightening.torque.value,
        angle=tightening.angle.value if tightening.angle else None,
        stretch=parse(stretch, Dimension.LENGTH).value if stretch else None,
        part_modulus=_modulus(fields.get("parts", "aluminium")),
        friction=_friction(fields),
        class_of_wrench=_wrench(fields.get("wrench", "II A")),
        typed=(fields["thread"], tightening.torque),
        **lengths,
    )


def _strength(name: str, size: Thread) -> Strength | None:
    if not name:
        return None
    found = strength_of(name, size.diameter)
    if found is None:
        sentence = f"'{name[:40]}' is no class or grade that is known at this size."
        raise InputError(sentence, hint="Write '8.8', '10.9', '12.9' or 'grade 8', or leave it.")
    return found


def _modulus(parts: str) -> float:
    if parts not in _PARTS:
        sentence = f"'{parts[:40]}' is nothing whose stiffness is known here."
        raise InputError(sentence, hint=f"Write {', '.join(_PARTS)}.")
    return _PARTS[parts]


def _wrench(text: str) -> tuple[str, str]:
    words = text.upper().split()
    if len(words) != 2:
        sentence = f"'{text[:40]}' is no class of a wrench."
        raise InputError(sentence, hint="Write type and class of ISO 6789: 'II A'.")
    return words[0], words[1]


def _friction(fields: Mapping[str, str]) -> tuple[float, float]:
    text = fields.get("friction", "")
    if text:
        found = re.fullmatch(r"(0?[.,]\d+) ?(?:\.\.|-|–|to) ?(0?[.,]\d+)", text)
        if not found:
            sentence = f"'{text[:40]}' is no band of friction."
            raise InputError(sentence, hint="Write its two ends: '0.10..0.14'.")
        low, high = (float(end.replace(",", ".")) for end in found.groups())
        return low, high
    named = fields.get("lubricant", "")
    if not named:
        return _USUAL_FRICTION
    kind = lubricant(named)
    if kind is None:
        known = "; ".join(one.name for one in LUBRICANTS)
        sentence = f"The friction of '{named[:40]}' is not known here."
        raise InputError(sentence, hint=f"Known are: {known}. Or give --friction 0.10..0.14.")
    return kind.low, kind.high
