"""The clamp calculator as a page shows it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlencode

from markupsafe import Markup

from bedplate.documents.clamp_picture import clamp_picture
from bedplate.engine import Doing, Fastener, Plan, Stage
from bedplate.quantity import Dimension, Units, show
from bedplate.shop.clamping.answer import Answer, Way, answer
from bedplate.shop.clamping.question import read_question


@dataclass(frozen=True, slots=True)
class WayView:
    """One way of tightening, ready to be printed."""

    name: str
    asks: str
    clamp: str
    plus_minus: str
    yielding: str
    parts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ClampView:
    """The answer, ready to be printed."""

    verdict: str
    ends: str
    ways: tuple[WayView, ...]
    picture: Markup
    facts: tuple[tuple[str, str], ...]
    assumed: tuple[str, ...]
    doubt: str


def clamp_view(asked: Mapping[str, str]) -> ClampView:
    """Return the answer to what was typed, by the names of the form's fields.

    :raises BedplateError: it cannot be read, or fits no bolt
    """
    found = answer(read_question(asked))
    return ClampView(
        verdict=found.verdict,
        ends=found.ends,
        ways=tuple(way_view(way) for way in found.ways),
        picture=Markup(clamp_picture(found)),  # noqa: S704 - our own drawing
        facts=clamp_facts(found),
        assumed=found.assumed,
        doubt=found.doubt,
    )


def clamp_facts(found: Answer) -> tuple[tuple[str, str], ...]:
    """Return what is known of the bolt itself."""
    rows = [("K of T = K·F·d", f"{found.nut_factor:.3f}")]
    if found.proof is not None:
        rows.append(("Clamp that leaves no lasting set", kilonewtons(found.proof)))
    if found.ninety is not None:
        rows.append(("Clamp at 90 % of yield, with torsion", kilonewtons(found.ninety)))
    return tuple(rows)


def kilonewtons(force: float) -> str:
    """Return a force in kN and lbf."""
    lbf = show(round(force / 4.4482216152605, -1) * 4.4482216152605, Dimension.FORCE, Units.INCH)
    return f"{force / 1e3:.1f} kN = {lbf}"


def way_view(way: Way) -> WayView:
    """Return one way, ready to be printed."""
    yielding = ""
    if way.yielding is not None:
        yielding = f"{way.yielding * 100:.0f} % of bolts end past their yield"
    parts = tuple((name, f"{share * 100:.0f} %") for name, share in way.parts if share >= 0.005)
    return WayView(
        name=way.name,
        asks=way.asks,
        clamp=f"{way.low / 1e3:.1f} … {way.middle / 1e3:.1f} … {way.high / 1e3:.1f} kN",
        plus_minus=f"±{way.plus_minus * 100:.0f} %",
        yielding=yielding,
        parts=parts,
    )


def clamp_link(fastener: Fastener, plan: Plan) -> str:
    """Return the calculator's address with what a plan asks of a group, '' where it asks nothing.

    Quantities are passed on as the engine file has them.
    """
    torque = next((s.value for s in reversed(plan.stages) if _is(s, fastener, Doing.TORQUE)), None)
    if torque is None or not fastener.thread:
        return ""
    angles = [s.value.text for s in plan.stages if _is(s, fastener, Doing.ANGLE) and s.value]
    tightening = f"{torque.text} + {angles[0]}" if len(angles) == 1 else torque.text
    fields = {
        "thread": fastener.thread,
        "tightening": tightening if fastener.grip else torque.text,
        "class": fastener.property_class,
        "lubricant": fastener.lubricant,
        **{
            name: quantity.text
            for name in ("grip", "free_thread", "head", "hole")
            if (quantity := getattr(fastener, name)) is not None
        },
    }
    return f"/clamp?{urlencode({name: text for name, text in fields.items() if text})}"


def _is(stage: Stage, fastener: Fastener, doing: Doing) -> bool:
    return stage.group == fastener.group and stage.doing is doing and stage.value is not None
