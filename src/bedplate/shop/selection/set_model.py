"""Parts that make up a set: bore, piston, pin, rod, ring pack; fits between them; the answer.

Sizes are in m, weights in kg.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Literal

from bedplate.errors import InputError
from bedplate.shop.selection.model import Estimate, Proof
from bedplate.shop.selection.pairs import nanometres

First = Literal["fit", "weight"]


@dataclass(frozen=True, slots=True)
class Kind:
    """All parts of one kind, one for each cylinder.

    :param weights: for each part its weight; 0 for what does not move, such as a bore
    """

    name: str
    weights: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class SetFit:
    """The fit between two kinds of parts, such as piston and bore.

    :param between: names of the two kinds
    :param clearance: for each pair of parts, in the order of `between`
    :param near: a deviation from target that is not worth counting, such as the uncertainty
    :param importance: how much a µm counts here beside a µm in another fit; a whole number
    """

    name: str
    between: tuple[str, str]
    clearance: Mapping[tuple[str, str], Estimate]
    target: float
    low: float
    high: float
    near: float = 0.0
    importance: int = 1

    def __post_init__(self) -> None:
        """Refuse limits that are crossed, and importance that is none."""
        if not self.low <= self.target <= self.high:
            raise InputError(f"{self.name}: the target clearance must lie within its limits.")
        if self.importance < 1:
            raise InputError(f"{self.name}: the importance must be a whole number from 1 up.")

    @property
    def pairs(self) -> Collection[tuple[str, str]]:
        """Return the pairs that are known."""
        return self.clearance.keys()

    def cost(self, pair: tuple[str, str]) -> int | None:
        """Return what a pair counts in nm; None where it is outside the limits."""
        clearance = nanometres(self.clearance[pair].value)
        if not nanometres(self.low) <= clearance <= nanometres(self.high):
            return None
        off = abs(clearance - nanometres(self.target)) - nanometres(self.near)
        return max(0, off) * self.importance

    def matched(self, pair: tuple[str, str]) -> tuple[MatchedFit, ...]:
        """Return what is predicted of a pair."""
        clearance = self.clearance[pair]
        return (MatchedFit(self.name, clearance, clearance.value - self.target),)


@dataclass(frozen=True, slots=True)
class RingGap:
    """The end gap of one ring in one bore, as predicted before it is filed; m.

    :param target: gap wanted in that bore
    :param most: greatest gap allowed in that bore, None where nobody gives one
    """

    name: str
    gap: Estimate
    target: float
    most: float | None = None

    @property
    def to_file(self) -> float:
        """Return what is to be filed off for the target, 0 where the gap has it already."""
        return max(0.0, self.target - self.gap.value)


@dataclass(frozen=True, slots=True)
class RingFit:
    """The gaps of ring packs, or of single rings, in the bores: filed up to their targets.

    A gap below its target counts by what is to be filed, one above by how far it is above, which
    no file brings back; one above its most is not allowed in that bore. Filing and excess change
    by π for each unit of bore, so where no gap is above its target anywhere, every choice asks for
    the same filing in all, and the other fits and the weights decide.

    :param gaps: for each pair of bore and pack its gaps, in the order of `between`
    """

    name: str
    between: tuple[str, str]
    gaps: Mapping[tuple[str, str], tuple[RingGap, ...]]

    @property
    def pairs(self) -> Collection[tuple[str, str]]:
        """Return the pairs that are known."""
        return self.gaps.keys()

    def cost(self, pair: tuple[str, str]) -> int | None:
        """Return what a pair counts in nm; None where a gap is too big already."""
        total = 0
        for ring in self.gaps[pair]:
            gap = nanometres(ring.gap.value)
            if ring.most is not None and gap > nanometres(ring.most):
                return None
            total += abs(gap - nanometres(ring.target))
        return total

    def matched(self, pair: tuple[str, str]) -> tuple[MatchedFit, ...]:
        """Return what is predicted of a pair."""
        return tuple(
            MatchedFit(ring.name, ring.gap, ring.gap.value - ring.target, ring.to_file)
            for ring in self.gaps[pair]
        )


Fitting = SetFit | RingFit
"""What joins two kinds of parts."""


def clearances(
    outer: Mapping[str, Estimate], inner: Mapping[str, Estimate]
) -> dict[tuple[str, str], Estimate]:
    """Return the clearance of every outer part with every inner one, measured independently."""
    return {(a, b): hole.less(shaft) for a, hole in outer.items() for b, shaft in inner.items()}


@dataclass(frozen=True, slots=True)
class MatchedFit:
    """One fit of a set: predicted clearance and how far it is from its target.

    :param to_file: what is to be filed off a ring for its target
    """

    name: str
    clearance: Estimate
    deviation: float
    to_file: float = 0.0


@dataclass(frozen=True, slots=True)
class MatchedSet:
    """The parts of one cylinder.

    :param parts: for each kind the part
    :param to_lightest: by how much it is heavier than the lightest set
    :param to_remove: what has to go to bring it within the tolerance of the lightest set
    """

    parts: Mapping[str, str]
    weight: float
    to_lightest: float
    to_remove: float
    fits: tuple[MatchedFit, ...]


@dataclass(frozen=True, slots=True)
class SetSelection:
    """Which parts go together.

    :param spread: heaviest set less lightest
    :param proof: its goals are 'total fit' and 'spread over tolerance', in the builder's order
    """

    sets: tuple[MatchedSet, ...]
    spread: float
    proof: Proof = field(default_factory=Proof)
