"""What every use case stands on: the store, the record, and the states that are kept ready."""

from __future__ import annotations

import re
import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from bedplate.errors import BedplateError, EntryError
from bedplate.record import AnyEntry, BuildStarted, Ledger, Store
from bedplate.shop.receipts import Receipt, receipt_of
from bedplate.shop.typed import Stamp, needed, unknown

if TYPE_CHECKING:
    from bedplate.engine import Engine, Feature
    from bedplate.shop.model import GaugeState, State
    from bedplate.shop.reckoning import Reckoning

_KEPT = 32
"""Builds whose state is kept ready."""

_ID = re.compile(r"[0-9a-f]{32}\Z")


def utc_now() -> datetime:
    """Return the time now, in UTC."""
    return datetime.now(UTC)


def check(text: str, file: str = "") -> Engine:
    """Return the engine that a file means.

    :raises EngineFileError: with every fault of the file
    """
    from bedplate.engine import read_engine

    return read_engine(text, file)


class _EngineNames:
    """The ids of the features and fits of the engine file that was asked for last."""

    def __init__(self) -> None:
        self._last: tuple[str, frozenset[str] | None] = ("", None)

    def __call__(self, text: str) -> frozenset[str] | None:
        """Return them, None where the file cannot be read."""
        from bedplate.engine import read_engine

        if text != self._last[0]:
            try:
                engine = read_engine(text)
            except BedplateError:
                self._last = (text, None)
            else:
                self._last = (text, frozenset({*engine.features, *engine.fits}))
        return self._last[1]


class Core:
    """A store, a clock, and the states that are kept ready."""

    def __init__(self, store: Store, *, clock: Callable[[], datetime] = utc_now) -> None:
        """Take a store and a clock."""
        self._store = store
        self._names = _EngineNames()
        self._ledger = Ledger(store, clock, self._names)
        self._lock = threading.RLock()
        self._ready: OrderedDict[str, Reckoning] = OrderedDict()

    def close(self) -> None:
        """Let go of the store."""
        self._store.close()

    def state(self, build: str) -> State:
        """Return the state of a build as its record stands.

        :raises NotFoundError: there is no such build
        """
        with self._lock:
            return self._reckoning(build).state()

    def engine_text(self, build: str) -> str:
        """Return the engine file of a build, as it was given last."""
        with self._lock:
            return self._reckoning(build).engine_text

    def _reckoning(self, build: str) -> Reckoning:
        """Return the state that is kept ready, brought up to date."""
        from bedplate.shop.facts import gather
        from bedplate.shop.reckoning import Reckoning

        ready = self._ready.get(build)
        if ready is None or self._is_behind(ready):
            self._known(build)
            facts = gather(self._ledger.entries(build))
            ready = Reckoning(facts, previous=self._previous(build, facts.previous))
            self._ready[build] = ready
            while len(self._ready) > _KEPT:
                self._ready.popitem(last=False)
        else:
            for numbered in self._ledger.entries(build, after=ready.count):
                ready.add(numbered)
        self._ready.move_to_end(build)
        return ready

    def _is_behind(self, ready: Reckoning) -> bool:
        """Tell whether the build before has changed since it was looked at for wear."""
        name, seen = ready.before
        known = (seen.count, seen.head) if seen else (0, "")
        return bool(name) and name != ready.build and self._store.head(name) != known

    def _previous(self, build: str, previous: str) -> State | None:
        """Return the state of the build before; its own previous build is not looked at."""
        from bedplate.shop.reckoning import state_of

        if not previous or previous == build or not self._store.head(previous)[0]:
            return None
        return state_of(self._ledger.entries(previous))

    def _refuse_balanced(self, build: str, words: str) -> None:
        """Refuse words that call the engine balanced while something that turns is due."""
        if "balanced" in words.casefold():
            from bedplate.shop.balance.statements import refuse_balanced

            refuse_balanced(self.state(build), words)

    def _balance_stands(self, build: str) -> str:
        """Return the ledger's own words on the balance, to stand beside what somebody signs."""
        from bedplate.shop.balance.ledger import ledger_of

        return ledger_of(self.state(build)).sentence

    def _append(self, build: str, entry: AnyEntry) -> Receipt:
        return self._append_all(build, [entry])[0]

    def _append_all(self, build: str, entries: Sequence[AnyEntry]) -> list[Receipt]:
        if not entries:
            return []
        if not isinstance(entries[0], BuildStarted):
            self._known(build)
        taken = self._ledger.append_all(build, list(entries))
        return [receipt_of(build, row, repeated=row.repeated) for row in taken]

    def _feature(self, build: str, feature: str) -> Feature:
        features = self._reckoning(build).engine.features
        if feature not in features:
            raise unknown("feature", feature, features)
        return features[feature]

    def _gauge(self, build: str, gauge: str) -> GaugeState:
        gauges = self._reckoning(build).gauges
        if gauge not in gauges:
            raise unknown("gauge", gauge, gauges)
        return gauges[gauge]

    def _entry_id(self, build: str, target: str) -> str:
        if _ID.match(target):
            return target
        rows = {str(n.number): n.entry.id for n in self._reckoning(build).entries}
        if target.strip() not in rows:
            raise unknown("entry", target, [f"1 to {len(rows)}"])
        return rows[target.strip()]

    def _taken(self, id: str) -> Receipt | None:
        """Return the receipt of an id that is in the store already."""
        row = self._store.find(id) if id else None
        if row is None:
            return None
        return Receipt(build=row.build, id=id, number=row.number, hash=row.hash, repeated=True)

    def _known(self, build: str) -> None:
        if not self._store.head(build)[0]:
            raise unknown("build", build, [b.build for b in self._store.builds()])

    def _free_name(self, name: str) -> str:
        plain = re.sub(r"[^a-z0-9]+", "-", name.lower().split("(")[0]).strip("-")[:50] or "build"
        taken = {b.build for b in self._store.builds()}
        names = (plain if n == 1 else f"{plain}-{n}" for n in range(1, len(taken) + 2))
        return next(candidate for candidate in names if candidate not in taken)

    def _stamp(self, id: str, by: str) -> Stamp:
        needed(by, "who says so")
        if id and not _ID.match(id):
            sentence = f"'{id[:40]}' is not an entry id."
            raise EntryError(sentence, hint="An id is 32 hexadecimal digits, small letters.")
        return {"id": id or secrets.token_hex(16), "at": "", "by": by.strip()}
