"""Bearings, half shells, the rules between them, and a selection with its proof.

Sizes are in m, uncertainties are standard uncertainties, clearances are diametral.
A half shell's *wall* is its thickness at the crown, coating included (ISO 3548-1 names it wall
thickness); *upper* is the half in block or rod, *lower* the half in the cap.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, sqrt
from typing import Literal, Self

from bedplate.errors import InputError

Side = Literal["upper", "lower"]
Role = Literal["main", "rod"]

LOADED: dict[Role, Side] = {"main": "lower", "rod": "upper"}


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its standard uncertainty, in the same unit."""

    value: float
    uncertainty: float = 0.0

    @classmethod
    def within(cls, value: float, tolerance: float) -> Self:
        """Return what is known of a size that is only promised to ± a tolerance (GUM 4.3.7).

        :param value: nominal, m
        :param tolerance: half the width of what is promised, m
        """
        return cls(value, tolerance / sqrt(3))

    def less(self, other: Estimate) -> Estimate:
        """Return the difference to something measured independently."""
        return Estimate(self.value - other.value, hypot(self.uncertainty, other.uncertainty))


@dataclass(frozen=True, slots=True)
class Bearing:
    """One bearing that needs two half shells.

    :param walls: sum of two walls that gives the target clearance
    :param target: clearance wanted
    :param low: least clearance allowed
    :param high: greatest clearance allowed
    :param family: which shells fit it, as `HalfShell.family`
    :param groove: where the grooved half belongs; '' where no shell of the family is grooved or
        each says its side
    :param upper_grades: grades that the book allows above; empty allows all
    :param lower_grades: grades that the book allows below; empty allows all
    """

    id: str
    role: Role
    walls: Estimate
    target: float
    low: float
    high: float
    family: str = ""
    groove: Literal["upper", "lower", "both", "neither", ""] = ""
    upper_grades: frozenset[str] = frozenset()
    lower_grades: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        """Refuse limits that are crossed or that leave the target out."""
        if not self.low <= self.target <= self.high:
            sentence = f"{self.id}: the target clearance must lie within its limits."
            raise InputError(sentence, hint="Give low ≤ target ≤ high.")

    @classmethod
    def measured(
        cls,
        id: str,
        role: Role,
        room: Estimate,
        limits: tuple[float, float, float],
        *,
        family: str = "",
        groove: Literal["upper", "lower", "both", "neither", ""] = "",
    ) -> Self:
        """Return a bearing whose housing and journal were measured.

        :param room: housing size less journal size, `housing.less(journal)` where they share no
            source of error
        :param limits: least, target and greatest clearance
        """
        low, target, high = limits
        walls = Estimate(room.value - target, room.uncertainty)
        return cls(id, role, walls, target, low, high, family, groove)


@dataclass(frozen=True, slots=True)
class HalfShell:
    """Half shells on the bench that are alike; one with a measured wall stands alone.

    :param grade: colour, number, code or undersize
    :param wall: measured, or nominal with `Estimate.within`
    :param side: where it may go; None lets it go either way
    :param count: how many there are
    """

    id: str
    grade: str
    wall: Estimate
    side: Side | None = None
    grooved: bool = False
    coated: bool = False
    count: int = 1
    family: str = ""
    measured: bool = False

    def __post_init__(self) -> None:
        """Refuse what cannot lie on a bench."""
        if self.count < 0:
            raise InputError(f"Shell {self.id}: a stock of {self.count} is not possible.")
        if self.wall.value <= 0:
            raise InputError(f"Shell {self.id}: a wall must be thicker than nothing.")


@dataclass(frozen=True, slots=True)
class Grade:
    """A grade that can be bought.

    :param sides: the sides that it is made for
    :param grooved: the sides on which it is grooved
    """

    name: str
    wall: Estimate
    family: str = ""
    sides: tuple[Side, ...] = ("upper", "lower")
    grooved: tuple[Side, ...] = ()
    coated: bool = False


@dataclass(frozen=True, slots=True)
class ShellRules:
    """What the maker allows of two halves in one bearing; makers disagree, so each is a choice.

    :param forbidden: pairs of grades that must not meet, whichever is above
    :param wall_difference: greatest difference of the two walls; None allows any
    :param thicker: where the thicker half goes: 'loaded' is lower in a main and upper in a rod
    :param alike_within: walls that differ by no more count as equal for `thicker`
    :param mixed_coating: whether a coated half may meet a bare one
    """

    forbidden: frozenset[tuple[str, str]] = frozenset()
    wall_difference: float | None = None
    thicker: Literal["loaded", "unloaded", "anywhere"] = "anywhere"
    alike_within: float = 0.0
    mixed_coating: bool = True


@dataclass(frozen=True, slots=True)
class Placed:
    """Two halves in one bearing, and what is predicted of them; not yet measured.

    :param deviation: predicted clearance less target
    """

    bearing: str
    upper: str
    lower: str
    upper_grade: str
    lower_grade: str
    clearance: Estimate
    deviation: float


@dataclass(frozen=True, slots=True)
class Goal:
    """One thing that was made as small as possible, and how well that is proved.

    :param bound: no answer can be smaller, given the goals before this one
    :param unit: 'm', 'g' or '' for a count
    """

    name: str
    value: float
    bound: float
    unit: str = ""

    @property
    def gap(self) -> float:
        """Return how much of the value is not proved, 0 to 1."""
        return 0.0 if self.value <= self.bound else (self.value - self.bound) / self.value


@dataclass(frozen=True, slots=True)
class Proof:
    """The goals in their order; 'optimal' only where each bound equals its value."""

    goals: tuple[Goal, ...] = ()

    @property
    def word(self) -> str:
        """Return 'optimal', 'best found', or '' where nothing was placed."""
        if not self.goals:
            return ""
        return "optimal" if all(goal.gap == 0 for goal in self.goals) else "best found"

    @property
    def gap(self) -> float:
        """Return the gap of the first goal that is not proved."""
        return next((goal.gap for goal in self.goals if goal.gap), 0.0)


@dataclass(frozen=True, slots=True)
class Piece:
    """Half shells to buy."""

    grade: str
    side: Side
    family: str
    count: int


@dataclass(frozen=True, slots=True)
class Purchase:
    """The fewest pieces that bring every bearing inside its limits, and where all then goes."""

    pieces: tuple[Piece, ...]
    placed: tuple[Placed, ...]
    proof: Proof


@dataclass(frozen=True, slots=True)
class ShellSelection:
    """Where each half goes; empty where no placement is inside the limits.

    :param left_over: what stays in the box: shell and how many
    :param purchase: what to buy, where the box cannot do it
    :param why_not: a sentence, where nothing was placed
    """

    placed: tuple[Placed, ...]
    left_over: tuple[tuple[str, int], ...]
    proof: Proof
    purchase: Purchase | None = None
    why_not: str = ""
