"""Which part goes where, and what is filed to fit."""

from __future__ import annotations

import msgspec

from bedplate.record.entries.entry import Entry


class Placed(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One part in one place.

    :param place: 'main 3 upper', 'piston 1'
    """

    place: str
    identity: str


class Prediction(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a selection predicts of a fit, m; `expanded` has the build's coverage factor."""

    fit: str
    value: float
    expanded: float


class SelectionMade(Entry, frozen=True, tag="selection made"):
    """Which part goes where, as it was chosen.

    :param what: 'main shells', 'pistons'
    :param derived: SHA-256 of what it was worked out from
    :param proof: sentence on how good it is known to be
    :param basis: what it was worked out from, a line each
    """

    what: str
    derived: str
    proof: str
    placed: tuple[Placed, ...]
    predicted: tuple[Prediction, ...] = ()
    basis: tuple[str, ...] = ()


class RingFiled(Entry, frozen=True, tag="ring filed"):
    """A ring's ends were filed: what was known of its gap is stale from here on.

    :param feature: id of the gap, 'top-ring-gap-3'
    :param bag: what is written on the ring's bag
    """

    feature: str
    strokes: int
    bag: str = ""
