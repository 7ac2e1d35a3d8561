"""Tightening runs: begun, and done bolt by bolt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from bedplate.engine import Doing
from bedplate.errors import ConflictError, EntryError, NotPossibleError
from bedplate.record import (
    AnyEntry,
    BoltMeasured,
    BoltTightened,
    CautionShown,
    GateWaived,
    OnBolts,
    StageDone,
    TighteningBegun,
)
from bedplate.shop.bolt_texts import (
    length_of,
    outcome_of,
    read_stretch,
    read_torque,
    turning_torque,
    unit_of_wrench,
    wrench_set,
)
from bedplate.shop.receipts import Receipt
from bedplate.shop.tightening.asked import check_ready, own_stage, stage_for
from bedplate.wording import capital
from bedplate.workshop.joints import Joints

if TYPE_CHECKING:
    from bedplate.engine import Plan, Stage
    from bedplate.shop.bolt_receipts import RunReceipt
    from bedplate.shop.tightening.model import Joint, Run


class Tightening(Joints):
    """The use cases of the person on the wrench."""

    def begin_tightening(
        self,
        build: str,
        plan: str,
        *,
        by: str,
        purpose: str,
        joint: str = "",
        lubricants: Mapping[str, str] | None = None,
        wrench: str = "",
        reads_in: str = "",
        arm: str = "",
        adapter: str = "",
        reason: str = "",
        id: str = "",
    ) -> RunReceipt:
        """Begin a run of a plan on a joint.

        :param purpose: 'trial' or 'final'
        :param lubricants: what is on the bolts of each group; where nothing is said, what the
            engine file asks for
        :param arm: from handle to square of the wrench; with an adapter only
        :param reason: why it begins although something stands against it; seen for ever
        :raises NotPossibleError: the joint is tight or under way, a gate is not open, a single-use
            bolt was used, or another lubricant is on the bolts than is asked for
        """
        with self._lock:
            again = self._taken(id)
            if again is not None:
                return self._answer(again, self._run_of(again), "begun")
            known = self._joint(build, plan, joint)
            check_ready(known, purpose)
            for stage in known.plan.stages:
                if stage.doing is Doing.LOOSEN:
                    self._may_loosen(build, stage.group)
            entry = TighteningBegun(
                **self._stamp(id, by),
                plan=plan,
                joint=joint,
                purpose=purpose,
                digest=known.plan.digest,
                on_bolts=self._on_bolts(build, known.plan, lubricants or {}),
                wrench=wrench.strip(),
                reads_in=unit_of_wrench(reads_in),
                arm=length_of(arm, "the arm of the wrench"),
                adapter=length_of(adapter, "the adapter"),
                reason=reason.strip(),
            )
            if (entry.arm is None) != (entry.adapter is None):
                sentence = "An adapter is reckoned with the length of the wrench, and needs both."
                raise EntryError(sentence, hint="Measure from the middle of the handle.")
            others = self._against(build, known, entry, by, reason.strip())
            receipt = self._append_all(build, [*others, entry])[-1]
            return self._answer(receipt, self._run(build, entry.id), "begun")

    def _against(
        self, build: str, joint: Joint, entry: TighteningBegun, by: str, reason: str
    ) -> list[AnyEntry]:
        """Refuse a beginning that something stands against, or note why it is let be."""
        from bedplate.shop.cautions import caution

        step, gate = self._gate(build, joint, entry.purpose)
        bolts = self._bolts_against(build, joint, entry)
        against = [*gate, *(one for one in bolts if not any(one in said for said in gate))]
        if against and not reason:
            hint = "Mend it, or give the reason why it begins all the same: it is seen for ever."
            more = f" (and {len(against) - 1} more)" if len(against) > 1 else ""
            raise NotPossibleError(f"{_ended(against[0])}{more}", hint=hint)
        notes: list[AnyEntry] = []
        if gate:
            waived = tuple(sentence[:300] for sentence in gate)
            notes.append(
                GateWaived(**self._stamp("", by), step=step, reason=reason, against=waived)
            )
        about = f"tighten {joint.plan.name}"
        rows = self._reckoning(build).entries
        if not any(isinstance(n.entry, CautionShown) and n.entry.step == about for n in rows):
            text = caution("tightening")
            notes.append(CautionShown(**self._stamp("", by), step=about, text=text))
        return notes

    def _gate(self, build: str, joint: Joint, purpose: str) -> tuple[str, tuple[str, ...]]:
        from bedplate.shop.assembly import before_joint

        if purpose != "final":
            return "", ()
        step, against = before_joint(self.state(build), joint.plan.name, joint.joint)
        return step.id if step is not None else "", against

    def _bolts_against(self, build: str, joint: Joint, entry: TighteningBegun) -> list[str]:
        from bedplate.shop.clamping.lubricants import mismatch
        from bedplate.shop.fasteners import Again, bolts
        from bedplate.shop.fastening import doubts_of_plan
        from bedplate.shop.tightening.blocks import indeterminate

        engine = self._reckoning(build).engine
        found = [doubt.sentence for doubt in doubts_of_plan(self.state(build), joint.plan)]
        for on in entry.on_bolts:
            wrong = mismatch(engine.fasteners[on.group], on.lubricant)
            if wrong is not None:
                found.append(f"{on.group}: {wrong.sentence}")
        # A trial may use old bolts, but not those of which nobody knows how far they were turned.
        asked = joint.plan.groups if entry.purpose == "final" else indeterminate(joint, engine)
        spent = [
            bolt
            for bolt in (bolts(self.state(build)).values() if asked else ())
            if bolt.fastener.group in asked
            and bolt.joint == joint.joint
            and bolt.again is Again.REPLACE
        ]
        if spent:
            names = ", ".join(bolt.name for bolt in spent[:3])
            more = f" and {len(spent) - 3} more" if len(spent) > 3 else ""
            found.append(f"{names}{more}: {spent[0].why} ({spent[0].source}).")
        return found

    def _on_bolts(self, build: str, plan: Plan, said: Mapping[str, str]) -> tuple[OnBolts, ...]:
        fasteners = self._reckoning(build).engine.fasteners
        rows = []
        for group in plan.groups:
            used = said.get(group, "").strip() or fasteners[group].lubricant
            if not used:
                sentence = f"It is not said what is on the bolts of '{group}'."
                hint = "The engine file names no lubricant: say which is used, or 'dry'."
                raise EntryError(sentence, hint=hint)
            rows.append(OnBolts(group=group, lubricant=used))
        return tuple(rows)

    def tighten(
        self,
        build: str,
        run: str,
        bolt: int,
        *,
        by: str,
        stage: int = 0,
        angle: str = "",
        torque: str = "",
        stretch: str = "",
        unknown_angle: bool = False,
        remark: str = "",
        id: str = "",
    ) -> RunReceipt:
        """Note a bolt as done in a stage, as turned part-way, or as left where nobody knows.

        :param run: id or number of the entry that began the run
        :param stage: the stage it was done in, 0 for the one that is on
        :param angle: degrees done so far, where the angle was left before its end
        :param torque: read at the end, in the wrench's unit unless it has its own
        :param stretch: read at its end, where the stage tightens by stretch
        :param remark: why it is not the bolt that comes next, or why an angle was parted
        :raises NotPossibleError: another bolt is next, it is done already, or the run is blocked
        """
        with self._lock:
            again = self._taken(id)
            if again is not None:
                self._same_bolt(again, stage, bolt)
                return self._answer(again, self._run_of(again), "")
            held = self._run(build, self._entry_id(build, run))
            asked = stage_for(held, stage, bolt)
            self._may_tighten(build, held, asked, bolt, remark.strip())
            outcome, turned = outcome_of(asked, angle, unknown=unknown_angle)
            others = self._stretched(build, held, asked, bolt, stretch, remark, outcome, by)
            entry = BoltTightened(
                **self._stamp(id, by),
                run=held.id,
                stage=asked.number,
                group=asked.group,
                bolt=bolt,
                outcome=outcome,
                angle=turned,
                torque=read_torque(asked, torque, held, remark),
                wrench_set=wrench_set(asked, held),
                remark=remark.strip(),
            )
            receipt = self._append_all(build, [*others, entry])[-1]
            return self._answer(receipt, self._run(build, held.id), self._named(build, entry))

    def _stretched(
        self,
        build: str,
        run: Run,
        stage: Stage,
        bolt: int,
        text: str,
        remark: str,
        outcome: str,
        by: str,
    ) -> list[AnyEntry]:
        """Return what was measured of a bolt that is tightened by its stretch."""
        if outcome != "done":
            return []
        fastener = self._reckoning(build).engine.fasteners[stage.group]
        typed = read_stretch(stage, text, fastener, remark)
        if typed is None:
            return []
        return [
            BoltMeasured(
                **self._stamp("", by),
                group=stage.group,
                joint=run.joint,
                bolt=bolt,
                what="stretch",
                value=typed,
            )
        ]

    def tighten_in_order(
        self,
        build: str,
        run: str,
        bolts: Sequence[int],
        *,
        by: str,
        remark: str = "",
        id: str = "",
    ) -> RunReceipt:
        """Note several bolts of the stage that is on, as ticked on paper: all of them or none.

        :param bolts: in the order they were done, which is the maker's from the next one on
        """
        with self._lock:
            again = self._taken(id)
            if again is not None:
                return self._answer(again, self._run_of(again), "")
            held = self._run(build, self._entry_id(build, run))
            if not bolts:
                sentence = "No bolt is named."
                raise EntryError(sentence)
            asked = stage_for(held, 0, bolts[0])
            self._may_tighten(build, held, asked, bolts[0], "")
            if asked.doing is Doing.STRETCH:
                sentence = "A stretch is read at each bolt: they are typed one by one."
                raise EntryError(sentence)
            following = held.stages[asked.number - 1].left
            for place, bolt in enumerate(bolts):
                if following[place : place + 1] != (bolt,):
                    expected = following[place] if place < len(following) else "no other"
                    sentence = (
                        f"Bolt {bolt} is number {place + 1} in what was typed; the maker's order "
                        f"asks for {expected} there. None was taken."
                    )
                    raise NotPossibleError(sentence, hint="Type them as they were ticked.")
            entries = [
                BoltTightened(
                    **self._stamp(id if last else "", by),
                    run=held.id,
                    stage=asked.number,
                    group=asked.group,
                    bolt=bolt,
                    outcome="done",
                    angle=outcome_of(asked, "", unknown=False)[1],
                    wrench_set=wrench_set(asked, held),
                    remark=remark.strip() or "typed back from paper",
                )
                for bolt in bolts
                for last in [bolt == bolts[-1]]
            ]
            receipt = self._append_all(build, entries)[-1]
            named = ", ".join(str(bolt) for bolt in bolts)
            return self._answer(receipt, self._run(build, held.id), f"{asked.group} {named}")

    def _may_tighten(self, build: str, run: Run, stage: Stage, bolt: int, remark: str) -> None:
        from bedplate.shop.tightening.model import DONE
        from bedplate.shop.tightening.words import bolt_name

        fasteners = self._reckoning(build).engine.fasteners
        name = bolt_name(fasteners.get(stage.group), stage.group, run.joint, bolt)
        state = run.stages[stage.number - 1]
        step = next((s for s in state.bolts if s.bolt == bolt), None)
        if step is None:
            count = fasteners[stage.group].count if stage.group in fasteners else 0
            if not 1 <= bolt <= count:
                sentence = f"There is no bolt {bolt} in '{stage.group}'; it has 1 to {count}."
                raise EntryError(sentence)
            sentence = f"Stage {stage.number} does not touch {name}."
            raise NotPossibleError(sentence)
        if step.outcome == DONE:
            sentence = f"{capital(name)} is done in stage {stage.number} (entry {step.entry})."
            hint = f"If that was wrong, withdraw entry {step.entry}."
            raise NotPossibleError(sentence, hint=hint)
        code = run.block.code if run.block else ""
        if run.block and not (code in {"one pull", "gap"} and remark):
            raise NotPossibleError(run.block.sentence, hint=run.block.to_do)
        following = run.next
        if following is not None and following.bolt != bolt and not remark:
            expected = bolt_name(
                fasteners.get(stage.group), stage.group, run.joint, following.bolt or 0
            )
            sentence = f"The maker's order asks for {expected} next, not for {name}."
            raise NotPossibleError(sentence, hint="If it was done all the same, say why.")

    def finish_stage(
        self,
        build: str,
        run: str,
        *,
        by: str,
        value: str = "",
        remark: str = "",
        stage: int = 0,
        id: str = "",
    ) -> RunReceipt:
        """Note a stage that turns no bolt: the crank was turned, or the time has passed.

        :param value: the torque that turned the crank
        :raises NotPossibleError: another stage is next, or bolts of it are not done
        """
        with self._lock:
            again = self._taken(id)
            if again is not None:
                return self._answer(again, self._run_of(again), "")
            held = self._run(build, self._entry_id(build, run))
            asked = own_stage(held, stage)
            entry = StageDone(
                **self._stamp(id, by),
                run=held.id,
                stage=asked.number,
                value=turning_torque(asked, value, held, remark),
                remark=remark.strip(),
            )
            receipt = self._append(build, entry)
            return self._answer(
                receipt, self._run(build, held.id), f"stage {asked.number}, {asked.doing.value}"
            )

    def _same_bolt(self, receipt: Receipt, stage: int, bolt: int) -> None:
        entry = self._reckoning(receipt.build).entry(receipt.id)
        same = isinstance(entry, BoltTightened) and entry.bolt == bolt
        if not same or (stage and isinstance(entry, BoltTightened) and entry.stage != stage):
            sentence = f"Id {receipt.id} was used for entry {receipt.number}, which says otherwise."
            raise ConflictError(sentence, hint="Send it under a new id.")

    def _answer(self, receipt: Receipt, run: Run, done: str) -> RunReceipt:
        from bedplate.shop.bolt_receipts import run_receipt

        engine = self._reckoning(receipt.build).engine
        return run_receipt(receipt, run, engine, engine.units, done)

    def _named(self, build: str, entry: BoltTightened) -> str:
        from bedplate.quantity import Dimension
        from bedplate.shop.tightening.words import bolt_name, spoken

        begun = self._reckoning(build).entry(entry.run)
        joint = begun.joint if isinstance(begun, TighteningBegun) else ""
        fastener = self._reckoning(build).engine.fasteners.get(entry.group)
        name = bolt_name(fastener, entry.group, joint, entry.bolt)
        if entry.outcome == "part" and entry.angle is not None:
            return f"{name}: {spoken(entry.angle, Dimension.ANGLE)} so far"
        return f"{name}: nobody knows" if entry.outcome == "unknown" else name


def _ended(text: str) -> str:
    return text if text.endswith((".", "?", "!", ")")) else f"{text}."
