"""Sources of uncertainty, and values that share them (GUM 5: combined standard uncertainty).

A value is an `AffineScalarFunc`: a number and its sensitivity to each source. Two values that rest
on one source hold the same object, so what cancels in a difference cancels. The sums are made here
rather than by operator arithmetic because a build has thousands of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, sqrt

from bedplate.metrology.affine import AffineScalarFunc, LinearCombination, Variable
from bedplate.metrology.results import Contribution


class Source(Variable):  # type: ignore[misc]  # the library ships no types
    """An error of expectation zero that one or more values rest on (GUM 4).

    :param standard_uncertainty: of the error, in the unit of the value or of the influence
    :param name: as a budget prints it
    :param station: where more readings would average the error out, '' if they would not
    :param step: that the error is the rounding to, in the unit of the value; 0 for any other error
    """

    __slots__ = ("station", "step")

    __hash__ = object.__hash__

    def __init__(
        self, standard_uncertainty: float, name: str, station: str = "", step: float = 0.0
    ) -> None:
        super().__init__(0.0, standard_uncertainty, name)
        self.station = station
        self.step = step


class _Value(AffineScalarFunc):  # type: ignore[misc]  # the library ships no types
    """A value that knows its standard uncertainty once it has been asked for it."""

    __slots__ = ("spread",)


Sensitivities = dict[Variable, float]
"""How far a value moves with each source: GUM 5.1.3, c_i."""


def value_of(nominal: float, sensitivities: Sensitivities) -> AffineScalarFunc:
    """Return a value from its number and its sensitivities.

    :param nominal: in the unit of the value
    :param sensitivities: kept, not copied
    """
    return _Value(nominal, LinearCombination(sensitivities))


def combine(
    terms: Sequence[tuple[float, AffineScalarFunc]], constant: float = 0.0
) -> AffineScalarFunc:
    """Return constant + Σ factor·value, with every source they share kept shared (GUM 5.2.2).

    :param terms: (factor, value); the values in one unit
    :param constant: added, in that unit
    :returns: in that unit; exact for any finite input, as the sum is linear
    """
    merged: Sensitivities = {}
    for factor, value in terms:
        for source, sensitivity in value.derivatives.items():
            merged[source] = merged.get(source, 0.0) + factor * sensitivity
    nominal = fsum([constant, *(factor * value.nominal_value for factor, value in terms)])
    return value_of(nominal, merged)


def mean(values: Sequence[AffineScalarFunc]) -> AffineScalarFunc:
    """Return the arithmetic mean of one or more values, sources shared (GUM 4.2.1).

    :param values: at least one, all in one unit
    :returns: in that unit; the only value itself if there is one
    """
    if len(values) == 1:
        return values[0]
    share = 1.0 / len(values)
    first, *others = values
    merged: Sensitivities = {
        source: share * sensitivity for source, sensitivity in first.derivatives.items()
    }
    for value in others:
        for source, sensitivity in value.derivatives.items():
            merged[source] = merged.get(source, 0.0) + share * sensitivity
    return value_of(fsum([value.nominal_value for value in values]) / len(values), merged)


def standard_uncertainty(value: AffineScalarFunc) -> float:
    """Return the combined standard uncertainty u_c (GUM 5.1.2, equation 10).

    :param value: any
    :returns: in the unit of the value, ≥ 0; the same whatever order the sources came in
    """
    try:
        return float(value.spread)
    except AttributeError:
        pass
    amounts = [c * source._std_dev for source, c in value.derivatives.items()]  # noqa: SLF001
    spread = sqrt(fsum([amount * amount for amount in amounts]))
    if isinstance(value, _Value):
        value.spread = spread
    return spread


def budget(value: AffineScalarFunc) -> tuple[Contribution, ...]:
    """Return the uncertainty budget, largest first, with signs (GUM 5.1.3: u_i = c_i·u(x_i)).

    :param value: any
    :returns: amounts in the unit of the value; a source that cancels is left out
    """
    variance = standard_uncertainty(value) ** 2
    rows = [
        Contribution(
            source=source.tag or "",
            amount=sensitivity * source.std_dev,
            shared=not getattr(source, "station", ""),
            share=(sensitivity * source.std_dev) ** 2 / variance,
        )
        for source, sensitivity in value.derivatives.items()
        if sensitivity * source.std_dev != 0.0
    ]
    return tuple(sorted(rows, key=lambda row: (-abs(row.amount), row.source)))


def repeatable_variance(value: AffineScalarFunc, more: int = 0) -> float:
    """Return the part of u_c² that falls with more readings of the same kind.

    The variance of the mean of n readings is s²/n (GUM 4.2.3), at each station by itself.

    :param value: any
    :param more: further readings taken at each station that the value rests on, ≥ 0
    :returns: variance in the square of the unit of the value, as it would be with those readings
    """
    return fsum(part * n / (n + more) for part, n in repeated(value))


def repeated(value: AffineScalarFunc) -> tuple[tuple[float, int], ...]:
    """Return (variance, readings so far) for each station that repeatability enters a value from.

    :param value: any
    :returns: variance in the square of the unit of the value
    """
    stations: dict[str, list[float]] = {}
    for source, sensitivity in value.derivatives.items():
        station = getattr(source, "station", "")
        if station:
            stations.setdefault(station, []).append((sensitivity * source.std_dev) ** 2)
    return tuple((fsum(parts), len(parts)) for parts in stations.values())
