"""Use cases of the duty check: of an engine file alone, or of a build as it was measured."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict, Unpack

from bedplate.errors import EntryError
from bedplate.quantity import Dimension
from bedplate.record import TraceTaken, Typed
from bedplate.shop.receipts import Receipt
from bedplate.shop.typed import needed, typed_as, unknown
from bedplate.workshop.core import Core
from bedplate.workshop.once import once

if TYPE_CHECKING:
    from bedplate.engine import Engine
    from bedplate.shop.duty.given import Given
    from bedplate.shop.duty.look import TraceLook
    from bedplate.shop.typed import Stamp


class TraceWords(TypedDict, total=False):
    """What is typed of a pressure trace beside its points and its speed.

    :param cylinder: its label, '' where the trace stands for all
    :param firing: angle in it at which firing top dead centre lies; '' for 0
    :param pegged_to: absolute pressure about bottom dead centre; '' where the trace is absolute
    :param source: who measured it, with what
    """

    cylinder: str
    firing: str
    pegged_to: str
    source: str


def given_of(engine: Engine) -> Given:
    """Return what a duty check starts from where there is an engine file and no build."""
    from bedplate.shop.duty.given import Given

    return Given(engine)


class Duty(Core):
    """What a duty check starts from where there is a build, and what is measured for it."""

    def given(self, build: str) -> Given:
        """Return the engine file of a build with what was measured.

        :raises NotFoundError: there is no such build
        """
        from bedplate.shop.duty.given import Given

        state = self.state(build)
        return Given(state.engine, state)

    def look_at_trace(
        self, build: str, points: str, speed: str, **words: Unpack[TraceWords]
    ) -> TraceLook:
        """Return what was read of a pressure trace; nothing is taken.

        :param points: CSV text
        :param speed: at which it was measured, as typed
        :raises InputError: it cannot be used, with what is wrong in it
        """
        blank: Stamp = {"id": "", "at": "", "by": ""}
        return self._look(build, _entry(blank, points, speed, words))

    @once
    def take_trace(
        self,
        build: str,
        points: str,
        speed: str,
        *,
        by: str,
        id: str = "",
        **words: Unpack[TraceWords],
    ) -> Receipt:
        """Take a measured cylinder pressure; it replaces one of the same speed and cylinder.

        :param points: CSV text
        :param speed: at which it was measured, as typed
        :raises InputError: it cannot be used, with what is wrong in it
        """
        entry = _entry(self._stamp(id, by), points, speed, words)
        self._look(build, entry)
        return self._append(build, entry)

    def _look(self, build: str, entry: TraceTaken) -> TraceLook:
        from bedplate.shop.duty.look import look_at
        from bedplate.shop.duty.traces import taken_trace

        engine = self._reckoning(build).engine
        labels = [cylinder.label for cylinder in engine.layout.cylinders]
        if entry.cylinder and entry.cylinder not in labels:
            raise unknown("cylinder", entry.cylinder, labels)
        return look_at(given_of(engine), taken_trace(entry, 0))


def _entry(stamp: Stamp, points: str, speed: str, words: TraceWords) -> TraceTaken:
    from bedplate.engine.duty import GREATEST_SPEED
    from bedplate.engine.traces import GREATEST_FIRING, HIGHEST_PRESSURE, LOWEST_PRESSURE

    needed(speed, "at which speed the trace was measured")
    firing, pegged = words.get("firing", "").strip(), words.get("pegged_to", "").strip()
    return TraceTaken(
        **stamp,
        speed=_between(speed, Dimension.ROTATION, (1.0, GREATEST_SPEED), "speed of a trace"),
        points="\n".join(points.splitlines()),
        cylinder=words.get("cylinder", "").strip(),
        firing=_between(
            firing, Dimension.ANGLE, (-GREATEST_FIRING, GREATEST_FIRING), "angle of firing"
        )
        if firing
        else None,
        pegged_to=_between(
            pegged, Dimension.PRESSURE, (LOWEST_PRESSURE, HIGHEST_PRESSURE), "pressure to peg to"
        )
        if pegged
        else None,
        source=words.get("source", "").strip(),
    )


def _between(text: str, dimension: Dimension, ends: tuple[float, float], what: str) -> Typed:
    read = typed_as(text.strip(), dimension)
    if not ends[0] <= read.si <= ends[1]:
        raise EntryError(f"'{read.text[:40]}' is no {what}.", hint="Check number and unit.")
    return read
