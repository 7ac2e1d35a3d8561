"""What happened: entries, the ledger that takes and chains them, the store they lie in."""

from bedplate.record.entries import (
    Accepted,
    AnyEntry,
    BuildStarted,
    Checkpoint,
    ComparatorSet,
    EngineRevised,
    Entry,
    GaugeRegistered,
    Note,
    Numbered,
    PartReceived,
    Picture,
    Reading,
    Reworked,
    Signed,
    StepDone,
    Typed,
    Withdrawn,
)
from bedplate.record.jsonlines import export_record, import_record
from bedplate.record.ledger import Ledger
from bedplate.record.sqlite import SqliteStore
from bedplate.record.store import BuildLine, Store, StoredRow
from bedplate.record.verify import Verification, verify

__all__ = [
    "Accepted",
    "AnyEntry",
    "BuildLine",
    "BuildStarted",
    "Checkpoint",
    "ComparatorSet",
    "EngineRevised",
    "Entry",
    "GaugeRegistered",
    "Ledger",
    "Note",
    "Numbered",
    "PartReceived",
    "Picture",
    "Reading",
    "Reworked",
    "Signed",
    "SqliteStore",
    "StepDone",
    "Store",
    "StoredRow",
    "Typed",
    "Verification",
    "Withdrawn",
    "export_record",
    "import_record",
    "verify",
]
