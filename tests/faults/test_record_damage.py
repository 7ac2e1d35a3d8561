"""Damaged database files: told in a sentence, never a traceback and never a changed fact."""

from __future__ import annotations

import tempfile
from contextlib import suppress
from pathlib import Path

import apsw
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.contract.record_makers import PICTURE, PICTURE_HASH, Clock, calm, fill, reading

from bedplate.errors import BedplateError, DamagedError
from bedplate.record import Ledger, SqliteStore, export_record


def _sound() -> tuple[bytes, list[object]]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bedplate.sqlite"
        store = SqliteStore(path)
        ledger = fill(store)
        ledger.append_all("demo", [reading(n) for n in range(40)])
        entries: list[object] = list(ledger.entries("demo"))
        store.close()
        return path.read_bytes(), entries


SOUND, ENTRIES = _sound()
PLACES = st.integers(0, len(SOUND) - 1)


def look(data: bytes, wal: bytes = b"") -> None:
    """Do everything with a damaged file: each step gives the truth or a sentence."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bedplate.sqlite"
        path.write_bytes(data)
        if wal:
            path.with_name(path.name + "-wal").write_bytes(wal)
        try:
            store = SqliteStore(path)
        except BedplateError:
            return
        try:
            _use(store)
        finally:
            store.close()


def _use(store: SqliteStore) -> None:
    ledger = Ledger(store, Clock("2027-01-01T00:00:00+00:00"))
    with suppress(BedplateError):
        assert ledger.entries("demo") == ENTRIES
    with suppress(BedplateError):
        assert store.picture(PICTURE_HASH) in (PICTURE, None)
    with suppress(BedplateError):
        if ledger.verify("demo").ok:
            assert [row.hash for row in store.rows("demo")] == [n.hash for n in ENTRIES]
    for ask in (
        store.builds,
        store.faults,
        lambda: list(export_record(store, "demo")),
        lambda: ledger.find(reading(1).id),
        lambda: ledger.append("demo", reading("new")),
        lambda: store.put_picture(PICTURE_HASH, PICTURE),
    ):
        with suppress(BedplateError):
            ask()


@settings(calm, max_examples=60)
@given(st.lists(st.tuples(PLACES, st.integers(1, 255)), min_size=1, max_size=30))
def test_flipped_bytes(changes: list[tuple[int, int]]) -> None:
    data = bytearray(SOUND)
    for at, flip in changes:
        data[at] ^= flip
    look(bytes(data))


@settings(calm, max_examples=40)
@given(st.integers(0, 300), st.integers(1, 255))
def test_flipped_bytes_where_the_file_describes_itself(at: int, flip: int) -> None:
    data = bytearray(SOUND)
    data[at] ^= flip
    look(bytes(data))


@settings(calm, max_examples=30)
@given(PLACES)
def test_a_truncated_file(size: int) -> None:
    look(SOUND[:size])


@settings(calm, max_examples=30)
@given(PLACES, st.binary(min_size=1, max_size=5000))
def test_a_stretch_written_over(at: int, put: bytes) -> None:
    look((SOUND[:at] + put + SOUND[at + len(put) :])[: len(SOUND)])


@settings(calm, max_examples=20)
@given(st.binary(min_size=1, max_size=5000))
def test_a_log_of_something_else(wal: bytes) -> None:
    look(SOUND, wal)


def test_a_sound_file_is_sound() -> None:
    look(SOUND)


def test_a_changed_word_in_the_file_is_found_on_reading(tmp_path: Path) -> None:
    path = tmp_path / "bedplate.sqlite"
    path.write_bytes(SOUND.replace(b"street use", b"street USE"))
    store = SqliteStore(path)
    ledger = Ledger(store, Clock())
    with pytest.raises(DamagedError, match="Entry 10"):
        ledger.entries("demo")
    assert any(fault.startswith("Entry 10") for fault in ledger.verify("demo").faults)
    assert store.faults() == []  # SQLite itself sees nothing wrong
    store.close()


def test_a_changed_picture_is_not_given_out(tmp_path: Path) -> None:
    path = tmp_path / "bedplate.sqlite"
    assert PICTURE in SOUND
    path.write_bytes(SOUND.replace(PICTURE, PICTURE[::-1]))
    store = SqliteStore(path)
    with pytest.raises(DamagedError, match="picture"):
        store.picture(PICTURE_HASH)
    faults = Ledger(store, Clock()).verify("demo").faults
    assert faults == ("Entry 12: its picture is not the one that was taken.",)
    store.close()


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE entry SET id = '{0}' WHERE number = 5",
        "UPDATE entry SET number = 900 WHERE number = 5",
        "DELETE FROM entry WHERE number = 5",
        "DELETE FROM entry WHERE number = 54",
        "UPDATE build SET count = 53",
        "UPDATE build SET count = 55",
        "UPDATE build SET head = '{0}'",
    ],
)
def test_a_record_edited_in_the_database_is_found_on_reading(tmp_path: Path, change: str) -> None:
    path = tmp_path / "bedplate.sqlite"
    path.write_bytes(SOUND)
    editor = apsw.Connection(str(path))
    assert editor.execute("SELECT max(number) FROM entry").get == 54
    editor.execute(change.format("0" * 32))
    editor.close()
    store = SqliteStore(path)
    ledger = Ledger(store, Clock())
    with pytest.raises(DamagedError, match="'demo'"):
        ledger.entries("demo")
    assert not ledger.verify("demo").ok
    store.close()
