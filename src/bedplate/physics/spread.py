"""How far off a quantity may be, and what that makes of a result.

Two ways to the same answer: many trials (JCGM 101), and the first-order law (GUM). The first holds
for any model; the second says which source the spread comes from.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import floor, log10, sqrt

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import Array, require_not_negative, require_positive

Model = Callable[[Mapping[str, Array]], Array]
"""A result from its sources by name, for one set of values or for many."""

Strain = Callable[[Mapping[str, Array], Array], Array]
"""How near each trial comes to a limit, from its sources and its result; 1 is at the limit."""

_BLOCK = 1 << 15
"""Trials worked through at a time, few enough to stay in the processor's cache."""
_BINS = 80
_FACTOR = 1.959963984540054
"""Of a normal distribution, for 95 %."""


class Shape(StrEnum):
    """How a quantity is spread about its value."""

    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"
    NORMAL = "normal"


_DIVISOR = {Shape.RECTANGULAR: sqrt(3), Shape.TRIANGULAR: sqrt(6), Shape.NORMAL: 2.0}
_REACH = {Shape.RECTANGULAR: 1.0, Shape.TRIANGULAR: 1.0, Shape.NORMAL: 3.0}


@dataclass(frozen=True, slots=True)
class Spread:
    """A quantity above zero, and how far off it may be.

    Where only limits are known they are rectangular (GUM 4.3.7); triangular where the middle is
    likelier (4.3.9); normal where the half width is two standard deviations.

    :param value: best estimate, in the quantity's SI unit
    :param half_width: in the same unit; 0 for what is taken as exact
    :param shape: rectangular and triangular end at the half width, normal does not
    """

    value: float
    half_width: float = 0.0
    shape: Shape = Shape.RECTANGULAR

    def __post_init__(self) -> None:
        """Refuse a spread that reaches zero (a normal one within six standard deviations)."""
        require_positive(value=self.value)
        require_not_negative(half_width=self.half_width)
        if self.half_width * _REACH[self.shape] > self.value * (1 + 1e-9):
            raise InputError(
                f"{self.value:g} ± {self.half_width:g} ({self.shape}) reaches below zero.",
                hint="A narrower band, or limits instead of a normal distribution.",
            )

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty u, in the quantity's unit (GUM 4.3.7, 4.3.9, 4.3.4)."""
        return self.half_width / _DIVISOR[self.shape]


def between(low: float, high: float, shape: Shape = Shape.RECTANGULAR) -> Spread:
    """Return the spread of a quantity of which two limits are known.

    :param low: lower limit; above 0
    :param high: upper limit; not below `low`
    :param shape: of the distribution between them
    """
    require_positive(lower_limit=low, upper_limit=high)
    if high < low:
        raise InputError(f"The limits {low:g} and {high:g} stand the wrong way round.")
    return Spread((low + high) / 2, (high - low) / 2, shape)


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one source does to the result, first order.

    :param source: name
    :param effect: change of the result for one standard uncertainty of the source, signed
    """

    source: str
    effect: float


@dataclass(frozen=True, slots=True)
class FirstOrder:
    """The result by the law of propagation of uncertainty.

    :param value: at the best estimates
    :param standard_uncertainty: combined
    :param contributions: of each source that is spread
    """

    value: float
    standard_uncertainty: float
    contributions: tuple[Contribution, ...]


@dataclass(frozen=True, slots=True)
class Scatter:
    """The result over many trials.

    :param trials: how many
    :param mean: of all
    :param standard_deviation: of all
    :param percentiles: (share, value) at 0.5, 2.5, 5, 25, 50, 75, 95, 97.5 and 99.5 %
    :param edges: of the bins of a picture, from 0.05 to 99.95 %; one more than `shares`
    :param shares: of the trials in each bin
    :param first_order: the same by the law of propagation, with each source's part
    :param past: share of the trials past each level of strain asked about
    """

    trials: int
    mean: float
    standard_deviation: float
    percentiles: tuple[tuple[float, float], ...]
    edges: tuple[float, ...]
    shares: tuple[float, ...]
    first_order: FirstOrder
    past: tuple[float, ...] = ()

    def at(self, share: float) -> float:
        """Return the value below which a share of the trials lies.

        :param share: one of those in `percentiles`
        """
        for known, value in self.percentiles:
            if known == share:
                return value
        raise InputError(f"The share {share:g} was not kept.")

    @property
    def low(self) -> float:
        """Lower end of what 19 in 20 bolts get."""
        return self.at(0.025)

    @property
    def high(self) -> float:
        """Upper end of what 19 in 20 bolts get."""
        return self.at(0.975)

    @property
    def plus_minus(self) -> float:
        """Half the 95 % interval over its middle: the ± of a page, as a share."""
        return (self.high - self.low) / (self.high + self.low)

    @property
    def tightening_factor(self) -> float:
        """Greatest over least clamp, F_max/F_min, both of the 95 % interval: VDI 2230's α_A."""
        return self.high / self.low

    @property
    def first_order_holds(self) -> bool:
        """Whether the first-order interval is good to one significant digit of its uncertainty.

        Both ends within half a unit of that digit (JCGM 101:2008, 8.1.3).
        """
        u = self.first_order.standard_uncertainty
        if u == 0:
            return True
        half_digit = 0.5 * 10.0 ** floor(log10(u))
        ends = (self.first_order.value - _FACTOR * u, self.first_order.value + _FACTOR * u)
        misses = (abs(ends[0] - self.low), abs(ends[1] - self.high))
        return max(misses) <= half_digit


_SHARES = (0.005, 0.025, 0.05, 0.25, 0.5, 0.75, 0.95, 0.975, 0.995)


def propagate(
    sources: Mapping[str, Spread],
    model: Model,
    *,
    together: tuple[str, str] | None = None,
    correlation: float = 0.0,
    trials: int = 1_000_000,
    seed: int = 1,
    strain: Strain | None = None,
    levels: tuple[float, ...] = (),
) -> Scatter:
    """Return a result's scatter over many trials, and its first-order budget.

    Every source is drawn by itself, but for one pair that may go together: in a share of the
    trials both lie at the same point of their bands. That share is their correlation.

    :param sources: by the name under which the model asks for them
    :param model: works on arrays, element by element
    :param together: two sources of the same shape, correlated
    :param correlation: of the two, 0 to 1
    :param trials: 1000 to 10 million, else refused
    :param seed: the same seed gives the same trials
    :param strain: how near a trial comes to a limit; None: not asked
    :param levels: of strain, whose share of trials beyond is wanted
    :source: JCGM 101:2008, clause 7; GUM 5.1.2, 5.2.2, effects by 5.1.4 note 2
    """
    _require_pair(sources, together, correlation)
    if not 1000 <= trials <= 10_000_000:
        raise InputError(f"The trials must be 1000 to 10 million, and are {trials}.")
    values, past = np.empty(trials), np.zeros(len(levels))
    generator = np.random.default_rng(seed)
    for begin in range(0, trials, _BLOCK):
        block = values[begin : begin + _BLOCK]
        inputs = _inputs(sources, together, correlation, block.size, generator)
        block[:] = model(inputs)
        if strain is not None:
            reached = strain(inputs, block)
            past += [np.count_nonzero(reached > level) for level in levels]
    mean, deviation = float(values.mean()), float(values.std())
    values.sort()
    marks = [float(values[min(int(share * trials), trials - 1)]) for share in _SHARES]
    first, last = values[int(0.0005 * trials)], values[int(0.9995 * trials)]
    if last <= first:
        last = np.nextafter(first, np.inf)
    edges = np.linspace(first, last, _BINS + 1)
    within = np.diff(np.searchsorted(values, edges)) / trials
    return Scatter(
        trials=trials,
        mean=mean,
        standard_deviation=deviation,
        percentiles=tuple(zip(_SHARES, marks, strict=True)),
        edges=tuple(edges.tolist()),
        shares=tuple(within.tolist()),
        first_order=first_order(sources, model, together=together, correlation=correlation),
        past=tuple((past / trials).tolist()),
    )


def first_order(
    sources: Mapping[str, Spread],
    model: Model,
    *,
    together: tuple[str, str] | None = None,
    correlation: float = 0.0,
) -> FirstOrder:
    """Return a result and its combined standard uncertainty by the law of propagation.

    :param sources: by the name under which the model asks for them
    :param model: of the result
    :param together: two sources that are correlated
    :param correlation: of the two, 0 to 1
    :source: GUM 5.1.2 and 5.2.2; effects as half the change over ± one u, 5.1.4 note 2
    """
    _require_pair(sources, together, correlation)
    best = {name: np.asarray(spread.value) for name, spread in sources.items()}
    effects = {}
    for name, spread in sources.items():
        u = spread.standard_uncertainty
        if u > 0:
            more = float(model({**best, name: np.asarray(spread.value + u)}))
            less = float(model({**best, name: np.asarray(spread.value - u)}))
            effects[name] = (more - less) / 2
    variance = sum(effect**2 for effect in effects.values())
    if together is not None:
        one, other = together
        variance += 2 * correlation * effects.get(one, 0.0) * effects.get(other, 0.0)
    return FirstOrder(
        value=float(model(best)),
        standard_uncertainty=sqrt(variance),
        contributions=tuple(Contribution(name, effect) for name, effect in effects.items()),
    )


def _inputs(
    sources: Mapping[str, Spread],
    together: tuple[str, str] | None,
    correlation: float,
    count: int,
    generator: np.random.Generator,
) -> Mapping[str, Array]:
    """Return the sources of so many trials; what is exact is not drawn."""
    luck = {
        name: _draw(spread.shape, generator, count)
        for name, spread in sources.items()
        if spread.half_width > 0
    }
    if together is not None and correlation > 0 and set(together) <= set(luck):
        one, other = together
        if correlation == 1:
            luck[other] = luck[one]
        else:
            same = generator.random(count) < correlation
            luck[other] = np.where(same, luck[one], luck[other])
    return {
        name: spread.value + spread.half_width * luck[name]
        if name in luck
        else np.asarray(spread.value)
        for name, spread in sources.items()
    }


def _draw(shape: Shape, generator: np.random.Generator, count: int) -> Array:
    """Return deviations in half widths."""
    if shape is Shape.NORMAL:
        return generator.standard_normal(count) / 2
    if shape is Shape.TRIANGULAR:
        return generator.random(count) + generator.random(count) - 1
    return 2 * generator.random(count) - 1


def _require_pair(
    sources: Mapping[str, Spread], together: tuple[str, str] | None, correlation: float
) -> None:
    if not 0 <= correlation <= 1:
        raise InputError(f"A correlation of {correlation:g} is none; it lies from 0 to 1.")
    if together is None or correlation == 0:
        return
    one, other = (sources[name] for name in together)
    if one.half_width > 0 and other.half_width > 0 and one.shape is not other.shape:
        raise InputError("Two quantities that go together must be spread in the same shape.")
