"""From data to a PDF: Typst sets the page, and what people typed reaches it only as data.

The template reads one JSON object, so that no text can run as markup. The time in the PDF is that
of the record's last entry, and fonts come from a package: the same data give the same bytes on any
machine.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Literal

import msgspec

from bedplate.documents import fonts
from bedplate.engine.model import Limit
from bedplate.errors import BedplateError
from bedplate.quantity import Dimension, Units, show, show_range
from bedplate.record.entries import Checkpoint
from bedplate.shop.model import State

STANDARD: Literal["a-3a"] = "a-3a"
"""PDF/A-3 with files attached and the structure tagged (ISO 19005-3, level A)."""

INK = "#1b1b1b"

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)

Tree = dict[str, Any]


def both(
    value: float | None, units: Units, *, uncertainty: float | None = None, signed: bool = False
) -> list[str]:
    """Return a length in the builder's units and in the other ones; a dash if not known."""
    if value is None:
        return ["–", ""]
    return [
        show(value, Dimension.LENGTH, one, uncertainty=uncertainty, signed=signed)
        for one in (units, other(units))
    ]


def both_range(low: float | None, high: float | None, units: Units) -> list[str]:
    """Return limits in the builder's units and in the other ones."""
    return [show_range(low, high, Dimension.LENGTH, one) for one in (units, other(units))]


def within(limit: Limit, units: Units) -> str:
    """Return where limits hold, to follow the name of what they limit; '' for everywhere."""
    if limit.within is None:
        return ""
    return f" within {angle(limit.within, units)} of the split"


def other(units: Units) -> Units:
    """Return the units a builder does not think in."""
    return Units.INCH if units is Units.METRIC else Units.METRIC


def angle(value: float, units: Units) -> str:
    """Return an angle as printed."""
    return show(value, Dimension.ANGLE, units)


def time(at: str) -> str:
    """Return the time of an entry to the minute, UTC: '2026-11-25 07:00'."""
    return at[:16].replace("T", " ")


def drawing(svg: str, alt: str) -> Tree:
    """Return a drawing in the ink and the type of the page, with the words that stand in for it."""
    inked = svg.replace("<svg ", f'<svg color="{INK}" font-family="{fonts.FAMILY}" ', 1)
    return {"svg": inked, "alt": alt}


def heading(state: State) -> Tree:
    """Return what stands on every page: build, engine, checkpoint, time of the last entry."""
    last = state.entries[-1].entry.at if state.entries else ""
    when = moment(last)
    return {
        "build": state.build,
        "title": state.title,
        "engine": state.engine.name,
        "invented": state.engine.invented,
        "last": time(last),
        "date": [when.year, when.month, when.day, when.hour, when.minute, when.second],
        "checkpoint": checkpoint(state.checkpoint),
    }


def checkpoint(at: Checkpoint) -> Tree:
    """Return a checkpoint as printed: count, short head for the eye, full head to verify."""
    return {"count": f"{at.count:,}".replace(",", " "), "short": at.head[:8], "head": at.head}


def moment(at: str) -> datetime:
    """Return the time of an entry; the epoch where the text is no time."""
    try:
        return datetime.fromisoformat(at).astimezone(UTC)
    except ValueError:
        return _EPOCH


def typeset(
    template: str, data: Tree, *, at: datetime, attached: Mapping[str, str] | None = None
) -> bytes:
    """Return a PDF of a template with its data.

    :param template: name of the file in this folder, 'book.typ'
    :param data: what the template reads; texts may hold any characters
    :param at: the time the PDF carries
    :param attached: texts the template attaches, by the name it knows them under
    :raises BedplateError: the page could not be set, even in the plainest characters
    """
    for shown in (fonts.printable, fonts.plainest):
        try:
            return _compile(template, _mapped(data, shown), at, attached or {})
        except BaseException as error:
            # The typesetter ends some scripts in a panic, which is no Exception.
            if not _of_typst(error):
                raise
            cause = error
    sentence = f"The document could not be set: {_first_line(cause)}."
    raise BedplateError(
        sentence, hint="The record is whole; 'bedplate export' still gives all of it."
    )


def _compile(template: str, data: object, at: datetime, attached: Mapping[str, str]) -> bytes:
    import typst

    folder = Path(__file__).parent
    return typst.compile(
        folder / template,
        root=folder,
        font_paths=[fonts.folder()],
        ignore_system_fonts=True,
        format="pdf",
        pdf_standards=[STANDARD],
        sys_inputs={"data": msgspec.json.encode(data).decode(), **attached},
        timestamp=int(at.timestamp()),
    )


def _of_typst(error: BaseException) -> bool:
    return type(error).__name__ in {"TypstError", "PanicException"}


def _first_line(error: BaseException) -> str:
    return str(error).strip().partition("\n")[0].rstrip(".")


def _mapped(value: object, shown: Callable[[str], str]) -> object:
    """Return a tree with every text as it can be shown; a drawing keeps its long words whole."""
    match value:
        case str():
            return shown(value)
        case dict():
            return {
                name: fonts.known(one) if name == "svg" else _mapped(one, shown)
                for name, one in value.items()
            }
        case list() | tuple():
            return [_mapped(one, shown) for one in value]
        case _:
            return value
