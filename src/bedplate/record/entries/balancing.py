"""Weights, balance cards, and all that turns with the crank."""

from __future__ import annotations

import msgspec

from bedplate.record.entries.entry import Entry, Typed


class Weighed(Entry, frozen=True, tag="weighed"):
    """What a part weighs; again for the same part and number it replaces the one before.

    :param part: 'piston', 'pin', 'locks', 'rings', 'small end', 'big end', 'rod', 'shells', 'crank'
    :param number: label of the cylinder, '' where all are alike
    :param uncertainty: of the scale, expanded, k = 2; None if nobody said
    """

    part: str
    weight: Typed
    number: str = ""
    uncertainty: Typed | None = None
    scale: str = ""


class CardLine(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One line of a balance card.

    :param times: how often it is in the sum: 2 for two rods, 0.5 for half of it
    """

    name: str
    value: Typed
    times: float


class PlaneResidual(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The unbalance left in one plane."""

    plane: str
    amount: Typed
    angle: Typed | None = None


class BalanceCardTaken(Entry, frozen=True, tag="balance card taken"):
    """A balancing shop's card, as it was handed over.

    :param bob_weight: that the card gives for one throw
    :param mass: of the crank as it was balanced, without bob-weights
    :param speed: that the residual is judged at
    :param grade: that the card claims, mm/s
    :param on_crank: parts that were on the crank
    :param marks: which one of each it was, in the order of `on_crank`, '' where nobody said
    """

    shop: str
    residual: tuple[PlaneResidual, ...]
    lines: tuple[CardLine, ...] = ()
    bob_weight: Typed | None = None
    mass: Typed | None = None
    speed: Typed | None = None
    grade: float | None = None
    on_crank: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    machine: str = ""


class TurningPart(Entry, frozen=True, tag="turning part"):
    """How a part that turns with the crank stands in its balance.

    :param standing: 'chosen', 'balanced with the crank', 'balanced on its own', 'matched',
        'not fitted'
    :param residual: unbalance left in it
    :param reason: why it is not fitted; which part it was matched to
    """

    part: str
    standing: str
    identity: str = ""
    residual: Typed | None = None
    reason: str = ""


class BalanceClosed(Entry, frozen=True, tag="balance closed"):
    """A person calls all that turns balanced.

    :param parts: everything that turns, as it was then
    :param derived: SHA-256 of how each of them stood
    """

    statement: str
    parts: tuple[str, ...]
    derived: str


class TorsionMeasured(Entry, frozen=True, tag="torsion measured"):
    """What was measured of the crank in torsion; again it replaces the one before.

    :param what: 'stiffness of a throw', 'first natural frequency' (of the whole train, damper off)
    :param uncertainty: expanded, k = 2; None if nobody said
    :param instrument: with what, and how
    """

    what: str
    value: Typed
    uncertainty: Typed | None = None
    instrument: str = ""
