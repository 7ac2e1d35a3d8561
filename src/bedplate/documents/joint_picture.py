"""The joint as the person on the wrench sees it: each bolt with its number, and how it stands.

Seen onto the heads, the free end on the left; left and right of the engine are as seen from the
free end with the deck up. What a bolt's look means never rests on colour: an open ring is to do, a
filled one done, a half-filled one turned part-way, a dashed one with '?' not known, and the one
that is next has a second ring and an arrow.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from bedplate.documents import ink
from bedplate.documents.places import Columns, columns
from bedplate.engine import CapStyle, Engine, Fastener, Hole, Per, Plan

_ROW = {"inner": 62.0, "": 78.0, "outer": 112.0, "side": 150.0}
"""From the crank's axis to a row of bolts."""

_BOLT = 21.0
_LEFT = 96.0

Key = tuple[str, int]
"""Group and number of a bolt."""


@dataclass(frozen=True, slots=True)
class BoltLook:
    """How a bolt is shown.

    :param outcome: 'to do', 'done', 'part' or 'unknown'
    :param share: of an angle that is done
    """

    outcome: str = "to do"
    share: float = 0.0


def joint_picture(
    engine: Engine,
    plan: Plan,
    joint: str,
    looks: Mapping[Key, BoltLook] | None = None,
    *,
    now: Key | None = None,
    group: str = "",
) -> str:
    """Return the joint of a plan as SVG.

    :param looks: how bolts stand in the stage that is on; those not named are to do
    :param now: the bolt that is next
    :param group: the group that the stage is about; the others are drawn faint. '' for all
    """
    fasteners = [engine.fasteners[name] for name in plan.groups]
    if plan.per is Per.ENGINE:
        places, body, width, height = _block(engine, fasteners)
    else:
        places, body, width, height = _one(plan, joint, fasteners)
    known = looks or {}
    for fastener in fasteners:
        faint = bool(group) and fastener.group != group
        for hole in fastener.holes:
            x, y = places[fastener.group, hole.number]
            key = (fastener.group, hole.number)
            look = known.get(key, BoltLook())
            body += _bolt(x, y, hole, look, faint=faint, now=key == now)
    name = _spoken(plan, joint, known, now)
    return ink.drawing(width, height, body, name=name, kind="joint", links=False)


def _spoken(plan: Plan, joint: str, looks: Mapping[Key, BoltLook], now: Key | None) -> str:
    what = f"The joint '{plan.name}'" + (f" of {plan.per.value} {joint}" if joint else "")
    done = sum(look.outcome == "done" for look in looks.values())
    said = f"{what}, seen onto the heads; {done} bolts of this stage done"
    return f"{said}; next is {now[0]} {now[1]}" if now else said


_Drawn = tuple[dict[Key, tuple[float, float]], str, float, float]


def _block(engine: Engine, fasteners: list[Fastener]) -> _Drawn:
    at = columns(engine.layout, _LEFT)
    lanes = {hole.lane for fastener in fasteners for hole in fastener.holes}
    reach = max((_ROW[lane] for lane in lanes), default=_ROW[""]) + 40
    axis, width = reach + 22.0, at.last + 70.0
    height = 2 * axis + 22.0
    places: dict[Key, tuple[float, float]] = {}
    unplaced = 0
    for fastener in fasteners:
        for hole in fastener.holes:
            place = _place(at, hole, axis)
            if place is None:
                place = (at.first + 40.0 + 56.0 * unplaced, height - 26.0)
                unplaced += 1
            places[fastener.group, hole.number] = place
    body = _ground(engine, at, axis, reach)
    if unplaced:
        note = "the engine file does not say where these are"
        body += ink.text(at.first, height - 58, note, 13, "caption", "start")
    body += _edges(axis, width, height, reach, layout_front=engine.layout.front)
    return places, body, width, height


def _place(at: Columns, hole: Hole, axis: float) -> tuple[float, float] | None:
    down = {"left": 1.0, "right": -1.0}.get(hole.side, 0.0)
    y = axis + down * _ROW[hole.lane]
    if hole.at == "main" and str(hole.index) in at.mains:
        return at.mains[str(hole.index)], y
    if hole.at == "bay":
        ends = [at.mains.get(str(hole.index)), at.mains.get(str(hole.index + 1))]
        if None not in ends:
            return sum(end for end in ends if end is not None) / 2, y
    if hole.at == "free end":
        return at.first - 44.0, axis
    if hole.at == "drive end":
        return at.last + 32.0, axis
    return None


def _ground(engine: Engine, at: Columns, axis: float, reach: float) -> str:
    """Return the caps and the crank between them, thin, so that the bolts stand out."""
    xs = sorted(at.mains.values())
    first, last = xs[0], xs[-1]
    tall = 2 * min(reach - 20, 112.0)
    body = ink.line(first - 60, axis, last + 60, axis, "centre")
    if engine.caps in {CapStyle.FRAME, CapStyle.HALVES, CapStyle.TUNNEL}:
        body += ink.box((first + last) / 2, axis, last - first + 74, tall + 16, "heavy", 12)
        body += "".join(
            ink.box((a + b) / 2, axis, b - a - 62, tall - 60, "thin", 8) for a, b in pairwise(xs)
        )
    else:
        body += "".join(ink.box(x, axis, 60, tall, "outline", 5) for x in xs)
    for number, x in at.mains.items():
        body += _plate(x, axis, 52, 46)
        body += ink.text(x, axis, number, 17, "caption")
    for x in at.pins.values():
        body += _plate(x, axis, 44, 30)
    return body


def _plate(x: float, y: float, width: float, height: float) -> str:
    """Return a box that covers the centre line behind it."""
    return (
        f'<rect class="plate" x="{x - width / 2:.1f}" y="{y - height / 2:.1f}" '
        f'width="{width:g}" height="{height:g}" fill="#fff"/>'
    ) + ink.box(x, y, width, height, "thin")


def _edges(axis: float, width: float, height: float, reach: float, *, layout_front: str) -> str:
    front_left = layout_front == "free end"
    free = "free end (front)" if front_left else "free end"
    drive = "drive end" if front_left else "drive end (front)"
    return (
        ink.text(14, height - 14, free, 14, "caption", "start")
        + ink.text(width - 14, height - 14, drive, 14, "caption", "end")
        + ink.text(14, axis - reach - 4, "right side", 14, "caption", "start")
        + ink.text(14, axis + reach - 6, "left side", 14, "caption", "start")
    )


def _one(plan: Plan, joint: str, fasteners: list[Fastener]) -> _Drawn:
    """Return one rod or one main cap, large."""
    width, height, x, y = 480.0, 210.0, 240.0, 100.0
    body = ink.line(x - 190, y, x + 190, y, "centre")
    body += ink.box(x, y, 250, 96, "outline", 30) + _plate(x, y, 120, 96)
    body += ink.text(x, y, f"{plan.per.value} {joint}", 20, "caption")
    body += ink.text(x - 170, height - 24, "left", 14, "caption")
    body += ink.text(x + 170, height - 24, "right", 14, "caption")
    places: dict[Key, tuple[float, float]] = {}
    spare = 0
    for fastener in fasteners:
        for hole in fastener.holes:
            away = {"inner": 74.0, "outer": 128.0, "side": 160.0}.get(hole.lane, 96.0)
            side = {"left": -1.0, "right": 1.0}.get(hole.side, 0.0)
            if side:
                places[fastener.group, hole.number] = (x + side * away, y)
            else:
                places[fastener.group, hole.number] = (90.0 + 60.0 * spare, height - 62)
                spare += 1
    return places, body, width, height


def _bolt(x: float, y: float, hole: Hole, look: BoltLook, *, faint: bool, now: bool) -> str:
    radius = 13.0 if faint else _BOLT
    number = ink.text(x, y, str(hole.number), 12.0 if faint else 21.0, "number")
    ground = f'<circle class="plate" cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" fill="#fff"/>'
    outcome = "faint" if faint else look.outcome.replace(" ", "-")
    if faint:
        body = ground + ink.ring(x, y, radius, "thin") + number
    elif look.outcome == "done":
        body = ink.ring(x, y, radius, "solid") + number.replace(
            'fill="currentColor"', 'fill="#fff"'
        )
    elif look.outcome == "part":
        body = ground + _half(x, y, radius) + ink.ring(x, y, radius, "heavy") + number
    elif look.outcome == "unknown":
        body = ground + ink.ring(x, y, radius, "hidden") + number
        body += ink.text(x + radius + 8, y - radius, "?", 22, "number")
    else:
        body = ground + ink.ring(x, y, radius, "outline") + number
    if now:
        body += ink.ring(x, y, radius + 8, "accent") + _arrow(x, y, radius, hole)
    return f'<g class="bolt-mark {outcome}{" now" if now else ""}">{body}</g>'


def _half(x: float, y: float, radius: float) -> str:
    return ink.path(
        f"M{x - radius:.1f} {y:.1f}A{radius:g} {radius:g} 0 0 0 {x + radius:.1f} {y:.1f}Z", "hatch"
    ).replace('fill="none"', 'fill="currentColor" fill-opacity="0.3"', 1)


def _arrow(x: float, y: float, radius: float, hole: Hole) -> str:
    """Return an arrow that points at the bolt from outside the joint."""
    down = hole.side == "left" or not hole.side
    sign = 1.0 if down else -1.0
    tip, tail = y + sign * (radius + 11), y + sign * (radius + 36)
    angle = -1.5707963 if down else 1.5707963
    return ink.line(x, tail, x, tip, "heavy") + ink.arrow_head(x, tip, angle, 14, "wanted")
