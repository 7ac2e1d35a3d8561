"""What holds the engine together: fasteners in groups, and the plans by which they are tightened.

Figures come from the engine file or are missing; none is worked out here. The order of the bolts is
the one that the maker prints: it is never made from where the holes are.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bedplate.engine.features import Per
from bedplate.engine.fits import Gate
from bedplate.quantity import Quantity, Range


class Doing(StrEnum):
    """What a stage of a tightening plan asks for."""

    DRAW_DOWN = "draw down"
    TORQUE = "torque"
    ANGLE = "angle"
    STRETCH = "stretch"
    LOOSEN = "loosen"
    WAIT = "wait"
    TURN = "turn the crank"


BY_BOLT = frozenset({Doing.TORQUE, Doing.ANGLE, Doing.STRETCH, Doing.LOOSEN, Doing.DRAW_DOWN})
"""Stages that are done bolt by bolt; the others are done once."""

TIGHTENING = frozenset({Doing.TORQUE, Doing.ANGLE, Doing.STRETCH})
"""Stages that stretch a bolt, and so count as a tightening of it."""

NEEDS_FIGURE = TIGHTENING


@dataclass(frozen=True, slots=True)
class Hole:
    """Where a fastener goes.

    :param number: printed next to the hole in the picture, from 1
    :param name: as the file says it, 'main 3 left'
    :param at: 'main', 'bay', 'joint', 'free end', 'drive end'; '' where the file does not say
    :param index: number of the main or the bay (bay 2 lies between mains 2 and 3)
    :param side: 'left' or 'right' as seen from the free end with the deck up; '' for the middle
    :param lane: 'inner', 'outer' or 'side', '' for the only row
    """

    number: int
    name: str
    at: str = ""
    index: int = 0
    side: str = ""
    lane: str = ""


@dataclass(frozen=True, slots=True)
class Fastener:
    """A group of fasteners that are alike.

    :param per: how often the group is there: once, or for each main or cylinder
    :param thread: as typed, 'M10 x 1.5' or '7/16-14 UNC'
    :param property_class: as typed: '10.9', 'grade 8', or words for a material
    :param grip: length of the clamped parts, m
    :param free_thread: length of the unengaged thread within the grip, m
    :param engaged: length of thread in the hole, m
    :param head: diameter of the face under the head or washer, m
    :param hole: diameter of the clearance hole, m
    :param lubricate: where the lubricant goes
    :param once: single use
    :param cycles: tightenings in its life, None where the file gives no limit
    :param lengths: permitted free length
    :param stretch: permitted stretch when tight
    :param never: why it must never be loosened, '' if it may
    """

    group: str
    per: Per
    count: int
    thread: str
    property_class: str
    length: Quantity | None
    grip: Quantity | None
    free_thread: Quantity | None
    engaged: Quantity | None
    head: Quantity | None
    hole: Quantity | None
    lubricant: str
    lubricate: str
    sealant: str
    once: bool
    cycles: int | None
    lengths: Range | None
    stretch: Range | None
    never: str
    holes: tuple[Hole, ...]
    source: str
    line: int


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of a plan.

    :param number: its place in the plan, from 1
    :param group: '' where no bolt is touched
    :param order: numbers of the bolts as the maker prints them; empty where the file does not say
    :param value: torque, angle or stretch; None where the file does not say
    :param limits: what is expected of the turning torque, or permitted of the stretch
    :param expect: the same in words
    :param wait: how long, s
    """

    number: int
    doing: Doing
    group: str
    order: tuple[int, ...]
    value: Quantity | None
    in_one_pull: bool
    limits: Range | None
    expect: str
    until: str
    wait: Quantity | None
    note: str


@dataclass(frozen=True, slots=True)
class Sealant:
    """What is spread on a joint, and how long it stays open."""

    what: str
    open: Quantity | None


@dataclass(frozen=True, slots=True)
class Plan:
    """How the groups of one joint are tightened.

    :param gate: what it closes
    :param digest: of everything that matters to a run, so that a change is seen
    """

    name: str
    per: Per
    gate: Gate
    stages: tuple[Stage, ...]
    sealant: Sealant | None
    source: str
    digest: str
    line: int

    @property
    def groups(self) -> tuple[str, ...]:
        """Return the groups that the plan tightens, in the order they first come."""
        return tuple(dict.fromkeys(s.group for s in self.stages if s.group))


@dataclass(frozen=True, slots=True)
class OwnStep:
    """A step of the assembly that the maker asks for.

    :param after: name of the step it follows
    """

    name: str
    after: str
    proofs: tuple[str, ...]
    caution: str
    turning: bool
    source: str


@dataclass(frozen=True, slots=True)
class AssemblyRules:
    """What the engine file says of putting the engine together; '' and None where it does not.

    :param gallery_plugs: plugs of the oil galleries, taken out for cleaning
    :param pin_locks: locks of one piston pin
    :param turning: turning torque of the crank alone, all mains tight
    """

    gallery_plugs: int | None = None
    pin_locks: int | None = None
    seal_lip: str = ""
    seal_material: str = ""
    seal_depth: str = ""
    ring_gaps: str = ""
    turning: Range | None = None
    source: str = ""
    steps: tuple[OwnStep, ...] = ()
