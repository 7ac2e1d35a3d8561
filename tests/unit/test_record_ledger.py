"""What the ledger takes, refuses, and answers when it is asked twice."""

from __future__ import annotations

import msgspec
import pytest
from tests.contract.memory_store import MemoryStore
from tests.contract.record_makers import Clock, chain, fill, new_id, reading, stamp, started

from bedplate.errors import (
    ConflictError,
    DamagedError,
    EntryError,
    NotFoundError,
    NotPossibleError,
    StorageError,
)
from bedplate.record import (
    ComparatorSet,
    Ledger,
    Note,
    Reading,
    Signed,
    Typed,
    Withdrawn,
)


@pytest.fixture
def ledger() -> Ledger:
    ledger = Ledger(MemoryStore(), Clock())
    ledger.append("demo", started())
    return ledger


def test_entries_are_numbered_and_chained() -> None:
    store = MemoryStore()
    ledger = Ledger(store, Clock())
    first = ledger.append("demo", started())
    second = ledger.append("demo", reading(1))
    assert (first.number, second.number) == (1, 2)
    assert ledger.entries("demo") == [first, second]
    assert ledger.entries("demo", after=1) == [second]
    assert ledger.entries("demo", after=2) == []
    point = ledger.checkpoint("demo")
    assert (point.count, point.head) == (2, second.hash)
    bodies = [msgspec.json.decode(row.body) for row in store.rows("demo")]
    assert [body["previous"] for body in bodies] == ["", first.hash]


def test_the_same_entry_twice_gives_the_same_answer_once(ledger: Ledger) -> None:
    first = ledger.append("demo", reading(1))
    ledger.append("demo", reading(2))
    again = ledger.append("demo", reading(1))
    assert not first.repeated
    assert again.repeated
    assert msgspec.structs.replace(again, repeated=False) == first
    assert ledger.checkpoint("demo").count == 3
    assert ledger.find(first.entry.id) == ("demo", first)


def test_the_first_entry_may_be_sent_twice_as_well(ledger: Ledger) -> None:
    assert ledger.append("demo", started()).repeated


def test_the_same_id_with_other_content_is_refused(ledger: Ledger) -> None:
    ledger.append("demo", reading(1))
    for other in (reading(1, text="59.007 mm", si=0.059007), reading(1, station="rear-a")):
        with pytest.raises(ConflictError, match="entry 2"):
            ledger.append("demo", other)
    ledger.append("second", started("second"))
    with pytest.raises(ConflictError, match="'demo'"):
        ledger.append("second", reading(1))


def test_several_entries_go_in_together_or_not_at_all(ledger: Ledger) -> None:
    ledger.append("demo", reading(1))
    answers = ledger.append_all("demo", [reading(2), reading(1), reading(3), reading(2)])
    assert [(a.number, a.repeated) for a in answers] == [
        (3, False),
        (2, True),
        (4, False),
        (3, True),
    ]
    bad = Withdrawn(**stamp("bad"), target=new_id("nowhere"), reason="x")
    with pytest.raises(NotFoundError):
        ledger.append_all("demo", [reading(5), bad])
    assert ledger.checkpoint("demo").count == 4
    assert ledger.append_all("demo", []) == []


def test_an_entry_may_refer_to_one_sent_with_it(ledger: Ledger) -> None:
    taken = ledger.append_all(
        "demo", [reading(1), Withdrawn(**stamp("w"), target=new_id(1), reason="typing")]
    )
    assert [n.number for n in taken] == [2, 3]
    assert ledger.verify("demo").ok


def test_time_is_set_by_the_program_and_never_runs_backwards() -> None:
    clock = Clock("2026-11-25T08:00:00.123+01:00")
    ledger = Ledger(MemoryStore(), clock)
    lied = msgspec.structs.replace(started(), at="1999-01-01T00:00:00.000Z")
    assert ledger.append("demo", lied).entry.at == "2026-11-25T07:00:01.123Z"
    clock.now = clock.now.replace(hour=3)
    assert ledger.append("demo", reading(1)).entry.at == "2026-11-25T07:00:01.123Z"
    clock.now = clock.now.replace(hour=9)
    assert ledger.append("demo", reading(2)).entry.at == "2026-11-25T09:00:03.123Z"
    assert ledger.append("other", started("other")).entry.at == "2026-11-25T09:00:04.123Z"


def test_a_record_begins_with_its_start_and_has_one(ledger: Ledger) -> None:
    with pytest.raises(NotFoundError, match="'nobody'"):
        ledger.append("nobody", reading(1))
    with pytest.raises(ConflictError):
        ledger.append("demo", started(title="Other"))
    again = msgspec.structs.replace(started(), id=new_id("again"))
    with pytest.raises(NotPossibleError, match="started already"):
        ledger.append("demo", again)
    with pytest.raises(NotPossibleError, match="'second'"):
        ledger.append("third", started("second"))


def test_what_may_be_withdrawn(ledger: Ledger) -> None:
    ledger.append("demo", reading(1))
    ledger.append("other", started("other"))
    ledger.append("other", reading("theirs"))

    def withdraw(target: str, seed: str) -> int:
        entry = Withdrawn(**stamp(seed), target=target, reason="wrong gauge")
        return ledger.append("demo", entry).number

    assert withdraw(new_id(1), "w1") == 3
    with pytest.raises(NotPossibleError, match="Entry 3 is a withdrawal"):
        withdraw(new_id("w1"), "w2")
    with pytest.raises(NotPossibleError, match="started the build"):
        withdraw(started().id, "w3")
    for nowhere in (new_id("theirs"), new_id("nowhere"), new_id("w4")):
        with pytest.raises(NotFoundError):
            withdraw(nowhere, "w4")
    assert ledger.checkpoint("demo").count == 3


def test_a_reading_rests_on_a_setting_of_its_gauge(ledger: Ledger) -> None:
    size = Typed(text="60 mm", si=0.06)
    setting = ComparatorSet(**stamp("set"), gauge="bore-1", size=size, master="ring 60")

    def compare(seed: str, **more: str) -> Reading:
        return reading(seed, text="+2 µm", si=2e-6, setting=setting.id, **more)

    with pytest.raises(NotFoundError, match="no setting"):
        ledger.append("demo", compare("early", gauge="bore-1"))
    ledger.append("demo", setting)
    assert ledger.append("demo", compare("r", gauge="bore-1")).number == 3
    with pytest.raises(NotPossibleError, match="set 'bore-1'"):
        ledger.append("demo", compare("other", gauge="bore-2"))
    with pytest.raises(NotPossibleError, match="no setting of a comparator"):
        ledger.append("demo", reading("odd", setting=started().id))


def test_a_signature_names_what_was_signed(ledger: Ledger) -> None:
    ledger.append("demo", reading(1))
    point = ledger.checkpoint("demo")
    ledger.append("demo", reading(2))

    def sign(seed: str, count: int, head: str) -> int:
        entry = Signed(**stamp(seed), role="builder", statement="mine", count=count, head=head)
        return ledger.append("demo", entry).number

    assert sign("s1", point.count, point.head) == 4
    now = ledger.checkpoint("demo")
    for count, head in ((2, now.head), (5, now.head), (0, now.head), (4, point.head)):
        with pytest.raises(NotPossibleError):
            sign("s2", count, head)
    assert sign("s2", now.count, now.head) == 5
    assert ledger.verify("demo").ok


@pytest.mark.parametrize(
    ("entry", "about"),
    [
        (reading(1, feature="x" * 301), "'feature' has 301 characters"),
        (reading(1, feature="a\x1b[2J"), "control character U\\+001B"),
        (reading(1, feature="\ud800"), "control character U\\+D800"),
        (reading(1, si=float("nan")), "'value' cannot be nan"),
        (reading(1, si=float("-inf")), "'value' cannot be -inf"),
        (msgspec.structs.replace(reading(1), id="0" * 31), "32 hex digits"),
        (msgspec.structs.replace(reading(1), id="A" * 32), "32 hex digits"),
        (msgspec.structs.replace(reading(1), id=""), "32 hex digits"),
        (Note(**stamp("n"), about="", text="x" * 10_001), "'text' has 10001"),
        (Withdrawn(**stamp("n"), target="7", reason=""), "'target'"),
        (reading(1, feature=7), "Expected `str`"),
        (reading(1, feature=b"x"), "type bytes"),
    ],
)
def test_an_entry_that_cannot_be_kept_is_refused(ledger: Ledger, entry, about: str) -> None:
    with pytest.raises(EntryError, match=about):
        ledger.append("demo", entry)
    assert ledger.checkpoint("demo").count == 1


@pytest.mark.parametrize("build", ["", "Demo", "a b", "-x", "x" * 61, "../x", "\ud800"])
def test_a_name_that_cannot_name_a_build_is_refused(ledger: Ledger, build: str) -> None:
    with pytest.raises(EntryError, match="cannot name a build"):
        ledger.append(build, started())


def test_an_unknown_build_or_id_is_not_there(ledger: Ledger) -> None:
    for ask in (ledger.entries, ledger.checkpoint, ledger.verify):
        with pytest.raises(NotFoundError, match="no build 'nobody'"):
            ask("nobody")
    assert ledger.find(new_id("nobody")) is None
    assert ledger.find("' OR 1=1 --") is None


class _Moving(MemoryStore):
    """A store to which somebody else always wrote first, or seems to."""

    def __init__(self, *, really: bool) -> None:
        super().__init__()
        self.really = really
        self.tries = 0

    def append(self, rows):
        if rows[0].number > 1:
            self.tries += 1
            if self.really:
                count, _ = self.head("demo")
                entries = [started(), *(reading(("theirs", n)) for n in range(count))]
                super().append([list(chain(entries))[-1]])
            raise ConflictError("Somebody was first.")
        super().append(rows)


def test_a_ledger_that_always_loses_gives_up_in_words() -> None:
    store = _Moving(really=True)
    store.append(list(chain([started()])))
    with pytest.raises(StorageError, match="keeps writing"):
        Ledger(store, Clock()).append("demo", reading(1))
    assert store.tries == 100


def test_a_store_that_refuses_without_a_reason_is_damaged() -> None:
    store = _Moving(really=False)
    store.append(list(chain([started()])))
    with pytest.raises(DamagedError, match="without a reason"):
        Ledger(store, Clock()).append("demo", reading(1))
    assert store.tries == 1


@pytest.mark.parametrize("missing", [0, 3, -1])
def test_reading_a_record_that_lost_a_row_says_so(missing: int) -> None:
    store = MemoryStore()
    ledger = fill(store)
    del store._builds["demo"][missing]
    store.head = lambda _: (14, "0" * 64)
    with pytest.raises(DamagedError, match="'demo'"):
        ledger.entries("demo")


def test_nothing_is_chained_behind_a_damaged_row() -> None:
    store = MemoryStore()
    ledger = fill(store)
    last = store._builds["demo"][-1]
    store._builds["demo"][-1] = msgspec.structs.replace(last, body=last.body.replace(b"I", b"J"))
    with pytest.raises(DamagedError, match="hash differs"):
        ledger.append("demo", reading("next"))


def test_a_row_that_was_put_in_anothers_place_is_not_read() -> None:
    store = MemoryStore()
    ledger = Ledger(store, Clock())
    ledger.append_all("demo", [started(), reading(1), reading(2)])
    forged = list(chain([started(title="Other"), reading(9), reading(10)]))
    store._builds["demo"][1] = forged[1]
    with pytest.raises(DamagedError, match="broken before entry 2"):
        ledger.entries("demo")
    store._ids[new_id(2)] = msgspec.structs.replace(forged[1], id=new_id(2))
    with pytest.raises(DamagedError, match="does not lie where"):
        ledger.find(new_id(2))


def test_nothing_is_chained_behind_a_head_that_is_not_the_last_row() -> None:
    store = MemoryStore()
    ledger = fill(store)
    store.head = lambda _: (14, "0" * 64)
    with pytest.raises(DamagedError, match="store's list"):
        ledger.append("demo", reading("next"))
