"""Which piston, pin, rod and ring pack go together: from parts on hand to the question."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import hypot, pi

from bedplate.errors import NotPossibleError
from bedplate.metrology import standard_uncertainty
from bedplate.record.entries import Measure
from bedplate.shop.evaluate import counting
from bedplate.shop.model import FitState, State
from bedplate.shop.ring_filing import gap_in
from bedplate.shop.rings import GROOVES, RingState, rings_of
from bedplate.shop.selection.model import Estimate
from bedplate.shop.selection.set_model import Fitting, Kind, RingFit, RingGap, SetFit, clearances
from bedplate.shop.selection.words import millimetres
from bedplate.shop.stock import Lot, stock_of

WHAT = "sets"

BORE = "cylinder bore"
"""Kind that the set of a cylinder is built about."""

PARTS = ("piston", "piston pin", "rod", "ring pack", "top ring", "second ring")
"""Kinds of part on hand that make up the set of a cylinder, besides its bore."""

_FITS = (
    ("piston clearance", ("cylinder bore", ""), ("piston", "size")),
    ("pin in piston", ("piston", "pin hole"), ("piston pin", "pin")),
    ("pin in rod", ("rod", "small end"), ("piston pin", "pin")),
)
"""Kind of fit, and the two kinds of part with what is measured of each; bores are features."""

_RINGS = {
    "ring pack": tuple(GROOVES),
    "top ring": ("top ring gap",),
    "second ring": ("second ring gap",),
}
"""The gaps that are measured of a pack, or of a single ring, in its gauge bore."""

_GAUGE_BORE = "gauge bore"
_STATED = 2.0
"""k of what is stated of a part on hand."""


@dataclass(frozen=True, slots=True)
class SetQuestion:
    """Everything a selection of sets is worked out from.

    :param cylinders: labels, in order; sets come in this order where no bore decides
    :param missing: what is left out and why, a sentence each
    """

    kinds: tuple[Kind, ...]
    fits: tuple[Fitting, ...]
    cylinders: tuple[str, ...]
    missing: tuple[str, ...]
    basis: tuple[str, ...]


def set_question(state: State) -> SetQuestion:
    """Return what a selection of sets is worked out from."""
    return _Asked(state).question()


class _Asked:
    def __init__(self, state: State) -> None:
        self._state = state
        self._cylinders = tuple(c.label for c in state.engine.layout.cylinders)
        lots = stock_of(state)
        self._lots = {
            part: {name: lot for name, lot in lots.items() if lot.entry.part == part and lot.left}
            for part in PARTS
        }
        self._missing: list[str] = []
        self._basis: list[str] = []

    def question(self) -> SetQuestion:
        bores = self._bores()
        kinds = [Kind(BORE, dict.fromkeys(self._cylinders, 0.0))] if bores else []
        kinds += [Kind(part, self._weights(part)) for part in PARTS if self._lots[part]]
        present = {kind.name for kind in kinds}
        fits: list[Fitting] = [
            fit
            for name, outer, inner in _FITS
            if outer[0] in present and inner[0] in present
            and (fit := self._fit(name, outer, inner, bores)) is not None
        ]  # fmt: skip
        if bores:
            fits += [fit for part in _RINGS if part in present for fit in self._ring_fit(part)]
        return SetQuestion(
            tuple(kinds), tuple(fits), self._cylinders, tuple(self._missing), tuple(self._basis)
        )

    def _bores(self) -> dict[str, Estimate]:
        """Return the bores where their clearance counts, empty unless all are measured."""
        found: dict[str, Estimate] = {}
        for label in self._cylinders:
            held = self._state.features.get(f"cylinder-bore-{label}")
            fit = self._state.fits.get(f"piston-clearance-{label}")
            if held is None or held.size is None or fit is None:
                continue
            size = counting(fit.fit, held.feature, held.size)
            if size is not None and size.complete:
                middle = size.mean
                found[label] = Estimate(float(middle.nominal_value), standard_uncertainty(middle))
                self._basis.append(f"bore {label}: {millimetres(found[label].value)}")
        if len(found) < len(self._cylinders):
            self._missing.append("the bores are left out: not all of them are measured")
            self._basis.clear()
            return {}
        return found

    def _weights(self, part: str) -> dict[str, float]:
        weights = {name: lot.measure("weight") for name, lot in self._lots[part].items()}
        unknown = [name for name, weight in weights.items() if weight is None]
        if unknown:
            self._missing.append(f"the weights of the {part}s are left out: {unknown[0]} has none")
        for name, weight in weights.items():
            if weight is not None and not unknown:
                self._basis.append(f"{name}: {weight.value.si * 1e3:.2f} g")
        return {
            name: 0.0 if unknown or weight is None else weight.value.si
            for name, weight in weights.items()
        }

    def _fit(
        self, name: str, outer: tuple[str, str], inner: tuple[str, str], bores: dict[str, Estimate]
    ) -> SetFit | None:
        first = next((f for f in self._state.fits.values() if f.fit.kind == name), None)
        limits = None if first is None else first.fit.limits[0].range
        if first is None or limits is None or limits.low is None or limits.high is None:
            return None
        holes = bores if outer[0] == BORE else self._sizes(*outer)
        shafts = self._sizes(*inner)
        if not holes or not shafts:
            return None
        return SetFit(
            name=name,
            between=(outer[0], inner[0]),
            clearance=clearances(holes, shafts),
            target=_target(first, limits.low, limits.high),
            low=limits.low,
            high=limits.high,
        )

    def _ring_fit(self, part: str) -> Iterator[RingFit]:
        """Yield the gaps of a pack or a ring in the bores, nothing where they are not known."""
        gauge: dict[str, Estimate] = {}
        free: dict[str, dict[str, Estimate]] = {}
        for kind in _RINGS[part]:
            if any(lot.measure(kind) is not None for lot in self._lots[part].values()):
                gauge = gauge or self._sizes(part, _GAUGE_BORE)
                sizes = self._sizes(part, kind) if gauge else {}
                if sizes:
                    free[kind] = sizes
        wanted = self._wanted(free)
        if wanted:
            gaps = {
                (cylinder, name): tuple(
                    _gap(ring, wanted[ring][cylinder], free[ring][name], gauge[name])
                    for ring in wanted
                )
                for cylinder in self._cylinders
                for name in self._lots[part]
            }
            yield RingFit(f"{part} gaps", (BORE, part), gaps)

    def _wanted(self, free: Mapping[str, object]) -> dict[str, dict[str, RingState]]:
        """Return how each kind of gap stands in each cylinder, where all of them have a target."""
        found: dict[str, dict[str, RingState]] = {kind: {} for kind in free}
        for ring in rings_of(self._state) if free else ():
            if ring.feature.kind in free and ring.target is not None:
                found[ring.feature.kind][ring.cylinder] = ring
        for kind, rings in found.items():
            if len(rings) < len(self._cylinders):
                self._missing.append(f"the {kind}s are left out: not every cylinder has a target")
        for kind, rings in found.items():
            for cylinder, ring in rings.items():
                if ring.smallest is not None and len(rings) == len(self._cylinders):
                    size = millimetres(ring.smallest.bore.value)
                    self._basis.append(
                        f"{kind} {cylinder}: target {millimetres(ring.target or 0.0)}, in {size}"
                    )
        return {kind: rings for kind, rings in found.items() if len(rings) == len(self._cylinders)}

    def _sizes(self, part: str, measure: str) -> dict[str, Estimate]:
        found: dict[str, Estimate] = {}
        for name, lot in self._lots[part].items():
            held = self._measured(lot, measure)
            if isinstance(held, str):
                self._missing.append(held)
                return {}
            found[name] = held
            self._basis.append(f"{name}: {measure} {millimetres(held.value)}")
        return found

    def _gauge_point(self) -> str:
        """Return where the engine file has pistons measured, '' where it does not say."""
        held = self._state.features.get(f"piston-{self._cylinders[0]}")
        return held.feature.stations[0].name if held else ""

    def _measured(self, lot: Lot, measure: str) -> Estimate | str:
        name = lot.entry.identity
        held: Measure | None = lot.measure(measure)
        if held is None:
            return f"'{name}' has no {measure}"
        if measure == "size" and lot.before_coating(self._gauge_point()):
            sentence = f"'{name}' was measured before it was coated."
            hint = "Measure it again over its coating; nothing is chosen until then."
            raise NotPossibleError(sentence, hint=hint)
        if held.uncertainty is None:
            return f"nobody said how well the {measure} of '{name}' is known"
        return Estimate(held.value.si, held.uncertainty.si / _STATED)


def _gap(kind: str, ring: RingState, free: Estimate, gauge: Estimate) -> RingGap:
    """Return the gap that a ring will have at the smallest section of a bore that it passes.

    :param free: gap as measured in the gauge bore
    """
    bore = ring.smallest.bore if ring.smallest is not None else gauge
    across = hypot(bore.uncertainty, gauge.uncertainty)
    unsure = hypot(free.uncertainty, pi * across)
    most = ring.rule.greatest(bore.value) if ring.rule is not None else None
    gap = gap_in(free.value, gauge.value, bore.value)
    return RingGap(kind, Estimate(gap, unsure), ring.target or 0.0, most)


def _target(fit: FitState, low: float, high: float) -> float:
    return fit.fit.target.value if fit.fit.target else (low + high) / 2
