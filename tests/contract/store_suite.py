"""What every store must hold to. A store joins by a subclass that says how it is opened."""

from __future__ import annotations

import threading
from abc import ABC, abstractmethod
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from tests.contract.record_makers import (
    PICTURE,
    PICTURE_HASH,
    Clock,
    chain,
    fill,
    new_id,
    one_of_each,
    reading,
    started,
)

from bedplate.errors import ConflictError, EntryError
from bedplate.record import Ledger, Store


class StoreSuite(ABC):
    """The contract of `bedplate.record.store.Store`."""

    @abstractmethod
    def open(self, folder: Path) -> Store:
        """Return the store of a folder; opening the same folder twice meets the same rows."""

    @pytest.fixture
    def store(self, tmp_path: Path) -> Iterator[Store]:
        store = self.open(tmp_path)
        yield store
        store.close()

    def test_a_new_store_is_empty(self, store: Store) -> None:
        assert store.head("demo") == (0, "")
        assert store.builds() == []
        assert list(store.rows("demo")) == []
        assert store.find(new_id(1)) is None
        assert store.picture(PICTURE_HASH) is None

    def test_a_store_says_how_it_is(self, store: Store) -> None:
        fill(store)
        assert all(isinstance(value, str) for value in store.settings().values())
        assert store.settings()
        assert store.faults() == []

    def test_rows_come_back_as_they_were_put_in(self, store: Store) -> None:
        rows = list(chain([started(), reading(1), reading(2)]))
        store.append(rows[:1])
        store.append(rows[1:])
        assert list(store.rows("demo")) == rows
        assert list(store.rows("demo", after=2)) == rows[2:]
        assert list(store.rows("demo", after=3)) == []
        assert store.head("demo") == (3, rows[-1].hash)
        assert store.find(rows[1].id) == rows[1]

    def test_nothing_is_appended_to_another_head(self, store: Store) -> None:
        rows = list(chain([started(), reading(1), reading(2)]))
        store.append(rows[:2])
        another = list(chain([started(), reading(8), reading(3), reading(4)]))
        assert another[2].number == 3
        for wrong in (rows[:1], rows[1:2], another[1:2], another[2:3], another[3:]):
            with pytest.raises(ConflictError):
                store.append(wrong)
        with pytest.raises(ConflictError):
            store.append(list(chain([started("other"), reading("x"), reading("y")], "other"))[1:])
        assert list(store.rows("demo")) == rows[:2]
        assert store.head("other") == (0, "")

    def test_an_id_is_unique_over_all_builds_and_nothing_half_happens(self, store: Store) -> None:
        store.append(list(chain([started(), reading(1)])))
        twice = list(chain([started("second"), reading(2), reading(1)], "second"))
        with pytest.raises(ConflictError):
            store.append(twice)
        assert store.head("second") == (0, "")
        assert list(store.rows("second")) == []
        assert store.find(new_id(2)) is None
        store.append(twice[:2])
        assert store.head("second")[0] == 2

    def test_an_id_twice_in_one_go_is_refused(self, store: Store) -> None:
        with pytest.raises(ConflictError):
            store.append(list(chain([started(), reading(1), reading(1)])))
        assert store.head("demo") == (0, "")

    def test_builds_are_listed_with_the_newest_first(self, store: Store) -> None:
        clock = Clock()
        ledger = Ledger(store, clock)
        ledger.append("first", started("first", title="A"))
        ledger.append("second", started("second", title="B"))
        assert [line.build for line in store.builds()] == ["second", "first"]
        ledger.append("first", reading(1))
        newest, older = store.builds()
        assert (newest.build, newest.title, newest.count) == ("first", "A", 2)
        assert newest.first < older.first == older.last < newest.last

    def test_a_picture_is_kept_once_under_its_hash(self, store: Store) -> None:
        store.put_picture(PICTURE_HASH, PICTURE)
        store.put_picture(PICTURE_HASH, PICTURE)
        assert store.picture(PICTURE_HASH) == PICTURE
        with pytest.raises(EntryError):
            store.put_picture("0" * 64, PICTURE)
        assert store.picture("0" * 64) is None

    def test_what_was_written_is_there_after_opening_again(self, tmp_path: Path) -> None:
        store = self.open(tmp_path)
        fill(store)
        rows = list(store.rows("demo"))
        store.close()
        again = self.open(tmp_path)
        try:
            assert list(again.rows("demo")) == rows
            assert again.picture(PICTURE_HASH) == PICTURE
            assert Ledger(again, Clock()).verify("demo").ok
        finally:
            again.close()

    def test_a_long_record_comes_back_whole(self, store: Store) -> None:
        rows = list(chain([started(), *(reading(n) for n in range(4500))]))
        store.append(rows)
        assert list(store.rows("demo")) == rows
        assert [row.number for row in store.rows("demo", after=4400)] == list(range(4401, 4502))

    def test_a_reader_does_not_hold_the_writer(self, store: Store) -> None:
        rows = list(chain([started(), *(reading(n) for n in range(20))]))
        store.append(rows[:10])
        reader = store.rows("demo")
        first = next(reader)
        store.append(rows[10:])
        assert first == rows[0]
        assert list(reader)[:9] == rows[1:10]

    def test_two_writers_race_and_no_entry_is_lost_or_doubled(self, tmp_path: Path) -> None:
        stores = [self.open(tmp_path) for _ in range(2)]
        ledgers = [Ledger(store, Clock()) for store in stores]
        ledgers[0].append("demo", started())
        gate = threading.Barrier(2)

        def write(which: int) -> list[int]:
            gate.wait()
            entries = (reading((which, n)) for n in range(60))
            return [ledgers[which].append("demo", entry).number for entry in entries]

        try:
            with ThreadPoolExecutor(2) as pool:
                taken = [number for numbers in pool.map(write, range(2)) for number in numbers]
            assert sorted(taken) == list(range(2, 122))
            assert ledgers[1].verify("demo").ok
        finally:
            for store in stores:
                store.close()

    def test_the_same_entries_sent_by_many_at_once_are_taken_once(self, store: Store) -> None:
        ledger = Ledger(store, Clock())
        ledger.append("demo", started())
        sent = [reading(n // 8) for n in range(160)]
        with ThreadPoolExecutor(8) as pool:
            answers = list(pool.map(lambda entry: ledger.append("demo", entry), sent))
        assert sum(not answer.repeated for answer in answers) == 20
        assert len({answer.number for answer in answers}) == 20
        assert store.head("demo")[0] == 21

    def test_many_threads_read_while_one_writes(self, store: Store) -> None:
        ledger = Ledger(store, Clock())
        ledger.append("demo", started())
        done = threading.Event()

        def read() -> int:
            looks = 0
            while not done.is_set():
                numbers = [n.number for n in ledger.entries("demo")]
                assert numbers == list(range(1, len(numbers) + 1))
                looks += 1
            return looks

        with ThreadPoolExecutor(4) as pool:
            readers = [pool.submit(read) for _ in range(4)]
            for n in range(60):
                ledger.append("demo", reading(n))
            done.set()
            assert all(reader.result() > 0 for reader in readers)

    def test_every_kind_of_entry_comes_back_equal(self, store: Store) -> None:
        ledger = fill(store)
        kept = [numbered.entry for numbered in ledger.entries("demo")]
        sent = one_of_each()
        assert [type(entry) for entry in kept[:-1]] == [type(entry) for entry in sent]
        for before, after in zip(sent, kept, strict=False):
            for field in before.__struct_fields__:
                if field != "at":
                    assert getattr(before, field) == getattr(after, field)
