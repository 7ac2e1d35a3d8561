"""The calculators beside a build's balance: what an unbalance means, how a rotor is corrected."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bedplate.errors import InputError
from bedplate.quantity import Dimension
from bedplate.shop.balance.bob_weight import bob_weight_card
from bedplate.shop.balance.correction import (
    correction_lines,
    metal_words,
    read_metal,
    two_plane_correction,
)
from bedplate.shop.balance.residual import (
    bearing_planes,
    meaning_of,
    read_grade,
    read_rotor,
    read_unbalance,
    residual_rows,
    swap_rows,
)
from bedplate.shop.balance.weights import weights_of
from bedplate.shop.model import State

_RUNS = ("a0", "b0", "m1", "a1", "b1", "m2", "a2", "b2")
_METAL = ("drill", "radius", "density", "trial_radius", "slug_radius")
ASKED = (
    "unbalance", "per_plane", "mass", "speed", "grade", "part", "heavier", *_RUNS, "at", "drill_at",
    *_METAL,
)  # fmt: skip
"""What the calculators of the page are asked, by name."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What the calculators of the page say."""

    error: str = ""
    rows: tuple[tuple[str, str], ...] = ()
    correction_error: str = ""
    correction: tuple[str, ...] = ()


def answer_of(state: State, ask: Mapping[str, str]) -> Answer:
    """Return what the calculators say to what was typed; errors as sentences."""
    error, wrong = "", ""
    rows: tuple[tuple[str, str], ...] = ()
    lines: tuple[str, ...] = ()
    try:
        rows = (*_meaning(state, ask), *_swap(state, ask))
    except InputError as refused:
        error = f"{refused.sentence} {refused.hint}".strip()
    try:
        lines = _correction(state, ask)
    except InputError as refused:
        wrong = f"{refused.sentence} {refused.hint}".strip()
    return Answer(error, rows, wrong, lines)


def _meaning(state: State, ask: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    if not (ask["mass"] and ask["speed"] and (ask["unbalance"] or ask["grade"])):
        return ()
    given, each = None, False
    if ask["unbalance"]:
        given, each = read_unbalance(ask["unbalance"], per_plane=bool(ask["per_plane"]))
    centre = state.engine.balancing.figure("balance.centre")
    found = meaning_of(
        given,
        read_rotor(ask["mass"], Dimension.MASS, "mass"),
        read_rotor(ask["speed"], Dimension.ROTATION, "speed"),
        per_plane=each,
        grade=read_grade(ask["grade"]),
        planes=bearing_planes(state.engine, state),
        centre=centre.value if centre else None,
    )
    return residual_rows(found, state.units)


def _swap(state: State, ask: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    if not ask["heavier"]:
        return ()
    card = bob_weight_card(state.engine, weights_of(state.engine, state))
    return swap_rows(state.engine, card, ask["part"], ask["heavier"], state.units)


def _correction(state: State, ask: Mapping[str, str]) -> tuple[str, ...]:
    if not any(ask[name] for name in _RUNS):
        return ()
    found = two_plane_correction(
        (ask["a0"], ask["b0"]),
        ((ask["a1"], ask["b1"]), (ask["a2"], ask["b2"])),
        (ask["m1"], ask["m2"]),
        _angles(ask["at"]),
        _angles(ask["drill_at"]),
    )
    metal = read_metal(*(ask[name] for name in _METAL))
    lines = [line for one in found for line in correction_lines(one, state.units, metal)]
    return (*lines, *([metal_words(metal, state.units)] if metal else ()))


def _angles(text: str) -> list[str]:
    """Return angles as typed: with spaces, or a comma and a space, between them."""
    words = text.replace("°", " ").replace("deg", " ").replace(";", " ").replace(", ", " ").split()
    unclear = next((word for word in words if "," in word), "")
    if unclear:
        raise InputError(
            f"'{unclear[:40]}' can be read as one angle and as two.",
            hint="Write 22.5 with a point, and a space between two angles.",
        )
    return words
