"""The bob-weight of every throw: each line of the sum, the factor and why; or why none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot, pi, sqrt
from typing import TYPE_CHECKING

from bedplate.engine import Engine
from bedplate.engine.model import Cylinder
from bedplate.errors import InputError
from bedplate.shop.balance.weights import RECIPROCATING, ROTATING, Weights

if TYPE_CHECKING:
    from bedplate.physics.balance import BobWeightFactor

_ONE_THROW = pi / 2
"""rad: pins of a pair that stand farther apart than this are throws of their own."""


@dataclass(frozen=True, slots=True)
class Throw:
    """Rods that share a throw, and where it stands.

    :param number: from 1 at the free end
    :param angles: of each rod's pin on the crank, rad, in the direction of rotation
    :param banks: direction of each rod's cylinder, rad, in the direction of rotation
    """

    number: int
    cylinders: tuple[Cylinder, ...]
    angles: tuple[float, ...]
    banks: tuple[float, ...]

    @property
    def labels(self) -> tuple[str, ...]:
        """Return the labels of its cylinders."""
        return tuple(cylinder.label for cylinder in self.cylinders)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the sum.

    :param each: weight of one, kg; the mean where the rods of the throw differ
    :param count: how many
    :param share: of it that counts
    :param total: kg
    :param standard: standard uncertainty of the total, kg
    :param source: where the weights come from
    """

    name: str
    each: float
    count: int
    share: float
    total: float
    standard: float
    source: str


@dataclass(frozen=True, slots=True)
class ThrowCard:
    """The sum for one throw.

    :param rotating, reciprocating: of all its rods, kg
    :param bob_weight: kg
    :param pins: what hangs on each of its crankpins, by the labels of the rods there, kg
    :param standard: its standard uncertainty, kg
    """

    throw: Throw
    lines: tuple[Line, ...]
    rotating: float
    reciprocating: float
    bob_weight: float
    standard: float
    pins: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Card:
    """The bob-weight card.

    :param needed: bob-weights are hung on the crank
    :param why: why none is needed, or why they are
    :param factor: share of the reciprocating mass
    :param factor_why: why that share
    :param worked_out: what the layout asks for; not `factor` where the maker asks otherwise
    :param missing: parts whose weight nobody knows; there is no sum then
    """

    needed: bool
    why: str
    factor: float
    factor_why: str
    worked_out: BobWeightFactor | None
    throws: tuple[ThrowCard, ...]
    weights: Weights
    missing: tuple[str, ...]


def throws_of(engine: Engine) -> tuple[Throw, ...]:
    """Return the throws from the free end, each with the rods that share it."""
    layout = engine.layout
    way = 1.0 if layout.clockwise else -1.0
    groups: list[list[Cylinder]] = []
    for position in sorted({cylinder.position for cylinder in layout.cylinders}):
        beside = [c for c in layout.cylinders if c.position == position]
        beside.sort(key=lambda c: (c.crankpin, c.bank))
        apart = max(_apart(c.throw_angle, beside[0].throw_angle) for c in beside)
        groups += [beside] if apart <= _ONE_THROW else [[c] for c in beside]
    return tuple(
        Throw(
            number,
            tuple(group),
            tuple(c.throw_angle for c in group),
            tuple(way * c.bank_angle for c in group),
        )
        for number, group in enumerate(groups, 1)
    )


def _apart(one: float, other: float) -> float:
    return abs((one - other + pi) % (2 * pi) - pi)


def balances_itself(engine: Engine) -> bool:
    """Return whether equal weights on every crankpin cancel in force and in couple."""
    import numpy as np

    from bedplate.physics.balance import balances_itself as cancel

    angles, places = [], []
    for position in sorted({c.position for c in engine.layout.cylinders}):
        beside = [c for c in engine.layout.cylinders if c.position == position]
        pins = {c.crankpin: c.throw_angle for c in beside}
        for order, (_, angle) in enumerate(sorted(pins.items())):
            angles.append(angle)
            places.append(position + 0.25 * (order - (len(pins) - 1) / 2))
    return len(angles) > 1 and cancel(np.array(angles), np.array(places))


def bob_weight_card(engine: Engine, weights: Weights) -> Card:
    """Return the card.

    Weighings count as independent of each other.

    :source: common practice for the sum; the factor as `bedplate.physics.balance.throw_factor`
    """
    throws = throws_of(engine)
    itself = balances_itself(engine)
    found = _factor(engine, throws, weights)
    said = engine.balancing.factor
    factor = found.factor if said is None else said
    why = found.reason
    if said is not None:
        asked = engine.balancing.factor_source or "the engine file"
        why = f"Asked for by {asked}: {said:.1%}. From the layout: {found.factor:.1%}. {why}"
    missing = weights.missing
    cards = () if missing or itself else tuple(_throw(throw, weights, factor) for throw in throws)
    return Card(not itself, _why(engine, throws, itself=itself), factor, why, found, cards, weights,
                missing)  # fmt: skip


def _why(engine: Engine, throws: Sequence[Throw], *, itself: bool) -> str:
    form = engine.layout.form
    name = f"{form}{'' if form == 'V' else ' '}{len(engine.layout.cylinders)}"
    if itself:
        on = engine.balancing.weighted
        bare = f"with its {' and '.join(on)} on it" if on else "bare"
        return (
            f"No bob-weights: the throws of this {name} cancel each other, in force and in couple, "
            f"as long as every crankpin carries the same weight. The crank is balanced {bare}; the "
            "weights must be matched."
        )
    many = len(throws) > 1
    what = "the throws do not cancel each other in force and couple" if many else "one throw alone"
    return f"Bob-weights are hung on every throw: {what} in this {name}."


def _factor(engine: Engine, throws: Sequence[Throw], weights: Weights) -> BobWeightFactor:
    import numpy as np

    from bedplate.physics.balance import throw_factor

    fullest = max(throws, key=lambda throw: len(throw.cylinders))
    banks, angles = np.array(fullest.banks), np.array(fullest.angles)
    found = throw_factor(banks, angles)
    if found.backward == 0 or not any(one.ratio == -1 for one in engine.balancing.shafts):
        return found
    from bedplate.shop.balance.shaking import taken_by_shafts

    unknown = f"What {', '.join(weights.missing)} weigh is not known." if weights.missing else ""
    taken = 1.0
    try:
        taken = taken if unknown else taken_by_shafts(engine, weights)
    except InputError as error:
        unknown = error.sentence
    found = throw_factor(banks, angles, taken=taken)
    if unknown:
        doubt = "Whether the shafts are heavy enough for it could not be worked out."
        found = replace(found, reason=f"{found.reason} {doubt} {unknown}")
    return found


def _throw(throw: Throw, weights: Weights, factor: float) -> ThrowCard:
    lines = []
    for part in (*ROTATING, *RECIPROCATING):
        share = factor if part in RECIPROCATING else 1.0
        each = [weights.of(part, label) for label in throw.labels]
        total = sum(weight.value for weight in each)
        unsure = [weight.standard or 0.0 for weight in each]
        same = each[0].number == "" or len(each) == 1
        spread = unsure[0] * len(each) if same else sqrt(sum(u**2 for u in unsure))
        sources = ", ".join(dict.fromkeys(weight.source for weight in each))
        lines.append(
            Line(part, total / len(each), len(each), share, share * total, share * spread, sources)
        )
    oil = weights.oil
    lines.insert(
        len(ROTATING), Line("oil", oil.value, 1, 1.0, oil.value, oil.standard or 0.0, oil.source)
    )
    reciprocating = sum(
        weights.of(part, label).value for part in RECIPROCATING for label in throw.labels
    )
    rotating = oil.value + sum(
        weights.of(part, label).value for part in ROTATING for label in throw.labels
    )
    return ThrowCard(
        throw,
        tuple(lines),
        rotating,
        reciprocating,
        rotating + factor * reciprocating,
        hypot(*(line.standard for line in lines)),
        _pins(throw, weights, factor),
    )


def _pins(throw: Throw, weights: Weights, factor: float) -> tuple[tuple[str, float], ...]:
    """Return each crankpin's own share: pins that are split turn the rods' masses apart.

    The oil of the throw is in holes and shells of all its rods, so each rod has its part of it.
    """
    pins: dict[int, list[str]] = {}
    for cylinder in throw.cylinders:
        pins.setdefault(cylinder.crankpin, []).append(cylinder.label)
    oil = weights.oil.value / len(throw.labels)

    def hung(label: str) -> float:
        up = sum(weights.of(part, label).value for part in RECIPROCATING)
        return oil + sum(weights.of(part, label).value for part in ROTATING) + factor * up

    return tuple(
        (" and ".join(labels), sum(hung(label) for label in labels)) for labels in pins.values()
    )


def swapped(card: Card, part: str, grams: float) -> float:
    """Return how far one part that is heavier by so much moves its throw's bob-weight, kg.

    :param part: one of the parts of a cylinder
    :param grams: the change, kg
    :raises InputError: no such part is in the sum
    """
    if part not in (*RECIPROCATING, *ROTATING, "oil"):
        raise InputError(
            f"'{part}' is no line of a bob-weight.",
            hint=f"They are {', '.join((*ROTATING, 'oil', *RECIPROCATING))}.",
        )
    return grams * (card.factor if part in RECIPROCATING else 1.0)
