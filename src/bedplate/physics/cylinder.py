"""Pressure in the cylinder, computed: a single-zone closed cycle, made to load the crank train.

One gas at one temperature; heat comes by Wiebe's curve and goes by Woschni's. It is no predictor of
power, knock or emissions. Between exhaust opening and inlet closing the pressure is not computed
but drawn: it falls to the exhaust pressure, follows it, changes to the inlet pressure about top
dead centre, and rises to the trapped one. Angles count from top dead centre of firing.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, pi

import numpy as np

from bedplate.errors import InputError
from bedplate.physics.checks import (
    Array,
    require_finite,
    require_not_negative,
    require_positive,
)
from bedplate.physics.gas import (
    FUEL,
    GAS_CONSTANT,
    Fuel,
    fresh_charge,
    heat_of_combustion,
    molar_masses,
    products,
    thermal_of,
)
from bedplate.physics.slider_crank import dead_centres, mean_piston_speed
from bedplate.physics.trace import SAMPLES_PER_TURN, PressureTrace, even_angles
from bedplate.physics.volumes import volume_at

_OVERLAP = pi / 9
"""20°: over which the drawn pressure changes from exhaust to inlet about top dead centre."""
_FEWEST_BURN_STEPS = 60


@dataclass(frozen=True, slots=True)
class CombustionChamber:
    """One cylinder and when its ports open and close.

    :param bore: m
    :param throw: m
    :param rod: between centres, m
    :param clearance: volume at top dead centre, m³
    :param cycle: 4π (four-stroke) or 2π (two-stroke), rad
    :param inlet_closing: after bottom dead centre, rad; in a two-stroke the last port to close
    :param exhaust_opening: before bottom dead centre, rad
    :param offset: of the pin's line from the crank axis, m
    """

    bore: float
    throw: float
    rod: float
    clearance: float
    cycle: float
    inlet_closing: float
    exhaust_opening: float
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Charge:
    """What is trapped when the inlet closes.

    :param pressure: Pa
    :param temperature: K
    :param equivalence_ratio: fuel over stoichiometric fuel; 0 is motored
    :param residual: burnt gas left from the cycle before, mol/mol
    :param premixed: True where the fuel is drawn in as vapour (spark ignition), False where it
        comes in as it burns (compression ignition); its own latent and sensible heat are left out
    """

    pressure: float
    temperature: float
    fuel: Fuel
    equivalence_ratio: float
    residual: float = 0.0
    premixed: bool = True


@dataclass(frozen=True, slots=True)
class Burn:
    """Heat release by Wiebe: x = 1 − exp(−a·yᵐ⁺¹), y = (θ − start)/duration.

    :param start: after top dead centre, rad; below zero is before it
    :param duration: rad
    :param completeness: a; 5 leaves 0.7 % unburnt at the end, 6.908 leaves 0.1 %
    :param shape: m; 2 suits spark ignition (Heywood, Internal Combustion Engine Fundamentals,
        section 9.2.2, with a = 5)
    :param efficiency: of combustion, the share of the heat that is released at all
    """

    start: float
    duration: float
    completeness: float = 5.0
    shape: float = 2.0
    efficiency: float = 1.0


@dataclass(frozen=True, slots=True)
class Walls:
    """What the gas loses heat to.

    :param temperature: mean of all walls, K
    :param head_area: of the chamber in the head over bore area
    :param scale: on Woschni's film coefficient; 0 makes the cylinder adiabatic
    """

    temperature: float = 450.0
    head_area: float = 1.2
    scale: float = 1.0


@dataclass(frozen=True, slots=True)
class ClosedCycle:
    """A computed cycle.

    :param trace: pressure over the whole cycle
    :param angle: the closed part: its own angles, rad, rising through 0, shape (k,)
    :param pressure: there, Pa
    :param temperature: there, K
    :param volume: there, m³
    :param burned: fraction there
    :param mass: trapped at inlet closing, kg
    :param fuel_mass: per cycle, kg
    :param heat_released: J
    :param heat_lost: to the walls, J
    :param closed_work: on the piston from inlet closing to exhaust opening, J
    :param net_work: over the whole cycle, the drawn part too, J
    :param mean_effective_pressure: net indicated, Pa
    :param energy_residual: what the first law misses by the integration, J
    """

    trace: PressureTrace
    angle: Array
    pressure: Array
    temperature: Array
    volume: Array
    burned: Array
    mass: float
    fuel_mass: float
    heat_released: float
    heat_lost: float
    closed_work: float
    net_work: float
    mean_effective_pressure: float
    energy_residual: float


@dataclass(frozen=True, slots=True)
class _Contents:
    """What the kernel is told of the gas: heat capacities, mol at start, mol gained in burning."""

    thermal: Array
    start: Array
    change: Array
    heat: float
    mass: float
    fuel_mass: float


def trapped_charge(
    chamber: CombustionChamber,
    fuel: Fuel,
    *,
    manifold_pressure: float,
    manifold_temperature: float,
    volumetric_efficiency: float,
    equivalence_ratio: float,
    residual: float = 0.05,
    residual_temperature: float = 1000.0,
    heating: float = 20.0,
    premixed: bool = True,
) -> Charge:
    """Return the charge that a manifold state puts into the cylinder.

    Air by volumetric efficiency *at manifold state*, so boost needs no more than the manifold's
    pressure and temperature; residual gas mixes with it, mol for mol at equal heat capacity.

    :param manifold_pressure: absolute, Pa
    :param manifold_temperature: K
    :param volumetric_efficiency: air drawn in over swept volume at manifold density; 0.3 to 1.5
    :param equivalence_ratio: 0 to 3
    :param residual: mol of burnt gas over all gas, 0 to 0.5; the usual 0.05 is common practice
    :param residual_temperature: K; 1000 is common practice
    :param heating: of the fresh charge by port and walls, K; 20 is common practice
    :returns: refused where an input lies outside
    :source: ideal-gas law; Heywood, Internal Combustion Engine Fundamentals, section 4.5 for the
        residual fraction, 2.10 for volumetric efficiency
    """
    require_positive(
        manifold_pressure=manifold_pressure,
        manifold_temperature=manifold_temperature,
        residual_temperature=residual_temperature,
    )
    _require_between("volumetric efficiency", volumetric_efficiency, 0.3, 1.5)
    _require_between("residual fraction", residual, 0.0, 0.5)
    stroke = dead_centres(chamber.throw, chamber.rod, chamber.offset).stroke
    swept = pi / 4 * chamber.bore**2 * stroke
    air = volumetric_efficiency * manifold_pressure * swept / (GAS_CONSTANT * manifold_temperature)
    fresh = float(fresh_charge(fuel, equivalence_ratio, air, premixed=premixed).sum())
    temperature = (1 - residual) * (
        manifold_temperature + heating
    ) + residual * residual_temperature
    closing, _ = _closed_span(chamber)
    volume = volume_at(
        closing, chamber.bore, chamber.throw, chamber.rod, chamber.clearance, chamber.offset
    )
    pressure = fresh / (1 - residual) * GAS_CONSTANT * temperature / volume
    return Charge(pressure, temperature, fuel, equivalence_ratio, residual, premixed)


def closed_cycle(
    chamber: CombustionChamber,
    charge: Charge,
    burn: Burn,
    walls: Walls,
    speed: float,
    *,
    inlet_pressure: float,
    exhaust_pressure: float = 101_325.0,
    samples_per_turn: int = SAMPLES_PER_TURN,
) -> ClosedCycle:
    """Return the cycle of one cylinder at steady speed.

    First law for one ideal-gas zone from inlet closing to exhaust opening, fourth-order
    Runge-Kutta on the even grid, with a node at every bend of the burn. The motored pressure that
    Woschni's second term needs is integrated beside it.

    :param speed: of the crank, rad/s, above zero
    :param inlet_pressure: the manifold's, absolute, Pa, for the drawn part
    :param exhaust_pressure: absolute, Pa, for the drawn part
    :returns: refused where the gas leaves 200 K to 5000 K
    :source: Heywood, Internal Combustion Engine Fundamentals: single-zone heat release section
        10.5.3, Wiebe 9.2.2, Woschni 12.4.3 (film 3.26·B^−0.2·p^0.8·T^−0.55·w^0.8 in kPa, m, K, m/s
        with w = 2.28·S_p + 3.24e-3·V_d·T_r/(p_r·V_r)·(p − p_motored)). Other texts print T^−0.53.
    """
    from bedplate.physics import _cycle

    _require_cycle(chamber, charge, burn, walls, speed)
    require_positive(inlet_pressure=inlet_pressure, exhaust_pressure=exhaust_pressure)
    geometry = _geometry(chamber)
    inside = _contents(chamber, charge, burn.efficiency)
    nodes = _nodes(chamber, burn, samples_per_turn)
    numbers = np.array([burn.start, burn.duration, burn.completeness, burn.shape])
    losing = _losing(chamber, charge, walls, speed)
    states = _cycle.integrate(
        nodes,
        charge.temperature,
        inside.thermal,
        inside.start,
        inside.change,
        inside.heat,
        geometry,
        numbers,
        losing,
        speed,
    )
    _require_settled(nodes, states)
    volume, burned = _cycle.volumes(nodes, geometry), _cycle.burned(nodes, numbers)
    moles = inside.start.sum() + burned * inside.change.sum()
    pressure = moles * GAS_CONSTANT * states[:, 0] / volume
    outside = (exhaust_pressure, inlet_pressure)
    trace = _drawn(chamber, nodes, pressure, outside, samples_per_turn)
    return _result(chamber, inside, (nodes, volume, burned), states, pressure, trace)


def _result(
    chamber: CombustionChamber,
    inside: _Contents,
    curves: tuple[Array, Array, Array],
    states: Array,
    pressure: Array,
    trace: PressureTrace,
) -> ClosedCycle:
    nodes, volume, burned = curves
    released = inside.heat * float(burned[-1])
    work, lost = float(states[-1, 2]), float(states[-1, 3])
    end = inside.start + float(burned[-1]) * inside.change
    gained = _energy(inside, end, states[-1, 0]) - _energy(inside, inside.start, states[0, 0])
    stroke = dead_centres(chamber.throw, chamber.rod, chamber.offset).stroke
    swept = pi / 4 * chamber.bore**2 * stroke
    net = work + _drawn_work(chamber, nodes, trace)
    return ClosedCycle(
        trace=trace,
        angle=nodes,
        pressure=pressure,
        temperature=states[:, 0],
        volume=volume,
        burned=burned,
        mass=inside.mass,
        fuel_mass=inside.fuel_mass,
        heat_released=released,
        heat_lost=lost,
        closed_work=work,
        net_work=net,
        mean_effective_pressure=net / swept,
        energy_residual=released - lost - work - gained,
    )


def _energy(inside: _Contents, amounts: Array, temperature: float) -> float:
    a = inside.thermal[:, 1 if temperature > 1000.0 else 0]
    t = temperature
    powers = a[:, :5] @ np.array([t, t**2 / 2, t**3 / 3, t**4 / 4, t**5 / 5])
    return float(GAS_CONSTANT * amounts @ (powers - a[:, 5] / t + a[:, 6] - t))


def _contents(chamber: CombustionChamber, charge: Charge, efficiency: float) -> _Contents:
    """Return amounts: residual gas passes through the burn unchanged."""
    closing, _ = _closed_span(chamber)
    volume = volume_at(
        closing, chamber.bore, chamber.throw, chamber.rod, chamber.clearance, chamber.offset
    )
    total = charge.pressure * volume / (GAS_CONSTANT * charge.temperature)
    fuel, ratio = charge.fuel, charge.equivalence_ratio
    fresh = fresh_charge(fuel, ratio, 1.0, premixed=charge.premixed)
    air = total * (1 - charge.residual) / float(fresh.sum())
    fresh = fresh * air
    burnt = products(fuel, ratio, air)
    residual = burnt / burnt.sum() * total * charge.residual
    mass = float(molar_masses(fuel) @ (fresh + residual))
    injected = fresh_charge(fuel, ratio, air, premixed=True)[FUEL]
    heat = efficiency * heat_of_combustion(fuel, ratio, air)
    return _Contents(
        thermal_of(fuel),
        fresh + residual,
        burnt - fresh,
        heat,
        mass,
        float(injected) * fuel.molar_mass,
    )


def _geometry(chamber: CombustionChamber) -> Array:
    top = dead_centres(chamber.throw, chamber.rod, chamber.offset).top_angle
    area = pi / 4 * chamber.bore**2
    return np.array(
        [area, chamber.throw, chamber.rod, chamber.offset, chamber.clearance, top],
        dtype=np.float64,
    )


def _losing(chamber: CombustionChamber, charge: Charge, walls: Walls, speed: float) -> Array:
    stroke = dead_centres(chamber.throw, chamber.rod, chamber.offset).stroke
    swept = pi / 4 * chamber.bore**2 * stroke
    closing, _ = _closed_span(chamber)
    trapped = volume_at(
        closing, chamber.bore, chamber.throw, chamber.rod, chamber.clearance, chamber.offset
    )
    stiffness = swept * charge.temperature / (charge.pressure * trapped)
    return np.array(
        [
            walls.scale,
            chamber.bore,
            mean_piston_speed(stroke, speed),
            walls.temperature,
            walls.head_area,
            stiffness,
            chamber.clearance,
        ]
    )


def _closed_span(chamber: CombustionChamber) -> tuple[float, float]:
    """Return inlet closing and exhaust opening, rad from top dead centre of firing."""
    centres = dead_centres(chamber.throw, chamber.rod, chamber.offset)
    fall = centres.bottom_angle - centres.top_angle
    return fall - 2 * pi + chamber.inlet_closing, fall - chamber.exhaust_opening


def _nodes(chamber: CombustionChamber, burn: Burn, samples_per_turn: int) -> Array:
    """Return the grid's points between the ends, the ends, and points enough inside the burn."""
    first, last = _closed_span(chamber)
    step = 2 * pi / samples_per_turn
    grid = np.arange(np.ceil(first / step), np.floor(last / step) + 1) * step
    burning = np.linspace(burn.start, burn.start + burn.duration, _FEWEST_BURN_STEPS + 1)
    if burn.duration > _FEWEST_BURN_STEPS * step:
        burning = burning[[0, -1]]
    inner = np.concatenate([grid, burning])
    inner = np.unique(inner[(inner > first) & (inner < last)])
    near = min(1e-9, burn.duration * 1e-3)
    kept = inner[np.append(np.diff(inner) > near, True)]
    return np.concatenate([[first], kept, [last]])


def _drawn(
    chamber: CombustionChamber,
    nodes: Array,
    pressure: Array,
    outside: tuple[float, float],
    samples_per_turn: int,
) -> PressureTrace:
    """Return the whole cycle: the closed part as computed, the rest joined by half cosines."""
    grid = even_angles(chamber.cycle, samples_per_turn)
    first, last = float(nodes[0]), float(nodes[-1])
    exhaust, inlet = outside
    turned = np.where(grid > last, grid - chamber.cycle, grid)
    closed = np.interp(turned, nodes, pressure)
    bottom = last + chamber.exhaust_opening
    knots = [(last, float(pressure[-1])), (bottom, exhaust)]
    if chamber.cycle > 3 * pi:
        top = 2 * pi
        knots += [(top - _OVERLAP / 2, exhaust), (top + _OVERLAP / 2, inlet)]
        knots += [(first + chamber.cycle - chamber.inlet_closing, inlet)]
    knots += [(first + chamber.cycle, float(pressure[0]))]
    return PressureTrace(
        grid, np.where(turned >= first, closed, _eased(grid, knots)), chamber.cycle
    )


def _eased(x: Array, knots: list[tuple[float, float]]) -> Array:
    places, values = (np.array(row) for row in zip(*knots, strict=True))
    i = np.clip(np.searchsorted(places, x, side="right") - 1, 0, places.size - 2)
    # A port that moves at the dead centre itself leaves no width: the pressure jumps there.
    width = np.maximum(places[i + 1] - places[i], 1e-9)
    share = np.clip((x - places[i]) / width, 0, 1)
    return np.asarray(values[i] + (values[i + 1] - values[i]) * (1 - np.cos(pi * share)) / 2)


def _drawn_work(chamber: CombustionChamber, nodes: Array, trace: PressureTrace) -> float:
    """Return ∮p dV of the drawn part, J, by the trapezium rule."""
    first, last = float(nodes[0]) + trace.cycle, float(nodes[-1])
    inner = trace.angle[(trace.angle > last) & (trace.angle < first)]
    angles = np.concatenate([[last], inner, [first]])
    pressure = trace.at(angles)
    from bedplate.physics import _cycle

    volume = _cycle.volumes(angles, _geometry(chamber))
    return float(np.sum((pressure[1:] + pressure[:-1]) / 2 * np.diff(volume)))


def _require_cycle(
    chamber: CombustionChamber, charge: Charge, burn: Burn, walls: Walls, speed: float
) -> None:
    require_positive(
        bore=chamber.bore,
        clearance_volume=chamber.clearance,
        speed=speed,
        trapped_pressure=charge.pressure,
        burn_duration=burn.duration,
        burn_completeness=burn.completeness,
        wall_temperature=walls.temperature,
    )
    require_not_negative(
        burn_shape=burn.shape, heat_transfer_scale=walls.scale, head_area=walls.head_area
    )
    require_finite(burn_start=burn.start)
    _require_between("trapped temperature, in K,", charge.temperature, 200, 1500)
    _require_between("residual fraction", charge.residual, 0.0, 0.5)
    _require_between("combustion efficiency", burn.efficiency, 0.0, 1.0)
    for name, value in (
        ("inlet closing", chamber.inlet_closing),
        ("exhaust opening", chamber.exhaust_opening),
    ):
        _require_between(f"{name}, in degrees from bottom dead centre,", degrees(value), 0, 120)
    first, last = _closed_span(chamber)
    if not (first <= burn.start and burn.start + burn.duration <= last):
        raise InputError(
            f"A burn from {degrees(burn.start):.4g}° over {degrees(burn.duration):.4g}° does not"
            f" lie between inlet closing at {degrees(first):.4g}° and exhaust opening at"
            f" {degrees(last):.4g}°."
        )


def _require_between(name: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise InputError(f"The {name} must lie between {low:g} and {high:g}, and is {value:g}.")


def _require_settled(nodes: Array, states: Array) -> None:
    lost = np.flatnonzero(np.isnan(states[:, 0]))
    if lost.size:
        raise InputError(
            f"The gas leaves 200 K to 5000 K at {degrees(float(nodes[lost[0]])):.4g}°,"
            " where its heat capacities are known.",
            hint="Look at the charge, the burn and the clearance volume.",
        )
