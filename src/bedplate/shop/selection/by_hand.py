"""Half shells moved by hand: what it makes of the fits, and how far it is from the best."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bedplate.errors import EntryError, NotPossibleError
from bedplate.shop.selection.model import Bearing, HalfShell, Placed, ShellRules
from bedplate.shop.selection.pairs import fault_of, predicted
from bedplate.shop.selection.shell_question import ShellQuestion
from bedplate.shop.selection.words import millimetres

if TYPE_CHECKING:
    from bedplate.shop.selection.model import ShellSelection


_SIDES = ("upper", "lower")


@dataclass(frozen=True, slots=True)
class HandPair(Placed):
    """Two halves in one bearing, put there by hand.

    :param fault: why they may not lie there, '' if they may
    """

    fault: str


@dataclass(frozen=True, slots=True)
class HandPlaced:
    """A placement moved by hand; lengths in m.

    :param faults: what is not allowed, a sentence each
    """

    pairs: tuple[HandPair, ...]
    faults: tuple[str, ...]

    @property
    def worst(self) -> float:
        """Return the greatest deviation from target."""
        return max((abs(pair.deviation) for pair in self.pairs), default=0.0)

    @property
    def total(self) -> float:
        """Return the sum of the deviations from target."""
        return sum(abs(pair.deviation) for pair in self.pairs)


def moved_by_hand(
    question: ShellQuestion, found: ShellSelection, moves: Mapping[str, str]
) -> HandPlaced:
    """Return the placement that moves make of a selection; a shell in two places is a fault.

    :param moves: identity by place, 'main 3 upper'
    :raises EntryError: a place or a shell that there is not
    """
    shells = {shell.id: shell for shell in question.shells}
    base = {pair.bearing: (pair.upper, pair.lower) for pair in found.placed}
    places = {f"{bearing.id} {side}" for bearing in question.bearings for side in _SIDES}
    for place, identity in moves.items():
        if place not in places:
            sentence = f"There is no place '{place[:60]}'."
            raise EntryError(sentence, hint=f"There is {', '.join(sorted(places)[:6])} ….")
        if identity not in shells:
            raise EntryError(f"There is no half shell '{identity[:60]}' in the box.")
    pairs, used = [], dict.fromkeys(shells, 0)
    for bearing in question.bearings:
        start = base.get(bearing.id, ("", ""))
        upper, lower = (
            moves.get(f"{bearing.id} {side}", start[index]) for index, side in enumerate(_SIDES)
        )
        if not upper or not lower:
            continue
        used[upper] += 1
        used[lower] += 1
        pairs.append(_pair(bearing, shells[upper], shells[lower], question.rules))
    faults = [f"{pair.bearing}: {pair.fault}" for pair in pairs if pair.fault]
    faults += [
        f"'{name}' lies in {count} places, and there {_are(shells[name].count)}"
        for name, count in used.items()
        if count > shells[name].count
    ]
    return HandPlaced(tuple(pairs), tuple(faults))


def _pair(bearing: Bearing, upper: HalfShell, lower: HalfShell, rules: ShellRules) -> HandPair:
    clearance = predicted(bearing, upper, lower)
    return HandPair(
        bearing=bearing.id,
        upper=upper.id,
        lower=lower.id,
        upper_grade=upper.grade,
        lower_grade=lower.grade,
        clearance=clearance,
        deviation=clearance.value - bearing.target,
        fault=fault_of(bearing, upper, lower, rules),
    )


def _are(count: int) -> str:
    return "is 1" if count == 1 else f"are {count}"


def hand_placed(
    question: ShellQuestion, found: ShellSelection, moves: Mapping[str, str]
) -> tuple[tuple[HandPair, ...], str]:
    """Return a placement moved by hand that may lie so, and how far it is from the best.

    :raises NotPossibleError: it is not allowed
    """
    hand = moved_by_hand(question, found, moves)
    if hand.faults:
        raise NotPossibleError(f"This cannot lie so: {'; '.join(hand.faults)}.")
    worst = millimetres(hand.worst)
    least = millimetres(max((abs(pair.deviation) for pair in found.placed), default=0.0))
    return hand.pairs, f"moved by hand: worst deviation {worst}, where {least} is possible"
