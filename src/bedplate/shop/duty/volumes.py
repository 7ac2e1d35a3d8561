"""Volumes and compression ratio of each cylinder, term by term, and the squish of each."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import hypot, pi

import numpy as np

from bedplate.engine import Engine
from bedplate.errors import InputError
from bedplate.physics.checks import Array
from bedplate.physics.slider_crank import dead_centres, throw_for_stroke
from bedplate.physics.volumes import (
    ClearanceSpace,
    ClearanceTerms,
    compression,
    compression_sensitivity,
    effective_ratio,
    squish,
)
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.duty.given import Given, How, Value, labels

STEP = 1e-5
"""m: a hundredth of a millimetre."""

_SAME_LENGTH, _FAR = 1e-6, 1e-4
"""m: lengths that count as one; how far a measured deck may be from the file's four lengths."""


_SAME_RATIO = 0.005
"""Ratios that print alike."""


@dataclass(frozen=True, slots=True)
class CylinderVolumes:
    """One cylinder's volumes, m³, and its ratio.

    :param terms: of the clearance volume
    :param ratio_standard: standard uncertainty of the ratio, from those of its terms
    :param effective: ratio from where the inlet closes; None where the file does not say when
    :param squish: at rest, m; its standard uncertainty beside it
    :param per_step: what a hundredth of a millimetre changes of the ratio: piston lower, gasket
        thicker, bore wider
    :param per_volume: what one cubic centimetre more changes of the ratio
    :param sources: (term, Value) of each figure that went in
    """

    label: str
    swept: float
    terms: ClearanceTerms
    clearance: float
    ratio: float
    ratio_standard: float
    effective: float | None
    squish: float
    squish_standard: float
    per_step: tuple[tuple[str, float], ...]
    per_volume: float
    sources: tuple[tuple[str, Value], ...]


@dataclass(frozen=True, slots=True)
class Volumes:
    """All cylinders.

    :param wanted_squish: the least that the file wants; None where it does not say
    :param unknown: what could not be told, as sentences
    """

    cylinders: tuple[CylinderVolumes, ...]
    wanted_squish: Value | None
    unknown: tuple[str, ...]

    @property
    def displacement(self) -> float:
        """Return the swept volume of all cylinders, m³."""
        return sum(cylinder.swept for cylinder in self.cylinders)

    @property
    def by_ratio(self) -> tuple[CylinderVolumes, ...]:
        """Return the cylinders, the lowest ratio first."""
        return tuple(sorted(self.cylinders, key=lambda cylinder: cylinder.ratio))

    @property
    def by_squish(self) -> tuple[CylinderVolumes, ...]:
        """Return the cylinders, the tightest squish first."""
        return tuple(sorted(self.cylinders, key=lambda cylinder: cylinder.squish))


def crank_offset(engine: Engine) -> float:
    """Return how far the pin's line passes the crank's axis, m, as `slider_crank` counts it."""
    duty = engine.duty
    pin = duty.pin_offset.value if duty.pin_offset else 0.0
    return pin + duty.value("crank.offset")


def volumes(given: Given) -> Volumes:
    """Return the volumes of every cylinder.

    Measured bores, deck clearances and chambers count before the engine file's, and a deck
    clearance by the file's geometry before one by limits; a pin that is offset is exact in the
    stroke.

    :raises InputError: the file does not give a term that has no usual value, or it cannot be
    """
    unknown: list[str] = []
    if given.duty.figure("valves.inlet_closes") is None:
        unknown.append("The effective ratio: the file does not say when the inlet closes.")
    if given.duty.figure("chamber.crevice") is None:
        unknown.append("The crevice between piston, top ring and wall: counted as nothing.")
    unknown += _deck_doubts(given)
    cylinders = tuple(_cylinder(given, label) for label in labels(given.engine))
    unknown += _ratio_doubts(given, cylinders)
    return Volumes(cylinders, given.figure("chamber.squish"), tuple(unknown))


def _ratio_doubts(given: Given, cylinders: tuple[CylinderVolumes, ...]) -> list[str]:
    """Say where the ratio that the file prints is not the one that its terms give.

    The doubt is the expanded uncertainty of the computed one and half of the last figure printed.
    """
    printed = given.duty.figure("chamber.ratio")
    if printed is None:
        return []
    number = printed.text.partition(":")[0]
    last = 0.5 * 10.0 ** -len("".join(re.findall(r"[.,](\d+)", number)))
    apart = [
        one
        for one in cylinders
        if abs(one.ratio - printed.value) > hypot(2 * one.ratio_standard, last)
    ]
    if not apart:
        return []
    low, high = (pick(one.ratio for one in apart) for pick in (min, max))
    computed = f"{low:.2f}" if high - low < _SAME_RATIO else f"{low:.2f} to {high:.2f}"
    said = f"Compression ratio: {printed.source} says {printed.text}, but its terms give {computed}"
    names = ", ".join(one.label for one in apart)
    return [f"{said} in {names}, which counts: check the terms, or the ratio."]


def squish_words(found: Volumes, units: Units) -> str:
    """Return the squish of every cylinder from the tightest on, and how it stands to the wanted.

    Cylinders with the same squish are named together.
    """
    alike: dict[str, list[str]] = {}
    for one in found.by_squish:
        alike.setdefault(show(one.squish, Dimension.LENGTH, units, uncertainty=1e-5), []).append(
            one.label
        )
    said = "; ".join(f"{squish} in {', '.join(own)}" for squish, own in alike.items())
    words = f"Squish at rest, tightest first: {said}."
    tight, wanted = found.by_squish[0], found.wanted_squish
    if wanted is not None:
        low = "under" if tight.squish < wanted.value else "not under"
        least = show(wanted.value, Dimension.LENGTH, units, uncertainty=1e-5)
        words += f" The tightest is {low} the {least} wanted ({wanted.source})."
    return f"{words} Rock, heat and the stretch of the rod take from it."


def _cylinder(given: Given, label: str) -> CylinderVolumes:
    engine = given.engine
    used = _terms(given, label)
    value = {name: one.value for name, one in used.items()}
    space = ClearanceSpace(
        chamber=value["chamber"],
        gasket_bore=value["gasket bore"],
        gasket_thickness=value["gasket"],
        piston_below_deck=value["deck clearance"],
        dish=value["dish"],
        dome=value["dome"],
        crevice=value["crevice"],
    )
    bore, stroke = value["bore"], engine.stroke
    found = compression(space, bore, stroke)
    slope = compression_sensitivity(space, bore, stroke)
    standard = hypot(
        slope.piston_below_deck * used["deck clearance"].standard,
        slope.gasket_thickness * used["gasket"].standard,
        slope.volume * used["chamber"].standard,
        slope.bore * used["bore"].standard,
    )
    return CylinderVolumes(
        label=label,
        swept=found.swept,
        terms=found.terms,
        clearance=found.clearance,
        ratio=found.ratio,
        ratio_standard=standard,
        effective=_effective(given, bore, found.clearance),
        squish=squish(space, value["head recess"]),
        squish_standard=hypot(used["deck clearance"].standard, used["gasket"].standard),
        per_step=(
            ("piston lower", slope.piston_below_deck * STEP),
            ("gasket thicker", slope.gasket_thickness * STEP),
            ("bore wider", slope.bore * STEP),
        ),
        per_volume=slope.volume * 1e-6,
        sources=tuple(used.items()),
    )


def _terms(given: Given, label: str) -> dict[str, Value]:
    duty = given.duty
    deck = deck_of(given, label)
    if deck is None:
        raise InputError(
            f"How far piston {label} stays below the deck is not known.",
            hint="Give geometry.deck and geometry.compression_height, or measure deck clearance.",
        )
    chamber = _chamber(given, label)
    gasket = given.needed("chamber.gasket", "how thick the head gasket is when crushed")
    gasket_doubt = duty.value("chamber.gasket_uncertainty") / 2
    nothing = "not in the engine file; counted as nothing"
    return {
        "bore": bore_of(given, label),
        "chamber": chamber,
        "gasket": Value(gasket.value, gasket.source, gasket.how, gasket_doubt),
        "gasket bore": given.needed("chamber.gasket_bore", "how wide the gasket's own hole is"),
        "deck clearance": deck,
        "dish": given.sure("chamber.dish", 0.0, nothing),
        "dome": given.sure("chamber.dome", 0.0, nothing),
        "crevice": given.sure("chamber.crevice", 0.0, nothing),
        "head recess": given.sure("chamber.recess", 0.0, nothing),
    }


def deck_of(given: Given, label: str) -> Value | None:
    """Return how far a piston stays below the deck, m: measured, by geometry, or by the fit."""
    by_fit = given.fit(f"deck-clearance-{label}") or given.size(f"deck-clearance-{label}")
    geometry = given.geometry_deck()
    if by_fit is None or geometry is None:
        return by_fit or geometry
    if by_fit.how is How.MEASURED or abs(by_fit.value - geometry.value) < _SAME_LENGTH:
        return by_fit
    doubt = 0.0 if _disagrees(given, label, by_fit, geometry) else by_fit.standard
    return Value(geometry.value, geometry.source, geometry.how, doubt)


def _disagrees(given: Given, label: str, by_fit: Value, geometry: Value) -> bool:
    """Return True for a measured one far from geometry's, or a geometry outside the fit's limits.

    A tenth of a millimetre counts as far where it was measured: ours, to make a sentence.
    """
    fit = given.engine.fits.get(f"deck-clearance-{label}")
    apart = abs(by_fit.value - geometry.value)
    if by_fit.how is How.MEASURED or fit is None:
        return apart > _FAR
    limits = fit.limits[0].range
    below = limits.low is not None and geometry.value < limits.low - _SAME_LENGTH
    return below or (limits.high is not None and geometry.value > limits.high + _SAME_LENGTH)


def _deck_doubts(given: Given) -> list[str]:
    """Say where what is measured, or the limits of the fit, and the geometry disagree."""
    geometry, alike = given.geometry_deck(), dict[tuple[float, str], list[str]]()
    for label in labels(given.engine):
        by_fit = given.fit(f"deck-clearance-{label}") or given.size(f"deck-clearance-{label}")
        if geometry and by_fit and _disagrees(given, label, by_fit, geometry):
            alike.setdefault((by_fit.value, by_fit.how), []).append(label)
    if geometry is None or not alike:
        return []
    units = given.engine.units
    by_geometry = show(geometry.value, Dimension.LENGTH, units, uncertainty=1e-5)
    each = "; ".join(
        f"{show(value, Dimension.LENGTH, units, uncertainty=1e-5)}"
        f" {'measured' if how == How.MEASURED else 'by its limits'} in {', '.join(own)}"
        for (value, how), own in alike.items()
    )
    said = f"{by_geometry} by deck, half the stroke, rod and compression height, but {each}"
    return [f"Deck clearance: {said}: what is measured counts, else the geometry's."]


def _chamber(given: Given, label: str) -> Value:
    own = given.duty.chambers.get(label)
    doubt = given.duty.value("chamber.uncertainty") / 2
    if own is not None:
        return Value(own.value, f"{own.source}, cylinder {label}", How.MEASURED, doubt)
    meant = given.needed("chamber.volume", f"how big the chamber of cylinder {label} is")
    return Value(meant.value, meant.source, meant.how, doubt)


def _effective(given: Given, bore: float, clearance: float) -> float | None:
    closing = given.duty.figure("valves.inlet_closes")
    if closing is None:
        return None
    engine, offset = given.engine, crank_offset(given.engine)
    throw = throw_for_stroke(engine.stroke, engine.rod, offset)
    return effective_ratio(closing.value, bore, throw, engine.rod, clearance, offset)


@dataclass(frozen=True, slots=True)
class Space:
    """What a cylinder's own pressure rests on.

    :param bore: m
    :param clearance: volume, m³
    """

    bore: float
    clearance: float


def spaces_of(given: Given) -> tuple[tuple[Space, ...], Value | None]:
    """Return bore and clearance volume of every cylinder, in the order of labels.

    :returns: the spaces, and the printed ratio where it had to do, the same for all
    """
    printed = given.figure("chamber.ratio")
    bores = bores_of(given).tolist()
    try:
        found = volumes(given).cylinders
    except InputError:
        if printed is None:
            raise
        shared = swept_of(given.engine) / (printed.value - 1)
        return tuple(Space(bore, shared) for bore in bores), printed
    return tuple(Space(bore, one.clearance) for bore, one in zip(bores, found, strict=True)), None


def bore_of(given: Given, label: str) -> Value:
    """Return the bore of a cylinder, measured or the engine file's."""
    return given.size(f"cylinder-bore-{label}") or Value(
        given.engine.bore, "engine file, geometry.bore", How.FILE
    )


def bores_of(given: Given) -> Array:
    """Return the bore of every cylinder, m, in the order of labels."""
    return np.array([bore_of(given, label).value for label in labels(given.engine)])


def swept_of(engine: Engine) -> float:
    """Return the swept volume of one cylinder by the file's bore and stroke, m³."""
    return pi / 4 * engine.bore**2 * engine.stroke


def throw_of(engine: Engine) -> float:
    """Return the throw, m; with an offset a little less than half the stroke."""
    throw = throw_for_stroke(engine.stroke, engine.rod, crank_offset(engine))
    dead_centres(throw, engine.rod, crank_offset(engine))
    return throw
