"""Parts on hand: what came, what was used, what is left."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from bedplate.errors import EntryError, NotPossibleError, QuantityError
from bedplate.quantity import Dimension, parse
from bedplate.record.entries import Measure, OnHand, PartsUsed, Typed
from bedplate.record.standing import standing
from bedplate.shop.model import State
from bedplate.shop.typed import Stamp, needed, unknown

MEASURES: dict[str, Dimension] = {
    "wall": Dimension.LENGTH,
    "size": Dimension.LENGTH,
    "pin hole": Dimension.LENGTH,
    "pin": Dimension.LENGTH,
    "small end": Dimension.LENGTH,
    "width": Dimension.LENGTH,
    "top ring gap": Dimension.LENGTH,
    "second ring gap": Dimension.LENGTH,
    "oil rail gap": Dimension.LENGTH,
    "gauge bore": Dimension.LENGTH,
    "weight": Dimension.MASS,
    "big end weight": Dimension.MASS,
    "small end weight": Dimension.MASS,
}
"""What is measured of a part on hand, and what kind of figure it is."""

TEXTS = (
    "identity", "part", "count", "grade", "marks", "supplier", "batch", "half", "grooved", "tang",
    "coated", "measured over", "undersize",
)  # fmt: skip
"""What is said of a part on hand besides."""

UNCERTAINTY = " uncertainty"

COLUMNS = (
    *TEXTS,
    *(name for measure in MEASURES for name in (measure, measure + UNCERTAINTY)),
)
"""Columns of a CSV file of parts; the first two must be there, in any order."""

_MOST = 100_000
_HALVES = {"upper", "lower"}
_YES = {"yes", "no"}
_WALLS = {"main shell", "rod shell"}


@dataclass(frozen=True, slots=True)
class Lot:
    """Parts that are alike, under one identity.

    :param entry: as said last
    :param used: (place, count) of those that are gone
    """

    entry: OnHand
    number: int
    used: tuple[tuple[str, int], ...] = ()

    @property
    def left(self) -> int:
        """Return how many are left."""
        return self.entry.count - sum(count for _, count in self.used)

    def before_coating(self, place: str = "") -> bool:
        """Tell whether it is coated and was measured over the metal under the coating.

        :param place: where it is measured, in the engine file's words, if nobody said over what
        """
        over = self.entry.measured_over
        bare = over == "bare metal" or (not over and "bare metal" in place)
        return self.entry.coated == "yes" and bare

    def measure(self, name: str) -> Measure | None:
        """Return a measured figure."""
        return next((m for m in self.entry.measures if m.name == name), None)


def stock_of(state: State, without: str = "") -> dict[str, Lot]:
    """Return what is on hand, by identity, in the order it came.

    :param without: id of an entry that is left out, as if it were withdrawn
    """
    lots: dict[str, Lot] = {}
    used: dict[str, list[tuple[str, int]]] = {}
    for row in standing(state.entries):
        entry = row.entry
        if entry.id == without:
            continue
        if isinstance(entry, OnHand):
            lots[entry.identity] = Lot(entry, row.number)
        elif isinstance(entry, PartsUsed):
            used.setdefault(entry.identity, []).append((entry.place, entry.count))
    return {
        name: Lot(lot.entry, lot.number, tuple(used.get(name, ()))) for name, lot in lots.items()
    }


def on_hand(stamp: Stamp, said: Mapping[str, str]) -> OnHand:
    """Return the entry for a part on hand, from what was typed.

    :param said: by the names in COLUMNS
    :raises InputError: something is missing, is no quantity, or makes no sense
    """
    identity, part = said.get("identity", "").strip(), said.get("part", "").strip().lower()
    needed(identity, "how the part is told from others")
    needed(part, f"what '{identity}' is")
    half = _word(said, "half", identity, _HALVES)
    coated = _word(said, "coated", identity, _YES)
    over = _word(said, "measured over", identity, {"bare metal", "coating"})
    if over == "coating" and coated == "no":
        sentence = f"'{identity}' is said to be bare, and to be measured over its coating."
        raise EntryError(sentence, hint="Say which of the two it is.")
    undersize = said.get("undersize", "").strip()
    return OnHand(
        **stamp,
        part=part,
        identity=identity,
        count=_count(said.get("count", ""), identity),
        grade=said.get("grade", "").strip(),
        marks=said.get("marks", "").strip(),
        supplier=said.get("supplier", "").strip(),
        batch=said.get("batch", "").strip(),
        half=half,
        grooved=_word(said, "grooved", identity, _YES),
        tang=said.get("tang", "").strip(),
        coated=coated,
        measured_over=over,
        undersize=_typed(undersize, Dimension.LENGTH, "undersize", identity) if undersize else None,
        measures=_measures(said, identity, part),
    )


def _measures(said: Mapping[str, str], identity: str, part: str) -> tuple[Measure, ...]:
    found = []
    for name, dimension in MEASURES.items():
        text = said.get(name, "").strip()
        doubt = said.get(name + UNCERTAINTY, "").strip()
        if not text:
            if doubt:
                sentence = f"'{identity}' has an uncertainty for its {name}, but no {name}."
                raise EntryError(sentence)
            continue
        value = _typed(text, dimension, name, identity)
        if value.si <= 0 or (name == "wall" and part in _WALLS and value.si > 0.05):
            sentence = f"'{identity}': {text} is no {name} of a {part}."
            raise EntryError(sentence, hint="Check number and unit.")
        if name == "wall" and not doubt:
            sentence = f"'{identity}' has a wall, but nobody says how well it is known."
            hint = (
                "Common practice for a ball micrometer in good hands: 0.003 mm; type it to use it."
            )
            raise EntryError(sentence, hint=hint)
        unsure = _typed(doubt, dimension, f"{name} uncertainty", identity) if doubt else None
        found.append(Measure(name=name, value=value, uncertainty=unsure))
    return tuple(found)


def _typed(text: str, dimension: Dimension, name: str, identity: str) -> Typed:
    try:
        return Typed(text=text, si=parse(text, dimension).value)
    except QuantityError as error:
        told = f"'{identity}', {name}: {error.sentence}"
        raise EntryError(told, hint=error.hint) from error


def _word(said: Mapping[str, str], name: str, identity: str, words: set[str]) -> str:
    text = said.get(name, "").strip().lower()
    if text and text not in words and text != "either":
        sentence = f"'{identity}': '{text[:40]}' is no word for '{name}'."
        raise EntryError(sentence, hint=f"Write {' or '.join(sorted(words))}, or nothing.")
    return text.replace("either", "")


def _count(text: str, identity: str) -> int:
    text = text.strip() or "1"
    if not re.fullmatch(r"-?\d{1,9}", text):
        sentence = f"'{identity}': '{text[:40]}' is no count."
        raise EntryError(sentence, hint="Write a whole number.")
    count = int(text)
    if count < 0:
        sentence = f"'{identity}' cannot be on hand {count} times: a stock is never negative."
        raise EntryError(sentence)
    if count > _MOST:
        sentence = f"'{identity}': {count} are more than can be kept."
        raise EntryError(sentence, hint=f"At most {_MOST}.")
    return count


def used(stamp: Stamp, lots: Mapping[str, Lot], identity: str, count: int, place: str) -> PartsUsed:
    """Return the entry for parts that were used.

    :raises NotFoundError: nothing of that identity is on hand
    :raises NotPossibleError: fewer are left
    """
    needed(place, "where they went")
    if identity not in lots:
        raise unknown("part on hand", identity, lots)
    left = lots[identity].left
    if count < 1:
        sentence = f"{count} of '{identity}' cannot be used."
        raise EntryError(sentence, hint="Withdraw the entry that used too many.")
    if count > left:
        sentence = f"Of '{identity}' {left} {'is' if left == 1 else 'are'} left, not {count}."
        raise NotPossibleError(sentence, hint="Count the box, and say what is on hand.")
    return PartsUsed(**stamp, identity=identity, count=count, place=place)


def check_new(entry: OnHand, lots: Mapping[str, Lot]) -> None:
    """Refuse what would turn one part into another, or leave less than was used.

    :raises NotPossibleError: with the reason
    """
    held = lots.get(entry.identity)
    if held is None:
        return
    if held.entry.part != entry.part:
        sentence = f"'{entry.identity}' is a {held.entry.part} already, and not a {entry.part}."
        raise NotPossibleError(sentence, hint="Two parts cannot have one identity; name it anew.")
    gone = held.entry.count - held.left
    if entry.count < gone:
        sentence = f"Of '{entry.identity}' {gone} are used already, so {entry.count} cannot be all."
        raise NotPossibleError(sentence, hint="Count what came in, used ones too.")


def check_taken_back(state: State, entry: OnHand) -> None:
    """Refuse to take a part on hand back where more were used than would be left.

    :raises NotPossibleError: with the reason
    """
    held = stock_of(state).get(entry.identity)
    gone = held.entry.count - held.left if held else 0
    before = stock_of(state, without=entry.id).get(entry.identity)
    count = before.entry.count if before else 0
    if gone > count:
        sentence = f"Of '{entry.identity}' {gone} are used already, so {count} cannot be all."
        raise NotPossibleError(sentence, hint="Withdraw first the entry that used them.")
