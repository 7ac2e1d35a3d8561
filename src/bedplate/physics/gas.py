"""The gas in the cylinder: air, fuel vapour and products of combustion as an ideal mixture.

Heat capacities depend on temperature; composition is frozen but for the burn (no dissociation), so
the hottest part of a cycle comes out some per cent too hot and too high.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import Array, require_finite, require_not_negative, require_positive

GAS_CONSTANT = 8.314462618
"""R, J/(mol·K): CODATA 2018."""
REFERENCE_TEMPERATURE = 298.15
"""K: sensible enthalpy counts from here."""

SPECIES = ("N2", "O2", "CO2", "H2O", "CO", "H2", "fuel")
NITROGEN, OXYGEN, CARBON_DIOXIDE, WATER, CARBON_MONOXIDE, HYDROGEN, FUEL = range(7)

_MOLAR_MASS = np.array([28.16, 31.998, 44.009, 18.015, 28.010, 2.016])
"""kg/kmol; nitrogen is atmospheric, argon included (Heywood, Internal Combustion Engine
Fundamentals, table 3.1)."""
_ARGON = 0.0118
"""Of atmospheric nitrogen, mol/mol: 0.934 % of dry air; its heat capacity cₚ is 2.5 R."""
_NITROGEN_PER_OXYGEN = 3.773
"""mol/mol of dry air (Heywood, table 3.1)."""
_HEAT_OF_CARBON_MONOXIDE = 282.98e3
_HEAT_OF_HYDROGEN = 241.83e3
"""J/mol, lower, at 298.15 K: from the enthalpies of formation in the NIST-JANAF tables."""
_WATER_GAS = 3.5
"""[H2O][CO]/([CO2][H2]) of rich products (Heywood, section 4.9.2)."""

_SWITCH = 1000.0
"""K: between the low and the high range of the heat capacities."""


def _table() -> Array:
    """Return a1…a5 of cₚ/R = a1 + a2·T + … + a5·T⁴, a6 of a6/T², by species and range.

    N2 to H2: the seven-coefficient polynomials of the combustion mechanism GRI-Mech 3.0 (300–5000 K
    for N2, 200–3500 K for the others, carried on above). Fuel: iso-octane vapour; below 1000 K from
    Poling, Prausnitz & O'Connell, The Properties of Gases and Liquids, 5th ed., appendix A; above,
    c + d/T² through the values of the Thermodynamics Research Center at 1000 K and 1400 K.
    """
    low = [
        [3.298677, 1.4082404e-3, -3.963222e-6, 5.641515e-9, -2.444854e-12, 0],
        [3.78245636, -2.99673416e-3, 9.84730201e-6, -9.68129509e-9, 3.24372837e-12, 0],
        [2.35677352, 8.98459677e-3, -7.12356269e-6, 2.45919022e-9, -1.43699548e-13, 0],
        [4.19864056, -2.0364341e-3, 6.52040211e-6, -5.48797062e-9, 1.77197817e-12, 0],
        [3.57953347, -6.1035368e-4, 1.01681433e-6, 9.07005884e-10, -9.04424499e-13, 0],
        [2.34433112, 7.98052075e-3, -1.9478151e-5, 2.01572094e-8, -7.37611761e-12, 0],
        [0.384, 7.7059e-2, 6.65e-6, -5.565e-8, 2.619e-11, 0],
    ]
    high = [
        [2.92664, 1.4879768e-3, -5.68476e-7, 1.0097038e-10, -6.753351e-15, 0],
        [3.28253784, 1.48308754e-3, -7.57966669e-7, 2.09470555e-10, -2.16717794e-14, 0],
        [3.85746029, 4.41437026e-3, -2.21481404e-6, 5.23490188e-10, -4.72084164e-14, 0],
        [3.03399249, 2.17691804e-3, -1.64072518e-7, -9.7041987e-11, 1.68200992e-14, 0],
        [2.71518561, 2.06252743e-3, -9.98825771e-7, 2.30053008e-10, -2.03647716e-14, 0],
        [3.3372792, -4.94024731e-5, 4.99456778e-7, -1.79566394e-10, 2.00255376e-14, 0],
        [72.31, 0, 0, 0, 0, -17.68e6],
    ]
    table = np.stack([np.array(low), np.array(high)], axis=1)
    table[NITROGEN] *= 1 - _ARGON
    table[NITROGEN, :, 0] += 2.5 * _ARGON
    return table


def _enthalpy_terms(coefficients: Array, temperature: float | Array) -> Array:
    """Return h/R of each species but for the constant; K, shape (..., species)."""
    t = np.asarray(temperature, dtype=np.float64)[..., np.newaxis]
    a = coefficients
    powers = t * (
        a[:, 0] + t * (a[:, 1] / 2 + t * (a[:, 2] / 3 + t * (a[:, 3] / 4 + t * a[:, 4] / 5)))
    )
    return np.asarray(powers - a[:, 5] / t)


def _with_constants(table: Array) -> Array:
    """Add a7, so that sensible enthalpy is nil at 298.15 K and continuous where ranges meet."""
    low, high = table[:, 0], table[:, 1]
    at_low = -_enthalpy_terms(low, REFERENCE_TEMPERATURE)
    at_high = _enthalpy_terms(low, _SWITCH) + at_low - _enthalpy_terms(high, _SWITCH)
    return np.concatenate([table, np.stack([at_low, at_high], axis=1)[..., np.newaxis]], axis=2)


THERMAL = _with_constants(_table())
"""Heat capacities, shape (species, range, 7): a1…a6 as in cₚ/R, a7 of h/R in K."""


@dataclass(frozen=True, slots=True)
class Fuel:
    """A fuel by its mean molecule.

    :param carbon: atoms in a molecule
    :param hydrogen: atoms
    :param oxygen: atoms
    :param heating_value: lower, J/kg
    :param source: of the heating value
    """

    name: str
    carbon: float
    hydrogen: float
    oxygen: float
    heating_value: float
    source: str

    @property
    def molar_mass(self) -> float:
        """kg/mol."""
        return (12.011 * self.carbon + 1.008 * self.hydrogen + 15.999 * self.oxygen) * 1e-3

    @property
    def oxygen_needed(self) -> float:
        """O2 that burns a molecule to CO2 and water, mol/mol."""
        return self.carbon + self.hydrogen / 4 - self.oxygen / 2

    @property
    def air_fuel_ratio(self) -> float:
        """Stoichiometric, kg of dry air per kg of fuel."""
        air = _MOLAR_MASS[OXYGEN] + _NITROGEN_PER_OXYGEN * _MOLAR_MASS[NITROGEN]
        return float(self.oxygen_needed * air * 1e-3 / self.molar_mass)


_HEYWOOD = "Heywood, Internal Combustion Engine Fundamentals, table D.4; from memory"
ISO_OCTANE = Fuel("iso-octane", 8, 18, 0, 44.3e6, _HEYWOOD)
PETROL = Fuel("petrol", 8, 14.96, 0, 44.0e6, _HEYWOOD)
DIESEL = Fuel("diesel fuel", 12, 21.6, 0, 42.5e6, _HEYWOOD)
METHANOL = Fuel("methanol", 1, 4, 1, 20.0e6, _HEYWOOD)
ETHANOL = Fuel("ethanol", 2, 6, 1, 26.9e6, _HEYWOOD)
FUELS = (ISO_OCTANE, PETROL, DIESEL, METHANOL, ETHANOL)


def fuel_by_name(name: str) -> Fuel:
    """Return one of the fuels that are described here; another is refused."""
    for fuel in FUELS:
        if fuel.name == name:
            return fuel
    known = ", ".join(fuel.name for fuel in FUELS)
    raise InputError(f"No fuel is called “{name}”.", hint=f"There are: {known}.")


def heat_capacity(amounts: Array, temperature: float | Array) -> Array:
    """Return the heat capacity at constant pressure of a mixture, J/K.

    :param amounts: of the species in the order of `SPECIES`, the fuel iso-octane, mol, shape (7,)
    :param temperature: K, any shape; within 200 K to 5000 K, NaN outside
    :source: as `_table`
    """
    t = _within(temperature)[..., np.newaxis]
    a = np.where((t > _SWITCH)[..., np.newaxis], THERMAL[:, 1], THERMAL[:, 0])
    series = a[..., 0] + t * (a[..., 1] + t * (a[..., 2] + t * (a[..., 3] + t * a[..., 4])))
    return np.asarray(GAS_CONSTANT * ((series + a[..., 5] / t**2) @ amounts))


def sensible_energy(amounts: Array, temperature: float | Array) -> Array:
    """Return Σ nᵢ(hᵢ(T) − hᵢ(298.15 K) − R·T) of a mixture, J.

    Energy without heats of formation: with it, a heat of combustion at constant *pressure* and
    298.15 K is what the burn releases, whatever becomes of the number of moles.

    :param amounts: of the species in the order of `SPECIES`, the fuel iso-octane, mol, shape (7,)
    :param temperature: K, any shape; within 200 K to 5000 K, NaN outside
    :source: as `_table`
    """
    t = _within(temperature)
    low = _enthalpy_terms(THERMAL[:, 0], t) + THERMAL[:, 0, 6]
    high = _enthalpy_terms(THERMAL[:, 1], t) + THERMAL[:, 1, 6]
    enthalpy = np.where((t > _SWITCH)[..., np.newaxis], high, low)
    return np.asarray(GAS_CONSTANT * ((enthalpy - t[..., np.newaxis]) @ amounts))


def fresh_charge(fuel: Fuel, equivalence_ratio: float, air: float, *, premixed: bool) -> Array:
    """Return air with the fuel vapour in it, if it is drawn in with the air.

    :param equivalence_ratio: fuel over stoichiometric fuel; 0 to 3, refused outside
    :param air: dry, mol
    :returns: mol of each species, shape (7,)
    :source: Heywood, section 3.4
    """
    _require_burnable(fuel, equivalence_ratio)
    require_positive(air=air)
    amounts = np.zeros(len(SPECIES))
    amounts[OXYGEN] = air / (1 + _NITROGEN_PER_OXYGEN)
    amounts[NITROGEN] = air - amounts[OXYGEN]
    if premixed:
        amounts[FUEL] = equivalence_ratio * amounts[OXYGEN] / fuel.oxygen_needed
    return amounts


def products(fuel: Fuel, equivalence_ratio: float, air: float) -> Array:
    """Return what the fuel and the air become: lean to CO2 and water, rich with CO and H2 besides.

    Rich products follow the water-gas ratio frozen at 3.5.

    :param equivalence_ratio: 0 to 3, refused outside, and where there is not oxygen enough for CO
    :param air: dry, mol
    :returns: mol of each species, shape (7,)
    :source: Heywood, section 4.9.2
    """
    fresh = fresh_charge(fuel, equivalence_ratio, air, premixed=True)
    burnt = fresh.copy()
    moles, burnt[FUEL] = fresh[FUEL], 0.0
    carbon, hydrogen = fuel.carbon * moles, fuel.hydrogen * moles
    spare = fresh[OXYGEN] - fuel.oxygen_needed * moles
    if spare >= 0:
        burnt[OXYGEN], burnt[CARBON_DIOXIDE], burnt[WATER] = spare, carbon, hydrogen / 2
        return burnt
    oxygen = 2 * fresh[OXYGEN] + fuel.oxygen * moles
    if oxygen <= carbon:
        raise InputError(
            f"An equivalence ratio of {equivalence_ratio:g} leaves too little oxygen for"
            f" {fuel.name}: it would make soot."
        )
    half = _WATER_GAS * (hydrogen / 2 - oxygen + carbon) + oxygen
    square = _WATER_GAS - 1
    dioxide = (sqrt(half**2 + 4 * square * carbon * (oxygen - carbon)) - half) / (2 * square)
    burnt[OXYGEN], burnt[CARBON_DIOXIDE], burnt[CARBON_MONOXIDE] = 0.0, dioxide, carbon - dioxide
    burnt[WATER] = oxygen - carbon - dioxide
    burnt[HYDROGEN] = hydrogen / 2 - burnt[WATER]
    return burnt


def heat_of_combustion(fuel: Fuel, equivalence_ratio: float, air: float) -> float:
    """Return the heat that fuel and air release when they become `products`, J.

    :param equivalence_ratio: 0 to 3, refused outside
    :param air: dry, mol
    :source: lower heating value less that of the CO and H2 left (NIST-JANAF)
    """
    moles = fresh_charge(fuel, equivalence_ratio, air, premixed=True)[FUEL]
    burnt = products(fuel, equivalence_ratio, air)
    left = burnt[CARBON_MONOXIDE] * _HEAT_OF_CARBON_MONOXIDE + burnt[HYDROGEN] * _HEAT_OF_HYDROGEN
    return float(moles * fuel.molar_mass * fuel.heating_value - left)


def molar_masses(fuel: Fuel) -> Array:
    """Return the molar mass of each species, kg/mol, shape (7,)."""
    return np.append(_MOLAR_MASS * 1e-3, fuel.molar_mass)


def thermal_of(fuel: Fuel) -> Array:
    """Return the heat capacities with the fuel's own: iso-octane's, by mass.

    :returns: shape (7, 2, 7), as `THERMAL`
    """
    table = THERMAL.copy()
    table[FUEL] *= fuel.molar_mass / ISO_OCTANE.molar_mass
    return table


def _within(temperature: float | Array) -> Array:
    t = np.asarray(temperature, dtype=np.float64)
    return np.where((t >= 200) & (t <= 5000), t, np.nan)


def _require_burnable(fuel: Fuel, equivalence_ratio: float) -> None:
    require_finite(equivalence_ratio=equivalence_ratio)
    require_not_negative(equivalence_ratio=equivalence_ratio, carbon=fuel.carbon)
    require_positive(heating_value=fuel.heating_value, oxygen_needed=fuel.oxygen_needed)
    if equivalence_ratio > 3:
        raise InputError(
            f"An equivalence ratio of {equivalence_ratio:g} does not burn; it lies below 3.",
            hint="It is the fuel over the fuel that would just use up the air.",
        )
