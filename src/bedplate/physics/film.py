"""The oil film of one bearing: how thin, where, how hot, and what it costs.

An estimate for comparing choices, never a release. On top of what `mobility` assumes: one film
temperature, half way between the oil's inlet and its outlet; the heat leaves with the oil, unless
a share is given; one viscosity, thinned at the mean shear rate; the shells stay round under load.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from math import sqrt
from os import cpu_count

import numpy as np
from numpy.typing import NDArray

from bedplate.errors import InputError
from bedplate.physics.checks import Array, require_finite, require_not_negative
from bedplate.physics.mobility import (
    BearingShape,
    LoadCycle,
    Shell,
    kernel_cycle,
    kernel_groove,
    kernel_shell,
    require_cycle,
    require_shape,
    start,
)
from bedplate.physics.oil import CELSIUS, Oil, density, kinematic_viscosity

REFERENCE_TEMPERATURE = 20.0 + CELSIUS
"""ISO 1: sizes are stated at 20 °C."""
STATES = (
    "settled",
    "film breaks down",
    "not settled",
    "heat not balanced",
    "beyond the oil's data",
    "no clearance left",
    "roughness touches",
    "beyond stiff shells",
)
NO_FILM = frozenset({"film breaks down", "no clearance left", "roughness touches"})
"""States in which there is no full film; of the others but 'settled' nobody can tell."""
GREATEST_PRESSURE = 5e8
"""Pa: above it no film of the model is claimed. Ours: no limit of any material, but steel, of which
shells and journals are made, is pressed in by a quarter of a per cent there, more than twice the
usual clearance over the diameter, so that nothing is left of two stiff circles."""
_COLUMNS = 14
_FIGURES = [1, 2, 3, 4, 5, 6, 7, 10]
"""Columns of a result that only a film has."""
_TOUCHES, _BEYOND_STIFF = STATES.index("roughness touches"), STATES.index("beyond stiff shells")
_USUAL_RISE = 12.0
"""K above the supply: where the search for the film temperature begins."""
_ENOUGH_STEPS = 240


@dataclass(frozen=True, slots=True)
class Supply:
    """How the oil comes to the bearing.

    :param temperature: at the inlet, K
    :param pressure: above the surroundings, Pa; 0: what the wedge draws only
    :param hole_diameter: of a feed hole, m, where no groove feeds; 0 for none
    :param heat_share: of the power loss that leaves with the oil, above 0 to 1
    """

    temperature: float
    pressure: float = 0.0
    hole_diameter: float = 0.0
    heat_share: float = 1.0


@dataclass(frozen=True, slots=True)
class Expansion:
    """What the clearance does as the engine warms up; sizes are stated at 20 °C.

    :param housing: linear expansion of the housing, 1/K
    :param shell: of the shell's wall, 1/K
    :param journal: of the journal, 1/K
    :param shell_wall: thickness of the wall, m
    :param housing_temperature: K; None: the oil supply's and `housing_over_supply`
    :param journal_temperature: K; None: the oil supply's and `journal_over_supply`
    :param housing_over_supply: K
    :param journal_over_supply: K; None: as warm as the film, and so is the shell always
    """

    housing: float
    shell: float
    journal: float
    shell_wall: float = 0.0
    housing_temperature: float | None = None
    journal_temperature: float | None = None
    housing_over_supply: float = 0.0
    journal_over_supply: float | None = None


@dataclass(frozen=True, slots=True)
class BearingFilm:
    """The film of a bearing over its load cycle, heat balanced.

    Where the state is not 'settled' every figure of the film is nan: none is pretended. So it is
    for a film thinner than the combined roughness, where it is given, and for one with a peak above
    500 MPa.

    :param state: one of `STATES`
    :param least_film: m
    :param least_crank_angle: at which it is met, rad from the cycle's first step
    :param least_shell_angle: where on the shell, rad in its frame
    :param peak_pressure: greatest over the cycle, Pa
    :param peak_crank_angle: rad
    :param flow: of oil, mean over the cycle, m³/s
    :param power_loss: mean over the cycle, W
    :param film_temperature: K
    :param clearance: diametral, at temperature, m
    :param viscosity: in the film, Pa·s
    :param film_ratio: least film over the combined roughness; nan without roughness
    :param position: orbit, eccentricity over the radial clearance, shape (n, 2)
    :param film: least around the bearing at each step, m, shape (n,)
    :param laps: cycles that were followed, whatever the state
    :param change: of the orbit from one cycle to the next when it ended, over the film left
    :param missing: K from the film temperature to the one that balances the heat, when it ended
    """

    state: str
    least_film: float
    least_crank_angle: float
    least_shell_angle: float
    peak_pressure: float
    peak_crank_angle: float
    flow: float
    power_loss: float
    film_temperature: float
    clearance: float
    viscosity: float
    film_ratio: float
    position: Array
    film: Array
    laps: float = float("nan")
    change: float = float("nan")
    missing: float = float("nan")


@dataclass(frozen=True, slots=True)
class FilmCases:
    """The film of many cases of one bearing; every row of shape (cases,).

    :param state: places in `STATES`
    :param least_film: m; nan where not settled, and so are the others
    :param least_crank_angle: rad
    :param least_shell_angle: rad
    :param peak_pressure: Pa
    :param flow: m³/s
    :param power_loss: W
    :param film_temperature: K
    :param clearance: diametral, at temperature, m
    """

    state: NDArray[np.int64]
    least_film: Array
    least_crank_angle: Array
    least_shell_angle: Array
    peak_pressure: Array
    flow: Array
    power_loss: Array
    film_temperature: Array
    clearance: Array


@dataclass(frozen=True, slots=True)
class Bearing:
    """All that a film depends on but the load: shape at 20 °C, oil, supply, expansion, roughness.

    :param journal_roughness: root mean square, m
    :param shell_roughness: root mean square, m
    """

    shape: BearingShape
    oil: Oil
    supply: Supply
    expansion: Expansion | None = None
    journal_roughness: float = 0.0
    shell_roughness: float = 0.0

    @property
    def roughness(self) -> float:
        """Return the root mean square of both surfaces together, m; 0 where none is given."""
        return sqrt(self.journal_roughness**2 + self.shell_roughness**2)


def hot_clearance(
    shape: BearingShape, expansion: Expansion, supply_temperature: float, film_temperature: float
) -> float:
    """Return the diametral clearance at temperature.

    The housing's bore grows with the housing; the shell's wall, held in it, grows inwards; the
    journal grows. Crush and the springing of the shells are left out.

    :param shape: at 20 °C
    :param expansion: of the parts
    :param supply_temperature: K
    :param film_temperature: K
    :returns: m; may be below zero
    Source: linear expansion from 20 °C (ISO 1); the usual temperatures of the parts are ours.
    """
    constant, per_supply, per_film = _growth(shape, expansion)
    return (
        shape.diametral_clearance
        + constant
        + per_supply * (supply_temperature - REFERENCE_TEMPERATURE)
        + per_film * (film_temperature - REFERENCE_TEMPERATURE)
    )


def bearing_film(bearing: Bearing, cycle: LoadCycle, *, short: bool = False) -> BearingFilm:
    """Return the film of one bearing over a load cycle, its heat balanced.

    Power loss is the shear all round, 2πμR³Lω²/(c√(1 − ε²)), and the work of the load on the film.
    Flow is what the pressed film gives out at the edges and what the supply pushes through: by a
    groove 2·p∫h³dx/(12μl) over both lands, by a hole πh³p/(6μ ln(4B/πd)), the hole in a strip held
    at zero at both edges. Film temperature is the supply's and half the rise, P/(ρcQ).

    :param bearing: shape, oil, supply, expansion, roughness
    :param cycle: the loads in the shell's frame
    :param short: by Booker's fit of the short bearing instead of the maps; not half-grooved
    :returns: the film; its state says if there is one
    :raises InputError: as `mobility.require_shape` and `require_cycle`; a supply outside the oil's
        data
    Source: as `mobility.journal_orbit`; the balance at the mean of inlet and outlet and the sum of
    both flows as ISO 7902-1; film ratio h/√(Rq1² + Rq2²), below 1 no full film: Hamrock,
    Fundamentals of Fluid Film Lubrication, from memory.
    """
    from bedplate.physics._orbit_kernels import film_case

    require_bearing(bearing)
    require_cycle(cycle)
    load, spin, step = kernel_cycle(cycle)
    path, figures = start(load), np.zeros((load.shape[0], 5))
    results = np.empty((1, _COLUMNS))
    result = results[0]
    supply = bearing.supply.temperature
    case = (bearing.shape.diametral_clearance, 1.0, supply)
    film_case(
        load, spin, step, case, *_constants(bearing, cycle, short=short), _USUAL_RISE,
        path, figures, result,
    )  # fmt: skip
    _claim(results, bearing)
    roughness = bearing.roughness
    settled = result[0] == 0.0
    return BearingFilm(
        state=STATES[int(result[0])],
        least_film=float(result[1]),
        least_crank_angle=float(result[2] * step),
        least_shell_angle=float(result[3]),
        peak_pressure=float(result[4]),
        peak_crank_angle=float(result[5] * step),
        flow=float(result[6]),
        power_loss=float(result[7]),
        film_temperature=float(result[8]),
        clearance=float(result[9]),
        viscosity=float(result[10]),
        film_ratio=float(result[1]) / roughness if roughness else float("nan"),
        position=path,
        film=figures[:, 0] * result[9] / 2 if settled else np.full(load.shape[0], np.nan),
        laps=float(result[11]),
        change=float(result[12]),
        missing=float(result[13]),
    )


def film_over_cases(
    bearing: Bearing,
    cycle: LoadCycle,
    *,
    clearance: Array,
    viscosity_factor: Array | None = None,
    supply_temperature: Array | None = None,
    pressure_factor: Array | None = None,
    pressure_load: Array | None = None,
    threads: int | None = None,
) -> FilmCases:
    """Return the film of many cases of one bearing, in the order given.

    Every case is solved by itself from the same start, so any split gives the same bits. A cycle
    of many steps is thinned to 240 or a few more, which tells the least film to 0.1 %.

    :param bearing: what the cases share
    :param cycle: the loads in the shell's frame
    :param clearance: diametral at 20 °C, m, shape (cases,)
    :param viscosity_factor: on the oil's viscosity, shape (cases,); None: 1
    :param supply_temperature: K, shape (cases,); None: the supply's
    :param pressure_factor: on the part of the load that follows cylinder pressure; None: 1
    :param pressure_load: that part, N, shape (n, 2), contained in the cycle's; None: all of it
    :param threads: to share the cases between; None: as many as the machine has cores
    :returns: the film of each case
    :raises InputError: as `bearing_film`; rows of different lengths
    Source: as `bearing_film`.
    """
    require_bearing(bearing)
    require_cycle(cycle)
    rows = _case_rows(bearing, clearance, viscosity_factor, supply_temperature, pressure_factor)
    pressed = cycle.load if pressure_load is None else np.asarray(pressure_load, np.float64)
    if pressed.shape != cycle.load.shape or not np.isfinite(pressed).all():
        raise InputError("The part of the load that follows the pressure must match the cycle.")
    cycle, pressed = _thinned(cycle, pressed)
    load, spin, step = kernel_cycle(cycle)
    begin, guess = _first(bearing, cycle)
    results = np.empty((rows.shape[0], _COLUMNS))
    count = max(1, min(threads or cpu_count() or 1, rows.shape[0]))
    edges = np.linspace(0, rows.shape[0], count + 1).astype(int)

    def part(number: int) -> None:
        from bedplate.physics._orbit_kernels import film_cases

        own = slice(edges[number], edges[number + 1])
        film_cases(
            load - pressed, pressed, spin, step, rows[own], *_constants(bearing, cycle),
            guess, begin, results[own],
        )  # fmt: skip

    if count == 1:
        part(0)
    else:
        with ThreadPoolExecutor(count) as pool:
            list(pool.map(part, range(count)))
    _claim(results, bearing)
    return _as_cases(results, step)


def require_bearing(bearing: Bearing) -> None:
    """Refuse a bearing, a supply or an expansion that cannot be.

    :raises InputError: with one sentence
    """
    require_shape(bearing.shape)
    supply, oil = bearing.supply, bearing.oil
    require_finite(supply_temperature=supply.temperature)
    require_not_negative(
        supply_pressure=supply.pressure,
        feed_hole=supply.hole_diameter,
        journal_roughness=bearing.journal_roughness,
        shell_roughness=bearing.shell_roughness,
    )
    if not 0.0 < supply.heat_share <= 1.0:
        raise InputError("The share of heat that leaves with the oil lies between 0 and 1.")
    if not oil.lowest <= supply.temperature <= oil.highest:
        raise InputError(
            f"The oil comes at {supply.temperature - CELSIUS:.0f} °C; the data of {oil.name} reach "
            f"from {oil.lowest - CELSIUS:.0f} to {oil.highest - CELSIUS:.0f} °C."
        )
    if supply.hole_diameter > 0.5 * bearing.shape.width:
        raise InputError("A feed hole must be smaller than half the width of its bearing.")
    growth = bearing.expansion
    if growth is not None:
        require_not_negative(
            housing_expansion=growth.housing,
            shell_expansion=growth.shell,
            journal_expansion=growth.journal,
            shell_wall=growth.shell_wall,
        )
        if max(growth.housing, growth.shell, growth.journal) > 1e-4:
            raise InputError("An expansion above 100 µm/(m·K) is no bearing material's.")


def _growth(shape: BearingShape, expansion: Expansion | None) -> tuple[float, float, float]:
    """Return what the clearance gains: fixed, per K of supply and per K of film above 20 °C."""
    if expansion is None:
        return 0.0, 0.0, 0.0
    bore = shape.diameter + shape.diametral_clearance + 2 * expansion.shell_wall
    housing = bore * expansion.housing
    wall, journal = 2 * expansion.shell_wall * expansion.shell, shape.diameter * expansion.journal
    constant = per_supply = per_film = 0.0
    if expansion.housing_temperature is None:
        per_supply, constant = housing, housing * expansion.housing_over_supply
    else:
        constant = housing * (expansion.housing_temperature - REFERENCE_TEMPERATURE)
    per_film = -wall
    if expansion.journal_temperature is not None:
        constant -= journal * (expansion.journal_temperature - REFERENCE_TEMPERATURE)
    elif expansion.journal_over_supply is not None:
        per_supply -= journal
        constant -= journal * expansion.journal_over_supply
    else:
        per_film -= journal
    return constant, per_supply, per_film


Packed = tuple[float, float, float, float, float, float, float, float, float]
Constants = tuple[
    Packed,
    tuple[float, float, float],
    tuple[float, float, float, float, float],
    tuple[float, float],
    Shell,
    Shell,
]


def _constants(bearing: Bearing, cycle: LoadCycle, *, short: bool = False) -> Constants:
    """Return bearing, growth, liquid, reach and shells as the kernels take them."""
    shape, supply, oil = bearing.shape, bearing.supply, bearing.oil
    lands = (shape.width - shape.groove_width) / shape.width
    packed = (
        float(cycle.crank_speed), float(shape.diameter), float(shape.width), float(lands),
        float(supply.pressure), float(supply.hole_diameter), *kernel_groove(shape),
        float(supply.heat_share),
    )  # fmt: skip
    test = 150.0 + CELSIUS
    stress = 1.0
    if oil.shear_ratio < 1.0:
        stress = kinematic_viscosity(oil, test) * density(oil, test) * 1e6
    liquid = (oil.intercept, oil.slope, float(oil.density_at_15), oil.shear_ratio, stress)
    reach = (float(oil.lowest), float(oil.highest))
    growth = _growth(shape, bearing.expansion)
    return packed, growth, liquid, reach, *kernel_shell(shape, short=short)


def _first(bearing: Bearing, cycle: LoadCycle) -> tuple[Array, float]:
    """Return the path and the rise of the bearing as it is, for other cases to begin."""
    found = bearing_film(bearing, cycle)
    if found.state == STATES[0]:
        return found.position, found.film_temperature - bearing.supply.temperature
    return start(np.ascontiguousarray(cycle.load, np.float64)), _USUAL_RISE


def _thinned(cycle: LoadCycle, pressed: Array) -> tuple[LoadCycle, Array]:
    """Return every so many steps of a cycle, 240 or more of them where it has as many."""
    steps = cycle.load.shape[0]
    every = next(k for k in range(max(1, steps // _ENOUGH_STEPS), 0, -1) if steps % k == 0)
    thinned = LoadCycle(
        cycle.load[::every], cycle.relative_speed[::every], cycle.crank_speed, cycle.period
    )
    return thinned, np.ascontiguousarray(pressed[::every])


def _case_rows(
    bearing: Bearing,
    clearance: Array,
    viscosity_factor: Array | None,
    supply_temperature: Array | None,
    pressure_factor: Array | None,
) -> Array:
    given = np.atleast_1d(np.asarray(clearance, dtype=np.float64))
    rows = np.empty((given.size, 4))
    columns = (
        ("clearance", given, 0.0),
        ("factor on viscosity", viscosity_factor, 1.0),
        ("supply temperature", supply_temperature, bearing.supply.temperature),
        ("factor on pressure", pressure_factor, 1.0),
    )
    for k, (name, values, usual) in enumerate(columns):
        column = np.full(given.size, usual) if values is None else np.asarray(values, np.float64)
        if column.shape != given.shape:
            raise InputError(f"Each case needs one {name}: {given.size}, not {column.size}.")
        if not (np.isfinite(column).all() and (column > 0.0).all()):
            raise InputError(f"A case has a {name} that is not above zero.")
        rows[:, k] = column
    return rows


def _claim(results: Array, bearing: Bearing) -> None:
    """Take back the figures of films that are none, or that the model cannot stand for."""
    settled = results[:, 0] == 0.0
    touching = settled & (results[:, 1] < bearing.roughness)
    beyond = settled & ~touching & (results[:, 4] > GREATEST_PRESSURE)
    for state, rows in ((_TOUCHES, touching), (_BEYOND_STIFF, beyond)):
        results[rows, 0] = state
        results[np.ix_(rows, _FIGURES)] = np.nan


def _as_cases(results: Array, step: float) -> FilmCases:
    return FilmCases(
        state=results[:, 0].astype(np.int64),
        least_film=results[:, 1],
        least_crank_angle=results[:, 2] * step,
        least_shell_angle=results[:, 3],
        peak_pressure=results[:, 4],
        flow=results[:, 6],
        power_loss=results[:, 7],
        film_temperature=results[:, 8],
        clearance=results[:, 9],
    )
