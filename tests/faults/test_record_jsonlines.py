"""JSON Lines that are not whole and sound: refused with their lines, and nothing is taken."""

from __future__ import annotations

import base64
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.contract.memory_store import MemoryStore
from tests.contract.record_makers import PICTURE, PICTURE_HASH, Clock, calm, fill, reading, started

from bedplate.errors import ConflictError, DamagedError, ImportFileError, NotFoundError
from bedplate.record import Ledger, export_record, import_record, jsonlines

_STORE = MemoryStore()
fill(_STORE)
DATA = b"".join(export_record(_STORE, "demo"))
LINES = DATA.splitlines(keepends=True)


def refused(data: bytes) -> ImportFileError:
    """Return the refusal of a file, after making sure that nothing of it was taken."""
    store = MemoryStore()
    with pytest.raises(ImportFileError) as caught:
        import_record(store, data, "sent.jsonl")
    assert store.builds() == []
    assert store._pictures == {}
    assert all(fault.line > 0 and fault.file == "sent.jsonl" for fault in caught.value.faults)
    assert caught.value.sentence.endswith(".")
    return caught.value


def line_of(data: bytes) -> int:
    """Return the line of the first fault."""
    return refused(data).faults[0].line


def test_the_file_is_as_it_is_described() -> None:
    header, *lines = LINES
    assert json.loads(header) == {
        "build": "demo",
        "count": 14,
        "format": "bedplate record",
        "head": _STORE.head("demo")[1],
        "version": 1,
    }
    assert [line[:-1] for line in lines[:14]] == [row.body for row in _STORE.rows("demo")]
    picture = json.loads(lines[14])
    assert (base64.b64decode(picture["data"]), picture["sha256"]) == (PICTURE, PICTURE_HASH)
    assert len(lines) == 15


def test_the_same_record_twice_changes_nothing() -> None:
    store = MemoryStore()
    assert import_record(store, DATA) == import_record(store, io.BytesIO(DATA)) == "demo"
    assert len(store.builds()) == 1
    assert b"".join(export_record(store, "demo")) == DATA


def test_another_record_of_the_same_build_is_a_conflict() -> None:
    store = MemoryStore()
    Ledger(store, Clock("2027-01-01T00:00:00+00:00")).append("demo", started())
    before = list(store.rows("demo"))
    with pytest.raises(ConflictError, match="'demo'"):
        import_record(store, DATA)
    assert list(store.rows("demo")) == before
    assert store._pictures == {}


def test_an_id_of_another_build_is_a_conflict() -> None:
    store = MemoryStore()
    ledger = Ledger(store, Clock())
    ledger.append("other", started("other"))
    ledger.append("other", reading("r1"))
    with pytest.raises(ConflictError, match="Entry 5 has the id of entry 2 of 'other'"):
        import_record(store, DATA)
    assert store.head("demo") == (0, "")
    assert store._pictures == {}


@pytest.mark.parametrize("keep", range(16))
def test_a_file_that_ends_early_is_refused_where_it_ends(keep: int) -> None:
    assert line_of(b"".join(LINES[:keep])) in (max(keep, 1), keep + 1)


def test_the_line_of_a_fault_is_named() -> None:
    for number in range(2, 16):
        lines = list(LINES)
        lines[number - 1] = lines[number - 1].replace(b'"a tester"', b'"A tester"')
        assert line_of(b"".join(lines)) in (number + 1, 1, 15)
        lines[number - 1] = b"{}\n"
        assert line_of(b"".join(lines)) == number


def test_a_file_with_several_faults_names_them_all() -> None:
    lines = list(LINES)
    for number in (5, 9):
        lines[number - 1] = lines[number - 1].replace(b'"by":"a tester"', b'"by":"x\\u0007"')
    faults = refused(b"".join(lines)).faults
    assert {5, 9} <= {fault.line for fault in faults}


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"\n", "not the first line"),
        (b"\x00" * 50, "cut short"),
        (b"x" * 5000, "too long"),
        (b"name,value\n1,2\n", "not the first line"),
        (b"[" * 900 + b"\n", "not the first line"),
        (DATA.replace(b"\n", b"\r\n"), "line ends were changed"),
        (DATA[:-1], "cut short"),
        (DATA + b"\n", "more than the record"),
        (DATA + LINES[-1], "more than the record"),
        (b"\xef\xbb\xbf" + DATA, "not the first line"),
        (DATA.replace(b'"version":1', b'"version":2', 1), "format version 2"),
        (DATA.replace(b'"count":14', b'"count":15', 1), "no link"),
        (DATA.replace(b'"count":14', b'"count":13', 1), "rewritten"),
        (DATA.replace(b'"count":14', b'"count":0', 1), "0 entries"),
        (DATA.replace(b'"count":14', b'"count":99999999', 1), "99999999 entries"),
        (DATA.replace(b'"count":14', b'"count": 14', 1), "canonical form"),
        (DATA.replace(b'{"build":"demo"', b'{"build":"../x"', 1), "not well formed"),
        (DATA.replace(b'{"build":"demo"', b'{"build":"dema"', 1), "belongs to the record"),
        (DATA.replace(PICTURE_HASH.encode(), b"0" * 64), "hash"),
        (b"".join(LINES[:-1]) + b'{"data":"!","sha256":""}\n', "not the line of a picture"),
        (b"".join(LINES[:-1]) + b'{"data":"AAAA","sha256":""}\n', "not the picture"),
    ],
)
def test_a_file_that_cannot_be_used_says_why(data: bytes, words: str) -> None:
    error = refused(data)
    if words != "hash":
        assert any(words in fault.wrong for fault in error.faults), error.faults


def test_a_picture_has_one_spelling() -> None:
    coded = base64.b64encode(PICTURE)
    good = LINES[-1]
    assert coded.endswith(b"=")
    loose = coded[:-2] + bytes([coded[-2] + 1]) + b"="  # the same bytes, with stray bits
    assert base64.b64decode(loose, validate=True) == PICTURE
    for other in (
        good.replace(coded, loose),
        good.replace(PICTURE_HASH.encode(), b"0" * 64),
        json.dumps({"sha256": PICTURE_HASH, "data": coded.decode()}).encode() + b"\n",
        good.replace(b"{", b"{ "),
        good.replace(b"}", b',"more":1}'),
    ):
        assert other != good
        assert line_of(b"".join(LINES[:-1]) + other) == 16


def test_a_line_longer_than_any_record_has_is_not_read_to_its_end(monkeypatch) -> None:
    monkeypatch.setattr(jsonlines, "LINK_BYTES", 1000)
    lines = [*LINES[:2], b"x" * 5000 + b"\n", *LINES[3:]]
    assert "too long" in refused(b"".join(lines)).faults[0].wrong
    monkeypatch.setattr(jsonlines, "FILE_BYTES", 2000)
    assert "file is too long" in refused(DATA).faults[-1].wrong


def test_a_file_that_breaks_off_while_it_is_read_is_refused() -> None:
    class Broken(io.BytesIO):
        def readline(self, size: int = -1) -> bytes:
            if self.tell() > 2000:
                raise OSError("unplugged")
            return super().readline(size)

    store = MemoryStore()
    with pytest.raises(ImportFileError, match="unplugged"):
        import_record(store, Broken(DATA))
    assert store.builds() == []


@calm
@given(st.integers(0, len(DATA) - 1), st.binary(max_size=3), st.integers(0, 3))
def test_any_change_of_any_bytes_is_refused(at: int, put: bytes, drop: int) -> None:
    changed = DATA[:at] + put + DATA[at + drop :]
    if changed != DATA:
        refused(changed)


@calm
@given(st.lists(st.integers(0, len(LINES) - 1), max_size=len(LINES) + 2))
def test_any_other_order_of_lines_is_refused(order: list[int]) -> None:
    changed = b"".join(LINES[at] for at in order)
    if changed != DATA:
        refused(changed)


@calm
@given(st.binary(max_size=500))
def test_any_bytes_at_all_are_refused(data: bytes) -> None:
    refused(data)
    refused(LINES[0] + data)


def test_a_record_that_is_not_whole_is_not_exported() -> None:
    store = MemoryStore()
    fill(store)
    with pytest.raises(NotFoundError):
        export_record(store, "nobody")
    del store._pictures[PICTURE_HASH]
    with pytest.raises(DamagedError, match="picture"):
        list(export_record(store, "demo"))
    lost = store._builds["demo"].pop(4)
    store.head = lambda _: (14, lost.hash)
    with pytest.raises(DamagedError, match="broken behind entry 4"):
        list(export_record(store, "demo"))
