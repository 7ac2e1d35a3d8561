"""Every unit that is read, with its exact factor.

Factors follow from exact definitions: 1 in = 25.4 mm, 1 lb = 0.453 592 37 kg, standard gravity
9.806 65 m/s², 1 °F = 5/9 K (NIST SP 811:2008, appendix B.8 and its footnotes; ISO 80000). Where a
factor holds π, it is a fraction good to 35 digits, far below one double's step.

Conventions of reading, each the trade's usual meaning:

* 'tenth' is 0.0001 in, 'thou' 0.001 in.
* 'lb-ft', 'ft-lb', 'lb-in', 'in-lb' are torques: the pound in them is the pound-force.
* 'kg·m' and 'kg·cm' are torques (kilogram-force) unless an unbalance is wanted.
* 'oz·in', 'g·mm', 'g·cm', 'g·in' are unbalances, so the ounce in them is a mass.
* 'lb', 'oz' alone are masses; the force is 'lbf'.
* 'K' is a difference unless a temperature is wanted; '°C' and '°F' are differences where one is.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from bedplate.quantity.dimension import Dimension

_PI = Fraction("3.14159265358979323846264338327950288")
_INCH = Fraction("0.0254")
_POUND = Fraction("0.45359237")
_GRAVITY = Fraction("9.80665")
_FAHRENHEIT = Fraction(5, 9)


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of measure: SI value = factor × (number + offset).

    :param symbol: as the program prints it
    :param name: in words
    :param spellings: other ways to type it, between spaces; '·' stands for any
        separator in a product
    :param offset: added before scaling, for temperatures on a scale with its own zero
    """

    symbol: str
    name: str
    dimension: Dimension
    factor: Fraction
    spellings: str = ""
    offset: Fraction = Fraction(0)


def _products(firsts: str, seconds: str) -> str:
    """Spell a product both ways round, with and without the dot."""
    pairs = [(a, b) for a in firsts.split() for b in seconds.split()]
    return " ".join(f"{a}·{b} {a}{b} {b}·{a} {b}{a}" for a, b in pairs)


_POUNDS, _FEET, _INCHES = "lbf lb lbs pound pounds", "ft foot feet", "in inch inches"
_D = Dimension

_LENGTHS = (
    Unit("mm", "millimetre", _D.LENGTH, Fraction(1, 1000),
         "millimetre millimetres millimeter millimeters"),
    Unit("µm", "micrometre", _D.LENGTH, Fraction(1, 10**6),
         "um micron microns micrometre micrometres micrometer micrometers"),
    Unit("cm", "centimetre", _D.LENGTH, Fraction(1, 100),
         "centimetre centimetres centimeter centimeters"),
    Unit("m", "metre", _D.LENGTH, Fraction(1), "metre metres meter meters"),
    Unit("in", "inch", _D.LENGTH, _INCH, "inch inches \" ''"),
    Unit("thou", "thousandth of an inch", _D.LENGTH, _INCH / 1000,
         "thous thousandth thousandths thousandths·of·an·inch"),
    Unit("tenth", "ten-thousandth of an inch", _D.LENGTH, _INCH / 10**4, "tenths"),
    Unit("µin", "microinch", _D.LENGTH, _INCH / 10**6,
         'uin microinch microinches micro·inch micro·inches µ"'),
    Unit("ft", "foot", _D.LENGTH, _INCH * 12, "foot feet"),
)  # fmt: skip
_ANGLES = (
    Unit("°", "degree", _D.ANGLE, _PI / 180, "deg degs degree degrees"),
    Unit("rad", "radian", _D.ANGLE, Fraction(1), "radian radians"),
    Unit("turn", "turn", _D.ANGLE, _PI * 2, "turns"),
)  # fmt: skip
_MASSES = (
    Unit("g", "gram", _D.MASS, Fraction(1, 1000), "gram grams gramme grammes gm"),
    Unit("kg", "kilogram", _D.MASS, Fraction(1), "kilogram kilograms kilo kilos"),
    Unit("mg", "milligram", _D.MASS, Fraction(1, 10**6), "milligram milligrams"),
    Unit("oz", "ounce (avoirdupois)", _D.MASS, _POUND / 16, "ounce ounces"),
    Unit("lb", "pound (avoirdupois)", _D.MASS, _POUND, "lbs lbm pound pounds"),
)  # fmt: skip
_TIMES = (
    Unit("s", "second", _D.TIME, Fraction(1), "sec secs second seconds"),
    Unit("min", "minute", _D.TIME, Fraction(60), "mins minute minutes"),
    Unit("h", "hour", _D.TIME, Fraction(3600), "hr hrs hour hours"),
)  # fmt: skip
_TEMPERATURES = (
    Unit("°C", "degree Celsius", _D.TEMPERATURE, Fraction(1),
         "C degC deg·C ℃ °·C celsius", Fraction("273.15")),
    Unit("°F", "degree Fahrenheit", _D.TEMPERATURE, _FAHRENHEIT,
         "F degF deg·F ℉ °·F fahrenheit", Fraction("459.67")),
    Unit("K", "kelvin (difference)", _D.TEMPERATURE_DIFFERENCE, Fraction(1), "kelvin"),
    Unit("K", "kelvin", _D.TEMPERATURE, Fraction(1), "kelvin"),
    Unit("°C", "degree Celsius (difference)", _D.TEMPERATURE_DIFFERENCE, Fraction(1),
         "C degC deg·C ℃ °·C celsius"),
    Unit("°F", "degree Fahrenheit (difference)", _D.TEMPERATURE_DIFFERENCE, _FAHRENHEIT,
         "F degF deg·F ℉ °·F fahrenheit"),
)  # fmt: skip
_EXPANSIONS = (
    Unit("µm/(m·K)", "micrometre per metre and kelvin", _D.EXPANSION, Fraction(1, 10**6),
         "µm/m/K um/m/K µm/m·K um/m·K um/(m·K) µm/m/°C um/m/°C µm/m·°C um/m·°C"
         " µm/(m·°C) um/(m·°C) ppm/K ppm/°C ppm/C"),
    Unit("1/K", "per kelvin", _D.EXPANSION, Fraction(1),
         "/K K·1 1/°C /°C /C 1/C per·K per·°C m/m/K m/(m·K) m/m/°C mm/mm/K mm/mm/°C"),
    Unit("µin/(in·°F)", "microinch per inch and degree Fahrenheit", _D.EXPANSION,
         1 / _FAHRENHEIT / 10**6,
         "µin/in/°F uin/in/°F µin/in·°F uin/in·°F ppm/°F ppm/F uin/(in·°F) µin/in/F uin/in/F"),
    Unit("1/°F", "per degree Fahrenheit", _D.EXPANSION, 1 / _FAHRENHEIT,
         "/°F /F 1/F per·°F in/in/°F in/in/F"),
)  # fmt: skip
_FORCES = (
    Unit("N", "newton", _D.FORCE, Fraction(1), "newton newtons"),
    Unit("kN", "kilonewton", _D.FORCE, Fraction(1000)),
    Unit("lbf", "pound-force", _D.FORCE, _POUND * _GRAVITY, "lb·force pound·force pounds·force"),
    Unit("kgf", "kilogram-force", _D.FORCE, _GRAVITY, "kp kilogram·force"),
    Unit("ozf", "ounce-force", _D.FORCE, _POUND / 16 * _GRAVITY),
)  # fmt: skip
_TORQUES = (
    Unit("N·m", "newton metre", _D.TORQUE, Fraction(1),
         "Nm m·N newton·metre newton·metres newton·meter newton·meters"),
    Unit("N·cm", "newton centimetre", _D.TORQUE, Fraction(1, 100), "Ncm"),
    Unit("daN·m", "decanewton metre", _D.TORQUE, Fraction(10), "daNm m·daN mdaN"),
    Unit("lbf·ft", "pound-force foot", _D.TORQUE, _POUND * _GRAVITY * _INCH * 12,
         _products(_POUNDS, _FEET)),
    Unit("lbf·in", "pound-force inch", _D.TORQUE, _POUND * _GRAVITY * _INCH,
         _products(_POUNDS, _INCHES)),
    Unit("ozf·in", "ounce-force inch", _D.TORQUE, _POUND / 16 * _GRAVITY * _INCH,
         _products("ozf", _INCHES)),
    Unit("kgf·m", "kilogram-force metre", _D.TORQUE, _GRAVITY, _products("kgf kp kg", "m")),
    Unit("kgf·cm", "kilogram-force centimetre", _D.TORQUE, _GRAVITY / 100,
         _products("kgf kp kg", "cm")),
)  # fmt: skip
_PRESSURES = (
    Unit("bar", "bar", _D.PRESSURE, Fraction(10**5), "bars"),
    Unit("mbar", "millibar", _D.PRESSURE, Fraction(100)),
    Unit("Pa", "pascal", _D.PRESSURE, Fraction(1), "pascal pascals"),
    Unit("kPa", "kilopascal", _D.PRESSURE, Fraction(1000)),
    Unit("MPa", "megapascal", _D.PRESSURE, Fraction(10**6), "N/mm2"),
    Unit("GPa", "gigapascal", _D.PRESSURE, Fraction(10**9)),
    Unit("psi", "pound-force per square inch", _D.PRESSURE, _POUND * _GRAVITY / _INCH**2,
         "lbf/in2 lb/in2 lbs/in2 psig"),
    Unit("kgf/cm²", "kilogram-force per square centimetre", _D.PRESSURE, _GRAVITY * 10**4,
         "kgf/cm2 kg/cm2 kp/cm2"),
)  # fmt: skip
_VOLUMES = (
    Unit("cm³", "cubic centimetre", _D.VOLUME, Fraction(1, 10**6),
         "cm3 cc ccm ccs ml mL cu·cm millilitre millilitres milliliter milliliters"),
    Unit("l", "litre", _D.VOLUME, Fraction(1, 1000), "L litre litres liter liters dm3"),
    Unit("mm³", "cubic millimetre", _D.VOLUME, Fraction(1, 10**9), "mm3"),
    Unit("m³", "cubic metre", _D.VOLUME, Fraction(1), "m3"),
    Unit("in³", "cubic inch", _D.VOLUME, _INCH**3,
         "in3 cu·in cu·ins cu·inch cu·inches cubic·in cubic·inch cubic·inches cuin"),
)  # fmt: skip
_ROTATIONS = (
    Unit("rpm", "revolution per minute", _D.ROTATION, _PI / 30,
         "r/min rev/min 1/min /min min·1 revs/min r·p·m"),
    Unit("rad/s", "radian per second", _D.ROTATION, Fraction(1)),
    Unit("Hz", "hertz (of a vibration)", _D.ROTATION, _PI * 2, "1/s cycles/s"),
)  # fmt: skip
_UNBALANCES = (
    Unit("g·mm", "gram millimetre", _D.UNBALANCE, Fraction(1, 10**6), "gmm mm·g"),
    Unit("g·cm", "gram centimetre", _D.UNBALANCE, Fraction(1, 10**5), "gcm cm·g"),
    Unit("g·in", "gram inch", _D.UNBALANCE, _INCH / 1000, _products("g gram", _INCHES)),
    Unit("oz·in", "ounce inch", _D.UNBALANCE, _POUND / 16 * _INCH, _products("oz ounce", _INCHES)),
    Unit("kg·m", "kilogram metre", _D.UNBALANCE, Fraction(1), "m·kg kgm"),
    Unit("kg·mm", "kilogram millimetre", _D.UNBALANCE, Fraction(1, 1000), "mm·kg"),
    Unit("kg·cm", "kilogram centimetre", _D.UNBALANCE, Fraction(1, 100), "cm·kg"),
)  # fmt: skip
_RATIOS = (
    Unit("%", "per cent", _D.RATIO, Fraction(1, 100), "percent per·cent pct"),
    Unit("ppm", "part per million", _D.RATIO, Fraction(1, 10**6)),
    Unit(":1", "to one", _D.RATIO, Fraction(1), ":·1 to·1 1"),
)  # fmt: skip
_VELOCITIES = (
    Unit("m/s", "metre per second", _D.VELOCITY, Fraction(1)),
    Unit("ft/min", "foot per minute", _D.VELOCITY, _INCH * 12 / 60, "fpm"),
)
_ACCELERATIONS = (
    Unit("m/s²", "metre per second squared", _D.ACCELERATION, Fraction(1), "m/s2"),
    Unit("ft/s²", "foot per second squared", _D.ACCELERATION, _INCH * 12, "ft/s2"),
)
_DENSITIES = (
    Unit("kg/m³", "kilogram per cubic metre", _D.DENSITY, Fraction(1), "kg/m3"),
    Unit("g/cm³", "gram per cubic centimetre", _D.DENSITY, Fraction(1000), "g/cm3 g/ml g/mL kg/l"),
)
_VISCOSITIES = (
    Unit("mPa·s", "millipascal second", _D.VISCOSITY, Fraction(1, 1000), "mPas cP"),
    Unit("Pa·s", "pascal second", _D.VISCOSITY, Fraction(1), "Pas"),
    Unit("mm²/s", "square millimetre per second", _D.KINEMATIC_VISCOSITY, Fraction(1, 10**6),
         "mm2/s cSt"),
)  # fmt: skip
_INERTIAS = (
    Unit("kg·m²", "kilogram metre squared", _D.INERTIA, Fraction(1), "kg·m2 kgm² kgm2"),
    Unit("kg·cm²", "kilogram centimetre squared", _D.INERTIA, Fraction(1, 10**4),
         "kg·cm2 kgcm² kgcm2"),
    Unit("lb·in²", "pound inch squared", _D.INERTIA, _POUND * _INCH**2, "lb·in2 lbm·in2"),
)  # fmt: skip
_TORSIONAL = (
    Unit("N·m/rad", "newton metre per radian", _D.TORSIONAL_STIFFNESS, Fraction(1), "Nm/rad"),
    Unit("kN·m/rad", "kilonewton metre per radian", _D.TORSIONAL_STIFFNESS, Fraction(1000),
         "kNm/rad"),
    Unit("MN·m/rad", "meganewton metre per radian", _D.TORSIONAL_STIFFNESS, Fraction(1000000),
         "MNm/rad"),
    Unit("N·m/°", "newton metre per degree", _D.TORSIONAL_STIFFNESS, 180 / _PI,
         "Nm/° N·m/deg Nm/deg"),
    Unit("N·m·s/rad", "newton metre second per radian", _D.TORSIONAL_DAMPING, Fraction(1),
         "Nms/rad N·m·s Nms"),
)  # fmt: skip

UNITS: tuple[Unit, ...] = (
    *_LENGTHS,
    *_ANGLES,
    *_MASSES,
    *_TIMES,
    *_TEMPERATURES,
    *_EXPANSIONS,
    *_FORCES,
    *_TORQUES,
    *_PRESSURES,
    *_VOLUMES,
    *_ROTATIONS,
    *_UNBALANCES,
    *_RATIOS,
    *_VELOCITIES,
    *_ACCELERATIONS,
    *_DENSITIES,
    *_VISCOSITIES,
    *_INERTIAS,
    *_TORSIONAL,
)
"""Every unit that is read. The first of a spelling counts where no dimension is asked for."""

DOUBTFUL: dict[str, str] = {
    "mil": "'mil' is a thousandth of an inch to some and a millimetre to others: write 'thou' or"
    " 'mm'",
    "mils": "'mils' are thousandths of an inch to some and millimetres to others: write 'thou' or"
    " 'mm'",
    "nm": "'nm' can be newton metres or nanometres: write 'N·m' or 'µm'",
    "NM": "'NM' can be newton metres or nautical miles: write 'N·m'",
    "mPa": "'mPa' is a millipascal, which no builder needs: write 'MPa' or 'kPa'",
    "'": "a single prime can be feet or minutes of arc: write 'ft' or decimals of a degree",
    "hundredth": "'hundredths' can be of an inch or of a millimetre: write 'mm' or 'in'",
    "hundredths": "'hundredths' can be of an inch or of a millimetre: write 'mm' or 'in'",
    "gr": "'gr' can be grams or grains: write 'g'",
}
"""Spellings that are refused because two people read them differently."""


def to_si(value: Fraction, unit: Unit) -> Fraction:
    """Return the exact SI value of a number in a unit."""
    return (value + unit.offset) * unit.factor if unit.offset else value * unit.factor


def _spellings() -> dict[str, tuple[Unit, ...]]:
    table: dict[str, tuple[Unit, ...]] = {}
    for unit in UNITS:
        for spelling in dict.fromkeys((unit.symbol, *unit.spellings.split())):
            table[spelling] = (*table.get(spelling, ()), unit)
    return table


SPELLINGS: dict[str, tuple[Unit, ...]] = _spellings()
"""What may be typed, and the units it may stand for, the usual one first."""

FOLDED: dict[str, tuple[Unit, ...]] = {
    spelling.lower(): units for spelling, units in reversed(SPELLINGS.items()) if len(spelling) > 1
}
"""The same in lower case, for keyboards with the caps lock on; single letters keep their case."""
