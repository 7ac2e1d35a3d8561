"""What may be said of the balance: how a part stands, and that all is balanced.

What people write freely cannot be judged by its words. So a signature, a step and a note carry how
the ledger stood when they were written, beside what was typed; what only sounds like a claim then
stands corrected on the same line. A plain claim is refused besides.
"""

from __future__ import annotations

import re

from bedplate.engine.balancing import CRANK
from bedplate.errors import EntryError, NotPossibleError
from bedplate.shop.balance.ledger import MEASURED, SAID, Ledger, Standing, are, ledger_of
from bedplate.shop.balance.weights import PARTS, ROD
from bedplate.shop.model import State
from bedplate.shop.typed import unknown


def check_standing(
    state: State, part: str, standing: str, identity: str, reason: str, residual: float | None
) -> None:
    """Refuse what cannot be said of a part.

    :param identity: which one it is, as said now or before
    :param residual: kg·m
    :raises InputError: the part or the word is not known, or something is missing
    :raises NotPossibleError: the way the crank is balanced forbids it
    """
    said = state.engine.balancing
    if part not in said.turning:
        raise unknown("part that turns", part, said.turning)
    if standing not in SAID:
        raise unknown("standing", standing, SAID)
    if part == CRANK:
        sentence = "How the crank stands is on the balancer's card."
        raise EntryError(sentence, hint="Take in the card.")
    _check_way(part, standing, weighted=part in said.weighted)
    _check_words(part, standing, identity, reason)
    _check_left(part, standing, residual)


def _check_words(part: str, standing: str, identity: str, reason: str) -> None:
    if standing == Standing.NOT_FITTED and not reason.strip():
        sentence = f"It is not said why there {are([part])} no {part}."
        raise EntryError(sentence, hint="A few words are enough.")
    if standing == Standing.MATCHED and not reason.strip():
        sentence = f"It is not said what the {part} {_was(part)} matched to."
        raise EntryError(sentence, hint="Name the part it was put against.")
    if standing != Standing.NOT_FITTED and not identity.strip():
        sentence = f"It is not said which {part} {'they are' if _many(part) else 'it is'}."
        raise EntryError(sentence, hint="Give number or marks.")


def _check_left(part: str, standing: str, residual: float | None) -> None:
    if residual is not None and residual < 0:
        sentence = "An unbalance that is left is not below nothing."
        raise EntryError(sentence)
    if standing in MEASURED and residual is None:
        sentence = f"It is not said how much unbalance is left in the {part}."
        raise EntryError(sentence, hint="Write what the machine showed, such as '40 g·mm'.")
    if standing == Standing.WITH_CRANK and residual is not None:
        sentence = f"What is left in crank and {part} together is on the balancer's card."
        raise EntryError(sentence, hint="Leave the figure out, or take in a new card.")


def _check_way(part: str, standing: str, *, weighted: bool) -> None:
    if weighted and standing in (Standing.ON_ITS_OWN, Standing.NOT_FITTED):
        sentence = f"The {part} carries some of this crank's balance, so it cannot be {standing}."
        hint = "Have it balanced with the crank, or matched to the one it was balanced with."
        raise NotPossibleError(sentence, hint=hint)
    if not weighted and standing == Standing.MATCHED:
        sentence = (
            f"The {part} carries none of this crank's balance; matched to one that does, it would "
            "bring a weight along."
        )
        hint = "Have it balanced on its own to nothing, or correct the engine file."
        raise NotPossibleError(sentence, hint=hint)


def _many(part: str) -> bool:
    return are([part]) == "are"


def _was(part: str) -> str:
    return "were" if _many(part) else "was"


def beside(state: State, text: str) -> str:
    """Return the ledger's own words to stand beside what somebody wrote; '' if not about balance.

    :param text: what was typed; any word that has 'balanc' in it is taken to be about balance
    """
    return ledger_of(state).sentence if "balanc" in text.casefold() else ""


_CALLED = re.compile(r"\bbalanced\b", re.IGNORECASE)
_DENIED = re.compile(
    r"(?:\b(?:not|never|no|be)\b|n't\b)(?:\s+\w+){0,2}?\s+balanced\b", re.IGNORECASE
)
_CLAUSE = re.compile(r"[.;:,!?\n]|\bbut\b", re.IGNORECASE)
_WEIGHED = re.compile(rf"\b(?:{'|'.join((*PARTS, ROD))})s?\b", re.IGNORECASE)


def refuse_balanced(state: State, words: str) -> None:
    """Refuse words that plainly call the engine balanced while something that turns is due.

    A denial passes, and so does a clause about what is weighed and matched.

    :raises NotPossibleError: with what is still due
    """
    for clause in _CLAUSE.split(words):
        of_weights = _WEIGHED.search(clause) and not any(
            name in clause.casefold() for name in (*state.engine.balancing.turning, "engine")
        )
        if _CALLED.search(_DENIED.sub("", clause)) and not of_weights:
            require_all_in(state)


def require_all_in(state: State) -> Ledger:
    """Return the ledger where everything is in.

    :raises NotPossibleError: something is still due
    """
    ledger = ledger_of(state)
    if ledger.due:
        names = [part.part for part in ledger.due]
        sentence = f"This cannot be called balanced: {', '.join(names)} {are(names)} still due."
        raise NotPossibleError(sentence, hint=ledger.next)
    return ledger
