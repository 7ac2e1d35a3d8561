"""Pistons, pins, rods and rings put together, on their page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bedplate.errors import BedplateError
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.model import State
from bedplate.shop.selection.chosen import cylinder_sets
from bedplate.shop.selection.outcomes import selections_of
from bedplate.shop.selection.set_question import PARTS, WHAT
from bedplate.shop.selection.words import proof_words
from bedplate.web.views.common import fine, length
from bedplate.web.views.selection import KINDS, OutcomeView, made_words, outcomes_of

if TYPE_CHECKING:
    from bedplate.shop.selection.set_model import MatchedFit, MatchedSet
    from bedplate.workshop import Workshop


@dataclass(frozen=True, slots=True)
class SetView:
    """The set of one cylinder.

    :param fits: (name, predicted, off target or to be filed, U)
    """

    cylinder: str
    parts: tuple[str, ...]
    weight: str
    over: str
    remove: str
    fits: tuple[tuple[str, str, str, str], ...]


@dataclass(frozen=True, slots=True)
class SetsView:
    """The page of sets; `refused` says why nothing can be put together."""

    what: str
    kinds: tuple[str, ...]
    refused: str
    hint: str
    missing: tuple[str, ...]
    proof: str
    spread: str
    parts: tuple[str, ...]
    sets: tuple[SetView, ...]
    made: str
    outcomes: tuple[OutcomeView, ...]
    changed: tuple[str, ...] = ()


def sets_view(workshop: Workshop, state: State) -> SetsView:
    """Return the page of a selection of sets."""
    made = next((s for s in selections_of(state) if s.made.what == WHAT), None)
    kept = made_words(made)
    measured = outcomes_of(state, made)
    changed = made.changed if made else ()
    try:
        question, found = workshop.set_selection(state.build)
    except BedplateError as error:
        return SetsView(
            WHAT, KINDS, error.sentence, error.hint, (), "", "", (), (), kept, measured, changed
        )
    parts = tuple(kind.name for kind in question.kinds if kind.name in PARTS)
    return SetsView(
        what=WHAT,
        kinds=KINDS,
        refused="",
        hint="",
        missing=question.missing,
        proof=proof_words(found.proof),
        spread=_grams(found.spread, state.units),
        parts=parts,
        sets=tuple(_set(label, one, parts, state) for label, one in cylinder_sets(question, found)),
        made=kept,
        outcomes=measured,
        changed=changed,
    )


def _set(label: str, one: MatchedSet, parts: tuple[str, ...], state: State) -> SetView:
    units, coverage = state.units, state.engine.measuring.coverage
    return SetView(
        cylinder=label,
        parts=tuple(one.parts[part] for part in parts),
        weight=_grams(one.weight, units),
        over=_grams(one.to_lightest, units),
        remove=_grams(one.to_remove, units) if one.to_remove > 0 else "",
        fits=tuple(
            (
                fit.name,
                length(fit.clearance.value, units),
                _off(fit, units),
                fine(coverage * fit.clearance.uncertainty, units),
            )
            for fit in one.fits
        ),
    )


def _off(fit: MatchedFit, units: Units) -> str:
    """Say how far a fit is off its target, or what is to be filed for it."""
    if fit.to_file > 0:
        return f"{show(fit.to_file, Dimension.LENGTH, units, uncertainty=1e-6)} to file"
    return show(fit.deviation, Dimension.LENGTH, units, signed=True, uncertainty=1e-6)


def _grams(mass: float, units: Units) -> str:
    return show(mass, Dimension.MASS, units, resolution=1e-4)
