"""A result's uncertainty by the first-order law, with each source's part."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import sqrt

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import Array
from bedplate.physics.spread import Spread

Model = Callable[[Mapping[str, Array]], Array]
"""A result from its sources by name, for one set of values or for many."""


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
    require_pair(sources, together, correlation)
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


def require_pair(
    sources: Mapping[str, Spread], together: tuple[str, str] | None, correlation: float
) -> None:
    """Refuse a pair of sources that cannot go together.

    :param sources: by name
    :param together: the pair, or None
    :param correlation: of the two, 0 to 1
    """
    if not 0 <= correlation <= 1:
        raise InputError(f"A correlation of {correlation:g} is none; it lies from 0 to 1.")
    if together is None or correlation == 0:
        return
    one, other = (sources[name] for name in together)
    if one.half_width > 0 and other.half_width > 0 and one.shape is not other.shape:
        raise InputError("Two quantities that go together must be spread in the same shape.")
