"""The engine as it is meant, once its file has been read. SI units throughout."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from bedplate.engine.balancing import Balancing
from bedplate.engine.duty import Duty
from bedplate.engine.fasteners import AssemblyRules, Fastener, Plan
from bedplate.engine.features import Per, Shape
from bedplate.engine.fits import FitForm, Gate, Way
from bedplate.engine.orders import NOTHING_SAID, Machining
from bedplate.quantity import Quantity, Range, Units


class CapStyle(StrEnum):
    """What holds the crank in the block."""

    SINGLE_2 = "single caps, 2 bolts"
    SINGLE_4 = "single caps, 4 bolts"
    SINGLE_6 = "single caps, 6 bolts"
    FRAME = "one-piece frame"
    HALVES = "crankcase halves"
    TUNNEL = "tunnel"


@dataclass(frozen=True, slots=True)
class Cylinder:
    """One cylinder, in its place.

    :param place: internal, never renumbered: bank letter and position counted from the free end,
        'A1'. Bank A is the left one seen from the free end with the deck up.
    :param label: the number this engine's maker prints, as text; unique
    :param crankpin: number of the crankpin its rod runs on, counted from the free end
    :param dead_centre: crank angle, rad in [0, 2π), at which it is at top dead centre, counted in
        the direction of rotation from the label that fires first
    """

    place: str
    label: str
    bank: str
    position: int
    crankpin: int
    bank_angle: float
    throw_angle: float
    dead_centre: float
    iso_1204: str
    din_73021: str


@dataclass(frozen=True, slots=True)
class Layout:
    """How cylinders and crank stand to each other.

    :param form: 'in-line', 'V' or 'flat'
    :param bank_angle: angle between the banks, rad; 0 in line
    :param pin_offset: angle between the two crankpins of a split pair, rad; 0 where shared
    :param front: 'free end' or 'drive end': what the engine file means by "front"
    :param clockwise: True if it turns clockwise seen from the free end
    :param cylinders: in order of label
    :param firing: labels in firing order
    :param intervals: crank angle from each firing to the next, rad; their sum is the cycle
    :param mains_from: 'free end' or 'drive end': where main 1 is
    :param doubt: what is strange about the throws that its firing order fits, '' if nothing is
    """

    form: str
    bank_angle: float
    pin_offset: float
    shared_pins: bool
    cycle: float
    front: str
    clockwise: bool
    cylinders: tuple[Cylinder, ...]
    crankpins: int
    mains: int
    mains_from: str
    firing: tuple[str, ...]
    intervals: tuple[float, ...]
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class Material:
    """A material and its linear expansion.

    :param expansion: 1/K, or None where the file does not say
    :param expansion_uncertainty: standard uncertainty, 1/K
    :param source: where the figures come from
    """

    name: str
    expansion: float | None
    expansion_uncertainty: float
    source: str


@dataclass(frozen=True, slots=True)
class Station:
    """Where on a feature a reading is taken.

    :param id: 'crown-front-edge', '45mm-thrust'; unique in the feature
    :param name: as printed and read aloud: 'crown, front edge'
    :param section: readings with the same section lie in one plane across the axis (same depth,
        same place across the width); '' where the feature has only one
    :param direction: name of the direction, '' where there is none
    :param angle: of the direction, rad, from the crown, 0 deg or thrust; None if none
    :param depth: from the deck or the open end, m; None where it has none
    """

    id: str
    name: str
    section: str
    direction: str
    angle: float | None
    depth: float | None


@dataclass(frozen=True, slots=True)
class Feature:
    """A measurable surface of a part of this engine.

    :param id: 'main-journal-3'; own features: their name with hyphens
    :param kind: name of its FeatureKind, or 'own' for one that the file declares
    :param number: of main, crankpin or cylinder (its label) or bank; '' where there is one
    :param name: 'Main journal 3'
    :param part: 'crank', 'rod 3'
    :param material: name of the part's material, '' if unknown
    :param nominal: expected size, m, for plausibility; None if unknown
    :param play: how far from nominal a size is still plausible, m; None if unknown
    :param condition: the state in which it is measured, '' if the file does not say
    """

    id: str
    kind: str
    per: Per
    number: str
    name: str
    part: str
    shape: Shape
    gauge: str
    material: str
    nominal: float | None
    play: float | None
    condition: str
    stations: tuple[Station, ...]


@dataclass(frozen=True, slots=True)
class Limit:
    """Limits, and the directions they hold for.

    :param within: half-width about the split, rad; None: everywhere the other ones do not reach
    """

    range: Range
    within: float | None = None


@dataclass(frozen=True, slots=True)
class Fit:
    """One fit of this engine, with its limits.

    :param id: 'main-clearance-3'
    :param kind: name of its FitKind; 'own' for the size of an own feature
    :param ways: by feature ids, best first: (space or feature, bodies)
    :param directions: for a `difference` or size: names of the directions whose readings count,
        empty for all (a bearing clearance is taken at the crown)
    :param depth: for piston clearance: depth of the bore section that counts, m; None: all
    :param limits: at least one; the one with the narrowest `within` that holds a direction counts
    :param target: what the builder aims for, m
    :param condition: the state in which the limits hold, '' if the file does not say
    :param source: where the limits come from; never empty
    """

    id: str
    kind: str
    form: FitForm
    sense: str
    formula: str
    per: Per
    number: str
    name: str
    gate: Gate
    ways: tuple[Way, ...]
    directions: tuple[str, ...]
    depth: float | None
    limits: tuple[Limit, ...]
    target: Quantity | None
    condition: str
    source: str
    line: int


@dataclass(frozen=True, slots=True)
class Measuring:
    """The build's rules for measuring.

    :param coverage: k of expanded uncertainties (ISO 14253-1: 2)
    :param reduce: True: sizes are reduced to 20 °C (ISO 1) from the temperatures of part and gauge
    :param temperature_uncertainty: standard uncertainty of a temperature typed, K
    """

    coverage: float
    reduce: bool
    temperature_uncertainty: float


@dataclass(frozen=True, slots=True)
class Engine:
    """The engine as it is meant.

    :param digest: SHA-256 of the file's bytes, hex
    :param facts: what else the file says (bore, stroke, oil, ...), as typed, for the identity page:
        (name, text) in the file's order
    :param remarks: sentences on what is unusual in the file, but may be meant
    :param previous: id of an earlier build of the same engine to compare with, '' if none
    :param deck_clearance: deck less half the stroke, rod and compression height, m; None where the
        file does not give all four
    :param expected: size to be expected by kind of feature, m, whether or not it is measured
    :param part_materials: name of the material by key of [materials]
    """

    schema: int
    name: str
    digest: str
    invented: bool
    units: Units
    layout: Layout
    caps: CapStyle
    bore: float
    stroke: float
    rod: float
    thrust_main: str
    materials: dict[str, Material]
    features: dict[str, Feature]
    fits: dict[str, Fit]
    measuring: Measuring
    previous: str
    facts: tuple[tuple[str, str], ...]
    remarks: tuple[str, ...] = ()
    machining: Machining = NOTHING_SAID
    fasteners: dict[str, Fastener] = field(default_factory=dict)
    plans: dict[str, Plan] = field(default_factory=dict)
    assembly: AssemblyRules = field(default_factory=AssemblyRules)
    duty: Duty = field(default_factory=Duty)
    balancing: Balancing = field(default_factory=Balancing)
    deck_clearance: float | None = None
    expected: dict[str, float] = field(default_factory=dict)
    part_materials: dict[str, str] = field(default_factory=dict)
