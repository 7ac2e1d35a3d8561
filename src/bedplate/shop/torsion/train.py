"""The torsional model of a build's crank: what each figure is, and where it comes from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot, pi

from bedplate.engine import Engine
from bedplate.errors import InputError, QuantityError
from bedplate.physics.crank_geometry import (
    CrankThrow,
    running_gear_inertia,
    throw_inertia,
    throw_stiffness,
)
from bedplate.physics.crank_model import (
    CrankEnds,
    CrankModel,
    crank_model,
)
from bedplate.physics.torsion import (
    KnownFrequency,
    TorsionalModel,
    modes,
    scaled_to_frequency,
    with_branch,
)
from bedplate.quantity import Dimension, Units, parse_range, show
from bedplate.shop.balance.bob_weight import Throw, throws_of
from bedplate.shop.balance.weights import COVERAGE, RECIPROCATING, ROTATING, Weights, weights_of
from bedplate.shop.duty.given import Given, How, Value
from bedplate.shop.duty.volumes import crank_offset, throw_of
from bedplate.shop.model import State
from bedplate.shop.torsion.measured import FREQUENCY, STIFFNESS, Measured, measured_of

SHEAR_MODULUS = 80e9
DENSITY = 7850.0
_STEEL = "steel, handbook value"
_USUAL = "common practice, no source"
_KNOWN_FREQUENCY = 0.01
"""Relative standard uncertainty of a natural frequency that somebody measured (assumed)."""
_MEASURED = 0.02
"""Relative standard uncertainty of a stiffness that somebody measured, if not said (assumed)."""
FORMULA_DOUBT = 0.05
"""Relative standard uncertainty of any formula, beside how far the formulas differ (assumed)."""
_INERTIA = 0.03
_LOSS, _DRAG, _DRIVE_LOSS = 0.15, 2.0, 0.05
_DRAG_SPAN = 2.0
"""The damping of a throw may be so many times less, or more, if nobody says better (assumed)."""
STEEL_LOSS = 0.0
_FAR = 2.0
"""What was measured and the estimate so many times apart are asked about (ours)."""
_NO_SOURCE = "assumed: common practice, no source; there is no agreed value"


@dataclass(frozen=True, slots=True)
class Damping:
    """What pistons and bearings of a throw damp, to the block, N·m·s/rad.

    :param least, most: bounds that the band of the twist covers
    :param source: where the value comes from
    :param assumed: nobody gave the value
    :param ratio: share of critical damping in the first mode without damper
    """

    value: float
    least: float
    most: float
    source: str
    assumed: bool
    ratio: float = 0.0

    @property
    def words(self) -> str:
        """Return it in a sentence."""
        return (
            f"Damping at each throw: {self.value:g} N·m·s/rad ({self.source}), "
            f"{self.least:g} to {self.most:g} in the band. It is {self.ratio:.1%} of critical in "
            "the first mode without damper; the height of every peak rests on it."
        )


@dataclass(frozen=True, slots=True)
class CrankTrain:
    """The model and what it rests on.

    :param damped: with its damper
    :param bare: without
    :param throws: node of each throw's rods, as `throws_of` counts them
    :param node_of: node of each cylinder, in the order of labels
    :param names: of the nodes of the damped model
    :param formulas: what the stiffness of a throw is by each published formula, N·m/rad
    :param stiffness_doubt: relative standard uncertainty common to all shafts
    :param inertia_doubt: relative standard uncertainty of each inertia
    :param known: the first natural frequency without damper and accessories, where it was measured
    :param stiffness_from: how the stiffness is known
    :param measured: stiffness or frequency was measured, so no formula is relied upon alone
    :param doubts: what was measured and no longer counts, or is far from the estimate
    :param sources: (what, Value) of each figure that went in
    :param accessories: how many hang on the nose: their shafts are the model's last
    """

    damped: CrankModel
    bare: CrankModel
    throws: tuple[Throw, ...]
    node_of: tuple[int, ...]
    names: tuple[str, ...]
    formulas: tuple[tuple[str, float], ...]
    stiffness_doubt: float
    inertia_doubt: float
    known: KnownFrequency | None
    stiffness_from: str
    measured: bool
    doubts: tuple[str, ...]
    damping: Damping
    damper: str
    sources: tuple[tuple[str, Value], ...]
    accessories: int = 0


class _Figures:
    """Reads figures and remembers each with its source."""

    def __init__(self, engine: Engine, measured: Measured | None = None) -> None:
        self.said = engine.balancing
        self.measured = measured or Measured()
        self.sources: list[tuple[str, Value]] = []

    def known(self, key: str, usual: float | None = None, why: str = "") -> float | None:
        found = self.said.figure(f"torsion.{key}")
        value = Value(found.value, found.source, How.FILE) if found else None
        value = self.measured.values.get(key, value)
        if value is None and usual is not None:
            value = Value(usual, why, How.ESTIMATED)
        if value is None:
            return None
        self.sources.append((key.replace("_", " "), value))
        return value.value

    def sure(self, key: str, usual: float, why: str) -> float:
        found = self.known(key, usual, why)
        return usual if found is None else found

    def needed(self, key: str, what: str) -> float:
        found = self.known(key)
        if found is None:
            raise InputError(
                f"The engine file does not say {what}.",
                hint=f"Give it as torsion.{key}, with its unit.",
            )
        return found


def crank_train_model(given: Given, weights: Weights) -> CrankTrain:
    """Return the torsional model of a crank.

    :raises InputError: the file does not say a figure that is needed
    """
    engine = given.engine
    figures = _Figures(engine, measured_of(given.state))
    throws = throws_of(engine)
    ends = CrankEnds(
        figures.needed("nose_inertia", "what turns at the crank's nose"),
        figures.needed("nose_stiffness", "how stiff the crank's nose is"),
        figures.needed("flywheel_inertia", "what turns at the flywheel's end"),
        figures.needed("flange_stiffness", "how stiff the crank's flange is"),
    )
    throw = _stiffness(given, figures)
    own = _own_inertia(given, figures)
    inertia = [own + _rods(engine, weights, throw) for throw in throws]
    drag = _damping(figures)
    bare = crank_model(inertia, throw.value, ends, drag=drag.value, loss=STEEL_LOSS)
    doubts = _far_frequency(figures, bare, throw)
    bare, throw, known = _to_known_frequency(figures, bare, throw)
    damped = _with_damper(figures, bare)
    inertia_doubt = figures.sure("inertia_uncertainty", _INERTIA, _USUAL)
    names = ["nose", *(f"throw {throw.number}" for throw in throws), "flywheel"]
    if damped.ring is not None:
        names.append("damper ring")
    drag = replace(drag, ratio=float(modes(bare.model).damping_ratio[0]))
    damped, bare, names = _with_accessories(figures, damped, bare, names)
    return CrankTrain(
        damped, bare, throws, _nodes(engine, throws, bare), tuple(names), throw.formulas,
        throw.doubt, inertia_doubt, known, throw.how, throw.measured,
        (*figures.measured.doubts, *throw.doubts, *doubts), drag,
        figures.said.damper or "none", tuple(figures.sources), len(figures.said.accessories),
    )  # fmt: skip


def _to_known_frequency(
    figures: _Figures, bare: CrankModel, throw: _Throw
) -> tuple[CrankModel, _Throw, KnownFrequency | None]:
    """Return the train scaled to a natural frequency that is known, if one is."""
    frequency = figures.known(FREQUENCY)
    if frequency is None:
        return bare, throw, None
    found = float(modes(bare.model).frequency[0]) / 2 / pi
    own = figures.measured.values.get(FREQUENCY)
    said = own.standard / frequency if own and own.standard else 0.0
    sure = said or _KNOWN_FREQUENCY
    source = f" ({own.source})" if own else ""
    doubt = f"{COVERAGE * sure * 100:.2g} % (k = 2{'' if said else ', assumed'})"
    how = (
        f"scaled so that the first natural frequency without damper is {frequency / 2 / pi:.4g}"
        f" Hz ± {doubt}, as measured{source}; {throw.how} it would be {found:.4g} Hz"
    )
    if not said:
        assumed = Value(COVERAGE * sure, "assumed", How.ESTIMATED)
        figures.sources.append(("uncertainty of the known frequency, k = 2", assumed))
    scaled = _with_model(bare, scaled_to_frequency(bare.model, 0, frequency))
    known = KnownFrequency(bare.model.nodes, frequency, sure)
    return scaled, replace(throw, how=how, measured=True), known


def _damping(figures: _Figures) -> Damping:
    value = figures.sure("throw_damping", _DRAG, _NO_SOURCE)
    given = figures.said.figure("torsion.throw_damping")
    bounds = f"assumed: {_DRAG_SPAN:g} times less or more"
    least = figures.sure("least_throw_damping", value / _DRAG_SPAN, bounds)
    most = figures.sure("most_throw_damping", value * _DRAG_SPAN, bounds)
    source = given.source if given else _NO_SOURCE
    return Damping(value, min(least, value), max(most, value), source, given is None)


def _with_model(crank: CrankModel, model: TorsionalModel) -> CrankModel:
    return CrankModel(model, crank.nose, crank.throws, crank.flywheel, crank.ring)


def _nodes(engine: Engine, throws: tuple[Throw, ...], crank: CrankModel) -> tuple[int, ...]:
    by_label = {
        label: node
        for throw, node in zip(throws, crank.throws, strict=True)
        for label in throw.labels
    }
    return tuple(by_label[cylinder.label] for cylinder in engine.layout.cylinders)


def _with_damper(figures: _Figures, bare: CrankModel) -> CrankModel:
    kind = figures.said.damper
    if kind not in {"rubber", "viscous"}:
        return bare
    ring = figures.needed("ring_inertia", "what the damper's ring has")
    if kind == "rubber":
        loss = _rubber_loss(figures)
        stiffness = figures.needed("rubber_stiffness", "how stiff the damper's rubber is")
        model = with_branch(bare.model, bare.nose, ring, stiffness, loss=loss)
    else:
        damping = figures.needed("ring_damping", "how much the damper damps")
        model = with_branch(bare.model, bare.nose, ring, 0.0, damping=damping)
    return CrankModel(model, bare.nose, bare.throws, bare.flywheel, bare.model.nodes)


def _rubber_loss(figures: _Figures) -> float:
    said = figures.said.loss
    loss = (
        Value(_LOSS, _USUAL, How.ESTIMATED)
        if said is None
        else Value(said, "engine file, torsion.rubber_loss", How.FILE)
    )
    figures.sources.append(("rubber loss", loss))
    return loss.value


def _with_accessories(
    figures: _Figures, damped: CrankModel, bare: CrankModel, names: list[str]
) -> tuple[CrankModel, CrankModel, list[str]]:
    for one in figures.said.accessories:
        square = one.ratio**2
        for what, said in (("inertia", one.inertia), ("stiffness", one.stiffness)):
            given = Value(said.value, said.source, How.FILE)
            figures.sources.append((f"{one.name} {what}, at its own speed", given))
        turns = Value(one.ratio, one.inertia.source, How.FILE)
        figures.sources.append((f"{one.name} turns to one of the crank", turns))
        loss = Value(_DRIVE_LOSS, _USUAL, How.ESTIMATED)
        figures.sources.append((f"{one.name} loss factor of its drive", loss))
        inertia, stiffness = square * one.inertia.value, square * one.stiffness.value
        damped, bare = (
            _with_model(
                crank, with_branch(crank.model, crank.nose, inertia, stiffness, loss=_DRIVE_LOSS)
            )
            for crank in (damped, bare)
        )
        names = [*names, one.name]
    return damped, bare, names


@dataclass(frozen=True, slots=True)
class _Throw:
    """Stiffness of a throw, N·m/rad: what the formulas say, its doubt, and how it is known."""

    value: float
    formulas: tuple[tuple[str, float], ...]
    doubt: float
    how: str
    measured: bool = False
    doubts: tuple[str, ...] = ()


def _stiffness(given: Given, figures: _Figures) -> _Throw:
    measured = figures.known(STIFFNESS)
    doubt = figures.known("stiffness_uncertainty")
    if measured is not None:
        own = figures.measured.values.get(STIFFNESS)
        said = show(measured, Dimension.TORSIONAL_STIFFNESS, Units.METRIC)
        how = f"measured: {said} ({own.source})" if own else "by the measured stiffness"
        if own and own.standard:
            doubt = own.standard / measured
        return _Throw(
            measured, (), _MEASURED if doubt is None else doubt, how, measured=True,
            doubts=_far_stiffness(given, said, measured),
        )  # fmt: skip
    band = throw_stiffness(
        _drawing(given, figures), figures.sure("shear_modulus", SHEAR_MODULUS, _STEEL)
    )
    names = " and ".join(name for name, _ in band.by_formula)
    spread = band.relative_uncertainty
    usual = hypot(spread, FORMULA_DOUBT)
    if doubt is None:
        why = f"{spread:.1%} from how far the formulas differ, {FORMULA_DOUBT:.0%} assumed for both"
        figures.sources.append(("stiffness uncertainty", Value(usual, why, How.ESTIMATED)))
    return _Throw(band.middle, band.by_formula, doubt or usual, f"estimated by {names}")


def _far(known: float, estimate: float) -> bool:
    return not estimate / _FAR <= known <= estimate * _FAR


def _far_stiffness(given: Given, said: str, measured: float) -> tuple[str, ...]:
    """Return the question to a measured stiffness that the drawing contradicts, if it says one."""
    aside = _Figures(given.engine)
    try:
        drawing = _drawing(given, aside)
    except InputError:
        return ()
    estimate = throw_stiffness(drawing, aside.sure("shear_modulus", SHEAR_MODULUS, _STEEL)).middle
    if not _far(measured, estimate):
        return ()
    here = show(estimate, Dimension.TORSIONAL_STIFFNESS, Units.METRIC)
    return (f"Is the stiffness of a throw right? It is given as {said}, estimated {here}.",)


def _far_frequency(figures: _Figures, bare: CrankModel, throw: _Throw) -> tuple[str, ...]:
    """Return the question to a known natural frequency that the rest of the train contradicts."""
    own, given = figures.measured.values.get(FREQUENCY), figures.said.figure(f"torsion.{FREQUENCY}")
    known = own.value if own else given.value if given else None
    found = float(modes(bare.model).frequency[0])
    if known is None or not _far(known, found):
        return ()
    asked = (
        f"Is the first natural frequency right? It is given as {known / 2 / pi:.4g} Hz; with a "
        f"throw's stiffness {throw.how} it would be {found / 2 / pi:.4g} Hz."
    )
    return (asked,)


def torsion_questions(engine: Engine, state: State | None = None) -> tuple[str, ...]:
    """Return what is asked about a crank's figures in torsion, nothing where they do not reach."""
    given = Given(engine, state)
    try:
        return crank_train_model(given, weights_of(engine, state)).doubts
    except InputError:
        return ()


def _drawing(given: Given, figures: _Figures) -> CrankThrow:
    return CrankThrow(
        journal_diameter=_size(given, figures, "main-journal-1", "main journal"),
        journal_length=figures.needed("journal_length", "how long a main journal is"),
        pin_diameter=_size(given, figures, "crankpin-1", "rod pin"),
        pin_length=figures.needed("pin_length", "how long a crankpin is"),
        throw=throw_of(given.engine),
        web_thickness=figures.needed("web_thickness", "how thick a web of the crank is"),
        web_width=figures.needed("web_width", "how wide a web of the crank is"),
        journal_bore=figures.known("journal_bore") or 0.0,
        pin_bore=figures.known("pin_bore") or 0.0,
    )


def _size(given: Given, figures: _Figures, feature: str, fact: str) -> float:
    """Return a diameter: measured, as expected, or as the file's table says."""
    found = given.size(feature)
    if found is None:
        text = dict(given.engine.facts).get(fact, "")
        try:
            read = parse_range(text, Dimension.LENGTH) if text else None
        except QuantityError:
            read = None
        ends = [end for end in (read.low, read.high) if end is not None] if read else []
        if not ends:
            raise InputError(
                f"The engine file does not say how thick the {fact} is.",
                hint="Give it in [mains] as journal and in [rods] as pin.",
            )
        found = Value(sum(ends) / len(ends), f"engine file, {fact}", How.FILE)
    figures.sources.append((f"{fact} diameter", found))
    return found.value


def _own_inertia(given: Given, figures: _Figures) -> float:
    known = figures.known("throw_inertia")
    if known is not None:
        return known
    counterweights = figures.sure(
        "counterweight_inertia", 0.0, "not in the engine file; counted as nothing"
    )
    drawing = _drawing(given, _Figures(given.engine))
    return throw_inertia(drawing, figures.sure("density", DENSITY, _STEEL), counterweights)


def _rods(engine: Engine, weights: Weights, throw: Throw) -> float:
    total = 0.0
    for label in throw.labels:
        rotating = sum(weights.of(part, label).value for part in ROTATING)
        reciprocating = sum(weights.of(part, label).value for part in RECIPROCATING)
        total += running_gear_inertia(
            rotating, reciprocating, throw_of(engine), engine.rod, crank_offset(engine)
        )
    return total
