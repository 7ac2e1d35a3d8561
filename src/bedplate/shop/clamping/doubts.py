"""Torques that are asked about, since the bolt would hardly be used, or be broken."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.engine import Doing, Fastener, Stage
from bedplate.physics.bolt import utilisation
from bedplate.physics.property_class import Strength, property_class
from bedplate.physics.thread import Thread
from bedplate.physics.tightening import preload
from bedplate.quantity import Dimension, Quantity, Units, parse, show
from bedplate.shop.clamping.bolts import bearing_face, bearing_of, strength_of, thread_of
from bedplate.shop.clamping.lubricants import USUAL_FRICTION, lubricant

_TOO_LITTLE, _TOO_LITTLE_FIRST, _TOO_LITTLE_INCHES, _TOO_MUCH = 0.12, 0.02, 0.06, 1.2
"""Shares of the yield strength beyond which a torque is asked about: for the last torque, for one
that more follows, for such a one in lbf·in, and for any. A rule of ours, common practice, no
source."""


def doubt_of_torque(fastener: Fastener, stage: Stage, *, last: bool, units: Units) -> str:
    """Return the question about a torque that is strange for the size, '' if there is none.

    :param last: nothing tightens the group after this stage
    """
    size = thread_of(fastener)
    if stage.doing is not Doing.TORQUE or stage.value is None or size is None:
        return ""
    kind = lubricant(fastener.lubricant)
    strength = strength_of(fastener.property_class, size.diameter)
    friction = kind.middle if kind else sum(USUAL_FRICTION) / 2
    held = Held(
        fastener.thread, size, strength, friction, bearing_of(size, *bearing_face(fastener))
    )
    return doubt_about(held, stage.value, last=last, units=units)


@dataclass(frozen=True, slots=True)
class Held:
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


def doubt_about(held: Held, torque: Quantity, *, last: bool, units: Units) -> str:
    """Return the question about a torque that is strange for a bolt, '' if there is none.

    :param last: nothing tightens it after that
    """
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
