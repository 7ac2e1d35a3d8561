"""What the pages of the machine shop and of parts write."""

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

_BACK = "back "
"""Begins the name of a field that says how many of a part came back."""


def _whole(text: str, what: str) -> int:
    text = text.strip()
    if not text.isdecimal() or len(text) > 9:
        sentence = f"'{text[:40]}' is no count for {what}."
        raise EntryError(sentence, hint="Write a whole number.")
    return int(text)


class ShopDeeds:
    """Every form of these pages, over one workshop."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop

    def _done(self, sent: Sent, receipt: Receipt, page: str) -> Response:
        asked = sent["back"]
        ours = asked.startswith("/") and not asked.startswith(("//", "/\\")) and asked.isprintable()
        go = asked if ours else f"/builds/{sent.build}/{page}"
        if wants_json(sent.request):
            response: Response = JSONResponse({**msgspec.to_builtins(receipt), "go": go})
        else:
            response = RedirectResponse(go, 303)
        if sent["by"].strip():
            remember(response, sent["by"].strip())
        return response

    def issue(self, sent: Sent) -> Response:
        """Issue the shop order, or its next revision."""
        receipt = self._workshop.issue_order(
            sent.build, by=sent.by, number=sent["number"], shop=sent["shop"], id=sent["id"]
        )
        return self._done(sent, receipt, "order")

    def take_return(self, sent: Sent) -> Response:
        """Take a return sheet, or one row of it."""
        counts = {
            name.removeprefix(_BACK): _whole(text, name.removeprefix(_BACK))
            for name, text in sent.fields.items()
            if name.startswith(_BACK) and text.strip()
        }
        if "sheet" in sent.files:
            file, data = sent.files["sheet"]
            receipt = self._workshop.take_return_sheet(
                sent.build, data, file, by=sent.by, order=sent["order"], returned=counts
            )
            return self._done(sent, receipt, "checkin")
        row = {
            name: sent[name]
            for name in ("row", "value", "uncertainty", "condition", "gauge", "temperature",
                         "done", "remark")
        }  # fmt: skip
        receipt = self._workshop.take_return(
            sent.build, [row] if row["row"] else [], by=sent.by, order=sent["order"],
            returned=counts, id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, f"checkin#row-{quote(row['row'])}")

    def waive(self, sent: Sent) -> Response:
        """Let a row of an order be."""
        receipt = self._workshop.waive_row(
            sent.build, sent["row"], sent["reason"].strip(), by=sent.by, order=sent["order"],
            id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, "checkin")

    def stock(self, sent: Sent) -> Response:
        """Note a part on hand, or the parts of a CSV file."""
        from bedplate.shop.stock import COLUMNS

        if "file" in sent.files:
            file, data = sent.files["file"]
            receipts = self._workshop.add_parts(sent.build, data, file, by=sent.by)
            return self._done(sent, receipts[-1], "parts")
        said = {name: sent[name.replace(" ", "_")] for name in COLUMNS}
        receipt = self._workshop.add_part(sent.build, said, by=sent.by, id=sent["id"])
        return self._done(sent, receipt, "parts")

    def use(self, sent: Sent) -> Response:
        """Note that parts went somewhere."""
        receipt = self._workshop.use_part(
            sent.build, sent["identity"], _whole(sent["count"] or "1", "what was used"),
            sent["place"], by=sent.by, id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, "parts")

    def select(self, sent: Sent) -> Response:
        """Keep a selection."""
        if sent["what"] == "sets":
            receipt = self._workshop.select_sets(sent.build, by=sent.by, id=sent["id"])
            return self._done(sent, receipt, "selection?what=sets")
        receipt = self._workshop.select_shells(
            sent.build, sent["what"], by=sent.by, housing_codes=sent["housing_codes"],
            shaft_codes=sent["shaft_codes"], moved=_moves(sent.fields), id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, f"selection?what={quote(sent['what'])}")

    def file_ring(self, sent: Sent) -> Response:
        """Note that a ring was filed."""
        receipt = self._workshop.file_ring(
            sent.build, sent["feature"], _whole(sent["strokes"], "strokes"), by=sent.by,
            bag=sent["bag"], id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, f"rings#{quote(sent['feature'])}")


def _moves(fields: object) -> dict[str, str]:
    """Return what was put where by hand: identity by place, from fields named 'at PLACE'."""
    if not isinstance(fields, dict):
        return {}
    return {
        name.removeprefix("at "): text
        for name, text in fields.items()
        if name.startswith("at ") and text
    }
