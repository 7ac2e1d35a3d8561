"""A result over many trials: the answer that holds for any model (JCGM 101).

Beside it stands the first-order law, which says which source the scatter comes from.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import floor, log10

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import Array
from bedplate.physics.first_order import FirstOrder, Model, first_order, require_pair
from bedplate.physics.spread import Shape, Spread

Strain = Callable[[Mapping[str, Array], Array], Array]
"""How near each trial comes to a limit, from its sources and its result; 1 is at the limit."""

_BLOCK = 1 << 15
"""Trials worked through at a time, few enough to stay in the processor's cache."""
_BINS = 80
_FACTOR = 1.959963984540054
"""Of a normal distribution, for 95 %."""
_SHARES = (0.005, 0.025, 0.05, 0.25, 0.5, 0.75, 0.95, 0.975, 0.995)


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
    require_pair(sources, together, correlation)
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
