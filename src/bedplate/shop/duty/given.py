"""What a duty check starts from: measured where the build measured it, else the engine file's.

Every value keeps where it comes from and how well it is known. What neither build nor file gives
is unknown, and said so; an estimate is marked as one.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from math import sqrt
from typing import TYPE_CHECKING

from bedplate.engine import Engine
from bedplate.errors import InputError
from bedplate.metrology import standard_uncertainty

if TYPE_CHECKING:
    from bedplate.engine.traces import MeasuredTrace
    from bedplate.shop.model import State


class How(StrEnum):
    """Where a value comes from."""

    MEASURED = "measured"
    FILE = "engine file"
    ESTIMATED = "estimated"


@dataclass(frozen=True, slots=True)
class Value:
    """A value with its source.

    :param value: SI
    :param source: what gave it; never empty
    :param standard: standard uncertainty, SI; 0 where nothing is known of it
    """

    value: float
    source: str
    how: How
    standard: float = 0.0


class Given:
    """An engine file alone, or with the state of a build that was made from it."""

    def __init__(self, engine: Engine, state: State | None = None) -> None:
        """Take the engine and, where there is a build, its state."""
        self.engine = engine
        self.state = state
        self.duty = engine.duty

    def with_trace(self, trace: MeasuredTrace) -> Given:
        """Return the same with one measured trace in the place of all other pressure."""
        other = Given(self.engine, self.state)
        other.__dict__["traces"] = (trace,)
        return other

    @cached_property
    def traces(self) -> tuple[MeasuredTrace, ...]:
        """Return every measured pressure trace: the engine file's, then those of the build."""
        from bedplate.shop.duty.traces import traces_of

        return (*self.duty.traces, *(traces_of(self.state) if self.state else ()))

    def figure(self, key: str, usual: float | None = None, why: str = "") -> Value | None:
        """Return a figure of the file, or what is usual and marked so, or None.

        :param key: table and key, 'oil.temperature'
        :param usual: SI; None: there is nothing usual
        :param why: source of the usual value
        """
        found = self.duty.figure(key)
        if found is not None:
            return Value(found.value, found.source, How.FILE)
        return None if usual is None else Value(usual, why, How.ESTIMATED)

    def sure(self, key: str, usual: float, why: str) -> Value:
        """Return a figure of the file, or what is usual and marked so."""
        return self.figure(key, usual, why) or Value(usual, why, How.ESTIMATED)

    def needed(self, key: str, what: str) -> Value:
        """Return a figure of the file.

        :param what: what it is, for the sentence
        :raises InputError: the file does not give it
        """
        found = self.figure(key)
        if found is None:
            raise InputError(
                f"The engine file does not say {what}.", hint=f"Give it as {key}, with its unit."
            )
        return found

    def size(self, feature: str) -> Value | None:
        """Return the mean size of a feature, measured or as the file expects it."""
        measured = self.state.features.get(feature) if self.state is not None else None
        if measured is not None and measured.size is not None and not measured.stale:
            mean = measured.size.mean
            source = f"measured, {measured.feature.name}"
            return Value(float(mean.nominal_value), source, How.MEASURED,
                         standard_uncertainty(mean))  # fmt: skip
        meant = self.engine.features.get(feature)
        if meant is None or meant.nominal is None:
            return None
        return Value(meant.nominal, f"engine file, {meant.name.lower()}", How.FILE)

    def fit(self, fit: str) -> Value | None:
        """Return the value of a fit: measured, or its target or the middle of its limits.

        Not measured it lies anywhere within its limits, one as likely as another.
        """
        state = self.state.fits.get(fit) if self.state is not None else None
        if state is not None and state.value is not None and not state.stale:
            value = -state.value if state.fit.sense == "interference" else state.value
            return Value(
                value, f"measured, {state.fit.name}", How.MEASURED, state.standard_uncertainty or 0
            )
        meant = self.engine.fits.get(fit)
        if meant is None:
            return None
        limits = meant.limits[0].range
        low, high = limits.low, limits.high
        middle = (low + high) / 2 if low is not None and high is not None else None
        aim = meant.target.value if meant.target else middle
        if aim is None:
            return None
        width = high - low if low is not None and high is not None else 0.0
        return Value(aim, f"{meant.source}, not measured", How.FILE, width / sqrt(12))

    def expected(self, kind: str) -> Value | None:
        """Return the size that the file expects of a kind of feature, with or without a fit."""
        size = self.engine.expected.get(kind)
        return None if size is None else Value(size, f"engine file, {kind}", How.FILE)

    def geometry_deck(self) -> Value | None:
        """Return how far the pistons stay below the deck by the file's four lengths, m."""
        below = self.engine.deck_clearance
        if below is None:
            return None
        return Value(below, "engine file, deck less half the stroke, rod and compression height",
                     How.FILE)  # fmt: skip

    def expansion(self, *features: str) -> Value | None:
        """Return the linear expansion of the first of these features that has a material, 1/K."""
        for name in features:
            feature = self.engine.features.get(name)
            material = self.engine.materials.get(feature.material) if feature else None
            if material is not None and material.expansion is not None:
                source = f"{material.name}: {material.source}"
                return Value(material.expansion, source, How.FILE, material.expansion_uncertainty)
        return None

    def material(self, part: str) -> Value | None:
        """Return the linear expansion of the material that the file names for a part, 1/K."""
        name = self.engine.part_materials.get(part)
        found = None if name is None else self.engine.materials.get(name)
        if found is None or found.expansion is None:
            return None
        source = f"{found.name}: {found.source}"
        return Value(found.expansion, source, How.FILE, found.expansion_uncertainty)


def labels(engine: Engine) -> tuple[str, ...]:
    """Return the labels of the cylinders."""
    return tuple(cylinder.label for cylinder in engine.layout.cylinders)
