"""The power fails at random moments: what was acknowledged had reached the disk.

The disk is played by a layer under SQLite that knows what was written and what was flushed. At a
cut, what was flushed is there, and of what was written since, any part may be.
"""

from __future__ import annotations

import functools
import random
from pathlib import Path

import apsw
import pytest
from tests.contract.record_makers import Clock, new_id, reading, started

from bedplate.record import Ledger, SqliteStore, sqlite

BASE = apsw.vfs_names()[0]
CUTS = 60


class Disk(apsw.VFS):
    """Files as the platter has them, and what is on its way there."""

    def __init__(self) -> None:
        super().__init__("disk", base=BASE)
        self.chance = random.Random(20261125)
        self.flushed: dict[str, bytes] = {}
        self.pending: dict[str, list[tuple[int, bytes]]] = {}
        self.acknowledged = 0
        self.cuts: list[tuple[int, dict[str, bytes]]] = []

    def xOpen(self, name, flags):  # noqa: N802 - SQLite's name
        return DiskFile(self, name, flags)

    def maybe_cut(self) -> None:
        if self.chance.random() < 0.05:
            files = {name: self._torn(name) for name in self.flushed.keys() | self.pending.keys()}
            self.cuts.append((self.acknowledged, files))

    def _torn(self, name: str) -> bytes:
        data = bytearray(self.flushed.get(name, b""))
        for offset, piece in self.pending.get(name, []):
            if self.chance.random() < 0.5:
                data.extend(bytes(max(0, offset + len(piece) - len(data))))
                data[offset : offset + len(piece)] = piece
        return bytes(data)


class DiskFile(apsw.VFSFile):
    """A file of that disk."""

    def __init__(self, disk: Disk, name, flags) -> None:
        super().__init__(BASE, name, flags)
        self.disk = disk
        self.name = name.filename() if isinstance(name, apsw.URIFilename) else str(name)

    def xWrite(self, data, offset):  # noqa: N802 - SQLite's name
        self.disk.maybe_cut()
        super().xWrite(data, offset)
        self.disk.pending.setdefault(self.name, []).append((offset, bytes(data)))

    def xSync(self, flags):  # noqa: N802 - SQLite's name
        self.disk.maybe_cut()
        super().xSync(flags)
        self.disk.flushed[self.name] = Path(self.name).read_bytes()
        self.disk.pending[self.name] = []


def test_what_was_acknowledged_outlives_a_power_cut(tmp_path: Path, monkeypatch) -> None:
    disk = Disk()
    with monkeypatch.context() as patch:
        patch.setattr(sqlite.apsw, "Connection", functools.partial(apsw.Connection, vfs="disk"))
        store = SqliteStore(tmp_path / "bedplate.sqlite")
        store._writer.pragma("wal_autocheckpoint", 40)
        ledger = Ledger(store, Clock())
        ledger.append("demo", started())
        disk.cuts.clear()
        for n in range(250):
            disk.acknowledged = ledger.append("demo", reading(n)).number
            disk.maybe_cut()
        store.close()
    disk.unregister()

    assert len(disk.cuts) > CUTS
    for cut, (acknowledged, files) in enumerate(disk.chance.sample(disk.cuts, CUTS)):
        folder = tmp_path / str(cut)
        folder.mkdir()
        for name, data in files.items():
            if not name.endswith("-journal"):
                (folder / Path(name).name).write_bytes(data)
        store = SqliteStore(folder / "bedplate.sqlite")
        ledger = Ledger(store, Clock())
        kept = ledger.entries("demo")
        assert acknowledged <= len(kept) <= acknowledged + 1
        assert [k.entry.id for k in kept[1:]] == [new_id(n) for n in range(len(kept) - 1)]
        assert ledger.verify("demo").ok
        assert store.faults() == []
        store.close()


def test_the_disk_shows_what_a_lesser_setting_would_lose(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setitem(sqlite._ASKED, "synchronous", 1)
    with pytest.raises(AssertionError, match="<="):
        test_what_was_acknowledged_outlives_a_power_cut(tmp_path, monkeypatch)
