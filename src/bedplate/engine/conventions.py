"""From the words of [engine] to the layout: places, labels, rotation, throws and firing order."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from math import degrees, pi, radians, tau

from bedplate.engine import layout as crank
from bedplate.engine.layout import DRIVE_END, FREE_END, Arrangement
from bedplate.engine.lines import Path
from bedplate.engine.model import Cylinder, Layout
from bedplate.engine.sheet import Sheet
from bedplate.quantity import Dimension

_LAYOUT = re.compile(
    r"(?:(in-?line|straight|V|flat)[ -]?(\d{1,2})|(single))"
    r"(?:,? +(\d{1,3}(?:\.\d{1,3})?) ?(?:deg|°))?",
    re.IGNORECASE,
)
_ROTATION = re.compile(
    r"(clockwise|anti-?clockwise|counter-?clockwise),?(?: as)? (?:seen|viewed) from (?:the )?(.+)",
    re.IGNORECASE,
)
_BANKS = re.compile(
    r"(zig-?zag|bank by bank)(?:,? from (?:the )?([a-z ]+?))?"
    r"(?:,? (left|right)(?: bank)? first)?(?:,? seen from (?:the )?([a-z ]+))?",
    re.IGNORECASE,
)
_LAYOUT_RIGHT = "write 'in-line 6', 'V8, 90 deg', 'flat 4' or 'single', with 1 to 16 cylinders"
_NUMBERING_RIGHT = (
    "write 'DIN 73021', 'ISO 1204', 'zig-zag from the free end, right bank first', 'bank by bank "
    "from the drive end, left bank first', or a map { A1 = 1, B1 = 2 }"
)
_ENGINE = "engine"
_FEW = 3
"""A single and many twins are built with a primary force that is left."""
_NOTHING = 1e-6


def read_layout(sheet: Sheet) -> Layout | None:
    """Read the layout from [engine] and [mains], with every fault that is in them."""
    front = sheet.text((_ENGINE, "front")) or FREE_END
    arrangement = _arrangement(sheet)
    clockwise = _clockwise(sheet, front)
    cycle = _cycle(sheet)
    if arrangement is None:
        return None
    labels = _labels(sheet, arrangement, front)
    if labels is None or cycle is None:
        return None
    firing = _firing(sheet, tuple(labels.values()))
    intervals = _intervals(sheet, arrangement.count, cycle)
    throws, throws_stand = _throws(sheet, arrangement)
    if firing is None or intervals is None or clockwise is None or not throws_stand:
        return None

    offsets = crank.pin_offsets(arrangement, cycle, _split(sheet, arrangement))
    fires_at = crank.firing_angles(firing, intervals)

    def crank_for(numbers: dict[str, str]) -> crank.Crank | None:
        return crank.choose_crank(
            arrangement, numbers, fires_at, firing[0], clockwise=clockwise, offsets=offsets,
            throws=throws,
        )  # fmt: skip

    chosen = crank_for(labels)
    if chosen is None:
        path = (_ENGINE, "throws")
        wrong = f"no usual crank with {arrangement.throws} throws is known"
        sheet.fault(path, wrong, 'write the throws: throws = "0-...-... deg"')
        return None
    if chosen.wrong:
        _firing_fault(sheet, chosen)
        return None
    doubt = _doubt(arrangement, labels, chosen, crank_for, clockwise=clockwise)
    sheet.remarks.extend([doubt] if doubt else [])
    further = _further_apart(arrangement, labels, chosen, crank_for)
    sheet.remarks.extend([further] if further else [])
    mains = sheet.value(("mains", "count"))
    return _layout(
        arrangement,
        labels,
        chosen,
        firing=firing,
        intervals=intervals,
        clockwise=clockwise,
        front=front,
        cycle=cycle,
        mains=mains if isinstance(mains, int) and 1 <= mains <= 17 else 0,
        mains_from=sheet.text(("engine", "mains_from")) or front,
        doubt=doubt,
    )


def _doubt(
    arrangement: Arrangement,
    labels: dict[str, str],
    chosen: crank.Crank,
    crank_for: Callable[[dict[str, str]], crank.Crank | None],
    *,
    clockwise: bool,
) -> str:
    """Return the question to a firing order that fits only where the pistons move together."""
    left = _left_free(arrangement, chosen.throws, clockwise=clockwise)
    if chosen.given or arrangement.count < _FEW or left < 1:
        return ""
    throws = crank.print_angles(chosen.throws)
    asked = (
        "Are firing order and numbering right? The order fits only crankpins at "
        f"{throws}, where the pistons' primary forces add up to {left:.3g} times one cylinder's."
    )
    others = (
        crank.zig_zag(arrangement, FREE_END, left_first=first, seen_from=FREE_END)
        for first in (True, False)
    )
    for numbers in others:
        other = crank_for(numbers) if set(numbers.values()) == set(labels.values()) else None
        if other and not other.wrong and _left_free(
            arrangement, other.throws, clockwise=clockwise
        ) < _NOTHING:  # fmt: skip
            fits = crank.print_angles(other.throws)
            return f"{asked} Numbered from side to side it fits {fits}, which leave none."
    return asked


def _further_apart(
    arrangement: Arrangement,
    labels: dict[str, str],
    chosen: crank.Crank,
    crank_for: Callable[[dict[str, str]], crank.Crank | None],
) -> str:
    """Return the question to own pins of a V that would stand nearer with its banks exchanged."""
    if chosen.given or arrangement.form != "V" or arrangement.pins != "own":
        return ""
    if arrangement.count % 2:
        return ""
    other = crank_for(
        {place: labels[("B" if place[0] == "A" else "A") + place[1:]] for place in labels}
    )
    here = crank.apart(chosen.offset, 0.0)
    if other is None or other.wrong or here - crank.apart(other.offset, 0.0) < crank.AGREES:
        return ""
    there = degrees(crank.apart(other.offset, 0.0))
    return (
        f"Are the banks' sides right? The two pins of a pair come out {degrees(here):.4g}° apart; "
        f"with left and right bank exchanged in numbering it would be {there:.4g}°."
    )


def _left_free(arrangement: Arrangement, throws: Sequence[float], *, clockwise: bool) -> float:
    centres = crank.dead_centres(arrangement, throws, clockwise=clockwise)
    places = [(arrangement.bank_at(p.bank), centres[p.name]) for p in arrangement.places]
    return crank.free_primary(places, clockwise=clockwise)


def _layout(
    arrangement: Arrangement,
    labels: dict[str, str],
    chosen: crank.Crank,
    *,
    firing: tuple[str, ...],
    intervals: tuple[float, ...],
    clockwise: bool,
    front: str,
    cycle: float,
    mains: int,
    mains_from: str,
    doubt: str,
) -> Layout:
    centres = crank.dead_centres(arrangement, chosen.throws, clockwise=clockwise)
    zero = next(centres[name] for name, label in labels.items() if label == firing[0])
    cylinders = [
        Cylinder(
            place=place.name,
            label=labels[place.name],
            bank=place.bank,
            position=place.position,
            crankpin=arrangement.crankpin(place),
            bank_angle=arrangement.bank_at(place.bank) if arrangement.form != "in-line" else 0.0,
            throw_angle=chosen.throws[arrangement.crankpin(place) - 1],
            dead_centre=_round_circle(centres[place.name] - zero),
            iso_1204=crank.iso_1204(arrangement, place),
            din_73021=crank.din_73021(arrangement, place),
        )
        for place in arrangement.places
    ]
    return Layout(
        form=arrangement.form,
        bank_angle=arrangement.bank_angle,
        pin_offset=abs(chosen.offset) if arrangement.pins == "split" else 0.0,
        shared_pins=arrangement.pins == "shared",
        cycle=cycle,
        front=front,
        clockwise=clockwise,
        cylinders=tuple(sorted(cylinders, key=lambda c: in_order(c.label))),
        crankpins=arrangement.crankpins,
        mains=mains,
        mains_from=mains_from,
        firing=firing,
        intervals=intervals,
        doubt=doubt,
    )


def _round_circle(angle: float) -> float:
    turned = angle % tau
    return 0.0 if tau - turned < crank.AGREES / 1000 else turned


def in_order(label: str) -> tuple[str, int, str]:
    """Return what labels are put in order by: letters first, then the number as a number."""
    found = re.fullmatch(r"(\D*)(\d{1,9})(.*)", label, re.DOTALL)
    return (found[1], int(found[2]), found[3]) if found else (label, 0, "")


def _arrangement(sheet: Sheet) -> Arrangement | None:
    path: Path = (_ENGINE, "layout")
    text = sheet.text(path)
    if not text:
        return None
    found = _LAYOUT.fullmatch(text)
    count = int(found[2] or 1) if found else 0
    if not found or not 1 <= count <= 16:
        sheet.fault(path, f"'{text}' is not a layout", _LAYOUT_RIGHT)
        return None
    form = {"v": "V", "flat": "flat"}.get((found[1] or "").lower(), "in-line")
    angle = radians(float(found[4])) if found[4] else None
    if form == "V" and (angle is None or not 0 < angle <= pi):
        sheet.fault(path, f"'{text}' does not say its bank angle", "write 'V8, 90 deg'")
        return None
    if form != "V" and angle is not None and not (form == "flat" and crank.apart(angle, pi) < 1e-9):
        sheet.fault(path, f"'{text}' has an angle that such an engine cannot have", _LAYOUT_RIGHT)
        return None
    if form != "in-line" and count < 2:
        sheet.fault(path, f"'{text}' has one cylinder but two banks", "write 'single'")
        return None
    alpha = {"in-line": 0.0, "flat": pi}.get(form, angle or 0.0)
    pins = _pins(sheet, form)
    right_first = sheet.text((_ENGINE, "first_pin")) == "right"
    return None if pins is None else Arrangement(form, count, alpha, pins, right_first)


def _pins(sheet: Sheet, form: str) -> str | None:
    path: Path = (_ENGINE, "pins")
    text = sheet.text(path).lower()
    if not text:
        return "shared" if form == "V" else "own"
    if form == "in-line":
        if text == "own":
            return "own"
        sheet.fault(path, "in line every cylinder has its own pin", "leave it out")
        return None
    if text in {"shared", "own"}:
        return text
    if text.startswith("split"):
        return "split"
    sheet.fault(path, f"'{text}' is not known", "write 'shared', 'split 30 deg' or 'own'")
    return None


def _split(sheet: Sheet, arrangement: Arrangement) -> float | None:
    if arrangement.pins != "split":
        return None
    path: Path = (_ENGINE, "pins")
    angles = crank.read_angles(sheet.text(path)[len("split") :])
    if not angles or len(angles) != 1 or not 0 < angles[0] < pi:
        sheet.fault(path, f"'{sheet.text(path)}' gives no angle", "write 'split 30 deg'")
        return None
    return angles[0]


def _cycle(sheet: Sheet) -> float | None:
    text = sheet.text((_ENGINE, "cycle")).lower()
    if not text or text.startswith(("four", "4")):
        return 2 * tau
    if text.startswith(("two", "2")):
        return tau
    sheet.fault((_ENGINE, "cycle"), f"'{text}' is not known", "write 'four-stroke' or 'two-stroke'")
    return None


def _end(word: str, front: str) -> str | None:
    """Return the end of the engine that a word means, None if it means none."""
    word = word.strip().lower()
    known = {
        "free end": FREE_END,
        "drive end": DRIVE_END,
        "driving end": DRIVE_END,
        "flywheel end": DRIVE_END,
        "flywheel": DRIVE_END,
        "front": front,
        "rear": crank.opposite(front),
        "back": crank.opposite(front),
    }
    return known.get(word)


def _clockwise(sheet: Sheet, front: str) -> bool | None:
    path: Path = (_ENGINE, "rotation")
    text = sheet.text(path)
    if not text:
        return None
    found = _ROTATION.fullmatch(text)
    end = _end(found[2], front) if found else None
    if not found or end is None:
        right = "write 'clockwise seen from the front', or anticlockwise, or from the drive end"
        sheet.fault(path, f"'{text}' does not say which way, seen from where", right)
        return None
    return crank.clockwise_from(found[1].lower() == "clockwise", end, FREE_END)


def _labels(sheet: Sheet, arrangement: Arrangement, front: str) -> dict[str, str] | None:
    path: Path = (_ENGINE, "numbering")
    given = sheet.value(path)
    if isinstance(given, dict):
        return _mapped(sheet, arrangement, given)
    if given is not None and not isinstance(given, str):
        return None
    text = sheet.text(path) or "DIN 73021"
    if re.fullmatch(r"DIN ?73021", text, re.IGNORECASE):
        return {p.name: crank.din_73021(arrangement, p) for p in arrangement.places}
    if re.fullmatch(r"ISO ?1204", text, re.IGNORECASE):
        return {p.name: crank.iso_1204(arrangement, p) for p in arrangement.places}
    from_end = re.fullmatch(r"from (?:the )?([a-z ]+)", text, re.IGNORECASE)
    if from_end and arrangement.form == "in-line" and (end := _end(from_end[1], front)):
        return crank.bank_by_bank(arrangement, end, left_first=True, seen_from=FREE_END)
    banks = _BANKS.fullmatch(text)
    if not banks or arrangement.form == "in-line":
        sheet.fault(path, f"'{text}' is not a numbering of this engine", _NUMBERING_RIGHT)
        return None
    start = _end(banks[2] or FREE_END, front)
    seen_from = _end(banks[4], front) if banks[4] else start
    if start is None or seen_from is None:
        sheet.fault(path, f"'{text}' names an end that is not known", _NUMBERING_RIGHT)
        return None
    number = crank.bank_by_bank if banks[1].lower().startswith("bank") else crank.zig_zag
    left_first = (banks[3] or "left").lower() == "left"
    return number(arrangement, start, left_first=left_first, seen_from=seen_from)


def _mapped(
    sheet: Sheet, arrangement: Arrangement, given: dict[str, object]
) -> dict[str, str] | None:
    path: Path = (_ENGINE, "numbering")
    places = [place.name for place in arrangement.places]
    labels = {place: str(label).strip() for place, label in given.items()}
    faults = len(sheet.faults)
    for place in labels:
        if place not in places:
            right = f"the places of this engine are {', '.join(places)}"
            sheet.fault((*path, place), f"'{place}' is not a place", right)
    missing = [place for place in places if place not in labels]
    if missing:
        sheet.fault(path, f"{', '.join(missing)} have no label", "give every cylinder its label")
    values = list(labels.values())
    for place, label in labels.items():
        if not re.fullmatch(r"[A-Za-z]{0,3}\d{0,3}[A-Za-z]?", label) or not label:
            right = "write a number, or a few letters and a number: 1, 'A1'"
            sheet.fault((*path, place), f"'{label}' is not a label", right)
        elif values.count(label) > 1:
            sheet.fault((*path, place), f"label {label} stands twice", "each cylinder has its own")
    return {place: labels[place] for place in places} if len(sheet.faults) == faults else None


def _firing(sheet: Sheet, labels: tuple[str, ...]) -> tuple[str, ...] | None:
    path: Path = (_ENGINE, "firing")
    given = sheet.value(path)
    if isinstance(given, str):
        order = tuple(part for part in re.split(r"[\s,\-–]+", given.strip()) if part)
    elif isinstance(given, list):
        order = tuple(str(part).strip() for part in given)
    else:
        return None
    names = ", ".join(sorted(labels, key=in_order))
    unknown = [label for label in order if label not in labels]
    missing = [label for label in labels if label not in order]
    twice = sorted({label for label in order if order.count(label) > 1}, key=in_order)
    for found, wrong in ((unknown, "no cylinder has"), (missing, "is left out"), (twice, "twice")):
        if not found:
            continue
        listed = ", ".join(found)
        said = {
            "no cylinder has": f"no cylinder is labelled {listed}",
            "is left out": f"cylinder {listed} does not fire",
            "twice": f"cylinder {listed} fires twice",
        }[wrong]
        sheet.fault(path, said, f"write each of {names} once")
    return None if unknown or missing or twice else order


def _angles(sheet: Sheet, path: Path) -> tuple[float, ...] | None:
    given = sheet.value(path)
    if isinstance(given, str):
        read = crank.read_angles(given)
        if read is None:
            sheet.fault(path, f"'{given}' is not a list of angles", "write '0-90-270-180 deg'")
        return read
    if not isinstance(given, list):
        return None
    angles = [sheet.quantity((*path, n), Dimension.ANGLE) for n in range(len(given))]
    values = [angle.value for angle in angles if angle is not None]
    return tuple(values) if len(values) == len(given) else None


def _intervals(sheet: Sheet, count: int, cycle: float) -> tuple[float, ...] | None:
    path: Path = (_ENGINE, "intervals")
    if sheet.value(path) is None:
        return (cycle / count,) * count
    pattern = _angles(sheet, path)
    if pattern is None:
        return None
    times = count // len(pattern) if pattern and count % len(pattern) == 0 else 0
    if not times:
        wrong = f"{len(pattern)} intervals do not go into {count} cylinders"
        sheet.fault(path, wrong, f"give {count}, one for each firing, or a pattern that repeats")
        return None
    intervals = pattern * times
    if min(intervals) < 0 or abs(sum(intervals) - cycle) > crank.AGREES:
        wrong = f"the intervals sum to {degrees(sum(intervals)):g} deg"
        sheet.fault(path, wrong, f"they must sum to the cycle, {degrees(cycle):g} deg")
        return None
    return intervals


def _throws(sheet: Sheet, arrangement: Arrangement) -> tuple[Sequence[float] | None, bool]:
    path: Path = (_ENGINE, "throws")
    if sheet.value(path) is None:
        return None, True
    angles = _angles(sheet, path)
    if angles is None:
        return None, False
    wanted = sorted({arrangement.throws, arrangement.crankpins})
    if len(angles) not in wanted:
        number = " or ".join(str(n) for n in wanted)
        sheet.fault(path, f"{len(angles)} throws are given", f"this layout has {number}")
        return None, False
    return tuple(angle % tau for angle in angles), True


def _firing_fault(sheet: Sheet, chosen: crank.Crank) -> None:
    labels = sorted(chosen.wrong, key=in_order)
    each = ", ".join(
        f"{label} is at top dead centre at {degrees(chosen.wrong[label][0]):.0f} deg but would fire"
        f" at {degrees(chosen.wrong[label][1]):.0f} deg"
        for label in labels[:4]
    )
    each += f", and {len(labels) - 4} more" if len(labels) > 4 else ""
    throws = crank.print_angles(chosen.throws)
    which = "throws as given" if chosen.given else "nearest usual throws"
    subject = (
        f"cylinders {', '.join(labels)} do" if len(labels) > 1 else f"cylinder {labels[0]} does"
    )
    sheet.fault(
        (_ENGINE, "firing"),
        f"{subject} not agree with the crank: {each} ({which}: {throws}, from the free end, "
        "in the direction of rotation)",
        "check the order, the numbering and the rotation; "
        "give pins where they are split, throws, or intervals for odd firing",
    )
