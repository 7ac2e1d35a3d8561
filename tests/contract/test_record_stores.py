"""Every store is held to the one suite."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import apsw
import pytest
from tests.contract.memory_store import MemoryStore
from tests.contract.record_makers import Clock, fill, started
from tests.contract.store_suite import StoreSuite

from bedplate.errors import StorageError
from bedplate.record import Ledger, SqliteStore, Store
from bedplate.record.sqlite import SAFE_SQLITE


class TestMemoryStore(StoreSuite):
    """The fake, so that tests which use it use something true to the contract."""

    def open(self, folder: Path) -> Store:
        self.stores = getattr(self, "stores", {})
        return self.stores.setdefault(folder, MemoryStore())


class TestSqliteStore(StoreSuite):
    """The SQLite file."""

    def open(self, folder: Path) -> Store:
        return SqliteStore(folder / "data" / "bedplate.sqlite")


_WRITER = """
import sys
from pathlib import Path
from bedplate.record import Ledger, SqliteStore
from tests.contract.record_makers import Clock, reading
ledger = Ledger(SqliteStore(Path(sys.argv[1])), Clock())
print("ready", flush=True)
sys.stdin.readline()
for n in range(80):
    ledger.append("demo", reading((sys.argv[2], n)))
"""


def test_two_programs_race_and_no_entry_is_lost_or_doubled(tmp_path: Path) -> None:
    path = tmp_path / "bedplate.sqlite"
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", _WRITER, str(path), name],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=Path(__file__).parents[2],
            env={**os.environ, "PYTHONPATH": os.pathsep.join(["src", "."])},
        )
        for name in ("one", "two")
    ]
    for writer in writers:
        assert writer.stdout.readline() == "ready\n"
    store = SqliteStore(path)
    ledger = Ledger(store, Clock())
    ledger.append("demo", started())
    for writer in writers:
        writer.stdin.write("go\n")
        writer.stdin.flush()
    for writer in writers:
        writer.communicate(timeout=60)
        assert writer.returncode == 0
    assert len(ledger.entries("demo")) == 161
    assert ledger.verify("demo").ok
    store.close()


def test_the_file_and_its_folder_are_for_one_person(tmp_path: Path) -> None:
    path = tmp_path / "a" / "b" / "bedplate.sqlite"
    store = SqliteStore(path)
    fill(store)
    for made in (path, path.with_name(path.name + "-wal"), path.with_name(path.name + "-shm")):
        assert stat.S_IMODE(made.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) & 0o077 == 0
    store.close()


def test_settings_are_as_asked(tmp_path: Path) -> None:
    store = SqliteStore(tmp_path / "bedplate.sqlite")
    fill(store)
    with store._reader() as reader:
        for connection in (store._writer, reader):
            assert connection.pragma("journal_mode") == "wal"
            assert connection.pragma("synchronous") == 2
            assert connection.pragma("foreign_keys") == 1
            assert connection.pragma("busy_timeout") == 5000
        with pytest.raises(apsw.ReadOnlyError):
            reader.execute("DELETE FROM entry")
    assert tuple(map(int, apsw.sqlite_lib_version().split("."))) >= SAFE_SQLITE
    assert store.faults() == []
    store.close()


def test_a_setting_that_does_not_hold_is_refused(tmp_path: Path, monkeypatch) -> None:
    from bedplate.record import sqlite

    monkeypatch.setitem(sqlite._ASKED, "synchronous", 7)  # SQLite keeps the lowest bits
    with pytest.raises(StorageError, match="synchronous is"):
        SqliteStore(tmp_path / "bedplate.sqlite")
