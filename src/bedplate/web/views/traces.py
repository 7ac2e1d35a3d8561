"""Measured cylinder pressure on the page: what the build holds, and what was read of a new one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from bedplate.documents.trace_picture import pressure_over_angle
from bedplate.engine.traces import MeasuredTrace
from bedplate.errors import InputError
from bedplate.physics.trace import PressureTrace
from bedplate.quantity import Dimension, Units, parse
from bedplate.shop.duty.gas import trace_name
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.look import TraceLook, look_at, look_words

TYPED = ("speed", "cylinder", "firing", "pegged_to", "source")
"""What is typed of a trace beside its points."""


@dataclass(frozen=True, slots=True)
class TraceLine:
    """One trace that the check uses.

    :param number: of its entry, 0 where the engine file holds it
    :param wrong: why it cannot be used, '' where it can
    """

    number: int
    name: str
    says: str
    source: str
    picture: Markup
    wrong: str


@dataclass(frozen=True, slots=True)
class TraceOffer:
    """What was read of a trace that is not taken yet."""

    name: str
    says: str
    picture: Markup
    doubts: tuple[str, ...]
    points: str
    typed: Mapping[str, str]
    replaces: str


def trace_lines(given: Given) -> tuple[TraceLine, ...]:
    """Return every trace that the check uses, by speed."""
    ordered = sorted(given.traces, key=lambda one: (one.speed or 0.0, one.cylinder))
    return tuple(_line(given, one) for one in ordered)


def trace_offer(given: Given, look: TraceLook, points: str, typed: Mapping[str, str]) -> TraceOffer:
    """Return what was read of a trace, to be looked at.

    :param points: its text
    :param typed: what was typed of it
    """
    speed, cylinder = typed["speed"].strip(), typed["cylinder"].strip()
    name = f"{speed}, {f'cylinder {cylinder}' if cylinder else 'all cylinders'}"
    units = given.engine.units
    same = [one for one in given.traces if _alike(one, typed)]
    return TraceOffer(
        name=name,
        says=look_words(look, units),
        picture=_drawn(look.trace, name, units),
        doubts=look.doubts,
        points=points,
        typed=typed,
        replaces=f"It replaces {same[-1].source}." if same else "",
    )


def _alike(one: MeasuredTrace, typed: Mapping[str, str]) -> bool:
    speed = parse(typed["speed"], Dimension.ROTATION).value
    same = one.speed is not None and abs(one.speed - speed) < 1e-6 * speed
    return same and one.cylinder == typed["cylinder"].strip()


def _line(given: Given, one: MeasuredTrace) -> TraceLine:
    name, units = trace_name(one), given.engine.units
    try:
        look = look_at(given, one)
    except InputError as error:
        return TraceLine(one.number, name, "", one.source, Markup(), error.sentence)
    drawn = _drawn(look.trace, name, units)
    return TraceLine(one.number, name, look_words(look, units), one.source, drawn, "")


def _drawn(trace: PressureTrace, name: str, units: Units) -> Markup:
    return Markup(pressure_over_angle(trace, name, units))  # noqa: S704 - our own drawing
