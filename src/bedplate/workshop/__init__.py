"""The one place that puts the program together, and the use cases that page and terminal call.

A use case takes text as a person typed it, reads it, asks engine file and record whether it makes
sense, and appends one entry, or none. Nothing is answered before it is durable.
"""

from __future__ import annotations

from pathlib import Path

from bedplate.record import SqliteStore
from bedplate.workshop.assembling import Assembling
from bedplate.workshop.balancing import Balancing
from bedplate.workshop.core import check, utc_now
from bedplate.workshop.deciding import Deciding
from bedplate.workshop.duty import Duty
from bedplate.workshop.fastening import Fastening
from bedplate.workshop.keeping import Keeping
from bedplate.workshop.measuring import Measuring
from bedplate.workshop.ordering import Ordering
from bedplate.workshop.selecting import Selecting
from bedplate.workshop.tightening import Tightening

__all__ = ["Workshop", "check", "data_folder", "utc_now"]


class Workshop(
    Ordering,
    Selecting,
    Keeping,
    Measuring,
    Deciding,
    Tightening,
    Fastening,
    Assembling,
    Duty,
    Balancing,
):
    """The program, put together."""

    @classmethod
    def open(cls, data: Path | None = None) -> Workshop:
        """Open the store in a data folder; the platform's own if none is given.

        :raises StorageError: the folder cannot be used
        """
        return cls(SqliteStore(data_folder(data) / "bedplate.sqlite"))


def data_folder(data: Path | None = None) -> Path:
    """Return the folder the data lies in: the one given, or the platform's own."""
    if data is not None:
        return data.expanduser()
    from platformdirs import user_data_path

    return user_data_path("bedplate", appauthor=False)
