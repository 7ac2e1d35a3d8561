"""Sets as columns on a grid of all parts, and exact covers of the parts by columns."""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from itertools import combinations
from math import ceil
from typing import TYPE_CHECKING

from bedplate.shop.selection.programme import Answer, Clock, Rows, solve

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Numbers = NDArray[np.int64]

FORBIDDEN = 2**40
# A cover that breaks a limit by one step costs more than any surcharge can make good.
_BREACH = 2**24
_NEARLY = 1e-3
# So many columns are asked first.
_CORE = 500
# The solver looks at its clock between steps that grow with the columns: no more than so many for
# each second that is left, so that a builder's limit is kept.
_A_SECOND = 1000
_IMPOSSIBLE = 2


@dataclass(slots=True)
class Found:
    """The best columns found, their cost, and a bound on any that could be found."""

    taken: Numbers | None
    value: int
    bound: int

    @property
    def impossible(self) -> bool:
        """Return whether it is proved that there is none."""
        return self.taken is None and self.bound >= FORBIDDEN


@dataclass(frozen=True, slots=True)
class Grid:
    """Every set that can be made: one part of each kind; a column is its place in the flat grid.

    :param shape: how many parts of each kind, the same of each
    :param extra: surcharge of each set, `FORBIDDEN` / 2 or more where a fit is outside its limits
    :param weight: weight of each set, in steps
    :param total: weight of all parts, in steps
    """

    shape: tuple[int, ...]
    extra: Numbers
    weight: Numbers
    total: int

    @property
    def number(self) -> int:
        """Return how many sets there are to be."""
        return self.shape[0]

    def parts(self, columns: Numbers) -> tuple[Numbers, ...]:
        """Return for each kind the parts of some columns."""
        import numpy as np

        return np.unravel_index(columns, self.shape)

    def spread(self, columns: Numbers) -> int:
        """Return the heaviest less the lightest of some columns, in steps."""
        return int(self.weight[columns].max() - self.weight[columns].min())

    def near(self, columns: Numbers, spread: int) -> Numbers:
        """Return the columns that can be in a cover with a spread: no further from the mean."""
        import numpy as np

        off = np.abs(self.weight[columns] * self.number - self.total)
        kept: Numbers = columns[off <= spread * self.number]
        return kept

    def covers(
        self, columns: Numbers, spread: int, below: int, clock: Clock, *, any_will_do: bool = False
    ) -> Found:
        """Return the cover with the least surcharge below a value, within a spread.

        The weight of the lightest set is a whole number from `mean − spread` to `mean`; its range
        is halved, the most promising part first.

        :param any_will_do: stop at the first cover, whatever its surcharge
        """
        import numpy as np

        best = Found(None, below, 0)
        lightest = -(-(self.total - spread * self.number) // self.number)
        blocks = [(0, lightest, self.total // self.number)]
        while blocks and blocks[0][0] < best.value and not clock.over:
            bound, low, high = heapq.heappop(blocks)
            low, high, inside = self._tightened(columns, low, high, spread)
            if low > high:
                continue
            cost = np.zeros(len(inside), np.int64) if any_will_do else self.extra[inside]
            relaxed, beyond = self._priced(inside, cost, clock)
            bound = max(bound, relaxed)
            if bound >= best.value:
                continue
            if low < high:
                middle = (low + high) // 2
                heapq.heappush(blocks, (bound, low, middle))
                heapq.heappush(blocks, (bound, middle + 1, high))
                continue
            answer = self._cover(inside, cost, beyond, best.value, clock)
            bound = max(bound, answer.bound)
            if answer.taken is not None:
                best.taken, best.value = inside[answer.taken], answer.value
                if any_will_do:
                    return best
            if bound < best.value:
                heapq.heappush(blocks, (bound, low, high))
                break
        best.bound = min([best.value, *(bound for bound, _, _ in blocks)])
        return best

    def _tightened(
        self, columns: Numbers, low: int, high: int, spread: int
    ) -> tuple[int, int, Numbers]:
        """Return a range of the lightest set's weight that every part allows, and its columns.

        Each part needs a set that weighs from m to m + spread: so m is at most the greatest weight
        of a set with the part, and at least the least one less the spread.
        """
        import numpy as np

        size = self.number * len(self.shape)
        while low <= high:
            weight = self.weight[columns]
            columns = columns[(weight >= low) & (weight <= high + spread)]
            weight = self.weight[columns]
            most, least = np.full(size, -FORBIDDEN), np.full(size, FORBIDDEN)
            for kind, part in enumerate(self.parts(columns)):
                np.maximum.at(most, part + self.number * kind, weight)
                np.minimum.at(least, part + self.number * kind, weight)
            now = max(low, int(least.max()) - spread), min(high, int(most.min()))
            if now == (low, high):
                break
            low, high = now
        return low, high, columns

    def _cover(
        self,
        columns: Numbers,
        cost: Numbers,
        beyond: NDArray[np.float64],
        below: int,
        clock: Clock,
    ) -> Answer:
        """Return the cheapest exact cover that costs less than a value.

        Few columns are asked first: what they give is a lower value to be below of, and fewer
        columns then matter.

        :param beyond: the least that any cover with a column costs
        """
        import numpy as np

        best: Numbers | None = None
        few = _CORE
        while True:
            kept = np.flatnonzero(beyond < below - 1 + _NEARLY)
            every = few >= len(kept)
            if min(few, len(kept)) > max(_CORE * 3, _A_SECOND * clock.left):
                every = False
                break
            if not every:
                kept = np.sort(kept[np.argsort(beyond[kept], kind="stable")[:few]])
            answer = self._cheaper(columns[kept], cost[kept], below, clock)
            if answer.taken is not None:
                best, below = kept[answer.taken], answer.value
            if every or clock.over:
                break
            few *= 3
        bound = 0 if not every else below if answer.impossible else min(answer.bound, below)
        return Answer(best, below, bound)

    def _cheaper(self, columns: Numbers, cost: Numbers, below: int, clock: Clock) -> Answer:
        import numpy as np

        if not len(columns):
            return Answer(None, 0, 0, impossible=True)
        rows = [self._rows(columns)]
        if below < FORBIDDEN:
            ones, most = np.zeros(len(columns), np.int64), np.array([float(below - 1)])
            place = np.arange(len(columns))
            rows.append(Rows(ones, place, np.zeros(1), most, cost.astype(float)))
        return solve(cost, rows, clock)

    def _priced(
        self, columns: Numbers, cost: Numbers, clock: Clock
    ) -> tuple[int, NDArray[np.float64]]:
        """Return a bound of every cover, and for each column one of every cover with it.

        Both are worked out from the prices of the linear relaxation, not taken from the solver:
        they hold for any prices. What a column costs beyond the prices of its parts is added to
        the bound of any cover with it.
        """
        import numpy as np
        from scipy.optimize import linprog
        from scipy.sparse import csc_array

        rows = self._rows(columns)
        size = self.number * len(self.shape)
        matrix = csc_array((np.ones(len(rows.row)), (rows.row, rows.column)), (size, len(columns)))
        found = linprog(
            cost, A_eq=matrix, b_eq=rows.most, method="highs-ds", options={"time_limit": clock.left}
        )
        if found.status == _IMPOSSIBLE:
            return FORBIDDEN, np.zeros(0)
        if found.status != 0:
            return 0, np.zeros(len(columns))
        prices = found.eqlin.marginals
        beyond = cost - matrix.T @ prices
        slack = min(0.0, float(beyond.min()))
        bound = float(prices.sum()) + self.number * slack
        return ceil(bound - _NEARLY), bound + beyond - slack

    def _rows(self, columns: Numbers) -> Rows:
        """Return the rows of an exact cover: each part in one column."""
        import numpy as np

        kinds = len(self.shape)
        parts = self.parts(columns)
        row = np.concatenate([axis + self.number * kind for kind, axis in enumerate(parts)])
        one = np.ones(self.number * kinds)
        return Rows(row, np.tile(np.arange(len(columns)), kinds), one, one)

    def pair_again(self, columns: Numbers, spread: int, clock: Clock, starts: int) -> Numbers:
        """Return a better cover: take each group of kinds off the sets and pair it on anew.

        Each pairing is a linear assignment, so the cover never gets worse; it proves nothing. What
        is made small is the sum over the sets of how far each is beyond half the spread from the
        mean, in fourth power where no spread is given, and then the surcharge.

        :param spread: in steps; -1 makes the spread as small as it can
        :param starts: how many covers to start from, the given one first
        """
        import numpy as np

        shuffle = np.random.default_rng(1)
        best, least = columns, self._penalty(columns, spread)
        for start in range(starts):
            now = columns
            if start:
                parts = [axis[shuffle.permutation(self.number)] for axis in self.parts(columns)]
                now = np.ravel_multi_index(parts, self.shape)
            now = self._descend(now, spread, clock)
            reached = self._penalty(now, spread)
            if reached < least:
                best, least = now, reached
            if clock.over or least < 1:
                break
        return best

    def _descend(self, now: Numbers, spread: int, clock: Clock) -> Numbers:
        import numpy as np
        from scipy.optimize import linear_sum_assignment

        strides = np.array([int(np.prod(self.shape[k + 1 :])) for k in range(len(self.shape))])
        groups = [
            list(group)
            for size in range(1, len(self.shape) // 2 + 1)
            for group in combinations(range(len(self.shape)), size)
        ]
        value, better = self._penalty(now, spread), True
        while better and not clock.over:
            better = False
            for group in groups:
                parts = self.parts(now)
                moved = sum(parts[k] * strides[k] for k in group)
                sets = (now - moved)[:, None] + moved[None, :]
                rows, match = linear_sum_assignment(self._penalties(sets, spread))
                new = sets[rows, match]
                reached = self._penalty(new, spread)
                if reached < value:
                    now, value, better = new, reached, True
        return now

    def _penalty(self, columns: Numbers, spread: int) -> float:
        return float(self._penalties(columns, spread).sum())

    def _penalties(self, columns: Numbers, spread: int) -> NDArray[np.float64]:
        import numpy as np

        off = np.abs(self.weight[columns] - self.total / self.number)
        extra = self.extra[columns].astype(float)
        broken = np.where(extra >= FORBIDDEN / 2, float(FORBIDDEN) ** 2, 0.0)
        penalties: NDArray[np.float64] = off**4 + broken
        if spread >= 0:
            over = np.maximum(0.0, off - spread / 2)
            penalties = over * _BREACH + np.where(broken > 0, broken, extra)
        return penalties
