"""Which two half shells may lie in which bearing, and how far each pair is from its target."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot
from typing import TYPE_CHECKING

from bedplate.errors import ConflictError, InputError, NotFoundError, NotPossibleError
from bedplate.shop.selection.model import (
    LOADED,
    Bearing,
    Estimate,
    Grade,
    HalfShell,
    Role,
    ShellRules,
    Side,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# Sizes are compared in whole nm: a tenth of what the best bench micrometer shows, and exact for
# every reading in 0.0001 in or 0.0005 mm.
NANOMETRE = 1e-9


def nanometres(size: float) -> int:
    """Return a size in whole nm.

    :param size: m
    """
    return round(size / NANOMETRE)


@dataclass(frozen=True, slots=True)
class Batch:
    """Half shells that nothing tells apart, by the ids that they stand under.

    :param price: 1 for a shell that must be bought, 0 for one on the bench
    """

    shell: HalfShell
    ids: tuple[str, ...]
    price: int = 0

    @property
    def wall(self) -> int:
        """Return the wall in nm."""
        return nanometres(self.shell.wall.value)


@dataclass(frozen=True, slots=True)
class Pairs:
    """Every pair that is legal and inside the limits: one column each, sizes in nm."""

    bearing: NDArray[np.int64]
    upper: NDArray[np.int64]
    lower: NDArray[np.int64]
    away: NDArray[np.int64]

    def within(self, mask: NDArray[np.bool_]) -> Pairs:
        """Return the pairs under a mask."""
        return Pairs(self.bearing[mask], self.upper[mask], self.lower[mask], self.away[mask])


def check(
    bearings: Sequence[Bearing],
    stock: Sequence[HalfShell],
    fitted: Mapping[str, tuple[str, str]] | None = None,
) -> None:
    """Refuse names that stand twice and grooved shells of which no rule says where they go."""
    _once("bearing", [b.id for b in bearings])
    _once("shell", [s.id for s in stock])
    for shell in stock:
        free = shell.grooved and shell.side is None
        lost = [b.id for b in bearings if b.family == shell.family and not b.groove]
        if free and lost:
            sentence = f"Shell {shell.id} is grooved, and nothing says which side of {lost[0]} is."
            raise InputError(sentence, hint="Give the shell a side, or the bearing its groove.")
    unknown = sorted(set(fitted or {}) - {b.id for b in bearings})
    if unknown:
        raise NotFoundError(f"Shells are fitted in {unknown[0]}, which is not a bearing here.")


def _once(what: str, ids: list[str]) -> None:
    seen: set[str] = set()
    for id in ids:
        if id in seen:
            raise ConflictError(f"Two {what}s are called {id}.", hint="Give each its own name.")
        seen.add(id)


def check_enough(bearings: Sequence[Bearing], stock: Sequence[HalfShell]) -> None:
    """Refuse a box with fewer halves than the bearings take."""
    for family in dict.fromkeys(b.family for b in bearings):
        needed = 2 * sum(b.family == family for b in bearings)
        there = sum(s.count for s in stock if s.family == family)
        if there < needed:
            of = f" of {family}" if family else ""
            sentence = f"{needed // 2} bearings{of} take {needed} half shells; {there} are there."
            raise NotPossibleError(sentence, hint="Ask which shells to buy.")


def batches(stock: Iterable[HalfShell], price: int = 0) -> tuple[Batch, ...]:
    """Put shells that nothing tells apart together, in the order of the stock."""
    ids: dict[HalfShell, list[str]] = {}
    for shell in stock:
        if shell.count:
            alike = replace(shell, id="", count=1)
            ids.setdefault(alike, []).extend([shell.id] * shell.count)
    return tuple(Batch(shell, tuple(of), price) for shell, of in ids.items())


def to_buy(grades: Iterable[Grade], bearings: Sequence[Bearing]) -> tuple[Batch, ...]:
    """Return every grade as shells that could be bought, as many as could be needed."""
    return tuple(
        Batch(
            HalfShell(
                id="",
                grade=grade.name,
                wall=grade.wall,
                side=side,
                grooved=side in grade.grooved,
                coated=grade.coated,
                family=grade.family,
            ),
            ("",) * sum(b.family == grade.family for b in bearings),
            price=1,
        )
        for grade in grades
        for side in grade.sides
    )


def may_lie(bearing: Bearing, shell: HalfShell, side: Side) -> str:
    """Return why a half may not lie on a side of a bearing, '' if it may."""
    if shell.family != bearing.family:
        return f"it is a shell for {shell.family or 'another bearing'}"
    if shell.side is not None and shell.side != side:
        return f"it is {_an(shell.side)} half"
    if bearing.groove and shell.grooved != (bearing.groove in {side, "both"}):
        return f"the {side} half is {'plain' if shell.grooved else 'grooved'} there"
    allowed = bearing.upper_grades if side == "upper" else bearing.lower_grades
    if allowed and shell.grade not in allowed:
        return f"the book asks for {' or '.join(sorted(allowed))} there"
    return ""


def _an(side: Side) -> str:
    return f"an {side}" if side == "upper" else f"a {side}"


def may_meet(role: Role, upper: HalfShell, lower: HalfShell, rules: ShellRules) -> str:
    """Return why two halves may not lie in one bearing, '' if they may."""
    met = (upper.grade, lower.grade)
    if met in rules.forbidden or met[::-1] in rules.forbidden:
        return f"{met[0]} and {met[1]} are a forbidden pair"
    difference = nanometres(upper.wall.value) - nanometres(lower.wall.value)
    most = rules.wall_difference
    if most is not None and abs(difference) > nanometres(most):
        return f"their walls differ by {abs(difference) / 1000:g} µm"
    if rules.thicker != "anywhere" and abs(difference) > nanometres(rules.alike_within):
        thicker = "upper" if difference > 0 else "lower"
        if (thicker == LOADED[role]) != (rules.thicker == "loaded"):
            return f"the thicker half belongs on the {rules.thicker} side"
    if not rules.mixed_coating and upper.coated != lower.coated:
        return "one is coated and the other bare"
    return ""


def pairs_of(
    bearings: Sequence[Bearing],
    pool: Sequence[Batch],
    rules: ShellRules,
    fitted: Mapping[int, tuple[int, int]] | None = None,
) -> Pairs:
    """Return every legal pair of every bearing that lies inside its limits.

    :param fitted: for a bearing's place the batches that lie in it and stay
    """
    import numpy as np

    legal: dict[object, tuple[NDArray[np.int64], ...]] = {}
    found: list[list[NDArray[np.int64]]] = [[], [], [], []]
    for place, bearing in enumerate(bearings):
        kind = _kind(bearing)
        if kind not in legal:
            legal[kind] = _legal(bearing, pool, rules)
        upper, lower, walls = legal[kind]
        off = nanometres(bearing.walls.value) - walls
        least, most = (nanometres(x - bearing.target) for x in (bearing.low, bearing.high))
        inside = (off >= least) & (off <= most)
        if fitted and place in fitted:
            inside &= (upper == fitted[place][0]) & (lower == fitted[place][1])
        taken = (upper[inside], lower[inside], np.abs(off[inside]))
        for column, values in zip(found, (np.full(len(taken[0]), place), *taken), strict=True):
            column.append(values)
    return Pairs(*(np.concatenate(column) for column in found))


def _kind(bearing: Bearing) -> object:
    return (
        bearing.role,
        bearing.family,
        bearing.groove,
        bearing.upper_grades,
        bearing.lower_grades,
    )


def _legal(
    bearing: Bearing, pool: Sequence[Batch], rules: ShellRules
) -> tuple[NDArray[np.int64], ...]:
    import numpy as np

    halves: dict[Side, list[int]] = {"upper": [], "lower": []}
    for side, places in halves.items():
        places += [n for n, b in enumerate(pool) if not may_lie(bearing, b.shell, side)]
    rows = [
        (upper, lower, pool[upper].wall + pool[lower].wall)
        for upper in halves["upper"]
        for lower in halves["lower"]
        if (upper != lower or len(pool[upper].ids) > 1)
        and not may_meet(bearing.role, pool[upper].shell, pool[lower].shell, rules)
    ]
    table = np.array(rows, dtype=np.int64).reshape(-1, 3)
    return table[:, 0], table[:, 1], table[:, 2]


def fault_of(bearing: Bearing, upper: HalfShell, lower: HalfShell, rules: ShellRules) -> str:
    """Return why two halves may not lie in a bearing, '' if they may."""
    reason = may_lie(bearing, upper, "upper") or may_lie(bearing, lower, "lower")
    reason = reason or may_meet(bearing.role, upper, lower, rules)
    if reason:
        return reason
    clearance = predicted(bearing, upper, lower).value
    if not bearing.low - NANOMETRE / 2 <= clearance <= bearing.high + NANOMETRE / 2:
        return f"a clearance of {clearance * 1000:.4f} mm is outside the limits"
    return ""


def predicted(
    bearing: Bearing, upper: HalfShell, lower: HalfShell, wall_setting: float = 0.0
) -> Estimate:
    """Return the clearance that two halves should give: housing − walls − journal.

    :param wall_setting: standard uncertainty that measured walls share, m; it counts once for each
        measured wall, so twice where both were measured
    """
    value = bearing.target + (bearing.walls.value - upper.wall.value - lower.wall.value)
    shared = wall_setting * (upper.measured + lower.measured)
    spread = hypot(
        bearing.walls.uncertainty, upper.wall.uncertainty, lower.wall.uncertainty, shared
    )
    return Estimate(value, spread)
