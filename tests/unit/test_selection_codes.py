"""Codes off block and crank, in all three families."""

import pytest

from bedplate.errors import EntryError
from bedplate.shop.selection.codes import (
    IndependentHalves,
    Matrix,
    SumOfCodes,
    bearing_from_codes,
    coded_needs,
    read_codes,
)
from bedplate.shop.selection.model import Estimate, Grade, HalfShell, ShellRules
from bedplate.shop.selection.shells import select_shells

UM = 1e-6
MAINS = ("main-1", "main-2", "main-3")
# Steps of 3 µm between neighbours are common practice, no source.
GRADES = {str(n): Grade(str(n), Estimate.within((2000 + 3 * n) * UM, 1 * UM)) for n in range(5)}
SUM = SumOfCodes({"A": 0, "B": 1, "C": 2}, {"1": 0, "2": 1, "3": 2}, {n: str(n) for n in range(5)})
MATRIX = Matrix({("A", "1"): ("0", "1"), ("A", "2"): ("1", "1"), ("B", "1"): ("2", "1")})
HALVES = IndependentHalves({"A": "0", "B": "1"}, {"1": "3", "2": "4"})


@pytest.mark.parametrize("stamp", ["ABC", "abc", " A B C ", "A-B-C", "A, B, C", "A/B/C"])
def test_codes_are_read_in_the_books_direction(stamp):
    assert read_codes(stamp, MAINS, "ABC", "block") == dict(zip(MAINS, "ABC", strict=True))
    backwards = read_codes(stamp, MAINS[::-1], "ABC", "block")
    assert backwards == {"main-3": "A", "main-2": "B", "main-1": "C"}


def test_codes_longer_than_a_letter_stand_apart():
    assert read_codes("10 11 9", MAINS, {"9", "10", "11"}, "crank")["main-2"] == "11"
    assert read_codes("10", MAINS[:1], {"10"}, "crank") == {"main-1": "10"}


@pytest.mark.parametrize(
    ("stamp", "sentence"),
    [
        ("AB", "The block stamp 'AB' has 2 codes; 3 are read, from main-1 to main-3."),
        ("ABCA", "The block stamp 'ABCA' has 4 codes; 3 are read, from main-1 to main-3."),
        ("", "The block stamp '' has 0 codes; 3 are read, from main-1 to main-3."),
        ("AXC", "The block code of main-2 is 'X', which the maker does not use."),
        ("A?C", "The block code of main-2 cannot be read."),
    ],
)
def test_a_stamp_that_cannot_be_is_refused(stamp, sentence):
    with pytest.raises(EntryError) as refused:
        read_codes(stamp, MAINS, "ABC", "block")
    assert refused.value.sentence == sentence
    assert refused.value.hint


@pytest.mark.parametrize(
    ("family", "codes", "expected"),
    [
        (SUM, ("C", "2"), ("3", "3")),
        (MATRIX, ("B", "1"), ("2", "1")),
        (HALVES, ("B", "2"), ("1", "4")),
        (IndependentHalves({"A": "0"}, {"1": "3"}, "lower"), ("A", "1"), ("3", "0")),
    ],
)
def test_each_family_gives_its_two_grades(family, codes, expected):
    housing, journal = codes
    (need,) = coded_needs({"main-1": family}, {"main-1": housing}, {"main-1": journal}, GRADES)
    assert (need.upper, need.lower) == expected
    walls = sum(GRADES[name].wall.value for name in expected)
    assert need.walls.value == pytest.approx(walls)


def test_every_family_says_which_codes_it_knows():
    assert sorted(SUM.housing_codes) == ["A", "B", "C"]
    assert sorted(MATRIX.journal_codes) == ["1", "2"]
    assert sorted(HALVES.journal_codes) == ["1", "2"]
    assert sorted(MATRIX.housing_codes) == sorted(HALVES.housing_codes) == ["A", "B"]
    assert sorted(SUM.journal_codes) == ["1", "2", "3"]


def test_what_a_table_does_not_hold_is_refused():
    with pytest.raises(EntryError, match="no cell for B with 2"):
        MATRIX.grades("B", "2")
    with pytest.raises(EntryError, match="whose sum is 4"):
        SumOfCodes({"C": 2}, {"3": 2}, {0: "0"}).grades("C", "3")
    with pytest.raises(EntryError, match="main-1: the table asks for grade 4"):
        coded_needs({"main-1": SUM}, {"main-1": "C"}, {"main-1": "3"}, {})
    with pytest.raises(EntryError, match="main-2 needs a table"):
        coded_needs({"main-1": SUM, "main-2": SUM}, {"main-1": "A"}, {"main-1": "1"}, GRADES)


def test_by_the_book_or_by_the_sum():
    (need,) = coded_needs({"main-1": SUM}, {"main-1": "B"}, {"main-1": "2"}, GRADES)
    stock = [
        HalfShell("thin", "1", GRADES["1"].wall),
        HalfShell("thick", "3", GRADES["3"].wall),
    ]
    limits = (20 * UM, 35 * UM, 50 * UM)
    book = bearing_from_codes(need, "main", limits)
    assert not select_shells([book], stock, ShellRules()).placed
    free = bearing_from_codes(need, "main", limits, by_the_book=False, spread=2 * UM)
    (placed,) = select_shells([free], stock, ShellRules()).placed
    assert placed.clearance.value == pytest.approx(35 * UM)
    # 2 µm of the classes, twice 1/√3 µm of the walls
    assert placed.clearance.uncertainty == pytest.approx((4 + 2 / 3) ** 0.5 * UM)
