"""Rings on their page."""

from __future__ import annotations

from dataclasses import dataclass

from bedplate.quantity import Units
from bedplate.shop.model import State
from bedplate.shop.rings import RingState, rings_of
from bedplate.web.views.common import length, other


@dataclass(frozen=True, slots=True)
class RingView:
    """One ring.

    :param offers: (gap, the table of common practice it comes from)
    """

    id: str
    cylinder: str
    groove: str
    bag: str
    bore: str
    target: str
    target_other: str
    rule: str
    first: str
    now: str
    remaining: str
    stop: str
    strokes: int
    strokes_left: str
    standing: str
    what_to_do: str
    missing: str
    offers: tuple[tuple[str, str], ...]
    apart: str
    suits: tuple[str, ...]
    done: bool


def ring_views(state: State) -> tuple[RingView, ...]:
    """Return every ring, ready to be printed."""
    return tuple(_view(ring, state.units) for ring in rings_of(state))


def _view(ring: RingState, units: Units) -> RingView:
    filing = ring.filing
    left = "" if filing is None or filing.strokes_left is None else str(filing.strokes_left)
    return RingView(
        id=ring.feature.id,
        cylinder=ring.cylinder,
        groove=ring.groove,
        bag=ring.bag,
        bore=length(ring.smallest.bore.value, units) if ring.smallest else "",
        target=length(ring.target, units) if ring.target is not None else "",
        target_other=length(ring.target, other(units)) if ring.target is not None else "",
        rule=_rule(ring),
        first=length(filing.first, units) if filing else "",
        now=length(filing.now.value, units) if filing else "",
        remaining=length(max(filing.remaining, 0.0), units) if filing else "",
        stop=length(filing.stop_before, units) if filing else "",
        strokes=filing.strokes if filing else 0,
        strokes_left=left,
        standing=filing.standing if filing else "",
        what_to_do=filing.what_to_do if filing else "",
        missing=ring.missing if filing is None else "",
        offers=tuple(
            (length(offer.gap, units), f"{offer.rule.name}, {offer.rule.source}")
            for offer in ring.offered
        ),
        apart=length(ring.apart, units) if ring.offered else "",
        suits=tuple(f"cylinder {label}: {length(gap, units)}" for label, gap in ring.suits),
        done=filing is not None and filing.standing == "inside",
    )


def _rule(ring: RingState) -> str:
    if ring.rule is None:
        return ""
    if ring.rule.factor is not None:
        return f"{ring.rule.factor:g} × bore, {ring.rule.source}"
    return f"{ring.rule.source}"
