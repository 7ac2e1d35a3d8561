"""What rests on what: features of this engine that go stale together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise

from bedplate.engine import RESTS_ON, Engine, Feature, Per
from bedplate.record.entries import (
    OrderIssued,
    PartReceived,
    ReturnTaken,
    Reworked,
    RingFiled,
    SelectionMade,
)
from bedplate.shop.facts import Facts


def dependents(engine: Engine) -> dict[str, tuple[str, ...]]:
    """Return, for each feature id, the ids of the features that rest on it, directly or not."""
    direct: dict[str, list[str]] = {name: [] for name in engine.features}
    by_kind: dict[str, list[Feature]] = {}
    for feature in engine.features.values():
        by_kind.setdefault(feature.kind, []).append(feature)
    for kind, grounds in RESTS_ON.items():
        for upper in by_kind.get(kind, ()):
            for ground in grounds:
                for lower in by_kind.get(ground, ()):
                    if _concerns(engine, lower, upper):
                        direct[lower.id].append(upper.id)
    return {name: tuple(_reach(direct, name)) for name in direct}


def _concerns(engine: Engine, lower: Feature, upper: Feature) -> bool:
    """Tell whether two features of kinds that rest on each other do so, by their numbers."""
    if lower.per is upper.per:
        return lower.number == upper.number
    cylinders = {c.label: c for c in engine.layout.cylinders}
    pair = {lower.per: lower.number, upper.per: upper.number}
    if Per.CYLINDER in pair:
        cylinder = cylinders[pair[Per.CYLINDER]]
        if Per.CRANKPIN in pair:
            return str(cylinder.crankpin) == pair[Per.CRANKPIN]
        if Per.BANK in pair:
            return cylinder.bank == pair[Per.BANK]
    return True


def _reach(direct: Mapping[str, Iterable[str]], start: str) -> list[str]:
    found: dict[str, None] = {}
    stack = list(direct[start])
    while stack:
        name = stack.pop()
        if name not in found and name != start:
            found[name] = None
            stack.extend(direct[name])
    return sorted(found)


def renewals(engine: Engine, facts: Facts) -> dict[str, tuple[int, str]]:
    """Return, by feature id, the number and the reason of the last entry that made it stale.

    A rework touches the features it names (all of its part if it names none) and all that rest on
    them; so does a part received under another identity than before.
    """
    reach = dependents(engine)
    by_part: dict[str, list[str]] = {}
    for feature in engine.features.values():
        by_part.setdefault(feature.part, []).append(feature.id)
    changes: list[tuple[int, list[str], str]] = []
    for row in facts.reworks:
        entry = row.entry
        if isinstance(entry, Reworked) and facts.stands(row):
            named = [n for n in entry.features if n in reach] or by_part.get(entry.part, [])
            what = engine.features[named[0]].name if len(named) == 1 else f"the {entry.part}"
            why = f"{what} was reworked: {entry.operation} (entry {row.number})"
            changes.append((row.number, named, why))
    changes.extend(machined(engine, facts))
    changes.extend(chosen(engine, facts, by_part))
    for part, rows in facts.parts.items():
        standing = [r for r in rows if facts.stands(r)]
        for earlier, row in pairwise(standing):
            then, now = earlier.entry, row.entry
            if not isinstance(then, PartReceived) or not isinstance(now, PartReceived):
                continue
            if then.identity != now.identity:
                why = f"another {part} was received (entry {row.number})"
                changes.append((row.number, by_part.get(part, []), why))
    renewed: dict[str, tuple[int, str]] = {}
    for number, named, why in sorted(changes):
        for name in named:
            for touched in (name, *reach.get(name, ())):
                renewed[touched] = (number, why)
    return renewed


def machined(engine: Engine, facts: Facts) -> list[tuple[int, list[str], str]]:
    """Return, as (number, features, reason), what a shop machined and what was filed since.

    A surface that came back machined was another one before the order went out, so that what was
    measured before it is stale from the number of the order on; what was measured between the
    parts' return and the typing of the sheet still holds.
    """
    changes: list[tuple[int, list[str], str]] = []
    orders = {
        (n.entry.order, n.entry.revision): n
        for n in facts.orders
        if isinstance(n.entry, OrderIssued) and facts.stands(n)
    }
    for returned in facts.returns:
        entry = returned.entry
        if not isinstance(entry, ReturnTaken) or not facts.stands(returned):
            continue
        order = orders.get((entry.order, entry.revision))
        if order is None or not isinstance(order.entry, OrderIssued):
            continue
        surfaces = {row.row: row.feature for row in order.entry.rows}
        named = [surfaces.get(row.row, "") for row in entry.rows if row.value is not None]
        known = [name for name in dict.fromkeys(named) if name in engine.features]
        for name in known:
            what = engine.features[name].name
            why = f"{what} was machined: order {entry.order} (entry {order.number})"
            changes.append((order.number, [name], why))
    for row in facts.filed:
        entry = row.entry
        if not isinstance(entry, RingFiled) or not facts.stands(row):
            continue
        if entry.feature in engine.features:
            what = engine.features[entry.feature].name
            why = f"{what} was filed since (entry {row.number})"
            changes.append((row.number, [entry.feature], why))
    return changes


def chosen(
    engine: Engine, facts: Facts, by_part: Mapping[str, list[str]]
) -> list[tuple[int, list[str], str]]:
    """Return, as (number, features, reason), where a selection put another part than before.

    Other half shells make another bearing bore; another piston, pin or rod is measured as itself.
    """
    lying: dict[str, str] = {}
    for part, rows in facts.parts.items():
        for row in rows:
            if isinstance(row.entry, PartReceived) and facts.stands(row):
                lying[part] = row.entry.identity
    changes: list[tuple[int, list[str], str]] = []
    for row in facts.selections:
        entry = row.entry
        if not isinstance(entry, SelectionMade) or not facts.stands(row):
            continue
        named: dict[str, None] = {}
        for one in entry.placed:
            if lying.get(one.place) != one.identity:
                named.update(dict.fromkeys(_of_place(engine, one.place, by_part)))
            lying[one.place] = one.identity
        if named:
            why = f"other {entry.what} were chosen (entry {row.number})"
            changes.append((row.number, list(named), why))
    return changes


def _of_place(engine: Engine, place: str, by_part: Mapping[str, list[str]]) -> list[str]:
    """Return the features that another part in a place makes stale."""
    bearing, _, half = place.rpartition(" ")
    if half not in {"upper", "lower"}:
        return by_part.get(place, [])
    role, _, number = bearing.partition(" ")
    bore = f"{role}-bearing-bore-{number}"
    return [bore] if bore in engine.features else []
