"""What each part of the crank train weighs: on the scale, else as a part on hand, else as meant."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from math import pi

from bedplate.engine import Engine
from bedplate.engine.balancing import CRANK
from bedplate.errors import EntryError
from bedplate.quantity import Dimension, Units, show
from bedplate.record.entries import Reworked, SelectionMade, Weighed
from bedplate.record.standing import standing
from bedplate.shop.model import State
from bedplate.shop.stock import stock_of
from bedplate.shop.typed import unknown

RECIPROCATING = ("piston", "pin", "locks", "rings", "small end")
ROTATING = ("big end", "shells")
PARTS = (*RECIPROCATING, *ROTATING)
"""Parts of one cylinder that a bob-weight stands for."""

ROD = "rod"
_NEEDED = ("piston", "pin", "small end", "big end")
_OF_LOT = {
    "piston": ("piston", "weight"),
    "small end": ("rod", "small end weight"),
    "big end": ("rod", "big end weight"),
}
_INSIDE = (
    ("shells", "big end"), ("pin", "piston"), ("locks", "piston"), ("rings", "piston"),
    ("locks", "pin"),
)  # fmt: skip
"""What is carried, and what carries it and outweighs it (common practice, no source)."""
_ENDS_OFF = 0.1
"""Share of a rod that its weighed ends may miss it by before they cannot be its own: far more than
a jig does wrong (common practice, no source)."""
_HEAVY = 10.0
"""kg: more than this is not said in grams."""
_STEEL = 7850.0
"""kg/m³"""

_WEIGH_AGAIN = "Weigh both again, the rod level in its jig."

COVERAGE = 2.0
"""k of an uncertainty that somebody states."""


@dataclass(frozen=True, slots=True)
class Weight:
    """One weight and where it comes from.

    :param number: label of the cylinder, '' where all are alike
    :param value: kg
    :param standard: standard uncertainty, kg; None where nobody said
    :param how: 'weighed', 'on hand', 'engine file'
    """

    part: str
    number: str
    value: float
    standard: float | None
    source: str
    how: str


@dataclass(frozen=True, slots=True)
class Spread:
    """How far the weights of one kind of part differ over the cylinders.

    :param lightest: what the others are brought down to, kg
    """

    part: str
    lightest: Weight
    heaviest: Weight

    @property
    def amount(self) -> float:
        """Return heaviest less lightest, kg."""
        return self.heaviest.value - self.lightest.value


@dataclass(frozen=True, slots=True)
class Weights:
    """The weights of an engine.

    :param by: (part, label) to its weight
    :param oil: of one throw
    :param rods: whole rods, by label
    :param crank: the crank without bob-weights
    :param missing: parts whose weight nobody knows
    :param doubts: what is strange, as sentences
    """

    labels: tuple[str, ...]
    by: Mapping[tuple[str, str], Weight]
    oil: Weight
    rods: Mapping[str, Weight] = field(default_factory=dict)
    crank: Weight | None = None
    missing: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    def of(self, part: str, label: str) -> Weight:
        """Return the weight of a part of a cylinder; nothing where it is not known."""
        return self.by.get((part, label)) or Weight(part, label, 0.0, None, "not known", "")

    def spreads(self) -> tuple[Spread, ...]:
        """Return how far each kind of part differs, those that were weighed one by one."""
        found = []
        for part in PARTS:
            each = [self.by[part, label] for label in self.labels if (part, label) in self.by]
            if len({weight.number for weight in each}) > 1:
                ordered = sorted(each, key=lambda weight: weight.value)
                found.append(Spread(part, ordered[0], ordered[-1]))
        return tuple(found)


def weights_of(engine: Engine, state: State | None = None) -> Weights:
    """Return what every part weighs."""
    labels = tuple(cylinder.label for cylinder in engine.layout.cylinders)
    scale = engine.balancing.figure("balance.scale")
    usual = None if scale is None else scale.value / COVERAGE
    known = dict(_meant(engine, labels, usual))
    rods: dict[str, Weight] = {}
    stale: dict[str, None] = {}
    crank = _crank(engine, usual)
    if state is not None:
        known.update(_on_hand(state, usual))
        reworked = _reworked(state)
        for number, weight in _weighed(state, labels, usual):
            if reworked.get(_piece(weight), 0) > number:
                stale[_piece(weight)] = None
            elif weight.part == ROD:
                rods[weight.number] = weight
            elif weight.part == CRANK:
                crank = weight
            else:
                known[weight.part, weight.number] = weight
    missing = tuple(part for part in _NEEDED if any((part, label) not in known for label in labels))
    doubts = (
        *(f"The {piece} was reworked after it was weighed; weigh it again." for piece in stale),
        *_doubts(known, rods, labels),
        *_no_room(engine, (*known.values(), *([crank] if crank else []))),
    )
    return Weights(labels, known, _oil(engine, usual), rods, crank, missing, doubts)


def _meant(
    engine: Engine, labels: tuple[str, ...], usual: float | None
) -> Iterator[tuple[tuple[str, str], Weight]]:
    for part in PARTS:
        figure = engine.duty.figure(f"weights.{part.replace(' ', '_')}")
        if figure is None:
            continue
        for label in labels:
            yield (
                (part, label),
                Weight(part, "", figure.value, usual, figure.source, "engine file"),
            )


def _oil(engine: Engine, usual: float | None) -> Weight:
    figure = engine.balancing.figure("balance.oil")
    if figure is None:
        return Weight("oil", "", 0.0, None, "the engine file allows for none", "engine file")
    return Weight("oil", "", figure.value, usual, figure.source, "engine file")


def _crank(engine: Engine, usual: float | None) -> Weight | None:
    figure = engine.balancing.figure("balance.crank_mass")
    if figure is None:
        return None
    return Weight(CRANK, "", figure.value, usual, figure.source, "engine file")


def _on_hand(state: State, usual: float | None) -> Iterator[tuple[tuple[str, str], Weight]]:
    """Yield the weights of the parts that a selection put into each cylinder."""
    places: dict[str, str] = {}
    for row in standing(state.entries):
        if isinstance(row.entry, SelectionMade):
            places.update({one.place: one.identity for one in row.entry.placed})
    if not places:
        return
    lots = stock_of(state)
    for part, (kind, measure) in _OF_LOT.items():
        for cylinder in state.engine.layout.cylinders:
            lot = lots.get(places.get(f"{kind} {cylinder.label}", ""))
            found = lot.measure(measure) if lot else None
            if lot is None or found is None:
                continue
            doubt = found.uncertainty.si / COVERAGE if found.uncertainty else usual
            yield (
                (part, cylinder.label),
                Weight(part, cylinder.label, found.value.si, doubt, lot.entry.identity, "on hand"),
            )


def _piece(weight: Weight) -> str:
    """Return the part, as a rework names it: 'rod 3' for its ends too."""
    kind = ROD if weight.part in {"small end", "big end", ROD} else weight.part
    return f"{kind} {weight.number}" if weight.number else kind


def _reworked(state: State) -> dict[str, int]:
    """Return the entry that last reworked each part."""
    return {
        n.entry.part: n.number for n in standing(state.entries) if isinstance(n.entry, Reworked)
    }


def _weighed(
    state: State, labels: tuple[str, ...], usual: float | None
) -> Iterator[tuple[int, Weight]]:
    """Yield what was weighed, with its entry; what holds for all comes before what is for one."""
    rows = [(n.number, n.entry) for n in standing(state.entries) if isinstance(n.entry, Weighed)]
    for number, entry in sorted(rows, key=lambda row: (row[1].number != "", row[0])):
        doubt = entry.uncertainty.si / COVERAGE if entry.uncertainty else usual
        source = f"entry {number}" + (f", {entry.scale}" if entry.scale else "")
        alike = entry.part in (*PARTS, ROD) and not entry.number
        for label in labels if alike else (entry.number,):
            yield number, Weight(entry.part, label, entry.weight.si, doubt, source, "weighed")


def _doubts(
    known: Mapping[tuple[str, str], Weight], rods: Mapping[str, Weight], labels: tuple[str, ...]
) -> Iterator[str]:
    told = set()
    for label in labels:
        small, big = known.get(("small end", label)), known.get(("big end", label))
        if small is None or big is None:
            continue
        if small.value > big.value:
            told.add(
                f"Rod {small.number or 'ends'}: the small end weighs more than the big end; "
                "were the two exchanged?"
            )
        rod = rods.get(label)
        if rod is not None:
            off = small.value + big.value - rod.value
            sure = sum((w.standard or 0.0) ** 2 for w in (small, big, rod)) ** 0.5
            if abs(off) > max(COVERAGE * sure, 0.5e-3):
                told.add(
                    f"Rod {label}: its ends add up to {_grams(small.value + big.value)}, and the "
                    f"whole rod weighs {_grams(rod.value)}."
                )
    yield from sorted(told)


def _no_room(engine: Engine, weights: Iterable[Weight]) -> Iterator[str]:
    """Ask about weights of the engine file for which a part has no room."""
    for part, value in {(w.part, w.value): None for w in weights if w.how == "engine file"}:
        if value > heaviest(engine, part):
            yield f"The engine file says {_grams(value)} of the {part}; is its unit right?"


def _grams(value: float) -> str:
    return show(value, Dimension.MASS, Units.METRIC, unit="kg" if value >= _HEAVY else "")


def heaviest(engine: Engine, part: str) -> float:
    """Return what a part cannot weigh more than, kg: solid steel in all the room that it has.

    A part of a cylinder has a plug as wide as the bore and twice as long; a rod one as wide as the
    bore and as long as from the bottom of the big end to the top of the small one, a bore more than
    its length; the crank a bar that reaches half a bore beyond the throws, two bores long for each
    place along it and two more.

    :param part: of a cylinder, 'rod' or 'crank'
    :source: geometry of the engine file
    """
    bore = engine.bore
    if part == ROD:
        return _STEEL * pi / 4 * bore**2 * (engine.rod + bore)
    if part in PARTS:
        return _STEEL * pi / 4 * bore**2 * 2 * bore
    places = len({cylinder.position for cylinder in engine.layout.cylinders}) + 1
    return _STEEL * pi * ((engine.stroke + bore) / 2) ** 2 * 2 * bore * places


def check_mass(engine: Engine, part: str, value: float) -> None:
    """Refuse a weight for which a part has no room.

    :param value: kg
    :raises EntryError: it is nothing, or more than there is room for
    """
    bounded = part in (*PARTS, ROD, CRANK)
    if value <= 0 or (bounded and value > heaviest(engine, part)):
        sentence = f"The {part} of this engine does not weigh {_grams(value)}."
        raise EntryError(sentence, hint="Check number and unit.")


def check_weight(engine: Engine, weights: Weights, part: str, number: str, value: float) -> None:
    """Refuse a weight that cannot be.

    :param value: kg
    :raises EntryError: with what stands against it
    """
    known = (*PARTS, ROD, *engine.balancing.turning)
    if part not in known:
        raise unknown("part that is weighed", part, known)
    if number and (number not in weights.labels or part not in (*PARTS, ROD)):
        raise unknown(f"{part} of cylinder", number, weights.labels)
    check_mass(engine, part, value)
    for label in (number,) if number else weights.labels:
        _check_ends(weights, part, label, value)
        _check_inside(weights, part, label, value)


def _check_ends(weights: Weights, part: str, label: str, value: float) -> None:
    rod = value if part == ROD else getattr(weights.rods.get(label), "value", None)
    if rod is None:
        return
    weighed = {
        end: value if part == end else weights.of(end, label).value
        for end in ("small end", "big end")
        if part == end or weights.of(end, label).how == "weighed"
    }
    for end, weighs in weighed.items():
        if part in (ROD, end) and weighs >= rod:
            sentence = (
                f"The {end} of rod {label} would weigh {_grams(weighs)} and the whole rod "
                f"{_grams(rod)}: that cannot be."
            )
            raise EntryError(sentence, hint=_WEIGH_AGAIN)
    off = abs(sum(weighed.values()) - rod)
    if part in (ROD, *weighed) and len(weighed) == 2 and off > _ENDS_OFF * rod:
        sentence = (
            f"The ends of rod {label} would add up to {_grams(sum(weighed.values()))} and the "
            f"whole rod weigh {_grams(rod)}: that cannot be."
        )
        raise EntryError(sentence, hint=_WEIGH_AGAIN)


def _check_inside(weights: Weights, part: str, label: str, value: float) -> None:
    for less, more in _INSIDE:
        if part not in (less, more):
            continue
        other = weights.of(more if part == less else less, label)
        if part == more and other.how != "weighed":
            continue
        light, heavy = (value, other.value) if part == less else (other.value, value)
        if other.how and light >= heavy:
            sentence = (
                f"The {less} of cylinder {label} would weigh {_grams(light)} and the {more} "
                f"{_grams(heavy)}: that cannot be."
            )
            raise EntryError(sentence, hint="Check number and unit, or weigh the other one first.")
