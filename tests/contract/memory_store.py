"""A store that keeps everything in memory: a fake for tests, and the suite's second store."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterator

from bedplate.errors import ConflictError, EntryError
from bedplate.record import BuildLine, StoredRow
from bedplate.record.canonical import decode


class MemoryStore:
    """Rows and pictures in dictionaries."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._builds: dict[str, list[StoredRow]] = {}
        self._ids: dict[str, StoredRow] = {}
        self._pictures: dict[str, bytes] = {}

    def head(self, build: str) -> tuple[int, str]:
        rows = self._builds.get(build)
        return (len(rows), rows[-1].hash) if rows else (0, "")

    def append(self, rows: list[StoredRow]) -> None:
        with self._lock:
            if not rows:
                return
            ids = {row.id for row in rows}
            chained = (rows[0].number - 1, decode(rows[0].body).previous)
            if (
                len(ids) < len(rows)
                or ids & self._ids.keys()
                or chained != self.head(rows[0].build)
            ):
                raise ConflictError("An id is taken, or the head has moved.")
            self._builds.setdefault(rows[0].build, []).extend(rows)
            self._ids.update((row.id, row) for row in rows)

    def find(self, id: str) -> StoredRow | None:
        return self._ids.get(id)

    def rows(self, build: str, after: int = 0) -> Iterator[StoredRow]:
        return iter(self._builds.get(build, [])[after:])

    def builds(self) -> list[BuildLine]:
        lines = [
            BuildLine(
                build=build,
                title=decode(rows[0].body).entry.title,
                count=len(rows),
                first=decode(rows[0].body).entry.at,
                last=decode(rows[-1].body).entry.at,
            )
            for build, rows in self._builds.items()
        ]
        lines.sort(key=lambda line: line.build)
        return sorted(lines, key=lambda line: line.last, reverse=True)

    def put_picture(self, sha256: str, data: bytes) -> None:
        if hashlib.sha256(data).hexdigest() != sha256:
            raise EntryError("The picture is another one.")
        self._pictures.setdefault(sha256, bytes(data))

    def picture(self, sha256: str) -> bytes | None:
        return self._pictures.get(sha256)

    def settings(self) -> dict[str, str]:
        return {"memory": "nothing is durable"}

    def faults(self) -> list[str]:
        return []

    def close(self) -> None:
        pass
