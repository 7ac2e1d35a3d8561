"""What was counted in the assembly, and whether it adds up, with the parts on hand too."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from bedplate.record.entries import Numbered, PartsCounted
from bedplate.shop.stock import Lot

WAYS = {
    "out": "came out",
    "in": "went in",
    "issued": "were issued",
    "used": "were used",
    "left": "were left",
}
"""Ways of counting, in words."""

_NOT_IN_THE_ENGINE = {"scrap", "returned"}
"""Places of parts on hand that are used up, but not in this engine."""


@dataclass(frozen=True, slots=True)
class Ledger:
    """How many of an item were counted, by way; None where nobody counted.

    :param unlike_stock: how the counts and the parts on hand disagree, '' if they do not
    """

    item: str
    out: int | None
    back: int | None
    issued: int | None
    used: int | None
    left: int | None
    unlike_stock: str = ""

    def counted(self, way: str) -> int | None:
        """Return how many were counted in one of WAYS."""
        return {
            "out": self.out,
            "in": self.back,
            "issued": self.issued,
            "used": self.used,
            "left": self.left,
        }[way]

    @property
    def said(self) -> str:
        """Return the counts in words: '8 issued, 6 used, 2 left'."""
        ways = (
            (self.out, "came out"), (self.back, "went in"), (self.issued, "issued"),
            (self.used, "used"), (self.left, "left"),
        )  # fmt: skip
        return ", ".join(f"{count} {words}" for count, words in ways if count is not None)

    @property
    def fault(self) -> str:
        """Return what does not add up, '' if all does."""
        if self.out is not None and self.back is not None and self.out != self.back:
            return f"{self.item}: {self.out} came out and {self.back} went in"
        if self.issued is None:
            return ""
        gone = (self.used or 0) + (self.left or 0)
        if (self.used is not None or self.left is not None) and gone != self.issued:
            return (
                f"{self.item}: {self.issued} issued, {self.used or 0} used and "
                f"{self.left or 0} left"
            )
        return ""

    @property
    def lacking(self) -> str:
        """Return what nobody counted of parts that were taken out or issued, '' if all is known."""
        if self.out is not None and self.back is None:
            return f"{self.item}: {self.out} came out, and nobody counted how many went in"
        if self.issued is not None and self.used is None and self.left is None:
            return f"{self.item}: {self.issued} issued, and nobody counted how many were used"
        return ""

    @property
    def amiss(self) -> str:
        """Return what does not add up here, or with the parts on hand; '' if all does."""
        return self.fault or self.unlike_stock


def counts_of(
    counted: Iterable[Numbered], lots: Mapping[str, Lot] | None = None
) -> dict[str, Ledger]:
    """Return the last count of each item and way.

    :param counted: the entries of counts that stand
    :param lots: parts on hand, by identity, to be held against them; None to look at none
    """
    rows: dict[str, dict[str, int]] = {}
    for numbered in counted:
        entry = numbered.entry
        if isinstance(entry, PartsCounted):
            rows.setdefault(entry.item, {})[entry.way] = entry.count
    found = {
        item: Ledger(
            item, row.get("out"), row.get("in"), row.get("issued"), row.get("used"), row.get("left")
        )
        for item, row in rows.items()
    }
    return _beside_stock(found, lots) if lots else found


def _beside_stock(found: dict[str, Ledger], lots: Mapping[str, Lot]) -> dict[str, Ledger]:
    """Say on the first row of each kind of part how it disagrees with the parts on hand.

    'pin locks, cylinder 1' and 'pin locks, cylinder 2' are both counts of the part 'pin lock'.
    """
    held = dict(found)
    groups: dict[str, list[Ledger]] = {}
    for row in found.values():
        groups.setdefault(_part(row.item), []).append(row)
    for part, rows in groups.items():
        alike = [lot for name, lot in lots.items() if part in {_part(name), _part(lot.entry.part)}]
        unlike = _unlike(part, rows, alike) if alike else ""
        if unlike:
            held[rows[0].item] = replace(rows[0], unlike_stock=unlike)
    return held


def _unlike(part: str, rows: list[Ledger], alike: list[Lot]) -> str:
    """Return how counts and parts on hand disagree, in words."""
    had = sum(lot.entry.count for lot in alike)
    fitted = sum(
        count
        for lot in alike
        for place, count in lot.used
        if place.strip().casefold() not in _NOT_IN_THE_ENGINE
    )
    issued, used = (
        None if all(n is None for n in counts) else sum(n or 0 for n in counts)
        for counts in ([row.issued for row in rows], [row.used for row in rows])
    )
    if issued is not None and issued > had:
        return f"{part}: {issued} issued, and {had} were ever on hand"
    if used is not None and used != fitted:
        return f"{part}: {used} used by the count, and {fitted} by the parts on hand"
    return ""


def _part(text: str) -> str:
    """Return what part an item is, one of it, so that 'Pin locks, cylinder 3' is 'pin lock'."""
    name = " ".join(text.partition(",")[0].split()).casefold()
    return name.removesuffix("s")
