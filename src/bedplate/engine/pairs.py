"""A press or a clearance between any hole and any shaft, which the engine file names itself."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from bedplate.engine.features import FEATURE_KINDS, Per, Shape
from bedplate.engine.fits import FitKind, Gate, Way, formula_of
from bedplate.engine.lines import Path
from bedplate.engine.sheet import Sheet, nearest
from bedplate.quantity import Range

PLACES = (("hole", Shape.HOLE), ("shaft", Shape.SHAFT))
"""The keys that name the two surfaces, and the shape that each must have."""


@dataclass(frozen=True, slots=True)
class _Surface:
    """What a fit may name; per and shape are None where the file gives them wrongly."""

    name: str
    per: Per | None
    shape: Shape | None


def named_by_fits(sheet: Sheet) -> frozenset[str]:
    """Return the names that stand as hole or shaft in the [[fit]] tables."""
    return frozenset(
        name
        for n in sheet.tables("fit")
        for key, _ in PLACES
        if (name := sheet.text(("fit", n, key)))
    )


def misnamed(sheet: Sheet) -> bool:
    """Tell whether a [[fit]] names a surface wrongly: then one of the file's features lacks it."""
    return any(fault.key.endswith((".hole", ".shaft")) for fault in sheet.faults)


def read_pair(sheet: Sheet, path: Path, kind: FitKind) -> FitKind | None:
    """Return a kind as a [[fit]] table means it: with the two surfaces that the table names.

    Kinds that have surfaces of their own come back as they are. What is wrong with the names is
    noted; then there is no kind.
    """
    if not kind.named_by_file:
        _refuse_names(sheet, path, kind)
        return kind
    found = _pair(sheet, path, _surfaces(sheet))
    gate = sheet.text((*path, "gate"))
    if found is None:
        return None
    hole, shaft = found
    return replace(
        kind,
        per=hole.per or kind.per,
        formula=formula_of(kind.sense, [(hole.name, shaft.name)]),
        gate=Gate(gate) if gate in list(Gate) else kind.gate,
        ways=(Way(hole.name, (shaft.name,)),),
    )


def _refuse_names(sheet: Sheet, path: Path, kind: FitKind) -> None:
    for key, _ in PLACES:
        if sheet.value((*path, key)) is not None:
            wrong = f"'{kind.name}' has its own surfaces"
            sheet.fault((*path, key), wrong, 'leave it out, or write kind = "press" or "clearance"')
    if sheet.value((*path, "gate")) is not None:
        wrong = f"'{kind.name}' always comes before {kind.gate.value}"
        sheet.fault((*path, "gate"), wrong, "leave it out")


def _surfaces(sheet: Sheet) -> dict[str, _Surface]:
    known: dict[str, _Surface] = {}
    for number in sheet.tables("feature"):
        path: Path = ("feature", number)
        name, shape = sheet.text((*path, "name")), sheet.text((*path, "shape"))
        per = sheet.text((*path, "per")) or Per.ENGINE.value
        if name:
            known.setdefault(
                name,
                _Surface(
                    name,
                    Per(per) if per in list(Per) else None,
                    Shape(shape) if shape in list(Shape) else None,
                ),
            )
    built_in = {k.name: _Surface(k.name, k.per, k.shape) for k in FEATURE_KINDS.values()}
    return known | built_in


def _pair(sheet: Sheet, path: Path, known: dict[str, _Surface]) -> tuple[_Surface, _Surface] | None:
    named = [_named(sheet, (*path, key), shape, known) for key, shape in PLACES]
    hole, shaft = named
    if hole is None or shaft is None:
        return None
    if hole == shaft:
        sheet.fault((*path, "shaft"), f"hole and shaft are both '{hole.name}'", "name two surfaces")
    elif hole.shape is Shape.SHAFT and shaft.shape is Shape.HOLE:
        wrong = f"'{hole.name}' is the shaft and '{shaft.name}' the hole"
        sheet.fault((*path, "hole"), wrong, "swap the two names")
    elif _shaped(sheet, path, named) and hole.per is shaft.per:
        return hole, shaft
    elif hole.per and shaft.per and hole.per is not shaft.per:
        wrong = f"there is one '{hole.name}' per {hole.per} but one '{shaft.name}' per {shaft.per}"
        sheet.fault((*path, "hole"), wrong, "name two of which there are equally many")
    return None


def _named(sheet: Sheet, path: Path, shape: Shape, known: dict[str, _Surface]) -> _Surface | None:
    name = sheet.text(path)
    if name in known:
        return known[name]
    own = [surface for surface in known if surface not in FEATURE_KINDS]
    if name:
        right = nearest(name, known) or (
            f"the file's own are {', '.join(own)}"
            if own
            else f'add a [[feature]] of that name, shape = "{shape}"'
        )
        sheet.fault(path, f"'{name}' is not a feature", right)
    elif sheet.value(path) is None:
        right = f'write {shape} = "..." (the name of a [[feature]] or a kind of feature)'
        sheet.fault(path, "is missing", right)
    return None


def _shaped(sheet: Sheet, path: Path, named: Iterable[_Surface | None]) -> bool:
    """Tell whether hole and shaft are what they should be; where not, say so."""
    right = True
    for (key, shape), surface in zip(PLACES, named, strict=True):
        if surface is None or surface.shape is None:
            right = False
        elif surface.shape is not shape:
            wrong = f"'{surface.name}' is a {surface.shape}, not a {shape}"
            sheet.fault((*path, key), wrong, f"name a feature whose shape is '{shape}'")
            right = False
    return right


def check_sense(sheet: Sheet, path: Path, kind: FitKind, limits: Range) -> None:
    """Note limits that leave nothing of a press, or of a clearance: they have the wrong sign."""
    if kind.named_by_file and limits.high is not None and limits.high < 0:
        other = "clearance" if kind.name == "press" else "press"
        wrong = f"'{limits.text}' leaves no {kind.sense}"
        right = f'{kind.formula} counts positive; write it so, or kind = "{other}"'
        sheet.fault(path, wrong, right)
