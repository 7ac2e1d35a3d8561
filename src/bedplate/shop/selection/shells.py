"""Which half shell goes where, and which to buy where the box does not do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from bedplate.errors import NotFoundError, NotPossibleError
from bedplate.shop.selection.model import (
    Bearing,
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
from bedplate.shop.selection.pairs import (
    Batch,
    batches,
    check,
    check_enough,
    fault_of,
    pairs_of,
    predicted,
    to_buy,
)
from bedplate.shop.selection.programme import Clock
from bedplate.shop.selection.shell_search import Search

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
    search = Search(bearings, pool, pairs_of(bearings, pool, rules, stays), clock)
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
    search = Search(bearings, pool, pairs_of(bearings, pool, rules, stays), Clock(time_limit))
    fewest = search.least_bought()
    if fewest.taken is None:
        return None
    search.budget = fewest.value
    taken, proof = search.lexicographic()
    if taken is None:
        taken, proof = fewest.taken, Proof()
    goals = (Goal("pieces to buy", fewest.value, fewest.bound), *proof.goals)
    return Purchase(_pieces(search, taken), _placed(search, taken, 0.0, fitted or {}), Proof(goals))


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


def _placed(
    search: Search,
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


def _ends(search: Search, pair: int) -> tuple[int, int]:
    return int(search.pairs.upper[pair]), int(search.pairs.lower[pair])


def _pieces(search: Search, taken: Iterable[int]) -> tuple[Piece, ...]:
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
