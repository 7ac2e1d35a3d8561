"""The one place that puts the program together, and the use cases that page and terminal call.

A use case takes text as a person typed it, reads it, asks engine file and record whether it makes
sense, and appends one entry, or none. Nothing is answered before it is durable.
"""

from __future__ import annotations

import hashlib
import re
import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Unpack

from bedplate.errors import (
    ConflictError,
    EntryError,
    NotFoundError,
    NotPossibleError,
)
from bedplate.record import (
    Accepted,
    AnyEntry,
    BuildStarted,
    Checkpoint,
    ComparatorSet,
    EngineRevised,
    Ledger,
    Note,
    PartReceived,
    Picture,
    Reading,
    Reworked,
    Signed,
    SqliteStore,
    StepDone,
    Store,
    Verification,
    Withdrawn,
    export_record,
    import_record,
)
from bedplate.shop.receipts import BuildBrief, ReadingReceipt, Receipt, reading_receipt, receipt_of
from bedplate.shop.typed import (
    SLUG,
    Stamp,
    needed,
    typed_length,
    typed_temperature,
    unknown,
)

if TYPE_CHECKING:
    from bedplate.engine import Engine, Feature
    from bedplate.shop.gauges import GaugeFigures
    from bedplate.shop.model import GaugeState, State
    from bedplate.shop.reckoning import Reckoning

_KEPT = 32
"""Builds whose state is kept ready."""

_ID = re.compile(r"[0-9a-f]{32}\Z")
_PICTURES = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}
_PICTURE_LIMIT = 20 * 1024 * 1024


def utc_now() -> datetime:
    """Return the time now, in UTC."""
    return datetime.now(UTC)


def check(text: str, file: str = "") -> Engine:
    """Return the engine that a file means.

    :raises EngineFileError: with every fault of the file
    """
    from bedplate.engine import read_engine

    return read_engine(text, file)


class Workshop:
    """The program, put together: a store, a clock, and the states that are kept ready."""

    def __init__(self, store: Store, *, clock: Callable[[], datetime] = utc_now) -> None:
        """Take a store and a clock."""
        self._store = store
        self._ledger = Ledger(store, clock)
        self._lock = threading.RLock()
        self._ready: OrderedDict[str, Reckoning] = OrderedDict()

    @classmethod
    def open(cls, data: Path | None = None) -> Workshop:
        """Open the store in a data folder; the platform's own if none is given.

        :raises StorageError: the folder cannot be used
        """
        return cls(SqliteStore(data_folder(data) / "bedplate.sqlite"))

    def close(self) -> None:
        """Let go of the store."""
        self._store.close()

    def builds(self) -> list[BuildBrief]:
        """Return every build, the one last worked on first."""
        return [
            BuildBrief(build=b.build, title=b.title, entries=b.count, started=b.first, last=b.last)
            for b in self._store.builds()
        ]

    def state(self, build: str) -> State:
        """Return the state of a build as its record stands.

        :raises NotFoundError: there is no such build
        """
        with self._lock:
            return self._reckoning(build).state()

    def verify(self, build: str, checkpoint: Checkpoint | None = None) -> Verification:
        """Check a record: density, hashes, references, pictures, and a printed checkpoint."""
        self._known(build)
        return self._ledger.verify(build, checkpoint)

    def settings(self) -> dict[str, str]:
        """Return the store's settings as they read back."""
        return self._store.settings()

    def store_faults(self) -> list[str]:
        """Return what is wrong with the store itself; it reads all of it."""
        return self._store.faults()

    def picture(self, sha256: str) -> bytes:
        """Return a picture by its hash.

        :raises NotFoundError: there is none
        """
        data = self._store.picture(sha256)
        if data is None:
            sentence = f"There is no picture {sha256[:12]}."
            raise NotFoundError(sentence)
        return data

    def book(self, build: str) -> bytes:
        """Return the build book as PDF."""
        from bedplate.documents.book import build_book

        state = self.state(build)
        export = b"".join(self.export(build))
        return build_book(state, engine_text=self.engine_text(build), export=export)

    def sheet(self, build: str) -> bytes:
        """Return a blank measuring sheet as PDF, in the plan's order."""
        from bedplate.documents.sheet import measuring_sheet

        return measuring_sheet(self.state(build))

    def export(self, build: str) -> Iterator[bytes]:
        """Yield the record as JSON Lines, loss-free, pictures included."""
        self._known(build)
        return export_record(self._store, build)

    def import_(self, data: bytes, file: str = "") -> BuildBrief:
        """Take in a whole record, or nothing.

        :raises ImportFileError: with every fault found
        :raises ConflictError: the build is there with another record
        """
        build = import_record(self._store, data, file)
        return next(brief for brief in self.builds() if brief.build == build)

    def engine_text(self, build: str) -> str:
        """Return the engine file of a build, as it was given last."""
        with self._lock:
            return self._reckoning(build).engine_text

    def start(
        self,
        engine_text: str,
        *,
        by: str,
        file: str = "",
        build: str = "",
        title: str = "",
        previous: str = "",
        gauges_of: str = "",
        id: str = "",
    ) -> Receipt:
        """Start a build from an engine file.

        :param build: short name of the build; made from the engine's name if empty
        :param previous: build that this engine was before, for wear; else the file's own word
        :param gauges_of: build whose gauges are taken over
        :raises EngineFileError: with every fault of the file
        :raises ConflictError: a build of that name is there
        """
        engine = check(engine_text, file)
        with self._lock:
            again = self._taken(id)
            if again is not None:
                return again
            name = build or self._free_name(engine.name)
            if not SLUG.match(name):
                sentence = f"'{name}' cannot name a build."
                hint = "Use small letters, digits and hyphens, such as 'kestrel-2'."
                raise EntryError(sentence, hint=hint)
            if self._store.head(name)[0]:
                sentence = f"A build named '{name}' is there already."
                raise ConflictError(sentence, hint="Give it another name.")
            if gauges_of:
                self._known(gauges_of)
            entry = BuildStarted(
                **self._stamp(id, by),
                build=name,
                title=title or engine.name,
                engine=engine_text,
                previous=previous or engine.previous,
            )
            receipt = self._append(name, entry)
            if gauges_of:
                self.copy_gauges(name, gauges_of, by=by)
            return receipt

    def revise(
        self, build: str, engine_text: str, *, reason: str, by: str, id: str = ""
    ) -> Receipt:
        """Take a changed engine file for a build."""
        check(engine_text, f"the engine file for '{build}'")
        needed(reason, "why the engine file was changed")
        entry = EngineRevised(**self._stamp(id, by), engine=engine_text, reason=reason)
        return self._append(build, entry)

    def take(self, build: str, entries: Sequence[AnyEntry]) -> list[Receipt]:
        """Take entries that were made elsewhere, all of them or none."""
        with self._lock:
            return self._append_all(build, entries)

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

    def register_gauge(
        self, build: str, gauge: str, *, by: str, id: str = "", **figures: Unpack[GaugeFigures]
    ) -> Receipt:
        """Register a gauge, or what is now known of one registered before.

        :param figures: as typed, see GaugeFigures
        :raises InputError: its resolution, uncertainty or repeatability is missing or no length
        """
        from bedplate.shop.gauges import registration

        return self._append(build, registration(self._stamp(id, by), gauge, figures))

    def copy_gauges(self, build: str, from_build: str, *, by: str) -> list[Receipt]:
        """Register every gauge of another build in this one, as it was registered last."""
        import msgspec

        with self._lock:
            theirs = self.state(from_build).gauges
            ours = self.state(build).gauges
            entries = [
                msgspec.structs.replace(g.gauge, **self._stamp("", by))
                for name, g in theirs.items()
                if name not in ours
            ]
            return self._append_all(build, entries)

    def set_comparator(
        self,
        build: str,
        gauge: str,
        size: str,
        *,
        by: str,
        on_gauge: str = "",
        master: str = "",
        size_uncertainty: str = "",
        found: str = "",
        temperature: str = "",
        id: str = "",
    ) -> Receipt:
        """Zero a comparator on a master, or between the anvils of another gauge.

        :raises NotPossibleError: the gauge is no comparator, or would be set on itself
        """
        with self._lock:
            again = self._taken(id)
            if again is not None:
                return again
            held = self._gauge(build, gauge)
            if not held.gauge.comparator:
                sentence = f"'{gauge}' shows sizes itself; only a comparator is set."
                raise NotPossibleError(sentence)
            unit = held.gauge.reads_in
            if on_gauge:
                other = self._gauge(build, on_gauge)
                if other.gauge.comparator:
                    sentence = (
                        f"'{on_gauge}' is a comparator; set '{gauge}' on a gauge that shows sizes."
                    )
                    raise NotPossibleError(sentence)
                unit = other.gauge.reads_in
            elif not size_uncertainty:
                sentence = f"The master of {size} has no uncertainty."
                hint = (
                    "Give its expanded uncertainty from the calibration sheet, such as '0.001 mm'."
                )
                raise EntryError(sentence, hint=hint)
            entry = ComparatorSet(
                **self._stamp(id, by),
                gauge=gauge,
                size=typed_length(size, unit),
                on_gauge=on_gauge,
                master=master,
                size_uncertainty=typed_length(size_uncertainty, unit) if size_uncertainty else None,
                found=typed_length(found, held.gauge.reads_in) if found else None,
                temperature=typed_temperature(temperature),
            )
            return self._append(build, entry)

    def read(
        self,
        build: str,
        feature: str,
        station: str,
        text: str,
        gauge: str,
        *,
        by: str,
        part_temperature: str = "",
        gauge_temperature: str = "",
        condition: str = "",
        id: str = "",
    ) -> ReadingReceipt:
        """Take one reading: durable, and with its verdict, when this returns.

        :raises QuantityError: the text is no length
        :raises NotFoundError: no such build, feature, station or gauge
        :raises NotPossibleError: the comparator has not been set
        """
        with self._lock:
            again = self._taken(id)
            if again is None:
                entry = self._reading(
                    build, feature, station, text, gauge,
                    by=by, id=id, condition=condition,
                    temperatures=(part_temperature, gauge_temperature),
                )  # fmt: skip
                again = self._append(build, entry)
            elif not self._same_reading(again, feature, station, text, gauge):
                sentence = f"Id {id} was used for another entry."
                raise ConflictError(sentence, hint="Send the reading under a new id.")
            return self._receipt(again)

    def read_csv(self, build: str, data: bytes, file: str, *, by: str) -> list[ReadingReceipt]:
        """Take the readings of a CSV file: all of them, or none.

        :raises ImportFileError: with every row that cannot be taken
        """
        from bedplate.shop.intake import Row, rows_of

        def entry(row: Row) -> Reading:
            return self._reading(
                build, row.feature, row.station, row.value, row.gauge,
                by=row.by or by, id=row.id, condition=row.condition,
                temperatures=(row.part_temperature, row.gauge_temperature),
            )  # fmt: skip

        with self._lock:
            entries = rows_of(data, file, entry)
            return [self._receipt(receipt) for receipt in self._append_all(build, entries)]

    def withdraw(self, build: str, target: str, reason: str, *, by: str, id: str = "") -> Receipt:
        """Take an entry back, by its id or its number in the record."""
        needed(reason, "why it is withdrawn")
        with self._lock:
            again = self._taken(id)
            if again is not None:
                return again
            found = self._entry_id(build, target)
            if self._reckoning(build).taken_back(found):
                sentence = f"Entry {target} is withdrawn already."
                raise NotPossibleError(sentence)
            entry = Withdrawn(**self._stamp(id, by), target=found, reason=reason)
            return self._append(build, entry)

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

    def accept(self, build: str, fit: str, reason: str, *, by: str, id: str = "") -> Receipt:
        """Accept a fit as it stands: a person's decision, with the reason."""
        needed(reason, "why it is accepted")
        with self._lock:
            again = self._taken(id)
            if again is not None:
                return again
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
        return self._append(build, StepDone(**self._stamp(id, by), step=step, remark=remark))

    def sign(self, build: str, role: str, statement: str, *, by: str, id: str = "") -> Receipt:
        """Let a person stand for the record up to here."""
        needed(statement, "what is signed")
        with self._lock:
            again = self._taken(id)
            if again is not None:
                return again
            self._known(build)
            count, head = self._store.head(build)
            entry = Signed(
                **self._stamp(id, by), role=role, statement=statement, count=count, head=head
            )
            return self._append(build, entry)

    def _reckoning(self, build: str) -> Reckoning:
        """Return the state that is kept ready, brought up to date."""
        from bedplate.shop.facts import gather
        from bedplate.shop.reckoning import Reckoning

        ready = self._ready.get(build)
        if ready is None or self._is_behind(ready):
            self._known(build)
            facts = gather(self._ledger.entries(build))
            ready = Reckoning(facts, previous=self._previous(build, facts.previous))
            self._ready[build] = ready
            while len(self._ready) > _KEPT:
                self._ready.popitem(last=False)
        else:
            for numbered in self._ledger.entries(build, after=ready.count):
                ready.add(numbered)
        self._ready.move_to_end(build)
        return ready

    def _is_behind(self, ready: Reckoning) -> bool:
        """Tell whether the build before has changed since it was looked at for wear."""
        name, seen = ready.before
        known = (seen.count, seen.head) if seen else (0, "")
        return bool(name) and name != ready.build and self._store.head(name) != known

    def _previous(self, build: str, previous: str) -> State | None:
        """Return the state of the build before; its own previous build is not looked at."""
        from bedplate.shop.reckoning import state_of

        if not previous or previous == build or not self._store.head(previous)[0]:
            return None
        return state_of(self._ledger.entries(previous))

    def _append(self, build: str, entry: AnyEntry) -> Receipt:
        return self._append_all(build, [entry])[0]

    def _append_all(self, build: str, entries: Sequence[AnyEntry]) -> list[Receipt]:
        if not entries:
            return []
        if not isinstance(entries[0], BuildStarted):
            self._known(build)
        taken = self._ledger.append_all(build, list(entries))
        return [receipt_of(build, row, repeated=row.repeated) for row in taken]

    def _receipt(self, receipt: Receipt) -> ReadingReceipt:
        """Return what a reading that was taken says now."""
        from bedplate.shop.plan import next_step

        reckoning = self._reckoning(receipt.build)
        entry = reckoning.entry(receipt.id)
        if not isinstance(entry, Reading):
            sentence = f"Entry {receipt.number} is not a reading."
            raise ConflictError(sentence, hint="Send the reading under a new id.")
        feature = reckoning.feature(entry.feature)
        reading = next(r for r in feature.readings if r.id == receipt.id)
        found = next_step(reckoning.plan())
        following = (found[1], reckoning.engine.features[found[1].feature]) if found else None
        return reading_receipt(
            receipt,
            entry.value.si,
            reading,
            feature.feature,
            reckoning.fits_on(entry.feature),
            following,
            reckoning.engine.units,
        )

    def _reading(
        self,
        build: str,
        feature: str,
        station: str,
        text: str,
        gauge: str,
        *,
        by: str,
        id: str,
        condition: str,
        temperatures: tuple[str, str],
    ) -> Reading:
        known = self._feature(build, feature)
        if all(s.id != station for s in known.stations):
            raise unknown(f"station of {known.name}", station, [s.id for s in known.stations])
        held = self._gauge(build, gauge)
        setting = self._setting(build, gauge) if held.gauge.comparator else ""
        return Reading(
            **self._stamp(id, by),
            feature=feature,
            station=station,
            gauge=gauge,
            value=typed_length(text, held.gauge.reads_in),
            setting=setting,
            part_temperature=typed_temperature(temperatures[0]),
            gauge_temperature=typed_temperature(temperatures[1]),
            condition=condition,
        )

    def _setting(self, build: str, gauge: str) -> str:
        held = self._gauge(build, gauge)
        if held.setting is None:
            sentence = f"'{gauge}' shows a deviation and has not been set."
            hint = f"Set it on a master or in a micrometer first: bedplate set {build} {gauge} …"
            raise NotPossibleError(sentence, hint=hint)
        return held.setting.id

    def _same_reading(
        self, receipt: Receipt, feature: str, station: str, text: str, gauge: str
    ) -> bool:
        entry = self._reckoning(receipt.build).entry(receipt.id)
        return isinstance(entry, Reading) and (
            (entry.feature, entry.station, entry.gauge, entry.value.text)
            == (feature, station, gauge, text)
        )

    def _feature(self, build: str, feature: str) -> Feature:
        features = self._reckoning(build).engine.features
        if feature not in features:
            raise unknown("feature", feature, features)
        return features[feature]

    def _gauge(self, build: str, gauge: str) -> GaugeState:
        gauges = self._reckoning(build).gauges
        if gauge not in gauges:
            raise unknown("gauge", gauge, gauges)
        return gauges[gauge]

    def _entry_id(self, build: str, target: str) -> str:
        if _ID.match(target):
            return target
        rows = {str(n.number): n.entry.id for n in self._reckoning(build).entries}
        if target.strip() not in rows:
            raise unknown("entry", target, [f"1 to {len(rows)}"])
        return rows[target.strip()]

    def _taken(self, id: str) -> Receipt | None:
        """Return the receipt of an id that is in the store already."""
        row = self._store.find(id) if id else None
        if row is None:
            return None
        return Receipt(build=row.build, id=id, number=row.number, hash=row.hash, repeated=True)

    def _known(self, build: str) -> None:
        if not self._store.head(build)[0]:
            raise unknown("build", build, [b.build for b in self._store.builds()])

    def _free_name(self, name: str) -> str:
        plain = re.sub(r"[^a-z0-9]+", "-", name.lower().split("(")[0]).strip("-")[:50] or "build"
        taken = {b.build for b in self._store.builds()}
        names = (plain if n == 1 else f"{plain}-{n}" for n in range(1, len(taken) + 2))
        return next(candidate for candidate in names if candidate not in taken)

    def _stamp(self, id: str, by: str) -> Stamp:
        needed(by, "who says so")
        if id and not _ID.match(id):
            sentence = f"'{id[:40]}' is not an entry id."
            raise EntryError(sentence, hint="An id is 32 hexadecimal digits, small letters.")
        return {"id": id or secrets.token_hex(16), "at": "", "by": by.strip()}


def data_folder(data: Path | None = None) -> Path:
    """Return the folder the data lies in: the one given, or the platform's own."""
    if data is not None:
        return data.expanduser()
    from platformdirs import user_data_path

    return user_data_path("bedplate", appauthor=False)
