"""From the letters and numbers stamped on block and crank to the walls that each bearing needs.

Makers use three families of tables; all are data here. Stamps speak of new parts only: once a
housing or a journal was cut, or wore, the stamp is wrong and the part is to be measured.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Protocol

from bedplate.errors import EntryError
from bedplate.shop.selection.model import Bearing, Estimate, Grade, Role, Side

_BETWEEN = re.compile(r"[\s,;/·-]+")
_UNREADABLE = {"?", "_", "."}


class CodeFamily(Protocol):
    """A maker's table: which two grades a housing code and a journal code ask for."""

    @property
    def housing_codes(self) -> Collection[str]:
        """Return the codes that a housing can bear."""

    @property
    def journal_codes(self) -> Collection[str]:
        """Return the codes that a journal can bear."""

    def grades(self, housing: str, journal: str) -> tuple[str, str]:
        """Return the grade of the upper and of the lower half."""


@dataclass(frozen=True, slots=True)
class SumOfCodes:
    """Both codes stand for numbers, and their sum names the grade of both halves."""

    housing: Mapping[str, int]
    journal: Mapping[str, int]
    grade_of_sum: Mapping[int, str]

    @property
    def housing_codes(self) -> Collection[str]:
        """Return the codes that a housing can bear."""
        return self.housing.keys()

    @property
    def journal_codes(self) -> Collection[str]:
        """Return the codes that a journal can bear."""
        return self.journal.keys()

    def grades(self, housing: str, journal: str) -> tuple[str, str]:
        """Return the grade of the sum, twice."""
        total = self.housing[housing] + self.journal[journal]
        if total not in self.grade_of_sum:
            sentence = f"The table has no grade for {housing} with {journal}, whose sum is {total}."
            raise EntryError(sentence, hint="Read both codes again; else measure.")
        return self.grade_of_sum[total], self.grade_of_sum[total]


@dataclass(frozen=True, slots=True)
class Matrix:
    """A chart: housing code by journal code, in each cell the grade of upper and lower half."""

    cells: Mapping[tuple[str, str], tuple[str, str]]

    @property
    def housing_codes(self) -> Collection[str]:
        """Return the codes that a housing can bear."""
        return {housing for housing, _ in self.cells}

    @property
    def journal_codes(self) -> Collection[str]:
        """Return the codes that a journal can bear."""
        return {journal for _, journal in self.cells}

    def grades(self, housing: str, journal: str) -> tuple[str, str]:
        """Return what stands in the cell."""
        if (housing, journal) not in self.cells:
            sentence = f"The chart has no cell for {housing} with {journal}."
            raise EntryError(sentence, hint="Read both codes again; else measure.")
        return self.cells[housing, journal]


@dataclass(frozen=True, slots=True)
class IndependentHalves:
    """The housing code names one half and the journal code the other.

    :param housing_side: the half that the housing code names
    """

    housing: Mapping[str, str]
    journal: Mapping[str, str]
    housing_side: Side = "upper"

    @property
    def housing_codes(self) -> Collection[str]:
        """Return the codes that a housing can bear."""
        return self.housing.keys()

    @property
    def journal_codes(self) -> Collection[str]:
        """Return the codes that a journal can bear."""
        return self.journal.keys()

    def grades(self, housing: str, journal: str) -> tuple[str, str]:
        """Return each half's own grade."""
        halves = self.housing[housing], self.journal[journal]
        return halves if self.housing_side == "upper" else halves[::-1]


def read_codes(
    stamp: str, places: Sequence[str], known: Collection[str], what: str
) -> dict[str, str]:
    """Return the code of each place, from a stamp as it is read.

    Codes of one character may stand together, longer ones with spaces, commas, dashes or strokes
    between them.

    :param places: bearings in the direction in which the book reads the stamp
    :param known: codes that the maker uses
    :param what: what bears the stamp, such as 'block'
    :raises EntryError: another number of codes than places, or a code that the maker has not
    """
    text = stamp.strip().upper()
    parts = [part for part in _BETWEEN.split(text) if part]
    spelt = {code.upper(): code for code in known}
    codes = parts if len(parts) > 1 or text in spelt else list(text)
    if len(codes) != len(places):
        span = f", from {places[0]} to {places[-1]}" if places else ""
        sentence = (
            f"The {what} stamp '{stamp}' has {len(codes)} codes; {len(places)} are read{span}."
        )
        raise EntryError(sentence, hint="Count the codes on the part, then type them all.")
    found = {}
    for place, code in zip(places, codes, strict=True):
        if code in _UNREADABLE:
            sentence = f"The {what} code of {place} cannot be read."
            raise EntryError(sentence, hint="Clean it with solvent, never scrape it; else measure.")
        if code not in spelt:
            sentence = f"The {what} code of {place} is '{code}', which the maker does not use."
            raise EntryError(sentence, hint=f"The codes are {', '.join(sorted(known))}.")
        found[place] = spelt[code]
    return found


@dataclass(frozen=True, slots=True)
class CodedNeed:
    """What the book asks for in one bearing.

    :param walls: sum of the two nominal walls, m
    """

    bearing: str
    housing: str
    journal: str
    upper: str
    lower: str
    walls: Estimate


def coded_needs(
    families: Mapping[str, CodeFamily],
    housing: Mapping[str, str],
    journal: Mapping[str, str],
    grades: Mapping[str, Grade],
) -> tuple[CodedNeed, ...]:
    """Return the two grades and the wall sum of each bearing.

    :param families: for each bearing its table, since charts differ between odd, even and thrust
    :param housing: for each bearing the code of its housing
    :param journal: for each bearing the code of its journal
    :param grades: what each grade's wall is
    :raises EntryError: a code without a partner, a pair that no table has, an unknown grade
    """
    lonely = sorted(set(families) ^ (set(housing) & set(journal)))
    if lonely:
        sentence = f"{lonely[0]} needs a table, a housing code and a journal code."
        raise EntryError(sentence)
    return tuple(
        _need(id, family, housing[id], journal[id], grades) for id, family in families.items()
    )


def _need(
    id: str, family: CodeFamily, housing: str, journal: str, grades: Mapping[str, Grade]
) -> CodedNeed:
    upper, lower = family.grades(housing, journal)
    for name in (upper, lower):
        if name not in grades:
            raise EntryError(f"{id}: the table asks for grade {name}, whose wall is not given.")
    first, second = grades[upper].wall, grades[lower].wall
    walls = Estimate(first.value + second.value, hypot(first.uncertainty, second.uncertainty))
    return CodedNeed(id, housing, journal, upper, lower, walls)


def bearing_from_codes(
    need: CodedNeed,
    role: Role,
    limits: tuple[float, float, float],
    *,
    family: str = "",
    spread: float = 0.0,
    by_the_book: bool = True,
) -> Bearing:
    """Return a bearing that needs what the codes ask for; its clearance is the maker's promise.

    :param limits: least, promised and greatest clearance, m
    :param spread: standard uncertainty of housing less journal within their two classes, m; for
        classes of width a and b, √(a² + b²)/√12 (GUM 4.3.7)
    :param by_the_book: take only the grades that the book names; else any pair near their sum
    """
    low, target, high = limits
    return Bearing(
        need.bearing,
        role,
        Estimate(need.walls.value, spread),
        target,
        low,
        high,
        family,
        upper_grades=frozenset({need.upper}) if by_the_book else frozenset(),
        lower_grades=frozenset({need.lower}) if by_the_book else frozenset(),
    )
