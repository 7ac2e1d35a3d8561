"""What people say: parts, reworks, withdrawals, decisions, notes, signatures."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from bedplate.errors import EntryError, NotPossibleError
from bedplate.record import (
    Accepted,
    Note,
    OnHand,
    PartReceived,
    Picture,
    Reworked,
    Signed,
    StepDone,
    Withdrawn,
)
from bedplate.shop.receipts import Receipt
from bedplate.shop.typed import needed, unknown
from bedplate.workshop.core import Core
from bedplate.workshop.once import once

_PICTURES = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}
_PICTURE_LIMIT = 20 * 1024 * 1024


class Deciding(Core):
    """The use cases of a person who decides."""

    def receive_part(
        self,
        build: str,
        part: str,
        identity: str,
        *,
        by: str,
        marks: str = "",
        supplier: str = "",
        id: str = "",
    ) -> Receipt:
        """Note which physical part this build has."""
        needed(part, "which part it is")
        needed(identity, "how the part is told from others")
        entry = PartReceived(
            **self._stamp(id, by), part=part, identity=identity, marks=marks, supplier=supplier
        )
        return self._append(build, entry)

    @once
    def withdraw(self, build: str, target: str, reason: str, *, by: str, id: str = "") -> Receipt:
        """Take an entry back, by its id or its number in the record."""
        needed(reason, "why it is withdrawn")
        found = self._entry_id(build, target)
        if self._reckoning(build).taken_back(found):
            sentence = f"Entry {target} is withdrawn already."
            raise NotPossibleError(sentence)
        self._check_stock(build, found)
        entry = Withdrawn(**self._stamp(id, by), target=found, reason=reason)
        return self._append(build, entry)

    def _check_stock(self, build: str, id: str) -> None:
        """Refuse to take parts back that were used."""
        held = self._reckoning(build).entry(id)
        if isinstance(held, OnHand):
            from bedplate.shop.stock import check_taken_back

            check_taken_back(self.state(build), held)

    def rework(
        self,
        build: str,
        part: str,
        features: Sequence[str],
        operation: str,
        *,
        by: str,
        id: str = "",
    ) -> Receipt:
        """Note that a part was machined again; what was known of the features goes stale."""
        needed(operation, "what was done to it")
        with self._lock:
            engine = self._reckoning(build).engine
            parts = {feature.part for feature in engine.features.values()}
            if part not in parts:
                raise unknown("part", part, parts)
            for name in features:
                known = self._feature(build, name)
                if known.part != part:
                    sentence = f"{known.name} is on the {known.part}, not on the {part}."
                    raise NotPossibleError(sentence)
            entry = Reworked(
                **self._stamp(id, by), part=part, features=tuple(features), operation=operation
            )
            return self._append(build, entry)

    @once
    def accept(self, build: str, fit: str, reason: str, *, by: str, id: str = "") -> Receipt:
        """Accept a fit as it stands: a person's decision, with the reason."""
        needed(reason, "why it is accepted")
        fits = self.state(build).fits
        if fit not in fits:
            raise unknown("fit", fit, fits)
        state = fits[fit]
        entry = Accepted(
            **self._stamp(id, by),
            fit=fit,
            verdict=state.verdict.value,
            reason=reason,
            least=state.least,
            greatest=state.greatest,
        )
        return self._append(build, entry)

    def note(self, build: str, about: str, text: str, *, by: str, id: str = "") -> Receipt:
        """Write words about a part, feature, fit or entry, or about the build ('')."""
        needed(text, "what the note says")
        return self._append(build, Note(**self._stamp(id, by), about=about, text=text))

    def add_picture(
        self, build: str, about: str, data: bytes, *, by: str, caption: str = "", id: str = ""
    ) -> Receipt:
        """Keep a picture (PNG or JPEG) under its hash, and say what it shows."""
        kind = next((m for magic, m in _PICTURES.items() if data.startswith(magic)), None)
        if kind is None:
            sentence = "The file is neither a PNG nor a JPEG picture."
            raise EntryError(sentence)
        if len(data) > _PICTURE_LIMIT:
            sentence = f"The picture has {len(data) / 1e6:.0f} MB; at most 20 MB can be kept."
            raise EntryError(sentence, hint="Send a smaller copy.")
        self._known(build)
        digest = hashlib.sha256(data).hexdigest()
        self._store.put_picture(digest, data)
        entry = Picture(
            **self._stamp(id, by), about=about, sha256=digest, media_type=kind, caption=caption
        )
        return self._append(build, entry)

    def step(self, build: str, step: str, *, by: str, remark: str = "", id: str = "") -> Receipt:
        """Note a step of the work as done."""
        needed(step, "which step was done")
        self._refuse_balanced(build, f"{step}. {remark}")
        return self._append(build, StepDone(**self._stamp(id, by), step=step, remark=remark))

    @once
    def sign(self, build: str, role: str, statement: str, *, by: str, id: str = "") -> Receipt:
        """Let a person stand for the record up to here."""
        needed(statement, "what is signed")
        self._known(build)
        self._refuse_balanced(build, statement)
        count, head = self._store.head(build)
        entry = Signed(
            **self._stamp(id, by), role=role, statement=statement, count=count, head=head,
            balance=self._balance_stands(build),
        )  # fmt: skip
        return self._append(build, entry)
