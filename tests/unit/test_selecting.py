"""Half shells chosen from a box for an invented straight six; the solver has tests of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from bedplate import demo
from bedplate.engine import examples, read_engine
from bedplate.errors import EntryError, ImportFileError, NotFoundError, NotPossibleError
from bedplate.shop.model import QuestionKind
from bedplate.shop.selection.outcomes import selections_of
from bedplate.shop.selection.shell_question import book_order, code_family, shell_question
from bedplate.shop.stock import stock_of
from bedplate.workshop import Workshop

WHO = "a tester"
SIX = "six"


def box() -> bytes:
    """Return an invented box of 24 mixed half shells: upper ones grooved, walls as measured."""
    lines = ["identity,part,count,half,grooved,grade,wall,wall uncertainty"]
    for number in range(12):
        wall = 1.9845 + 0.0008 * number
        grade = str(min(4, 1 + int((wall - 1.981) / 0.004)))
        for half, grooved, more in (("upper", "yes", 0.0), ("lower", "no", 0.0003)):
            lines.append(
                f"{half[0].upper()}{number + 1},main shell,1,{half},{grooved},{grade},"
                f"{wall + more:.4f} mm,0.002 mm"
            )
    return "\n".join(lines).encode()


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    workshop = Workshop.open(tmp_path)
    demo.fill(
        workshop,
        examples()["straight-six"],
        SIX,
        seed=6,
        wanted=lambda f: f.kind in {"main journal", "main housing"},
    )
    return workshop


def test_a_box_of_24_mixed_half_shells_is_placed_with_proof(workshop: Workshop) -> None:
    workshop.add_parts(SIX, box(), "box.csv", by=WHO)
    assert len(stock_of(workshop.state(SIX))) == 24
    question, found = workshop.shell_selection(SIX, "main shells")
    assert len(question.bearings) == 7
    assert found.proof.word == "optimal"
    assert len(found.placed) == 7
    assert sum(count for _, count in found.left_over) == 10
    for pair in found.placed:
        assert pair.upper.startswith("U")
        assert pair.lower.startswith("L")
    workshop.select_shells(SIX, "main shells", by=WHO)
    (made,) = selections_of(workshop.state(SIX))
    assert len(made.made.placed) == 14
    assert made.made.proof.startswith("optimal: ")
    assert made.changed == ()


def test_what_is_measured_is_put_beside_what_was_predicted(workshop: Workshop) -> None:
    workshop.add_parts(SIX, box(), "box.csv", by=WHO)
    workshop.select_shells(SIX, "main shells", by=WHO)
    (made,) = selections_of(workshop.state(SIX))
    state = workshop.state(SIX)
    assert {o.measured for o in made.outcomes} == {None}
    asked = {q.about for q in state.questions if q.kind is QuestionKind.NOT_MEASURED}
    assert {o.fit for o in made.outcomes} <= asked
    workshop.register_gauge(
        SIX, "three-point", by=WHO, gauge_kind="three-point bore gauge", comparator=False,
        resolution="0.001 mm", expanded_uncertainty="0.001 mm", repeatability="0.0003 mm",
    )  # fmt: skip
    for number, wrong in (("1", 0.0), ("2", 0.025e-3)):
        predicted = next(o.predicted for o in made.outcomes if o.fit == f"main-clearance-{number}")
        journal = state.features[f"main-journal-{number}"].size
        assert journal is not None
        size = float(journal.mean.nominal_value) + predicted + wrong
        bore = state.features[f"main-bearing-bore-{number}"].feature
        for station in bore.stations:
            workshop.read(SIX, bore.id, station.id, f"{size * 1e3:.4f} mm", "three-point", by=WHO)
    (made,) = selections_of(workshop.state(SIX))
    outcomes = {o.fit: o for o in made.outcomes}
    assert not outcomes["main-clearance-1"].off
    assert outcomes["main-clearance-2"].off
    assert outcomes["main-clearance-2"].difference == pytest.approx(0.025e-3, abs=2e-6)
    asked = {q.about for q in workshop.state(SIX).questions if q.kind is QuestionKind.SELECTION}
    assert asked == {"main-clearance-2"}


def test_what_lies_in_a_bearing_stays(workshop: Workshop) -> None:
    workshop.add_parts(SIX, box(), "box.csv", by=WHO)
    _, found = workshop.shell_selection(SIX, "main shells")
    first = found.placed[0]
    workshop.use_part(SIX, first.upper, 1, "main 1 upper", by=WHO)
    workshop.use_part(SIX, first.lower, 1, "main 1 lower", by=WHO)
    question, again = workshop.shell_selection(SIX, "main shells")
    assert question.fitted == {"main 1": (first.upper, first.lower)}
    assert (again.placed[0].upper, again.placed[0].lower) == (first.upper, first.lower)


def test_a_forbidden_pair_that_is_fitted_is_said(workshop: Workshop) -> None:
    more = b"""identity,part,half,grooved,grade
F1,main shell,upper,yes,1
F4,main shell,lower,no,4
"""
    workshop.add_parts(SIX, box(), "box.csv", by=WHO)
    workshop.add_parts(SIX, more, "more.csv", by=WHO)
    workshop.use_part(SIX, "F1", 1, "main 3 upper", by=WHO)
    workshop.use_part(SIX, "F4", 1, "main 3 lower", by=WHO)
    with pytest.raises(NotPossibleError) as caught:
        workshop.select_shells(SIX, "main shells", by=WHO)
    assert caught.value.sentence == (
        "What is fitted in main 3 is not allowed: 1 and 4 are a forbidden pair."
    )
    assert selections_of(workshop.state(SIX)) == ()


def test_too_few_shells_choose_nothing(workshop: Workshop) -> None:
    workshop.add_parts(SIX, b"\n".join(box().splitlines()[:9]), "box.csv", by=WHO)
    before = workshop.state(SIX).checkpoint
    with pytest.raises(NotPossibleError) as caught:
        workshop.select_shells(SIX, "main shells", by=WHO)
    assert caught.value.sentence == "7 bearings take 14 half shells; 8 are there."
    assert workshop.state(SIX).checkpoint == before


def test_a_wall_measured_before_it_was_coated_stays_in_the_box(workshop: Workshop) -> None:
    workshop.add_parts(SIX, box(), "box.csv", by=WHO)
    coated = {"identity": "C1", "part": "main shell", "half": "upper", "grooved": "yes",
              "wall": "1.9860 mm", "wall uncertainty": "0.002 mm", "coated": "yes"}  # fmt: skip
    workshop.add_part(SIX, {**coated, "measured over": "bare metal"}, by=WHO)
    question, found = workshop.shell_selection(SIX, "main shells")
    why = "'C1' is left out: its wall was measured before it was coated"
    assert why in question.missing
    assert "C1" not in {shell.id for shell in question.shells}
    assert len(found.placed) == 7
    workshop.add_part(SIX, {**coated, "measured over": "coating"}, by=WHO)
    assert "C1" in {shell.id for shell in shell_question(workshop.state(SIX), "main shells").shells}


def test_a_withdrawal_makes_no_stock_negative(workshop: Workshop) -> None:
    shells = {"identity": "S", "part": "main shell", "half": "upper", "grade": "2"}
    workshop.add_part(SIX, {**shells, "count": "1"}, by=WHO)
    more = workshop.add_part(SIX, {**shells, "count": "9"}, by=WHO)
    workshop.use_part(SIX, "S", 5, "scrap", by=WHO)
    before = workshop.state(SIX).checkpoint
    with pytest.raises(NotPossibleError) as caught:
        workshop.withdraw(SIX, more.id, "miscounted", by=WHO)
    assert caught.value.sentence == "Of 'S' 5 are used already, so 1 cannot be all."
    assert workshop.state(SIX).checkpoint == before
    # What was never used may be taken back, and so may a use.
    gone = workshop.add_part(SIX, {"identity": "T", "part": "main shell"}, by=WHO)
    workshop.withdraw(SIX, gone.id, "another engine's", by=WHO)
    assert "T" not in stock_of(workshop.state(SIX))


def test_shells_of_another_undersize_stay_in_the_box(workshop: Workshop) -> None:
    workshop.add_parts(SIX, box(), "box.csv", by=WHO)
    odd = {"identity": "X", "part": "main shell", "undersize": "0.25 mm", "grade": "1"}
    workshop.add_part(SIX, odd, by=WHO)
    question, found = workshop.shell_selection(SIX, "main shells")
    assert any("'X' is left out: it is for 0.25 mm under" in line for line in question.missing)
    assert len(found.placed) == 7


def test_a_housing_cut_again_makes_the_choice_say_so(workshop: Workshop) -> None:
    workshop.add_parts(SIX, box(), "box.csv", by=WHO)
    workshop.select_shells(SIX, "main shells", by=WHO)
    workshop.rework(SIX, "block", ["main-housing-3"], "line-honed", by=WHO)
    (made,) = selections_of(workshop.state(SIX))
    assert len(made.changed) == 1
    assert "main 3" in made.changed[0]
    question = shell_question(workshop.state(SIX), "main shells")
    assert any("Main housing 3 is not wholly measured" in why for why in question.missing)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("A,main shell,-2,,,,", "never negative"),
        ("A,main shell,two,,,,", "no count"),
        ("A,main shell,1,left,,,", "no word for 'half'"),
        ("A,main shell,1,,,1.987 mm,", "how well it is known"),
        ("A,main shell,1,,,1.987,0.001 mm", "wall"),
        ("A,main shell,1,,,1.987 in,0.001 mm", "no wall"),
        ("A,,1,,,,", "what 'A' is"),
        (",main shell,1,,,,", "told from others"),
        ("A,piston,1,,,,\nA,piston,1,,,,", "stands on line 2 too"),
        ("held,piston,1,,,,", "already"),
        ("A,main shell,1,,,,,too many", "more values"),
    ],
)
def test_a_box_that_cannot_be_is_refused_whole(workshop: Workshop, line: str, words: str) -> None:
    workshop.add_part(SIX, {"identity": "held", "part": "main shell"}, by=WHO)
    before = workshop.state(SIX).checkpoint
    header = "identity,part,count,half,grooved,wall,wall uncertainty\n"
    with pytest.raises(ImportFileError) as caught:
        workshop.add_parts(SIX, f"{header}{line}\nB,piston,1,,,,".encode(), "box.csv", by=WHO)
    assert any(words in f"{fault}" for fault in caught.value.faults), caught.value.faults
    assert workshop.state(SIX).checkpoint == before


def test_parts_are_counted_in_used_and_left(workshop: Workshop) -> None:
    workshop.add_part(SIX, {"identity": "locks", "part": "pin lock", "count": "12"}, by=WHO)
    workshop.use_part(SIX, "locks", 2, "piston 1", by=WHO)
    lot = stock_of(workshop.state(SIX))["locks"]
    assert (lot.entry.count, lot.used, lot.left) == (12, (("piston 1", 2),), 10)
    with pytest.raises(NotPossibleError):
        workshop.use_part(SIX, "locks", 11, "piston 2", by=WHO)
    with pytest.raises(NotFoundError):
        workshop.use_part(SIX, "lock", 1, "piston 2", by=WHO)
    with pytest.raises(NotPossibleError):
        workshop.add_part(SIX, {"identity": "locks", "part": "pin lock", "count": "1"}, by=WHO)


# ---- codes


def families() -> dict[str, object]:
    return {
        name: read_engine(text).machining.shells[0]
        for name, text in examples().items()
        if read_engine(text).machining.shells
    }


def test_three_families_of_codes_choose_grades() -> None:
    """Sum of codes, matrix, independent halves: how makers do it, each by its own chart."""
    held = families()
    six, v8, four = (
        code_family(held[name]) for name in ("straight-six", "v8", "in-line-four-frame")
    )
    assert six.grades("A", "1") == ("1", "1")  # places 0 and 0
    assert six.grades("D", "5") == ("4", "4")  # places 3 and 4
    assert six.grades("B", "3") == ("2", "2")  # places 1 and 2: sum 3
    assert v8.grades("P", "3") == ("plain", "red")
    assert v8.grades("Q", "1") == ("plain", "plain")
    assert four.grades("Z", "1") == ("yellow", "brown")


def test_codes_are_read_in_the_books_direction() -> None:
    numbers = ["1", "2", "3", "4", "5"]
    assert book_order(numbers, "front", "front") == numbers
    assert book_order(numbers, "rear", "front") == numbers[::-1]
    assert book_order(numbers, "front", "rear") == numbers[::-1]


def test_codes_of_the_wrong_length_are_refused(workshop: Workshop) -> None:
    workshop.add_parts(SIX, box(), "box.csv", by=WHO)
    with pytest.raises(EntryError) as caught:
        workshop.select_shells(
            SIX, "main shells", by=WHO, housing_codes="ABCDAB", shaft_codes="1234512"
        )
    assert "has 6 codes; 7 are read" in caught.value.sentence
    for housing, shaft, count in (("ABCDABC", "12345123", 8), ("ABCDABC", "", 0)):
        with pytest.raises(EntryError) as caught:
            workshop.select_shells(
                SIX, "main shells", by=WHO, housing_codes=housing, shaft_codes=shaft
            )
        assert f"has {count} codes; 7 are read" in caught.value.sentence
    assert selections_of(workshop.state(SIX)) == ()


def test_codes_choose_where_nothing_is_measured(workshop: Workshop) -> None:
    demo.fill(workshop, examples()["straight-six"], "codes", seed=3, wanted=lambda _: False)
    rows = ["identity,part,count,half,grooved,grade"]
    rows += [
        f"{half}{g},main shell,5,{half},{'yes' if half == 'upper' else 'no'},{g}"
        for g in "1234"
        for half in ("upper", "lower")
    ]
    workshop.add_parts("codes", "\n".join(rows).encode(), "box.csv", by=WHO)
    question, found = workshop.shell_selection(
        "codes", "main shells", housing_codes="ABCDABC", shaft_codes="1 2 3 4 5 1 2"
    )
    assert len(question.bearings) == 7
    grades = [pair.upper_grade for pair in found.placed]
    # Sums of places 0, 2, 4, 6, 4, 1, 3 in 1 1 2 2 3 3 4 4.
    assert grades == ["1", "2", "3", "4", "3", "1", "2"]


def test_other_shells_ask_for_the_bearing_bore_again(workshop: Workshop) -> None:
    workshop.register_gauge(
        SIX, "three-point", by=WHO, gauge_kind="three-point bore gauge", comparator=False,
        resolution="0.001 mm", expanded_uncertainty="0.001 mm", repeatability="0.0003 mm",
    )  # fmt: skip
    bore = workshop.state(SIX).features["main-bearing-bore-2"].feature
    for station in bore.stations:
        workshop.read(SIX, bore.id, station.id, "60.030 mm", "three-point", by=WHO)
    assert workshop.state(SIX).features[bore.id].size is not None
    workshop.add_parts(SIX, box(), "box.csv", by=WHO)
    workshop.select_shells(SIX, "main shells", by=WHO)
    state = workshop.state(SIX).features[bore.id]
    assert (state.size, state.stale) == (None, True)
    assert "other main shells were chosen" in state.readings[0].why
    for station in bore.stations:
        workshop.read(SIX, bore.id, station.id, "60.030 mm", "three-point", by=WHO)
    workshop.select_shells(SIX, "main shells", by=WHO)
    assert workshop.state(SIX).features[bore.id].size is not None  # the same shells as before
