"""What a bolt's marking promises: strength by property class and diameter.

The figures are the least that the standard asks of a bolt at room temperature. They are no
torque and no permission to tighten: that is the engine maker's.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from bedplate.errors import InputError
from bedplate.physics.checks import require_positive

_Rows = tuple[tuple[float, float, float, float, float | None], ...]

_KSI = 6.894757293168e6
_MM, _INCH = 1e-3, 0.0254


@dataclass(frozen=True, slots=True)
class Strength:
    """The least that a class asks of a bolt.

    :param name: class as marked on the head, such as '10.9' or 'grade 8'
    :param tensile_strength: R_m,min, Pa
    :param yield_strength: R_p0.2,min (R_eL or R_pf of the low classes), Pa
    :param proof_stress: S_p, without lasting set, Pa
    :param elongation: after fracture of a machined test piece, as a share; None: not asked
    """

    name: str
    tensile_strength: float
    yield_strength: float
    proof_stress: float
    elongation: float | None

    def proof_load(self, stress_area: float) -> float:
        """Return the load that leaves no lasting set, N.

        :param stress_area: m²; the standards' own tables round it to three digits first
        """
        return self.proof_stress * stress_area

    def ultimate_load(self, stress_area: float) -> float:
        """Return the least breaking load in plain tension, N.

        :param stress_area: m²
        """
        return self.tensile_strength * stress_area


# Name: up to which diameter in m, R_m, R_p0.2, S_p in MPa, elongation.
_ISO_898_1: dict[str, _Rows] = {
    "4.6": ((inf, 400, 240, 225, 0.22),),
    "4.8": ((inf, 420, 340, 310, None),),
    "5.6": ((inf, 500, 300, 280, 0.20),),
    "5.8": ((inf, 520, 420, 380, None),),
    "6.8": ((inf, 600, 480, 440, None),),
    "8.8": ((16 * _MM, 800, 640, 580, 0.12), (inf, 830, 660, 600, 0.12)),
    "9.8": ((16 * _MM, 900, 720, 650, 0.10),),
    "10.9": ((inf, 1040, 940, 830, 0.09),),
    "12.9": ((inf, 1220, 1100, 970, 0.08),),
}
# The same in ksi, of bolts up to so many inches.
_SAE_J429: dict[str, _Rows] = {
    "2": ((0.75, 74, 57, 55, 0.18), (1.5, 60, 36, 33, 0.18)),
    "5": ((1.0, 120, 92, 85, 0.14), (1.5, 105, 81, 74, 0.14)),
    "8": ((1.5, 150, 130, 120, 0.12),),
}
_LEAST, _GREATEST = 1.6 * _MM, 39 * _MM
_LEAST_INCH = 0.25


def property_class(name: str, diameter: float) -> Strength:
    """Return the strength of a metric bolt of a property class.

    :param name: '4.6', '4.8', '5.6', '5.8', '6.8', '8.8', '9.8', '10.9' or '12.9'
    :param diameter: of the thread, m; 1.6 to 39 mm, 9.8 to 16 mm, else refused
    :source: ISO 898-1:2013, table 3; 8.8 above 16 mm is the stronger one
    """
    rows = _row(_ISO_898_1, name, "property class", "ISO 898-1")
    require_positive(thread_diameter=diameter)
    for most, tensile, at_yield, proof, elongation in rows:
        if _LEAST <= diameter <= min(most, _GREATEST) * (1 + 1e-9):
            return Strength(name, tensile * 1e6, at_yield * 1e6, proof * 1e6, elongation)
    raise InputError(
        f"ISO 898-1 gives class {name} no strength at a thread of {diameter / _MM:g} mm.",
        hint=f"It reaches from 1.6 to {min(rows[-1][0], _GREATEST) / _MM:g} mm.",
    )


def grade(name: str, diameter: float) -> Strength:
    """Return the strength of an inch bolt of a grade.

    :param name: '2', '5' or '8'
    :param diameter: of the thread, m; ¼ to 1½ in, else refused
    :source: SAE J429; Shigley, Mechanical Engineering Design, table 8-9
    """
    rows = _row(_SAE_J429, name, "grade", "SAE J429")
    require_positive(thread_diameter=diameter)
    for most, tensile, at_yield, proof, elongation in rows:
        if _LEAST_INCH * (1 - 1e-9) <= diameter / _INCH <= most * (1 + 1e-9):
            return Strength(
                f"grade {name}", tensile * _KSI, at_yield * _KSI, proof * _KSI, elongation
            )
    raise InputError(
        f"SAE J429 gives grade {name} no strength at a thread of {diameter / _INCH:g} in.",
        hint="It reaches from 1/4 to 1 1/2 in.",
    )


def _row(table: dict[str, _Rows], name: str, what: str, source: str) -> _Rows:
    rows = table.get(name.strip())
    if rows is None:
        raise InputError(
            f"“{name}” is no {what} of {source}.", hint=f"Right would be {', '.join(table)}."
        )
    return rows
