"""What verifying finds."""

from __future__ import annotations

import json

import msgspec
import pytest
from tests.contract.memory_store import MemoryStore
from tests.contract.record_makers import (
    PICTURE_HASH,
    chain,
    fill,
    new_id,
    one_of_each,
    reading,
    stamp,
    started,
)

from bedplate.errors import DamagedError
from bedplate.record import Checkpoint, StoredRow, Withdrawn, verify
from bedplate.record.canonical import canonical, digest
from bedplate.record.verify import FAULTS_SHOWN


@pytest.fixture
def rows() -> list[StoredRow]:
    store = MemoryStore()
    fill(store)
    return list(store.rows("demo"))


def rechained(rows: list[StoredRow], change) -> list[StoredRow]:
    """Return the record with one body changed and every hash after it made to fit."""
    previous = ""
    out = []
    for row in rows:
        link = json.loads(row.body)
        change(link)
        link["previous"] = previous
        body = canonical(link)
        previous = digest(body)
        out.append(msgspec.structs.replace(row, body=body, hash=previous))
    return out


def test_a_sound_record_is_sound(rows) -> None:
    found = verify(rows, Checkpoint(count=len(rows), head=rows[-1].hash))
    assert found.ok
    assert (found.count, found.head, found.faults) == (14, rows[-1].hash, ())


def test_an_old_checkpoint_holds_for_a_record_that_went_on(rows) -> None:
    assert verify(rows, Checkpoint(count=3, head=rows[2].hash)).ok


def test_a_checkpoint_may_be_typed_from_paper(rows) -> None:
    head = rows[-1].hash.upper()
    spaced = " ".join(head[i : i + 8] for i in range(0, 64, 8))
    assert verify(rows, Checkpoint(count=14, head=spaced)).ok


def test_a_dropped_row_is_found(rows) -> None:
    for at in range(len(rows) - 1):
        assert not verify(rows[:at] + rows[at + 1 :]).ok


def test_swapped_rows_are_found(rows) -> None:
    for at in range(len(rows) - 1):
        swapped = [*rows[:at], rows[at + 1], rows[at], *rows[at + 2 :]]
        assert not verify(swapped).ok


def test_a_doubled_row_is_found(rows) -> None:
    found = verify([*rows, rows[-1]])
    assert any("its id is that of entry 14" in fault for fault in found.faults)


def test_a_cut_end_is_found_by_the_checkpoint_alone(rows) -> None:
    point = Checkpoint(count=len(rows), head=rows[-1].hash)
    for keep in range(1, len(rows)):
        assert verify(rows[:keep]).ok
        found = verify(rows[:keep], point)
        assert found.faults == (
            f"The record was cut short: it has {keep} entries, but the printed checkpoint says 14.",
        )
    assert not verify([]).ok


def test_a_record_written_anew_is_found_by_the_checkpoint_alone(rows) -> None:
    def change(link) -> None:
        if link["number"] == 5:
            link["entry"]["value"]["si"] = 0.059001

    # The signature would show it too, so it is left out.
    anew = rechained(rows[:-1], change)
    assert verify(anew).ok
    found = verify(anew, Checkpoint(count=13, head=rows[12].hash))
    assert not found.ok
    assert "rewritten" in found.faults[0]


def test_a_signature_shows_what_was_written_anew_before_it(rows) -> None:
    def change(link) -> None:
        if link["number"] == 5:
            link["entry"]["value"]["si"] = 0.059001

    found = verify(rechained(rows, change))
    assert found.faults == ("Entry 14: What was signed is not the record's first 13 entries.",)


def test_the_stores_own_list_is_held_against_its_rows(rows) -> None:
    kept = Checkpoint(count=14, head=rows[-1].hash)
    assert verify(rows, kept=kept).ok
    assert "the store's list" in verify(rows[:-1], kept=kept).faults[0]


@pytest.mark.parametrize("count", [0, -1])
def test_a_checkpoint_of_nothing_proves_nothing(rows, count: int) -> None:
    assert not verify(rows, Checkpoint(count=count, head="")).ok


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (lambda link: link.update(number=link["number"] + 1), "its body says that it is number 2"),
        (lambda link: link.update(build="other"), "it belongs to the record of 'other'"),
        (lambda link: link["entry"].update(id="0" * 32), "its id is that of entry 1"),
        (lambda link: link["entry"].update(more=1), "unknown field"),
        (lambda link: link["entry"].update(kind="rumour"), "Invalid value 'rumour'"),
        (lambda link: link["entry"].update(by=None), "Expected `str`"),
        (lambda link: link["entry"].update(by="\x07"), "control character"),
        (lambda link: link["entry"].update(at="2026-11-25 07:00"), "cannot be 'at'"),
        (lambda link: link["entry"].update(at="2026-13-25T07:00:00.000Z"), "cannot be 'at'"),
    ],
)
def test_what_a_forger_chained_correctly_is_still_held_to_the_format(rows, change, fault) -> None:
    found = verify(rechained(rows, change))
    assert any(fault in sentence for sentence in found.faults)


def test_other_spellings_of_the_same_entry_are_refused(rows) -> None:
    body = rows[0].body
    for other in (
        body + b" ",
        b" " + body,
        body.replace(b'"number":1', b'"number":1.0'),
        body.replace(b'"number":1', b'"number":1,"number":1'),
        body.replace(b'"a tester"', b'"\\u0061 tester"'),
        body.replace(b'"a tester"', b'"\\ud800"'),
        body.replace(b'"a tester"', b'"\xed\xa0\x80"'),
        body.replace(b'"a tester"', b"NaN"),
        json.dumps(json.loads(body)).encode(),
        json.dumps(json.loads(body), separators=(",", ":"), sort_keys=False)[::-1].encode(),
        b'{"build":' + b"[" * 100_000,
        b'{"entry":{"a":' + b"[" * 100_000,
        b"",
        b"{}",
        b"null",
        "\ufeff".encode() + body,
        body.decode().encode("utf-16"),
    ):
        assert other != body
        row = msgspec.structs.replace(rows[0], body=other, hash=digest(other))
        found = verify([row])
        assert len(found.faults) == 1, other[:80]
        assert "canonical form" in found.faults[0] or "no link" in found.faults[0]


def test_time_that_runs_backwards_is_found() -> None:
    entries = [
        msgspec.structs.replace(started(), at="2026-11-25T07:00:01.000Z"),
        msgspec.structs.replace(reading(1), at="2026-11-25T07:00:00.999Z"),
    ]
    assert "taken before" in verify(chain(entries)).faults[0]


def test_references_are_held_to_the_ledgers_own_rules() -> None:
    entries = [
        reading(0),
        started(),
        Withdrawn(**stamp("w"), target=new_id("nowhere"), reason="x"),
        reading(1, setting=new_id(0)),
        Withdrawn(**stamp("w2"), target=new_id("w"), reason="x"),
    ]
    found = verify(chain(entries))
    assert [fault.split(":")[0] for fault in found.faults] == [f"Entry {n}" for n in range(1, 6)]


def test_pictures_are_held_to_their_hash(rows) -> None:
    good = {PICTURE_HASH: b"\x89PNG\r\n\x1a\n invented"}
    assert verify(rows, picture=good.get).ok
    assert "picture is missing" in verify(rows, picture=lambda _: None).faults[0]
    assert "not the one" in verify(rows, picture=lambda _: b"other").faults[0]


def test_a_record_that_is_wrong_all_over_is_not_listed_for_ever() -> None:
    entries = [started(), *(reading(n, setting=new_id("nowhere")) for n in range(300))]
    assert len(verify(chain(entries)).faults) == FAULTS_SHOWN + 1


def test_a_store_that_breaks_off_is_a_fault() -> None:
    def rows():
        yield from chain(one_of_each())
        raise DamagedError("The page is gone.")

    found = verify(rows())
    assert found.faults == ("The page is gone.",)
    assert found.count == 13
