"""What the pages of assembly and tightening write."""

from __future__ import annotations

import re
from collections.abc import Callable
from urllib.parse import quote

from starlette.responses import Response

from bedplate.errors import EntryError
from bedplate.web.deeds import Deeds, back
from bedplate.web.intake import Sent

_DEGREES = re.compile(r"(?:°|deg(?:ree)?s?)\s*\Z", re.IGNORECASE)


class AssemblyDeeds(Deeds):
    """The forms of the person who puts the engine together."""

    def forms(self) -> dict[str, Callable[[Sent], Response]]:
        """Return every form by the end of its address."""
        return {
            "tightenings": self.begin,
            "bolts": self.bolt,
            "bolts/typed": self.typed_back,
            "stages": self.stage,
            "stops": self.stop,
            "loosenings": self.loosen,
            "sealants": self.sealant,
            "fasteners/fitted": self.fitted,
            "fasteners/measured": self.measured,
            "cautions": self.caution,
            "counts": self.count,
            "turnings": self.turning,
            "steps": self.step,
        }

    def begin(self, sent: Sent) -> Response:
        """Begin a tightening run."""
        said = {
            name.partition(":")[2]: (
                sent[f"other:{name.partition(':')[2]}"] if value == "other" else value
            )
            for name, value in sent.fields.items()
            if name.startswith("lubricant:")
        }
        empty = [group for group, text in said.items() if not text.strip()]
        if empty:
            sentence = f"It is not said what is on the bolts of '{empty[0]}'."
            raise EntryError(sentence, hint="Name the lubricant, or write 'dry'.")
        receipt = self._workshop.begin_tightening(
            sent.build, sent["plan"], by=sent.by, joint=sent["joint"], purpose=sent["purpose"],
            lubricants=said, wrench=sent["wrench"], reads_in=sent["reads_in"], arm=sent["arm"],
            adapter=sent["adapter"], reason=sent["reason"], id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, f"/builds/{sent.build}/tightening?run={receipt.run}")

    def bolt(self, sent: Sent) -> Response:
        """Take what was done to a bolt."""
        torque, angle = sent["torque"].strip(), sent["angle"].strip()
        if _DEGREES.search(torque):
            torque, angle = "", torque
        if sent["parted"] == "yes" and not angle:
            sentence = "It is not said how many degrees are done."
            raise EntryError(sentence, hint="Type them, or say that nobody knows.")
        receipt = self._workshop.tighten(
            sent.build, sent["run"], _whole(sent["bolt"], "bolt"), by=sent.by,
            stage=_whole(sent["stage"], "stage"), torque=torque, angle=angle,
            stretch=sent["stretch"].strip(),
            unknown_angle=sent["unknown"] == "yes", remark=sent["remark"], id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, f"/builds/{sent.build}/tightening?run={receipt.run}")

    def typed_back(self, sent: Sent) -> Response:
        """Take the bolts that were ticked on paper."""
        numbers = [_whole(n, "bolt") for n in sent["bolts"].replace(",", " ").split()]
        receipt = self._workshop.tighten_in_order(
            sent.build, sent["run"], numbers, by=sent.by, remark=sent["remark"], id=sent["id"]
        )
        return self._done(sent, receipt, f"/builds/{sent.build}/tightening?run={receipt.run}")

    def stage(self, sent: Sent) -> Response:
        """Take a stage that turns no bolt."""
        receipt = self._workshop.finish_stage(
            sent.build, sent["run"], by=sent.by, value=sent["torque"].strip(),
            stage=_whole(sent["stage"], "stage"), remark=sent["remark"], id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, f"/builds/{sent.build}/tightening?run={receipt.run}")

    def stop(self, sent: Sent) -> Response:
        """End a run unfinished."""
        receipt = self._workshop.stop_tightening(
            sent.build, sent["run"], sent["reason"].strip(), by=sent.by, id=sent["id"]
        )
        return self._done(sent, receipt, f"/builds/{sent.build}/tightening")

    def loosen(self, sent: Sent) -> Response:
        """Note that a joint was opened."""
        receipt = self._workshop.loosen(
            sent.build, sent["plan"], sent["reason"].strip(), by=sent.by, joint=sent["joint"],
            id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, back(sent, f"/builds/{sent.build}/tightening"))

    def sealant(self, sent: Sent) -> Response:
        """Note that sealant went on."""
        receipt = self._workshop.apply_sealant(
            sent.build, sent["plan"], by=sent.by, joint=sent["joint"], what=sent["what"],
            id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, back(sent, f"/builds/{sent.build}/tightening"))

    def fitted(self, sent: Sent) -> Response:
        """Note which bolts went in."""
        cycles = sent["cycles"].strip()
        numbers = [_whole(n, "bolt") for n in sent["bolts"].replace(",", " ").split()]
        receipt = self._workshop.fit_fasteners(
            sent.build, sent["group"], by=sent.by, joint=sent["joint"],
            condition=sent["condition"], numbers=numbers, identity=sent["identity"],
            cycles=_whole(cycles, "count") if cycles else None, id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, back(sent, f"/builds/{sent.build}/fasteners"))

    def measured(self, sent: Sent) -> Response:
        """Note what was measured of a bolt."""
        receipt = self._workshop.measure_bolt(
            sent.build, sent["group"], _whole(sent["bolt"], "bolt"), sent["what"],
            sent["value"].strip(), by=sent.by, joint=sent["joint"], gauge=sent["gauge"],
            id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, back(sent, f"/builds/{sent.build}/fasteners"))

    def caution(self, sent: Sent) -> Response:
        """Note that a caution was shown."""
        receipt = self._workshop.show_caution(sent.build, sent["step"], by=sent.by, id=sent["id"])
        return self._done(sent, receipt, self._at(sent))

    def count(self, sent: Sent) -> Response:
        """Note a count."""
        receipt = self._workshop.count_parts(
            sent.build, sent["item"], sent["way"], sent["count"], by=sent.by, id=sent["id"]
        )
        return self._done(sent, receipt, back(sent, f"/builds/{sent.build}/assembly"))

    def turning(self, sent: Sent) -> Response:
        """Note a turning torque."""
        receipt = self._workshop.turn_crank(
            sent.build, sent["step"], sent["running"].strip(), by=sent.by,
            breakaway=sent["breakaway"].strip(), id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, self._at(sent))

    def step(self, sent: Sent) -> Response:
        """Note a step as done."""
        receipt = self._workshop.do_step(
            sent.build, sent["step"], by=sent.by, proofs=sent.lists.get("proof", ()),
            remark=sent["remark"], reason=sent["reason"], id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, f"/builds/{sent.build}/assembly")

    def _at(self, sent: Sent) -> str:
        return f"/builds/{sent.build}/assembly?step={quote(sent['step'])}"


def _whole(text: str, what: str) -> int:
    plain = text.strip()
    if not plain.isdecimal() or len(plain) > 6:
        sentence = f"'{text[:40]}' is no number of a {what}."
        raise EntryError(sentence)
    return int(plain)
