"""What is asked about a tightening: by the fields of the page, or by the engine file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import pi

from bedplate.engine import Doing, Fastener, Plan
from bedplate.errors import InputError
from bedplate.physics.property_class import Strength
from bedplate.physics.thread import Thread, thread
from bedplate.quantity import Dimension, Quantity, parse, parse_tightening
from bedplate.shop.clamping.bolts import bearing_face, strength_of, thread_of
from bedplate.shop.clamping.lubricants import LUBRICANTS, USUAL_FRICTION, lubricant


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
    friction: tuple[float, float] = USUAL_FRICTION
    class_of_wrench: tuple[str, str] = ("II", "A")
    angle_off: float = 3 * pi / 180
    stretch_off: float = 0.0003 * 0.0254
    typed: tuple[str, Quantity] | None = None


def question_of(fastener: Fastener, plan: Plan, part_modulus: float = 70e9) -> Question | None:
    """Return what a plan asks of a group, None where figures for an answer are missing."""
    size = thread_of(fastener)
    stages = [s for s in plan.stages if s.group == fastener.group and s.value is not None]
    torques = [s.value.value for s in stages if s.doing is Doing.TORQUE and s.value]
    angles = [s.value.value for s in stages if s.doing is Doing.ANGLE and s.value]
    if size is None or not torques:
        return None
    kind = lubricant(fastener.lubricant)
    head, hole = bearing_face(fastener)
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
        friction=(kind.low, kind.high) if kind else USUAL_FRICTION,
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
        return USUAL_FRICTION
    kind = lubricant(named)
    if kind is None:
        known = "; ".join(one.name for one in LUBRICANTS)
        sentence = f"The friction of '{named[:40]}' is not known here."
        raise InputError(sentence, hint=f"Known are: {known}. Or give --friction 0.10..0.14.")
    return kind.low, kind.high
