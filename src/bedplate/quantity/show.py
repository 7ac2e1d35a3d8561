"""SI numbers to text in the builder's units."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from bedplate.quantity.dimension import Dimension, Units
from bedplate.quantity.refusal import article, refuse
from bedplate.quantity.units import SPELLINGS, Unit

MINUS = "−"
_TOO_LARGE_FOR_DIGITS = 1e12


@dataclass(frozen=True, slots=True)
class Format:
    """How a unit is printed.

    :param decimals: without knowledge of uncertainty or resolution
    :param least, most: bounds on decimals where either is known
    :param fixed: keep noughts at the end
    """

    symbol: str
    decimals: int
    least: int
    most: int
    fixed: bool = False


_MM, _INCH = Format("mm", 3, 3, 4, fixed=True), Format("in", 4, 4, 5, fixed=True)
_FORMATS: dict[str, Format] = {
    form.symbol: form
    for form in (
        _MM, _INCH,
        Format("µm", 1, 0, 2), Format("thou", 1, 1, 2), Format("tenth", 1, 0, 1),
        Format("µin", 0, 0, 1),
        Format("cm³", 1, 0, 2), Format("in³", 2, 1, 4),
        Format("°", 1, 0, 2), Format("bar", 2, 0, 3), Format("psi", 1, 0, 2),
        Format("lbf·ft", 1, 0, 2), Format("N·m", 1, 0, 2), Format("rpm", 0, 0, 1),
        Format("oz", 3, 1, 4), Format("g", 1, 0, 3), Format("oz·in", 3, 1, 4),
        Format("g·mm", 0, 0, 1), Format("%", 1, 0, 3), Format("m/s", 2, 0, 3),
        Format("ft/min", 0, 0, 1), Format("m/s²", 0, 0, 1), Format("ft/s²", 0, 0, 1),
        Format("mPa·s", 2, 0, 3), Format("mm²/s", 2, 0, 3), Format("kg/m³", 0, 0, 2),
    )
}  # fmt: skip
_PLAIN_DIGITS = 4
"""Significant digits in a unit that has no row above."""

_PREFERRED: dict[Dimension, tuple[str, str]] = {
    Dimension.LENGTH: ("mm", "in"),
    Dimension.ANGLE: ("°", "°"),
    Dimension.MASS: ("g", "oz"),
    Dimension.TIME: ("min", "min"),
    Dimension.TEMPERATURE: ("°C", "°F"),
    Dimension.TEMPERATURE_DIFFERENCE: ("K", "°F"),
    Dimension.EXPANSION: ("µm/(m·K)", "µin/(in·°F)"),
    Dimension.FORCE: ("N", "lbf"),
    Dimension.TORQUE: ("N·m", "lbf·ft"),
    Dimension.PRESSURE: ("bar", "psi"),
    Dimension.VOLUME: ("cm³", "in³"),
    Dimension.ROTATION: ("rpm", "rpm"),
    Dimension.UNBALANCE: ("g·mm", "oz·in"),
    Dimension.RATIO: ("%", "%"),
    Dimension.VELOCITY: ("m/s", "ft/min"),
    Dimension.ACCELERATION: ("m/s²", "ft/s²"),
    Dimension.DENSITY: ("kg/m³", "g/cm³"),
    Dimension.VISCOSITY: ("mPa·s", "mPa·s"),
    Dimension.KINEMATIC_VISCOSITY: ("mm²/s", "mm²/s"),
    Dimension.INERTIA: ("kg·m²", "lb·in²"),
    Dimension.TORSIONAL_STIFFNESS: ("kN·m/rad", "kN·m/rad"),
    Dimension.TORSIONAL_DAMPING: ("N·m·s/rad", "N·m·s/rad"),
}
_METRIC_ALSO = frozenset({Dimension.MASS, Dimension.VOLUME})
"""Weighed in grams and poured in cubic centimetres by inch builders too."""


def _unit(dimension: Dimension, units: Units, symbol: str) -> Unit:
    metric, inch = _PREFERRED[dimension]
    wanted = symbol or (metric if units is Units.METRIC or dimension in _METRIC_ALSO else inch)
    for unit in SPELLINGS.get(wanted, ()):
        if unit.dimension is dimension:
            return unit
    raise refuse(wanted, f"is no unit of {article(dimension)}")


def _format(unit: Unit, value: float) -> Format:
    """Return how the unit is printed; one that has no row gets its digits from the value."""
    form = _FORMATS.get(unit.symbol)
    if form:
        return form
    number = abs(value / float(unit.factor))
    if not 0 < number < math.inf:
        return Format(unit.symbol, 0, 0, 9)
    decimals = _PLAIN_DIGITS - 1 - math.floor(math.log10(number))
    return Format(unit.symbol, min(max(decimals, 0), 15), 0, 15)


def _decimals(form: Format, unit: Unit, uncertainty: float | None, resolution: float | None) -> int:
    """Return how many decimals are worth printing."""
    size = float(unit.factor)
    if uncertainty and uncertainty > 0:
        # Two digits of an uncertainty that begins with 1 or 2, else one.
        exponent = math.floor(math.log10(uncertainty / size))
        lead = uncertainty / size / 10**exponent
        wanted = -exponent + (1 if lead < 2.95 else 0)
    elif resolution and resolution > 0:
        wanted = _digits_of(resolution / size, form)
    else:
        return form.decimals
    return min(max(wanted, form.least), form.most)


def _digits_of(step: float, form: Format) -> int:
    """Return the decimals that print a step, or for a converted one its nearest power of ten."""
    for decimals in range(form.least, form.most + 1):
        count = step * 10**decimals
        if count < 99.5 and round(count) and abs(count - round(count)) < 1e-6 * count:
            return decimals
    return round(-math.log10(step))


def _printed(value: float, unit: Unit, decimals: int, *, fixed: bool, signed: bool) -> str:
    number = value / float(unit.factor) - float(unit.offset)
    if abs(number) >= _TOO_LARGE_FOR_DIGITS:
        return f"{number:.4g}".replace("-", MINUS)
    rounded = Decimal(f"{number:.13g}").quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)
    text = f"{abs(rounded):f}"
    if not fixed and "." in text:
        text = text.rstrip("0").rstrip(".")
    sign = "" if not rounded else MINUS if rounded < 0 else "+" if signed else ""
    return sign + text


def _joined(number: str, unit: Unit) -> str:
    return number + unit.symbol if unit.symbol in {"°", ":1"} else f"{number} {unit.symbol}"


def show(
    value: float,
    dimension: Dimension,
    units: Units,
    *,
    uncertainty: float | None = None,
    resolution: float | None = None,
    signed: bool = False,
    unit: str = "",
) -> str:
    """Print a value in the builder's units with sensible digits.

    :param value: SI value
    :param uncertainty: SI; decides the digits where it is known
    :param resolution: SI size of one step as typed or shown by the gauge; decides them otherwise
    :param signed: print '+' too; minus is always '−'
    :param unit: a unit's symbol to print in, instead of the builder's usual one
    :return: '59.006 mm', '−0.0005 in', '35 N·m'; a dash where the value is not finite
    """
    chosen = _unit(dimension, units, unit)
    if not math.isfinite(value):
        return "—"
    form = _format(chosen, value)
    decimals = _decimals(form, chosen, uncertainty, resolution)
    return _joined(_printed(value, chosen, decimals, fixed=form.fixed, signed=signed), chosen)


def show_both(
    value: float,
    dimension: Dimension,
    units: Units,
    *,
    uncertainty: float | None = None,
    resolution: float | None = None,
    signed: bool = False,
    unit: str = "",
) -> str:
    """Print a value in the builder's units and then in the other ones.

    :param value: SI value; the others as for `show`
    :return: '59.006 mm = 2.3231 in'; once only where both kinds use one unit
    """
    chosen = _unit(dimension, units, unit)
    metric, inch = _PREFERRED[dimension]
    inch_first = chosen.symbol in _INCH_SYMBOLS
    texts = [
        show(value, dimension, units, uncertainty=uncertainty, resolution=resolution,
             signed=signed, unit=symbol)
        for symbol in (chosen.symbol, metric if inch_first else inch)
    ]  # fmt: skip
    return " = ".join(dict.fromkeys(texts))


_INCH_SYMBOLS = frozenset({inch for metric, inch in _PREFERRED.values() if metric != inch}) | {
    "thou", "tenth", "µin", "ft", "lb", "lbf·in", "ozf·in", "1/°F", "ozf", "g·in",
}  # fmt: skip


def show_range(
    low: float | None,
    high: float | None,
    dimension: Dimension,
    units: Units,
    *,
    resolution: float | None = None,
    signed: bool = False,
    unit: str = "",
) -> str:
    """Print limits: '0.028…0.052 mm', 'at least 0.350 mm', 'at most 0.200 mm'.

    :param low: SI value, or None where there is no lower limit
    :param high: SI value, or None where there is no upper limit; the others as for `show`
    """
    if low is None or high is None:
        end = high if low is None else low
        if end is None:
            return "no limits"
        shown = show(end, dimension, units, resolution=resolution, signed=signed, unit=unit)
        return f"at {'most' if low is None else 'least'} {shown}"
    chosen = _unit(dimension, units, unit)
    if not math.isfinite(high - low):
        return "—"
    form = _format(chosen, high)
    decimals = _decimals(form, chosen, None, resolution)
    ends = (_printed(end, chosen, decimals, fixed=form.fixed, signed=signed) for end in (low, high))
    return _joined("…".join(ends), chosen)
