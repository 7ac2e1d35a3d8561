"""Which piston, pin, rod and ring pack make up the set of which bore, by fit and by weight.

Two goals in the builder's order: the total of the deviations from the fits' targets, and by how
much the spread of the set weights passes a tolerance. Both are found exactly, in steps.

* Fits that join the kinds like a tree ask for independent pairings, so the least total is the sum
  of one linear assignment for each fit. Their dual prices give every pair a surcharge ≥ 0, and the
  total of any choice is that least total plus the surcharges of its pairs.
* A set is a column: one part of each kind, with its surcharge and its weight. A choice is an exact
  cover of all parts by columns. One that costs less than v above the least total has no column
  with a surcharge of v or more: so few columns, those with a small surcharge, are enough to find
  the best and to prove it.
* Let m be the lightest set's weight. Spread ≤ s means that all columns weigh from m to m + s, and
  the mean lies between. The range of m is halved until each part is solved, shown impossible, or
  bounded by what is already found: columns from the least m to the greatest m + s allow more than
  any m within, so their optimum is a bound for all of them.
* The least spread is the least whole s for which a cover exists, by a threshold search: a cover
  at s is one at any greater s. Weights are whole steps and their total is given, so spread is at
  least one step unless the total divides evenly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from math import gcd
from typing import TYPE_CHECKING

from bedplate.errors import ConflictError, InputError, NotPossibleError
from bedplate.shop.selection.covers import FORBIDDEN, Found, Grid
from bedplate.shop.selection.model import Goal, Proof
from bedplate.shop.selection.pairs import NANOMETRE
from bedplate.shop.selection.programme import Clock
from bedplate.shop.selection.set_model import (
    First,
    Fitting,
    Kind,
    MatchedSet,
    SetSelection,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

TIME_LIMIT = 10.0
# Weights are compared in steps of 0.01 g, what a good bench scale shows.
CENTIGRAM = 1e-5
# So many columns a linear programme takes at once in a moment.
_FEW = 8_000
_STARTS = 40
_MOST_COLUMNS = 5_000_000


def select_sets(
    kinds: Sequence[Kind],
    fits: Sequence[Fitting],
    *,
    first: First,
    tolerance: float,
    time_limit: float = TIME_LIMIT,
) -> SetSelection:
    """Put one part of each kind together for each cylinder.

    Fits are compared in whole nm, weights in whole steps of 0.01 g.

    :param kinds: bores first; the sets come in the order of the first kind
    :param first: the goal that counts before the other
    :param tolerance: spread of set weights that is good enough, kg
    :param time_limit: s; the proof says what is left open when it is reached
    :raises InputError: kinds of different counts, a pair without a clearance, fits in a ring
    :raises NotPossibleError: no pairing is inside the limits of a fit
    """
    _check(kinds, fits)
    if tolerance < 0:
        raise InputError("The tolerance of the set weights cannot be below nothing.")
    search = _Search.of(kinds, fits, Clock(time_limit), tolerance)
    taken, proof = search.fit_first() if first == "fit" else search.weight_first()
    return _selection(kinds, fits, search.parts_of(taken), tolerance, proof)


@dataclass(slots=True)
class _Search:
    """What is searched: the grid of all sets, and what counts as good enough.

    :param base: least total of the fits, nm
    :param allowed: the sets inside all limits, by rising surcharge
    :param step: one step of weight in 0.01 g
    :param tolerance: spread that is good enough, in 0.01 g
    :param cheapest: the sets that follow the best pairing of every fit
    """

    grid: Grid
    base: int
    allowed: NDArray[np.int64]
    step: int
    tolerance: int
    clock: Clock
    cheapest: NDArray[np.int64]

    @classmethod
    def of(
        cls, kinds: Sequence[Kind], fits: Sequence[Fitting], clock: Clock, tolerance: float
    ) -> _Search:
        """Work the surcharge and the weight of every set out."""
        import numpy as np

        count, shape = len(kinds[0].weights), tuple(len(kind.weights) for kind in kinds)
        if count ** len(kinds) > _MOST_COLUMNS:
            raise NotPossibleError(f"{count} cylinders of {len(kinds)} kinds are too many sets.")
        steps = [[round(w / CENTIGRAM) for w in kind.weights.values()] for kind in kinds]
        step = reduce(gcd, (w for row in steps for w in row)) or 1
        weight, extra = np.zeros(shape, np.int64), np.zeros(shape, np.int64)
        for axis, row in enumerate(steps):
            weight += _along(np.array(row, np.int64) // step, (axis,), len(shape))
        names = [kind.name for kind in kinds]
        base, pairings = 0, {}
        for fit in fits:
            axes = (names.index(fit.between[0]), names.index(fit.between[1]))
            least, more, match = _pairing(_costs(fit, kinds[axes[0]], kinds[axes[1]]), fit.name)
            base += least
            extra += _along(more, axes, len(shape))
            pairings[axes] = match
        total = sum(w for row in steps for w in row) // step
        grid = Grid(shape, extra.ravel(), weight.ravel(), total)
        order = np.argsort(grid.extra, kind="stable")
        return cls(
            grid=grid,
            base=base,
            allowed=order[grid.extra[order] < FORBIDDEN // 2],
            step=step,
            tolerance=int(tolerance / CENTIGRAM + 1e-6),
            clock=clock,
            cheapest=np.ravel_multi_index(_chain(pairings, shape), shape),
        )

    @property
    def enough(self) -> int:
        """Return the greatest spread that is good enough, in steps."""
        return self.tolerance // self.step

    def fit_first(self) -> tuple[NDArray[np.int64], Proof]:
        """Return the best total of the fits, and among those the least spread."""
        free = self.allowed[self.grid.extra[self.allowed] == 0]
        taken, spread, bound = self._least_spread(free, self.cheapest)
        fit = Goal("total fit", self.base * NANOMETRE, self.base * NANOMETRE, "m")
        return taken, Proof((fit, self._over(spread, bound)))

    def weight_first(self) -> tuple[NDArray[np.int64], Proof]:
        """Return the least spread, as far as it matters, and at that the best total of the fits."""
        start = self.grid.pair_again(self.cheapest, self.enough, self.clock, _STARTS)
        spread = bound = self.enough
        if self.grid.spread(start) > self.enough:
            start, least, bound = self._least_spread(self.allowed, start)
            spread = max(least, self.enough)
        start = min(
            (start, self.grid.pair_again(start, spread, self.clock, _STARTS)),
            key=lambda c: (self.grid.spread(c) > spread, int(self.grid.extra[c].sum())),
        )
        taken, value, least = self._cheapest(spread, start)
        value, least = self.base + value, self.base + least
        fit = Goal("total fit", value * NANOMETRE, least * NANOMETRE, "m")
        return taken, Proof((self._over(spread, bound), fit))

    def parts_of(self, taken: NDArray[np.int64]) -> list[tuple[int, ...]]:
        """Return the parts of each set, in the order of the first kind."""
        return sorted(
            tuple(int(part) for part in parts)
            for parts in zip(*self.grid.parts(taken), strict=True)
        )

    def _over(self, spread: int, bound: int) -> Goal:
        over, least = (max(0, at * self.step - self.tolerance) for at in (spread, bound))
        return Goal("spread over tolerance", over * CENTIGRAM, least * CENTIGRAM, "kg")

    def _cheapest(
        self, spread: int, start: NDArray[np.int64]
    ) -> tuple[NDArray[np.int64], int, int]:
        """Return the sets with the least surcharge at a spread, that surcharge, and a bound."""
        import numpy as np

        best, value, bound = start, int(self.grid.extra[start].sum()), 0
        near = self.grid.near(self.allowed, spread)
        extra = self.grid.extra[near]
        cut, asked = _FEW, -1
        while bound < value and not self.clock.over:
            # A better cover has no column that costs as much as the best one.
            cut = min(cut, int(np.searchsorted(extra, value)))
            if cut == asked:
                break
            rest = int(extra[cut]) if cut < len(near) else FORBIDDEN
            found = self.grid.covers(near[:cut], spread, value, self.clock)
            if found.taken is not None:
                best, value = found.taken, found.value
            bound = min(value, max(bound, min(found.bound, rest)))
            cut, asked = 4 * cut, cut
        return best, value, bound

    def _least_spread(
        self, columns: NDArray[np.int64], start: NDArray[np.int64]
    ) -> tuple[NDArray[np.int64], int, int]:
        """Return the least spread among some columns: those with it, the spread, and a bound.

        A spread below the tolerance is as good as the tolerance, so nothing below is looked for.
        """
        limited = self._only(columns)
        best = limited.pair_again(start, -1, self.clock, _STARTS)
        least = limited.spread(best)
        low = bound = max(self.enough, int(limited.total % limited.number > 0))
        leap = 0
        while low < least and not self.clock.over:
            at = min(low + leap, (low + least) // 2)
            found = self._any_cover(limited, columns, at)
            if found.taken is not None:
                best, least = found.taken, limited.spread(found.taken)
            elif found.impossible:
                low = bound = at + 1
                leap = 2 * leap + 1
            else:
                break
        return best, least, min(bound, least)

    def _only(self, columns: NDArray[np.int64]) -> Grid:
        """Return the grid with all columns but some forbidden, and those free of surcharge."""
        import numpy as np

        extra = np.full(len(self.grid.extra), FORBIDDEN, np.int64)
        extra[columns] = 0
        return Grid(self.grid.shape, extra, self.grid.weight, self.grid.total)

    def _any_cover(self, grid: Grid, columns: NDArray[np.int64], spread: int) -> Found:
        """Return any cover within a spread.

        What weighs nothing is left out first: no cover without it means no cover with it, and a
        cover without it needs one linear assignment to be given its places.
        """
        light = self._light(grid)
        if light is not None:
            smaller, axis = light
            import numpy as np

            kept = np.flatnonzero(smaller.extra == 0)
            found = smaller.covers(
                smaller.near(kept, spread), spread, FORBIDDEN, self.clock, any_will_do=True
            )
            if found.taken is None:
                return found
            whole = _given_places(grid, smaller, axis, found.taken)
            if whole is not None:
                return Found(whole, 0, 0)
        near = grid.near(columns, spread)
        return grid.covers(near, spread, FORBIDDEN, self.clock, any_will_do=True)

    def _light(self, grid: Grid) -> tuple[Grid, int] | None:
        import numpy as np

        weight = grid.weight.reshape(grid.shape)
        extra = grid.extra.reshape(grid.shape)
        for axis in range(len(grid.shape)):
            if len(grid.shape) > 1 and np.all(np.ptp(weight, axis=axis) == 0):
                shape = grid.shape[:axis] + grid.shape[axis + 1 :]
                kept = extra.min(axis=axis).ravel()
                return Grid(shape, kept, weight.min(axis=axis).ravel(), grid.total), axis
        return None


def _given_places(
    grid: Grid, smaller: Grid, axis: int, taken: NDArray[np.int64]
) -> NDArray[np.int64] | None:
    """Return sets with their places along an axis, None if there are no places for all."""
    import numpy as np
    from scipy.optimize import linear_sum_assignment

    parts = list(smaller.parts(taken))
    places = np.arange(grid.number)
    spread_out = [np.repeat(part[:, None], grid.number, axis=1) for part in parts]
    spread_out.insert(axis, np.repeat(places[None, :], grid.number, axis=0))
    columns = np.ravel_multi_index(spread_out, grid.shape)
    rows, match = linear_sum_assignment(grid.extra[columns])
    chosen: NDArray[np.int64] = columns[rows, match]
    return chosen if grid.extra[chosen].max() < FORBIDDEN // 2 else None


def _along(values: NDArray[np.int64], axes: tuple[int, ...], dimensions: int) -> NDArray[np.int64]:
    """Return values shaped to be added along some axes of a grid of all sets."""
    if len(axes) == 2 and axes[0] > axes[1]:
        values, axes = values.T, axes[::-1]
    shape = [1] * dimensions
    for axis, size in zip(axes, values.shape, strict=True):
        shape[axis] = size
    return values.reshape(shape)


def _costs(fit: Fitting, one: Kind, other: Kind) -> NDArray[np.int64]:
    """Return what each pair counts in nm."""
    import numpy as np

    costs = np.full((len(one.weights), len(other.weights)), FORBIDDEN, np.int64)
    for row, first in enumerate(one.weights):
        for column, second in enumerate(other.weights):
            cost = fit.cost((first, second))
            if cost is not None:
                costs[row, column] = cost
    return costs


def _pairing(
    costs: NDArray[np.int64], name: str
) -> tuple[int, NDArray[np.int64], NDArray[np.int64]]:
    """Return the least total of a pairing, each pair's surcharge over it, and the pairing.

    The prices of the columns are shortest ways in the graph that the pairing leaves; they are
    whole numbers, so the surcharges are exact.
    """
    import numpy as np
    from scipy.optimize import linear_sum_assignment

    rows, match = linear_sum_assignment(costs)
    paid = costs[rows, match]
    if paid.max() >= FORBIDDEN:
        sentence = f"{name}: no pairing of the parts is inside the limits for all cylinders."
        raise NotPossibleError(sentence, hint="Change a part, or bore to the parts there are.")
    price = np.zeros(len(match), np.int64)
    for _ in rows:
        price = np.minimum(price, (price[match][:, None] + costs - paid[:, None]).min(axis=0))
    extra = costs - paid[:, None] + price[match][:, None] - price[None, :]
    return int(paid.sum()), extra, match


def _chain(
    pairings: dict[tuple[int, int], NDArray[np.int64]], shape: tuple[int, ...]
) -> list[NDArray[np.int64]]:
    """Return for each kind the parts of the sets that follow the best pairing of every fit."""
    import numpy as np

    count = shape[0]
    parts: dict[int, NDArray[np.int64]] = {}
    while len(parts) < len(shape):
        parts.setdefault(next(k for k in range(len(shape)) if k not in parts), np.arange(count))
        grown = True
        while grown:
            grown = False
            for (one, other), match in pairings.items():
                if one in parts and other not in parts:
                    parts[other], grown = match[parts[one]], True
                elif other in parts and one not in parts:
                    parts[one], grown = np.argsort(match)[parts[other]], True
    return [parts[kind] for kind in range(len(shape))]


def _check(kinds: Sequence[Kind], fits: Sequence[Fitting]) -> None:
    if not kinds or not kinds[0].weights:
        raise InputError("There are no parts to put together.")
    for kind in kinds:
        if len(kind.weights) != len(kinds[0].weights):
            sentence = (
                f"There are {len(kind.weights)} of {kind.name} and "
                f"{len(kinds[0].weights)} of {kinds[0].name}; a set takes one of each."
            )
            raise InputError(sentence, hint="Leave out what is spare.")
        if any(weight < 0 for weight in kind.weights.values()):
            raise InputError(f"A {kind.name} cannot weigh less than nothing.")
    names = [kind.name for kind in kinds]
    if len(set(names)) < len(names):
        raise ConflictError("Each kind of parts is to be given once.")
    joined = {name: name for name in names}
    for fit in fits:
        _check_fit(fit, {kind.name: kind for kind in kinds}, joined)


def _check_fit(fit: Fitting, kinds: dict[str, Kind], joined: dict[str, str]) -> None:
    """Refuse a fit of unknown kinds, one without all its clearances, one that closes a ring."""
    for name in fit.between:
        if name not in kinds:
            raise InputError(f"{fit.name}: no parts of kind '{name}' were given.")
    one, other = (kinds[name] for name in fit.between)
    for pair in ((a, b) for a in one.weights for b in other.weights):
        if pair not in fit.pairs:
            raise InputError(f"{fit.name}: {pair[0]} with {pair[1]} has no clearance.")
    roots = joined[one.name], joined[other.name]
    if roots[0] == roots[1]:
        raise InputError(f"{fit.name}: the fits join the parts in a ring, which is not handled.")
    for name, root in joined.items():
        if root == roots[1]:
            joined[name] = roots[0]


def _selection(
    kinds: Sequence[Kind],
    fits: Sequence[Fitting],
    sets: list[tuple[int, ...]],
    tolerance: float,
    proof: Proof,
) -> SetSelection:
    """Return the sets by name, with what to take off by the rule of the lightest."""
    names = [list(kind.weights) for kind in kinds]
    chosen = [
        {
            kind.name: names[axis][part]
            for axis, (kind, part) in enumerate(zip(kinds, s, strict=True))
        }
        for s in sets
    ]
    weights = [sum(kind.weights[parts[kind.name]] for kind in kinds) for parts in chosen]
    lightest = min(weights)
    matched = tuple(
        MatchedSet(
            parts=parts,
            weight=weight,
            to_lightest=weight - lightest,
            to_remove=_beyond(weight - lightest, tolerance),
            fits=tuple(
                matched
                for fit in fits
                for matched in fit.matched((parts[fit.between[0]], parts[fit.between[1]]))
            ),
        )
        for parts, weight in zip(chosen, weights, strict=True)
    )
    return SetSelection(matched, max(weights) - lightest, proof)


def _beyond(excess: float, tolerance: float) -> float:
    over = excess - tolerance
    return over if over > CENTIGRAM / 2 else 0.0
