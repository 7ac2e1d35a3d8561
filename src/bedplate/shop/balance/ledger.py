"""What turns with the crank: what is in its balance, what is due, and whether it is closed."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from bedplate.engine import Gate
from bedplate.engine.balancing import CRANK
from bedplate.quantity import Dimension, Units, show, show_both
from bedplate.record.entries import (
    BalanceCardTaken,
    BalanceClosed,
    Reworked,
    TurningPart,
    Weighed,
    Withdrawn,
)
from bedplate.shop.balance.weights import heaviest
from bedplate.shop.model import Question, QuestionKind, State

_Told = Sequence[tuple[int, TurningPart]]
_Card = tuple[int, BalanceCardTaken] | None
_Row = BalanceCardTaken | BalanceClosed | Reworked | TurningPart | Weighed | Withdrawn


class Standing(StrEnum):
    """How a part that turns stands in the balance."""

    NOT_CHOSEN = "not chosen"
    CHOSEN = "chosen"
    WITH_CRANK = "balanced with the crank"
    ON_ITS_OWN = "balanced on its own"
    MATCHED = "matched"
    NOT_FITTED = "not fitted"


SAID = tuple(one for one in Standing if one is not Standing.NOT_CHOSEN)
"""What a person can say of a part."""

MEASURED = (Standing.ON_ITS_OWN, Standing.MATCHED)
"""What leaves an unbalance of the part's own, that somebody must have read off a machine."""


@dataclass(frozen=True, slots=True)
class LedgerPart:
    """A part that turns.

    :param weighted: it carries some of the crank's own balance
    :param residual: unbalance left in it, kg·m; None if nobody said
    :param number: of the entry that says so; None if there is none
    :param due: why it is not in yet, '' if it is
    :param to_do: what would bring it in
    """

    part: str
    weighted: bool
    standing: Standing
    identity: str
    residual: float | None
    reason: str
    number: int | None
    due: str = ""
    to_do: str = ""


@dataclass(frozen=True, slots=True)
class Allowance:
    """How much unbalance may be left, and how much of it is left to give.

    :param total: kg·m
    :param used: what is in already, all taken as pointing one way, kg·m
    :param words: how it was worked out
    :param sharing: how many are due that will need some of it
    """

    total: float
    used: float
    words: str
    sharing: int = 0

    @property
    def left(self) -> float:
        """Return what is left, never below nothing, kg·m."""
        return max(self.total - self.used, 0.0)

    @property
    def shared(self) -> str:
        """Return who shares what is left, to go behind it; '' where at most one is due."""
        return f", an even share for each of {self.sharing}" if self.sharing > 1 else ""


@dataclass(frozen=True, slots=True)
class Ledger:
    """Everything that turns.

    :param way: 'internal', 'external', or 'not said'
    :param card: the balancer's last card
    :param closed: the entry that calls it balanced, if it still holds
    :param lapsed: it was called balanced, and something has changed since
    :param allowance: None where grade, mass or speed are not known
    """

    way: str
    parts: tuple[LedgerPart, ...]
    card: BalanceCardTaken | None
    card_number: int | None
    closed: BalanceClosed | None
    lapsed: bool
    allowance: Allowance | None
    bare: bool

    @property
    def due(self) -> tuple[LedgerPart, ...]:
        """Return what is not in yet."""
        return tuple(part for part in self.parts if part.due)

    @property
    def balanced(self) -> bool:
        """Return whether it may be called balanced: all is in, and a person says so."""
        return self.closed is not None and not self.due

    @property
    def sentence(self) -> str:
        """Return how it stands, in words."""
        if self.due:
            return f"Not balanced: still due {named([part.part for part in self.due])}."
        if self.lapsed:
            return "It was called balanced, but what turns has changed since."
        if self.closed is None:
            said = "Everything that turns is in; nobody has called it balanced yet."
        else:
            said = f"Balanced: everything that turns is in, says {self.closed.by}."
        if self.allowance is None:
            said += " How much may be left is not known, so nothing was held against a limit."
        return said

    @property
    def way_words(self) -> str:
        """Return where the crank's own balance sits, in a sentence."""
        if self.way == "not said":
            return "The engine file does not say if the crank is balanced internally or externally."
        return f"The crank's own balance is {self.way}."

    @property
    def next(self) -> str:
        """Return what to do next, '' where nothing is left to do."""
        if self.due:
            return self.due[0].to_do
        return "" if self.balanced else "Call it balanced, or say what has changed."


def are(names: Sequence[str]) -> str:
    """Return 'is' or 'are', whichever goes with the parts of these names."""
    return "are" if len(names) > 1 or names[0].endswith("s") else "is"


def named(names: Sequence[str]) -> str:
    """Return these parts after 'is' or 'are'."""
    return f"{are(names)} {'the ' if len(names) == 1 else ''}{', '.join(names)}"


def ledger_of(state: State) -> Ledger:
    """Return how everything that turns stands."""
    said = state.engine.balancing
    rows = _standing_rows(state)
    cards = [(number, entry) for number, entry in rows if isinstance(entry, BalanceCardTaken)]
    card = cards[-1] if cards else None
    reworked = max(
        (number for number, entry in rows if isinstance(entry, Reworked) and entry.part == CRANK),
        default=0,
    )
    holds = card is not None and card[0] > reworked
    told: dict[str, list[tuple[int, TurningPart]]] = {name: [] for name in said.turning}
    for number, entry in rows:
        if isinstance(entry, TurningPart):
            told.setdefault(entry.part, []).append((number, entry))
    stands = [
        _stands(name, name in said.weighted, told[name], card if holds else None)
        for name in said.turning
    ]
    allowance = _allowance(state, card[1] if card else None, rows)
    parts, allowance = _judged(stands, told, card if holds else None, allowance, state.units)
    closed = next((e for _, e in reversed(rows) if isinstance(e, BalanceClosed)), None)
    valid = closed is not None and closed.derived == digest(parts)
    return Ledger(
        way=said.way or "not said",
        parts=parts,
        card=card[1] if card else None,
        card_number=card[0] if card else None,
        closed=closed if valid else None,
        lapsed=closed is not None and not valid,
        allowance=allowance,
        bare=card is not None and not holds,
    )


def _standing_rows(state: State) -> list[tuple[int, _Row]]:
    """Return the entries that say something of the balance, those taken back left out.

    Most entries of a build are readings, so its type is looked up first.
    """
    kinds = (BalanceCardTaken, BalanceClosed, Reworked, TurningPart, Weighed, Withdrawn)
    some = frozenset(kinds)
    rows = [
        (n.number, n.entry)
        for n in state.entries
        if type(n.entry) in some and isinstance(n.entry, kinds)
    ]
    back = {entry.target for _, entry in rows if isinstance(entry, Withdrawn)}
    return [row for row in rows if row[1].id not in back]


def digest(parts: tuple[LedgerPart, ...]) -> str:
    """Return the SHA-256 of how every part stands, and which entry says so."""
    lines = "".join(f"{p.part}\t{p.standing}\t{p.identity}\t{p.number or ''}\n" for p in parts)
    return hashlib.sha256(lines.encode()).hexdigest()


def _stands(name: str, weighted: bool, told: _Told, card: _Card) -> LedgerPart:  # noqa: FBT001
    """Return how a part stands by what was said of it last, and by the card."""
    part = LedgerPart(name, weighted, Standing.NOT_CHOSEN, "", None, "", None)
    if told:
        number, entry = told[-1]
        left = entry.residual.si if entry.residual else None
        part = LedgerPart(name, weighted, Standing(entry.standing), entry.identity, left,
                          entry.reason, number)  # fmt: skip
    if card is None:
        return part
    if name == CRANK:
        left = sum(plane.amount.si for plane in card[1].residual)
        return replace(part, standing=Standing.ON_ITS_OWN, residual=left, number=card[0])
    since = part.number is not None and part.number > card[0]
    open_yet = part.standing in (Standing.NOT_CHOSEN, Standing.CHOSEN)
    if open_yet and not since and name in card[1].on_crank:
        which = _mark(name, card) or part.identity
        return replace(
            part, standing=Standing.WITH_CRANK, identity=which, residual=None, number=card[0]
        )
    return part


def _mark(name: str, card: _Card) -> str:
    """Return which one of a part the card says was on the crank, '' if it does not say."""
    if card is None:
        return ""
    return dict(zip(card[1].on_crank, card[1].marks, strict=False)).get(name, "")


def _judged(
    stands: Sequence[LedgerPart],
    told: Mapping[str, _Told],
    card: _Card,
    allowance: Allowance | None,
    units: Units,
) -> tuple[tuple[LedgerPart, ...], Allowance | None]:
    """Return every part with why it is due, and what is left to give.

    They take from the whole in the order in which they came in, the crank first.
    """
    why: dict[str, str] = {}
    for part in sorted(stands, key=lambda one: (one.part != CRANK, one.number or 0)):
        found = _why(part, told[part.part], card) or _too_much(part, allowance, units)
        why[part.part] = found
        if allowance is not None and not found and part.standing in MEASURED:
            allowance = replace(allowance, used=allowance.used + (part.residual or 0.0))
    many = sum(bool(why[p.part]) and p.standing is not Standing.WITH_CRANK for p in stands)
    offer = ""
    if allowance is not None:
        allowance = replace(allowance, sharing=many)
        share = show_both(allowance.left / max(many, 1), Dimension.UNBALANCE, units)
        offer = f" ({share} at most)"
    parts = (
        replace(part, due=why[part.part], to_do=_to_do(part, why[part.part], card, offer))
        for part in stands
    )
    return tuple(parts), allowance


_WHICH = "which one it is, nobody has said"
_HOW_MUCH = "how much is left in it, nobody has said"
_CARRIES = "it carries some of the crank's balance"
_CARRIES_NONE = "it carries none of the crank's balance, and was matched to one that does"
_NO_CARD = "it goes with the crank, which is not balanced"
_NOT_ON_IT = "the card does not say that it was on the crank"


def _why(part: LedgerPart, told: _Told, card: _Card) -> str:
    """Return why a part is not in yet, '' where only what is left in it can speak against it."""
    on_it = card is not None and part.part in card[1].on_crank
    match part.standing:
        case _ if part.part == CRANK:
            return "" if card else "no card says that it was balanced"
        case Standing.NOT_CHOSEN:
            return "not chosen yet"
        case Standing.ON_ITS_OWN | Standing.NOT_FITTED if part.weighted:
            return _CARRIES
        case Standing.MATCHED if not part.weighted:
            return _CARRIES_NONE
        case Standing.NOT_FITTED:
            return ""
        case Standing.WITH_CRANK if card is None:
            return _NO_CARD
        case Standing.WITH_CRANK | Standing.MATCHED if card is not None and not on_it:
            return _NOT_ON_IT
        case _ if not part.identity:
            return _WHICH
        case Standing.CHOSEN:
            return "chosen, not balanced"
        case Standing.WITH_CRANK:
            was = _mark(part.part, card) or _was_on_it(told, card) or part.identity
            same = was.casefold() == part.identity.casefold()
            return "" if same else f"on the crank was {was}, not {part.identity}"
        case _:
            return _HOW_MUCH if part.residual is None else ""


def _was_on_it(told: _Told, card: _Card) -> str:
    """Return which one was on the crank: named last before the card, else named first as such."""
    number = card[0] if card else 0
    before = [entry.identity for n, entry in told if n < number and entry.identity]
    after = [entry.identity for _, entry in told if entry.standing == Standing.WITH_CRANK]
    return before[-1] if before else after[0] if after else ""


def _too_much(part: LedgerPart, allowance: Allowance | None, units: Units) -> str:
    if part.standing not in MEASURED or part.residual is None or allowance is None:
        return ""
    if part.residual <= allowance.left:
        return ""
    left, most = (
        show_both(one, Dimension.UNBALANCE, units) for one in (part.residual, allowance.left)
    )
    return f"{left} is left in it, and {most} may be"


def _to_do(part: LedgerPart, why: str, card: _Card, offer: str) -> str:
    """Return what would bring a part in, '' where it is in."""
    name = part.part
    if not why:
        return ""
    if name == CRANK:
        return "Have it balanced finer." if card else "Have it balanced, and take in the card."
    if why == _WHICH:
        return f"Give the number or the marks of the {name}."
    if why == _HOW_MUCH:
        return f"Say how much the machine showed{offer}."
    if why == _NO_CARD:
        return "Have them balanced together, and take in the card."
    if why == _NOT_ON_IT:
        return (
            "Ask the balancer what was on the crank, and take in a card that says so; or have the "
            f"{name} balanced another way."
        )
    many = are([name]) == "are"
    wants = f"balanced to nothing by {'themselves' if many else 'itself'}"
    if part.weighted:
        wants = "balanced with the crank, or matched to the one it was balanced with"
    if part.standing is Standing.NOT_CHOSEN:
        return f"Choose {'them' if many else 'it'}, {wants}{offer}."
    return f"Have the {name} {wants}{offer}."


def _allowance(
    state: State, card: BalanceCardTaken | None, rows: Sequence[tuple[int, _Row]]
) -> Allowance | None:
    """Return what the grade permits at the highest speed in service, nothing of it used yet."""
    said = state.engine.balancing
    mass = card.mass.si if card and card.mass else _mass(state, rows)
    top = state.engine.duty.speed
    speed = top.value if top else (card.speed.si if card and card.speed else 0.0)
    grade = said.grade or (card.grade if card else None)
    if not mass or not speed or not grade or mass > heaviest(state.engine, CRANK):
        return None
    total = grade * 1e-3 * mass / speed  # ISO 21940-11: U_per = G·m/Ω, Ω the service speed
    words = (
        f"G {grade:g}{'' if said.grade else ', as the card claims,'} for "
        f"{show(mass, Dimension.MASS, state.units, unit='kg')} at "
        f"{show(speed, Dimension.ROTATION, state.units)}{'' if top else ', the speed of the card'} "
        "(ISO 21940-11); what is in is taken as pointing one way"
    )
    return Allowance(total, 0.0, words)


def crank_mass(state: State) -> float:
    """Return what the crank weighs: as weighed last, else as the file says; 0 if neither does."""
    return _mass(state, _standing_rows(state))


def _mass(state: State, rows: Sequence[tuple[int, _Row]]) -> float:
    weighed = (
        entry.weight.si
        for _, entry in reversed(rows)
        if isinstance(entry, Weighed) and entry.part == CRANK
    )
    return next(weighed, state.engine.balancing.value("balance.crank_mass"))


def balance_questions(state: State) -> Iterator[Question]:
    """Yield what is open about balance: one question, for all that is due.

    It is asked of every build: something turns in each.
    """
    ledger = ledger_of(state)
    if not ledger.balanced:
        yield Question(
            Gate.FIRST_START, QuestionKind.BALANCE, "balance", ledger.sentence, ledger.next
        )
