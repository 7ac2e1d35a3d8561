"""Cylinder pressure against textbook cycles, gas tables and another integration of its laws."""

from __future__ import annotations

from dataclasses import replace
from math import degrees, exp, pi, radians

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from bedplate.errors import InputError
from bedplate.physics import _cycle
from bedplate.physics.cylinder import (
    Burn,
    Charge,
    CombustionChamber,
    Walls,
    closed_cycle,
    trapped_charge,
)
from bedplate.physics.gas import (
    CARBON_DIOXIDE,
    CARBON_MONOXIDE,
    DIESEL,
    ETHANOL,
    GAS_CONSTANT,
    HYDROGEN,
    ISO_OCTANE,
    METHANOL,
    OXYGEN,
    PETROL,
    WATER,
    Fuel,
    fresh_charge,
    fuel_by_name,
    heat_capacity,
    heat_of_combustion,
    products,
    sensible_energy,
    thermal_of,
)
from bedplate.physics.slider_crank import dead_centres, motion
from bedplate.physics.volumes import volume_at

RPM = 2 * pi / 60
BORE = STROKE = 0.086
SWEPT = pi / 4 * BORE**2 * STROKE


def plain_cycle(
    ratio: float, gamma: float, heat: float, burn: Burn, *, rod: float, moles: float = 0.04
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Run the kernel on one gas of constant heat capacity, adiabatic, half a turn each way."""
    thermal = np.zeros((1, 2, 7))
    thermal[:, :, 0] = gamma / (gamma - 1)
    geometry = np.array([pi / 4 * BORE**2, STROKE / 2, rod, 0, SWEPT / (ratio - 1), 0.0])
    start, end = burn.start, burn.start + burn.duration
    nodes = np.unique(
        np.concatenate(
            [np.linspace(-pi, start, 400), np.linspace(start, end, 400), np.linspace(end, pi, 400)]
        )
    )
    states = _cycle.integrate(
        nodes, 300.0, thermal, np.array([moles]), np.zeros(1), heat, geometry,
        np.array([burn.start, burn.duration, burn.completeness, burn.shape]), np.zeros(7), 100.0,
    )  # fmt: skip
    pressure = moles * GAS_CONSTANT * states[:, 0] / _cycle.volumes(nodes, geometry)
    return nodes, pressure, states


# Air standard: η = 1 − r^(1−γ), any textbook.
@pytest.mark.parametrize(
    ("ratio", "gamma", "efficiency"),
    [(8, 1.4, 0.564725), (10, 1.4, 0.601893), (12, 1.4, 0.629893), (10, 1.3, 0.498813)],
)
def test_all_heat_at_once_at_top_dead_centre_is_the_otto_cycle(ratio, gamma, efficiency):
    heat = 400.0
    _, _, states = plain_cycle(ratio, gamma, heat, Burn(-1e-6, 2e-6, 40.0, 2.0), rod=0.1435)
    assert states[-1, 2] / heat == pytest.approx(efficiency, abs=2e-6)


def test_a_heat_release_exercise():
    """r 10, γ 1.4, Q/p₁V₁ 20, a 5, n 3, 40° from −20° on.

    After Ferguson & Kirkpatrick, Internal Combustion Engines, chapter 2 (exercise from memory);
    values computed apart from this code with d(pV^γ) = (γ−1)V^(γ−1)dQ. Its volume law has no rod:
    here the rod is long.
    """
    moles = 0.04
    heat = 20 * moles * GAS_CONSTANT * 300
    burn = Burn(radians(-20), radians(40), 5.0, 2.0)
    angle, pressure, states = plain_cycle(10, 1.4, heat, burn, rod=500.0, moles=moles)
    place = int(np.argmax(pressure))
    assert pressure[place] / pressure[0] == pytest.approx(87.782, rel=1e-4)
    assert degrees(angle[place]) == pytest.approx(10.81, abs=0.1)
    assert states[-1, 2] / heat == pytest.approx(0.592016, abs=2e-5)


def test_a_cycle_with_a_real_rod():
    """86 × 86, rod 145.5, r 10.5, γ 1.35, 1500 J over 50° from −20°: p_max 83.2925 bar at 13.94°.

    Work by quadrature of d(pV^γ) = (γ−1)V^(γ−1)dQ, drawn here from the geometry.
    """
    clearance = SWEPT / 9.5
    moles = 1e5 * (SWEPT + clearance) / (GAS_CONSTANT * 300)
    burn = Burn(radians(-20), radians(50), 5.0, 2.0)
    angle, pressure, states = plain_cycle(10.5, 1.35, 1500.0, burn, rod=0.1455, moles=moles)
    place = int(np.argmax(pressure))
    fine = np.linspace(-pi, pi, 50_001)
    volume = np.array([volume_at(a, BORE, 0.043, 0.1455, clearance) for a in fine])
    x = 1 - np.exp(-5 * np.clip((fine - burn.start) / burn.duration, 0, 1) ** 3)
    gained = 0.35 * ((volume[1:] + volume[:-1]) / 2) ** 0.35 * np.diff(x) * 1500
    curve = (1e5 * volume[0] ** 1.35 + np.append(0, np.cumsum(gained))) / volume**1.35
    assert states[-1, 2] == pytest.approx(np.trapezoid(curve, volume), rel=1e-6)
    assert pressure[place] / 1e5 == pytest.approx(83.2925, rel=1e-4)
    assert degrees(angle[place]) == pytest.approx(13.94, abs=0.1)


def test_a_curve_that_is_not_cut_at_its_end_does_the_work_of_the_last_heat_too():
    """The cycle above by texts that let Wiebe's curve run on: 816.559 J; cut at 50°, 812.085 J.

    x = 1 − exp(−5·(θ/50°)³) until the end is the same curve as over 160° with a = 5·(160/50)³.
    """
    moles = 1e5 * SWEPT / 9.5 * 10.5 / (GAS_CONSTANT * 300)
    cut = Burn(radians(-20), radians(50), 5.0, 2.0)
    runs_on = replace(cut, duration=radians(160), completeness=5.0 * 3.2**3)
    work = [
        plain_cycle(10.5, 1.35, 1500.0, burn, rod=0.1455, moles=moles)[2][-1, 2]
        for burn in (cut, runs_on)
    ]
    assert work == pytest.approx([812.085, 816.559], abs=2e-3)


def air(moles: float) -> np.ndarray:
    return fresh_charge(ISO_OCTANE, 0.0, moles, premixed=True)


def test_the_books_otto_cycle_with_air_tables():
    """Çengel & Boles, Thermodynamics, Ex 9-2: r 8, 290 K, 100 kPa, 800 kJ/kg.

    Printed from air tables: 652.4 K and 1799.7 kPa, 1575.1 K and 4.345 MPa, 795.6 K, 418.17 kJ/kg,
    52.3 %. The tables and the polynomials agree to 0.1 %.
    """
    moles = 0.04
    mass = moles * (31.998 + 3.773 * 28.16) / 4.773 * 1e-3
    clearance = SWEPT / 7
    geometry = np.array([pi / 4 * BORE**2, STROKE / 2, 0.1435, 0, clearance, 0.0])
    nodes = np.concatenate([np.linspace(-pi, -1e-6, 500), np.linspace(-9e-7, 1e-6, 300)])
    nodes = np.concatenate([nodes, np.linspace(2e-6, pi, 500)])
    states = _cycle.integrate(
        nodes, 290.0, thermal_of(ISO_OCTANE), air(moles), np.zeros(7), 800e3 * mass, geometry,
        np.array([-1e-6, 2e-6, 40.0, 2.0]), np.zeros(7), 100.0,
    )  # fmt: skip
    assert states[499, 0] == pytest.approx(652.4, rel=1e-3)
    assert states[800, 0] == pytest.approx(1575.1, rel=1e-3)
    assert states[-1, 0] == pytest.approx(795.6, rel=1e-3)
    assert states[-1, 2] / mass == pytest.approx(418.17e3, rel=1e-3)
    assert states[-1, 2] / (800e3 * mass) == pytest.approx(0.523, abs=1e-3)
    assert 100 * 8 * states[499, 0] / 290 == pytest.approx(1799.7, rel=1e-3)
    assert 100 * 8 * states[800, 0] / 290 == pytest.approx(4345, rel=1e-3)


@pytest.mark.parametrize(
    ("ratio", "temperature", "megapascal"),
    # Frozen air (argon in it) from 300 K and 1 bar, computed with Cantera 3.2.0 and its gri30 data.
    [(8, 672.49, 1.79330), (10, 729.59, 2.43195), (12, 778.97, 3.11590), (18, 897.85, 5.38707)],
)
def test_isentropic_compression_of_air(ratio, temperature, megapascal):
    geometry = np.array([pi / 4 * BORE**2, STROKE / 2, 0.1435, 0, SWEPT / (ratio - 1), 0.0])
    states = _cycle.integrate(
        np.linspace(-pi, 0, 721), 300.0, thermal_of(ISO_OCTANE), air(0.04), np.zeros(7), 0.0,
        geometry, np.array([1.0, 1.0, 5.0, 2.0]), np.zeros(7), 100.0,
    )  # fmt: skip
    assert states[-1, 0] == pytest.approx(temperature, rel=2e-5)
    assert 0.1 * ratio * states[-1, 0] / 300 == pytest.approx(megapascal, rel=2e-5)


BURNT = np.array([47.1625, 0, 8, 9, 0, 0, 0]) / 64.1625


@pytest.mark.parametrize(
    ("amounts", "temperature", "capacity", "enthalpy"),
    # J/(mol·K) and J/mol above 298.15 K, computed with Cantera 3.2.0 and its gri30 data.
    [
        (air(1.0), 300, 29.06365, 53.763),
        (air(1.0), 1000, 33.09462, 21663.718),
        (air(1.0), 2500, 36.97146, 74893.182),
        (BURNT, 600, 33.03351, 9604.601),
        (BURNT, 1500, 39.37655, 42567.897),
        (BURNT, 2500, 42.14345, 83559.302),
    ],
)
def test_heat_capacities(amounts, temperature, capacity, enthalpy):
    assert heat_capacity(amounts, temperature) == pytest.approx(capacity, rel=1e-5)
    energy = enthalpy - GAS_CONSTANT * temperature
    assert sensible_energy(amounts, temperature) == pytest.approx(energy, rel=1e-4)


def test_heat_capacities_meet_where_their_ranges_do():
    for species in range(7):
        one = np.zeros(7)
        one[species] = 1.0
        assert heat_capacity(one, 999.999) == pytest.approx(heat_capacity(one, 1000.001), rel=3e-3)
        below, above = sensible_energy(one, 999.999), sensible_energy(one, 1000.001)
        assert below == pytest.approx(above, rel=1e-5)
    assert np.isnan(heat_capacity(air(1.0), 6000.0))


@pytest.mark.parametrize(
    ("fuel", "ratio"),
    # Stoichiometric air/fuel, Heywood, Internal Combustion Engine Fundamentals, table D.4.
    [(ISO_OCTANE, 15.13), (PETROL, 14.6), (DIESEL, 14.5), (METHANOL, 6.47), (ETHANOL, 9.00)],
)
def test_air_that_a_fuel_needs(fuel, ratio):
    assert fuel.air_fuel_ratio == pytest.approx(ratio, rel=2e-3)
    assert fuel_by_name(fuel.name) is fuel


@pytest.mark.parametrize("phi", [0.2, 0.8, 1.0, 1.1, 1.4])
@pytest.mark.parametrize("fuel", [ISO_OCTANE, METHANOL])
def test_burning_keeps_every_atom(fuel, phi):
    before, after = fresh_charge(fuel, phi, 1.0, premixed=True), products(fuel, phi, 1.0)
    fresh = before[-1]
    assert after[CARBON_DIOXIDE] + after[CARBON_MONOXIDE] == pytest.approx(fuel.carbon * fresh)
    assert 2 * (after[WATER] + after[HYDROGEN]) == pytest.approx(fuel.hydrogen * fresh)
    oxygen = 2 * after[OXYGEN] + 2 * after[CARBON_DIOXIDE] + after[CARBON_MONOXIDE] + after[WATER]
    assert oxygen == pytest.approx(2 * before[OXYGEN] + fuel.oxygen * fresh)
    assert (after >= 0).all()
    if phi > 1:  # Heywood, section 4.9.2: the water-gas ratio of rich products is 3.5
        ratio = after[WATER] * after[CARBON_MONOXIDE] / (after[CARBON_DIOXIDE] * after[HYDROGEN])
        assert ratio == pytest.approx(3.5)


def test_rich_mixtures_give_little_more_heat_for_their_air():
    heats = [heat_of_combustion(ISO_OCTANE, phi, 1.0) for phi in (0.5, 1.0, 1.2)]
    assert heats[1] == pytest.approx(2 * heats[0])
    # Oxygen, not fuel, is what is short.
    assert 0.9 * heats[1] < heats[2] < 1.1 * heats[1]


CHAMBER = CombustionChamber(
    bore=BORE, throw=0.043, rod=0.1435, clearance=SWEPT / 9.5, cycle=4 * pi,
    inlet_closing=radians(50), exhaust_opening=radians(50),
)  # fmt: skip
CHARGE = trapped_charge(
    CHAMBER, PETROL, manifold_pressure=1e5, manifold_temperature=310, volumetric_efficiency=0.95,
    equivalence_ratio=1.1,
)  # fmt: skip
BURN = Burn(radians(-22), radians(55), efficiency=0.96)


def test_woschnis_film():
    """B 0.1 m, 5000 kPa, 2000 K, 20 m/s: 790.04 W/(m²·K), by hand."""
    walls = np.array([1.0, 0.1, 20 / 2.28, 1000.0, 0.0, 0.0, 1.0])
    flow = _cycle._woschni(2000.0, 5e6, 1.0, 5e6, walls, 1.0)
    assert flow == pytest.approx(790.04 * 1.0 * 1000, rel=1e-5)


def test_another_integration_finds_the_same_cycle():
    speed = 5000 * RPM
    made = closed_cycle(CHAMBER, CHARGE, BURN, Walls(), speed, inlet_pressure=1e5)
    area = pi / 4 * BORE**2
    first = made.angle[0]
    total = CHARGE.pressure * made.volume[0] / (GAS_CONSTANT * CHARGE.temperature)
    one = fresh_charge(PETROL, 1.1, 1.0, premixed=True)
    moles_of_air = total * (1 - CHARGE.residual) / one.sum()
    fresh, burnt = one * moles_of_air, products(PETROL, 1.1, moles_of_air)
    rest = burnt / burnt.sum() * total * CHARGE.residual
    fuel_weight = PETROL.molar_mass / ISO_OCTANE.molar_mass
    heat = 0.96 * heat_of_combustion(PETROL, 1.1, moles_of_air)
    weight = np.array([1, 1, 1, 1, 1, 1, fuel_weight])

    def energy(amounts: np.ndarray, t: float) -> float:
        # The fuel's enthalpy goes by mass; R·T does not.
        return float(
            sensible_energy(amounts * weight, t) + GAS_CONSTANT * t * (amounts @ (weight - 1))
        )

    def contents(angle: float) -> np.ndarray:
        y = np.clip((angle - BURN.start) / BURN.duration, 0, 1)
        return fresh + rest + (1 - np.exp(-5 * y**3)) * (burnt - fresh)

    def film(p: float, t: float, w: float) -> float:
        return float(3.26 * BORE**-0.2 * (p / 1e3) ** 0.8 * t**-0.55 * w**0.8)

    def slopes(angle: float, state: np.ndarray) -> list[float]:
        t, motored = state
        volume = volume_at(angle, BORE, 0.043, 0.1435, CHAMBER.clearance)
        slope = -area * float(motion(angle, 0.043, 0.1435).velocity)
        now = contents(angle)
        p, pm = (
            n * GAS_CONSTANT * temperature / volume
            for n, temperature in ((now.sum(), t), (total, motored))
        )
        piston = 2 * 0.086 * 5000 / 60
        wall = area * 2.2 + 4 / BORE * (volume - CHAMBER.clearance)
        stiff = SWEPT * CHARGE.temperature / (CHARGE.pressure * made.volume[0])
        w = 2.28 * piston + 3.24e-3 * stiff * max(p - pm, 0)
        loss = film(p, t, w) * wall * (t - 450) / speed
        loss_motored = film(pm, motored, 2.28 * piston) * wall * (motored - 450) / speed
        d = 1e-5
        burning = (contents(angle + d) - contents(angle - d)) / (2 * d)
        share = burning[CARBON_DIOXIDE] / (burnt - fresh)[CARBON_DIOXIDE]
        capacity = (energy(now, t + 0.01) - energy(now, t - 0.01)) / 0.02
        start = fresh + rest
        capacity_motored = (energy(start, motored + 0.01) - energy(start, motored - 0.01)) / 0.02
        warming = (heat * share - energy(burning, t) - loss - p * slope) / capacity
        return [warming, (-loss_motored - pm * slope) / capacity_motored]

    for end in (radians(-10), radians(20), radians(90)):
        found = solve_ivp(
            slopes, (first, end), [CHARGE.temperature] * 2, rtol=1e-8, max_step=radians(2)
        )
        here = np.interp(end, made.angle, made.temperature)
        assert here == pytest.approx(found.y[0, -1], rel=2e-5)


@pytest.mark.parametrize("rpm", [800, 3000, 9000])
@pytest.mark.parametrize("premixed", [True, False])
def test_the_first_law_closes(rpm, premixed):
    charge = replace(CHARGE, premixed=premixed, equivalence_ratio=0.9)
    made = closed_cycle(CHAMBER, charge, BURN, Walls(), rpm * RPM, inlet_pressure=1e5)
    assert abs(made.energy_residual) < 1e-6 * made.heat_released
    assert 0 < made.heat_lost < 0.4 * made.heat_released
    fuel = made.fuel_mass * PETROL.heating_value * 0.96 * (1 - exp(-5))
    assert made.heat_released == pytest.approx(fuel)


def test_work_is_the_area_of_the_diagram():
    made = closed_cycle(CHAMBER, CHARGE, BURN, Walls(), 500.0, inlet_pressure=1e5)
    area = np.trapezoid(made.pressure, made.volume)
    assert made.closed_work == pytest.approx(area, rel=2e-4)
    slope = -pi / 4 * BORE**2 * motion(made.trace.angle, 0.043, 0.1435).velocity
    around = np.sum(made.trace.pressure * slope) * (4 * pi / made.trace.angle.size)
    assert made.net_work == pytest.approx(around, rel=2e-3)
    assert made.mean_effective_pressure == pytest.approx(made.net_work / SWEPT)


def test_what_moves_the_peak():
    def peak(charge: Charge = CHARGE, burn: Burn = BURN, walls: Walls | None = None) -> float:
        run = closed_cycle(CHAMBER, charge, burn, walls or Walls(), 500.0, inlet_pressure=1e5)
        return run.trace.peak[0]

    assert peak(replace(CHARGE, pressure=2 * CHARGE.pressure)) == pytest.approx(
        2 * peak(), rel=0.02
    )
    assert (
        peak(burn=replace(BURN, start=radians(-35)))
        > peak()
        > peak(burn=replace(BURN, start=radians(-10)))
    )
    assert peak(walls=Walls(scale=0.0)) > peak()
    assert peak(replace(CHARGE, residual=0.2)) < peak()


def test_a_motored_cycle_burns_nothing():
    made = closed_cycle(
        CHAMBER, replace(CHARGE, equivalence_ratio=0.0), BURN, Walls(scale=0.0), 300.0,
        inlet_pressure=1e5,
    )  # fmt: skip
    assert made.heat_released == 0
    assert made.trace.peak[1] == pytest.approx(0, abs=1e-6)
    # Adiabatic and the ports symmetrical: what compression took, expansion gives back.
    assert made.closed_work == pytest.approx(0, abs=1e-6)


def test_the_drawn_part_joins_the_computed_one():
    made = closed_cycle(CHAMBER, CHARGE, BURN, Walls(), 500.0, inlet_pressure=1e5)
    jumps = np.abs(np.diff(np.append(made.trace.pressure, made.trace.pressure[0])))
    assert jumps.max() < 0.06 * made.trace.pressure.max()
    exhausting = made.trace.at(radians(300))
    assert exhausting == pytest.approx(101_325)
    assert made.trace.at(radians(450)) == pytest.approx(1e5)


def test_ports_may_move_at_the_dead_centres():
    chamber = replace(CHAMBER, inlet_closing=0.0, exhaust_opening=0.0)
    made = closed_cycle(chamber, CHARGE, BURN, Walls(), 500.0, inlet_pressure=1e5)
    assert made.trace.at(pi + radians(1)) == pytest.approx(101_325, rel=1e-3)
    assert made.trace.at(3 * pi - radians(1)) == pytest.approx(1e5, rel=1e-3)
    assert made.closed_work > 0


def test_a_two_stroke_runs_a_turn():
    chamber = replace(CHAMBER, cycle=2 * pi, inlet_closing=radians(90), exhaust_opening=radians(95))
    made = closed_cycle(
        chamber, replace(CHARGE, pressure=1.2e5), BURN, Walls(), 600.0, inlet_pressure=1.2e5
    )
    assert made.trace.angle.size == 720
    assert made.trace.at(pi) == pytest.approx(101_325, rel=0.02)
    assert made.net_work > 0


def test_an_offset_pin_fires_from_its_own_dead_centre():
    chamber = replace(CHAMBER, offset=0.001)
    made = closed_cycle(
        chamber, replace(CHARGE, equivalence_ratio=0.0), BURN, Walls(scale=0), 500.0,
        inlet_pressure=1e5,
    )  # fmt: skip
    assert made.trace.peak[1] == pytest.approx(0, abs=radians(0.51))
    assert dead_centres(0.043, 0.1435, 0.001).top_angle > 0


@pytest.mark.parametrize(
    "change",
    [
        {"burn": Burn(radians(-200), radians(50))},
        {"burn": Burn(radians(-20), 0.0)},
        {"charge": replace(CHARGE, temperature=100.0)},
        {"charge": replace(CHARGE, equivalence_ratio=5.0)},
        {"charge": replace(CHARGE, equivalence_ratio=2.99)},
        {"charge": replace(CHARGE, pressure=-1.0)},
        {"chamber": replace(CHAMBER, rod=0.04)},
        {"chamber": replace(CHAMBER, clearance=0.0)},
        {"chamber": replace(CHAMBER, cycle=3 * pi)},
        {"chamber": replace(CHAMBER, inlet_closing=radians(170))},
        {"speed": 0.0},
        {"charge": replace(CHARGE, fuel=replace(PETROL, heating_value=9e8))},
    ],
)
def test_an_impossible_cycle_is_refused(change):
    given = {"chamber": CHAMBER, "charge": CHARGE, "burn": BURN, "walls": Walls(), "speed": 500.0}
    with pytest.raises(InputError) as refused:
        closed_cycle(*(given | change).values(), inlet_pressure=1e5)
    assert refused.value.sentence.endswith(".")


def test_an_unknown_fuel_is_refused():
    with pytest.raises(InputError, match="No fuel is called"):
        fuel_by_name("coal")
    assert isinstance(PETROL, Fuel)
