"""Balance and torsion as plain data, SI: the same for page and terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bedplate.engine import Engine
from bedplate.errors import InputError
from bedplate.shop.balance.ledger import Ledger, ledger_of
from bedplate.shop.model import State

if TYPE_CHECKING:
    from bedplate.physics.torsion_scatter import TwistBand
    from bedplate.shop.balance.bob_weight import Card
    from bedplate.shop.balance.shaking import Shaking
    from bedplate.shop.torsion.report import Critical, Excitation, TorsionReport, Twist


def card_as_dict(card: Card, engine: Engine) -> dict[str, Any]:
    """Return the bob-weight card; masses in kg, angles of crankpins in rad."""
    from bedplate.engine.words import crankpins_of

    return {
        "needed": card.needed,
        "why": card.why,
        "factor": card.factor,
        "factor_why": card.factor_why,
        "missing": card.missing,
        "doubts": card.weights.doubts,
        "crankpins": dict(crankpins_of(engine.layout.cylinders)),
        "throws": [
            {
                "throw": throw.throw.number,
                "cylinders": throw.throw.labels,
                "rotating": throw.rotating,
                "reciprocating": throw.reciprocating,
                "bob_weight": throw.bob_weight,
                "standard_uncertainty": throw.standard,
                "pins": dict(throw.pins),
                "lines": [
                    {"name": line.name, "count": line.count, "each": line.each,
                     "share": line.share, "total": line.total, "source": line.source}
                    for line in throw.lines
                ],
            }
            for throw in card.throws
        ],
    }  # fmt: skip


def ledger_as_dict(ledger: Ledger) -> dict[str, Any]:
    """Return what turns with the crank; unbalances in kg·m."""
    return {
        "balanced": ledger.balanced,
        "sentence": ledger.sentence,
        "next": ledger.next,
        "way": ledger.way,
        "due": [part.part for part in ledger.due],
        "parts": [
            {"part": p.part, "standing": p.standing.value, "identity": p.identity,
             "residual": p.residual, "due": p.due, "to_do": p.to_do}
            for p in ledger.parts
        ],
        "left": None if ledger.allowance is None else ledger.allowance.left,
    }  # fmt: skip


def shaking_as_dict(shaking: Shaking) -> dict[str, Any]:
    """Return forces in N and couples in N·m at a speed in rad/s."""
    return {
        "speed": shaking.speed,
        "orders": [
            {"order": one.order, "force": one.force.greatest, "couple": one.couple.greatest,
             "force_without_shafts": bare.force.greatest,
             "couple_without_shafts": bare.couple.greatest}
            for one, bare in zip(shaking.orders, shaking.bare, strict=True)
        ],
        "unknown": shaking.train.unknown,
    }  # fmt: skip


def balance_as_dict(engine: Engine, state: State | None) -> dict[str, Any]:
    """Return the ledger of a build, its bob-weights, and what its engine shakes with."""
    from bedplate.shop.balance.bob_weight import bob_weight_card
    from bedplate.shop.balance.shaking import shaking_of
    from bedplate.shop.balance.weights import weights_of

    try:
        shakes: dict[str, Any] = shaking_as_dict(shaking_of(engine, state))
    except InputError as error:
        shakes = {"unknown": error.sentence}
    ledger = None if state is None else ledger_as_dict(ledger_of(state))
    card = card_as_dict(bob_weight_card(engine, weights_of(engine, state)), engine)
    return {"ledger": ledger, "bob_weights": card, "shaking": shakes}


def torsion_as_dict(report: TorsionReport) -> dict[str, Any]:
    """Return natural frequencies in rad/s, critical speeds in rad/s, twists in rad."""
    return {
        "stiffness_from": report.crank.stiffness_from,
        "measured": report.crank.measured,
        "doubts": report.crank.doubts,
        "throw_damping": {
            "value": report.crank.damping.value,
            "least": report.crank.damping.least,
            "most": report.crank.damping.most,
            "source": report.crank.damping.source,
            "assumed": report.crank.damping.assumed,
        },
        "formulas": dict(report.crank.formulas),
        "damper": report.crank.damper,
        "frequencies": [float(one) for one in report.modes.frequency],
        "low": [float(one) for one in report.band.low],
        "high": [float(one) for one in report.band.high],
        "frequencies_without_damper": [float(one) for one in report.bare_modes.frequency],
        "modes_of_the_crank": [mode + 1 for mode in report.shown],
        "modes_of_the_crank_without_damper": [mode + 1 for mode in report.bare_shown],
        "nodes": list(report.crank.names),
        "inertias": [float(one) for one in report.crank.damped.model.inertia],
        "shafts": _shafts(report),
        "shapes": [[float(one) for one in row] for row in report.modes.shape],
        "criticals": [_critical(one) for one in report.criticals],
        "gas": report.gas_note,
        "excitation": _excitation(report.excitation),
        "twist": _twist(report.twist),
        "twist_without_damper": _twist(report.bare_twist),
    }


def _shafts(report: TorsionReport) -> list[dict[str, Any]]:
    """Return what joins the inertias: stiffness in N·m/rad, damping in N·m·s/rad."""
    model, names = report.crank.damped.model, report.crank.names
    return [
        {"from": names[int(one)], "to": names[int(other)], "stiffness": float(stiffness),
         "damping": float(damping)}
        for one, other, stiffness, damping in zip(
            model.first, model.second, model.stiffness, model.damping, strict=True
        )
    ]  # fmt: skip


def _critical(one: Critical) -> dict[str, Any]:
    return {
        "mode": one.mode, "order": one.order, "speed": one.speed, "low": one.low,
        "high": one.high, "together": one.together,
    }  # fmt: skip


def _excitation(drives: Excitation | None) -> dict[str, Any] | None:
    if drives is None:
        return None
    return {
        "cylinder": drives.cylinder,
        "speed": drives.speed,
        "orders": [float(one) for one in drives.orders],
        "gas": [float(one) for one in drives.gas],
        "inertia": [float(one) for one in drives.inertia],
        "both": [float(one) for one in drives.both],
    }


def _twist_band(band: TwistBand) -> dict[str, Any]:
    return {
        "speed": [float(one) for one in band.speed],
        "low": [float(one) for one in band.low],
        "high": [float(one) for one in band.high],
        "worst": band.worst,
    }


def _twist(twist: Twist | None) -> dict[str, Any] | None:
    if twist is None:
        return None
    return {
        "speed": [float(one) for one in twist.speed],
        "all_orders": [float(one) for one in twist.all_orders],
        "worst": twist.worst,
        "orders": [float(one) for one in twist.orders],
        "by_order": [[float(one) for one in row] for row in twist.by_order],
        "band": None if twist.band is None else _twist_band(twist.band),
    }
