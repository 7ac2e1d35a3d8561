"""Builds: started, shown, put on paper, verified, taken out and in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bedplate.errors import ConflictError, EntryError, NotFoundError
from bedplate.record import (
    AnyEntry,
    BuildStarted,
    Checkpoint,
    EngineRevised,
    Verification,
    export_record,
    import_record,
)
from bedplate.record.entries import Picture
from bedplate.shop.receipts import BuildBrief, Receipt
from bedplate.shop.typed import SLUG, needed
from bedplate.workshop.core import Core, check
from bedplate.workshop.once import once


class Keeping(Core):
    """The use cases that keep builds."""

    def builds(self) -> list[BuildBrief]:
        """Return every build, the one last worked on first."""
        return [
            BuildBrief(build=b.build, title=b.title, entries=b.count, started=b.first, last=b.last)
            for b in self._store.builds()
        ]

    @once
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
        again = bool(id) and self._reckoning(build).entry(id) is not None
        if not again and engine_text.rstrip() == self.engine_text(build).rstrip():
            sentence = f"The engine file of '{build}' is the same as before."
            raise EntryError(sentence, hint="Nothing was taken; give the changed file.")
        entry = EngineRevised(**self._stamp(id, by), engine=engine_text, reason=reason)
        return self._append(build, entry)

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

    def take(self, build: str, entries: Sequence[AnyEntry]) -> list[Receipt]:
        """Take entries that were made elsewhere, all of them or none."""
        with self._lock:
            return self._append_all(build, entries)

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
        names = {n.entry.sha256 for n in state.entries if isinstance(n.entry, Picture)}
        pictures = {name: self.picture(name) for name in names}
        return build_book(
            state, engine_text=self.engine_text(build), export=export, pictures=pictures
        )

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
        build = import_record(self._store, data, file, self._names)
        return next(brief for brief in self.builds() if brief.build == build)
