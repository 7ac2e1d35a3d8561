"""What an engine file says of the machine shop's work, of shell grades and of ring gaps."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bedplate.quantity import Quantity, Range


class WorkStation(StrEnum):
    """A station of work in a machine shop: each gets a page of the order."""

    MAIN_TUNNEL = "main tunnel"
    BORING = "boring and honing"
    DECK = "deck"
    CRANK = "crank"
    RODS = "rods"
    BALANCE = "balance"
    OTHER = "other work"


@dataclass(frozen=True, slots=True)
class Crosshatch:
    """The angle between the two sets of honing lines, rad, included about the horizontal.

    :param text: as the engine file says it
    """

    low: float
    high: float
    text: str


@dataclass(frozen=True, slots=True)
class Surface:
    """A roughness parameter (ISO 21920-2; Rk, Rpk, Rvk as once in ISO 13565-2) and its limits, m.

    :param name: 'Ra', 'Rpk', 'Rk', 'Rvk'
    """

    name: str
    range: Range


@dataclass(frozen=True, slots=True)
class Work:
    """One [[work]] table.

    :param holds: what the shop can hold: finish sizes are rounded to it, m; None to leave them
    :param tolerance: deviations permitted from a finish size, m; None where the fits' limits hold
    :param states: what is fitted during the work, (what, text): 'torque plate', 'gasket', 'torque'
    :param undersize: of journals and pins, as typed
    :param squish: wanted between piston and head, m, where the deck is worked out from it
    :param gasket_thickness: crushed, m
    :param asks: further work in words, (short name, what is asked)
    :param waits_for: why work cannot be done yet, by its short name
    """

    station: WorkStation
    holds: Quantity | None
    tolerance: Range | None
    states: tuple[tuple[str, str], ...]
    surfaces: tuple[Surface, ...]
    cutoff: Quantity | None
    crosshatch: Crosshatch | None
    undersize: Quantity | None
    pin_undersize: Quantity | None
    fillet: Range | None
    polish: str
    squish: Quantity | None
    gasket_thickness: Quantity | None
    asks: tuple[tuple[str, str], ...]
    waits_for: dict[str, str]
    source: str
    line: int


@dataclass(frozen=True, slots=True)
class Order:
    """The [order] table: who does the work, and what comes back with it.

    :param uncertainty: expanded, k = 2, of the shop's figures where its sheet says none, m
    """

    shop: str
    number: str
    uncertainty: float | None
    back: tuple[str, ...]
    sent: tuple[tuple[str, int], ...]


class ShellRule(StrEnum):
    """How codes on block and crank choose shells."""

    SUM = "sum of codes"
    MATRIX = "matrix"
    HALVES = "independent halves"


@dataclass(frozen=True, slots=True)
class ShellGrade:
    """A grade of half shells and its wall at the crown, m."""

    name: str
    low: float
    high: float
    text: str


@dataclass(frozen=True, slots=True)
class ShellFamily:
    """One [[shells]] table: the shells of one bearing, and how their maker has them chosen.

    :param bearing: 'main' or 'rod'
    :param only: numbers of the bearings it holds for, empty for all
    :param housing_codes, shaft_codes: what is stamped, in the maker's order
    :param by_codes: for `sum`, the grade by the sum of the places of both codes (the first is 0);
        for `matrix`, by (housing code, shaft code); for `halves`, the upper grade by (housing
        code, '') and the lower by ('', shaft code). Values are (upper grade, lower grade).
    :param forbidden: pairs of grades that may not share a bearing
    :param difference: most that the two walls of a bearing may differ, m; None if any
    :param thicker: where the thicker half goes: 'loaded', or '' for either
    :param loaded: 'upper' or 'lower'
    :param grooved: 'upper', 'lower', 'both', or '' where no half is grooved
    :param read_from: end at which the stamped row of codes begins, 'front' or 'rear'
    """

    bearing: str
    part: str
    rule: ShellRule | None
    only: tuple[str, ...]
    grades: dict[str, ShellGrade]
    housing_codes: tuple[str, ...]
    shaft_codes: tuple[str, ...]
    by_codes: dict[tuple[str, str], tuple[str, str]]
    by_sum: tuple[str, ...]
    forbidden: frozenset[frozenset[str]]
    difference: float | None
    thicker: str
    loaded: str
    grooved: str
    read_from: str
    source: str
    line: int


@dataclass(frozen=True, slots=True)
class RingRule:
    """One [[ring]] table: the gap that the ring's maker asks for.

    :param gap: kind of feature, 'top ring gap'
    :param factor: gap for each unit of bore, None where a gap is given
    :param length: gap whatever the bore, m, None where a factor is given
    :param stop_before: how far before the target filing stops to measure, m
    """

    gap: str
    factor: float | None
    length: float | None
    stop_before: float | None
    source: str
    line: int


@dataclass(frozen=True, slots=True)
class Matching:
    """The [matching] table: how parts are matched in weight and fit.

    :param weight: most that the sets of two cylinders may differ, kg
    :param first: 'fit' or 'weight'
    """

    weight: float
    first: str
    time: float


@dataclass(frozen=True, slots=True)
class Machining:
    """All that an engine file says of the shop's work and of which part goes where."""

    order: Order | None = None
    work: tuple[Work, ...] = ()
    shells: tuple[ShellFamily, ...] = ()
    rings: tuple[RingRule, ...] = ()
    matching: Matching | None = None


NOTHING_SAID = Machining()
"""Of an engine file that says nothing of it."""
