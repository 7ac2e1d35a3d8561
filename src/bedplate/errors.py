"""Every error a person can meet.

    BedplateError
    ├── InputError          what was given cannot be used            exit 3
    │   ├── QuantityError   a typed quantity
    │   ├── EngineFileError an engine file, with all its faults
    │   ├── EntryError      an entry, a form, a request body
    │   └── ImportFileError a CSV or JSON Lines file
    ├── NotFoundError       a build, feature, station, gauge, entry  exit 4
    ├── NotPossibleError    understood, but the record forbids it    exit 5
    │   └── ConflictError   an id or a name that is already taken
    ├── DamagedError        the record or its store is not whole     exit 6
    └── StorageError        the disk is full, locked or read-only    exit 7

Exit 0 is "done", 1 is "done, and the answer is no" (a file with faults, a record that does not
verify), 2 is a command line that argparse could not read.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar


class BedplateError(Exception):
    """One sentence for the bench, a stable code for programs, a hint where one helps.

    :param sentence: what was wrong, where, in one sentence that ends with a full stop
    :param hint: what would be right, or what to do next; may be empty
    """

    code: ClassVar[str] = "error"
    exit_code: ClassVar[int] = 1
    http_status: ClassVar[int] = 500

    def __init__(self, sentence: str, *, hint: str = "") -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.hint = hint

    def as_dict(self) -> dict[str, object]:
        """Return the error as the JSON object that terminal and page show."""
        return {"error": self.code, "sentence": self.sentence, "hint": self.hint}


class InputError(BedplateError):
    """What was given cannot be used."""

    code = "input"
    exit_code = 3
    http_status = 422


class QuantityError(InputError):
    """A typed quantity that cannot be read, or contradicts itself."""

    code = "quantity"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a file: where, what, and what would be right.

    :param file: the file's name as given, or '' where the text had none
    :param line: first line is 1; 0 where no line can be told
    :param key: dotted path in the file, such as 'fit[2].limits'
    """

    file: str
    line: int
    key: str
    wrong: str
    right: str = ""

    def __str__(self) -> str:
        """Return 'file:line: key: wrong; right'."""
        place = ":".join(str(part) for part in (self.file, self.line or "") if part)
        what = f"{self.wrong}; {self.right}" if self.right else self.wrong
        return ": ".join(part for part in (place, self.key, what) if part)


class FaultsError(InputError):
    """A file with faults, all of them at once."""

    code = "faults"

    def __init__(self, sentence: str, faults: tuple[Fault, ...], *, hint: str = "") -> None:
        super().__init__(sentence, hint=hint)
        self.faults = faults

    def as_dict(self) -> dict[str, object]:
        """Return the error with each of its faults."""
        rows = [
            {"file": f.file, "line": f.line, "key": f.key, "wrong": f.wrong, "right": f.right}
            for f in self.faults
        ]
        return {**super().as_dict(), "faults": rows}


class EngineFileError(FaultsError):
    """An engine file that cannot be used."""

    code = "engine-file"


class EntryError(InputError):
    """An entry, a form or a request body that is not well formed."""

    code = "entry"


class ImportFileError(FaultsError):
    """A CSV or JSON Lines file of which nothing was taken."""

    code = "import-file"


class NotFoundError(BedplateError):
    """Something named that is not there."""

    code = "not-found"
    exit_code = 4
    http_status = 404


class NotPossibleError(BedplateError):
    """Understood, but the record as it stands forbids it."""

    code = "not-possible"
    exit_code = 5
    http_status = 409


class ConflictError(NotPossibleError):
    """An id or a name that is already taken by something else."""

    code = "conflict"


class DamagedError(BedplateError):
    """The record or its store is not whole."""

    code = "damaged"
    exit_code = 6


class StorageError(BedplateError):
    """The disk is full, locked or read-only; nothing was written."""

    code = "storage"
    exit_code = 7
    http_status = 507
