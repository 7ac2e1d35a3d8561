"""How a bolt's steel goes on carrying once it yields."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from bedplate.errors import InputError
from bedplate.physics.checks import require_positive

OFFSET = 0.002
"""Plastic strain at R_p0.2."""


@dataclass(frozen=True, slots=True)
class Hardening:
    """How a bolt's steel goes on carrying once it yields.

    :param yield_strength: R_p0.2, Pa
    :param tensile_strength: R_m, Pa; above R_p0.2
    :param uniform_strain: plastic strain at R_m, before necking; above 0.002. From a tensile test
        (A_gt less the elastic part); a few per cent, less than the elongation after fracture
    """

    yield_strength: float
    tensile_strength: float
    uniform_strain: float

    def __post_init__(self) -> None:
        """Refuse a curve that does not harden."""
        require_positive(yield_strength=self.yield_strength, tensile_strength=self.tensile_strength)
        if self.tensile_strength <= self.yield_strength:
            raise InputError("The tensile strength must lie above the yield strength.")
        if not OFFSET < self.uniform_strain < 1:
            raise InputError(
                f"A uniform strain of {self.uniform_strain:g} is none.",
                hint="A few hundredths are usual; it lies above 0.002.",
            )

    @property
    def exponent(self) -> float:
        """Shape parameter n = ln(ε_u/0.002)/ln(R_m/R_p0.2) (MIL-HDBK-5H, 9.3.2)."""
        return log(self.uniform_strain / OFFSET) / log(self.tensile_strength / self.yield_strength)

    def plastic_strain(self, stress: float) -> float:
        """Return the lasting strain under a stress.

        :param stress: equivalent, Pa; 0 to R_m
        """
        return float(OFFSET * (stress / self.yield_strength) ** self.exponent)
