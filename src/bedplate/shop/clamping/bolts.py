"""The thread, the strength and the bearing face of a bolt, as an engine file has them."""

from __future__ import annotations

from bedplate.engine import Fastener
from bedplate.errors import InputError
from bedplate.physics.property_class import Strength, grade, property_class
from bedplate.physics.thread import Thread, thread
from bedplate.physics.tightening import bearing_diameter

_WIDER = 1.3
"""Diameter of friction under the head over that of the thread, where the file gives no head."""


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


def thread_of(fastener: Fastener) -> Thread | None:
    """Return the thread of a group, None where the file does not say it, or says an unusual one."""
    if not fastener.thread:
        return None
    try:
        return thread(fastener.thread)
    except InputError:
        return None


def bearing_face(fastener: Fastener) -> tuple[float | None, float | None]:
    """Return the outer diameter of the bearing face and its hole, m; None where not said."""
    return tuple(  # type: ignore[return-value]
        None if one is None else one.value for one in (fastener.head, fastener.hole)
    )
