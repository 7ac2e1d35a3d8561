"""The four marks, drawn and in characters."""

from __future__ import annotations

from itertools import product
from xml.etree import ElementTree as ET

import pytest

from bedplate.documents.marks import Mark, characters, is_below, picture
from bedplate.metrology.results import Verdict

MARKS = [Mark(v, b, s) for v, b, s in product(Verdict, (False, True), (False, True))]


@pytest.mark.parametrize("plain", [True, False])
def test_every_mark_has_the_same_width_in_characters(plain: bool) -> None:
    assert {len(characters(mark, plain=plain)) for mark in MARKS} == {7}


def test_marks_differ_without_colour() -> None:
    drawn = {characters(Mark(v), plain=True) for v in Verdict}
    assert len(drawn) == 4
    assert characters(Mark(Verdict.OUTSIDE), plain=True) == " |   |o"
    assert characters(Mark(Verdict.OUTSIDE, below=True), plain=True) == "o|   | "
    assert all(characters(mark, plain=True).isascii() for mark in MARKS)


@pytest.mark.parametrize("mark", MARKS)
def test_the_picture_is_well_formed_and_named(mark: Mark) -> None:
    root = ET.fromstring(picture(mark))  # noqa: S314 - our own drawing
    assert root.get("aria-label") == mark.words
    dots = root.findall(".//{http://www.w3.org/2000/svg}circle")
    assert len(dots) == (mark.verdict is not Verdict.NOT_MEASURED)


@pytest.mark.parametrize(
    ("least", "greatest", "low", "high", "below"),
    [
        (1.0, 2.0, 0.9, 9.0, True),
        (7.0, 8.9, 0.9, 9.0, False),
        (1.0, 2.0, None, 9.0, False),
        (1.0, 2.0, 0.5, None, True),
        (None, None, 0.5, 1.0, False),
    ],
)
def test_which_limit_is_near(
    least: float | None,
    greatest: float | None,
    low: float | None,
    high: float | None,
    below: bool,
) -> None:
    assert is_below(least, greatest, low, high) is below
