"""A disk that is full, locked or read-only, and files that are something else."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import apsw
import pytest
from tests.contract.record_makers import PICTURE, Clock, fill, reading, started

from bedplate.errors import BedplateError, DamagedError, StorageError
from bedplate.record import Ledger, SqliteStore, sqlite


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "bedplate.sqlite"


def test_a_full_disk_is_refused_in_words_and_nothing_is_lost(path: Path) -> None:
    store = SqliteStore(path)
    ledger = Ledger(store, Clock())
    ledger.append("demo", started())
    pages = store._writer.pragma("page_count")
    store._writer.pragma("max_page_count", pages + 6)
    taken = 0
    with pytest.raises(StorageError, match="The disk is full"):  # noqa: PT012 - the loop is meant
        for taken in range(10_000):
            ledger.append("demo", reading(taken))
    assert taken > 5
    with pytest.raises(StorageError, match="The disk is full"):
        ledger.append_all("demo", [reading(n) for n in range(taken, taken + 500)])
    assert len(ledger.entries("demo")) == taken + 1
    assert ledger.verify("demo").ok
    store._writer.pragma("max_page_count", 1_000_000)
    assert ledger.append("demo", reading(taken)).number == taken + 2
    assert store.faults() == []
    store.close()


_NO_ROOM = """
import resource, sys
from pathlib import Path
from bedplate.errors import StorageError
from bedplate.record import Ledger, SqliteStore
from tests.contract.record_makers import Clock, reading, started
path = Path(sys.argv[1])
store = SqliteStore(path)
ledger = Ledger(store, Clock())
ledger.append("demo", started())
room = path.with_name(path.name + "-wal").stat().st_size
soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
resource.setrlimit(resource.RLIMIT_FSIZE, (room + 50_000, hard))
taken = 0
try:
    while True:
        ledger.append("demo", reading(taken))
        taken += 1
except StorageError as error:
    print(error.sentence)
resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
assert taken > 0
assert len(ledger.entries("demo")) == taken + 1
assert ledger.append("demo", reading(taken)).number == taken + 2
assert ledger.verify("demo").ok
store.close()
assert SqliteStore(path).faults() == []
"""


def run(script: str, path: Path) -> subprocess.CompletedProcess[str]:
    """Run a script of ours in a program of its own."""
    return subprocess.run(
        [sys.executable, "-c", script, str(path)],
        cwd=Path(__file__).parents[2],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(["src", "."])},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_a_file_that_may_not_grow_is_refused_in_words(path: Path) -> None:
    done = run(_NO_ROOM, path)
    assert done.returncode == 0, done.stderr
    assert str(path) in done.stdout
    assert done.stdout.strip().endswith(".")


def test_a_lock_that_is_not_given_back_is_refused_in_words(path: Path, monkeypatch) -> None:
    monkeypatch.setattr(sqlite, "BUSY_MILLISECONDS", 50)
    store = SqliteStore(path)
    ledger = Ledger(store, Clock())
    ledger.append("demo", started())
    other = apsw.Connection(str(path))
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(StorageError, match="Another program holds"):
        ledger.append("demo", reading(1))
    assert len(ledger.entries("demo")) == 1  # reading goes on
    other.execute("ROLLBACK")
    assert ledger.append("demo", reading(1)).number == 2
    other.close()
    store.close()


_MANY = """
import os, sys, time
from pathlib import Path
from bedplate.record import Ledger, SqliteStore
from tests.contract.record_makers import Clock, started

def work(path, name, moment):
    while time.monotonic() < moment:
        pass
    store = SqliteStore(path)
    Ledger(store, Clock()).append(name, started(name))
    store.close()

for n in range(40):
    path = Path(sys.argv[1]) / f"{n}.sqlite"
    moment = time.monotonic() + 0.01
    children = []
    for name in ("one", "two"):
        child = os.fork()
        if child == 0:
            work(path, name, moment)
            os._exit(0)
        children.append(child)
    for child in children:
        assert os.waitpid(child, 0)[1] == 0, n
    store = SqliteStore(path)
    assert len(store.builds()) == 2
    store.close()
"""


def test_many_programs_open_a_new_store_at_once(tmp_path: Path) -> None:
    done = run(_MANY, tmp_path)
    assert done.returncode == 0, done.stderr


def test_a_store_that_cannot_be_written_is_refused_in_words(path: Path) -> None:
    store = SqliteStore(path)
    ledger = fill(store)
    store._writer.pragma("query_only", 1)
    with pytest.raises(StorageError, match="read-only"):
        ledger.append("demo", reading("more"))
    with pytest.raises(StorageError, match="read-only"):
        store.put_picture(sqlite.digest(b"x"), b"x")
    assert ledger.verify("demo").ok
    store.close()


def test_places_that_cannot_hold_a_store(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    for wrong in (tmp_path, tmp_path / "file" / "x.sqlite", "/proc/nowhere/x.sqlite", "a\0b"):
        with pytest.raises(StorageError):
            SqliteStore(wrong)


@pytest.mark.parametrize(
    "data", [b"not a database at all" * 100, b"SQLite format 3\0" + b"\7" * 4096]
)
def test_a_file_that_is_no_database_is_refused_and_left_alone(path: Path, data: bytes) -> None:
    path.write_bytes(data)
    with pytest.raises(DamagedError):
        SqliteStore(path)
    assert path.read_bytes() == data


def test_a_database_of_another_program_is_refused_and_left_alone(path: Path) -> None:
    other = apsw.Connection(str(path))
    other.execute("CREATE TABLE songs (name TEXT)")
    other.close()
    before = path.read_bytes()
    with pytest.raises(DamagedError, match="not one of this program"):
        SqliteStore(path)
    assert path.read_bytes() == before


def test_a_store_of_a_newer_version_is_refused_and_left_alone(path: Path) -> None:
    SqliteStore(path).close()
    newer = apsw.Connection(str(path))
    newer.pragma("user_version", 2)
    newer.close()
    before = path.read_bytes()
    with pytest.raises(StorageError, match="newer version"):
        SqliteStore(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "change",
    [
        "DROP TABLE picture",
        "CREATE TABLE more (x)",
        "CREATE TRIGGER t AFTER INSERT ON entry BEGIN SELECT 1; END",
    ],
)
def test_a_store_with_other_tables_is_refused(path: Path, change: str) -> None:
    SqliteStore(path).close()
    other = apsw.Connection(str(path))
    other.execute(change)
    other.close()
    with pytest.raises(DamagedError, match="tables"):
        SqliteStore(path)


def test_an_old_sqlite_is_refused(path: Path, monkeypatch) -> None:
    monkeypatch.setattr(sqlite.apsw, "sqlite_lib_version", lambda: "3.51.2")
    with pytest.raises(StorageError, match=r"3\.51\.2 is too old"):
        SqliteStore(path)


def test_a_closed_store_says_so(path: Path) -> None:
    store = SqliteStore(path)
    ledger = fill(store)
    store.close()
    store.close()
    for ask in (
        lambda: ledger.append("demo", reading("late")),
        lambda: ledger.entries("demo"),
        store.builds,
        lambda: store.put_picture(sqlite.digest(PICTURE), PICTURE),
    ):
        with pytest.raises(StorageError):
            ask()


def test_a_picture_beyond_the_limit_is_refused(path: Path, monkeypatch) -> None:
    monkeypatch.setattr(sqlite, "PICTURE_BYTES", 10)
    store = SqliteStore(path)
    with pytest.raises(BedplateError, match="at most 10"):
        store.put_picture(sqlite.digest(PICTURE), PICTURE)
    store.close()
