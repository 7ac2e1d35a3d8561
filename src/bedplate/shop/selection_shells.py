"""Which half shell goes where, over all bearings at once, with a proof that none is better.

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

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING

from bedplate.errors import NotFoundError, NotPossibleError
from bedplate.shop.selection_model import (
    Bearing,
    Estimate,
    Goal,
    Grade,
    HalfShell,
    Piece,
    Placed,
    Proof,
    Purchase,
    ShellRules,
    ShellSelection,
    Side,
)
from bedplate.shop.selection_pairs import (
    NANOMETRE,
    Batch,
    Pairs,
    batches,
    check,
    check_enough,
    may_lie,
    may_meet,
    pairs_of,
    to_buy,
)
from bedplate.shop.selection_programme import Answer, Clock, Rows, solve

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

TIME_LIMIT = 10.0


def select_shells(
    bearings: Sequence[Bearing],
    stock: Sequence[HalfShell],
    rules: ShellRules,
    *,
    catalogue: Sequence[Grade] = (),
    fitted: Mapping[str, tuple[str, str]] | None = None,
    wall_setting: float = 0.0,
    time_limit: float = TIME_LIMIT,
) -> ShellSelection:
    """Place the shells on the bench in all bearings at once.

    Deviations are compared in whole nm. The prediction is no measurement: each bearing is to be
    measured once its shells are in.

    :param fitted: for a bearing the upper and lower shell that lie in it and stay
    :param wall_setting: standard uncertainty that all measured walls share, m, such as that of
        the setting of the micrometer
    :param catalogue: grades that can be bought, should the box not do
    :param time_limit: s; the proof says what is left open when it is reached
    :raises InputError: a name stands twice, or nothing says where a grooved shell goes
    :raises NotPossibleError: too few shells, or what is fitted is not allowed
    """
    check(bearings, stock, fitted)
    check_enough(bearings, stock)
    if not bearings:
        return ShellSelection((), _left(stock, ()), Proof())
    clock = Clock(time_limit)
    pool = batches(stock)
    stays = _stays(bearings, pool, rules, fitted or {})
    search = _Search(bearings, pool, pairs_of(bearings, pool, rules, stays), clock)
    taken, proof = search.lexicographic()
    if taken is None:
        bought = shells_to_buy(
            bearings, stock, rules, catalogue, fitted=fitted, time_limit=clock.left
        )
        return ShellSelection((), _left(stock, ()), proof, bought, search.why_not())
    placed = _placed(search, taken, wall_setting, fitted or {})
    return ShellSelection(placed, _left(stock, placed), proof)


def shells_to_buy(
    bearings: Sequence[Bearing],
    stock: Sequence[HalfShell],
    rules: ShellRules,
    catalogue: Sequence[Grade],
    *,
    fitted: Mapping[str, tuple[str, str]] | None = None,
    time_limit: float = TIME_LIMIT,
) -> Purchase | None:
    """Return the fewest half shells that bring every bearing inside its limits.

    :param catalogue: grades that can be bought, each as often as needed
    :returns: None if the catalogue cannot help; then among the fewest pieces the placement that is
        best by the goals of `select_shells`
    """
    check(bearings, stock, fitted)
    pool = batches(stock) + to_buy(catalogue, bearings)
    stays = _stays(bearings, pool, rules, fitted or {})
    search = _Search(bearings, pool, pairs_of(bearings, pool, rules, stays), Clock(time_limit))
    fewest = search.least_bought()
    if fewest.taken is None:
        return None
    search.budget = fewest.value
    taken, proof = search.lexicographic()
    if taken is None:
        taken, proof = fewest.taken, Proof()
    goals = (Goal("pieces to buy", fewest.value, fewest.bound), *proof.goals)
    return Purchase(_pieces(search, taken), _placed(search, taken, 0.0, fitted or {}), Proof(goals))


@dataclass(slots=True)
class _Search:
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


def _stays(
    bearings: Sequence[Bearing],
    pool: Sequence[Batch],
    rules: ShellRules,
    fitted: Mapping[str, tuple[str, str]],
) -> dict[int, tuple[int, int]]:
    """Return the batches that stay in a bearing, once each pair is found to be allowed."""
    batch = {id: place for place, of in enumerate(pool) for id in of.ids if id}
    stays = {}
    for place, bearing in enumerate(bearings):
        if bearing.id in fitted:
            for id in fitted[bearing.id]:
                if id not in batch:
                    raise NotFoundError(f"{id}, fitted in {bearing.id}, is not in the stock.")
            upper, lower = (batch[id] for id in fitted[bearing.id])
            _refuse(bearing, pool[upper].shell, pool[lower].shell, rules)
            stays[place] = (upper, lower)
    return stays


def _refuse(bearing: Bearing, upper: HalfShell, lower: HalfShell, rules: ShellRules) -> None:
    why = fault_of(bearing, upper, lower, rules)
    if why:
        sentence = f"What is fitted in {bearing.id} is not allowed: {why}."
        raise NotPossibleError(sentence, hint="Take those shells out, then choose again.")


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


def _placed(
    search: _Search,
    taken: NDArray[np.int64],
    wall_setting: float,
    fitted: Mapping[str, tuple[str, str]],
) -> tuple[Placed, ...]:
    """Name the shells of each pair: what is fitted stays, the others in the order of the stock."""
    pairs = {int(search.pairs.bearing[n]): int(n) for n in taken}
    free = [list(batch.ids) for batch in search.pool]
    for place, bearing in enumerate(search.bearings):
        for half, id in zip(_ends(search, pairs[place]), fitted.get(bearing.id, ()), strict=False):
            free[half].remove(id)
    placed = []
    for place, bearing in enumerate(search.bearings):
        ends = _ends(search, pairs[place])
        ids = fitted.get(bearing.id) or (free[ends[0]].pop(0), free[ends[1]].pop(0))
        upper, lower = (search.pool[end].shell for end in ends)
        clearance = predicted(bearing, upper, lower, wall_setting)
        away = clearance.value - bearing.target
        placed.append(Placed(bearing.id, *ids, upper.grade, lower.grade, clearance, away))
    return tuple(placed)


def _ends(search: _Search, pair: int) -> tuple[int, int]:
    return int(search.pairs.upper[pair]), int(search.pairs.lower[pair])


def _pieces(search: _Search, taken: Iterable[int]) -> tuple[Piece, ...]:
    counts: dict[tuple[str, Side, str], int] = {}
    for pair in taken:
        for end, side in zip(_ends(search, int(pair)), ("upper", "lower"), strict=True):
            batch = search.pool[end]
            if batch.price:
                key = (batch.shell.grade, side, batch.shell.family)
                counts[key] = counts.get(key, 0) + 1  # type: ignore[index,arg-type]
    return tuple(Piece(*key, count) for key, count in sorted(counts.items()))


def _left(stock: Sequence[HalfShell], placed: Sequence[Placed]) -> tuple[tuple[str, int], ...]:
    used: dict[str, int] = {}
    for pair in placed:
        for id in (pair.upper, pair.lower):
            used[id] = used.get(id, 0) + 1
    rest = ((shell.id, shell.count - used.get(shell.id, 0)) for shell in stock)
    return tuple((id, count) for id, count in rest if count)


@dataclass(frozen=True, slots=True)
class JudgedPlacement:
    """A placement made by hand: what it gives, and what is wrong with it.

    :param faults: for a bearing a sentence; empty where all may stay as it is
    :param worst: greatest deviation from target, m
    :param total: sum of the deviations, m
    :param grades: how many grades it uses
    """

    placed: tuple[Placed, ...]
    faults: Mapping[str, str]
    worst: float
    total: float
    grades: int


def judge_placement(
    bearings: Sequence[Bearing],
    stock: Sequence[HalfShell],
    rules: ShellRules,
    chosen: Mapping[str, tuple[str, str]],
    *,
    wall_setting: float = 0.0,
) -> JudgedPlacement:
    """Return what a placement made by hand gives; bearings that are not chosen yet are left out.

    :param chosen: for a bearing the ids of the upper and the lower shell
    :param wall_setting: standard uncertainty that all measured walls share, m
    :raises NotFoundError: a bearing or a shell that is not there
    """
    check(bearings, stock, chosen)
    shells = {shell.id: shell for shell in stock}
    left = {shell.id: shell.count for shell in stock}
    placed, faults = [], {}
    for bearing in bearings:
        if bearing.id not in chosen:
            continue
        for id in chosen[bearing.id]:
            if id not in shells:
                raise NotFoundError(f"{id}, chosen for {bearing.id}, is not in the stock.")
            left[id] -= 1
            if left[id] < 0:
                faults[bearing.id] = f"{id} is already in another bearing"
        upper, lower = (shells[id] for id in chosen[bearing.id])
        clearance = predicted(bearing, upper, lower, wall_setting)
        away = clearance.value - bearing.target
        placed.append(
            Placed(bearing.id, upper.id, lower.id, upper.grade, lower.grade, clearance, away)
        )
        why = fault_of(bearing, upper, lower, rules)
        if why:
            faults.setdefault(bearing.id, why)
    off = [abs(pair.deviation) for pair in placed]
    used = {(shells[id].family, shells[id].grade) for p in placed for id in (p.upper, p.lower)}
    return JudgedPlacement(tuple(placed), faults, max(off, default=0.0), sum(off), len(used))
