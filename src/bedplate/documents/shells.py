"""Half shells drawn: the box on the bench, and a bearing with the two halves that lie in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from bedplate.documents import ink

_ACROSS = 12
_CELL, _ROW = 74.0, 66.0


@dataclass(frozen=True, slots=True)
class DrawnShell:
    """A half shell of the box.

    :param side: 'upper', 'lower', '' for either
    :param place: the bearing it was chosen for, '' if it is left over
    """

    name: str
    wall: str
    side: str
    grooved: bool
    place: str


def box_picture(shells: Sequence[DrawnShell]) -> str:
    """Return the box: each half shell with its wall and the bearing it goes to."""
    rows = max(1, ceil(len(shells) / _ACROSS))
    body = "".join(
        _shell(shell, _CELL * (n % _ACROSS + 0.5), _ROW * (n // _ACROSS) + 34.0)
        for n, shell in enumerate(shells)
    )
    placed = sum(bool(shell.place) for shell in shells)
    name = f"The box: {len(shells)} half shells, {placed} placed"
    width = _CELL * min(_ACROSS, max(len(shells), 1))
    return ink.drawing(width, _ROW * rows + 8, body, name=name, kind="box", links=False)


def _shell(shell: DrawnShell, x: float, y: float) -> str:
    kind = "heavy" if shell.place else "thin"
    up = shell.side != "lower"
    body = _half(x, y + (6 if up else -12), 21.0, up=up, kind=kind)
    if shell.grooved:
        body += _half(x, y + (6 if up else -12), 17.0, up=up, kind="hidden")
    body += ink.text(x, y - 24, shell.name[:12], 10, "number")
    inside = y + (0 if up else -8)
    if shell.place:
        body += ink.text(x, inside, shell.place, 12, "number")
    return body + ink.text(x, y + 18, shell.wall, 9, "small")


def _half(x: float, y: float, radius: float, *, up: bool, kind: str) -> str:
    """Draw half a ring, closed at its ends."""
    sweep = 1 if up else 0
    inner = radius - 4.5
    if kind == "hidden":
        return ink.path(
            f"M{x - radius:.1f} {y:.1f}A{radius:.1f} {radius:.1f} 0 0 {sweep} {x + radius:.1f} "
            f"{y:.1f}",
            kind,
        )
    return ink.path(
        f"M{x - radius:.1f} {y:.1f}A{radius:.1f} {radius:.1f} 0 0 {sweep} {x + radius:.1f} {y:.1f}"
        f"L{x + inner:.1f} {y:.1f}A{inner:.1f} {inner:.1f} 0 0 {1 - sweep} {x - inner:.1f} "
        f"{y:.1f}Z",
        kind,
    )


def bearing_picture(name: str, upper: str, lower: str, loaded: str, *, grooved: str) -> str:
    """Return a bearing with its two halves named, the loaded one marked by an arrow.

    :param loaded, grooved: 'upper' or 'lower'; `grooved` may be 'both' or ''
    """
    x, y = 78.0, 62.0
    body = ink.ring(x, y, 44, "thin") + ink.ring(x, y, 27, "outline")
    body += _half(x, y - 1.2, 40, up=True, kind="heavy")
    body += _half(x, y + 1.2, 40, up=False, kind="heavy")
    if grooved in {"upper", "both"}:
        body += _half(x, y - 1.2, 35.5, up=True, kind="hidden")
    if grooved in {"lower", "both"}:
        body += _half(x, y + 1.2, 35.5, up=False, kind="hidden")
    body += ink.line(x - 56, y, x - 42, y, "centre") + ink.line(x + 42, y, x + 56, y, "centre")
    sign = 1.0 if loaded == "lower" else -1.0
    tip = y + sign * 24
    body += ink.line(x, y, x, tip, "outline") + ink.arrow_head(x, tip, sign * 1.5708, 8)
    body += ink.text(x + 60, y - 26, upper, 12, "number", "start")
    body += ink.text(x + 60, y - 12, "upper", 9.5, "small", "start")
    body += ink.text(x + 60, y + 14, lower, 12, "number", "start")
    body += ink.text(x + 60, y + 28, "lower", 9.5, "small", "start")
    title = f"{name}: {upper} above, {lower} below; the {loaded} half bears the load"
    return ink.drawing(214, 124, body, name=title, kind="bearing", links=False)
