"""Joints and their runs: looked up, sealed, stopped, loosened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bedplate.errors import ConflictError, EntryError, NotPossibleError
from bedplate.record import (
    BoltTightened,
    JointLoosened,
    SealantApplied,
    StageDone,
    TighteningBegun,
    TighteningStopped,
)
from bedplate.shop.receipts import Receipt
from bedplate.shop.typed import needed, unknown
from bedplate.wording import capital
from bedplate.workshop.core import Core
from bedplate.workshop.once import once

if TYPE_CHECKING:
    from bedplate.shop.tightening.model import Joint, Run


class Joints(Core):
    """The use cases of a whole joint."""

    def run(self, build: str, run: str) -> Run:
        """Return a run, by id or number of the entry that began it."""
        with self._lock:
            return self._run(build, self._entry_id(build, run))

    @once
    def stop_tightening(
        self, build: str, run: str, reason: str, *, by: str, id: str = ""
    ) -> Receipt:
        """End a run unfinished; the joint is backed off and begins anew."""
        needed(reason, "why it is stopped")
        held = self._run(build, self._entry_id(build, run))
        if held.standing != "on":
            sentence = f"The run of entry {held.number} is {held.standing} already."
            raise NotPossibleError(sentence)
        entry = TighteningStopped(**self._stamp(id, by), run=held.id, reason=reason)
        return self._append(build, entry)

    @once
    def loosen(
        self, build: str, plan: str, reason: str, *, by: str, joint: str = "", id: str = ""
    ) -> Receipt:
        """Note that a tight joint was opened; what rested on it is stale.

        :raises NotPossibleError: it is not tight, or the engine file says never to loosen it
        """
        needed(reason, "why it is opened")
        known = self._joint(build, plan, joint)
        if known.run is None:
            sentence = f"{capital(known.name)} is not tight."
            raise NotPossibleError(sentence)
        if known.run.standing == "on":
            sentence = f"{capital(known.name)} is being tightened (entry {known.run.number})."
            raise NotPossibleError(sentence, hint="Stop that run first.")
        for group in known.plan.groups:
            self._may_loosen(build, group)
        return self._append(
            build, JointLoosened(**self._stamp(id, by), plan=plan, joint=joint, reason=reason)
        )

    def _may_loosen(self, build: str, group: str) -> None:
        fastener = self._reckoning(build).engine.fasteners.get(group)
        if fastener is not None and fastener.never:
            why = fastener.never.removeprefix("never ")
            sentence = f"'{group}' must stay tight; the engine file says: never {why}."
            raise NotPossibleError(sentence)

    @once
    def apply_sealant(
        self, build: str, plan: str, *, by: str, joint: str = "", what: str = "", id: str = ""
    ) -> Receipt:
        """Note that sealant went on a joint: its clock runs."""
        known = self._joint(build, plan, joint)
        asked = known.plan.sealant
        if asked is None and not what.strip():
            sentence = f"The plan '{plan}' names no sealant."
            raise EntryError(sentence, hint="Say which one was used.")
        text = what.strip() or (asked.what if asked else "")
        return self._append(
            build, SealantApplied(**self._stamp(id, by), plan=plan, joint=joint, what=text)
        )

    def _joint(self, build: str, plan: str, joint: str) -> Joint:
        from bedplate.shop.tightening.runs import joint_from
        from bedplate.shop.tightening.words import joints_of

        reckoning = self._reckoning(build)
        plans = reckoning.engine.plans
        if plan not in plans:
            raise unknown("tightening plan", plan, plans)
        there = joints_of(reckoning.engine, plans[plan].per)
        if joint not in there:
            if there == ("",):
                sentence = f"The plan '{plan}' is there once, and has no number '{joint}'."
                raise EntryError(sentence)
            raise unknown(f"{plans[plan].per.value} of the plan '{plan}'", joint, there)
        return joint_from(reckoning.engine, reckoning.others, plans[plan], joint)

    def _run(self, build: str, id: str) -> Run:
        begun = self._reckoning(build).entry(id)
        if not isinstance(begun, TighteningBegun):
            sentence = "That entry begins no tightening run."
            raise NotPossibleError(sentence)
        from bedplate.shop.tightening.runs import run_from

        reckoning = self._reckoning(build)
        run = run_from(reckoning.engine, reckoning.others, id, reckoning.engine.units)
        if run is not None:
            return run
        if begun.plan not in self._reckoning(build).engine.plans:
            sentence = f"The plan '{begun.plan}' is no longer in the engine file."
            raise NotPossibleError(sentence, hint="Its entries are kept in the record.")
        sentence = "That run was withdrawn."
        raise NotPossibleError(sentence)

    def _run_of(self, receipt: Receipt) -> Run:
        entry = self._reckoning(receipt.build).entry(receipt.id)
        if isinstance(entry, TighteningBegun):
            return self._run(receipt.build, entry.id)
        if isinstance(entry, BoltTightened | StageDone):
            return self._run(receipt.build, entry.run)
        sentence = f"Entry {receipt.number} belongs to no tightening run."
        raise ConflictError(sentence, hint="Send it under a new id.")
