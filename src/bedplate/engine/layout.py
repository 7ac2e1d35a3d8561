"""How cylinders and crank stand to each other: places, labels, throws, dead centres, firing.

Every angle is counted as seen from the free end (the end opposite the drive), deck up, in radians.
Bank A is the left one from there and lies at −α/2, bank B the right one at +α/2, α being the angle
between the banks. A throw angle is counted in the direction of rotation. With s = +1 for clockwise
and −1 for anticlockwise as seen from the free end, a cylinder whose bank lies at β and whose
crankpin lies at τ is at top dead centre at the crank angle s·β − τ (crank geometry, derived).
"""

from __future__ import annotations

import re
from cmath import rect
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import degrees, pi, radians, tau

FREE_END = "free end"
DRIVE_END = "drive end"
AGREES = radians(0.5)
"""rad: printed firing angles and throws are whole degrees; closer than this they are the same."""
_ROUND = 1e-8
"""rad: offsets between pins are rounded; a throw so little short of a turn is at nought."""

USUAL_THROWS: dict[int, tuple[tuple[int, ...], ...]] = {
    1: ((0,),),
    2: ((0, 180), (0, 0), (0, 90), (0, 270)),
    3: ((0, 120, 240), (0, 240, 120)),
    4: ((0, 180, 180, 0), (0, 90, 270, 180), (0, 270, 90, 180)),
    5: ((0, 216, 144, 72, 288), (0, 144, 216, 288, 72), (0, 72, 288, 144, 216),
        (0, 288, 72, 216, 144)),
    6: ((0, 240, 120, 120, 240, 0), (0, 120, 240, 240, 120, 0)),
    8: ((0, 180, 90, 270, 270, 90, 180, 0), (0, 180, 270, 90, 90, 270, 180, 0)),
}  # fmt: skip
"""Usual throws in degrees by number of throws, from the free end, each with its mirror image.

Common practice, no source; each agrees with its usual firing orders by crank geometry.
"""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a cylinder is: bank letter and position from the free end."""

    bank: str
    position: int

    @property
    def name(self) -> str:
        """Return 'A1'."""
        return f"{self.bank}{self.position}"


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Cylinders, banks and crankpins, before any number is given to a cylinder.

    :param form: 'in-line', 'V' or 'flat'
    :param bank_angle: α, rad; 0 in line
    :param pins: 'shared' (the rods of a pair side by side on one pin), 'split' or 'own'
    :param right_first: on 'split' and 'own' pins, the right bank's pin lies nearer the free end
    """

    form: str
    count: int
    bank_angle: float
    pins: str
    right_first: bool = False

    @property
    def places(self) -> tuple[Place, ...]:
        """Return the places, bank A first; with an odd count bank A has one more."""
        if self.form == "in-line":
            return tuple(Place("A", n) for n in range(1, self.count + 1))
        left = (self.count + 1) // 2
        right = self.count - left
        return tuple(Place("A", n) for n in range(1, left + 1)) + tuple(
            Place("B", n) for n in range(1, right + 1)
        )

    @property
    def throws(self) -> int:
        """Return the number of places along the crank: pairs count once."""
        return self.count if self.form == "in-line" else (self.count + 1) // 2

    @property
    def crankpins(self) -> int:
        """Return the number of crankpin surfaces: a split pair has two."""
        return self.throws if self.pins == "shared" else self.count

    def crankpin(self, place: Place) -> int:
        """Return the number of a cylinder's crankpin, counted from the free end."""
        if self.pins == "shared" or self.form == "in-line":
            return place.position
        second = (place.bank == "B") is not self.right_first
        return min(2 * place.position - 1 + second, self.count)

    def bank_at(self, bank: str) -> float:
        """Return β, where a bank lies, rad."""
        return self.bank_angle / 2 * (1 if bank == "B" else -1)


def iso_1204(arrangement: Arrangement, place: Place) -> str:
    """Return the ISO 1204 designation: counted from the driving end, seen from there.

    In line plain numbers; with banks 'A' for the one that is left seen from the driving end, which
    is the right one seen from the free end.
    """
    row = sum(other.bank == place.bank for other in arrangement.places)
    number = row + 1 - place.position
    if arrangement.form == "in-line":
        return str(number)
    return f"{'B' if place.bank == 'A' else 'A'}{number}"


def din_73021(arrangement: Arrangement, place: Place) -> str:
    """Return the DIN 73021 number: from the end opposite the drive, its left bank first."""
    left = sum(other.bank == "A" for other in arrangement.places)
    return str(place.position + (left if place.bank == "B" else 0))


def bank_by_bank(
    arrangement: Arrangement, end: str, *, left_first: bool, seen_from: str
) -> dict[str, str]:
    """Return labels by place, one bank after the other, counted from an end."""
    first = _bank(left=left_first, seen_from=seen_from)
    ordered = sorted(
        arrangement.places, key=lambda p: (p.bank != first, _along(arrangement, p, end))
    )
    return {place.name: str(number) for number, place in enumerate(ordered, 1)}


def zig_zag(
    arrangement: Arrangement, end: str, *, left_first: bool, seen_from: str
) -> dict[str, str]:
    """Return labels by place, from side to side along the crank, counted from an end."""
    first = _bank(left=left_first, seen_from=seen_from)
    ordered = sorted(
        arrangement.places, key=lambda p: (_along(arrangement, p, end), p.bank != first)
    )
    return {place.name: str(number) for number, place in enumerate(ordered, 1)}


def _bank(*, left: bool, seen_from: str) -> str:
    return "A" if left is (seen_from == FREE_END) else "B"


def _along(arrangement: Arrangement, place: Place, end: str) -> int:
    row = sum(other.bank == place.bank for other in arrangement.places)
    return place.position if end == FREE_END else row + 1 - place.position


def opposite(end: str) -> str:
    """Return the other end of the engine."""
    return DRIVE_END if end == FREE_END else FREE_END


def clockwise_from(clockwise: bool, seen_from: str, wanted: str) -> bool:  # noqa: FBT001
    """Return a direction of rotation as seen from another end: it turns round with the view."""
    return clockwise if seen_from == wanted else not clockwise


def dead_centre(bank_at: float, throw: float, *, clockwise: bool) -> float:
    """Return the crank angle at which a cylinder is at top dead centre.

    Assumes a centric crank drive (no piston-pin or crank offset, which move it by under a degree).

    :param bank_at: β, where the cylinder's bank lies, rad, right of upright positive
    :param throw: τ, where its crankpin lies, rad, in the direction of rotation
    :returns: s·β − τ, rad in [0, 2π); any real input is taken round the circle
    :source: crank geometry, derived; see the head of the module
    """
    angle = ((bank_at if clockwise else -bank_at) - throw) % tau
    return 0.0 if tau - angle < 1e-12 else angle


def free_primary(places: Sequence[tuple[float, float]], *, clockwise: bool) -> float:
    """Return the greatest primary force that pistons leave, in units of one cylinder's.

    Every cylinder reciprocates the same mass, along its bank. What rotates is left out.

    :param places: β, where its bank lies, and the crank angle of its dead centre, rad, a cylinder
    :source: direct and reverse cranks (Bevan, The Theory of Machines): each force is half a vector
        that turns with the crank and half a vector that turns against it
    """
    way = 1.0 if clockwise else -1.0
    direct = abs(sum(rect(1.0, way * bank - centre) for bank, centre in places))
    reverse = abs(sum(rect(1.0, way * bank + centre) for bank, centre in places))
    return (direct + reverse) / 2


def firing_angles(firing: Sequence[str], intervals: Sequence[float]) -> dict[str, float]:
    """Return the crank angle at which each label fires, rad, the first at 0."""
    angles: dict[str, float] = {}
    at = 0.0
    for label, interval in zip(firing, intervals, strict=True):
        angles[label] = at
        at += interval
    return angles


def apart(one: float, other: float) -> float:
    """Return how far two angles are from each other round the circle, rad in [0, π]."""
    return abs((one - other + pi) % tau - pi)


def crankpin_throws(
    arrangement: Arrangement, throws: Sequence[float], offset: float, *, clockwise: bool
) -> tuple[float, ...]:
    """Return the angle of each crankpin from the angles of the throws.

    :param throws: rad, one for each place along the crank, of bank A's pin
    :param offset: δ, rad, that widens the interval from one bank to the other to α + δ
    """
    angles = [0.0] * arrangement.crankpins
    back = offset if clockwise else -offset
    for place in arrangement.places:
        base = throws[place.position - 1]
        if arrangement.pins != "shared" and place.bank == "B":
            base -= back
        angle = base % tau
        angles[arrangement.crankpin(place) - 1] = 0.0 if tau - angle < _ROUND else angle
    return tuple(angles)


def dead_centres(
    arrangement: Arrangement, throws: Sequence[float], *, clockwise: bool
) -> dict[str, float]:
    """Return the dead centre of each place, rad, from the angle of each crankpin."""
    return {
        place.name: dead_centre(
            arrangement.bank_at(place.bank),
            throws[arrangement.crankpin(place) - 1],
            clockwise=clockwise,
        )
        for place in arrangement.places
    }


def mismatches(
    centres: Mapping[str, float], fires_at: Mapping[str, float], first: str
) -> dict[str, tuple[float, float]]:
    """Return the labels whose firing angle is not their dead centre: (dead centre, firing angle).

    :param centres: dead centre by label, rad
    :param fires_at: firing angle by label, rad, `first` at 0
    :returns: both angles rad in [0, 2π), counted from the dead centre of `first`
    """
    wrong: dict[str, tuple[float, float]] = {}
    for label, angle in fires_at.items():
        centre = (centres[label] - centres[first]) % tau
        if apart(centre, angle) > AGREES:
            wrong[label] = (centre, angle % tau)
    return wrong


@dataclass(frozen=True, slots=True)
class Crank:
    """Throws that were chosen, and the labels that do not fire at their dead centre on them.

    :param throws: angle of each crankpin, rad, in the direction of rotation
    :param offset: δ between the pins of a pair, rad
    :param given: the file gave the throws
    """

    throws: tuple[float, ...]
    offset: float
    given: bool
    wrong: dict[str, tuple[float, float]]


def choose_crank(
    arrangement: Arrangement,
    labels: Mapping[str, str],
    fires_at: Mapping[str, float],
    first: str,
    *,
    clockwise: bool,
    offsets: Sequence[float],
    throws: Sequence[float] | None,
) -> Crank | None:
    """Return the crank that agrees best with the firing order, None if no usual one is known.

    :param labels: by place
    :param offsets: δ to try, rad, the likeliest first
    :param throws: as the file gives them, rad, one a throw or one a crankpin; None: the usual ones
    """
    best: Crank | None = None
    for pins, offset in _cranks(arrangement, offsets, throws, clockwise=clockwise):
        centres = {
            labels[name]: angle
            for name, angle in dead_centres(arrangement, pins, clockwise=clockwise).items()
        }
        wrong = mismatches(centres, fires_at, first)
        if best is None or len(wrong) < len(best.wrong):
            best = Crank(pins, offset, throws is not None, wrong)
        if not wrong:
            break
    return best


def _cranks(
    arrangement: Arrangement,
    offsets: Sequence[float],
    throws: Sequence[float] | None,
    *,
    clockwise: bool,
) -> list[tuple[tuple[float, ...], float]]:
    if throws is not None and len(throws) == arrangement.crankpins:
        return [(tuple(throws), offsets[0] if offsets else 0.0)]
    if throws is not None:
        maps = [tuple(throws)]
    else:
        usual = USUAL_THROWS.get(arrangement.throws, ())
        maps = [tuple(radians(angle) for angle in one) for one in usual]
    return [
        (crankpin_throws(arrangement, one, offset, clockwise=clockwise), offset)
        for one in maps
        for offset in (offsets or (0.0,))
    ]


def pin_offsets(arrangement: Arrangement, cycle: float, split: float | None) -> tuple[float, ...]:
    """Return the offsets δ between the pins of a pair that are worth trying, rad.

    A split is typed without a sign, so both are tried. Own pins are tried as a boxer's (both
    pistons outwards together) where the banks lie flat, and at every offset that a pair can have
    in an engine that fires evenly.

    :param cycle: 4π or 2π rad
    """
    if arrangement.pins == "shared" or arrangement.form == "in-line":
        return (0.0,)
    if split is not None:
        return (split, -split)
    alpha, interval = arrangement.bank_angle, cycle / arrangement.count
    boxer = [pi] if apart(alpha, pi) < AGREES else []
    even = [(n * interval - alpha) % tau for n in range(1, arrangement.count)]
    return tuple(dict.fromkeys(round(offset, 9) for offset in (*boxer, *even, 0.0)))


def read_angles(text: str) -> tuple[float, ...] | None:
    """Read '0-90-270-180 deg' as angles in rad; None if it is not such a list."""
    found = re.fullmatch(r"\s*([\d.]+(?:\s*[-–,]\s*[\d.]+)*)\s*(?:deg|°|degrees)\s*", text)
    if not found:
        return None
    parts = re.split(r"\s*[-–,]\s*", found[1])
    if not all(re.fullmatch(r"\d{1,6}(\.\d{0,6})?|\.\d{1,6}", part) for part in parts):
        return None
    return tuple(radians(float(part)) for part in parts)


def print_angles(angles: Sequence[float]) -> str:
    """Return '0-90-270-180 deg'."""
    return "-".join(f"{degrees(angle):g}" for angle in (round(a, 9) for a in angles)) + " deg"
