"""A shop's return sheet, read row by row against the order it answers."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from math import pi

from bedplate.errors import EntryError, QuantityError
from bedplate.quantity import Dimension, Units, parse, show, show_range
from bedplate.record.entries import OrderIssued, OrderRow, ReturnRow, Typed
from bedplate.shop.typed import typed_temperature, unknown

COLUMNS = (
    "row", "name", "ordered", "value", "uncertainty", "done", "condition", "gauge", "temperature",
    "remark",
)  # fmt: skip
"""Columns of a return sheet as CSV; `name` and `ordered` are for the eye and are not read."""

_IMPLAUSIBLE = 1e-3
"""m: no shop is further off a size than this; it is another unit, or another row."""

_LARGE = 5e-3
"""m: what is ordered below this is a form or a gap, and its digits do not tell the unit."""

_INCH = 25.4

_MANY_TIMES = 20.0
"""A form or a surface this many times beyond its limit is another unit: µm and mm lie further apart
than that, and so do µin and µm."""


def return_row(order: OrderIssued, said: Mapping[str, str], units: Units) -> ReturnRow | None:
    """Return what a row of a return sheet says, None where it says nothing.

    :param said: by the names in COLUMNS
    :param units: that the builder thinks in, for sentences
    :raises NotFoundError: the order has no such row
    :raises InputError: a figure has no unit, or is no such size
    """
    name = said.get("row", "").strip()
    rows = {row.row: row for row in order.rows}
    if name not in rows:
        raise unknown(f"row of order {order.order}", name, rows)
    row = rows[name]
    value, done = said.get("value", "").strip(), said.get("done", "").strip().lower()
    if done and done not in {"yes", "no"}:
        sentence = f"{row.name}: '{done[:40]}' does not say whether it was done."
        raise EntryError(sentence, hint="Write yes or no.")
    if value and row.quantity == "words":
        sentence = f"{row.name} is work that is done or not; '{value[:40]}' is a figure."
        raise EntryError(sentence, hint="Write yes or no under 'done', the rest as a remark.")
    remark = said.get("remark", "").strip()
    if not value and not done and not remark:
        return None
    uncertainty = said.get("uncertainty", "").strip()
    return ReturnRow(
        row=name,
        value=_value(row, value, units) if value else None,
        uncertainty=_uncertainty(row, uncertainty) if uncertainty else None,
        condition=said.get("condition", "").strip(),
        gauge=said.get("gauge", "").strip(),
        temperature=typed_temperature(said.get("temperature", "")),
        done=done,
        remark=remark,
    )


def _value(row: OrderRow, text: str, units: Units) -> Typed:
    dimension = Dimension.ANGLE if row.quantity == "angle" else Dimension.LENGTH
    try:
        read = parse(text, dimension)
    except QuantityError as error:
        raise QuantityError(f"{row.name}: {error.sentence}", hint=error.hint) from error
    expected = _expected(row)
    if row.quantity == "length" and expected is not None and expected > _LARGE:
        _plausible(row, text, read.value, expected, units)
    elif row.quantity == "angle":
        _about_the_horizontal(row, text, read.value, units)
    elif row.quantity == "surface" or row.form not in {"", "size"}:
        _small(row, text, read.value, units)
    return Typed(text=text, si=read.value)


def _expected(row: OrderRow) -> float | None:
    known = [x for x in (row.aim, row.low, row.high) if x is not None]
    return known[0] if known else None


def _plausible(row: OrderRow, text: str, value: float, expected: float, units: Units) -> None:
    """Refuse a size in the wrong unit."""
    if abs(value - expected) <= _IMPLAUSIBLE:
        return
    ordered = show(expected, Dimension.LENGTH, units)
    sentence = f"{row.name}: '{text}' is no size of what was ordered at {ordered}."
    for factor, unit in ((_INCH, "inches"), (1 / _INCH, "millimetres")):
        if abs(value * factor - expected) <= _IMPLAUSIBLE:
            meant = show(value * factor, Dimension.LENGTH, Units.METRIC)
            hint = f"In {unit} it would be {meant}: write the unit it was measured in."
            raise QuantityError(sentence, hint=hint)
    raise QuantityError(sentence, hint="Check number, unit and row.")


def _small(row: OrderRow, text: str, value: float, units: Units) -> None:
    """Refuse a form or a surface that cannot be, or that is in the wrong unit."""
    if value < 0:
        sentence = f"{row.name}: '{text}' is below nothing, which none can be."
        raise QuantityError(sentence, hint="Check number and row.")
    if row.high is None or value <= _MANY_TIMES * row.high:
        return
    ordered = ordered_words(row, units)
    sentence = f"{row.name}: '{text}' is no figure for what was ordered at {ordered}."
    for factor, unit in ((_INCH * 1e-3, "µin"), (1e-3, "µm")):
        if value * factor <= 2 * row.high:
            meant = show(value * factor, Dimension.LENGTH, units, unit="µm", resolution=1e-8)
            hint = f"In {unit} it would be {meant}: write the unit it was measured in."
            raise QuantityError(sentence, hint=hint)
    raise QuantityError(sentence, hint="Check number, unit and row.")


def _about_the_horizontal(row: OrderRow, text: str, value: float, units: Units) -> None:
    """Refuse an angle of the crosshatch that was measured about the axis."""
    low, high = row.low, row.high
    if low is None or high is None or low <= value <= high or not low <= pi - value <= high:
        return
    meant = show(pi - value, Dimension.ANGLE, units)
    sentence = f"{row.name}: '{text}' is the angle about the axis; about the horizontal is ordered."
    raise QuantityError(sentence, hint=f"About the horizontal the same lines make {meant}.")


def _uncertainty(row: OrderRow, text: str) -> Typed:
    try:
        read = parse(text.lstrip("±").strip(), Dimension.LENGTH)
    except QuantityError as error:
        sentence = f"{row.name}, uncertainty: {error.sentence}"
        raise QuantityError(sentence, hint=error.hint) from error
    if read.value < 0:
        raise QuantityError(f"{row.name}: an uncertainty is not negative, and '{text}' is.")
    return Typed(text=text, si=read.value)


def ordered_words(row: OrderRow, units: Units) -> str:
    """Return what a row asks for, in the builder's units."""
    if row.quantity == "words":
        return row.words
    if row.quantity == "angle":
        return show_range(row.low, row.high, Dimension.ANGLE, units)
    if row.quantity == "surface":
        unit, step = ("µm", 1e-8) if units is Units.METRIC else ("µin", 0.0254e-6)
        return show_range(row.low, row.high, Dimension.LENGTH, units, unit=unit, resolution=step)
    if row.low is None and row.high is None and row.aim is None:
        return row.waits_for
    limits = show_range(row.low, row.high, Dimension.LENGTH, units)
    if row.aim is None:
        return limits
    return f"{show(row.aim, Dimension.LENGTH, units)} ({limits})"


def blank_sheet(order: OrderIssued, units: Units) -> bytes:
    """Return a return sheet as CSV, its rows named and its answers empty."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for row in order.rows:
        writer.writerow([row.row, row.name, ordered_words(row, units), *("" for _ in COLUMNS[3:])])
    return out.getvalue().encode()


def counts_of(words: Sequence[str]) -> dict[str, int]:
    """Read 'pistons=6' of each word.

    :raises EntryError: a word says no count
    """
    counts: dict[str, int] = {}
    for word in words:
        part, sign, count = word.rpartition("=")
        if not sign or not part.strip() or not count.strip().isdecimal():
            sentence = f"'{word[:60]}' does not say how many of what came back."
            raise EntryError(sentence, hint="Write 'pistons=6'.")
        counts[part.strip()] = int(count)
    return counts
