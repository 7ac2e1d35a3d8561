"""Which part goes where."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from bedplate.errors import NotPossibleError
from bedplate.record import SelectionMade
from bedplate.shop.receipts import Receipt
from bedplate.workshop.core import Core
from bedplate.workshop.once import once

if TYPE_CHECKING:
    from bedplate.shop.selection.model import ShellSelection
    from bedplate.shop.selection.set_model import SetSelection
    from bedplate.shop.selection.set_question import SetQuestion
    from bedplate.shop.selection.shell_question import Codes, ShellQuestion


class Selecting(Core):
    """The use cases of selection."""

    def shell_selection(
        self, build: str, what: str, *, housing_codes: str = "", shaft_codes: str = ""
    ) -> tuple[ShellQuestion, ShellSelection]:
        """Work out where the half shells on hand go; nothing is written.

        :param what: 'main shells' or 'rod shells'
        :param housing_codes, shaft_codes: as read off block or rods and off the crank
        :raises NotPossibleError: there is nothing to choose from, or nothing to choose for
        """
        from bedplate.shop.selection.shell_question import shell_question
        from bedplate.shop.selection.shells import select_shells

        state = self.state(build)
        codes = self._codes(build, what, housing_codes, shaft_codes)
        question = shell_question(state, what, codes)
        if not question.bearings:
            sentence = f"No bearing can be chosen for: {'; '.join(question.missing)}."
            raise NotPossibleError(sentence, hint="Measure housings and journals, or give codes.")
        if not question.shells:
            sentence = f"There are no {what} on hand."
            raise NotPossibleError(sentence, hint=f"Note them first: bedplate parts {build} FILE")
        said = state.engine.machining.matching
        found = select_shells(
            question.bearings,
            question.shells,
            question.rules,
            catalogue=question.catalogue,
            fitted=question.fitted,
            time_limit=said.time if said else 3.0,
        )
        return question, found

    def _codes(self, build: str, what: str, housing: str, shaft: str) -> Codes | None:
        """Read the codes of block and crank against the engine file."""
        from bedplate.shop.selection.codes import read_codes
        from bedplate.shop.selection.shell_question import SHELLS, Codes, book_order

        if not housing.strip() and not shaft.strip():
            return None
        engine = self.state(build).engine
        role = SHELLS.get(what, "main")
        families = [f for f in engine.machining.shells if f.bearing == role and f.rule]
        if not families:
            sentence = f"The engine file has no rule of codes for {what}."
            raise NotPossibleError(sentence, hint="Add it to [[shells]], or measure instead.")
        family = families[0]
        layout = engine.layout
        if role == "main":
            numbers = [str(n) for n in range(1, layout.mains + 1)]
            begins = "front" if layout.mains_from == layout.front else "rear"
        else:
            numbers, begins = [cylinder.label for cylinder in layout.cylinders], "front"
        places = book_order(numbers, family.read_from, begins)
        whose = "block" if role == "main" else "rods"
        return Codes(
            read_codes(housing, places, family.housing_codes, whose),
            read_codes(shaft, places, family.shaft_codes, "crank"),
        )

    @once
    def select_shells(
        self,
        build: str,
        what: str,
        *,
        by: str,
        housing_codes: str = "",
        shaft_codes: str = "",
        moved: Mapping[str, str] | None = None,
        id: str = "",
    ) -> Receipt:
        """Choose where the half shells on hand go, and keep the choice with its proof.

        :param moved: what a person puts elsewhere by hand, identity by place 'main 3 upper'
        :raises NotPossibleError: nothing can be placed, or a move is not allowed
        """
        from bedplate.shop.lines import lines_hash
        from bedplate.shop.selection.by_hand import hand_placed
        from bedplate.shop.selection.chosen import chosen_shells
        from bedplate.shop.selection.words import proof_words

        question, found = self.shell_selection(
            build, what, housing_codes=housing_codes, shaft_codes=shaft_codes
        )
        if not found.placed:
            raise NotPossibleError(found.why_not or "Nothing was placed.")
        pairs, proof = found.placed, proof_words(found.proof)
        if moved:
            pairs, proof = hand_placed(question, found, moved)
        coverage = self.state(build).engine.measuring.coverage
        placed, predicted = chosen_shells(question, pairs, coverage)
        entry = SelectionMade(
            **self._stamp(id, by),
            what=what,
            derived=lines_hash(question.basis),
            proof=proof,
            placed=placed,
            predicted=predicted,
            basis=question.basis,
        )
        return self._append(build, entry)

    @once
    def file_ring(
        self, build: str, feature: str, strokes: int, *, by: str, bag: str = "", id: str = ""
    ) -> Receipt:
        """Note that a ring was filed: its gap is to be measured again.

        :param feature: id of the gap, 'top-ring-gap-3'
        :param bag: what is written on the bag in the hand, '3 top'; '' if not looked at
        """
        from bedplate.shop.rings import ring_filed

        entry = ring_filed(self._stamp(id, by), self.state(build), feature, strokes, bag)
        return self._append(build, entry)

    def set_selection(self, build: str) -> tuple[SetQuestion, SetSelection]:
        """Work out which piston, pin, rod and ring pack go together; nothing is written.

        :raises NotPossibleError: nothing is on hand to put together
        """
        from bedplate.shop.selection.set_question import set_question
        from bedplate.shop.selection.sets import select_sets

        state = self.state(build)
        question = set_question(state)
        if len(question.kinds) < 2:
            sentence = "There is nothing on hand to put together."
            hint = "Note pistons, piston pins, rods and ring packs with sizes and weights."
            raise NotPossibleError(sentence, hint=hint)
        said = state.engine.machining.matching
        found = select_sets(
            question.kinds,
            question.fits,
            first="weight" if said and said.first == "weight" else "fit",
            tolerance=said.weight if said else 0.001,
            time_limit=said.time if said else 3.0,
        )
        return question, found

    @once
    def select_sets(self, build: str, *, by: str, id: str = "") -> Receipt:
        """Choose which parts go together, and keep the choice with its proof."""
        from bedplate.shop.lines import lines_hash
        from bedplate.shop.selection.chosen import chosen_sets
        from bedplate.shop.selection.set_question import WHAT
        from bedplate.shop.selection.words import proof_words

        question, found = self.set_selection(build)
        state = self.state(build)
        coverage = state.engine.measuring.coverage
        placed, predicted = chosen_sets(question, found, state.fits, coverage)
        entry = SelectionMade(
            **self._stamp(id, by),
            what=WHAT,
            derived=lines_hash(question.basis),
            proof=proof_words(found.proof),
            placed=placed,
            predicted=predicted,
            basis=question.basis,
        )
        return self._append(build, entry)
