"""What an unbalance means and how a rotor is corrected, as plain data in SI."""

from __future__ import annotations

from typing import Any

from bedplate.shop.balance.correction import Correction, Metal, Share, cut_of
from bedplate.shop.balance.residual import Meaning


def meaning_as_dict(found: Meaning) -> dict[str, Any]:
    """Return unbalances in kg·m, eccentricity in m, force in N, grades in mm/s."""
    of = found.found
    shares = found.planes
    return {
        "unbalance": found.given,
        "unbalance_per_plane": None if found.given is None else found.given / 2,
        "given_per_plane": found.per_plane,
        "mass": found.mass,
        "speed": found.speed,
        "eccentricity": of and of.eccentricity,
        "force": of and of.force,
        "reached": of and of.grade,
        "grade": found.grade,
        "asked": found.asked,
        "permitted": found.permissible,
        "permitted_per_plane": None
        if found.permissible is None
        else [shares.plane_a, shares.plane_b] if shares else [found.permissible / 2] * 2,
    }  # fmt: skip


def correction_as_dict(one: Correction, metal: Metal | None = None) -> dict[str, Any]:
    """Return masses in kg, angles in rad, lengths in m."""
    return {
        "plane": one.plane,
        "mass": one.amount,
        "angle": one.angle,
        "at_any_angle": one.free,
        "lacking": one.lacking,
        "mass_radius": metal and metal.trial_radius,
        "shares": [_share(share, metal) for share in one.shares],
    }


def _share(share: Share, metal: Metal | None) -> dict[str, Any]:
    cut = None if metal is None else cut_of(share, metal)
    hole = None if cut is None else cut.hole
    return {
        "mass": share.mass,
        "add_at": share.angle if share.carries else None,
        "take_away_at": share.opposite if share.drilled else None,
        "hole": hole
        and {"depth": hole.depth, "bottom": hole.bottom, "mass": hole.mass, "centre": hole.centre},
        "slug_length": cut and cut.slug,
        "lacking": cut.lacking if cut else "",
    }
