"""The search for the half shells of all bearings at once, with a proof that none is better.

Least worst deviation from target first, then least total deviation, then fewest grades.

The threshold search. The worst deviation of any placement is the deviation of one of its pairs, so
it is a member of the finite set D of deviations of legal pairs. Let F(t) say that a placement
exists that uses only pairs with deviation ≤ t. F cannot turn false again as t grows, since every
placement allowed at t is allowed above it. So the least worst deviation is the least t in D for
which F holds; every bearing needs a pair, so t is at least L, the greatest over the bearings of
each one's smallest deviation. F is asked of a whole-number programme, first at L, then by halving
between a t where it is shown impossible and the worst of a placement already found. The search ends
when the two are neighbours in D (or t = L), and then the value is proved from both sides. With the
worst fixed at t, the least total is the optimum of the programme over the pairs with deviation
≤ t, and with both fixed so is the fewest grades: nothing given up earlier can come back later.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bedplate.shop.selection.model import Bearing, Goal, Proof
from bedplate.shop.selection.pairs import NANOMETRE, Batch, Pairs
from bedplate.shop.selection.programme import Answer, Clock, Rows, solve

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(slots=True)
class Search:
    """The programme over all pairs, narrowed goal by goal."""

    bearings: Sequence[Bearing]
    pool: Sequence[Batch]
    pairs: Pairs
    clock: Clock
    budget: int | None = None
    impossible: bool = False

    def lexicographic(self) -> tuple[NDArray[np.int64] | None, Proof]:
        """Return the best columns, and how well each goal is proved."""
        worst, bound, at_worst = self._least_worst()
        if at_worst.taken is None:
            return None, Proof()
        total = at_worst
        fewest = self._fewest_grades(worst, total)
        goals = (
            Goal("worst deviation", worst * NANOMETRE, bound * NANOMETRE, "m"),
            Goal("total deviation", total.value * NANOMETRE, total.bound * NANOMETRE, "m"),
            Goal("grades", fewest.value, fewest.bound),
        )
        return fewest.taken, Proof(goals)

    def least_bought(self) -> Answer:
        """Return the placement inside the limits that needs the fewest shells bought."""
        import numpy as np

        price = self._price()
        everything = np.arange(len(price))
        if not self._each_has(everything):
            return Answer(None, 0, 0, impossible=True)
        return solve(price, self._rows(everything), self.clock)

    def why_not(self) -> str:
        """Return a sentence on why no placement is inside the limits."""
        import numpy as np

        counts = np.bincount(self.pairs.bearing, minlength=len(self.bearings))
        alone = [b.id for b, n in zip(self.bearings, counts, strict=True) if not n]
        if alone:
            return f"No legal pair in the box brings {', '.join(alone)} inside the limits."
        if not self.impossible:
            return "The time was up before a placement was found or shown impossible."
        return "Each bearing has a pair inside its limits, but not all of them at once."

    def _least_worst(self) -> tuple[int, int, Answer]:
        """Return the least worst deviation, a bound on it, and the least total at it."""
        import numpy as np

        nothing = Answer(None, 0, 0, impossible=True)
        if not self._each_has(np.arange(len(self.pairs.away))):
            return 0, 0, nothing
        least = np.full(len(self.bearings), np.iinfo(np.int64).max)
        np.minimum.at(least, self.pairs.bearing, self.pairs.away)
        steps = np.unique(self.pairs.away)
        low = int(np.searchsorted(steps, least.max()))
        proved = low  # steps below this one are shown impossible
        best = self._total_within(steps[low])
        if best.taken is None:
            low += 1
            proved = low if best.impossible else proved
            best = self._total_within(steps[-1])
            if best.taken is None:
                self.impossible = best.impossible
                return 0, 0, nothing
        while low < (high := int(np.searchsorted(steps, self._worst(best)))):
            middle = (low + high) // 2
            answer = self._total_within(steps[middle])
            if answer.taken is not None:
                best = answer
                continue
            low = middle + 1
            proved = low if answer.impossible else proved
        worst = self._worst(best)
        return worst, int(min(steps[proved], worst)), best

    def _worst(self, answer: Answer) -> int:
        return int(self.pairs.away[answer.taken].max())

    def _total_within(self, step: int) -> Answer:
        import numpy as np

        columns = np.flatnonzero(self.pairs.away <= step)
        if not self._each_has(columns):
            return Answer(None, 0, 0, impossible=True)
        return _among(columns, solve(self.pairs.away[columns], self._rows(columns), self.clock))

    def _fewest_grades(self, worst: int, total: Answer) -> Answer:
        """Return a placement with the same worst and total in as few grades as can be."""
        import numpy as np

        columns = np.flatnonzero(self.pairs.away <= worst)
        grade = self._grade_of_batch()
        now = len(np.unique(grade[self._halves(total.taken)]))
        least = len({b.family for b in self.bearings})
        if now == least:
            return Answer(total.taken, now, now)
        count, grades = len(columns), int(grade.max()) + 1
        links = self._links(columns, grade)
        away = self.pairs.away[columns]
        spent = Rows(
            np.zeros(count, np.int64),
            np.arange(count),
            np.array([0.0]),
            np.array([float(total.value)]),
            away.astype(float),
        )
        cost = np.concatenate([np.zeros(count, np.int64), np.ones(grades, np.int64)])
        found = solve(cost, [*self._rows(columns), spent, links], self.clock)
        if found.taken is None:
            return Answer(total.taken, now, max(least, found.bound))
        chosen = found.taken[found.taken < count]
        return Answer(columns[chosen], found.value, max(least, found.bound))

    def _links(self, columns: NDArray[np.int64], grade: NDArray[np.int64]) -> Rows:
        """Return the rows that take a grade with each pair that uses it: pairs − grade ≤ 0."""
        import numpy as np

        count, grades = len(columns), int(grade.max()) + 1
        ends = (grade[self.pairs.upper[columns]], grade[self.pairs.lower[columns]])
        both = [ends[0], ends[1][ends[1] != ends[0]]]
        column = np.concatenate([np.arange(count), np.flatnonzero(ends[1] != ends[0])])
        key = self.pairs.bearing[columns][column] * grades + np.concatenate(both)
        keys, row = np.unique(key, return_inverse=True)
        size = len(keys)
        return Rows(
            np.concatenate([row, np.arange(size)]),
            np.concatenate([column, count + keys % grades]),
            np.full(size, -np.inf),
            np.zeros(size),
            np.concatenate([np.ones(len(row)), -np.ones(size)]),
        )

    def _rows(self, columns: NDArray[np.int64]) -> list[Rows]:
        """Return: one pair a bearing, no batch beyond its count, no more bought than may be."""
        import numpy as np

        count, number = len(columns), len(self.bearings)
        place = np.arange(count)
        rows = [
            Rows(self.pairs.bearing[columns], place, np.ones(number), np.ones(number)),
            Rows(
                np.concatenate([self.pairs.upper[columns], self.pairs.lower[columns]]),
                np.concatenate([place, place]),
                np.zeros(len(self.pool)),
                np.array([float(len(batch.ids)) for batch in self.pool]),
            ),
        ]
        if self.budget is not None:
            price = self._price()[columns].astype(float)
            most = np.array([float(self.budget)])
            rows.append(Rows(np.zeros(count, np.int64), place, np.zeros(1), most, price))
        return rows

    def _each_has(self, columns: NDArray[np.int64]) -> bool:
        import numpy as np

        return len(np.unique(self.pairs.bearing[columns])) == len(self.bearings)

    def _price(self) -> NDArray[np.int64]:
        import numpy as np

        price = np.array([batch.price for batch in self.pool], dtype=np.int64)
        return price[self.pairs.upper] + price[self.pairs.lower]

    def _grade_of_batch(self) -> NDArray[np.int64]:
        import numpy as np

        names: dict[tuple[str, str], int] = {}
        return np.array(
            [names.setdefault((b.shell.family, b.shell.grade), len(names)) for b in self.pool]
        )

    def _halves(self, taken: NDArray[np.int64] | None) -> NDArray[np.int64]:
        import numpy as np

        return np.concatenate([self.pairs.upper[taken], self.pairs.lower[taken]])


def _among(columns: NDArray[np.int64], answer: Answer) -> Answer:
    """Return an answer over some columns as one over all."""
    taken = None if answer.taken is None else columns[answer.taken]
    return Answer(taken, answer.value, answer.bound, answer.impossible)
