"""An invented build on paper, with every standing and every kind of text in it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from bedplate.demo import fill
from bedplate.engine import examples
from bedplate.record.sqlite import SqliteStore
from bedplate.workshop import Workshop

BUILD = "paper-1"
HOSTILE = (
    '#read("/etc/passwd")',
    "*bold* _emph_ `raw` $x^2$ <label> @ref // gone",
    "#panic() #{1 + 1} ] [ } {",
    '"quoted" & <svg onload="x"/> </text>',
)


class Clock:
    """A minute later each time it is asked."""

    def __init__(self) -> None:
        self.now = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(minutes=1)
        return self.now


def measured(folder: Path, engine: str = "straight-six", *, repeats: int = 1) -> Workshop:
    """Return a workshop with one measured build, the same for the same arguments."""
    workshop = Workshop(SqliteStore(folder / "bedplate.sqlite"), clock=Clock())
    fill(workshop, examples()[engine], BUILD, repeats=repeats)
    return workshop


def written_on(workshop: Workshop, *texts: str) -> None:
    """Put texts wherever a person can put some."""
    state = workshop.state(BUILD)
    readings = [r for f in state.features.values() for r in f.readings]
    fits = list(state.fits)
    for index, text in enumerate(texts):

        def new(kind: int, index: int = index) -> str:
            return f"{kind:02x}{index:030x}"

        workshop.withdraw(BUILD, str(readings[index].number), text, by=text, id=new(1))
        workshop.accept(BUILD, fits[index], text, by=text, id=new(2))
        workshop.note(BUILD, "", text, by=text, id=new(3))
        workshop.step(BUILD, text, by=text, remark=text, id=new(4))
        workshop.receive_part(
            BUILD, "piston 1", text, marks=text, supplier=text, by=text, id=new(5)
        )
        workshop.rework(BUILD, "crank", ["main-journal-2"], text, by=text, id=new(6))
        workshop.sign(BUILD, text, text, by=text, id=new(7))
