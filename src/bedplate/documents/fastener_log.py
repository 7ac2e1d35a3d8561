"""The fastener log: the life of every bolt, as the book and the plan on paper print it."""

from __future__ import annotations

from bedplate.documents.paper import Tree
from bedplate.shop.fasteners import Bolt, bolts
from bedplate.shop.model import State


def fastener_log(state: State) -> list[Tree]:
    """Return every bolt under its group: fitted, tightened, measured, and whether once more."""
    groups: dict[tuple[str, str], list[Bolt]] = {}
    for (group, joint, _), bolt in bolts(state).items():
        groups.setdefault((group, joint), []).append(bolt)
    return [
        {
            "title": f"{group}, {rows[0].fastener.per.value} {joint}" if joint else group,
            "source": rows[0].source,
            "rows": [_bolt(bolt) for bolt in rows],
        }
        for (group, joint), rows in groups.items()
    ]


def _bolt(bolt: Bolt) -> list[str]:
    def said(what: str) -> str:
        return " → ".join(m.value.text for m in bolt.measured if m.what == what) or "–"

    fitted = ", ".join(part for part in (bolt.condition, bolt.identity) if part)
    total = f"{bolt.cycles} here" if bolt.total is None else str(bolt.total)
    return [
        str(bolt.number),
        fitted or "not said",
        total,
        said("length"),
        said("stretch"),
        f"{bolt.again.value}: {bolt.why}",
    ]
