"""The kinds of fit: a closed set, each with its formula.

A fit relates sizes to limits. Three forms cover them all:

* `difference`: the space of one feature less the bodies in it. Clearance is positive, interference
  negative, always over the diameter (diametral), never per side. More than one way to get it may be
  named; the first whose features are all measured is used.
* `size`: the size itself.
* `form`: out-of-round or taper of the feature, which the limits bound from above.

The least and the greatest value are judged against the limits, not the mean alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from bedplate.engine.features import Per


class FitForm(StrEnum):
    """How the value of a fit comes from sizes."""

    DIFFERENCE = "difference"
    SIZE = "size"
    OUT_OF_ROUND = "out-of-round"
    TAPER = "taper"


class Gate(StrEnum):
    """A point that may not be passed while open questions guard it, in the order of the work."""

    CLOSING_MAINS = "closing the mains"
    CLOSING_RODS = "closing the rods"
    FIRST_START = "first start"


@dataclass(frozen=True, slots=True)
class Way:
    """One way to a difference: a space, less the bodies in it.

    :param space: feature kind whose size is positive
    :param bodies: feature kinds whose sizes are taken off; a kind that carries its size once per
        cylinder counts once for each cylinder that shares the fit's crankpin
    """

    space: str
    bodies: tuple[str, ...]

    @property
    def features(self) -> tuple[str, ...]:
        """Return the space and the bodies."""
        return (self.space, *self.bodies)


@dataclass(frozen=True, slots=True)
class FitKind:
    """A kind of fit.

    :param formula: the formula in words, printed beside each result
    :param ways: for `difference`, best first; none where the engine file names hole and shaft
    :param feature: for `size`, `out-of-round` and `taper`
    :param sense: 'clearance', 'interference', 'gap', 'size', 'form': how the value is spoken of
    """

    name: str
    per: Per
    form: FitForm
    formula: str
    sense: str
    gate: Gate
    ways: tuple[Way, ...] = ()
    feature: str = ""

    @property
    def named_by_file(self) -> bool:
        """Tell whether the engine file names the hole and the shaft."""
        return self.form is FitForm.DIFFERENCE and not self.ways


def formula_of(sense: str, ways: Iterable[Sequence[str]]) -> str:
    """Return the formula of a difference in words, so that what is meant counts positive.

    :param ways: names, the space first; an interference has one body
    """
    shown = (reversed(way) if sense == "interference" else way for way in ways)
    return ", or ".join(" − ".join(names) for names in shown)


def _difference(
    name: str, per: Per, sense: str, gate: Gate, *ways: tuple[str, tuple[str, ...]]
) -> FitKind:
    formula = formula_of(sense, [(space, *bodies) for space, bodies in ways])
    return FitKind(
        name, per, FitForm.DIFFERENCE, formula, sense, gate, tuple(Way(s, b) for s, b in ways)
    )


def _named_by_file(name: str, sense: str, formula: str) -> FitKind:
    return FitKind(name, Per.ENGINE, FitForm.DIFFERENCE, formula, sense, Gate.FIRST_START)


def _direct(name: str, per: Per, sense: str, gate: Gate, feature: str) -> FitKind:
    return FitKind(name, per, FitForm.SIZE, f"{feature} as measured", sense, gate, (), feature)


def _form(name: str, per: Per, form: FitForm, gate: Gate, feature: str) -> FitKind:
    formula = {
        FitForm.OUT_OF_ROUND: "greatest − least diameter in one section, the worst section",
        FitForm.TAPER: "greatest − least diameter along one direction, the worst direction",
    }[form]
    return FitKind(name, per, form, formula, "form", gate, (), feature)


def _round_feature(feature: str, per: Per, gate: Gate) -> tuple[FitKind, ...]:
    return (
        _direct(feature, per, "size", gate, feature),
        _form(f"{feature} out-of-round", per, FitForm.OUT_OF_ROUND, gate, feature),
        _form(f"{feature} taper", per, FitForm.TAPER, gate, feature),
    )


_MAINS, _RODS, _START = Gate.CLOSING_MAINS, Gate.CLOSING_RODS, Gate.FIRST_START

FIT_KINDS: dict[str, FitKind] = {
    kind.name: kind
    for kind in (
        _difference(
            "main clearance", Per.MAIN, "clearance", _MAINS,
            ("main bearing bore", ("main journal",)),
            ("main housing", ("main upper shell", "main lower shell", "main journal")),
        ),
        _difference(
            "rod clearance", Per.CYLINDER, "clearance", _RODS,
            ("rod bearing bore", ("crankpin",)),
            ("rod housing", ("rod upper shell", "rod lower shell", "crankpin")),
        ),
        _direct("end float", Per.ENGINE, "clearance", _MAINS, "end float"),
        _difference(
            "rod side clearance", Per.CRANKPIN, "clearance", _RODS,
            ("rod side clearance", ()), ("crankpin width", ("rod width",)),
        ),
        _difference(
            "piston clearance", Per.CYLINDER, "clearance", _RODS, ("cylinder bore", ("piston",))
        ),
        _direct("top ring gap", Per.CYLINDER, "gap", _RODS, "top ring gap"),
        _direct("second ring gap", Per.CYLINDER, "gap", _RODS, "second ring gap"),
        _direct("oil rail gap", Per.CYLINDER, "gap", _RODS, "oil rail gap"),
        _difference(
            "top ring side clearance", Per.CYLINDER, "clearance", _RODS,
            ("top ring side clearance", ()), ("top ring groove", ("top ring width",)),
        ),
        _difference(
            "second ring side clearance", Per.CYLINDER, "clearance", _RODS,
            ("second ring side clearance", ()), ("second ring groove", ("second ring width",)),
        ),
        _difference(
            "pin in piston", Per.CYLINDER, "clearance", _RODS, ("piston pin hole", ("piston pin",))
        ),
        _difference(
            "pin in rod", Per.CYLINDER, "clearance", _RODS, ("small end", ("piston pin",))
        ),
        *_round_feature("main housing", Per.MAIN, _MAINS),
        *_round_feature("main journal", Per.MAIN, _MAINS),
        *_round_feature("crankpin", Per.CRANKPIN, _RODS),
        *_round_feature("rod housing", Per.CYLINDER, _RODS),
        *_round_feature("cylinder bore", Per.CYLINDER, _RODS),
        _direct("piston", Per.CYLINDER, "size", _RODS, "piston"),
        _direct("deck height", Per.BANK, "size", _RODS, "deck height"),
        _direct("deck clearance", Per.CYLINDER, "size", _RODS, "deck clearance"),
        _direct("liner protrusion", Per.CYLINDER, "size", _START, "liner protrusion"),
        _difference(
            "damper press", Per.ENGINE, "interference", _START, ("damper hub", ("crank snout",))
        ),
        _named_by_file("press", "interference", "shaft − hole"),
        _named_by_file("clearance", "clearance", "hole − shaft"),
    )
}
"""Every kind by name. A press is a negative clearance inside and is shown as interference.

`press` and `clearance` serve any hole and shaft: a gear on the crank, a liner in the block, a cam
in its tunnel. The engine file names the two, and they say how many of the fit there are.
"""

WAYS_BY_NAME: dict[str, tuple[str, ...]] = {
    "main clearance": ("bearing bore", "housing and shells"),
    "rod clearance": ("bearing bore", "housing and shells"),
    "rod side clearance": ("feeler", "widths"),
    "top ring side clearance": ("feeler", "groove and ring"),
    "second ring side clearance": ("feeler", "groove and ring"),
}
"""What an engine file calls the ways of a kind that has more than one, in the order of its ways."""
