"""What charts share: axes, their scales, and the frame they are drawn in."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, log10

from bedplate.documents import ink

WIDE, HIGH = 520.0, 230.0
LEFT, RIGHT, TOP, BOTTOM = 62.0, 14.0, 20.0, 42.0


@dataclass(frozen=True, slots=True)
class Axis:
    """Maps values to places on one axis of a chart.

    :param low, high: values at its ends; `start` and `end` are their places
    """

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        """Return the place of a value."""
        share = (value - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)


def scales(across: Axis, upward: Axis, step: float, rise: float, along: str, beside: str) -> str:
    """Return both axes with their figures.

    :param step: between figures along the foot; `rise` up the side
    :param along: what the foot shows, with its unit; `beside` what the side does
    """
    foot = HIGH - BOTTOM
    parts = [ink.line(LEFT, foot, WIDE - RIGHT, foot), ink.line(LEFT, TOP, LEFT, foot)]
    first = ceil(across.low / step - 1e-9)
    for number in range(first, floor(across.high / step + 1e-9) + 1):
        x = across(number * step)
        parts.append(ink.line(x, foot, x, foot + 5))
        parts.append(ink.text(x, foot + 14, f"{number * step:g}", 12, "small"))
    for number in range(round(upward.high / rise) + 1):
        y = upward(number * rise)
        parts.append(ink.line(LEFT - 5, y, LEFT, y))
        parts.append(ink.text(LEFT - 8, y, f"{number * rise:g}", 12, "small", "end"))
    parts.append(ink.text((WIDE + LEFT) / 2, HIGH - 8, along, 12, "small"))
    words = ink.text(0, 0, beside, 12, "small")
    parts.append(f'<g transform="translate(14 {(TOP + foot) / 2:.1f}) rotate(-90)">{words}</g>')
    return "".join(parts)


def chart(body: str, name: str) -> str:
    """Return a chart in its frame.

    :param name: what it shows, for those who cannot see it
    """
    return ink.drawing(WIDE, HIGH, body, name=name, kind="chart", links=False)


def step_of(span: float, most: int) -> float:
    """Return a round step of which no more than so many fit into a span."""
    raw = span / most
    power = 10.0 ** floor(log10(raw))
    return next(power * one for one in (1, 2, 5, 10) if power * one >= raw - 1e-12)
