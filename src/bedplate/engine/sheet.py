"""An engine file while it is read: its values, the line of each, and the faults found so far."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from bedplate.engine.lines import Path, dotted, line_of
from bedplate.errors import Fault, QuantityError
from bedplate.quantity import Dimension, Quantity, Range, parse, parse_range

LONGEST = 700
"""Characters of one half of a fault."""


@dataclass(frozen=True, slots=True)
class Expected:
    """A size as an engine file expects it, m: its ends (equal where one value was given)."""

    low: float
    high: float
    text: str

    @property
    def middle(self) -> float:
        """Return the middle of the two ends, m."""
        return (self.low + self.high) / 2


@dataclass(slots=True)
class Sheet:
    """What is read, and what was found wrong with it; a getter that finds a fault gives None."""

    file: str
    data: dict[str, Any]
    lines: dict[Path, int]
    faults: list[Fault] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    def fault(self, path: Path, wrong: str, right: str = "") -> None:
        """Note something wrong at a path."""
        line = line_of(self.lines, path)
        self.faults.append(Fault(self.file, line, dotted(path), short(wrong), short(right)))

    def refuse(self, path: Path, error: QuantityError) -> None:
        """Note a quantity that could not be read; its sentence may say after ';' what is right."""
        wrong, _, right = error.sentence.rstrip(".").partition("; ")
        self.fault(path, wrong, right or error.hint.rstrip("."))

    def value(self, path: Path) -> Any:  # noqa: ANN401 - TOML gives whatever was written
        """Return what stands at a path, None if nothing does."""
        found: Any = self.data
        for step in path:
            if isinstance(step, int):
                found = found[step] if isinstance(found, list) and step < len(found) else None
            else:
                found = found.get(step) if isinstance(found, dict) else None
            if found is None:
                return None
        return found

    def text(self, path: Path) -> str:
        """Return the text at a path without blanks around it, '' if there is none."""
        found = self.value(path)
        return found.strip() if isinstance(found, str) else ""

    def texts(self, path: Path) -> tuple[str, ...]:
        """Return the list of texts at a path, empty if there is none."""
        found = self.value(path)
        if not isinstance(found, list):
            return ()
        return tuple(item.strip() for item in found if isinstance(item, str))

    def tables(self, name: str) -> range:
        """Return the places of the tables in an array of tables."""
        found = self.data.get(name)
        return range(len(found)) if isinstance(found, list) else range(0)

    def quantity(self, path: Path, dimension: Dimension) -> Quantity | None:
        """Read one quantity."""
        typed = self.value(path)
        if not isinstance(typed, str):
            return None
        try:
            return parse(typed, dimension)
        except QuantityError as error:
            self.refuse(path, error)
            return None

    def length(self, path: Path) -> float | None:
        """Read a length in m."""
        read = self.quantity(path, Dimension.LENGTH)
        return None if read is None else read.value

    def range(self, path: Path) -> Range | None:
        """Read limits of a length."""
        typed = self.value(path)
        if not isinstance(typed, str):
            return None
        try:
            return parse_range(typed, Dimension.LENGTH)
        except QuantityError as error:
            self.refuse(path, error)
            return None

    def expected(self, path: Path) -> Expected | None:
        """Read a size or limits of one that have both ends."""
        typed = self.value(path)
        if not isinstance(typed, str):
            return None
        try:
            one = parse(typed, Dimension.LENGTH)
        except QuantityError:
            return self._expected_range(path, typed)
        return Expected(one.value, one.value, typed)

    def _expected_range(self, path: Path, typed: str) -> Expected | None:
        limits = self.range(path)
        if limits is None:
            return None
        if limits.low is None or limits.high is None:
            self.fault(path, f"'{typed}' has only one end", "write both: '59.000..59.018 mm'")
            return None
        return Expected(limits.low, limits.high, typed)


def short(sentence: str) -> str:
    """Return a sentence on one line, cut where what was written in the file makes it endless."""
    plain = " ".join(sentence.split())
    return plain if len(plain) <= LONGEST else f"{plain[: LONGEST - 1]}…"


def nearest(word: str, known: Iterable[str]) -> str:
    """Return "did you mean 'main journal'" for a word that is not known, '' if nothing is near."""
    import difflib

    found = difflib.get_close_matches(word.lower(), list(known), n=1, cutoff=0.6)
    return f"did you mean '{found[0]}'?" if found else ""
