"""The torque wrench: what a class may be off by, and what an adapter makes of its setting."""

from __future__ import annotations

from math import cos

from bedplate.errors import InputError
from bedplate.physics.checks import require_finite, require_positive

_SMALL = 10.0
"""N·m: up to here a wrench may be off by 6 %."""
_WIDE = frozenset({("I", "A"), ("I", "D"), ("II", "D"), ("II", "E"), ("II", "F"), ("II", "G")})
_CLASSES = {"I": "ABCDE", "II": "ABCDEFG"}


def adapter_setting(torque: float, length: float, extension: float, angle: float = 0.0) -> float:
    """Return what to set on the wrench so that the bolt gets a torque, N·m.

    T·L/(L + E·cos θ): the adapter lengthens the lever of a wrench that feels torque at its own
    square. Square to the wrench (90°) it changes nothing; folded back it asks for more.

    :param torque: T wanted on the bolt, N·m
    :param length: L, from the middle of the grip to the wrench's square, m
    :param extension: E, from the square to the middle of the bolt, m; 0 without an adapter
    :param angle: θ between adapter and wrench, rad; 0 is in line, outward
    :source: lever about the bolt; tool makers' manuals print the same for 0 and 90°
    """
    return torque * length / _lever(length, extension, angle)


def adapter_torque(setting: float, length: float, extension: float, angle: float = 0.0) -> float:
    """Return the torque that a bolt gets from a wrench with an adapter, N·m.

    :param setting: on the wrench, N·m
    :param length: L, m
    :param extension: E, m
    :param angle: θ, rad; 0 is in line, outward
    :source: inverse of `adapter_setting`
    """
    return setting * _lever(length, extension, angle) / length


def permissible_deviation(torque: float, kind: str = "II", letter: str = "A") -> float:
    """Return how far a wrench of a class may be off, as a share of the torque.

    4 % above 10 N·m, 6 % up to it; 6 % throughout for bending-beam wrenches (type I class A,
    type II class G) and screwdrivers (I D, II D, E, F). It holds from a fifth of the greatest
    torque, or the least one marked, upwards.

    :param torque: the greatest torque of the tool, N·m; above 0
    :param kind: 'I' indicating, 'II' setting
    :param letter: class of the kind
    :source: ISO 6789:2003, 5.1.5, kept by ISO 6789-1:2017; class II A read in a tool maker's
        manual, the other classes from memory
    """
    require_positive(torque=torque)
    if letter not in set(_CLASSES.get(kind, "")):
        raise InputError(
            f"ISO 6789 has no type {kind} class {letter}.",
            hint="Right would be type I, A to E, or type II, A to G.",
        )
    return 0.06 if torque <= _SMALL or (kind, letter) in _WIDE else 0.04


def _lever(length: float, extension: float, angle: float) -> float:
    require_positive(wrench_length=length)
    require_finite(extension=extension, angle=angle)
    lever = length + extension * cos(angle)
    if extension < 0 or lever <= 0:
        raise InputError(
            f"An adapter of {extension * 1e3:g} mm on a wrench of {length * 1e3:g} mm"
            " leaves no lever."
        )
    return lever
