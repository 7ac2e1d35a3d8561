"""Engine oil grades of SAE J300, in the edition named.

Limits of the grade, not properties of an oil: an oil of a grade lies anywhere inside them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from bedplate.errors import InputError

EDITION = "SAE J300, January 2015"
"""Later editions exist. Those before 2013 begin grade 20 at 5.6 mm²/s and ask 2.9 mPa·s of 40."""

_CELSIUS = 273.15
# Grade: cranking most mPa·s at °C, pumping most 60 000 mPa·s at °C, least mm²/s at 100 °C.
_WINTER = {
    "0W": (6200.0, -35.0, -40.0, 3.8),
    "5W": (6600.0, -30.0, -35.0, 3.8),
    "10W": (7000.0, -25.0, -30.0, 4.1),
    "15W": (7000.0, -20.0, -25.0, 5.6),
    "20W": (9500.0, -15.0, -20.0, 5.6),
    "25W": (13000.0, -10.0, -15.0, 9.3),
}
# Grade: least and below, mm²/s at 100 °C; least mPa·s at 150 °C and 1e6 1/s.
_SUMMER = {
    "8": (4.0, 6.1, 1.7),
    "12": (5.0, 7.1, 2.0),
    "16": (6.1, 8.2, 2.3),
    "20": (6.9, 9.3, 2.6),
    "30": (9.3, 12.5, 2.9),
    "40": (12.5, 16.3, 3.7),
    "50": (16.3, 21.9, 3.7),
    "60": (21.9, 26.1, 3.7),
}
_LIGHT_40 = 3.5
"""mPa·s: what a 40 has to reach if it is also a 0W, 5W or 10W."""
_USUAL_SHEAR_RATIO = {"": 1.0, "0W": 0.85, "5W": 0.85, "10W": 0.85, "15W": 0.92}
_USUAL_INDEX = {"": 98.0, "0W": 175.0, "5W": 165.0, "10W": 150.0, "15W": 140.0, "20W": 125.0}


@dataclass(frozen=True, slots=True)
class Cranking:
    """What a winter grade asks in the cold.

    :param cranking_most: greatest apparent viscosity when cranking, Pa·s (ASTM D5293)
    :param cranking_temperature: at, K
    :param pumping_most: greatest viscosity when pumping, no yield stress, Pa·s (ASTM D4684)
    :param pumping_temperature: at, K
    """

    cranking_most: float
    cranking_temperature: float
    pumping_most: float
    pumping_temperature: float


@dataclass(frozen=True, slots=True)
class GradeLimits:
    """What a grade asks of an oil.

    :param kinematic_least: at 100 °C, m²/s
    :param kinematic_below: at 100 °C, not reached, m²/s; None where the grade sets none
    :param high_shear_least: at 150 °C and 1e6 1/s, Pa·s; None where the grade sets none
    :param winter: None without a W
    """

    grade: str
    edition: str
    kinematic_least: float
    kinematic_below: float | None
    high_shear_least: float | None
    winter: Cranking | None


def grade_limits(grade: str) -> GradeLimits:
    """Return the limits of an engine oil grade.

    :param grade: '5W-30', '10W', 'SAE 40'
    :returns: limits in SI units
    :raises InputError: if the edition has no such grade
    Source: SAE J300, January 2015, table 1.
    """
    winter, summer = _parts(grade)
    name = "-".join(part for part in (winter, summer) if part)
    cold = _cold(winter) if winter else None
    if not summer:
        return GradeLimits(name, EDITION, _WINTER[winter][3] * 1e-6, None, None, cold)
    least, below, shear = _SUMMER[summer]
    if summer == "40" and winter in {"0W", "5W", "10W"}:
        shear = _LIGHT_40
    if winter:
        least = max(least, _WINTER[winter][3])
    return GradeLimits(name, EDITION, least * 1e-6, below * 1e-6, shear * 1e-3, cold)


def usual_viscosity_index(grade: str) -> float:
    """Return a viscosity index such as oils of a grade usually have; a stand-in for a data sheet.

    Straight grades near 98, multigrades 125 to 175. Common practice, no source.

    :param grade: as for `grade_limits`
    :returns: viscosity index, no unit
    :raises InputError: if the edition has no such grade
    """
    winter, _ = _parts(grade)
    return _USUAL_INDEX.get(winter, _USUAL_INDEX["20W"])


def usual_shear_ratio(grade: str) -> float:
    """Return how much of its viscosity an oil of a grade usually keeps in the high-shear test.

    A straight grade has no thickener to give way; the wider a multigrade spans, the more it holds
    of it. A stand-in for a data sheet, good to 0.1. Common practice, no source.

    :param grade: as for `grade_limits`
    :returns: viscosity at 150 °C and 1e6 1/s over the low-shear one at 150 °C
    :raises InputError: if the edition has no such grade
    """
    winter, _ = _parts(grade)
    return _USUAL_SHEAR_RATIO.get(winter, _USUAL_SHEAR_RATIO["15W"])


def _parts(grade: str) -> tuple[str, str]:
    text = re.sub(r"^SAE\s*", "", grade.strip().upper())
    match = re.fullmatch(r"(\d+W)?\s*[-/ ]?\s*(\d+)?", text)
    winter, summer = (match.group(1) or "", match.group(2) or "") if match else ("", "")
    known = (not winter or winter in _WINTER) and (not summer or summer in _SUMMER)
    if not (winter or summer) or not known:
        raise InputError(
            f"'{grade}' is no grade of {EDITION}.",
            hint=f"Winter grades are {', '.join(_WINTER)}, the others {', '.join(_SUMMER)}.",
        )
    return winter, summer


def _cold(winter: str) -> Cranking:
    most, cranking, pumping, _ = _WINTER[winter]
    return Cranking(most * 1e-3, cranking + _CELSIUS, 60.0, pumping + _CELSIUS)
