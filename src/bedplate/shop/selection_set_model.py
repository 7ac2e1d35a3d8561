"""Parts that make up a set: bore, piston, pin, rod, ring pack; fits between them; the answer.

Sizes are in m, weights in kg.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from bedplate.errors import InputError
from bedplate.shop.selection_model import Estimate, Proof

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


def clearances(
    outer: Mapping[str, Estimate], inner: Mapping[str, Estimate]
) -> dict[tuple[str, str], Estimate]:
    """Return the clearance of every outer part with every inner one, measured independently."""
    return {(a, b): hole.less(shaft) for a, hole in outer.items() for b, shaft in inner.items()}


@dataclass(frozen=True, slots=True)
class MatchedFit:
    """One fit of a set: predicted clearance and how far it is from its target."""

    name: str
    clearance: Estimate
    deviation: float


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
