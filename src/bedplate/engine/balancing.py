"""What an engine file says of balance and torsion: the [balance] and [torsion] tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from math import pi, radians

from bedplate.engine.figures import Figure, figure_within
from bedplate.engine.lines import Path
from bedplate.engine.sheet import Sheet
from bedplate.quantity import Dimension

_D = Dimension

_Rule = tuple[Dimension, float, float]
_SIZE = (_D.LENGTH, 1e-3, 2.0)
_HOLE = (_D.LENGTH, 0.0, 1.0)
_STIFF = (_D.TORSIONAL_STIFFNESS, 1.0, 1e12)
_TURNING = (_D.INERTIA, 1e-7, 1e6)
_DAMPING = (_D.TORSIONAL_DAMPING, 0.0, 1e6)
_SHARE = (_D.RATIO, 0.0, 0.5)
RULES: dict[str, dict[str, _Rule]] = {
    "balance": {
        "oil": (_D.MASS, 0.0, 1.0),
        "scale": (_D.MASS, 0.0, 0.1),
        "crank_mass": (_D.MASS, 0.05, 1e5),
        "centre": (_D.LENGTH, -20.0, 20.0),
    },
    "torsion": {
        "journal_length": _SIZE,
        "pin_length": _SIZE,
        "web_thickness": _SIZE,
        "web_width": _SIZE,
        "journal_bore": _HOLE,
        "pin_bore": _HOLE,
        "shear_modulus": (_D.PRESSURE, 2e10, 1.2e11),
        "density": (_D.DENSITY, 1000.0, 2e4),
        "counterweight_inertia": (_D.INERTIA, 0.0, 1e5),
        "throw_inertia": _TURNING,
        "throw_stiffness": _STIFF,
        "stiffness_uncertainty": _SHARE,
        "inertia_uncertainty": _SHARE,
        "known_frequency": (_D.ROTATION, 2 * pi, 2 * pi * 1e4),
        "nose_inertia": _TURNING,
        "nose_stiffness": _STIFF,
        "flange_stiffness": _STIFF,
        "flywheel_inertia": _TURNING,
        "ring_inertia": _TURNING,
        "rubber_stiffness": _STIFF,
        "ring_damping": _DAMPING,
        "throw_damping": _DAMPING,
        "least_throw_damping": _DAMPING,
        "most_throw_damping": _DAMPING,
    },
}
"""Keys that are one quantity each, by table: what it is, and between which SI values it can be."""

CRANK = "crank"
FLYWHEEL = "flywheel"
USUAL_PARTS = (CRANK, "damper", FLYWHEEL, "clutch cover", "flywheel bolts")
"""What turns with a crank where the file does not say (common practice, no source)."""

WAYS = ("internal", "external")
DAMPERS = ("none", "rubber", "viscous")

_GREATEST_ORDER = 8
"""Turns of a balance shaft to one of the crank."""


@dataclass(frozen=True, slots=True)
class ShaftSaid:
    """A balance shaft.

    :param name: as the file calls it
    :param ratio: turns a turn of the crank, below zero where it turns against it
    :param unbalance: kg·m
    :param angle: of its heavy side while the first throw points along axis 1, rad from there in the
        direction of rotation; axis 1 lies midway between the banks
    :param at: along the crank from the middle of the throw nearest the free end, m
    """

    name: str
    ratio: int
    unbalance: Figure
    angle: Figure
    at: Figure


@dataclass(frozen=True, slots=True)
class Accessory:
    """Something that the crank drives from its free end.

    :param ratio: turns a turn of the crank
    """

    name: str
    inertia: Figure
    stiffness: Figure
    ratio: float


@dataclass(frozen=True, slots=True)
class Balancing:
    """All that an engine file says of balance and torsion.

    :param figures: by table and key, 'balance.oil', 'torsion.web_width'
    :param way: 'internal' or 'external'; '' where the file does not say
    :param weighted: parts that carry some of the crank's own balance, in an external one
    :param turning: everything that turns with the crank, the crank itself first; a flywheel always,
        which a build can say is not fitted
    :param on_crank: what is on the crank while it is balanced
    :param factor: share of the reciprocating mass that the maker asks for; None: worked out
    :param factor_source: who asks for it
    :param grade: quality grade asked for, mm/s; None where the file does not say
    :param grade_source: who asks for it
    :param planes: bearing planes, m from the middle of the throw nearest the free end, rising
    :param damper: one of DAMPERS; '' where the file does not say
    :param loss: loss factor of the damper's rubber
    """

    figures: Mapping[str, Figure] = field(default_factory=dict)
    way: str = ""
    weighted: tuple[str, ...] = ()
    turning: tuple[str, ...] = USUAL_PARTS
    on_crank: tuple[str, ...] = ()
    factor: float | None = None
    factor_source: str = ""
    grade: float | None = None
    grade_source: str = ""
    planes: tuple[float, float] | None = None
    shafts: tuple[ShaftSaid, ...] = ()
    accessories: tuple[Accessory, ...] = ()
    damper: str = ""
    loss: float | None = None

    def figure(self, key: str) -> Figure | None:
        """Return a figure by table and key, None where the file does not give it."""
        return self.figures.get(key)

    def value(self, key: str, usual: float = 0.0) -> float:
        """Return the SI value of a figure, or what is usual where the file does not give it."""
        found = self.figures.get(key)
        return usual if found is None else found.value


def read_balancing(sheet: Sheet) -> Balancing:
    """Read the [balance], [[balance_shaft]], [torsion] and [[accessory]] tables."""
    figures: dict[str, Figure] = {}
    for table, rules in RULES.items():
        for key, rule in rules.items():
            found = _figure(sheet, (table, key), *rule)
            if found is not None:
                figures[f"{table}.{key}"] = found
    turning = _turning(sheet)
    balancing = Balancing(
        figures=figures,
        way=sheet.text(("balance", "way")),
        weighted=_parts(sheet, "weighted", turning),
        turning=turning,
        on_crank=_parts(sheet, "on_crank", turning),
        factor=_number(sheet, ("balance", "factor")),
        factor_source=sheet.text(("balance", "factor_source")),
        grade=_number(sheet, ("balance", "grade")),
        grade_source=sheet.text(("balance", "grade_source")),
        planes=_planes(sheet),
        shafts=_shafts(sheet),
        accessories=_accessories(sheet),
        damper=sheet.text(("torsion", "damper")),
        loss=_number(sheet, ("torsion", "rubber_loss")),
    )
    _check(sheet, balancing)
    return balancing


def _source(sheet: Sheet, path: Path) -> str:
    table = path[:-1]
    name = ".".join(str(part + 1 if isinstance(part, int) else part) for part in path)
    return sheet.text((*table, "source")) or f"engine file, {name}"


def _figure(
    sheet: Sheet, path: Path, dimension: Dimension, low: float, high: float
) -> Figure | None:
    read = sheet.quantity(path, dimension)
    return figure_within(sheet, path, read, low, high, _source(sheet, path))


def _number(sheet: Sheet, path: Path) -> float | None:
    found = sheet.value(path)
    if isinstance(found, int | float) and not isinstance(found, bool):
        return float(found)
    return None


def _turning(sheet: Sheet) -> tuple[str, ...]:
    given = tuple(name for name in sheet.texts(("balance", "turning")) if name)
    if not given:
        return USUAL_PARTS
    path: Path = ("balance", "turning")
    twice = sorted({name for name in given if given.count(name) > 1})
    if twice:
        sheet.fault(path, f"{', '.join(twice)} stands twice", "name each part once")
    named = any(name.casefold().endswith(FLYWHEEL) for name in given)
    return (CRANK, *(name for name in given if name != CRANK), *(() if named else (FLYWHEEL,)))


def _parts(sheet: Sheet, key: str, turning: tuple[str, ...]) -> tuple[str, ...]:
    given = tuple(name for name in sheet.texts(("balance", key)) if name and name != CRANK)
    for name in given:
        if name not in turning:
            wrong = f"'{name}' is not among the parts that turn"
            sheet.fault(("balance", key), wrong, f"they are {', '.join(turning)}")
    return given


def _planes(sheet: Sheet) -> tuple[float, float] | None:
    path: Path = ("balance", "planes")
    if sheet.value(path) is None:
        return None
    read = [sheet.quantity((*path, n), _D.LENGTH) for n in range(len(sheet.texts(path)))]
    places = [one.value for one in read if one is not None]
    if len(places) != 2 or places[0] == places[1]:
        if len(places) == len(read):
            sheet.fault(path, "two planes are two places apart", 'write ["-49 mm", "440 mm"]')
        return None
    return min(places), max(places)


def _shafts(sheet: Sheet) -> tuple[ShaftSaid, ...]:
    found = []
    for number in sheet.tables("balance_shaft"):
        path: Path = ("balance_shaft", number)
        ratio = sheet.value((*path, "ratio"))
        unbalance = _figure(sheet, (*path, "unbalance"), _D.UNBALANCE, 0.0, 1e3)
        angle = _figure(sheet, (*path, "angle"), _D.ANGLE, radians(-720), radians(720))
        at = _figure(sheet, (*path, "at"), _D.LENGTH, -20.0, 20.0)
        if not isinstance(ratio, int) or isinstance(ratio, bool):
            continue
        if not 1 <= abs(ratio) <= _GREATEST_ORDER:
            sheet.fault((*path, "ratio"), f"a balance shaft does not turn {ratio} times", "-1 or 2")
        elif unbalance is not None and angle is not None and at is not None:
            name = sheet.text((*path, "name")) or f"balance shaft {number + 1}"
            found.append(ShaftSaid(name, ratio, unbalance, angle, at))
    return tuple(found)


def _accessories(sheet: Sheet) -> tuple[Accessory, ...]:
    found = []
    for number in sheet.tables("accessory"):
        path: Path = ("accessory", number)
        inertia = _figure(sheet, (*path, "inertia"), *_TURNING)
        stiffness = _figure(sheet, (*path, "stiffness"), *_STIFF)
        ratio = _number(sheet, (*path, "ratio"))
        if inertia is not None and stiffness is not None:
            name = sheet.text((*path, "name"))
            found.append(Accessory(name, inertia, stiffness, 1.0 if ratio is None else ratio))
    return tuple(found)


def _check(sheet: Sheet, said: Balancing) -> None:
    """Note what cannot be true together."""
    if said.weighted and said.way != "external":
        wrong = f"{', '.join(said.weighted)} cannot carry balance of a crank balanced internally"
        sheet.fault(("balance", "weighted"), wrong, 'write way = "external", or leave it out')
    if said.way == "external" and not said.weighted:
        wrong = "an external balance sits in a part that the file does not name"
        sheet.fault(("balance", "way"), wrong, 'write weighted = ["damper", "flywheel"]')
    needs = {"rubber": ("ring_inertia", "rubber_stiffness"),
             "viscous": ("ring_inertia", "ring_damping")}  # fmt: skip
    for key in needs.get(said.damper, ()):
        if said.figure(f"torsion.{key}") is None and not _faulty(sheet, f"torsion.{key}"):
            wrong = f"a {said.damper} damper without its {key.replace('_', ' ')}"
            sheet.fault(("torsion", "damper"), wrong, f"give {key} too, or leave the damper out")
    _check_damping(sheet, said)
    for hole, around in (("journal_bore", "journal"), ("pin_bore", "pin")):
        bore = said.figure(f"torsion.{hole}")
        table = "mains" if around == "journal" else "rods"
        outer = sheet.expected((table, around)) if sheet.text((table, around)) else None
        if bore is not None and outer is not None and bore.value >= outer.low:
            sheet.fault(("torsion", hole), f"a hole of {bore.text} is as wide as the {around}", "")


def _check_damping(sheet: Sheet, said: Balancing) -> None:
    names = ("least_throw_damping", "throw_damping", "most_throw_damping")
    given = [(name, said.figure(f"torsion.{name}")) for name in names]
    known = [(name, figure) for name, figure in given if figure is not None]
    for (_, less), (name, more) in pairwise(known):
        if more.value < less.value:
            wrong = f"{more.text} is less than {less.text}, which is the smaller by its name"
            sheet.fault(
                ("torsion", name), wrong, "least, usual and most damping rise in that order"
            )


def _faulty(sheet: Sheet, key: str) -> bool:
    return any(fault.key == key for fault in sheet.faults)
