"""What was measured of a build's crank in torsion, in the place of an estimate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from bedplate.engine.balancing import CRANK
from bedplate.errors import EntryError
from bedplate.quantity import Dimension, parse
from bedplate.record.entries import Reworked, TorsionMeasured, Typed
from bedplate.record.standing import standing
from bedplate.shop.balance.weights import COVERAGE
from bedplate.shop.duty.given import How, Value
from bedplate.shop.model import State
from bedplate.shop.typed import typed_as, unknown

STIFFNESS, FREQUENCY = "throw_stiffness", "known_frequency"

KINDS: dict[str, tuple[str, Dimension, float, float]] = {
    "stiffness of a throw": (STIFFNESS, Dimension.TORSIONAL_STIFFNESS, 1.0, 1e12),
    "first natural frequency": (FREQUENCY, Dimension.ROTATION, 6.0, 6.3e4),
}
"""What can be measured: the engine file's key, what it is, and between which SI values it lies."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What the record holds of it.

    :param values: by the engine file's key
    :param numbers: entry of each, by the same key
    :param doubts: what was measured and no longer counts, as sentences
    """

    values: Mapping[str, Value] = field(default_factory=dict)
    numbers: Mapping[str, int] = field(default_factory=dict)
    doubts: tuple[str, ...] = ()


def measured_of(state: State | None) -> Measured:
    """Return what was measured last and still counts."""
    if state is None:
        return Measured()
    values: dict[str, Value] = {}
    numbers: dict[str, int] = {}
    reworked = max(
        (
            n.number
            for n in state.entries
            if isinstance(n.entry, Reworked) and n.entry.part == CRANK
        ),
        default=0,
    )
    doubts: dict[str, None] = {}
    for row in standing(state.entries):
        entry = row.entry
        if not isinstance(entry, TorsionMeasured) or entry.what not in KINDS:
            continue
        if row.number < reworked:
            doubts[
                f"The crank was reworked after its {entry.what} was measured; measure it again."
            ] = None
            continue
        key = KINDS[entry.what][0]
        standard = entry.uncertainty.si / COVERAGE if entry.uncertainty else 0.0
        with_what = f", {entry.instrument}" if entry.instrument else ""
        source = f"entry {row.number}, {entry.by}{with_what}"
        values[key] = Value(entry.value.si, source, How.MEASURED, standard)
        numbers[key] = row.number
    return Measured(values, numbers, tuple(doubts))


def read_measured(what: str, value: str, uncertainty: str) -> tuple[Typed, Typed | None]:
    """Read a value and its expanded uncertainty, which may be a share of it.

    :raises InputError: it is no such thing, or cannot be
    """
    if what not in KINDS:
        raise unknown("thing to measure in torsion", what, KINDS)
    _, dimension, low, high = KINDS[what]
    typed = typed_as(value.strip(), dimension)
    if not low <= typed.si <= high:
        sentence = f"No crank has a {what} of {value.strip()}."
        raise EntryError(sentence, hint="Check number and unit.")
    if not uncertainty.strip():
        return typed, None
    text = uncertainty.strip().removeprefix("±").strip()
    share = text.endswith("%")
    read = parse(text, Dimension.RATIO if share else dimension).value
    unsure = Typed(text=text, si=read * typed.si if share else read)
    if not 0 < unsure.si < typed.si / 2:
        sentence = f"{value.strip()} that is out by {text} says nothing."
        raise EntryError(sentence, hint="Give its expanded uncertainty, k = 2, such as 2 %.")
    return typed, unsure
