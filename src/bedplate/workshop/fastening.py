"""The life of bolts: which went in, and what was measured of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bedplate.errors import EntryError, NotPossibleError, QuantityError
from bedplate.quantity import Dimension, parse
from bedplate.record import BoltMeasured, FastenersFitted, Typed
from bedplate.shop.receipts import Receipt
from bedplate.shop.typed import unknown
from bedplate.workshop.core import Core
from bedplate.workshop.once import once

if TYPE_CHECKING:
    from bedplate.engine import Fastener


class Fastening(Core):
    """The use cases of the person who opens the bag of bolts."""

    @once
    def fit_fasteners(
        self,
        build: str,
        group: str,
        *,
        by: str,
        condition: str,
        joint: str = "",
        numbers: Sequence[int] = (),
        cycles: int | None = None,
        identity: str = "",
        id: str = "",
    ) -> Receipt:
        """Note which bolts went into a group's holes.

        :param condition: 'new' or 'used'
        :param numbers: of the holes; all of them if none is named
        :param cycles: tightenings of used ones before, None where nobody knows
        """
        fastener = self._group(build, group, joint)
        if fastener.never:
            sentence = f"'{group}' is never to be taken out: {fastener.never}."
            raise NotPossibleError(sentence)
        for number in numbers:
            _in_group(fastener, number)
        if condition not in {"new", "used"}:
            sentence = f"Bolts are 'new' or 'used', not '{condition[:40]}'."
            raise EntryError(sentence)
        if cycles is not None and not 0 <= cycles <= 1000:
            sentence = f"A bolt was not tightened {cycles} times."
            raise EntryError(sentence)
        entry = FastenersFitted(
            **self._stamp(id, by),
            group=group,
            joint=joint,
            bolts=tuple(numbers) or tuple(range(1, fastener.count + 1)),
            condition=condition,
            cycles=None if condition == "new" else cycles,
            identity=identity.strip(),
        )
        return self._append(build, entry)

    @once
    def measure_bolt(
        self,
        build: str,
        group: str,
        number: int,
        what: str,
        value: str,
        *,
        by: str,
        joint: str = "",
        gauge: str = "",
        id: str = "",
    ) -> Receipt:
        """Note a bolt's free length, its stretch or its least diameter ('neck')."""
        fastener = self._group(build, group, joint)
        _in_group(fastener, number)
        if what not in {"length", "stretch", "neck"}:
            sentence = f"A bolt's length, stretch or neck is measured, not '{what[:40]}'."
            raise EntryError(sentence)
        read = parse(value, Dimension.LENGTH)
        if not 0 < read.value < 2:
            sentence = f"'{value[:40]}' is no {what} of a bolt."
            raise QuantityError(sentence)
        entry = BoltMeasured(
            **self._stamp(id, by),
            group=group,
            joint=joint,
            bolt=number,
            what=what,
            value=Typed(text=value.strip(), si=read.value),
            gauge=gauge.strip(),
        )
        return self._append(build, entry)

    def _group(self, build: str, group: str, joint: str) -> Fastener:
        from bedplate.shop.tightening.words import joints_of

        engine = self._reckoning(build).engine
        if group not in engine.fasteners:
            raise unknown("group of fasteners", group, engine.fasteners)
        fastener = engine.fasteners[group]
        there = joints_of(engine, fastener.per)
        if joint not in there:
            raise unknown(f"{fastener.per.value} of '{group}'", joint, there)
        return fastener


def _in_group(fastener: Fastener, number: int) -> None:
    if not 1 <= number <= fastener.count:
        count = fastener.count
        sentence = f"There is no bolt {number} in '{fastener.group}'; it has 1 to {count}."
        raise EntryError(sentence)
