"""Viscosity, density and heat of an engine oil, between the temperatures its data reach.

An oil is two kinematic viscosities, a density and, where it thins under shear, its viscosity at
150 °C and 1e6 1/s (HTHS). The rise of viscosity with pressure is left out: the film comes out a
little thinner than it is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, log10, sqrt

from bedplate.errors import InputError
from bedplate.physics.checks import require_positive
from bedplate.physics.oil_grades import (
    grade_limits,
    usual_shear_ratio,
    usual_viscosity_index,
)

CELSIUS = 273.15
USUAL_DENSITY = 870.0
"""kg/m³ at 15 °C, mineral and synthetic engine oils 840 to 900. Common practice, no source."""
BELOW, ABOVE, FAR_ABOVE = 40.0, 50.0, 100.0
"""K: how far the straight line of ASTM D341 is followed beyond the two temperatures.

The standard names no upper end of its own for a line through two data. Ours: 50 K above the warmer
of them it counts as told, 100 K above it, but no higher than 200 °C, as carried on and marked so.
"""
HOTTEST = 200.0 + CELSIUS
_HIGH_SHEAR_TEMPERATURE = 150.0 + CELSIUS
_HIGH_SHEAR_RATE = 1e6
_SCATTER = 1.1
"""A high-shear viscosity may pass the low-shear one by the scatter of two methods, no more."""


@dataclass(frozen=True, slots=True)
class Oil:
    """An oil between two temperatures.

    :param intercept: A of ASTM D341, log10 log10(ν + 0.7) = A − B log10 T, ν in mm²/s, T in K
    :param slope: B of the same
    :param density_at_15: at 15 °C, kg/m³
    :param shear_ratio: viscosity at 150 °C and 1e6 1/s over the low-shear one; 1 does not thin
    :param lowest: lowest temperature that the data reach, K
    :param told: above it the line of viscosities is carried on beyond its data, K
    :param highest: highest temperature that it is carried on to, K
    """

    name: str
    intercept: float
    slope: float
    density_at_15: float
    shear_ratio: float
    lowest: float
    told: float
    highest: float


def oil_from_viscosities(
    first: tuple[float, float],
    second: tuple[float, float],
    *,
    density_at_15: float = USUAL_DENSITY,
    high_shear_viscosity: float | None = None,
    name: str = "measured oil",
) -> Oil:
    """Return the oil whose viscosity was measured at two temperatures.

    The line of ASTM D341 is followed 40 K below the lower temperature and 100 K above the higher,
    the last 50 K as carried on, and none of it above 200 °C that lies more than 50 K above.

    :param first: temperature, K, and kinematic viscosity, m²/s
    :param second: the same at another temperature
    :param density_at_15: kg/m³, 800 to 1164 (ASTM D1250 table 54D)
    :param high_shear_viscosity: at 150 °C and 1e6 1/s, Pa·s (ASTM D4683); None: does not thin
    :returns: the oil
    :raises InputError: if viscosity does not fall with temperature, or a value is outside
    Source: ASTM D341, ν from 2 to 2e7 mm²/s; the correction terms below 2 are left out: 0.1 % of
    the viscosity at 1.8 mm²/s, 2 % at 1.
    """
    (cold, thick), (hot, thin) = sorted((first, second))
    require_positive(temperature=cold, viscosity=thin)
    if hot - cold < 10.0 or thick <= thin:
        raise InputError(
            "The two viscosities must be of temperatures 10 K apart or more, the warmer the lower."
        )
    if not 2e-6 <= thin <= thick <= 20.0:
        raise InputError("The kinematic viscosities must lie between 2 and 20 000 000 mm²/s.")
    if not 800.0 <= density_at_15 <= 1164.0:
        raise InputError(
            f"A density of {density_at_15:g} kg/m³ at 15 °C is no lubricating oil's; "
            "it lies between 800 and 1164."
        )
    upper, lower = _walther(thick), _walther(thin)
    slope = (upper - lower) / (log10(hot) - log10(cold))
    intercept = upper + slope * log10(cold)
    told = hot + ABOVE
    highest = max(told, min(hot + FAR_ABOVE, HOTTEST))
    oil = Oil(name, intercept, slope, density_at_15, 1.0, cold - BELOW, told, highest)
    if high_shear_viscosity is None:
        return oil
    return _with_shear(oil, high_shear_viscosity)


def oil_of_grade(
    grade: str,
    *,
    viscosity_index: float | None = None,
    density_at_15: float = USUAL_DENSITY,
    high_shear_viscosity: float | None = None,
) -> Oil:
    """Return an oil in the middle of a grade; a data sheet is better.

    The middle of the grade's range at 100 °C, the viscosity at 40 °C by the viscosity index, and
    as much of it left under high shear as is usual, but no less than the grade asks.

    :param grade: such as '5W-30'; a grade with a W alone has no upper limit and is refused
    :param viscosity_index: by ASTM D2270; None takes what oils of the grade usually have
    :param density_at_15: kg/m³
    :param high_shear_viscosity: at 150 °C and 1e6 1/s, Pa·s; None takes what is usual
    :returns: the oil
    :raises InputError: as `grade_limits` and `oil_from_viscosities`
    Source: SAE J300 (2015), ASTM D2270, ASTM D341; the middle is our choice.
    """
    limits = grade_limits(grade)
    if limits.kinematic_below is None or limits.high_shear_least is None:
        raise InputError(
            f"{limits.grade} has no upper limit of viscosity at 100 °C.",
            hint="Name the whole grade, such as 10W-40, or give two measured viscosities.",
        )
    hot = (limits.kinematic_least + limits.kinematic_below) / 2
    index = usual_viscosity_index(grade) if viscosity_index is None else viscosity_index
    cold = viscosity_at_40(hot, index)
    oil = oil_from_viscosities(
        (40.0 + CELSIUS, cold),
        (100.0 + CELSIUS, hot),
        density_at_15=density_at_15,
        name=limits.grade,
    )
    if high_shear_viscosity is None:
        low = _low_shear_at_test(oil)
        usual = usual_shear_ratio(grade) * low
        # The middle of a straight grade may lie below the least that the grade asks.
        high_shear_viscosity = min(max(limits.high_shear_least, usual), low)
    return _with_shear(oil, high_shear_viscosity)


def kinematic_viscosity(oil: Oil, temperature: float) -> float:
    """Return the low-shear kinematic viscosity.

    :param temperature: K
    :returns: m²/s
    :raises InputError: outside the temperatures that the oil's data reach
    Source: ASTM D341, log10 log10(ν + 0.7) = A − B log10 T.
    """
    _require_reached(oil, temperature)
    return float((10.0**10.0 ** (oil.intercept - oil.slope * log10(temperature)) - 0.7) * 1e-6)


def density(oil: Oil, temperature: float) -> float:
    """Return the density.

    :param temperature: K
    :returns: kg/m³
    :raises InputError: outside the temperatures that the oil's data reach
    Source: ASTM D1250-80 table 54D: α = 0.6278/ρ15, ρ = ρ15 exp(−αΔT(1 + 0.8αΔT)).
    """
    _require_reached(oil, temperature)
    step = 0.6278 / oil.density_at_15 * (temperature - 15.0 - CELSIUS)
    return oil.density_at_15 * exp(-step * (1.0 + 0.8 * step))


def dynamic_viscosity(oil: Oil, temperature: float, shear_rate: float = 0.0) -> float:
    """Return the dynamic viscosity, thinned by shear as far as the high-shear test vouches for.

    Cross's equation with exponent 1 in the reduced shear rate ηγ (so that a cold, thick oil thins
    at a lower rate), through the oil's point at 150 °C and 1e6 1/s. Beyond the shear stress of
    that test nothing is known, and the viscosity falls no further: the ratio never passes below
    the measured one. In earnest the curve has a second plateau; between low shear and the test
    the model is good to a few per cent of viscosity at best.

    :param temperature: K
    :param shear_rate: 1/s, not negative
    :returns: Pa·s
    :raises InputError: outside the temperatures that the oil's data reach
    Source: M. M. Cross, J. Colloid Sci. 20 (1965) 417; the reduction by ηγ is the usual
    time-temperature one; the floor is ours.
    """
    low = kinematic_viscosity(oil, temperature) * density(oil, temperature)
    if oil.shear_ratio >= 1.0 or shear_rate == 0.0:
        return low
    test = _low_shear_at_test(oil) * _HIGH_SHEAR_RATE
    return low * shear_loss(low * abs(shear_rate) / test, oil.shear_ratio)


def shear_loss(reduced: float, ratio: float) -> float:
    """Return the share of the low-shear viscosity that is left.

    :param reduced: low-shear viscosity times shear rate, over the same in the high-shear test
    :param ratio: what is left in the high-shear test, 0 to 1
    :returns: 1 at rest down to `ratio` at 1 and beyond
    Source: as `dynamic_viscosity`.
    """
    return 1.0 / (1.0 + (1.0 / ratio - 1.0) * min(reduced, 1.0))


def specific_heat(oil: Oil, temperature: float) -> float:
    """Return the specific heat of a petroleum oil; esters lie some 5 % lower.

    :param temperature: K
    :returns: J/(kg·K)
    :raises InputError: outside the temperatures that the oil's data reach
    Source: C. S. Cragoe, NBS Miscellaneous Publication 97 (1929), from memory: c = (0.403 +
    0.00081 t)/√d cal/(g·K), t in °C, d the relative density at 15 °C; stated to 2 to 4 %.
    """
    _require_reached(oil, temperature)
    celsius = temperature - CELSIUS
    return 4186.8 * (0.403 + 0.00081 * celsius) / sqrt(oil.density_at_15 / 999.0)


def viscosity_index(at_40: float, at_100: float) -> float:
    """Return the viscosity index.

    :param at_40: kinematic viscosity at 40 °C, m²/s
    :param at_100: kinematic viscosity at 100 °C, m²/s, 2e-6 to 500e-6
    :returns: viscosity index, not rounded
    :raises InputError: outside the range of the standard
    Source: ASTM D2270, procedures A and B; L and H by the standard's fitted parabolas, which give
    its table back to 0.4 of the index.
    """
    y, u = _within_index(at_100) * 1e6, at_40 * 1e6
    if u <= y:
        raise InputError("The viscosity at 40 °C must be above the one at 100 °C.")
    low, high = _reference(y)
    if u >= high:
        return 100.0 * (low - u) / (low - high)
    power = (log10(high) - log10(u)) / log10(y)
    return float((10.0**power - 1.0) / 0.00715 + 100.0)


def viscosity_at_40(at_100: float, index: float) -> float:
    """Return the viscosity at 40 °C of an oil with a viscosity index; `viscosity_index` turned.

    :param at_100: kinematic viscosity at 100 °C, m²/s, 2e-6 to 500e-6
    :param index: viscosity index, 0 to 400
    :returns: m²/s
    :raises InputError: outside that range
    Source: ASTM D2270, solved for the viscosity at 40 °C.
    """
    y = _within_index(at_100) * 1e6
    if not 0.0 <= index <= 400.0:
        raise InputError(f"A viscosity index of {index:g} is outside 0 to 400.")
    low, high = _reference(y)
    if index <= 100.0:
        return (low - index / 100.0 * (low - high)) * 1e-6
    power = log10((index - 100.0) * 0.00715 + 1.0)
    return float(high / y**power * 1e-6)


# ASTM D2270 appendix: from which viscosity at 100 °C, mm²/s, then the parabolas of L and of H.
_PARABOLAS = (
    (2.0, 1.14673, 1.7576, -0.109, 0.84155, 1.5521, -0.077),
    (3.8, 3.38095, -15.4952, 33.196, 0.78571, 1.7929, -0.183),
    (4.4, 2.5, -7.2143, 13.812, 0.82143, 1.5679, 0.119),
    (5.0, 0.101, 16.635, -45.469, 0.04985, 9.1613, -18.557),
    (6.4, 3.35714, -23.5643, 78.466, 0.22619, 7.7369, -16.656),
    (7.0, 0.01191, 21.475, -72.870, 0.79762, -0.7321, 14.61),
    (7.7, 0.41858, 16.1558, -56.040, 0.05794, 10.5156, -28.240),
    (9.0, 0.88779, 7.5527, -16.600, 0.26665, 6.7015, -10.810),
    (12.0, 0.76720, 10.7972, -38.180, 0.20073, 8.4658, -22.490),
    (15.0, 0.97305, 5.3135, -2.200, 0.28889, 5.9741, -4.930),
    (18.0, 0.97256, 5.2500, -0.980, 0.24504, 7.4160, -16.730),
    (22.0, 0.91413, 7.4759, -21.820, 0.20323, 9.1267, -34.230),
    (28.0, 0.87031, 9.7157, -50.770, 0.18411, 10.1015, -46.750),
    (40.0, 0.84703, 12.6752, -133.310, 0.17029, 11.4866, -80.620),
    (55.0, 0.85921, 11.1009, -83.190, 0.17130, 11.3680, -76.940),
    (70.0, 0.83531, 14.6731, -216.246, 0.16841, 11.8493, -96.947),
)


def _reference(y: float) -> tuple[float, float]:
    row = next(row for row in reversed(_PARABOLAS) if row[0] <= y)
    _, a, b, c, d, e, f = row
    return (a * y + b) * y + c, (d * y + e) * y + f


def _within_index(at_100: float) -> float:
    if not 2e-6 <= at_100 <= 500e-6:
        raise InputError("A viscosity index needs 2 to 500 mm²/s at 100 °C.")
    return at_100


def _walther(viscosity: float) -> float:
    return log10(log10(viscosity * 1e6 + 0.7))


def _low_shear_at_test(oil: Oil) -> float:
    return kinematic_viscosity(oil, _HIGH_SHEAR_TEMPERATURE) * density(oil, _HIGH_SHEAR_TEMPERATURE)


def _with_shear(oil: Oil, high_shear_viscosity: float) -> Oil:
    require_positive(high_shear_viscosity=high_shear_viscosity)
    if oil.told < _HIGH_SHEAR_TEMPERATURE:
        raise InputError(
            "A high-shear viscosity at 150 °C needs a second viscosity at 100 °C or above."
        )
    low = _low_shear_at_test(oil)
    ratio = high_shear_viscosity / low
    if not 0.2 <= ratio <= _SCATTER:
        raise InputError(
            f"A high-shear viscosity of {high_shear_viscosity * 1e3:.3g} mPa·s does not go with "
            f"{low * 1e3:.3g} mPa·s at low shear, both at 150 °C."
        )
    return replace(oil, shear_ratio=min(ratio, 1.0))


def _require_reached(oil: Oil, temperature: float) -> None:
    if not oil.lowest <= temperature <= oil.highest:
        raise InputError(
            f"The data of {oil.name} reach from {oil.lowest - CELSIUS:.0f} to "
            f"{oil.highest - CELSIUS:.0f} °C, not {temperature - CELSIUS:.0f} °C."
        )
