"""What is on the bolts, and what another lubricant does to the clamp."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.engine import Fastener
from bedplate.physics.tightening import clamp_ratio
from bedplate.shop.clamping.bolts import bearing_face, bearing_of, thread_of
from bedplate.wording import plain

USUAL_FRICTION = (0.08, 0.16)


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
    return plain(one) == plain(other)


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
    bearing = bearing_of(size, *bearing_face(fastener))
    ratio = clamp_ratio(size, bearing, (meant.middle,) * 2, (got.middle,) * 2)
    ends = (meant.high, got.low) if ratio >= 1 else (meant.low, got.high)
    worst = clamp_ratio(size, bearing, (ends[0],) * 2, (ends[1],) * 2)
    return Mismatch(fastener.lubricant, used, ratio, worst)
