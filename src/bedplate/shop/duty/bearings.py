"""Every main and rod bearing of an engine as the oil film sees it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi

import numpy as np

from bedplate.engine import CapStyle
from bedplate.errors import InputError
from bedplate.physics.checks import Array
from bedplate.physics.film import Bearing, Expansion, Supply
from bedplate.physics.loads import CylinderLoads, cylinder_loads, in_axes, main_bearing_loads
from bedplate.physics.mobility import BearingShape, LoadCycle
from bedplate.physics.oil import (
    CELSIUS,
    USUAL_DENSITY,
    Oil,
    dynamic_viscosity,
    kinematic_viscosity,
    oil_from_viscosities,
    oil_of_grade,
)
from bedplate.physics.trace import PressureTrace
from bedplate.shop.duty.gas import crankcase, no_gas
from bedplate.shop.duty.given import Given, How, Value
from bedplate.shop.duty.train import Train
from bedplate.shop.duty.volumes import bores_of

RMS_OF_RA = 1.25
"""Root mean square over mean roughness of a normally distributed surface, √(π/2)."""

SHELL_EXPANSION = 11.5e-6
"""1/K: steel, which the back of a shell is made of. Common practice, no source."""

_GROOVES = {"none": (0.0, 0.0), "upper half": (0.0, pi), "lower half": (pi, pi),
            "all round": (0.0, 2 * pi)}  # fmt: skip
_WARM = "a little above the oil supplied, and moves with it; common practice, no source"
_HOUSING, _JOURNAL = 8.0, 12.0
"""K above the oil supplied."""
_SMOOTH = {"journal": 0.1e-6, "shell": 0.2e-6}
"""m, Ra. At the smooth end of what is usual, so that none is called touching for a guess."""
COMPARED = ("0W-16", "0W-20", "5W-30", "10W-40", "5W-50", "15W-50", "20W-50", "10W-60")
"""Grades to compare with."""


@dataclass(frozen=True, slots=True)
class FilmBearing:
    """One bearing with all that its film rests on.

    :param id: 'main-2', 'rod-5'
    :param kind: 'main' or 'rod'
    :param number: of the main, or label of the cylinder
    :param fit: id of its clearance
    :param clearance: diametral at 20 °C, m, with its standard uncertainty
    :param sources: (what, Value) of each figure that went in
    :param upright: its split stands upright: crankcase halves hold it, and no shell is upper
    """

    id: str
    kind: str
    number: str
    name: str
    fit: str
    bearing: Bearing
    clearance: Value
    sources: tuple[tuple[str, Value], ...]
    upright: bool = False

    @property
    def is_warmed(self) -> bool:
        """Return True where its film is told with the clearance at temperature, not at 20 °C."""
        return self.bearing.expansion is not None

    @property
    def clearance_name(self) -> str:
        """Return what the clearance of its film is."""
        return "Clearance in the film" if self.is_warmed else "Clearance cold"


@dataclass(frozen=True, slots=True)
class BearingLoad:
    """What a bearing carries over the cycle, in its shell's frame.

    Axis 1 points to the crown of the upper shell: the block's in a main, the rod's in a rod.

    :param cycle: all of it
    :param gas: the part that follows the pressure in the cylinders, N, shape (n, 2)
    """

    cycle: LoadCycle
    gas: Array


@dataclass(frozen=True, slots=True)
class Choice:
    """What a person changes to see what it does; None and '' are as it is.

    :param oil: SAE J300 grade
    :param clearance: added to every bearing's clearance, m
    :param temperature: of the oil supplied, K
    """

    oil: str = ""
    clearance: float = 0.0
    temperature: float | None = None


AS_IT_IS = Choice()


def oil_of(given: Given, grade: str = "") -> tuple[Oil, Value]:
    """Return the oil, and what it is known from.

    :param grade: another one than the file's
    :raises InputError: no oil is named, or it is none
    """
    duty = given.duty
    cold, hot = duty.figure("oil.at_40"), duty.figure("oil.at_100")
    density = duty.value("oil.density", USUAL_DENSITY)
    shear = duty.figure("oil.hths")
    if cold is not None and hot is not None and not grade:
        oil = oil_from_viscosities(
            (40.0 + CELSIUS, cold.value),
            (100.0 + CELSIUS, hot.value),
            density_at_15=density,
            high_shear_viscosity=shear.value if shear else None,
        )
        thins = f"{shear.text} under high shear" if shear else "no high-shear figure: does not thin"
        source = f"{hot.source}: {cold.text} at 40 °C, {hot.text} at 100 °C; ASTM D341; {thins}"
        return oil, Value(hot.value, source, How.FILE)
    name = grade or duty.words.get("oil.grade", "") or duty.oil
    if not name:
        raise InputError(
            "The engine file names no oil.", hint="Give engine.oil, or oil.at_40 and oil.at_100."
        )
    own = not grade
    oil = oil_of_grade(
        name,
        density_at_15=density if own else USUAL_DENSITY,
        high_shear_viscosity=shear.value if shear and own else None,
    )
    thins = f"{shear.text}" if shear and own else f"{oil.shear_ratio:.0%} left, usual"
    source = (
        f"{oil.name}: the middle of its grade, SAE J300 (2015); under high shear {thins}; "
        "a data sheet is better"
    )
    return oil, Value(0.0, source, How.ESTIMATED)


def film_bearings(given: Given, choice: Choice = AS_IT_IS) -> tuple[FilmBearing, ...]:
    """Return every main, from the number 1 on, then every rod in the order of labels.

    :raises InputError: the file does not give a width, an oil or its temperature
    """
    layout = given.engine.layout
    oil, oil_source = oil_of(given, choice.oil)
    mains = [str(number + 1) for number in range(layout.mains)]
    pins = {c.label: str(c.crankpin) for c in layout.cylinders}
    made = [_bearing(given, choice, "main", number, number, oil) for number in mains]
    made += [_bearing(given, choice, "rod", label, pin, oil) for label, pin in pins.items()]
    liquid = (("oil", oil_source), *_liquid(given, oil, own=not choice.oil))
    return tuple(replace(one, sources=(*one.sources, *liquid)) for one in made)


def _liquid(given: Given, oil: Oil, *, own: bool) -> tuple[tuple[str, Value], ...]:
    """Return what the film's oil is made of, figure by figure.

    :param own: it is the engine file's, and not another one that is tried
    """

    def figure(key: str, usual: float, why: str) -> Value:
        return given.sure(key, usual, why) if own else Value(usual, why, How.ESTIMATED)

    middle = f"middle of {oil.name}, SAE J300 (2015)"
    index = f"{middle}, by the viscosity index its oils usually have; ASTM D2270"
    usual = f"as much left as oils of {oil.name} usually keep; common practice, no source"
    if given.duty.figure("oil.at_100") is not None and own:
        usual = "no figure given: counted as not thinning under shear"
    left = oil.shear_ratio * dynamic_viscosity(oil, 150.0 + CELSIUS)
    return (
        ("oil's viscosity at 40 °C",
         figure("oil.at_40", kinematic_viscosity(oil, 40.0 + CELSIUS), index)),
        ("oil's viscosity at 100 °C",
         figure("oil.at_100", kinematic_viscosity(oil, 100.0 + CELSIUS), middle)),
        ("oil's high-shear viscosity", figure("oil.hths", left, usual)),
        ("oil's density at 15 °C",
         figure("oil.density", USUAL_DENSITY, "a usual engine oil; common practice, no source")),
        ("heat that leaves with the oil",
         Value(Supply(CELSIUS).heat_share, "all of it; ours", How.ESTIMATED)),
    )  # fmt: skip


def _bearing(
    given: Given, choice: Choice, kind: str, number: str, journal: str, oil: Oil
) -> FilmBearing:
    table = f"{kind}s"
    clearance = given.fit(f"{kind}-clearance-{number}")
    surface = f"main-journal-{journal}" if kind == "main" else f"crankpin-{journal}"
    diameter = given.size(surface)
    name = f"{kind} {number}"
    if clearance is None or diameter is None:
        lacking = "clearance" if clearance is None else "diameter"
        raise InputError(
            f"The {lacking} of {name} is not known.",
            hint=f"Give limits for {kind} clearance, and the journal's size in [{table}].",
        )
    width = given.needed(f"{table}.shell_width", f"how wide the {kind} shells carry")
    usual = "common practice, no source"
    temperature = given.sure("oil.temperature", 100.0 + CELSIUS, usual)
    if choice.temperature is not None:
        temperature = Value(choice.temperature, "chosen", How.ESTIMATED)
    pressure = given.sure("oil.pressure", 4e5, usual)
    groove = given.duty.words.get(f"{table}.groove", "none")
    middle, extent = _GROOVES[groove]
    fed = _feed(given, table, groove)
    shape = BearingShape(
        diameter=diameter.value,
        width=width.value,
        diametral_clearance=clearance.value + choice.clearance,
        groove_width=fed["groove's width"].value if extent else 0.0,
        groove_middle=middle,
        groove_extent=extent,
    )
    rough = {part: _roughness(given, table, part) for part in ("journal", "shell")}
    expansion, warm = _expansion(given, kind, number, temperature)
    bearing = Bearing(
        shape=shape,
        oil=oil,
        supply=Supply(temperature.value, pressure.value, 0.0 if extent else fed["feed hole"].value),
        expansion=expansion,
        journal_roughness=RMS_OF_RA * rough["journal"].value,
        shell_roughness=RMS_OF_RA * rough["shell"].value,
    )
    sources = (
        ("clearance at 20 °C", clearance),
        ("journal", diameter),
        ("shell width", width),
        ("oil supply temperature", temperature),
        ("oil supply pressure", pressure),
        *fed.items(),
        *((f"roughness of the {part}", found) for part, found in rough.items()),
        *warm,
    )
    fit = f"{kind}-clearance-{number}"
    upright = kind == "main" and given.engine.caps is CapStyle.HALVES
    return FilmBearing(
        f"{kind}-{number}", kind, number, name, fit, bearing, clearance, sources, upright
    )


def _feed(given: Given, table: str, groove: str) -> dict[str, Value]:
    """Return how the oil comes in: by a groove of a width, else by a hole."""
    named = f"{table}.groove" in given.duty.words
    source = f"engine file, {table}.groove: {groove}" if named else "not in the engine file; none"
    found = {"groove": Value(0.0, source, How.FILE if named else How.ESTIMATED)}
    if _GROOVES[groove][1]:
        return found | {"groove's width": given.needed(f"{table}.groove_width", "its groove")}
    nothing = "not in the engine file; counted as none, so the oil comes by what the wedge draws"
    return found | {"feed hole": given.sure(f"{table}.feed_hole", 0.0, nothing)}


def _roughness(given: Given, table: str, part: str) -> Value:
    why = "a smooth one of its kind, run in; common practice, no source"
    return given.sure(f"{table}.{part}_roughness", _SMOOTH[part], why)


def _expansion(
    given: Given, kind: str, number: str, supply: Value
) -> tuple[Expansion | None, tuple[tuple[str, Value], ...]]:
    """Return what a bearing grows by, None where it is not known, and what that rests on."""
    part = "block" if kind == "main" else "rod"
    around = given.expansion(f"{kind}-housing-{number}") or given.material(part)
    crank = given.expansion("main-journal-1", "crankpin-1") or given.material("crank")
    shell = given.material("shell") or Value(
        SHELL_EXPANSION, "steel-backed shell, common practice, no source", How.ESTIMATED
    )
    if around is None or crank is None:
        return None, ()
    housing = housing_of(given, kind, number)
    bore = _size(given, f"{kind} bearing bore", number)
    wall = _size(given, f"{kind} upper shell", number)
    if wall is None and housing is not None and bore is not None:
        half = max(0.0, (housing.value - bore.value) / 2)
        wall = Value(half, "half of housing less shells' bore", How.ESTIMATED)
    if wall is None:
        wall = Value(0.0, "neither measured nor in the file; counted as nothing", How.ESTIMATED)
    oil = supply.value
    warm = given.sure(f"temperatures.{part}", oil + _HOUSING, _WARM)
    journal = given.sure("temperatures.crank", oil + _JOURNAL, _WARM)
    # An estimate follows the oil's temperature where that is drawn; what the file says stays.
    guessed = (warm.how is How.ESTIMATED, journal.how is How.ESTIMATED)
    grown = Expansion(
        housing=around.value,
        shell=shell.value,
        journal=crank.value,
        shell_wall=wall.value,
        housing_temperature=None if guessed[0] else warm.value,
        journal_temperature=None if guessed[1] else journal.value,
        housing_over_supply=_HOUSING,
        journal_over_supply=_JOURNAL,
    )
    return grown, (
        ("housing temperature", warm),
        ("journal temperature", journal),
        ("expansion of the housing", around),
        ("expansion of the shell", shell),
        ("expansion of the crank", crank),
        ("shell's wall", wall),
    )


def housing_of(given: Given, kind: str, number: str) -> Value | None:
    """Return the diameter of a bearing's housing, measured or the file's, with or without a fit."""
    return _size(given, f"{kind} housing", number)


def _size(given: Given, kind: str, number: str) -> Value | None:
    return given.size(f"{kind.replace(' ', '-')}-{number}") or given.expected(kind)


def loads_at(
    given: Given, train: Train, traces: Sequence[PressureTrace], speed: float
) -> tuple[CylinderLoads, dict[str, BearingLoad], Array]:
    """Return the loads of the train, of every bearing by id, and of the mains in the block's frame.

    :param traces: of every cylinder, in the order of labels
    :param speed: rad/s
    """
    bores, under = bores_of(given), crankcase(given).value
    still = (no_gas(given),) * len(train.labels)
    both = [
        cylinder_loads(
            train.layout, train.masses, one, bore=bores, firing=train.firing, speed=speed,
            crankcase_pressure=under,
        )
        for one in (traces, still)
    ]  # fmt: skip
    whole, moved = both
    mains, alone = (
        main_bearing_loads(train.layout, one, np.array(train.mains), speed, train.turning)
        for one in both
    )
    found: dict[str, BearingLoad] = {}
    steady = np.full(whole.angle.size, speed)
    for place, number in enumerate(train.main_labels):
        cycle = LoadCycle(mains[place], steady, speed, train.cycle)
        found[f"main-{number}"] = BearingLoad(cycle, mains[place] - alone[place])
    for place, label in enumerate(train.labels):
        turned = whole.rod_direction[place]
        load = in_axes(whole.rod_bearing[place], turned)
        gas = load - in_axes(moved.rod_bearing[place], turned)
        cycle = LoadCycle(load, speed - whole.rod_velocity[place], speed, train.cycle)
        found[f"rod-{label}"] = BearingLoad(cycle, gas)
    return whole, found, mains
