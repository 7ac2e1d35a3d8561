"""What the record keeps of a selection."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from bedplate.record.entries import Placed as PlacedEntry
from bedplate.record.entries import Prediction
from bedplate.shop.model import FitState
from bedplate.shop.selection.set_question import BORE, SetQuestion
from bedplate.shop.selection.shell_question import ShellQuestion

if TYPE_CHECKING:
    from bedplate.shop.selection.model import Placed
    from bedplate.shop.selection.set_model import MatchedSet, SetSelection


def chosen_shells(
    question: ShellQuestion, pairs: Sequence[Placed], coverage: float
) -> tuple[tuple[PlacedEntry, ...], tuple[Prediction, ...]]:
    """Return what an entry keeps of half shells in their bearings: the places, what is predicted.

    :param coverage: k
    """
    places = tuple(
        PlacedEntry(place=f"{pair.bearing} {side}", identity=identity)
        for pair in pairs
        for side, identity in (("upper", pair.upper), ("lower", pair.lower))
    )
    predicted = tuple(
        Prediction(
            fit=question.fits[pair.bearing],
            value=pair.clearance.value,
            expanded=coverage * pair.clearance.uncertainty,
        )
        for pair in pairs
    )
    return places, predicted


def chosen_sets(
    question: SetQuestion, found: SetSelection, fits: Mapping[str, FitState], coverage: float
) -> tuple[tuple[PlacedEntry, ...], tuple[Prediction, ...]]:
    """Return what an entry keeps of a selection of sets.

    :param fits: by id, those that the engine has
    :param coverage: k
    """
    placed, predicted = [], []
    for cylinder, one in cylinder_sets(question, found):
        placed += [
            PlacedEntry(place=f"{part} {cylinder}", identity=identity)
            for part, identity in one.parts.items()
            if part != BORE
        ]
        for fit in one.fits:
            name = f"{fit.name.replace(' ', '-')}-{cylinder}"
            if name in fits:
                predicted.append(
                    Prediction(
                        fit=name,
                        value=fit.clearance.value,
                        expanded=coverage * fit.clearance.uncertainty,
                    )
                )
    return tuple(placed), tuple(predicted)


def cylinder_sets(question: SetQuestion, found: SetSelection) -> Iterator[tuple[str, MatchedSet]]:
    """Yield each cylinder with its set."""
    for index, one in enumerate(found.sets):
        yield one.parts.get(BORE, question.cylinders[index]), one
