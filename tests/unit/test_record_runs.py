"""What a bolt's entry may refer to: a tightening run that stands before it in the same record."""

import pytest
from tests.contract.memory_store import MemoryStore
from tests.contract.record_makers import Clock, new_id, started

from bedplate.errors import EntryError, NotFoundError, NotPossibleError
from bedplate.record import (
    BoltTightened,
    Ledger,
    Note,
    OnBolts,
    StageDone,
    TighteningBegun,
    TighteningStopped,
)


@pytest.fixture
def ledger():
    made = Ledger(MemoryStore(), Clock())
    made.append("demo", started())
    return made


def stamp(number):
    return {"id": new_id(number), "at": "", "by": "a tester"}


def bolt(number, run):
    return BoltTightened(
        **stamp(number), run=run, stage=1, group="frame inner", bolt=5, outcome="done"
    )


def test_a_bolt_belongs_to_a_run_before_it(ledger):
    run = new_id(700)
    with pytest.raises(NotFoundError, match="no tightening run"):
        ledger.append("demo", bolt(701, run))
    on = (OnBolts(group="frame inner", lubricant="engine oil"),)
    begun = TighteningBegun(
        **stamp(700), plan="frame", purpose="trial", digest="0" * 64, on_bolts=on
    )
    ledger.append("demo", begun)
    ledger.append("demo", bolt(701, run))
    ledger.append("demo", StageDone(**stamp(702), run=run, stage=2))
    ledger.append("demo", TighteningStopped(**stamp(703), run=run, reason="phone"))
    assert ledger.verify("demo").ok


def test_a_note_begins_no_run(ledger):
    ledger.append("demo", Note(**stamp(700), about="", text="words"))
    with pytest.raises(NotPossibleError, match="begins no tightening run"):
        ledger.append("demo", bolt(701, new_id(700)))


def test_a_run_is_named_by_an_id(ledger):
    with pytest.raises((EntryError, NotFoundError)):
        ledger.append("demo", bolt(701, "frame"))
