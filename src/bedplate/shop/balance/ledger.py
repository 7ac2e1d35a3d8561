"""What turns with the crank: what is in its balance, what is due, and whether it is closed."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from bedplate.engine import Gate
from bedplate.engine.balancing import CRANK
from bedplate.errors import EntryError, NotPossibleError
from bedplate.quantity import Dimension, Units, show, show_both
from bedplate.record.entries import (
    BalanceCardTaken,
    BalanceClosed,
    Numbered,
    Reworked,
    TurningPart,
    Weighed,
    Withdrawn,
)
from bedplate.shop.model import Question, QuestionKind, State
from bedplate.shop.typed import unknown


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
    due: str
    to_do: str


@dataclass(frozen=True, slots=True)
class Allowance:
    """How much unbalance may be left, and how much of it is left to give.

    :param total: kg·m
    :param used: what is in already, all taken as pointing one way, kg·m
    :param words: how it was worked out
    """

    total: float
    used: float
    words: str

    @property
    def left(self) -> float:
        """Return what is left, never below nothing, kg·m."""
        return max(self.total - self.used, 0.0)


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
        """Return how it stands, in one sentence."""
        if self.due:
            names = ", ".join(part.part for part in self.due)
            one = len(self.due) == 1
            return f"Not balanced: still due {'is the' if one else 'are'} {names}."
        if self.lapsed:
            return "It was called balanced, but what turns has changed since."
        if self.closed is None:
            return "Everything that turns is in; nobody has called it balanced yet."
        return f"Balanced: everything that turns is in, says {self.closed.by}."


def ledger_of(state: State) -> Ledger:
    """Return how everything that turns stands."""
    said = state.engine.balancing
    back = {n.entry.target for n in state.entries if isinstance(n.entry, Withdrawn)}
    rows = [n for n in state.entries if n.entry.id not in back]
    card = next((n for n in reversed(rows) if isinstance(n.entry, BalanceCardTaken)), None)
    entry = card.entry if card and isinstance(card.entry, BalanceCardTaken) else None
    told = {n.entry.part: n for n in rows if isinstance(n.entry, TurningPart)}
    reworked = max(
        (n.number for n in rows if isinstance(n.entry, Reworked) and n.entry.part == CRANK),
        default=0,
    )
    since = card is not None and card.number > reworked
    allowance = _allowance(state, entry, told)
    parts = tuple(
        _part(name, name in said.weighted, told.get(name), entry if since else None, card,
              allowance, state.units)
        for name in said.turning
    )  # fmt: skip
    closed = next((n.entry for n in reversed(rows) if isinstance(n.entry, BalanceClosed)), None)
    holds = closed is not None and closed.derived == digest(parts)
    return Ledger(
        way=said.way or "not said",
        parts=parts,
        card=entry,
        card_number=card.number if card else None,
        closed=closed if holds and isinstance(closed, BalanceClosed) else None,
        lapsed=closed is not None and not holds,
        allowance=allowance,
        bare=card is not None and not since,
    )


def digest(parts: tuple[LedgerPart, ...]) -> str:
    """Return the SHA-256 of how every part stands."""
    lines = "".join(f"{p.part}\t{p.standing}\t{p.identity}\n" for p in parts)
    return hashlib.sha256(lines.encode()).hexdigest()


def _part(
    name: str,
    weighted: bool,  # noqa: FBT001
    told: Numbered | None,
    card: BalanceCardTaken | None,
    any_card: Numbered | None,
    allowance: Allowance | None,
    units: Units,
) -> LedgerPart:
    entry = told.entry if told and isinstance(told.entry, TurningPart) else None
    standing = Standing(entry.standing) if entry else Standing.NOT_CHOSEN
    number = told.number if told else None
    if name == CRANK and card is not None:
        standing, number = Standing.ON_ITS_OWN, any_card.number if any_card else None
    elif card is not None and name in card.on_crank and standing in (
        Standing.NOT_CHOSEN, Standing.CHOSEN
    ):  # fmt: skip
        standing, number = Standing.WITH_CRANK, any_card.number if any_card else None
    residual = entry.residual.si if entry and entry.residual else None
    due, to_do = _due(name, standing, residual, allowance, units, weighted=weighted, card=card)
    return LedgerPart(name, weighted, standing, entry.identity if entry else "", residual,
                      entry.reason if entry else "", number, due, to_do)  # fmt: skip


def _due(
    name: str,
    standing: Standing,
    residual: float | None,
    allowance: Allowance | None,
    units: Units,
    *,
    weighted: bool,
    card: BalanceCardTaken | None,
) -> tuple[str, str]:
    """Return why a part is not in yet and what would bring it in, '' and '' where it is."""
    left = ""
    if allowance is not None:
        left = f", to {show_both(allowance.left, Dimension.UNBALANCE, units)} or less"
    wants = (
        f"Have the {name} balanced with the crank, or matched to the one it was balanced with."
        if weighted
        else f"Have the {name} balanced on its own to nothing{left}."
    )
    if name == CRANK and card is None:
        return "no card says that it was balanced", "Have it balanced, and take in the card."
    if standing is Standing.NOT_CHOSEN:
        return f"no {name} is chosen", f"Choose it. {wants}"
    if standing is Standing.CHOSEN:
        return "chosen, not balanced", wants
    if standing is Standing.WITH_CRANK and card is None:
        return "it goes with the crank, which is not balanced", "Have them balanced together."
    if name == CRANK and card is not None and allowance is not None:
        left_in = sum(plane.amount.si for plane in card.residual)
        return _too_much(left_in, allowance.total, units, "Have the crank balanced finer.")
    if standing is Standing.ON_ITS_OWN and residual is not None and allowance is not None:
        return _too_much(residual, allowance.total - allowance.used + residual, units, wants)
    return "", ""


def _too_much(residual: float, most: float, units: Units, to_do: str) -> tuple[str, str]:
    if residual <= most:
        return "", ""
    shown = (show_both(max(one, 0.0), Dimension.UNBALANCE, units) for one in (residual, most))
    return "{} is left in it, and {} may be".format(*shown), to_do


def _allowance(
    state: State, card: BalanceCardTaken | None, told: dict[str, Numbered]
) -> Allowance | None:
    said = state.engine.balancing
    mass = card.mass.si if card and card.mass else _crank_mass(state)
    top = state.engine.duty.speed
    speed = card.speed.si if card and card.speed else (top.value if top else 0.0)
    grade = said.grade or (card.grade if card else None)
    if not mass or not speed or not grade:
        return None
    total = grade * 1e-3 * mass / speed  # ISO 21940-11: U_per = G·m/Ω
    used = sum(plane.amount.si for plane in card.residual) if card else 0.0
    used += sum(
        row.entry.residual.si
        for row in told.values()
        if isinstance(row.entry, TurningPart)
        and row.entry.residual
        and row.entry.standing == Standing.ON_ITS_OWN
    )
    words = (
        f"G {grade:g} for {show(mass, Dimension.MASS, state.units, unit='kg')} at "
        f"{show(speed, Dimension.ROTATION, state.units)} (ISO 21940-11); what is in is taken as "
        "pointing one way"
    )
    return Allowance(total, used, words)


def _crank_mass(state: State) -> float:
    """Return what the crank weighs: as weighed last, else as the file says; 0 if neither does."""
    back = {n.entry.target for n in state.entries if isinstance(n.entry, Withdrawn)}
    weighed = (
        n.entry.weight.si
        for n in reversed(state.entries)
        if isinstance(n.entry, Weighed) and n.entry.part == CRANK and n.entry.id not in back
    )
    return next(weighed, state.engine.balancing.value("balance.crank_mass"))


def check_standing(
    state: State, part: str, standing: str, identity: str, reason: str, residual: float | None
) -> None:
    """Refuse what cannot be said of a part.

    :param residual: kg·m
    :raises InputError: the part or the word is not known, or something is missing
    :raises NotPossibleError: the way the crank is balanced forbids it
    """
    said = state.engine.balancing
    if part not in said.turning:
        raise unknown("part that turns", part, said.turning)
    if standing not in SAID:
        raise unknown("standing", standing, SAID)
    if residual is not None and residual < 0:
        sentence = "An unbalance that is left is not below nothing."
        raise EntryError(sentence)
    if part == CRANK and standing == Standing.NOT_FITTED:
        sentence = "There is no engine without its crank."
        raise EntryError(sentence)
    if standing == Standing.NOT_FITTED and not reason.strip():
        sentence = f"It is not said why there is no {part}."
        raise EntryError(sentence, hint="A few words are enough.")
    if standing == Standing.MATCHED and not reason.strip():
        sentence = f"It is not said what the {part} was matched to."
        raise EntryError(sentence, hint="Name the part it was put against.")
    if standing == Standing.CHOSEN and not identity.strip():
        sentence = f"It is not said which {part} it is."
        raise EntryError(sentence, hint="Give its number or marks.")
    _check_way(part, standing, weighted=part in said.weighted)


def _check_way(part: str, standing: str, *, weighted: bool) -> None:
    if weighted and standing in (Standing.ON_ITS_OWN, Standing.NOT_FITTED):
        sentence = f"The {part} carries some of this crank's balance, so it cannot be {standing}."
        hint = "Have it balanced with the crank, or matched to the one it was balanced with."
        raise NotPossibleError(sentence, hint=hint)
    if not weighted and standing == Standing.MATCHED and part != CRANK:
        sentence = (
            f"The {part} carries none of this crank's balance; matched to one that does, it would "
            "bring a weight along."
        )
        hint = "Have it balanced on its own to nothing, or correct the engine file."
        raise NotPossibleError(sentence, hint=hint)


_CALLED = re.compile(r"\bbalanced\b", re.IGNORECASE)
_DENIED = re.compile(r"\b(?:not|never|no longer|isn't|to be|yet to be)\s+balanced\b", re.IGNORECASE)


def refuse_balanced(state: State, words: str) -> None:
    """Refuse words that call the engine balanced while something that turns is due.

    :raises NotPossibleError: with what is still due
    """
    if _CALLED.search(_DENIED.sub("", words)):
        require_all_in(state)


def require_all_in(state: State) -> Ledger:
    """Return the ledger where everything is in.

    :raises NotPossibleError: something is still due
    """
    ledger = ledger_of(state)
    if ledger.due:
        first = ledger.due[0]
        sentence = (
            f"This cannot be called balanced: {', '.join(part.part for part in ledger.due)} "
            f"{'is' if len(ledger.due) == 1 else 'are'} still due."
        )
        raise NotPossibleError(sentence, hint=first.to_do)
    return ledger


def balance_questions(state: State) -> Iterator[Question]:
    """Yield what is open about balance: one question, for all that is due.

    Nothing where neither engine file nor record speak of balance.
    """
    said = state.engine.balancing
    spoken = any(
        isinstance(n.entry, BalanceCardTaken | TurningPart | BalanceClosed) for n in state.entries
    )
    if not said.way and not spoken:
        return
    ledger = ledger_of(state)
    if ledger.balanced:
        return
    to_do = ledger.due[0].to_do if ledger.due else "Call it balanced, or note what changed."
    yield Question(Gate.FIRST_START, QuestionKind.BALANCE, "balance", ledger.sentence, to_do)
