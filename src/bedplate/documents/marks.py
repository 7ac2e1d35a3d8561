"""The marks of a verdict: two bars are the limits, a dot is the value.

A dot between the bars is inside, a dot beyond a bar is outside, a dot astride a bar is undecided,
and two bars with no dot is not measured yet. Dashed bars say that the fact under it has changed
since. The same marks stand on the page and on paper (as SVG) and in the terminal (as characters);
nothing rests on colour.
"""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.metrology.results import Verdict

WIDTH, HEIGHT = 32.0, 20.0
"""Size of a mark in its own units."""

_LOW, _HIGH, _MIDDLE = 10.0, 22.0, 10.0
_DOT = 3.4


@dataclass(frozen=True, slots=True)
class Mark:
    """What a mark shows.

    :param below: the dot lies at or beyond the lower limit; it counts only where it is not inside
    :param stale: what the verdict rested on has changed since
    """

    verdict: Verdict
    below: bool = False
    stale: bool = False

    @property
    def words(self) -> str:
        """Return the mark in words, for ears and for those who do not know it yet."""
        side = "below" if self.below else "above"
        sentence = {
            Verdict.INSIDE: "inside",
            Verdict.OUTSIDE: f"outside, {side} the limit",
            Verdict.UNDECIDED: "undecided, too near a limit to tell",
            Verdict.NOT_MEASURED: "not measured yet",
        }[self.verdict]
        return f"{sentence}, changed since" if self.stale else sentence


def is_below(
    least: float | None, greatest: float | None, low: float | None, high: float | None
) -> bool:
    """Tell whether the lower limit is the one that a value breaks, or comes nearest to.

    :param least, greatest: extremes of the value, in one unit with the limits; None: not measured
    :param low, high: limits; None: there is no such limit
    """
    if low is None or least is None:
        return False
    if high is None or greatest is None:
        return True
    return least - low < high - greatest


def characters(mark: Mark, *, plain: bool = False) -> str:
    """Return a mark as seven characters, the same width for each.

    :param plain: ASCII only
    """
    bar, dot = ("|", "o") if plain else ("│", "●")
    if mark.stale:
        bar = ":" if plain else "┆"
    match mark.verdict, mark.below:
        case Verdict.INSIDE, _:
            return f" {bar} {dot} {bar} "
        case Verdict.OUTSIDE, True:
            return f"{dot}{bar}   {bar} "
        case Verdict.OUTSIDE, False:
            return f" {bar}   {bar}{dot}"
        case Verdict.UNDECIDED, True:
            return f"({bar})  {bar} "
        case Verdict.UNDECIDED, False:
            return f" {bar}  ({bar})"
        case _:
            return f" {bar}   {bar} "


def _dot_at(mark: Mark) -> float | None:
    match mark.verdict:
        case Verdict.INSIDE:
            return (_LOW + _HIGH) / 2
        case Verdict.OUTSIDE:
            return 4.0 if mark.below else WIDTH - 4.0
        case Verdict.UNDECIDED:
            return _LOW if mark.below else _HIGH
        case _:
            return None


def fragment(
    mark: Mark, x: float, y: float, height: float = HEIGHT, ink: str = "currentColor"
) -> str:
    """Return a mark as a group for a larger drawing, with its middle at (x, y).

    :param height: height of the bars in the drawing's units
    :param ink: colour of bars and dot; a style sheet may override it by the classes
    """
    scale = height / HEIGHT
    name = mark.verdict.value.replace(" ", "-")
    stale = " stale" if mark.stale else ""
    dash = ' stroke-dasharray="3 2.4"' if mark.stale else ""
    left, top = x - WIDTH / 2 * scale, y - HEIGHT / 2 * scale
    bars = "".join(
        f'<path class="bar" d="M{place:g} 1.5V18.5" fill="none" stroke="{ink}" '
        f'stroke-width="2.2"{dash}/>'
        for place in (_LOW, _HIGH)
    )
    place = _dot_at(mark)
    dot = (
        ""
        if place is None
        else f'<circle class="dot" cx="{place:g}" cy="{_MIDDLE:g}" r="{_DOT:g}" fill="{ink}"/>'
    )
    return (
        f'<g class="mark {name}{stale}" '
        f'transform="translate({left:.2f} {top:.2f}) scale({scale:.4g})">{bars}{dot}</g>'
    )


def picture(mark: Mark, *, ink: str = "currentColor", described: bool = True) -> str:
    """Return a mark as an SVG picture of its own.

    :param described: False where words stand beside it, so that it is not read out twice
    """
    label = f'role="img" aria-label="{mark.words}"' if described else 'aria-hidden="true"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="verdict-mark" '
        f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" width="{WIDTH:g}" height="{HEIGHT:g}" {label}>'
        f"{fragment(mark, WIDTH / 2, HEIGHT / 2, ink=ink)}</svg>"
    )
