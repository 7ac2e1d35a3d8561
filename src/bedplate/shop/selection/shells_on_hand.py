"""The half shells in the box, as a selection knows them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from bedplate.engine.orders import ShellFamily
from bedplate.quantity import Dimension, parse
from bedplate.shop.model import State
from bedplate.shop.selection.model import Estimate, Grade, HalfShell, Role, Side
from bedplate.shop.selection.words import millimetres
from bedplate.shop.stock import Lot, stock_of

_SAME_UNDERSIZE = 1e-6
"""m: 0.25 mm and 0.010 in are not one undersize."""

_WALL_KNOWN_TO = 2.0
"""k of the uncertainty of a wall on hand."""

_SIDES: dict[str, Side] = {"upper": "upper", "lower": "lower"}


class ShellsOnHand:
    """The half shells on hand for one kind of bearing.

    :param families: the tables of the engine file for this kind
    """

    def __init__(self, state: State, role: Role, families: Sequence[ShellFamily]) -> None:
        self._state = state
        self._role = role
        self._families = families
        self._lots = stock_of(state)
        self.missing: list[str] = []
        self.basis: list[str] = []

    def fitted(self, numbers: Sequence[str]) -> dict[str, tuple[str, str]]:
        """Return the bearings whose two halves lie in them already."""
        places: dict[str, str] = {}
        for identity, lot in self._lots.items():
            for place, _ in lot.used:
                places[place] = identity
        pairs = {}
        for number in numbers:
            name = f"{self._role} {number}"
            upper, lower = places.get(f"{name} upper"), places.get(f"{name} lower")
            if upper and lower:
                pairs[name] = (upper, lower)
        return pairs

    def shells(self, fitted: Mapping[str, tuple[str, str]]) -> Iterator[HalfShell]:
        """Yield the shells that can be chosen from, with those that lie in a bearing already.

        :param fitted: upper and lower shell of the bearings that have both
        """
        lying: dict[str, int] = {}
        for pair in fitted.values():
            for identity in pair:
                lying[identity] = lying.get(identity, 0) + 1
        for identity, lot in self._lots.items():
            if lot.entry.part != f"{self._role} shell":
                continue
            wall = self._other_undersize(lot) or self._wall(lot)
            if isinstance(wall, str):
                self.missing.append(f"'{identity}' is left out: {wall}")
                continue
            count = lot.left + lying.get(identity, 0)
            if count == 0:
                continue
            measured = lot.measure("wall") is not None
            how = "measured" if measured else f"grade {lot.entry.grade}"
            self.basis.append(f"{identity}: {count} × {millimetres(wall.value)}, {how}")
            yield HalfShell(
                id=identity,
                grade=lot.entry.grade,
                wall=wall,
                side=_SIDES.get(lot.entry.half),
                grooved=lot.entry.grooved == "yes",
                coated=lot.entry.coated == "yes",
                count=count,
                measured=measured,
            )

    def _other_undersize(self, lot: Lot) -> str:
        """Say that shells are for another undersize than this crank has, '' if they are not."""
        wanted, asked = self._undersize(), lot.entry.undersize
        has = asked.si if asked else 0.0
        if asked is None or abs(has - wanted) < _SAME_UNDERSIZE:
            return ""
        if wanted == 0.0:
            return f"it is for {asked.text} under, and the engine file says of no undersize"
        return f"it is for {asked.text} under, and the crank is {millimetres(wanted)} under"

    def _undersize(self) -> float:
        """Return the undersize of the crank, m: of its part of the engine file, or of the order."""
        section = "main" if self._role == "main" else "rod"
        text = dict(self._state.engine.facts).get(f"{section} undersize", "")
        if text:
            return parse(text, Dimension.LENGTH).value
        for work in self._state.engine.machining.work:
            both = (work.pin_undersize, work.undersize) if section == "rod" else (work.undersize,)
            for held in both:
                if held is not None:
                    return held.value
        return 0.0

    def _wall(self, lot: Lot) -> Estimate | str:
        held = lot.measure("wall")
        if held is not None:
            if held.uncertainty is None:
                return "nobody said how well its wall is known"
            if lot.before_coating():
                return "its wall was measured before it was coated"
            return Estimate(held.value.si, held.uncertainty.si / _WALL_KNOWN_TO)
        grades = [f.grades[lot.entry.grade] for f in self._families if lot.entry.grade in f.grades]
        if not grades:
            return "neither its wall nor a grade of the engine file is known"
        grade = grades[0]
        return Estimate.within((grade.low + grade.high) / 2, (grade.high - grade.low) / 2)

    def catalogue(self) -> Iterator[Grade]:
        """Yield the grades of the engine file, which can be bought."""
        for family in self._families:
            sides: tuple[Side, ...] = ("upper", "lower")
            grooved = sides if family.grooved == "both" else tuple(
                side for side in sides if side == family.grooved
            )  # fmt: skip
            for grade in family.grades.values():
                middle, half = (grade.low + grade.high) / 2, (grade.high - grade.low) / 2
                yield Grade(grade.name, Estimate.within(middle, half), "", sides, grooved)
