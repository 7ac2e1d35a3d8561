"""The assembly run: cautions shown, parts counted, the crank turned, steps done."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bedplate.errors import EntryError, NotPossibleError, QuantityError
from bedplate.quantity import Dimension, parse
from bedplate.record import (
    AnyEntry,
    AssemblyStep,
    CautionShown,
    CrankTurned,
    GateWaived,
    PartsCounted,
    Typed,
)
from bedplate.shop.receipts import Receipt
from bedplate.shop.typed import needed, unknown
from bedplate.workshop.core import Core
from bedplate.workshop.once import once

if TYPE_CHECKING:
    from bedplate.shop.assembly import StepState
    from bedplate.shop.steps import Step

_WAYS = ("out", "in", "issued", "used", "left")


class Assembling(Core):
    """The use cases of the person who puts it together."""

    @once
    def show_caution(self, build: str, step: str, *, by: str, id: str = "") -> Receipt:
        """Note that a step's caution was shown, and that a person went on."""
        known = self._step(build, step)
        if not known.caution:
            sentence = f"'{known.name}' has no caution."
            raise NotPossibleError(sentence)
        entry = CautionShown(**self._stamp(id, by), step=step, text=known.caution)
        return self._append(build, entry)

    @once
    def do_step(
        self,
        build: str,
        step: str,
        *,
        by: str,
        proofs: Sequence[str] = (),
        remark: str = "",
        reason: str = "",
        id: str = "",
    ) -> Receipt:
        """Note a step of the assembly as done.

        :param proofs: what was seen, in the words of the step; all of them are needed
        :param reason: why it is done although something stands against it; seen for ever
        :raises NotPossibleError: something stands against it, a proof is missing, its caution was
            not shown, or it is done already
        """
        held = self._step_state(build, step)
        _may_be_done(held, proofs)
        self._refuse_balanced(build, f"{remark} {reason}")
        notes: list[AnyEntry] = []
        if held.against:
            if not reason.strip():
                more = len(held.against) - 1
                also = f" ({more} more)" if more else ""
                hint = "Mend it, or give the reason why it is let be: it is seen for ever."
                raise NotPossibleError(f"{held.against[0]}{also}", hint=hint)
            against = tuple(sentence[:300] for sentence in held.against)
            notes.append(
                GateWaived(**self._stamp("", by), step=step, reason=reason.strip(), against=against)
            )
        entry = AssemblyStep(
            **self._stamp(id, by), step=step, proofs=held.step.proofs, remark=remark.strip()
        )
        return self._append_all(build, [*notes, entry])[-1]

    def count_parts(
        self, build: str, item: str, way: str, count: str, *, by: str, id: str = ""
    ) -> Receipt:
        """Note how many parts came out, went in, were issued, used, or are left."""
        needed(item, "what was counted")
        if way not in _WAYS:
            sentence = f"Parts are counted {', '.join(_WAYS)}; not '{way[:40]}'."
            raise EntryError(sentence)
        if not count.strip().isdecimal() or len(count.strip()) > 5:
            sentence = f"'{count[:40]}' is no count."
            raise EntryError(sentence, hint="Type a whole number.")
        entry = PartsCounted(
            **self._stamp(id, by), item=item.strip(), way=way, count=int(count.strip())
        )
        return self._append(build, entry)

    @once
    def turn_crank(
        self,
        build: str,
        after: str,
        running: str,
        *,
        by: str,
        breakaway: str = "",
        id: str = "",
    ) -> Receipt:
        """Note the torque that turns the crank after a step."""
        self._step(build, after)
        entry = CrankTurned(
            **self._stamp(id, by),
            after=after,
            running=_torque(running),
            breakaway=_torque(breakaway) if breakaway.strip() else None,
        )
        return self._append(build, entry)

    def tightening_sheet(self, build: str) -> bytes:
        """Return the tightening plans with boxes as PDF, a joint a page."""
        from bedplate.documents.tightening_sheet import tightening_sheet

        return tightening_sheet(self.state(build))

    def _step(self, build: str, step: str) -> Step:
        from bedplate.shop.steps import steps_of

        steps = steps_of(self._reckoning(build).engine)
        if step not in steps:
            raise unknown("step of the assembly", step, steps)
        return steps[step]

    def _step_state(self, build: str, step: str) -> StepState:
        from bedplate.shop.assembly import assembly

        self._step(build, step)
        return assembly(self.state(build)).steps[step]


def _may_be_done(held: StepState, proofs: Sequence[str]) -> None:
    step = held.step
    if held.standing == "done":
        sentence = f"'{step.name}' is done (entry {held.entry})."
        raise NotPossibleError(sentence, hint="If that was wrong, withdraw the entry.")
    if not held.cautioned:
        sentence = f"The caution before '{step.name}' was not shown yet."
        raise NotPossibleError(sentence, hint="Read it first: it is on the step's own page.")
    missing = [proof for proof in step.proofs if proof not in proofs]
    if missing:
        more = f" ({len(missing) - 1} more)" if len(missing) > 1 else ""
        sentence = f"'{step.name}' needs to be seen: {missing[0]}{more}."
        raise NotPossibleError(sentence, hint="Look at it, then tick it.")


def _torque(text: str) -> Typed:
    read = parse(text, Dimension.TORQUE)
    if not 0 < read.value < 1000:
        sentence = f"'{text[:40]}' does not turn a crank."
        raise QuantityError(sentence)
    return Typed(text=text.strip(), si=read.value)
