"""Entries and clocks for the tests of the record; every value is invented."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import msgspec
from hypothesis import HealthCheck, settings

from bedplate.record import (
    Accepted,
    AnyEntry,
    BuildStarted,
    ComparatorSet,
    EngineRevised,
    GaugeRegistered,
    Ledger,
    Note,
    PartReceived,
    Picture,
    Reading,
    Reworked,
    Signed,
    StepDone,
    Store,
    StoredRow,
    Typed,
    Withdrawn,
)
from bedplate.record.canonical import row_of

calm = settings(deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow])
"""A busy machine makes no test red."""

PICTURE = b"\x89PNG\r\n\x1a\n invented"
PICTURE_HASH = hashlib.sha256(PICTURE).hexdigest()
NOON = "2026-11-25T12:00:00.000Z"


def new_id(seed: object) -> str:
    """Return an id that is the same for the same seed."""
    return hashlib.sha256(repr(seed).encode()).hexdigest()[:32]


def stamp(seed: object, at: str = "") -> dict[str, Any]:
    """Return what every entry has."""
    return {"id": new_id(seed), "at": at, "by": "a tester"}


def started(build: str = "demo", **more: Any) -> BuildStarted:
    """Return the first entry of a record."""
    values = {"title": "Invented", "engine": 'name = "Invented"\n', **more}
    return BuildStarted(**stamp(("started", build)), build=build, **values)


def reading(seed: object, text: str = "59.006 mm", si: float = 0.059006, **more: Any) -> Reading:
    """Return a reading with a gauge that shows sizes."""
    values = {"feature": "main-journal-1", "station": "front-a", "gauge": "mic-50-75", **more}
    return Reading(**stamp(seed), value=Typed(text=text, si=si), **values)


def one_of_each(build: str = "demo") -> list[AnyEntry]:
    """Return a short record with every kind of entry but a signature, which needs a hash."""
    size = Typed(text="2.500 in", si=0.0635)
    setting = ComparatorSet(**stamp("setting"), gauge="bore-1", size=size, on_gauge="mic-50-75")
    return [
        started(build),
        PartReceived(**stamp("part"), part="crank", identity="no. 7", marks="front: dot"),
        GaugeRegistered(
            **stamp("gauge"),
            gauge="mic-50-75",
            name="Outside micrometer",
            gauge_kind="outside micrometer",
            comparator=False,
            resolution=Typed(text="1 µm", si=1e-6),
            expanded_uncertainty=Typed(text="2 µm", si=2e-6),
            repeatability=Typed(text="0.5 µm", si=5e-7),
        ),
        setting,
        reading("r1"),
        reading("r2", text="-3 tenths", si=-7.62e-6, gauge="bore-1", setting=setting.id),
        Withdrawn(**stamp("w"), target=new_id("r1"), reason="„falsch“ 😀 typed"),
        Reworked(**stamp("rw"), part="crank", features=("main-journal-1",), operation="polished"),
        EngineRevised(**stamp("er"), engine="name = 'X'\n\tx\r\n", reason="limits"),
        Accepted(**stamp("a"), fit="main-1", verdict="outside", reason="street use", least=1e-5),
        Note(**stamp("n"), about="", text="a\nb"),
        Picture(**stamp("p"), about="crank", sha256=PICTURE_HASH, media_type="image/png"),
        StepDone(**stamp("s"), step="clean block"),
    ]


class Clock:
    """Time that moves a second at each look, or stands where it is put."""

    def __init__(self, start: str = "2026-11-25T07:00:00.000+00:00") -> None:
        self.now = datetime.fromisoformat(start).astimezone(UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now


def fill(store: Store, build: str = "demo") -> Ledger:
    """Put a record with every kind of entry into a store."""
    ledger = Ledger(store, Clock())
    store.put_picture(PICTURE_HASH, PICTURE)
    ledger.append_all(build, one_of_each(build))
    point = ledger.checkpoint(build)
    words = {"role": "builder", "statement": "I measured this."}
    ledger.append(build, Signed(**stamp("sign"), count=point.count, head=point.head, **words))
    return ledger


def chain(entries: list[AnyEntry], build: str = "demo") -> Iterator[StoredRow]:
    """Yield rows chained by hand, without the ledger's own checks of references."""
    previous = ""
    for number, entry in enumerate(entries, start=1):
        timed = entry if entry.at else msgspec.structs.replace(entry, at=NOON)
        row = row_of(build, number, previous, timed)
        previous = row.hash
        yield row
