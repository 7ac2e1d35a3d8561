"""Typed text into what entries hold, each refusal in one sentence."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from typing import TypedDict

from bedplate.errors import EntryError, NotFoundError, QuantityError
from bedplate.quantity import Dimension, parse
from bedplate.record.entries import Typed

SLUG = re.compile(r"[a-z0-9][a-z0-9-]{0,59}\Z")
"""Short names of builds and gauges."""

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}\Z")


class Stamp(TypedDict):
    """What every entry has; `at` is filled in when it is appended."""

    id: str
    at: str
    by: str


def needed(text: str, what: str) -> None:
    """Refuse words that are missing.

    :param what: what is not said without them
    """
    if not text.strip():
        sentence = f"It is not said {what}."
        raise EntryError(sentence, hint="A few words are enough.")


def typed_length(text: str, reads_in: str = "") -> Typed:
    """Read a length; a bare number is one in the unit that the gauge shows."""
    quantity = parse(text, Dimension.LENGTH, default_unit=reads_in)
    return Typed(text=text, si=quantity.value)


def typed_as(text: str, dimension: Dimension) -> Typed:
    """Read a quantity of a dimension."""
    return Typed(text=text, si=parse(text, dimension).value)


def typed_figure(text: str, what: str, usual: str, gauge: str) -> Typed:
    """Read a figure of a gauge, and offer the usual one where it is missing.

    :param usual: common practice, offered and never used
    """
    if not text.strip():
        sentence = f"Gauge '{gauge}' has no figure for {what}."
        hint = "Take it from the calibration sheet."
        if usual:
            hint += f" Common practice for such a gauge in good hands: {usual}; type it to use it."
        raise EntryError(sentence, hint=hint)
    typed = typed_length(text)
    if typed.si < 0:
        sentence = f"Gauge '{gauge}': {what} cannot be negative, and '{text}' is."
        raise EntryError(sentence)
    return typed


_COLDEST, _HOTTEST = 233.15, 473.15
"""K: no part is measured colder than −40 °C or hotter than 200 °C."""


def typed_temperature(text: str) -> Typed | None:
    """Read a temperature; a bare number is in °C, since no other scale is usual at a bench."""
    if not text.strip():
        return None
    quantity = parse(text, Dimension.TEMPERATURE, default_unit="°C")
    if not _COLDEST <= quantity.value <= _HOTTEST:
        sentence = f"A part is not measured at {text}."
        raise QuantityError(sentence, hint="Type the temperature as '21 °C' or '70 °F'.")
    return Typed(text=text, si=quantity.value)


def typed_day(text: str, what: str) -> str:
    """Read a day, year-month-day, or none."""
    if text and not _DAY.match(text):
        sentence = f"'{text}' is no date for '{what}'."
        raise EntryError(sentence, hint="Write year-month-day, such as 2026-03-31.")
    if text:
        try:
            date.fromisoformat(text)
        except ValueError:
            sentence = f"There is no day {text}."
            raise EntryError(sentence, hint="Write year-month-day.") from None
    return text


def unknown(what: str, name: str, names: Iterable[str]) -> NotFoundError:
    """Return the error for a name that is not there, with those that come near."""
    from difflib import get_close_matches

    known = list(names)
    near = get_close_matches(name, known, 3, 0.5)
    if near:
        hint = f"Did you mean {' or '.join(near)}?"
    else:
        hint = (
            f"There is {', '.join(known[:12])}{' …' if len(known) > 12 else ''}." if known else ""
        )
    return NotFoundError(f"There is no {what} '{name}'.", hint=hint)
