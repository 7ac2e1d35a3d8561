"""The crank train of an engine file, as the kernels take it: throws, masses, mains, firing."""

from __future__ import annotations

from dataclasses import dataclass
from math import tau

import numpy as np

from bedplate.engine import Engine
from bedplate.engine.layout import FREE_END
from bedplate.errors import InputError
from bedplate.physics.checks import Array
from bedplate.physics.crank_train import (
    NO_UNBALANCE,
    CrankLayout,
    MovingMasses,
    Unbalance,
    crank_layout,
    masses_from_ends,
    unbalance,
)
from bedplate.shop.balance.weights import Weight, weights_of
from bedplate.shop.duty.given import Given, How, Value, labels
from bedplate.shop.duty.volumes import crank_offset, throw_of


@dataclass(frozen=True, slots=True)
class Train:
    """What turns and what goes up and down.

    :param mains: middle of each main along the crank, m, from the free end
    :param main_labels: its number, in the same order
    :param firing: crank angle at which each cylinder fires, rad, in the order of labels
    :param sources: (what, Value) of each figure that went in
    :param unknown: what is left out because the file does not say it, as sentences
    """

    layout: CrankLayout
    masses: MovingMasses
    turning: Unbalance
    mains: tuple[float, ...]
    main_labels: tuple[str, ...]
    labels: tuple[str, ...]
    firing: Array
    cycle: float
    sources: tuple[tuple[str, Value], ...]
    unknown: tuple[str, ...]


_PARTS = (
    ("piston", "what a piston weighs"),
    ("pin", "what a piston pin weighs"),
    ("locks", ""),
    ("rings", ""),
    ("small end", "what the small end of a rod weighs"),
    ("big end", "what the big end of a rod weighs"),
    ("shells", ""),
)
"""Parts of a cylinder, and for those that cannot be left out what is asked for."""

_HOW = {"weighed": How.MEASURED, "on hand": How.MEASURED, "engine file": How.FILE}


def crank_train(given: Given, *, with_mains: bool = True) -> Train:
    """Return the crank train.

    Axis 1 of its frame points up between the banks, axis 2 a quarter turn on in the direction of
    rotation.

    :param with_mains: False where nothing is asked of the mains: they are then left out, and a
        crank with one throw needs no pitch
    :raises InputError: the file does not give a weight or a place that is needed
    """
    engine = given.engine
    weight, sources = _weights(given)
    masses = masses_from_ends(
        len(engine.layout.cylinders),
        weight["piston"] + weight["pin"] + weight["locks"] + weight["rings"],
        weight["small end"],
        weight["big end"] + weight["shells"],
        engine.rod,
    )
    places, pitch = _positions(given, with_mains=with_mains)
    layout = _layout(engine, places)
    mains = _mains(given, pitch) if with_mains else ()
    numbers = [str(number + 1) for number in range(len(mains))]
    if engine.layout.mains_from != FREE_END:
        numbers.reverse()
    unknown = []
    turning = _turning(given, layout)
    if turning is NO_UNBALANCE:
        unknown.append("Counterweights: the file gives none, so the mains carry all that turns.")
    return Train(
        layout=layout,
        masses=masses,
        turning=turning,
        mains=mains,
        main_labels=tuple(numbers),
        labels=labels(engine),
        firing=_firing(engine, layout),
        cycle=engine.layout.cycle,
        sources=(*sources, *_geometry(given, pitch), *_counterweights(given)),
        unknown=tuple(unknown),
    )


def _weights(given: Given) -> tuple[dict[str, Array], tuple[tuple[str, Value], ...]]:
    """Return what each part of every cylinder weighs, kg, and where it is known from.

    What was weighed, or chosen with its weight, counts before what the engine file means.
    """
    names = labels(given.engine)
    known = weights_of(given.engine, given.state)
    amounts: dict[str, Array] = {}
    sources: list[tuple[str, Value]] = []
    for part, asked in _PARTS:
        each = [known.by.get((part, name)) for name in names]
        if None in each:
            key = f"weights.{part.replace(' ', '_')}"
            nothing = "not in the engine file; counted as nothing"
            one = given.needed(key, asked) if asked else given.sure(key, 0.0, nothing)
            amounts[part] = np.full(len(names), one.value)
            sources.append((part, one))
            continue
        values = [_weight(one) for one in each if one is not None]
        amounts[part] = np.array([one.value for one in values])
        alike = len(set(values)) == 1
        sources += [(part, values[0])] if alike else [
            (f"{part}, cylinder {name}", one) for name, one in zip(names, values, strict=True)
        ]  # fmt: skip
    return amounts, tuple(sources)


def _weight(one: Weight) -> Value:
    source = one.source if one.how == "engine file" else f"{one.how}, {one.source}"
    return Value(one.value, source, _HOW[one.how], one.standard or 0.0)


def _geometry(given: Given, pitch: Value | None) -> tuple[tuple[str, Value], ...]:
    """Return the lengths and places that the motion and the mains rest on."""
    engine, duty = given.engine, given.duty
    pin, printed = duty.pin_offset, How.FILE
    none = Value(0.0, "not in the engine file; none", How.ESTIMATED)
    shared = len({c.position for c in engine.layout.cylinders}) < len(engine.layout.cylinders)
    return (
        ("stroke", Value(engine.stroke, "engine file, geometry.stroke", printed)),
        ("rod length", Value(engine.rod, "engine file, geometry.rod", printed)),
        ("pin offset", Value(pin.value, pin.source, printed) if pin else none),
        ("crank offset", given.sure("crank.offset", 0.0, none.source)),
        ("rod's inertia", Value(0.0, "its two ends as masses at their centres", How.ESTIMATED)),
        *((("pitch of the throws", pitch),) if pitch else ()),
        *((("distance of rods on one throw", _spacing(given)),) if shared else ()),
        ("places of the mains", Value(0.0, "engine file, crank.mains_at", printed)
         if duty.mains_at else Value(0.0, "half way between the throws", How.ESTIMATED)),
    )  # fmt: skip


def _counterweights(given: Given) -> tuple[tuple[str, Value], ...]:
    """Return what turns with the crank, each with its source."""
    opposite = given.figure("crank.opposite")
    found = [] if opposite is None else [("counterweight opposite each throw", opposite)]
    found += [
        (f"counterweight {number}", Value(one.unbalance, one.source, How.FILE))
        for number, one in enumerate(given.duty.counterweights, 1)
    ]
    none = Value(0.0, "not in the engine file; counted as nothing", How.ESTIMATED)
    return tuple(found) or (("counterweights", none),)


def _layout(engine: Engine, places: tuple[float, ...]) -> CrankLayout:
    way = 1.0 if engine.layout.clockwise else -1.0
    cylinders = engine.layout.cylinders
    return crank_layout(
        throw_of(engine),
        engine.rod,
        np.array([way * cylinder.bank_angle for cylinder in cylinders]),
        np.array([cylinder.throw_angle for cylinder in cylinders]),
        np.array(places),
        crank_offset(engine),
    )


def _positions(given: Given, *, with_mains: bool) -> tuple[tuple[float, ...], Value | None]:
    """Return the place of each rod along the crank, from the throw nearest the free end."""
    engine = given.engine
    layout = engine.layout
    throws = len({cylinder.position for cylinder in layout.cylinders})
    main_between = layout.crankpins > throws and layout.mains == layout.crankpins + 1
    if throws > 1 or main_between:
        pitch: Value | None = given.needed("crank.pitch", "how far apart the throws stand")
    elif with_mains and not given.duty.mains_at:
        pitch = given.needed("crank.pitch", "how far apart the mains beside its one throw stand")
    else:
        pitch = given.figure("crank.pitch")
    step = pitch.value if pitch else 0.0
    if main_between:
        return tuple((c.crankpin - 1) * step for c in layout.cylinders), pitch
    spacing = _spacing(given).value
    places: list[float] = []
    for cylinder in layout.cylinders:
        beside = [c for c in layout.cylinders if c.position == cylinder.position]
        ordered = sorted(beside, key=lambda c: (c.crankpin, c.bank))
        aside = ordered.index(cylinder) - (len(ordered) - 1) / 2
        places.append((cylinder.position - 1) * step + aside * spacing)
    return tuple(places), pitch


def _spacing(given: Given) -> Value:
    """Return how far apart two rods on one throw stand."""
    own = given.figure("crank.rod_spacing")
    width = given.size(f"rod-width-{labels(given.engine)[0]}")
    if own is not None or width is None:
        return own or Value(0.0, "not in the engine file; counted as nothing", How.ESTIMATED)
    return Value(width.value, f"as wide as a rod: {width.source}", How.ESTIMATED)


def _mains(given: Given, pitch: Value | None) -> tuple[float, ...]:
    layout, own = given.engine.layout, given.duty.mains_at
    if own or pitch is None:
        return own
    throws = len({cylinder.position for cylinder in layout.cylinders})
    if layout.mains in {throws + 1, layout.crankpins + 1}:
        return tuple((number - 0.5) * pitch.value for number in range(layout.mains))
    raise InputError(
        f"Where the {layout.mains} mains stand between {throws} throws is not known.",
        hint="Give crank.mains_at, one place for each main.",
    )


def _turning(given: Given, layout: CrankLayout) -> Unbalance:
    """Return counterweights: those of each throw opposite its pin, and those named singly."""
    amounts, angles, places = [], [], []
    opposite = given.duty.value("crank.opposite")
    if opposite:
        by_throw: dict[float, list[tuple[float, float]]] = {}
        for cylinder, place, angle in zip(
            given.engine.layout.cylinders, layout.position, layout.throw_angle, strict=True
        ):
            by_throw.setdefault(cylinder.position, []).append((float(place), float(angle)))
        for pins in by_throw.values():
            for place, angle in pins:
                amounts.append(opposite / len(pins))
                angles.append(angle + tau / 2)
                places.append(place)
    for weight in given.duty.counterweights:
        amounts.append(weight.unbalance)
        angles.append(weight.angle)
        places.append(weight.at)
    return unbalance(amounts, angles, places) if amounts else NO_UNBALANCE


def _firing(engine: Engine, layout: CrankLayout) -> Array:
    """Return when each cylinder fires, the first at its own top dead centre."""
    order = labels(engine)
    first = float(layout.top_dead_centre[order.index(engine.layout.firing[0])])
    at, angles = first, {}
    for label, interval in zip(engine.layout.firing, engine.layout.intervals, strict=True):
        angles[label] = at
        at += interval
    return np.array([angles[label] for label in order])


def beside(train: Train, kind: str, number: str) -> list[tuple[str, float]]:
    """Return the cylinders whose firing a bearing feels most, with the crank angle of it, rad.

    :param kind: 'rod': its own cylinder; 'main': the two nearest
    """
    if kind == "rod":
        return [(number, float(train.firing[train.labels.index(number)]))]
    at = train.mains[train.main_labels.index(number)]
    near = np.argsort(np.abs(train.layout.position - at), kind="stable")[:2]
    return [(train.labels[int(k)], float(train.firing[int(k)])) for k in near]


def estimated(sources: tuple[tuple[str, Value], ...]) -> tuple[str, ...]:
    """Return the names of the figures that are estimates."""
    return tuple(name for name, value in sources if value.how is How.ESTIMATED)
