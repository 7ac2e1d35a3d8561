"""Screw threads with 60° flanks: ISO metric and unified inch, by their basic dimensions.

Sizes are those of the basic profile, without the allowance and tolerance of a class of fit, as
the stress area and every tightening formula take them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from math import pi, sqrt

from bedplate.errors import InputError
from bedplate.physics.checks import require_positive
from bedplate.physics.thread_series import GAUGE_INCHES, METRIC_PITCHES, UNIFIED_SERIES

FLANK_COSINE = sqrt(3) / 2
"""Cosine of half the flank angle, 30°: friction acts on the flank, not along the axis."""

_INCH = 0.0254
_METRIC = re.compile(r"M\s*(\d+(?:[.,]\d+)?)(?:\s*[x×*-]\s*(\d*[.,]?\d+))?", re.IGNORECASE)
_UNIFIED = re.compile(
    r"(?P<gauge>#|no\.?\s*)?(?P<size>\d+(?:[ -]\d+/\d+|/\d+|\.\d+)?|\.\d+)\s*(?:in|\"|″)?"
    r"\s*-\s*(?P<count>\d+)\s*(?P<series>UN[A-Z]*)?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Thread:
    """An external thread and the nut or hole that takes it.

    :param name: as printed on a drawing, such as 'M10 x 1.5' or '3/8-24 UNF'
    :param diameter: major diameter d, m
    :param pitch: P, m
    :param pitch_diameter: d2, m
    :param minor_diameter: d3, at the root of the external thread, m; on unified threads the
        diameter d − 2·h_b = d − 1.299038·P on which ASME B1.1 tabulates its section
    :param hole_diameter: D1, basic minor diameter of the internal thread, m
    """

    name: str
    diameter: float
    pitch: float
    pitch_diameter: float
    minor_diameter: float
    hole_diameter: float

    @property
    def stress_diameter(self) -> float:
        """Diameter of the stress area, (d2 + d3)/2, m."""
        return (self.pitch_diameter + self.minor_diameter) / 2

    @property
    def stress_area(self) -> float:
        """Stress area A_s = π/4·((d2 + d3)/2)², m² (ISO 898-1, 9.1.6.1; ASME B1.1, appendix B)."""
        return pi / 4 * self.stress_diameter**2

    @property
    def minor_area(self) -> float:
        """Area at the root, A_d3, m²."""
        return pi / 4 * self.minor_diameter**2

    @property
    def nominal_area(self) -> float:
        """Area of the major diameter, m²."""
        return pi / 4 * self.diameter**2


def metric_thread(diameter: float, pitch: float, name: str = "") -> Thread:
    """Return an ISO metric thread of any diameter and pitch; standard or not.

    With H = √3/2·P: d2 = d − 3/4·H, D1 = d − 5/4·H, d3 = d2 − 17/12·H + 3/4·H = d − 17/12·H.

    :param diameter: d, m
    :param pitch: P, m; below d/2, else refused
    :param name: how it is called; empty: made from the sizes
    :source: ISO 68-1 (basic profile), ISO 724 (d2, D1), ISO 898-1, 9.1.6.1 (d3 = d1 − H/6)
    """
    _require_thread(diameter, pitch)
    height = sqrt(3) / 2 * pitch
    return Thread(
        name=name or f"M{diameter * 1e3:g} x {pitch * 1e3:g}",
        diameter=diameter,
        pitch=pitch,
        pitch_diameter=diameter - 0.75 * height,
        minor_diameter=diameter - 17 / 12 * height,
        hole_diameter=diameter - 1.25 * height,
    )


def unified_thread(diameter: float, pitch: float, name: str = "") -> Thread:
    """Return a unified inch thread of any diameter and pitch; standard or not.

    Its stress area is ASME's π/4·(d − 0.9743·P)²: (d2 + d3)/2 with d3 = d − 3/2·H.

    :param diameter: d, m
    :param pitch: P, m, 25.4 mm over the threads per inch; below d/2, else refused
    :param name: how it is called; empty: made from the sizes
    :source: ASME B1.1, basic profile and appendix B (tensile stress area, section at d − 2·h_b)
    """
    _require_thread(diameter, pitch)
    height = sqrt(3) / 2 * pitch
    return Thread(
        name=name or f"{diameter / _INCH:g}-{_INCH / pitch:g}",
        diameter=diameter,
        pitch=pitch,
        pitch_diameter=diameter - 0.75 * height,
        minor_diameter=diameter - 1.5 * height,
        hole_diameter=diameter - 1.25 * height,
    )


def thread(designation: str) -> Thread:
    """Return a standard thread by its designation.

    Metric: 'M10' (coarse), 'M10 x 1.25', 'M10-1.25'. Unified: '3/8-24', '3/8-24 UNF', '#10-32',
    '1 1/8-12'.

    :source: ISO 261 (diameters and pitches, to 39 mm), ASME B1.1 (UNC, UNF, UNEF, No. 4 to 1½ in)
    :raises InputError: for a text that is no thread, or a pitch that its diameter does not have
    """
    text = designation.strip()
    if match := _METRIC.fullmatch(text):
        return _standard_metric(text, *(part and part.replace(",", ".") for part in match.groups()))
    if match := _UNIFIED.fullmatch(text):
        return _standard_unified(text, match)
    raise InputError(
        f"“{text}” is no thread we know.",
        hint="Right would be M10 x 1.25, M10, 3/8-24 or #10-32.",
    )


def _standard_metric(text: str, diameter: str, pitch: str | None) -> Thread:
    pitches = METRIC_PITCHES.get(float(diameter))
    if pitches is None:
        raise InputError(
            f"“{text}”: ISO 261 has no metric thread of {float(diameter):g} mm.",
            hint="A special thread is given by diameter and pitch.",
        )
    coarse, fine = pitches
    if pitch is None:
        if coarse is None:
            raise InputError(
                f"“{text}” has no coarse pitch; say which: {_listed(fine)} mm.",
            )
        chosen = coarse
    else:
        chosen = float(pitch)
        having = fine if coarse is None else (coarse, *fine)
        if chosen not in having:
            raise InputError(
                f"“{text}”: ISO 261 gives M{float(diameter):g} a pitch of {_listed(having)} mm,"
                f" not {chosen:g} mm.",
                hint="A special thread is given by diameter and pitch.",
            )
    name = f"M{float(diameter):g} x {chosen:g}"
    return metric_thread(float(diameter) / 1e3, chosen / 1e3, name)


def _standard_unified(text: str, match: re.Match[str]) -> Thread:
    shown, inches = _inches(match["size"], by_gauge=match["gauge"] is not None)
    counts = UNIFIED_SERIES.get(shown)
    if counts is None:
        raise InputError(
            f"“{text}”: ASME B1.1's series have no size {shown}.",
            hint="A special thread is given by diameter and pitch.",
        )
    count, series = int(match["count"]), match["series"] and match["series"].upper()
    names = [name for name, n in counts.items() if n == count]
    if not names or (series and series not in names):
        raise InputError(
            f"“{text}”: a {shown} thread is"
            f" {', '.join(f'{n} {name}' for name, n in counts.items())}.",
            hint="A special thread is given by diameter and pitch.",
        )
    return unified_thread(inches * _INCH, _INCH / count, f"{shown}-{count} {names[0]}")


def _inches(size: str, *, by_gauge: bool) -> tuple[str, float]:
    """Return a size as the series print it, and in inches; a bare 10 is the gauge number."""
    if by_gauge or size in GAUGE_INCHES:
        return f"#{size}", GAUGE_INCHES.get(size, 0.0)
    try:
        whole = sum((Fraction(part) for part in re.split(r"[ -]", size)), Fraction(0))
    except ZeroDivisionError:
        return size, 0.0
    rest = whole - int(whole)
    parts = [str(part) for part in (int(whole), rest) if part]
    return " ".join(parts), float(whole)


def _listed(pitches: tuple[float, ...]) -> str:
    return " or ".join(f"{pitch:g}" for pitch in pitches)


def _require_thread(diameter: float, pitch: float) -> None:
    require_positive(thread_diameter=diameter, pitch=pitch)
    if pitch >= diameter / 2:
        raise InputError(
            f"A pitch of {pitch * 1e3:g} mm is too coarse for a thread of {diameter * 1e3:g} mm."
        )
