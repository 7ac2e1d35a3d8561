"""What the page writes: each deed is one use case, and its answer a receipt."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import quote

import msgspec
from starlette.responses import JSONResponse, RedirectResponse, Response

from bedplate.errors import EntryError
from bedplate.web.intake import Sent, remember, wants_json

if TYPE_CHECKING:
    from bedplate.shop.receipts import Receipt
    from bedplate.workshop import Workshop


def back(sent: Sent, otherwise: str) -> str:
    """Return where a form asked to go on, if that is a page of ours."""
    asked = sent["back"]
    ours = asked.startswith("/") and not asked.startswith(("//", "/\\"))
    return asked if ours and asked.isprintable() else otherwise


class Deeds:
    """Every form, over one workshop."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop

    def _done(self, sent: Sent, receipt: Receipt, go: str) -> Response:
        """Answer with a receipt, or lead on; keep who it was on this device."""
        if wants_json(sent.request):
            answer = {**msgspec.to_builtins(receipt), "go": go}
            response: Response = JSONResponse(answer)
        else:
            response = RedirectResponse(go, 303)
        if sent["by"].strip():
            remember(response, sent["by"].strip())
        return response

    def name(self, sent: Sent) -> Response:
        """Keep who works at this device."""
        name = sent["by"].strip()
        if not name:
            sentence = "It is not said who works here."
            raise EntryError(sentence, hint="Type a name or initials.")
        go = back(sent, "/")
        response = (
            JSONResponse({"go": go}) if wants_json(sent.request) else RedirectResponse(go, 303)
        )
        remember(response, name)
        return response

    def start(self, sent: Sent) -> Response:
        """Start a build from an example, a file or text."""
        from bedplate.engine import examples

        text, file = sent["engine"].strip(), "the text given"
        if "file" in sent.files:
            file, data = sent.files["file"]
            text = _utf8(data, file)
        elif not text:
            file = sent["example"]
            known = examples()
            if file not in known:
                sentence = "No engine file was given."
                raise EntryError(sentence, hint="Choose an example, a file, or paste the text.")
            text = known[file]
        receipt = self._workshop.start(
            text, by=sent.by, file=file, build=sent["build"].strip(), title=sent["title"].strip(),
            previous=sent["previous"], gauges_of=sent["gauges_of"], id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, f"/builds/{receipt.build}/")

    def take_in(self, sent: Sent) -> Response:
        """Import a whole record."""
        if "record" not in sent.files:
            sentence = "No record was given."
            raise EntryError(sentence, hint="Choose the .jsonl file that an export made.")
        file, data = sent.files["record"]
        brief = self._workshop.import_(data, file)
        go = f"/builds/{brief.build}/"
        if wants_json(sent.request):
            return JSONResponse({**msgspec.to_builtins(brief), "go": go})
        return RedirectResponse(go, 303)

    def revise(self, sent: Sent) -> Response:
        """Take the changed engine file of a build."""
        text = sent["engine"].replace("\r\n", "\n")
        if "file" in sent.files:
            file, data = sent.files["file"]
            text = _utf8(data, file)
        receipt = self._workshop.revise(
            sent.build, text, reason=sent["reason"].strip(), by=sent.by, id=sent["id"]
        )
        return self._done(sent, receipt, f"/builds/{sent.build}/record")

    def readings(self, sent: Sent) -> Response:
        """Take the readings of a CSV file: all of them, or none."""
        if "readings" not in sent.files:
            sentence = "No file of readings was given."
            raise EntryError(sentence, hint="Choose the CSV file; its first line names columns.")
        file, data = sent.files["readings"]
        receipts = self._workshop.read_csv(sent.build, data, file, by=sent.by)
        go = f"/builds/{sent.build}/record"
        if receipts:
            return self._done(sent, receipts[-1], go)
        return JSONResponse({"go": go}) if wants_json(sent.request) else RedirectResponse(go, 303)

    def reading(self, sent: Sent) -> Response:
        """Take a reading."""
        receipt = self._workshop.read(
            sent.build, sent["feature"], sent["station"], sent["value"].strip(), sent["gauge"],
            by=sent.by, condition=_condition(sent), part_temperature=sent["part_temperature"],
            gauge_temperature=sent["gauge_temperature"], id=sent["id"],
        )  # fmt: skip
        go = f"/builds/{sent.build}/measure?entry={receipt.number}"
        if receipt.next:
            go += f"&feature={quote(receipt.next.feature)}&station={quote(receipt.next.station)}"
        return self._done(sent, receipt, go)

    def setting(self, sent: Sent) -> Response:
        """Set a comparator."""
        on_gauge = sent["on_gauge"] if sent["set_in"] != "master" else ""
        receipt = self._workshop.set_comparator(
            sent.build, sent["gauge"], sent["size"].strip(), by=sent.by, on_gauge=on_gauge,
            master="" if on_gauge else sent["master"].strip(),
            size_uncertainty="" if on_gauge else sent["size_uncertainty"].strip(),
            found=sent["found"].strip(), temperature=sent["temperature"].strip(), id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, back(sent, f"/builds/{sent.build}/gauges"))

    def gauge(self, sent: Sent) -> Response:
        """Register a gauge."""
        from bedplate.shop.gauges import usual_figures

        kind, reads_in = sent["gauge_kind"].strip(), sent["reads_in"].strip()
        offer = usual_figures(kind, reads_in, self._workshop.state(sent.build).units)
        comparator = {"yes": True, "no": False}.get(sent["comparator"])
        receipt = self._workshop.register_gauge(
            sent.build, sent["gauge"].strip(), by=sent.by, gauge_kind=kind,
            name=sent["name"].strip(), resolution=sent["resolution"],
            expanded_uncertainty=sent["expanded_uncertainty"],
            repeatability=sent["repeatability"], comparator=comparator,
            reads_in=reads_in, bias=sent["bias"].strip(),
            coverage=_coverage(sent["coverage"]),
            dial_turn=sent["dial_turn"].strip() or (offer.dial_turn if offer else ""),
            calibrated=sent["calibrated"], due=sent["due"], source=sent["source"].strip(),
            id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, back(sent, f"/builds/{sent.build}/gauges"))

    def copy_gauges(self, sent: Sent) -> Response:
        """Take over the gauges of another build."""
        receipts = self._workshop.copy_gauges(sent.build, sent["from_build"], by=sent.by)
        go = f"/builds/{sent.build}/gauges"
        if wants_json(sent.request):
            return JSONResponse({"go": go, "taken": len(receipts)})
        return RedirectResponse(go, 303)

    def withdraw(self, sent: Sent) -> Response:
        """Take an entry back."""
        reason = sent["reason"].strip()
        if reason in {"", "other"}:
            reason = sent["other"].strip()
        receipt = self._workshop.withdraw(
            sent.build, sent["target"], reason, by=sent.by, id=sent["id"]
        )
        return self._done(sent, receipt, back(sent, f"/builds/{sent.build}/record"))

    def rework(self, sent: Sent) -> Response:
        """Note that a part was machined again."""
        state = self._workshop.state(sent.build)
        chosen = sent.lists.get("features", ())
        features = [f for f in chosen if state.features.get(f) is not None]
        if not features:
            sentence = "It is not said which surfaces were machined."
            raise EntryError(sentence, hint="Tick each one; what was known of it goes stale.")
        part = state.features[features[0]].feature.part
        receipt = self._workshop.rework(
            sent.build, part, features, sent["operation"].strip(), by=sent.by, id=sent["id"]
        )
        return self._done(sent, receipt, back(sent, f"/builds/{sent.build}/record"))

    def accept(self, sent: Sent) -> Response:
        """Accept a fit by decision."""
        receipt = self._workshop.accept(
            sent.build, sent["fit"], sent["reason"].strip(), by=sent.by, id=sent["id"]
        )
        otherwise = f"/builds/{sent.build}/fits/{quote(sent['fit'])}"
        return self._done(sent, receipt, back(sent, otherwise))

    def note(self, sent: Sent) -> Response:
        """Write a note, with a picture if one was given."""
        about = sent["about"].strip()
        if "picture" in sent.files:
            receipt = self._workshop.add_picture(
                sent.build, about, sent.files["picture"][1], by=sent.by,
                caption=sent["text"].strip(), id=sent["id"],
            )  # fmt: skip
        else:
            receipt = self._workshop.note(
                sent.build, about, sent["text"].strip(), by=sent.by, id=sent["id"]
            )
        return self._done(sent, receipt, back(sent, f"/builds/{sent.build}/record"))

    def part(self, sent: Sent) -> Response:
        """Note which part came."""
        receipt = self._workshop.receive_part(
            sent.build, sent["part"].strip(), sent["identity"].strip(), by=sent.by,
            marks=sent["marks"].strip(), supplier=sent["supplier"].strip(), id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, back(sent, f"/builds/{sent.build}/record"))

    def sign(self, sent: Sent) -> Response:
        """Sign the record up to here."""
        receipt = self._workshop.sign(
            sent.build, sent["role"].strip(), sent["statement"].strip(), by=sent.by, id=sent["id"]
        )
        return self._done(sent, receipt, f"/builds/{sent.build}/record")


def _condition(sent: Sent) -> str:
    condition = sent["condition"].strip()
    return sent["condition_other"].strip() if condition == "other" else condition


def _coverage(text: str) -> float:
    try:
        return float(text.strip().replace(",", ".") or 2.0)
    except ValueError:
        sentence = f"'{text[:40]}' is no coverage factor."
        raise EntryError(sentence, hint="Calibration sheets use k = 2, seldom 3.") from None


def _utf8(data: bytes, file: str) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        sentence = f"{file or 'The file'} is not UTF-8 text."
        raise EntryError(sentence, hint="An engine file is a TOML text file.") from None
