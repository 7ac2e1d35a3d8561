"""Filing a ring's end gap in its own bore: how wide, how far still, where to stop.

What is filed away cannot be put back, so every rule errs towards measuring once more. The target
is the ring maker's; where none is given, common practice is offered by name, never taken silently.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import floor, hypot, pi
from typing import Literal

from bedplate.errors import InputError
from bedplate.shop.selection.model import Estimate

Groove = Literal["top", "second", "oil rail"]
Standing = Literal["too small", "stop and measure", "inside", "over target", "too big"]

_INCH = 0.0254
COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class GapRule:
    """What an end gap shall be: a factor of the bore, or a size that the ring maker gives.

    :param factor: gap as a share of the bore, None where a size is given
    :param size: gap in m, None where a factor is given
    :param most: greatest gap allowed, as a factor or in m like the target; None if none is given
    :param source: where it comes from
    """

    name: str
    groove: Groove
    source: str
    factor: float | None = None
    size: float | None = None
    most: float | None = None

    def __post_init__(self) -> None:
        """Refuse a rule that says nothing, or two things."""
        if (self.factor is None) == (self.size is None):
            sentence = f"The gap rule '{self.name}' must give a factor or a size, and not both."
            raise InputError(sentence)
        figure = self.factor if self.factor is not None else self.size
        if figure is None or figure <= 0 or (self.most is not None and self.most < figure):
            raise InputError(
                f"The gap rule '{self.name}' must be above nothing and below its most."
            )

    def target(self, bore: float) -> float:
        """Return the gap wanted, m.

        :param bore: m
        """
        return self.size if self.size is not None else (self.factor or 0.0) * bore

    def greatest(self, bore: float) -> float | None:
        """Return the greatest gap allowed, m, None where the rule gives none.

        :param bore: m
        """
        if self.most is None:
            return None
        return self.most if self.factor is None else self.most * bore


def _practice(table: str, groove: Groove, rows: Mapping[str, float]) -> tuple[GapRule, ...]:
    return tuple(
        GapRule(f"{table}, {duty}", groove, COMMON_PRACTICE, factor)
        for duty, factor in rows.items()
    )


# Factors of the bore. The tables disagree; both are shown.
_TABLE_2 = {
    "street": 0.0045,
    "moderate turbo or nitrous": 0.0050,
    "oval or drag": 0.0055,
    "turbo or nitrous race": 0.0065,
}
PRACTICE: tuple[GapRule, ...] = (
    *_practice(
        "table 1",
        "top",
        {
            "street": 0.0045,
            "moderate turbo or nitrous": 0.0050,
            "stock car": 0.0050,
            "oval or drag": 0.0055,
            "blown race": 0.0060,
            "nitrous race": 0.0070,
        },
    ),
    *_practice(
        "table 1",
        "second",
        {
            "street": 0.0050,
            "moderate turbo or nitrous": 0.0055,
            "stock car": 0.0053,
            "oval or drag": 0.0057,
            "blown race": 0.0063,
            "nitrous race": 0.0070,
        },
    ),
    *_practice("table 2", "top", _TABLE_2),
    *_practice("table 2", "second", {duty: 1.25 * top for duty, top in _TABLE_2.items()}),
    *_practice("least of one guide", "top", {"street": 0.0040}),
    *_practice("least for an iron ring", "top", {"street": 0.0035}),
    GapRule("both tables, least", "oil rail", COMMON_PRACTICE, size=0.015 * _INCH),
    GapRule(
        "one guide, as found",
        "oil rail",
        COMMON_PRACTICE,
        size=0.040 * _INCH,
        most=0.070 * _INCH,
    ),
)


@dataclass(frozen=True, slots=True)
class Offer:
    """One rule of common practice worked out for a bore: the gap in m."""

    rule: GapRule
    gap: float


def offers(bore: float, groove: Groove, duty: str = "") -> tuple[Offer, ...]:
    """Return what common practice says for a bore, smallest gap first.

    :param bore: m
    :param duty: only rules whose name ends so; '' for all
    """
    found = (
        Offer(rule, rule.target(bore))
        for rule in PRACTICE
        if rule.groove == groove and rule.name.endswith(duty)
    )
    return tuple(sorted(found, key=lambda offer: (offer.gap, offer.rule.name)))


def disagreement(offered: Iterable[Offer]) -> float:
    """Return how far the offers lie apart, m."""
    gaps = [offer.gap for offer in offered]
    return max(gaps) - min(gaps) if gaps else 0.0


@dataclass(frozen=True, slots=True)
class Section:
    """A bore as measured at one depth from the deck; sizes in m."""

    depth: float
    bore: Estimate


def smallest_section(sections: Sequence[Section], travel: tuple[float, float]) -> Section:
    """Return the smallest section that the ring passes: a gap that closes there butts the ring.

    :param travel: depths between which the ring moves, m from the deck
    :raises InputError: no section was measured there
    """
    top, bottom = sorted(travel)
    passed = [s for s in sections if top <= s.depth <= bottom]
    if not passed:
        sentence = (
            f"No section of the bore was measured between {top * 1000:g} and "
            f"{bottom * 1000:g} mm from the deck, where the ring moves."
        )
        raise InputError(sentence, hint="Measure the bore in the ring's travel.")
    return min(passed, key=lambda s: (s.bore.value, s.depth))


def gap_in(gap: float, measured_in: float, bore: float) -> float:
    """Return the gap of the same ring in another bore: it opens by π for each unit of bore.

    :param gap: m, as measured
    :param measured_in: m, the bore in which the gap was measured
    :param bore: m, the other bore
    """
    return gap + pi * (bore - measured_in)


@dataclass(frozen=True, slots=True)
class GapReading:
    """A gap as measured; sizes in m.

    :param bore: the bore at the depth where the ring lay
    :param strokes: file strokes made in all before this reading
    """

    gap: Estimate
    bore: float
    strokes: int = 0


@dataclass(frozen=True, slots=True)
class RingFiling:
    """One ring in its bore; sizes in m, gaps as they are at the smallest section.

    :param target: gap wanted
    :param remaining: what is still to be filed off, below 0 where too much is gone
    :param stop_before: gap at which to put the file down and measure
    :param strokes_left: strokes that are safe before the next reading; None before any was made
    :param what_to_do: one sentence
    """

    bag: str
    bore: Estimate
    target: float
    greatest: float | None
    first: float
    now: Estimate
    remaining: float
    stop_before: float
    strokes: int
    strokes_left: int | None
    standing: Standing
    what_to_do: str


def ring_filing(
    bag: str,
    smallest: Section,
    rule: GapRule,
    readings: Sequence[GapReading],
    *,
    feeler_step: float,
) -> RingFiling:
    """Return how a ring stands: target, first gap, what remains, when to stop.

    A feeler that goes in says only that the gap is at least so wide, and less than one step wider.
    So the file is put down one step, and twice the standard uncertainty, before the target.

    :param bag: the ring's cylinder and groove, as on its bag
    :param smallest: the smallest section that the ring passes
    :param readings: first to last
    :param feeler_step: difference of neighbouring feelers, m
    :raises InputError: no reading, strokes that run backwards, a step or a gap below nothing
    """
    _check(bag, readings, feeler_step)
    bore = smallest.bore
    gaps = [gap_in(r.gap.value, r.bore, bore.value) for r in readings]
    last = readings[-1]
    # The bore moves the target by the factor, and the gap there by π.
    spread = hypot(last.gap.uncertainty, (pi - (rule.factor or 0.0)) * bore.uncertainty)
    target, greatest = rule.target(bore.value), rule.greatest(bore.value)
    stop = target - feeler_step - 2 * spread
    standing = _standing(gaps[-1], target, greatest, stop, feeler_step)
    return RingFiling(
        bag=bag,
        bore=bore,
        target=target,
        greatest=greatest,
        first=gaps[0],
        now=Estimate(gaps[-1], spread),
        remaining=target - gaps[-1],
        stop_before=stop,
        strokes=last.strokes,
        strokes_left=_strokes_left(gaps, readings, stop),
        standing=standing,
        what_to_do=_what_to_do(bag, standing, rule),
    )


def _check(bag: str, readings: Sequence[GapReading], feeler_step: float) -> None:
    if not readings:
        raise InputError(f"{bag}: no gap was measured yet.")
    if feeler_step <= 0:
        raise InputError(f"{bag}: the feelers must have a step.", hint="0.02 mm or 0.001 in.")
    if any(r.gap.value < 0 or r.bore <= 0 for r in readings):
        raise InputError(f"{bag}: a gap or a bore below nothing is not possible.")
    strokes = [r.strokes for r in readings]
    if strokes != sorted(strokes) or strokes[0] < 0:
        raise InputError(f"{bag}: the strokes must count upwards from one reading to the next.")


def _standing(
    gap: float, target: float, greatest: float | None, stop: float, step: float
) -> Standing:
    if greatest is not None and gap > greatest:
        return "too big"
    if gap < stop:
        return "too small"
    if gap < target:
        return "stop and measure"
    return "inside" if greatest is not None or gap < target + step else "over target"


def _strokes_left(gaps: Sequence[float], readings: Sequence[GapReading], stop: float) -> int | None:
    strokes = readings[-1].strokes - readings[0].strokes
    opened = gaps[-1] - gaps[0]
    if strokes <= 0 or opened <= 0:
        return None
    return max(0, floor((stop - gaps[-1]) / (opened / strokes) + 1e-9))


def _what_to_do(bag: str, standing: Standing, rule: GapRule) -> str:
    return {
        "too small": f"{bag}: file one end, inward and square, deburr, and measure again.",
        "stop and measure": f"{bag}: near the target; measure again before each further stroke.",
        "inside": f"{bag}: done; put it in its bag, it fits no other bore.",
        "over target": (
            f"{bag}: over the target of '{rule.name}', which gives no greatest gap; sources "
            "disagree on whether that harms, so ask the ring maker."
        ),
        "too big": (
            f"{bag}: do not fit it here; see whether it suits a bigger bore of this engine, "
            "or order a ring to file."
        ),
    }[standing]


def bores_it_suits(
    reading: GapReading, rule: GapRule, bores: Mapping[str, float], *, tolerance: float
) -> tuple[tuple[str, float], ...]:
    """Return the bores in which a ring that is too big here would be right, best first.

    :param bores: for a cylinder its smallest section, m
    :param tolerance: how far over the target is still right where the rule gives no most, m
    :returns: cylinder and the gap there, m; none below target, for those can still be filed
    """
    found = []
    for name, bore in bores.items():
        gap, target = gap_in(reading.gap.value, reading.bore, bore), rule.target(bore)
        most = rule.greatest(bore)
        if target <= gap <= (target + tolerance if most is None else most):
            found.append((gap - target, name, gap))
    return tuple((name, gap) for _, name, gap in sorted(found))
