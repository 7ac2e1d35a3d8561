"""A record of each released format, frozen: it is read for ever, and written the same."""

from __future__ import annotations

from pathlib import Path

from tests.contract.memory_store import MemoryStore
from tests.contract.record_makers import Clock, fill

from bedplate.record import Ledger, export_record, import_record

VERSION_1 = Path(__file__).with_name("record-version-1.jsonl")
HEAD_1 = "3a5fcddfaa2042591569ceb258fbad19e0b5120bd06f6d662e4c84d65ef384f5"


def test_a_record_of_version_1_is_read_and_given_back_byte_for_byte() -> None:
    data = VERSION_1.read_bytes()
    store = MemoryStore()
    assert import_record(store, data, VERSION_1.name) == "demo"
    ledger = Ledger(store, Clock())
    assert (ledger.checkpoint("demo").count, ledger.checkpoint("demo").head) == (14, HEAD_1)
    assert ledger.verify("demo").ok
    assert len(ledger.entries("demo")) == 14
    assert b"".join(export_record(store, "demo")) == data


def test_the_same_entries_are_still_written_as_in_version_1() -> None:
    store = MemoryStore()
    fill(store)
    assert b"".join(export_record(store, "demo")) == VERSION_1.read_bytes()
