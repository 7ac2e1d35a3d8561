"""How much a bolt stretches and its joint gives, for each newton of clamp.

Resilience is the word of VDI 2230 for metres per newton, the inverse of stiffness: along one line
of force resiliences add.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import pi

from bedplate.errors import InputError
from bedplate.physics.checks import require_positive
from bedplate.physics.thread import Thread


class Head(StrEnum):
    """Shape of a bolt's head, which gives a little too."""

    HEXAGON = "hexagon"
    CYLINDRICAL = "cylindrical"


class Held(StrEnum):
    """What holds the other end of the bolt."""

    NUT = "nut"
    TAPPED_HOLE = "tapped hole"


_HEAD_LENGTH = {Head.HEXAGON: 0.5, Head.CYLINDRICAL: 0.4}
_SHIFT_LENGTH = {Held.NUT: 0.4, Held.TAPPED_HOLE: 0.33}


@dataclass(frozen=True, slots=True)
class Section:
    """A length of the bolt between head and engaged thread.

    :param length: m
    :param diameter: of the area that carries, m; of a free thread d3 (VDI) or d_s (textbooks)
    """

    length: float
    diameter: float

    @property
    def area(self) -> float:
        """Carrying area, m²."""
        return pi / 4 * self.diameter**2


def bolt_resilience(
    thread: Thread,
    sections: Sequence[Section],
    modulus: float,
    head: Head | None = Head.HEXAGON,
    held: Held | None = Held.TAPPED_HOLE,
    holder_modulus: float | None = None,
) -> float:
    """Return the resilience of a bolt, stepped shank, free thread, head and engagement, m/N.

    Σ l/(E·A) over the sections; to them the head as 0.5·d (hexagon) or 0.4·d (cylindrical) of
    nominal area, the engaged core as 0.5·d of root area, and what the engaged flanks shift as
    0.4·d (nut, of the bolt's modulus) or 0.33·d (tapped hole, of the hole's) of nominal area.

    :param thread: of basic size
    :param sections: between bearing face and first engaged thread; their lengths are the grip
    :param modulus: E of the bolt, Pa
    :param head: None leaves the head rigid, as textbooks do
    :param held: None leaves the engagement rigid
    :param holder_modulus: E of the part with the tapped hole, Pa; None: the bolt's
    :source: VDI 2230-1:2003, 5.1.1.1 (equations R3/1 to R3/4)
    """
    require_positive(modulus=modulus)
    if not sections:
        raise InputError("A bolt needs at least one length between head and engaged thread.")
    for section in sections:
        require_positive(section_length=section.length, section_diameter=section.diameter)
    holder = modulus if holder_modulus is None else holder_modulus
    require_positive(modulus_of_the_tapped_part=holder)
    whole = sum(section.length / section.area for section in sections) / modulus
    size, nominal = thread.diameter, thread.nominal_area
    if head is not None:
        whole += _HEAD_LENGTH[head] * size / (modulus * nominal)
    if held is not None:
        whole += 0.5 * size / (modulus * thread.minor_area)
        shifting = modulus if held is Held.NUT else holder
        whole += _SHIFT_LENGTH[held] * size / (shifting * nominal)
    return whole


def twist_resilience(sections: Sequence[Section], shear_modulus: float) -> float:
    """Return how far a bolt's free length winds up for each newton metre in its thread, rad/(N·m).

    Some of the angle on the wrench goes there and not into clamp.

    :param sections: between bearing face and first engaged thread
    :param shear_modulus: G, Pa; about 80 GPa for steel
    :source: torsion of a round bar, Σ 32·l/(π·G·d⁴)
    """
    require_positive(shear_modulus=shear_modulus)
    for section in sections:
        require_positive(section_length=section.length, section_diameter=section.diameter)
    return sum(32 * s.length / (pi * shear_modulus * s.diameter**4) for s in sections)
