"""A fit as a band of limits: two bars, the value between them or not, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.documents import ink

WIDTH, HEIGHT = 400.0, 104.0
_LEFT, _RIGHT, _EDGE = 96.0, 304.0, 14.0
_LINE, _TALL = 58.0, 22.0
_SLIM, _SLIM_LINE = 44.0, 18.0
"""Height of a band without texts, and its line."""


@dataclass(frozen=True, slots=True)
class Band:
    """What a band shows; values in one unit, texts as they are printed.

    :param low, high: limits, None where there is none
    :param least, value, greatest: of the fit, None where not measured
    :param whisker_low, whisker_high: least less its expanded uncertainty, greatest plus its own
    :param target: what is aimed at, None if nothing
    :param low_text, high_text: (builder's units, other units) of the limits
    :param name: what the picture says, in words
    """

    low: float | None
    high: float | None
    least: float | None
    value: float | None
    greatest: float | None
    whisker_low: float | None
    whisker_high: float | None
    target: float | None
    low_text: tuple[str, str]
    high_text: tuple[str, str]
    verdict: str
    name: str


@dataclass(frozen=True, slots=True)
class _Scale:
    zero: float
    at_zero: float
    step: float

    def __call__(self, value: float) -> float:
        return min(max(self.at_zero + (value - self.zero) * self.step, 4.0), WIDTH - 4.0)


def _scale(band: Band) -> _Scale:
    seen = [
        v
        for v in (band.least, band.greatest, band.whisker_low, band.whisker_high, band.target)
        if v is not None
    ]
    ends = [v for v in (band.low, band.high) if v is not None]
    low = band.low if band.low is not None else min([*seen, *ends], default=0.0)
    high = band.high if band.high is not None else max([*seen, *ends], default=1.0)
    if high <= low:
        spread = abs(high) * 0.2 or 1.0
        low, high = (low, high + spread) if band.high is None else (low - spread, high)
    first, last = min([low, *seen]), max([high, *seen])
    step = min(
        (_RIGHT - _LEFT) / (high - low),
        (WIDTH - _EDGE - _LEFT) / (last - low),
        (_RIGHT - _EDGE) / (high - first),
        (WIDTH - 2 * _EDGE) / (last - first),
    )
    return _Scale(low, max(_LEFT, _EDGE + step * (low - first)), step)


def draw(band: Band) -> str:
    """Return a band as SVG: bars at the limits, least to greatest, whiskers, target."""
    at = _scale(band)
    texts = []
    for limit, words, anchor, aside in (
        (band.low, band.low_text, "end", -8.0),
        (band.high, band.high_text, "start", 8.0),
    ):
        if limit is not None:
            x = at(limit) + aside
            texts.append(ink.text(x, _LINE - 33, words[0], 15, "number", anchor))
            texts.append(ink.text(x, _LINE + 34, words[1], 13, "small", anchor))
    body = _body(band, at, _LINE, _TALL) + "".join(texts)
    return ink.drawing(
        WIDTH, HEIGHT, body, name=band.name, kind=f"band {band.verdict}", links=False
    )


def draw_slim(band: Band) -> str:
    """Return a band as SVG without texts, for a row under a head that gives the limits."""
    body = _body(band, _scale(band), _SLIM_LINE, 15.0)
    return ink.drawing(
        WIDTH, _SLIM, body, name=band.name, kind=f"band slim {band.verdict}", links=False
    )


def _body(band: Band, at: _Scale, line: float, tall: float) -> str:
    parts = [ink.line(4, line, WIDTH - 4, line, "thin")]
    if band.low is not None and band.high is not None:
        x1, x2 = at(band.low), at(band.high)
        parts.append(
            f'<rect class="permitted" x="{x1:.1f}" y="{line - 14:.1f}" width="{x2 - x1:.1f}" '
            f'height="28" fill="currentColor" fill-opacity="0.07"/>'
        )
    for limit in (band.low, band.high):
        if limit is not None:
            x = at(limit)
            parts.append(ink.line(x, line - tall, x, line + tall, "heavy"))
    if band.target is not None:
        x, y = at(band.target), line + tall - 4
        parts.append(ink.path(f"M{x - 6:.1f} {y + 10:.1f}h12L{x:.1f} {y:.1f}Z", "outline"))
    return "".join(parts) + _value(band, at, line)


def _value(band: Band, at: _Scale, line: float) -> str:
    if band.value is None or band.least is None or band.greatest is None:
        return ""
    least, greatest = at(band.least), at(band.greatest)
    parts = []
    if band.whisker_low is not None and band.whisker_high is not None:
        low, high = at(band.whisker_low), at(band.whisker_high)
        parts.append(ink.line(low, line, high, line, "whisker"))
        parts.extend(ink.line(x, line - 6, x, line + 6, "whisker") for x in (low, high))
    parts.append(
        f'<rect class="extent" x="{least - 1.5:.1f}" y="{line - 4:.1f}" rx="4" '
        f'width="{greatest - least + 3:.1f}" height="8" fill="currentColor"/>'
    )
    parts.append(
        f'<circle class="dot" cx="{at(band.value):.1f}" cy="{line:.1f}" r="7.5" '
        f'fill="currentColor"/>'
    )
    return "".join(parts)
