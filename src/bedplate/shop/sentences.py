"""The entries of a record as sentences: the same on the page, on paper and in the terminal."""

from __future__ import annotations

from dataclasses import replace

import msgspec

from bedplate.quantity import Dimension, Units, show_both
from bedplate.record.entries import (
    Accepted,
    AnyEntry,
    BalanceClosed,
    BuildStarted,
    ComparatorSet,
    EngineRevised,
    GaugeRegistered,
    Note,
    PartReceived,
    Picture,
    Reading,
    Reworked,
    Signed,
    StepDone,
    TraceTaken,
    TurningPart,
    Typed,
    Withdrawn,
)
from bedplate.shop.assembly_words import said
from bedplate.shop.balance.words import balance_said
from bedplate.shop.model import FitState, State
from bedplate.shop.shop_words import shop_said
from bedplate.shop.stations import name_at
from bedplate.wording import capital

_SMALL = 1e-3
"""m: a smaller length that is converted needs more digits than it was typed with."""
_FINE = 1e-6
"""m: the step of a gauge that shows a deviation, where it is not known."""
_OWN = frozenset({"kind", "id", "at", "by", "derived", "digest"})
"""Fields of an entry that are printed beside it, or say nothing to a person."""
_PROSE = ("text", "caption", "step", "remark", "reason", "statement")
"""Fields in which people write what they like."""
_ABOUT_BALANCE = "balanc"
"""Words with this in them are about balance. What they claim is not judged: the ledger speaks."""


def in_both(
    value: float, units: Units, *, resolution: float | None = None, signed: bool = False
) -> str:
    """Return a length as it was typed, in both units.

    :param value: m
    :param resolution: the step it was typed in, m
    :param signed: it is a deviation, whose sign matters
    """
    if abs(value) < _SMALL and (signed or resolution):
        unsure = 3 * (resolution or _FINE)
        return show_both(value, Dimension.LENGTH, units, uncertainty=unsure, signed=signed)
    return show_both(value, Dimension.LENGTH, units, resolution=resolution, signed=signed)


def remarks(fit: FitState) -> tuple[str, ...]:
    """Return what there is to say of a fit beside its verdict, a sentence each."""
    said = []
    if fit.stale:
        said.append("Stale: a part under it was reworked after it was measured.")
    if fit.lapsed:
        said.append("Acceptance lapsed: what was accepted has changed since.")
    if fit.accepted:
        said.append(f"Accepted by {fit.accepted_by}: {fit.accepted}")
    elif fit.judgement.advice:
        said.append(fit.judgement.advice)
    return tuple(said)


def sentence(state: State, entry: AnyEntry) -> str:
    """Say an entry as a person would; behind words about balance, how it stood by the ledger."""
    stood = balance_beside(state, entry)
    beside = f" [Balance then, by the ledger: {stood}]" if stood else ""
    return f"{_said(state, entry)}{beside}"


def balance_beside(state: State, entry: AnyEntry) -> str:
    """Return how the balance stood at an entry, '' where its words say nothing of it.

    By the engine file as it is now, except for a signature, which has the words in it.
    """
    if isinstance(entry, TurningPart | BalanceClosed):
        return ""
    if isinstance(entry, Signed) and entry.balance:
        return entry.balance
    words = " ".join(str(getattr(entry, name, "")) for name in _PROSE)
    if _ABOUT_BALANCE not in words.casefold() and not isinstance(entry, Signed):
        return ""
    from bedplate.shop.balance.ledger import ledger_of

    until = next((n for n, row in enumerate(state.entries) if row.entry is entry), 0)
    return ledger_of(replace(state, entries=state.entries[:until])).sentence


def _said(state: State, entry: AnyEntry) -> str:
    match entry:
        case Reading():
            return _reading(state, entry)
        case BuildStarted():
            return f"Build '{entry.title or entry.build}' started."
        case EngineRevised():
            return f"Engine file changed: {entry.reason}."
        case PartReceived():
            extra = ", ".join(text for text in (entry.marks, entry.supplier) if text)
            return f"Received the {entry.part}: {entry.identity}{f' ({extra})' if extra else ''}."
        case GaugeRegistered():
            unsure = f"U {entry.expanded_uncertainty.text} (k = {entry.coverage:g})"
            return f"Gauge {entry.gauge} registered: {entry.gauge_kind}, {unsure}."
        case ComparatorSet():
            on = entry.on_gauge or entry.master or "a master"
            found = f"; it had shown {entry.found.text} there" if entry.found else ""
            return f"{entry.gauge} set in {on} to {_typed(entry.size, state)}{found}."
        case _:
            return _decision(state, entry)


def _decision(state: State, entry: AnyEntry) -> str:
    match entry:
        case Withdrawn():
            return f"{_place(state, entry.target).capitalize()} withdrawn: {entry.reason}."
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
        case TraceTaken():
            return _trace(entry)
        case Signed():
            return f"Signed as {entry.role}, entries 1 to {entry.count}: {entry.statement}"
        case _:
            words = shop_said(entry) or balance_said(entry)
            words = words or said(entry, lambda target: _place(state, target))
            return words or _plainly(state, entry)


def _trace(entry: TraceTaken) -> str:
    """Say a pressure trace without its points."""
    where = f"cylinder {entry.cylinder}" if entry.cylinder else "all cylinders"
    rows = sum(1 for row in entry.points.splitlines() if row.strip()) - 1
    source = f"; {entry.source}" if entry.source else ""
    return f"Cylinder pressure measured at {entry.speed.text}, {where}: {rows} points{source}."


def _plainly(state: State, entry: AnyEntry) -> str:
    """Say an entry that has no sentence of its own: its kind, and what it says field by field."""
    fields = msgspec.to_builtins(entry)
    kind = str(fields["kind"])
    said = (
        f"{name.replace('_', ' ')} {_fact(state, fact)}"
        for name, fact in fields.items()
        if name not in _OWN and fact not in ("", None, [], ())
    )
    return " ".join(f"{capital(kind)}: {'; '.join(said)}.".split())


def _fact(state: State, fact: object) -> str:
    """Return one field of an entry as words."""
    if isinstance(fact, dict):
        if "text" in fact:
            return str(fact["text"])
        return " ".join(_fact(state, part) for part in fact.values() if part not in ("", None))
    if isinstance(fact, list | tuple):
        return ", ".join(_fact(state, part) for part in fact)
    text = str(fact)
    if text in state.features:
        return _feature(state, text)
    return _place(state, text) if len(text) == 32 else text


def _reading(state: State, entry: Reading) -> str:
    feature = state.features.get(entry.feature)
    where = entry.feature if feature is None else name_at(feature.feature, entry.station)
    said = _typed(entry.value, state, signed=bool(entry.setting))
    return f"{where}: {said}, with {entry.gauge}."


def _typed(value: Typed, state: State, *, signed: bool = False) -> str:
    """Return a length as typed, with what that is in the units it was not typed in."""
    first, _, second = in_both(value.si, state.units, signed=signed).partition(" = ")
    typed = value.text.strip().replace("-", "−")
    bare = typed.lstrip("+")
    if bare in (first.lstrip("+"), first.lstrip("+").split(" ")[0]):
        return f"{first} ({second})" if second else first
    if second and bare == second.lstrip("+"):
        return f"{second} ({first})"
    return f"{value.text} ({first}{f' = {second}' if second else ''})"


def _place(state: State, target: str) -> str:
    """Return which entry an id names; the id itself if it is none."""
    number = next((n.number for n in state.entries if n.entry.id == target), None)
    return target if number is None else f"entry {number}"


def _feature(state: State, name: str) -> str:
    return state.features[name].feature.name if name in state.features else name


def _about(state: State, about: str) -> str:
    if about in state.fits:
        return state.fits[about].fit.name
    return _feature(state, about)
