"""The kinds of feature an engine has: a closed set (ISO 17450-1: a measurable surface of a part).

A kind says which part carries the feature, how often an engine has one, what shape it is, and where
readings are taken when the engine file does not say.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import pi


class Per(StrEnum):
    """How often an engine has a feature of a kind, and what its number counts."""

    ENGINE = "engine"
    MAIN = "main"
    CRANKPIN = "crankpin"
    CYLINDER = "cylinder"
    BANK = "bank"


class Shape(StrEnum):
    """What a reading of the feature is a reading of."""

    HOLE = "hole"  # internal diameter
    SHAFT = "shaft"  # external diameter
    GAP = "gap"  # free space between two faces
    WALL = "wall"  # thickness of a body
    HEIGHT = "height"  # signed distance from a face


@dataclass(frozen=True, slots=True)
class FeatureKind:
    """A kind of feature.

    :param name: the trade's name; the feature's id is this with hyphens, then its number
    :param part: the part that carries it ('crank', 'block', 'rod', 'piston', ...); one that
        exists once per number gets that number ('rod 3'), see `one_part`
    :param one_part: True where one part carries all of them (the block, the crank)
    :param gauge: the kind of gauge usually used, offered in the plan
    :param axes: default directions, by name; see STATION_AXES for their angles
    :param across: default places across the width
    """

    name: str
    part: str
    one_part: bool
    per: Per
    shape: Shape
    gauge: str
    axes: tuple[str, ...] = ()
    across: tuple[str, ...] = ()
    depths: tuple[str, ...] = ()


STATION_AXES: dict[str, float] = {
    "crown": 0.0,
    "split": pi / 2,
    "thrust": 0.0,
    "crank": pi / 2,
}
"""Angle of the directions that have a name, rad.

In a bearing it is counted from the crown, which is square to the split; in a cylinder from the
thrust direction, which is square to the piston pin. Others are written as angles: '60 deg left'.
"""

FEATURE_KINDS: dict[str, FeatureKind] = {
    kind.name: kind
    for kind in (
        FeatureKind("main housing", "block", True, Per.MAIN, Shape.HOLE, "bore gauge",
                    ("crown", "60 deg left", "60 deg right"), ("front edge", "rear edge")),
        FeatureKind("main bearing bore", "block", True, Per.MAIN, Shape.HOLE, "bore gauge",
                    ("crown", "60 deg left", "60 deg right"), ("front edge", "rear edge")),
        FeatureKind("main journal", "crank", True, Per.MAIN, Shape.SHAFT, "outside micrometer",
                    ("0 deg", "90 deg"), ("front end", "rear end")),
        FeatureKind("main upper shell", "main upper shell", False, Per.MAIN, Shape.WALL,
                    "ball micrometer", ("crown",)),
        FeatureKind("main lower shell", "main lower shell", False, Per.MAIN, Shape.WALL,
                    "ball micrometer", ("crown",)),
        FeatureKind("crankpin", "crank", True, Per.CRANKPIN, Shape.SHAFT, "outside micrometer",
                    ("0 deg", "90 deg"), ("front end", "rear end")),
        FeatureKind("rod housing", "rod", False, Per.CYLINDER, Shape.HOLE, "bore gauge",
                    ("crown", "60 deg left", "60 deg right"), ("front edge", "rear edge")),
        FeatureKind("rod bearing bore", "rod", False, Per.CYLINDER, Shape.HOLE, "bore gauge",
                    ("crown", "60 deg left", "60 deg right"), ("front edge", "rear edge")),
        FeatureKind("rod upper shell", "rod upper shell", False, Per.CYLINDER, Shape.WALL,
                    "ball micrometer", ("crown",)),
        FeatureKind("rod lower shell", "rod lower shell", False, Per.CYLINDER, Shape.WALL,
                    "ball micrometer", ("crown",)),
        FeatureKind("crankpin width", "crank", True, Per.CRANKPIN, Shape.GAP, "inside micrometer"),
        FeatureKind("rod width", "rod", False, Per.CYLINDER, Shape.WALL, "outside micrometer"),
        FeatureKind("rod side clearance", "crank", True, Per.CRANKPIN, Shape.GAP, "feeler gauge"),
        FeatureKind("end float", "crank", True, Per.ENGINE, Shape.GAP, "dial indicator",
                    ("0 deg", "90 deg", "180 deg", "270 deg")),
        FeatureKind("cylinder bore", "block", True, Per.CYLINDER, Shape.HOLE, "bore gauge",
                    ("thrust", "crank")),
        FeatureKind("piston", "piston", False, Per.CYLINDER, Shape.SHAFT, "outside micrometer"),
        FeatureKind("top ring gap", "top ring", False, Per.CYLINDER, Shape.GAP, "feeler gauge"),
        FeatureKind("second ring gap", "second ring", False, Per.CYLINDER, Shape.GAP,
                    "feeler gauge"),
        FeatureKind("oil rail gap", "oil ring", False, Per.CYLINDER, Shape.GAP, "feeler gauge",
                    across=("upper rail", "lower rail")),
        FeatureKind("top ring groove", "piston", False, Per.CYLINDER, Shape.GAP, "feeler gauge"),
        FeatureKind("second ring groove", "piston", False, Per.CYLINDER, Shape.GAP, "feeler gauge"),
        FeatureKind("top ring width", "top ring", False, Per.CYLINDER, Shape.WALL,
                    "outside micrometer"),
        FeatureKind("second ring width", "second ring", False, Per.CYLINDER, Shape.WALL,
                    "outside micrometer"),
        FeatureKind("top ring side clearance", "piston", False, Per.CYLINDER, Shape.GAP,
                    "feeler gauge"),
        FeatureKind("second ring side clearance", "piston", False, Per.CYLINDER, Shape.GAP,
                    "feeler gauge"),
        FeatureKind("piston pin", "piston pin", False, Per.CYLINDER, Shape.SHAFT,
                    "outside micrometer", across=("left boss", "middle", "right boss")),
        FeatureKind("piston pin hole", "piston", False, Per.CYLINDER, Shape.HOLE, "bore gauge",
                    across=("left boss", "right boss")),
        FeatureKind("small end", "rod", False, Per.CYLINDER, Shape.HOLE, "bore gauge",
                    across=("front end", "rear end")),
        FeatureKind("deck height", "block", True, Per.BANK, Shape.HEIGHT, "height gauge",
                    across=("front inner", "front outer", "rear inner", "rear outer")),
        FeatureKind("deck clearance", "block", True, Per.CYLINDER, Shape.HEIGHT, "depth gauge",
                    across=("pin line front", "pin line rear")),
        FeatureKind("liner protrusion", "block", True, Per.CYLINDER, Shape.HEIGHT,
                    "depth gauge", ("0 deg", "90 deg", "180 deg", "270 deg")),
        FeatureKind("crank snout", "crank", True, Per.ENGINE, Shape.SHAFT, "outside micrometer",
                    ("0 deg", "90 deg"), ("front end", "rear end")),
        FeatureKind("damper hub", "damper", True, Per.ENGINE, Shape.HOLE, "bore gauge",
                    ("0 deg", "90 deg"), ("front end", "rear end")),
    )
}
"""Every kind by name. A feature outside this set is declared in the file and has its own limits."""

RESTS_ON: dict[str, tuple[str, ...]] = {
    "main bearing bore": ("main housing", "main upper shell", "main lower shell"),
    "rod bearing bore": ("rod housing", "rod upper shell", "rod lower shell"),
    "rod side clearance": ("crankpin width", "rod width"),
    "top ring gap": ("cylinder bore",),
    "second ring gap": ("cylinder bore",),
    "oil rail gap": ("cylinder bore",),
    "top ring side clearance": ("top ring groove", "top ring width"),
    "second ring side clearance": ("second ring groove", "second ring width"),
    "deck height": ("main housing",),
    "deck clearance": ("deck height", "main housing", "rod housing"),
    "liner protrusion": ("deck height",),
}
"""Which feature rests on which others, directly: rework one, and a reading of the other is stale.

Resizing a big end moves its centre and line boring moves the crank, so both reach the deck
clearance (common practice, no source).
"""
