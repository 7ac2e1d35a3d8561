"""The record, sorted: which entry speaks of what, and which of them still stand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from bedplate.record.entries import (
    Accepted,
    BuildStarted,
    ComparatorSet,
    EngineRevised,
    GaugeRegistered,
    Note,
    Numbered,
    OrderIssued,
    PartReceived,
    Picture,
    Reading,
    ReturnTaken,
    Reworked,
    RingFiled,
    SelectionMade,
    Withdrawn,
)


@dataclass(frozen=True, slots=True)
class TakenBack:
    """Why an entry no longer stands."""

    number: int
    reason: str
    by: str


@dataclass(slots=True)
class Facts:
    """Every entry of a record under what it speaks of, in order; kept up to date by `add`.

    :param others: what speaks of none of these: bolts, steps of the assembly, parts on hand
    """

    entries: list[Numbered] = field(default_factory=list)
    engine_text: str = ""
    build: str = ""
    title: str = ""
    previous: str = ""
    taken_back: dict[str, TakenBack] = field(default_factory=dict)
    gauges: list[Numbered] = field(default_factory=list)
    settings: list[Numbered] = field(default_factory=list)
    readings: dict[str, list[Numbered]] = field(default_factory=dict)
    reworks: list[Numbered] = field(default_factory=list)
    parts: dict[str, list[Numbered]] = field(default_factory=dict)
    accepted: dict[str, list[Numbered]] = field(default_factory=dict)
    notes: dict[str, list[Numbered]] = field(default_factory=dict)
    orders: list[Numbered] = field(default_factory=list)
    returns: list[Numbered] = field(default_factory=list)
    filed: list[Numbered] = field(default_factory=list)
    selections: list[Numbered] = field(default_factory=list)
    by_id: dict[str, Numbered] = field(default_factory=dict)
    others: list[Numbered] = field(default_factory=list)

    def add(self, numbered: Numbered) -> None:
        """Sort one more entry in."""
        entry = numbered.entry
        self.entries.append(numbered)
        self.by_id[entry.id] = numbered
        match entry:
            case Reading():
                self.readings.setdefault(entry.feature, []).append(numbered)
            case ComparatorSet():
                self.settings.append(numbered)
            case GaugeRegistered():
                self.gauges.append(numbered)
            case Withdrawn():
                self.taken_back[entry.target] = TakenBack(numbered.number, entry.reason, entry.by)
            case Reworked():
                self.reworks.append(numbered)
            case PartReceived():
                self.parts.setdefault(entry.part, []).append(numbered)
            case Accepted():
                self.accepted.setdefault(entry.fit, []).append(numbered)
            case OrderIssued() | ReturnTaken() | RingFiled() | SelectionMade():
                self._of_shop(entry).append(numbered)
            case Note() | Picture():
                self.notes.setdefault(entry.about, []).append(numbered)
            case BuildStarted() | EngineRevised():
                self._take_engine(entry)
            case _:
                self.others.append(numbered)

    def _of_shop(
        self, entry: OrderIssued | ReturnTaken | RingFiled | SelectionMade
    ) -> list[Numbered]:
        """Return where entries of a kind of the machine shop and of selection are kept."""
        if isinstance(entry, OrderIssued):
            return self.orders
        if isinstance(entry, ReturnTaken):
            return self.returns
        return self.filed if isinstance(entry, RingFiled) else self.selections

    def _take_engine(self, entry: BuildStarted | EngineRevised) -> None:
        self.engine_text = entry.engine
        if isinstance(entry, BuildStarted):
            self.build, self.title, self.previous = entry.build, entry.title, entry.previous

    def stands(self, numbered: Numbered) -> bool:
        """Tell whether an entry has not been taken back."""
        return numbered.entry.id not in self.taken_back


def gather(entries: Iterable[Numbered]) -> Facts:
    """Sort a whole record."""
    facts = Facts()
    for numbered in entries:
        facts.add(numbered)
    return facts
