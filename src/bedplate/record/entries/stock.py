"""Parts on hand, and where they went."""

from __future__ import annotations

import msgspec

from bedplate.record.entries.entry import Entry, Typed


class Measure(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One measured figure of a part on hand: 'wall', 'size', 'weight'.

    :param uncertainty: expanded, k = 2; None if nobody said
    """

    name: str
    value: Typed
    uncertainty: Typed | None = None


class OnHand(Entry, frozen=True, tag="part on hand"):
    """A part, or several that are alike, on the bench; again for an identity replaces it.

    :param part: what it is: 'main shell', 'piston'
    :param count: how many are alike under this identity
    :param half: where a half shell goes, 'upper' or 'lower'; '' for either
    :param grooved: 'yes' or 'no'; '' where it is no matter
    :param coated: 'yes' or 'no'; '' if not said
    :param measured_over: 'bare metal' or 'coating', '' if not said
    """

    part: str
    identity: str
    count: int
    grade: str = ""
    marks: str = ""
    supplier: str = ""
    batch: str = ""
    half: str = ""
    grooved: str = ""
    tang: str = ""
    coated: str = ""
    measured_over: str = ""
    undersize: Typed | None = None
    measures: tuple[Measure, ...] = ()


class PartsUsed(Entry, frozen=True, tag="parts used"):
    """Parts on hand that went into the engine, or elsewhere.

    :param identity: of the part on hand
    :param place: where they went: 'main 3 upper', 'scrap'
    """

    identity: str
    count: int
    place: str
