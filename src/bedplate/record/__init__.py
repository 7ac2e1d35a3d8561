"""What happened: entries, the ledger that takes and chains them, the store they lie in."""

from bedplate.record import entries
from bedplate.record.entries import *  # noqa: F403 - every entry, named once in `entries`
from bedplate.record.jsonlines import export_record, import_record
from bedplate.record.ledger import Ledger
from bedplate.record.sqlite import SqliteStore
from bedplate.record.store import BuildLine, Store, StoredRow
from bedplate.record.verify import Verification, verify

__all__ = [
    "BuildLine",
    "Ledger",
    "SqliteStore",
    "Store",
    "StoredRow",
    "Verification",
    "export_record",
    "import_record",
    "verify",
]
__all__ += entries.__all__
