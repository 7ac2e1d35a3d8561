"""The bob-weight card on paper, and the chapter on balance and torsion in the build book."""

from __future__ import annotations

from math import degrees, pi

from bedplate.documents import paper
from bedplate.documents.balance_picture import Vector, path_picture, sum_picture, throws_picture
from bedplate.documents.mode_picture import mode_shapes_picture
from bedplate.documents.paper import Tree
from bedplate.documents.torsion_picture import speed_order_picture, twist_picture
from bedplate.engine.words import crankpins_in_words
from bedplate.errors import InputError
from bedplate.quantity import Dimension, Units, show, show_both
from bedplate.shop.balance.bob_weight import Card, ThrowCard, bob_weight_card
from bedplate.shop.balance.card_check import check_card
from bedplate.shop.balance.ledger import Ledger, ledger_of
from bedplate.shop.balance.residual import shares_of
from bedplate.shop.balance.shaking import Shaking, shaking_of, turning_vectors
from bedplate.shop.balance.weights import PARTS, Weights, weights_of
from bedplate.shop.model import State
from bedplate.shop.torsion.report import TorsionReport, torsion_of
from bedplate.wording import capital

_SURE = 2.0


def balance_card(state: State) -> bytes:
    """Return the bob-weight card as PDF/A-3.

    :raises BedplateError: the page could not be set
    """
    last = state.entries[-1].entry.at if state.entries else ""
    data = {"head": paper.heading(state), **card_contents(state)}
    return paper.typeset("balance_card.typ", data, at=paper.moment(last))


def card_contents(state: State) -> Tree:
    """Return everything the card sets."""
    engine, units = state.engine, state.units
    weights = weights_of(engine, state)
    card = bob_weight_card(engine, weights)
    ledger = ledger_of(state)
    on = [part.part for part in ledger.parts if not part.due]
    return {
        "needed": card.needed,
        "why": card.why,
        "factor": f"{card.factor:.1%}",
        "factor_why": card.factor_why,
        "missing": list(card.missing),
        "map": map_words(card),
        "sums": [_sum(cards, units) for cards in alike(card)],
        "weights": _weights(weights, units),
        "doubts": list(weights.doubts),
        "spreads": [
            [s.part, _mass(s.lightest.value, units), s.lightest.number, _mass(s.amount, units),
             s.heaviest.number]
            for s in weights.spreads()
        ],
        "throws": paper.drawing(
            throws_picture(engine, card.throws), f"Throws of {engine.name} from the free end"
        ),
        "sentence": ledger.sentence,
        "balanced": ledger.balanced,
        "on": on,
        "off": [[part.part, part.due, part.to_do] for part in ledger.due],
        "asked": _asked(state, ledger),
        "way": ledger.way,
        "weighted": list(engine.balancing.weighted),
    }  # fmt: skip


def _mass(value: float, units: Units) -> str:
    return show(value, Dimension.MASS, units)


def alike(card: Card) -> list[list[ThrowCard]]:
    """Return throws whose sums are the same line by line, together."""
    groups: list[list[ThrowCard]] = []
    for throw in card.throws:
        for group in groups:
            if group[0].lines == throw.lines:
                group.append(throw)
                break
        else:
            groups.append([throw])
    return groups


def _sum(cards: list[ThrowCard], units: Units) -> Tree:
    card = cards[0]
    return {
        "throws": ", ".join(str(one.throw.number) for one in cards),
        "many": len(cards) > 1,
        "cylinders": "; ".join(" and ".join(one.throw.labels) for one in cards),
        "lines": [
            [line.name, str(line.count), _mass(line.each, units), f"{line.share:.1%}",
             _mass(line.total, units), line.source]
            for line in card.lines
        ],
        "pins": hung_words(cards, units),
        "rotating": _mass(card.rotating, units),
        "reciprocating": _mass(card.reciprocating, units),
        "total": _mass(card.bob_weight, units),
        "ounces": show(card.bob_weight, Dimension.MASS, units, unit="oz"),
        "sure": _mass(_SURE * card.standard, units),
    }  # fmt: skip


def hung_words(cards: list[ThrowCard], units: Units) -> str:
    """Return how the sum is hung where a throw has more than one crankpin, '' where it has one."""
    if len(cards[0].pins) < 2:
        return ""
    shown = [[_mass(one, units) for _, one in card.pins] for card in cards]
    if len({mass for each in shown for mass in each}) == 1:
        return f"{shown[0][0]} hangs on each crankpin of a throw, at the pin's own angle."
    each = (
        f"{mass} on the pin of {label}"
        for card, masses in zip(cards, shown, strict=True)
        for (label, _), mass in zip(card.pins, masses, strict=True)
    )
    return f"Each crankpin has its own: {', '.join(each)}."


def map_words(card: Card) -> str:
    """Return where the crankpins of a card stand, '' where nothing hangs on them."""
    if not card.throws:
        return ""
    return crankpins_in_words(c for one in card.throws for c in one.throw.cylinders)


def _weights(weights: Weights, units: Units) -> list[list[str]]:
    def one(part: str, label: str) -> str:
        found = weights.of(part, label)
        return _mass(found.value, units) if found.how else "–"

    return [[label, *(one(part, label) for part in PARTS)] for label in weights.labels]


def _asked(state: State, ledger: Ledger) -> list[list[str]]:
    """Return what is asked of the balancer, with units."""
    said, units = state.engine.balancing, state.units
    rows = [] if said.way else [["Way", ledger.way_words]]
    if said.grade:
        rows.append(
            ["Grade", f"G {said.grade:g} (ISO 21940-11), {said.grade_source or 'asked for'}"]
        )
    if state.engine.duty.speed:
        rows.append(["Speed", show(state.engine.duty.speed.value, Dimension.ROTATION, units)])
    if ledger.allowance is not None:
        total = show_both(ledger.allowance.total, Dimension.UNBALANCE, units)
        left = show_both(ledger.allowance.left, Dimension.UNBALANCE, units)
        left += ledger.allowance.shared
        rows += [["Permitted in all", f"{total}; {ledger.allowance.words}"], ["Left to give", left]]
        shares = shares_of(state.engine, ledger.allowance.total, state)
        if shares is not None:
            front, rear = (
                show_both(one, Dimension.UNBALANCE, units)
                for one in (shares.plane_a, shares.plane_b)
            )
            said_so = f"{front} at the free end, {rear} at the drive end"
            rows.insert(-1, ["Permitted per bearing plane", said_so])
    return rows


def chapter(state: State) -> Tree | None:
    """Return the chapter on balance and torsion, None where nothing is said of either."""
    said = state.engine.balancing
    ledger = ledger_of(state)
    if not said.way and ledger.card is None and not said.figures:
        return None
    contents = card_contents(state)
    card = bob_weight_card(state.engine, weights_of(state.engine, state))
    remarks = () if ledger.card is None else check_card(state, ledger.card, card)
    return {
        **contents,
        "ledger": [
            [
                "due" if part.due else "in", part.part, part.standing.value, part.identity,
                "" if part.residual is None
                else show_both(part.residual, Dimension.UNBALANCE, state.units),
            ]
            for part in ledger.parts
        ],
        "remarks": [["right" if one.fine else "question", one.sentence] for one in remarks],
        "shaking": _shaking(state),
        "torsion": _torsion(state),
    }  # fmt: skip


def _shaking(state: State) -> Tree:
    try:
        found = shaking_of(state.engine, state)
    except InputError as error:
        return {"missing": error.sentence, "rows": [], "pictures": []}
    units = state.units
    return {
        "missing": "",
        "speed": show(found.speed, Dimension.ROTATION, units),
        "shafts": [shaft.name for shaft in state.engine.balancing.shafts],
        "rows": [
            [
                str(one.order),
                show(one.force.greatest, Dimension.FORCE, units, resolution=1.0),
                show(one.couple.greatest, Dimension.TORQUE, units, resolution=1.0),
                show(bare.force.greatest, Dimension.FORCE, units, resolution=1.0),
                show(bare.couple.greatest, Dimension.TORQUE, units, resolution=1.0),
            ]
            for one, bare in zip(found.orders, found.bare, strict=True)
        ],
        "unknown": list(found.train.unknown),
        "pictures": [paper.drawing(svg, title) for title, svg in sums(state, found)],
    }


def sums(state: State, found: Shaking) -> list[tuple[str, str]]:
    """Return the drawings in which what turns adds up, and the exact paths over a turn."""
    vectors = turning_vectors(state.engine, found)
    drawn = []
    for title, unit, per in (
        ("Forces that turn", "kg·mm", 1e3),
        ("Couples that turn", "kg·m·mm", 1e3),
    ):
        each = [one.force if title.startswith("Forces") else one.couple for one in vectors]
        total = sum(each, 0j)
        texts = [f"{abs(one) * per:.1f} {unit}" for one in (*each, total)]
        svg = sum_picture(
            state.engine,
            [Vector(v.name, z.real, z.imag) for v, z in zip(vectors, each, strict=True)],
            title,
            texts,
        )
        drawn.append((title, svg))
    for title, path, dimension in (
        ("Force over a turn, exact", found.force, Dimension.FORCE),
        ("Couple over a turn, exact", found.couple, Dimension.TORQUE),
    ):
        most = float((path**2).sum(axis=1).max()) ** 0.5
        if most >= 1.0:
            said = show_both(most, dimension, state.units, resolution=1.0)
            points = [(float(one), float(two)) for one, two in path]
            drawn.append((title, path_picture(state.engine, points, title, said)))
    return drawn


def _torsion(state: State) -> Tree:
    try:
        found = torsion_of(state.engine, state)
    except InputError as error:
        return {"missing": error.sentence, "modes": [], "criticals": [], "pictures": []}
    pictures = [
        ("Orders, natural frequencies and critical speeds", speed_order_picture(found)),
        ("Twist of the free end over speed", twist_picture(found)),
        ("How the first modes swing", mode_shapes_picture(found)),
    ]
    return {
        "missing": "",
        "stiffness": found.crank.stiffness_from,
        "formulas": [
            [name, show(value, Dimension.TORSIONAL_STIFFNESS, state.units)]
            for name, value in found.crank.formulas
        ],
        "damper": found.crank.damper,
        "modes": mode_rows(found),
        "criticals": critical_rows(found),
        "sources": [
            [name, f"{value.value:.5g}", f"{value.source}; {value.how.value}"]
            for name, value in found.crank.sources
        ],
        "pictures": [paper.drawing(svg, title) for title, svg in pictures if svg],
        "model": model_rows(found),
        "worst": worst_words(found),
        "gas": capital(found.gas_note).removesuffix("."),
        "damping": found.crank.damping.words,
        "doubts": list(found.crank.doubts),
        "measured": found.crank.measured,
    }


def excitation_rows(found: TorsionReport) -> list[list[str]]:
    """Return by order what gas, inertia and both drive with, what is below 1 % left out."""
    drives = found.excitation
    if drives is None:
        return []
    floor = 0.01 * max(float(drives.gas.max()), float(drives.inertia.max()))
    return [
        [f"{order:g}", *(f"{float(one):.0f} N·m" for one in torques)]
        for order, *torques in zip(
            drives.orders, drives.gas, drives.inertia, drives.both, strict=True
        )
        if max(float(one) for one in torques) >= floor
    ]


def model_rows(found: TorsionReport) -> list[list[str]]:
    """Return every inertia, and the shaft that joins it to the ones before."""
    model, names = found.crank.damped.model, found.crank.names
    joined: dict[int, list[str]] = {}
    for shaft, (one, other) in enumerate(zip(model.first, model.second, strict=True)):
        stiff, damps = float(model.stiffness[shaft]), float(model.damping[shaft])
        said = f"{stiff / 1e3:.4g} kN·m/rad" if stiff else f"{damps:.4g} N·m·s/rad, oil"
        later, before = max(int(one), int(other)), min(int(one), int(other))
        joined.setdefault(later, []).append(f"{said} to {names[before]}")
    return [
        [name, f"{float(model.inertia[node]):.4g} kg·m²", "; ".join(joined.get(node, []))]
        for node, name in enumerate(names)
    ]


def mode_rows(found: TorsionReport) -> list[list[str]]:
    """Return each natural frequency with its band, up to the third that twists the crank."""
    rows = []
    sets = [("without damper", found.bare_modes, found.bare_band, found.bare_shown)]
    if found.crank.damper != "none":
        sets.insert(0, ("with damper", found.modes, found.band, found.shown))
    for name, modes, band, shown in sets:
        for mode in range(max(shown) + 1):
            low, middle, high = (
                f"{one[mode] / 2 / pi:.1f}" for one in (band.low, modes.frequency, band.high)
            )
            whose = "" if mode in shown else ", accessory"
            rows.append([f"{name}{whose}", str(mode + 1), f"{middle} Hz", f"{low} to {high} Hz"])
    return rows


def critical_rows(found: TorsionReport) -> list[list[str]]:
    """Return the critical speeds at which the cylinders push together."""
    return [
        [f"{one.order:g}", str(one.mode), f"{one.speed * 30 / pi:.0f} rpm",
         f"{one.low * 30 / pi:.0f} to {one.high * 30 / pi:.0f} rpm", f"{one.together:.0%}"]
        for one in found.criticals
        if one.major
    ]  # fmt: skip


def worst_words(found: TorsionReport) -> list[str]:
    """Return the greatest twist with the damper and without, in words."""
    words = []
    named = (("with the damper", found.twist), ("without a damper", found.bare_twist))
    for name, twist in named:
        if twist is None or (name == "with the damper" and found.crank.damper == "none"):
            continue
        speed, most = twist.worst
        said = (
            f"Greatest twist of the free end {name}: ±{degrees(most):.2f}° at "
            f"{speed * 30 / pi:.0f} rpm, order {twist.worst_order:g} most of it"
        )
        if twist.band is not None:
            low, high = (degrees(one) for one in twist.band.worst)
            said += f"; 95 % band ±{low:.2f}° to ±{high:.2f}°"
        words.append(f"{said}.")
    return words
