"""Whole-number programmes: choose columns at least cost, with a bound that can be trusted.

Costs are whole numbers and a column is taken or not, so a bound may be rounded up: a value is
proved as soon as the solver's bound lies less than one below it. The same programme without
"taken or not" is asked first, since it is several times quicker: if that is impossible or has a
whole answer, so it is for the whole-number programme, which allows less.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import dataclass, field
from math import ceil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from scipy.optimize import LinearConstraint

# A bound counts this much less than the solver says, a thousand times its own tolerances.
_NEARLY = 1e-3
# A share this far from 0 and 1 is no choice.
_WHOLE = 1e-5
_IMPOSSIBLE = 2


@dataclass(slots=True)
class Clock:
    """The time that is left of a builder's limit."""

    limit: float
    started: float = field(default_factory=time.monotonic)

    @property
    def left(self) -> float:
        """Return the s that are left, never less than a moment."""
        return max(0.01, self.limit - (time.monotonic() - self.started))

    @property
    def over(self) -> bool:
        """Return whether the time is used up."""
        return time.monotonic() - self.started >= self.limit


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of a programme: entries at (row, column), each row's least and greatest sum."""

    row: NDArray[np.int64]
    column: NDArray[np.int64]
    least: NDArray[np.float64]
    most: NDArray[np.float64]
    entry: NDArray[np.float64] | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """What a programme gave.

    :param taken: indices of the columns taken; None where none were found
    :param impossible: True where it is proved that no choice is allowed
    """

    taken: NDArray[np.int64] | None
    value: int
    bound: int
    impossible: bool = False

    @property
    def proved(self) -> bool:
        """Return whether nothing smaller can be found."""
        return self.taken is not None and self.bound >= self.value


def solve(cost: NDArray[np.int64], rows: Iterable[Rows], clock: Clock) -> Answer:
    """Choose columns at least cost.

    :param cost: whole cost of each column
    :param rows: what must hold of the columns taken
    :returns: the answer, checked against the rows in whole numbers
    """
    import numpy as np

    rows = tuple(rows)
    divisor = int(np.gcd.reduce(cost)) or 1
    limits = [_limits(part, len(cost)) for part in rows]
    answer = _ask(cost, divisor, rows, limits, clock, whole=False)
    if answer.impossible or answer.proved:
        return answer
    return _ask(cost, divisor, rows, limits, clock, whole=True)


def _limits(part: Rows, count: int) -> LinearConstraint:
    from scipy.optimize import LinearConstraint
    from scipy.sparse import csc_array

    matrix = csc_array((_entries(part), (part.row, part.column)), shape=(len(part.least), count))
    return LinearConstraint(matrix, part.least, part.most)


def _ask(
    cost: NDArray[np.int64],
    divisor: int,
    rows: tuple[Rows, ...],
    limits: list[LinearConstraint],
    clock: Clock,
    *,
    whole: bool,
) -> Answer:
    import numpy as np
    from scipy.optimize import milp

    found = milp(
        cost // divisor,
        integrality=np.full(len(cost), int(whole)),
        bounds=(0, 1),
        constraints=limits,
        options={"mip_rel_gap": 0.0, "time_limit": clock.left},
    )
    if found.status == _IMPOSSIBLE:
        return Answer(None, 0, 0, impossible=True)
    bound = found.mip_dual_bound if whole else found.fun if found.status == 0 else None
    least = ceil(bound - _NEARLY) * divisor if bound is not None and np.isfinite(bound) else 0
    if found.x is None or np.any(np.abs(found.x - np.round(found.x)) > _WHOLE):
        return Answer(None, 0, least)
    taken = np.flatnonzero(found.x > 1 / 2)
    if not _holds(taken, rows, len(cost)):
        return Answer(None, 0, least)
    value = int(cost[taken].sum())
    return Answer(taken, value, min(least, value))


def _entries(part: Rows) -> NDArray[np.float64]:
    import numpy as np

    return np.ones(len(part.row)) if part.entry is None else part.entry


def _holds(taken: NDArray[np.int64], rows: Iterable[Rows], count: int) -> bool:
    import numpy as np

    chosen = np.zeros(count, dtype=bool)
    chosen[taken] = True
    for part in rows:
        inside = chosen[part.column]
        sums = np.bincount(part.row[inside], _entries(part)[inside], minlength=len(part.least))
        if np.any(sums < part.least - _NEARLY) or np.any(sums > part.most + _NEARLY):
            return False
    return True
