"""A return, a waiver, a selection, a filing and a use name only what stands in the record."""

from __future__ import annotations

import io

import pytest
from tests.contract.memory_store import MemoryStore
from tests.contract.record_makers import Clock, chain, new_id, stamp, started

from bedplate.errors import ImportFileError, NotFoundError
from bedplate.record import (
    AnyEntry,
    EngineRevised,
    Ledger,
    OnHand,
    OrderIssued,
    OrderRow,
    PartsUsed,
    Placed,
    Prediction,
    ReturnRow,
    ReturnTaken,
    RingFiled,
    RowWaived,
    SelectionMade,
    Sent,
    Withdrawn,
    verify,
)
from bedplate.record.jsonlines import export_record, import_record

FIRST, LATER = 'name = "Invented"\n', 'name = "Invented"\nrings = 2\n'


def names(engine: str) -> set[str] | None:
    """Return what an engine file names, as the tests have it."""
    return {"main-clearance-1"} | ({"top-ring-gap-1"} if engine == LATER else set())


def issued(seed: object = "order", revision: int = 1, rows: str = "bore wash") -> OrderIssued:
    made = tuple(
        OrderRow(row=row, station="other work", name=row, quantity="words") for row in rows.split()
    )
    return OrderIssued(
        **stamp(seed), order="7", revision=revision, shop="a shop", derived="0" * 64, rows=made,
        sent=(Sent(part="block", count=1),),
    )  # fmt: skip


def returned(row: str = "wash", **more: object) -> ReturnTaken:
    values = {"order": "7", "revision": 1, "rows": (ReturnRow(row=row, done="yes"),), **more}
    return ReturnTaken(**stamp("return"), **values)


def waived(row: str = "wash", order: str = "7") -> RowWaived:
    return RowWaived(**stamp("waiver"), order=order, row=row, reason="not now")


def selected(identity: str = "U1", fit: str = "main-clearance-1") -> SelectionMade:
    return SelectionMade(
        **stamp("selection"), what="main shells", derived="0" * 64, proof="",
        placed=(Placed(place="main 1 upper", identity=identity),),
        predicted=(Prediction(fit=fit, value=4e-5, expanded=2e-6),),
    )  # fmt: skip


def filed(feature: str = "top-ring-gap-1") -> RingFiled:
    return RingFiled(**stamp("filing"), feature=feature, strokes=3)


def used(identity: str = "U1") -> PartsUsed:
    return PartsUsed(**stamp("use"), identity=identity, count=1, place="main 1 upper")


def before() -> list[AnyEntry]:
    """Return a record with an order, a part, and a revised engine file with rings."""
    return [
        started(engine=FIRST),
        issued(),
        OnHand(**stamp("part"), part="main shell", identity="U1", count=1),
        EngineRevised(**stamp("revised"), engine=LATER, reason="rings"),
    ]


GOOD = [returned(), returned(rows=(), returned=(Sent(part="block", count=1),)), waived(),
        selected(), filed(), used()]  # fmt: skip
BAD = [
    (returned(order="8"), "no shop order '8', revision 1, in the record of 'demo'"),
    (returned(revision=2), "no shop order '7', revision 2,"),
    (returned("decks"), "Order 7, revision 1, has no row 'decks'"),
    (returned(returned=(Sent(part="rods", count=4),)), "Order 7 sent no 'rods'"),
    (waived(order="8"), "no shop order '8' in the record"),
    (waived("decks"), "has no row 'decks'"),
    (selected("U2"), "no part 'U2' on hand"),
    (selected(fit="main-clearance-9"), "no fit 'main-clearance-9' in an engine file of 'demo'"),
    (filed("top-ring-gap-9"), "no ring gap 'top-ring-gap-9'"),
    (used("U2"), "no part 'U2' on hand"),
]


@pytest.mark.parametrize("entry", GOOD, ids=lambda e: type(e).__name__)
def test_what_is_in_the_record_may_be_named(entry: AnyEntry) -> None:
    ledger = Ledger(MemoryStore(), Clock(), names)
    ledger.append_all("demo", before())
    ledger.append("demo", entry)
    assert ledger.verify("demo").ok
    # In one go as well: what stands before it in the same batch counts.
    other = Ledger(MemoryStore(), Clock(), names)
    other.append_all("demo", [*before(), entry])
    assert other.verify("demo").ok


@pytest.mark.parametrize(("entry", "words"), BAD)
def test_what_is_not_in_the_record_is_refused_and_found(entry: AnyEntry, words: str) -> None:
    ledger = Ledger(MemoryStore(), Clock(), names)
    ledger.append_all("demo", before())
    with pytest.raises(NotFoundError) as caught:
        ledger.append("demo", entry)
    assert words in caught.value.sentence
    assert ledger.checkpoint("demo").count == 4
    (fault,) = verify(chain([*before(), entry]), names=names).faults
    assert fault.startswith("Entry 5: ")
    assert words in fault


def test_an_entry_before_what_it_names_is_refused() -> None:
    ledger = Ledger(MemoryStore(), Clock(), names)
    with pytest.raises(NotFoundError, match="no part 'U1' on hand"):
        ledger.append_all("demo", [started(engine=FIRST), used(), *before()[1:]])
    with pytest.raises(NotFoundError, match="no ring gap"):
        ledger.append_all("demo", [started(engine=FIRST), filed()])


@pytest.mark.parametrize(
    ("target", "entry"), [("order", returned()), ("order", waived()), ("part", selected())]
)
def test_what_was_withdrawn_is_not_there(target: str, entry: AnyEntry) -> None:
    gone = Withdrawn(**stamp("gone"), target=new_id(target), reason="by mistake")
    ledger = Ledger(MemoryStore(), Clock(), names)
    ledger.append_all("demo", [*before(), gone])
    with pytest.raises(NotFoundError):
        ledger.append("demo", entry)
    assert not verify(chain([*before(), gone, entry]), names=names).ok


def test_a_row_is_let_be_by_the_last_revision() -> None:
    ledger = Ledger(MemoryStore(), Clock(), names)
    ledger.append_all("demo", [*before(), issued("again", 2, "bore")])
    with pytest.raises(NotFoundError, match="revision 2, has no row 'wash'"):
        ledger.append("demo", waived())
    ledger.append("demo", returned())  # a sheet of the first revision may still come


def test_ids_of_an_engine_file_that_cannot_be_read_are_let_be() -> None:
    for reads in (None, lambda _: None):
        ledger = Ledger(MemoryStore(), Clock(), reads)
        ledger.append_all("demo", [*before(), filed("top-ring-gap-9")])
        assert ledger.verify("demo").ok


def test_an_export_that_names_what_is_not_there_is_not_taken_in() -> None:
    store = MemoryStore()
    loose = Ledger(store, Clock())
    loose.append_all("demo", [*before(), filed("top-ring-gap-9")])
    data = b"".join(export_record(store, "demo"))
    with pytest.raises(ImportFileError) as caught:
        import_record(MemoryStore(), io.BytesIO(data), "demo.jsonl", names)
    assert [fault.line for fault in caught.value.faults] == [6]
