"""Nothing can be changed in a record without verification seeing it."""

from __future__ import annotations

import json

import msgspec
from hypothesis import given
from hypothesis import strategies as st
from tests.contract.memory_store import MemoryStore
from tests.contract.record_makers import calm, fill

from bedplate.record import Checkpoint, verify
from bedplate.record.canonical import digest

_STORE = MemoryStore()
fill(_STORE)
ROWS = list(_STORE.rows("demo"))
POINT = Checkpoint(count=len(ROWS), head=ROWS[-1].hash)
PLACES = st.integers(0, len(ROWS) - 1)


@calm
@given(PLACES, st.data())
def test_any_single_byte_changed_is_found(place: int, data) -> None:
    body = bytearray(ROWS[place].body)
    at = data.draw(st.integers(0, len(body) - 1))
    body[at] ^= data.draw(st.integers(1, 255))
    rows = list(ROWS)
    rows[place] = msgspec.structs.replace(rows[place], body=bytes(body))
    assert not verify(rows).ok
    # A forger who hashes the changed row anew breaks the chain, and at its end the checkpoint.
    rows[place] = msgspec.structs.replace(rows[place], hash=digest(bytes(body)))
    assert not verify(rows, POINT).ok


@calm
@given(PLACES, st.sampled_from(["build", "number", "id", "hash"]))
def test_any_label_changed_is_found(place: int, label: str) -> None:
    value = getattr(ROWS[place], label)
    other = value + 1 if isinstance(value, int) else value[::-1] + "0"
    rows = list(ROWS)
    rows[place] = msgspec.structs.replace(rows[place], **{label: other})
    assert not verify(rows).ok


@calm
@given(st.lists(PLACES, max_size=len(ROWS)))
def test_no_other_order_or_choice_of_rows_passes_the_checkpoint(places: list[int]) -> None:
    same = places == list(range(len(ROWS)))
    assert verify([ROWS[place] for place in places], POINT).ok == same


@calm
@given(st.lists(st.tuples(PLACES, st.binary(max_size=400)), max_size=3))
def test_any_bodies_at_all_are_verified_without_a_traceback(changes) -> None:
    rows = list(ROWS)
    for place, body in changes:
        rows[place] = msgspec.structs.replace(rows[place], body=body, hash=digest(body))
    found = verify(rows, POINT, picture=_STORE.picture)
    assert found.ok == (not changes)
    json.dumps(found.faults)
