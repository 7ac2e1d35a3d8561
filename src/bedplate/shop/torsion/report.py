"""Natural frequencies, critical speeds and twist of a build's crank, each as a band."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from math import pi

import numpy as np

from bedplate.engine import Engine
from bedplate.errors import InputError
from bedplate.physics.checks import Array
from bedplate.physics.crank_train import MovingMasses
from bedplate.physics.loads import cylinder_loads
from bedplate.physics.torsion import (
    FrequencyBand,
    Modes,
    TorsionalModel,
    frequency_band,
    modes,
    strain_share,
)
from bedplate.physics.torsion_response import (
    Phasors,
    critical_speeds,
    phase_vector_sum,
    speed_sweep,
    torque_harmonics,
)
from bedplate.physics.torsion_scatter import Doubt, TwistBand, twist_band
from bedplate.shop.balance.shaking import each_mass
from bedplate.shop.balance.weights import weights_of
from bedplate.shop.duty.gas import Pressure, Pressures, crankcase, no_gas
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.traces import Basis
from bedplate.shop.duty.train import Train, crank_train
from bedplate.shop.duty.volumes import bores_of
from bedplate.shop.model import State
from bedplate.shop.torsion.train import CrankTrain, crank_train_model

HIGHEST_ORDER = 12.0
_SPEEDS = 160
_LOWEST = 0.15
"""Share of the highest speed at which the sweep begins."""
_GAS_SPEEDS = 9
_DRAWS = 600
_TWIST_DRAWS = 40
_OWN_SHARE = 0.5
"""What each shaft is off by itself, as a share of what all are off together (assumed)."""
_SHOWN_MODES = 3
_LOCAL = 0.1
"""A mode in which no throw swings by so much of the greatest, and the crank has no such share of
the strain, is an accessory's own."""
_MAJOR = 0.6
"""An order whose cylinders push together by more than this share of the most is a major one."""


@dataclass(frozen=True, slots=True)
class Critical:
    """A speed at which an order meets a natural frequency.

    :param mode: from 1
    :param speed, low, high: rad/s, with the band of the natural frequency
    :param together: how far the cylinders push together there, 0 to 1
    """

    mode: int
    order: float
    speed: float
    low: float
    high: float
    together: float

    @property
    def major(self) -> bool:
        """Return whether the cylinders push together."""
        return self.together >= _MAJOR


@dataclass(frozen=True, slots=True)
class Twist:
    """How far the free end swings against the flywheel.

    :param speed: rad/s, shape (s,)
    :param all_orders: greatest over a cycle, rad, shape (s,)
    :param orders: the orders with the greatest swing, shape (k,)
    :param by_order: rad, shape (k, s)
    :param band: for the train as fitted, as far as stiffness, inertia and damping are estimates
    """

    speed: Array
    all_orders: Array
    orders: Array
    by_order: Array
    band: TwistBand | None = None

    @property
    def worst(self) -> tuple[float, float]:
        """Return the speed of the greatest twist in rad/s, and the twist in rad."""
        place = int(self.all_orders.argmax())
        return float(self.speed[place]), float(self.all_orders[place])

    @property
    def worst_order(self) -> float:
        """Return the order that swings most at the speed of the greatest twist."""
        return float(self.orders[self.by_order[:, int(self.all_orders.argmax())].argmax()])


@dataclass(frozen=True, slots=True)
class Excitation:
    """What one cylinder, the first by label, drives the crank with at one speed.

    :param orders: shape (q,)
    :param gas, inertia, both: amplitude of each alone and of both together, N·m, shape (q,)
    """

    cylinder: str
    speed: float
    orders: Array
    gas: Array
    inertia: Array
    both: Array


@dataclass(frozen=True, slots=True)
class TorsionReport:
    """What the crank does in torsion.

    :param modes, band: with the damper
    :param bare_modes, bare_band: without
    :param shown, bare_shown: of each the modes, from 0, in which throws move, up to the third in
        which the crank is twisted; the rest are accessories' own
    :param criticals: inside the range, slowest first
    :param twist: with the damper; None where no torque of the gas is known
    :param bare_twist: without
    :param excitation: at the highest speed; None where no torque of the gas is known
    :param highest: speed that the range ends at, rad/s
    :param gas_note: what the gas torque is, or why there is none
    """

    crank: CrankTrain
    modes: Modes
    band: FrequencyBand
    bare_modes: Modes
    bare_band: FrequencyBand
    shown: tuple[int, ...]
    bare_shown: tuple[int, ...]
    criticals: tuple[Critical, ...]
    bare_criticals: tuple[Critical, ...]
    twist: Twist | None
    bare_twist: Twist | None
    excitation: Excitation | None
    lowest: float
    highest: float
    gas_note: str


def torsion_of(
    engine: Engine, state: State | None = None, *, with_twist: bool = True
) -> TorsionReport:
    """Return natural frequencies, critical speeds and twist.

    :param with_twist: False leaves out what needs the pressure in the cylinder
    :raises InputError: the file does not say a figure that is needed
    """
    given = Given(engine, state)
    weights = weights_of(engine, state)
    train = crank_train(given, with_mains=False)
    crank = crank_train_model(given, weights)
    top = engine.duty.speed
    if top is None:
        raise InputError(
            "The engine file does not say how fast it turns.", hint="Give engine.speed."
        )
    highest, lowest = top.value, _LOWEST * top.value
    found, bare = modes(crank.damped.model), modes(crank.bare.model)
    band, bare_band = (
        frequency_band(
            model,
            shared_stiffness=crank.stiffness_doubt,
            stiffness=crank.stiffness_doubt * _OWN_SHARE,
            inertia=crank.inertia_doubt,
            known=crank.known,
            draws=_DRAWS,
        )
        for model in (crank.damped.model, crank.bare.model)
    )
    shown, bare_shown = (
        _moving(crank, model.model, own)
        for model, own in ((crank.damped, found), (crank.bare, bare))
    )
    orders = np.arange(0.5 if train.cycle > 7 else 1.0, HIGHEST_ORDER + 0.1, pi * 2 / train.cycle)
    twist, bare_twist, excitation, note = None, None, None, "no twist was asked for"
    if with_twist:
        masses = each_mass(engine, weights)
        twist, bare_twist, excitation, note = _twists(given, train, masses, crank, lowest, highest)
    return TorsionReport(
        crank, found, band, bare, bare_band, shown, bare_shown,
        _criticals(crank, train, found, band, shown, orders, lowest, highest),
        _criticals(crank, train, bare, bare_band, bare_shown, orders, lowest, highest),
        twist, bare_twist, excitation, lowest, highest, note,
    )  # fmt: skip


def _moving(crank: CrankTrain, model: TorsionalModel, found: Modes) -> tuple[int, ...]:
    """Return the modes in which throws move, up to the third in which the crank is twisted."""
    swing = np.abs(found.shape[:, list(crank.node_of)]).max(axis=1)
    strain = strain_share(model, found.shape, model.stiffness.size - crank.accessories)
    chosen: list[int] = []
    twisted = 0
    for mode in range(found.frequency.size):
        if twisted == _SHOWN_MODES:
            break
        if strain[mode] > _LOCAL or swing[mode] > _LOCAL:
            chosen.append(mode)
        twisted += bool(strain[mode] > _LOCAL)
    return tuple(chosen)


def _criticals(
    crank: CrankTrain,
    train: Train,
    found: Modes,
    band: FrequencyBand,
    shown: tuple[int, ...],
    orders: Array,
    lowest: float,
    highest: float,
) -> tuple[Critical, ...]:
    together = []
    for mode in shown:
        at = found.shape[mode, list(crank.node_of)]
        most = max(float(np.abs(at).sum()), 1e-12)
        together.append(phase_vector_sum(at, train.firing, orders) / most)
    return tuple(
        Critical(
            shown[one.mode] + 1, one.order, one.speed,
            float(band.low[shown[one.mode]]) / one.order,
            float(band.high[shown[one.mode]]) / one.order,
            float(together[one.mode][int(np.argmin(np.abs(orders - one.order)))]),
        )
        for one in critical_speeds(found.frequency[list(shown)], orders, lowest, highest)
    )  # fmt: skip


def _twists(
    given: Given, train: Train, masses: MovingMasses, crank: CrankTrain, lowest: float,
    highest: float,
) -> tuple[Twist | None, Twist | None, Excitation | None, str]:  # fmt: skip
    try:
        orders, grid, gas, note = _gas(given, train, masses, lowest, highest)
    except InputError as error:
        return None, None, None, f"No twist: {error.sentence}"
    weight = _inertia(given, train, masses)
    speeds = np.linspace(lowest, highest, _SPEEDS)
    push = _over_speed(grid, gas, speeds)
    both = []
    for model in (crank.damped, crank.bare):
        sweep = speed_sweep(model.model, crank.node_of, orders, push, weight, speeds)
        swing = np.abs(sweep.twist(model.nose, model.flywheel))
        leading = np.sort(np.argsort(swing.max(axis=1))[-5:])
        both.append(
            Twist(
                speeds,
                sweep.greatest(model.nose, model.flywheel, samples=360),
                orders[leading],
                swing[leading],
            )
        )
    some = speeds[_SPEEDS % 2 :: 2]
    torque = _over_speed(grid, gas, some) + weight * some[:, np.newaxis, np.newaxis] ** 2
    fitted = crank.damped
    band = twist_band(
        fitted.model, crank.node_of, orders, torque, some, (fitted.nose, fitted.flywheel),
        _doubt(crank), draws=_TWIST_DRAWS,
    )  # fmt: skip
    found = replace(both[0], band=band)
    bare = found if crank.damper == "none" else both[1]
    mass, top = weight[0] * highest**2, gas[-1, 0]
    drives = Excitation(
        train.labels[0], highest, orders, np.abs(top), np.abs(mass), np.abs(top + mass)
    )
    return found, bare, drives, note


def _doubt(crank: CrankTrain) -> Doubt:
    drag = crank.damping
    least, most = (one / drag.value if drag.value else 1.0 for one in (drag.least, drag.most))
    return Doubt(
        crank.stiffness_doubt,
        crank.stiffness_doubt * _OWN_SHARE,
        crank.inertia_doubt,
        max(least, 1e-3),
        most,
        crank.known,
    )


def _over_speed(grid: Array, vectors: Phasors, speeds: Array) -> Phasors:
    """Return vectors between the speeds they were computed at, shape (s, c, q)."""
    place = np.clip(np.searchsorted(grid, speeds) - 1, 0, grid.size - 2)
    share = ((speeds - grid[place]) / (grid[place + 1] - grid[place]))[:, np.newaxis, np.newaxis]
    return np.asarray((1 - share) * vectors[place] + share * vectors[place + 1])


def _gas(
    given: Given, train: Train, masses: MovingMasses, lowest: float, highest: float
) -> tuple[Array, Array, Phasors, str]:
    """Return orders, speeds, and the vectors of every cylinder's gas torque at each speed.

    What was computed changes most where the engine turns slowly: between nine speeds in equal
    ratios its vectors are straight lines within 0.3 %. Between measured traces they are straight.
    """
    nothing = np.zeros(train.layout.cylinders)
    light = MovingMasses(nothing, nothing, masses.rod_centre, nothing)
    known = {trace.speed for trace in given.traces if trace.speed is not None}
    inside = [speed for speed in known if lowest < speed < highest]
    grid = np.unique([*np.geomspace(lowest, highest, _GAS_SPEEDS), *inside])
    orders, vectors, pressures = np.empty(0), [], Pressures(given)
    for speed in grid:
        pressure = pressures.at(float(speed))
        loads = cylinder_loads(
            train.layout, light, pressure.traces, bore=bores_of(given),
            firing=train.firing, speed=0.0, crankcase_pressure=crankcase(given).value,
        )  # fmt: skip
        orders, each = torque_harmonics(loads.torque, train.cycle, HIGHEST_ORDER)
        vectors.append(each)
    return orders, grid, np.array(vectors), f"gas at each speed: {_gas_words(pressure, known)}"


def _gas_words(pressure: Pressure, known: Collection[float]) -> str:
    """Return what the pressure over the speeds is known from.

    :param pressure: at one of them
    :param known: speeds that traces were measured at, rad/s
    """
    if all(basis is Basis.COMPUTED for basis in pressure.bases):
        return pressure.note
    if Basis.ONE_FOR_ALL in pressure.bases:
        return pressure.note
    speeds = ", ".join(f"{speed * 30 / pi:.0f}" for speed in sorted(known))
    words = f"measured traces of {speeds} rpm; straight between them, beyond them the nearest"
    if Basis.COMPUTED in pressure.bases:
        words += "; cylinders without a trace computed"
    return words


def _inertia(given: Given, train: Train, masses: MovingMasses) -> Phasors:
    """Return vectors of the inertia torque of every cylinder at 1 rad/s."""
    loads = cylinder_loads(
        train.layout, masses, no_gas(given), bore=given.engine.bore, firing=train.firing,
        speed=1.0, crankcase_pressure=crankcase(given).value,
    )  # fmt: skip
    return torque_harmonics(loads.torque, train.cycle, HIGHEST_ORDER)[1]
