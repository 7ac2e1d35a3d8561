"""The record as sentences."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.record.entries import (
    Accepted,
    AnyEntry,
    BuildStarted,
    ComparatorSet,
    EngineRevised,
    GaugeRegistered,
    Note,
    Numbered,
    PartReceived,
    Picture,
    Reading,
    Reworked,
    Signed,
    StepDone,
    Typed,
    Withdrawn,
)
from bedplate.shop.model import State
from bedplate.web.views.common import deviation, when

PAGE = 100
"""Entries on one page of the record."""


@dataclass(frozen=True, slots=True)
class Line:
    """One entry, ready to be printed.

    :param struck: it no longer counts, `why` says the reason
    :param picture: hash of the picture it brought
    """

    number: int
    id: str
    kind: str
    sentence: str
    at: str
    by: str
    hash: str
    struck: bool
    why: str
    picture: str
    may_be_withdrawn: bool


@dataclass(frozen=True, slots=True)
class RecordPage:
    """Entries of one page, newest first."""

    lines: tuple[Line, ...]
    newer: int | None
    older: int | None
    count: int


def record_page(state: State, before: int | None) -> RecordPage:
    """Return the entries up to a number, newest first."""
    count = len(state.entries)
    last = min(before or count, count)
    first = max(last - PAGE, 0)
    taken_back = {n.entry.target: n for n in state.entries if isinstance(n.entry, Withdrawn)}
    lines = tuple(line(state, n, taken_back) for n in reversed(state.entries[first:last]))
    return RecordPage(
        lines, min(last + PAGE, count) if last < count else None, first or None, count
    )


def line(state: State, numbered: Numbered, taken_back: dict[str, Numbered]) -> Line:
    """Return one entry as a line of the record."""
    entry = numbered.entry
    by = taken_back.get(entry.id)
    why = ""
    if by is not None and isinstance(by.entry, Withdrawn):
        why = f"withdrawn in entry {by.number}: {by.entry.reason}"
    fixed = isinstance(entry, BuildStarted | EngineRevised | Signed | Withdrawn)
    return Line(
        number=numbered.number,
        id=entry.id,
        kind=str(entry.__struct_config__.tag),
        sentence=sentence(state, entry),
        at=when(entry.at),
        by=entry.by,
        hash=numbered.hash[:10],
        struck=by is not None,
        why=why,
        picture=entry.sha256 if isinstance(entry, Picture) else "",
        may_be_withdrawn=by is None and not fixed,
    )


def sentence(state: State, entry: AnyEntry) -> str:
    """Say an entry as a person would."""
    match entry:
        case Reading():
            return _reading(state, entry)
        case BuildStarted():
            return f"Build '{entry.title}' started."
        case EngineRevised():
            return f"Engine file changed: {entry.reason}."
        case PartReceived():
            extra = [t for t in (entry.marks, entry.supplier) if t]
            more = f" ({', '.join(extra)})" if extra else ""
            return f"Received the {entry.part}: {entry.identity}{more}."
        case GaugeRegistered():
            unsure = _typed(entry.expanded_uncertainty, state)
            return f"Gauge {entry.gauge} registered: {entry.gauge_kind}, U {unsure}."
        case ComparatorSet():
            on = entry.on_gauge or entry.master or "a master"
            found = f"; it had shown {entry.found.text} there" if entry.found else ""
            return f"{entry.gauge} set in {on} to {_typed(entry.size, state)}{found}."
        case _:
            return _decision(state, entry)


def _decision(state: State, entry: AnyEntry) -> str:
    match entry:
        case Withdrawn():
            return f"Entry {_number(state, entry.target)} withdrawn: {entry.reason}."
        case Reworked():
            names = ", ".join(_feature(state, f) for f in entry.features)
            return f"The {entry.part} was reworked ({names}): {entry.operation}."
        case Accepted():
            fit = state.fits.get(entry.fit)
            name = fit.fit.name if fit else entry.fit
            return f"{name} accepted by decision, {entry.verdict}: {entry.reason}."
        case Note():
            about = f" on {_about(state, entry.about)}" if entry.about else ""
            return f"Note{about}: {entry.text}"
        case Picture():
            about = f" of {_about(state, entry.about)}" if entry.about else ""
            return f"Picture{about}: {entry.caption or entry.media_type}"
        case StepDone():
            return f"Done: {entry.step}{f'; {entry.remark}' if entry.remark else ''}."
        case Signed():
            return f"Signed as {entry.role}, entries 1 to {entry.count}: {entry.statement}"
        case _:
            return str(entry.__struct_config__.tag)


def _reading(state: State, entry: Reading) -> str:
    feature = state.features.get(entry.feature)
    name = feature.feature.name if feature else entry.feature
    station = entry.station
    if feature is not None:
        known = next((s for s in feature.feature.stations if s.id == entry.station), None)
        station = known.name if known else entry.station
    where = f", {station}" if station else ""
    return f"{name}{where}: {_typed(entry.value, state)}, with {entry.gauge}."


def _typed(value: Typed, state: State) -> str:
    typed = value.text.strip().replace("-", "−")
    texts = [t for t in deviation(value.si, state.units).split(" = ") if t != typed]
    return f"{value.text} ({' = '.join(texts)})"


def _number(state: State, target: str) -> str:
    return next((str(n.number) for n in state.entries if n.entry.id == target), target[:8])


def _feature(state: State, name: str) -> str:
    return state.features[name].feature.name if name in state.features else name


def _about(state: State, about: str) -> str:
    if about in state.fits:
        return state.fits[about].fit.name
    return _feature(state, about)
