"""Whether a balancing shop's card adds up, keeps its grades and names what was on the crank."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bedplate.engine.balancing import CRANK
from bedplate.physics.rotor import grade_within, permissible_residual, residual
from bedplate.quantity import Dimension, Units, show, show_both
from bedplate.record.entries import BalanceCardTaken
from bedplate.shop.balance.bob_weight import Card
from bedplate.shop.balance.ledger import crank_mass
from bedplate.shop.balance.residual import shares_of
from bedplate.shop.balance.weights import COVERAGE
from bedplate.shop.model import State

_ROUNDED = 0.5e-3
"""kg: a card's total is printed to a gram."""
_SAME_MASS, _SAME_SPEED = 0.1, 0.001
"""How far the card's figures may be from those known here before they are asked about, relative."""
_FRONT = ("front", "free", "nose", "damper", "pulley")
_REAR = ("rear", "back", "drive", "flywheel", "flange")
"""Words of a plane's name that say at which end of the crank it is."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something about a shop's card.

    :param fine: nothing stands against it
    """

    fine: bool
    sentence: str


def check_card(state: State, given: BalanceCardTaken, card: Card | None) -> tuple[Remark, ...]:
    """Return what is right and what is wrong with a shop's card.

    :param card: what the bob-weight should be
    """
    units = state.units
    return (
        *_check_sum(given, units),
        *_check_bob_weight(given, card, units),
        *_check_residual(state, given),
        *_check_parts(state, given),
    )


def _mass(value: float, units: Units) -> str:
    return show(value, Dimension.MASS, units)


def _check_sum(given: BalanceCardTaken, units: Units) -> tuple[Remark, ...]:
    if not given.lines:
        return (Remark(False, "The card gives no lines, so its sum cannot be checked."),)
    if given.bob_weight is None:
        return (Remark(False, "The card gives lines and no total."),)
    total = sum(line.value.si * line.times for line in given.lines)
    off = given.bob_weight.si - total
    lines = " + ".join(f"{line.times:g} × {line.value.text}" for line in given.lines)
    way = "unaccounted for" if off > 0 else "more than the total"
    if abs(off) > _ROUNDED * max(1.0, len(given.lines) / 4):
        return (
            Remark(
                False,
                f"The lines add up to {_mass(total, units)}, not to {given.bob_weight.text}: "
                f"{_mass(abs(off), units)} {way}.",
            ),
        )
    return (Remark(True, f"The lines add up: {lines} = {_mass(total, units)}."),)


def _check_bob_weight(
    given: BalanceCardTaken, card: Card | None, units: Units
) -> tuple[Remark, ...]:
    if given.bob_weight is None or card is None:
        return ()
    if not card.needed:
        return (Remark(False, f"The card hangs bob-weights on this crank. {card.why}"),)
    if not card.throws:
        return ()
    wanted = [throw.bob_weight for throw in card.throws]
    worst = max(
        wanted, key=lambda value: abs(value - given.bob_weight.si if given.bob_weight else 0)
    )
    unsure = COVERAGE * max(throw.standard for throw in card.throws)
    off = given.bob_weight.si - worst
    allowed = max(unsure, _ROUNDED)
    fine = abs(off) <= allowed
    told = (
        f"From the weights known here a throw's bob-weight is {_mass(worst, units)} "
        f"± {_mass(unsure, units)}; the card has {given.bob_weight.text}"
    )
    way = "heavy" if off > 0 else "light"
    return (Remark(fine, f"{told}." if fine else f"{told}: {_mass(abs(off), units)} {way}."),)


def _check_residual(state: State, given: BalanceCardTaken) -> Iterator[Remark]:
    """Yield what the residual is worth at the highest speed in service, in all and by plane."""
    if not given.residual:
        yield Remark(False, "The card gives no residual unbalance.")
        return
    units, top = state.units, state.engine.duty.speed
    mass = given.mass.si if given.mass else crank_mass(state)
    speed = top.value if top else (given.speed.si if given.speed else 0.0)
    if not mass or not speed:
        what = "the crank's mass" if not mass else "a speed"
        yield Remark(False, f"Without {what} the residual has no grade.")
        return
    total = sum(plane.amount.si for plane in given.residual)
    found = residual(total, mass, speed).grade
    finest = grade_within(found)
    within = "" if finest is None else f", within G {finest:g}"
    told = (
        "The residual, all planes taken as pointing one way, is "
        f"{found:.3g} mm/s at {show(speed, Dimension.ROTATION, units)}{within}"
    )
    asked, claimed = state.engine.balancing.grade, given.grade
    grades = [(asked, "G {:g} was asked for"), (claimed, "the card claims G {:g}")]
    said = [
        words.format(grade) + ("" if found <= grade else ", which it does not keep")
        for grade, words in grades
        if grade
    ]
    fine = all(found <= grade for grade, _ in grades if grade)
    yield Remark(fine, f"{told}; {'; '.join(said) or 'no grade was asked for'}.")
    yield from _check_figures(state, given, speed)
    wanted = asked or claimed
    if wanted:
        yield from _check_planes(state, given, wanted, mass, speed)


def _check_figures(state: State, given: BalanceCardTaken, speed: float) -> Iterator[Remark]:
    """Ask about a speed and a mass of the card that differ from what is known here."""
    if given.speed and given.speed.si < speed * (1 - _SAME_SPEED):
        runs = show(speed, Dimension.ROTATION, state.units)
        sentence = f"The card's speed is {given.speed.text}; a grade holds at the highest, {runs}."
        yield Remark(False, sentence)
    known = crank_mass(state)
    if given.mass and known and abs(given.mass.si / known - 1) > _SAME_MASS:
        weighs = show(known, Dimension.MASS, state.units, unit="kg")
        yield Remark(
            False,
            f"The card has {given.mass.text} for the crank, and here it is known to be {weighs}: "
            "what is permitted goes with it.",
        )


def _check_planes(
    state: State, given: BalanceCardTaken, grade: float, mass: float, speed: float
) -> Iterator[Remark]:
    """Hold two planes to their shares, taken as if they were the bearing planes."""
    if len(given.residual) != 2:
        return
    shares = shares_of(state.engine, permissible_residual(grade, mass, speed), state)
    if shares is None:
        return
    planes = list(given.residual)
    if _is(planes[0].plane, _REAR) or _is(planes[1].plane, _FRONT):
        planes.reverse()
    for plane, share in zip(planes, (shares.plane_a, shares.plane_b), strict=True):
        fine = plane.amount.si <= share
        most = show_both(share, Dimension.UNBALANCE, state.units)
        yield Remark(
            fine,
            f"In plane '{plane.plane}' {plane.amount.text} is left, and its "
            f"share of G {grade:g} by the bearing planes is {most}.",
        )


def _is(name: str, words: tuple[str, ...]) -> bool:
    return any(word in name.casefold() for word in words)


def _check_parts(state: State, given: BalanceCardTaken) -> Iterator[Remark]:
    said = state.engine.balancing
    absent = [part for part in said.weighted if part not in given.on_crank]
    strange = [part for part in given.on_crank if part not in said.turning]
    if absent:
        names = ", ".join(absent)
        sentence = f"Part of this crank's balance sits in the {names}, not on it when it was done."
        yield Remark(False, sentence)
    if strange:
        sentence = f"On the crank was '{', '.join(strange)}', which the engine file does not name."
        yield Remark(False, sentence)
    left = [part for part in said.turning if part not in given.on_crank and part != CRANK]
    if left:
        sentence = f"Not on the crank when it was done: {', '.join(left)}."
        yield Remark(True, sentence)
