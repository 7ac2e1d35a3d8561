"""A record leaves and comes back byte for byte."""

from __future__ import annotations

import io

from hypothesis import given
from hypothesis import strategies as st
from tests.contract.memory_store import MemoryStore
from tests.contract.record_makers import Clock, calm, started
from tests.property.test_record_canonical import ENTRIES

from bedplate.record import Ledger, export_record, import_record


@calm
@given(st.lists(ENTRIES, max_size=6, unique_by=lambda entry: entry.id))
def test_export_of_import_is_the_same_bytes(entries) -> None:
    store = MemoryStore()
    ledger = Ledger(store, Clock())
    # No id of theirs is that of the start: it is not made of 32 random digits here.
    ledger.append("demo", started())
    free = [e for e in entries if e.id != started().id]
    ledger.append_all("demo", [e for e in free if not getattr(e, "setting", "")])
    data = b"".join(export_record(store, "demo"))
    other = MemoryStore()
    assert import_record(other, io.BytesIO(data)) == "demo"
    assert b"".join(export_record(other, "demo")) == data
    assert list(other.rows("demo")) == list(store.rows("demo"))
    assert import_record(other, data) == "demo"
    assert Ledger(other, Clock()).verify("demo").ok
