"""An order of bolts that is usual, offered where the engine file gives none.

Common practice, no source: from the middle outwards, one side and then the other. It is never used
by itself; whoever takes it writes it into the engine file.
"""

from __future__ import annotations

from bedplate.engine import Fastener, Hole


def usual_order(fastener: Fastener) -> tuple[int, ...]:
    """Return the numbers of a group's bolts from the middle outwards.

    :return: empty where the file does not say where every hole is
    """
    holes = fastener.holes
    if any(hole.at not in {"main", "bay"} for hole in holes):
        return ()
    places = [_along(hole) for hole in holes]
    middle = (min(places) + max(places)) / 2
    lanes = {"inner": 0, "": 0, "outer": 1, "side": 2}
    return tuple(
        hole.number
        for hole in sorted(
            holes,
            key=lambda hole: (
                lanes[hole.lane], abs(_along(hole) - middle), _along(hole), hole.side,
            ),
        )
    )  # fmt: skip


def _along(hole: Hole) -> float:
    return hole.index + (0.5 if hole.at == "bay" else 0.0)


def offer(fastener: Fastener) -> str:
    """Return the offer in one sentence, '' where there is none."""
    order = usual_order(fastener)
    if not order:
        return ""
    numbers = " ".join(str(number) for number in order)
    return f"Common practice, not the maker's: {numbers}, from the middle outwards."
