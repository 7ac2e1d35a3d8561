"""State: the same from the record alone as entry by entry, stale by what it rests on."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from bedplate import demo
from bedplate.engine import examples
from bedplate.errors import ConflictError, EntryError, NotFoundError, NotPossibleError
from bedplate.metrology import Verdict
from bedplate.record import SqliteStore
from bedplate.shop import QuestionKind, State
from bedplate.shop.plan import next_step
from bedplate.shop.reckoning import state_of
from bedplate.workshop import Workshop

WHO = "a tester"


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    return Workshop.open(tmp_path)


@pytest.fixture
def build(workshop: Workshop) -> str:
    return demo.start_demo(workshop)


def _summary(state: State) -> object:
    """Everything that a view shows, with uncertainties as numbers."""
    return (
        state.checkpoint,
        [
            (f.fit.id, f.value, f.least, f.greatest, f.judgement, f.stale, f.accepted, f.missing)
            for f in state.fits.values()
        ],
        [(f.feature.id, f.expanded, f.stale, f.readings, f.wear) for f in state.features.values()],
        state.questions,
        state.plan,
        state.gauges,
        state.entries,
    )


def _expanded(state: State) -> list[float | None]:
    return [f.expanded for f in state.fits.values()]


def test_state_is_the_same_entry_by_entry_as_from_the_whole_record(
    workshop: Workshop, build: str
) -> None:
    workshop.read(build, "end-float", "0-deg", "0.14 mm", "dial-indicator", by=WHO)
    reading = workshop.read(build, "end-float", "90-deg", "0.15 mm", "dial-indicator", by=WHO)
    workshop.withdraw(build, reading.id, "misread", by=WHO)
    workshop.accept(build, "main-clearance-4", "race engine, torn down each season", by=WHO)
    workshop.rework(build, "crank", ["main-journal-2"], "polished", by=WHO)
    kept = workshop.state(build)
    afresh = state_of(kept.entries)
    assert _summary(kept) == _summary(afresh)
    pairs = zip(_expanded(kept), _expanded(afresh), strict=True)
    assert all(a == pytest.approx(b, rel=1e-12) for a, b in pairs if a is not None)


def test_whatever_kind_is_taken_back_the_state_is_as_from_the_whole_record(
    workshop: Workshop, build: str
) -> None:
    workshop.receive_part(build, "crank", "crank, marked 2", by=WHO)
    workshop.accept(build, "main-clearance-1", "it will do", by=WHO)
    workshop.rework(build, "crank", ["main-journal-2"], "polished", by=WHO)
    workshop.count_parts(build, "plugs", "out", "5", by=WHO)
    workshop.note(build, "", "a word", by=WHO)
    workshop.step(build, "cleaned", by=WHO)
    last = {type(n.entry): n.entry.id for n in workshop.state(build).entries}
    taken = set()
    for kind, id in last.items():
        try:
            workshop.withdraw(build, id, "to see what it touched", by=WHO)
        except NotPossibleError:
            continue
        taken.add(kind.__name__)
        kept = workshop.state(build)
        assert _summary(kept) == _summary(state_of(kept.entries)), kind
    assert taken >= {
        "Accepted", "ComparatorSet", "GaugeRegistered", "Note", "OnHand", "OrderIssued",
        "PartReceived", "PartsCounted", "Reading", "Reworked", "StepDone",
    }  # fmt: skip


def test_honing_a_bore_again_makes_stale_exactly_what_rests_on_it(
    workshop: Workshop, build: str
) -> None:
    before = {f.fit.id for f in workshop.state(build).fits.values() if f.stale}
    workshop.rework(build, "block", ["cylinder-bore-2"], "honed again", by=WHO)
    state = workshop.state(build)
    stale = {f.fit.id for f in state.fits.values() if f.stale} - before
    assert stale == {
        "cylinder-bore-2",
        "cylinder-bore-out-of-round-2",
        "cylinder-bore-taper-2",
        "piston-clearance-2",
        "top-ring-gap-2",
    }
    assert state.fits["piston-clearance-1"].verdict is Verdict.INSIDE
    kinds = {q.kind for q in state.questions if q.about == "piston-clearance-2"}
    assert kinds == {QuestionKind.STALE}


def test_another_crank_makes_its_journals_stale(workshop: Workshop, build: str) -> None:
    workshop.receive_part(build, "crank", "crank, marked 2", by=WHO)
    state = workshop.state(build)
    assert state.features["main-journal-1"].stale
    assert not state.features["main-bearing-bore-1"].stale
    assert state.fits["main-clearance-1"].stale


def test_a_tight_main_is_outside_until_a_person_accepts_it(workshop: Workshop, build: str) -> None:
    fit = workshop.state(build).fits["main-clearance-4"]
    assert fit.verdict is Verdict.OUTSIDE
    assert fit.least is not None
    assert fit.low is not None
    assert fit.expanded_least is not None
    assert fit.least + fit.expanded_least < fit.low
    workshop.accept(build, "main-clearance-4", "race engine, torn down each season", by=WHO)
    state = workshop.state(build)
    assert state.fits["main-clearance-4"].accepted
    assert state.fits["main-clearance-4"].verdict is Verdict.OUTSIDE
    assert not [q for q in state.questions if q.about == "main-clearance-4"]


def test_an_acceptance_lapses_when_a_fact_under_it_changes(workshop: Workshop, build: str) -> None:
    workshop.accept(build, "main-clearance-4", "race engine", by=WHO)
    feature = workshop.state(build).features["main-bearing-bore-4"]
    text = "-0.021 mm"
    workshop.read(build, feature.feature.id, "crown-front-edge", text, "bore-gauge", by=WHO)
    fit = workshop.state(build).fits["main-clearance-4"]
    assert fit.lapsed
    assert not fit.accepted


def test_a_measure_is_withheld_while_stations_are_missing(workshop: Workshop, build: str) -> None:
    state = workshop.state(build)
    fit = state.fits["main-clearance-6"]
    assert fit.verdict is Verdict.NOT_MEASURED
    assert fit.missing == ("main-bearing-bore-6", "main-journal-6")


def test_a_gauge_set_in_the_micrometer_of_the_journal_shares_its_error(
    workshop: Workshop, build: str
) -> None:
    """The micrometer's calibration (U 2 µm) cancels in the clearance, and is in the bore's size."""
    state = workshop.state(build)
    clearance = state.fits["main-clearance-1"].budget
    bore = state.features["main-bearing-bore-1"]
    assert bore.expanded is not None
    assert bore.expanded > 2e-6
    assert all("calibration of outside-micrometer" not in c.source for c in clearance)


def test_the_same_reading_sent_twice_is_taken_once(workshop: Workshop, build: str) -> None:
    sent = "0" * 31 + "7"
    send = ("end-float", "0-deg", "0.14 mm", "dial-indicator")
    first = workshop.read(build, *send, by=WHO, id=sent)
    again = workshop.read(build, *send, by=WHO, id=sent)
    assert (again.number, again.hash, again.repeated) == (first.number, first.hash, True)
    with pytest.raises(ConflictError):
        workshop.read(build, "end-float", "0-deg", "0.15 mm", "dial-indicator", by=WHO, id=sent)


def _withdrawn_number(workshop: Workshop, build: str) -> str:
    readings = workshop.state(build).features["main-journal-6"].readings
    return next(str(r.number) for r in readings if r.standing == "withdrawn")


def test_what_cannot_be_meant_is_refused_in_words(workshop: Workshop, build: str) -> None:
    count = workshop.state(build).checkpoint.count
    with pytest.raises(NotFoundError, match="no feature 'main-jornal-1'") as caught:
        workshop.read(build, "main-jornal-1", "0-deg", "60 mm", "outside-micrometer", by=WHO)
    assert "main-journal-1" in caught.value.hint
    with pytest.raises(NotFoundError, match="station"):
        workshop.read(build, "main-journal-1", "top", "60 mm", "outside-micrometer", by=WHO)
    with pytest.raises(NotFoundError, match="gauge"):
        workshop.read(build, "end-float", "0-deg", "0.14 mm", "thumb", by=WHO)
    with pytest.raises(EntryError, match="uncertainty"):
        workshop.set_comparator(build, "bore-gauge", "60.000 mm", by=WHO)
    with pytest.raises(NotPossibleError, match="only a comparator"):
        workshop.set_comparator(build, "outside-micrometer", "60 mm", master="ring", by=WHO)
    with pytest.raises(EntryError, match="who"):
        workshop.read(build, "end-float", "0-deg", "0.14 mm", "dial-indicator", by=" ")
    with pytest.raises(NotPossibleError, match="withdrawn already"):
        workshop.withdraw(build, _withdrawn_number(workshop, build), "again", by=WHO)
    with pytest.raises(NotPossibleError, match="not on the crank"):
        workshop.rework(build, "crank", ["cylinder-bore-1"], "honed", by=WHO)
    assert workshop.state(build).checkpoint.count == count


def test_the_plan_sets_each_gauge_up_once(workshop: Workshop, build: str) -> None:
    state = workshop.state(build)
    titles = [group.title for group in state.plan]
    assert len(titles) == len(set(titles))
    assert titles.index("Main journal") < titles.index("Main bearing bore")
    found = next_step(state.plan)
    assert found is not None
    group, step = found
    assert step.done < step.needed
    assert group.title == "Main journal"


def test_every_question_says_what_would_close_it(workshop: Workshop, build: str) -> None:
    questions = workshop.state(build).questions
    assert questions
    assert all(q.sentence.endswith((".", "?")) and q.to_do for q in questions)
    gates = [list(type(q.gate)).index(q.gate) for q in questions]
    assert gates == sorted(gates)


def test_the_same_record_gives_the_same_state_on_any_day(tmp_path: Path) -> None:
    def build_at(folder: Path) -> State:
        clock = datetime(2026, 3, 4, 5, 6, 7, tzinfo=UTC)
        shop = Workshop(SqliteStore(folder / "bedplate.sqlite"), clock=lambda: clock)
        demo.fill(shop, examples()["straight-six"], "one", seed=3)
        return shop.state("one")

    first, second = build_at(tmp_path / "a"), build_at(tmp_path / "b")
    assert first.checkpoint == second.checkpoint
    assert _summary(first) == _summary(second)


def test_wear_is_the_same_stations_new_less_old_and_follows_the_old_record(
    workshop: Workshop, build: str
) -> None:
    text = workshop.engine_text(build)
    later = workshop.start(text, by=WHO, build="later", previous=build, gauges_of=build).build
    for station in workshop.state(later).features["main-journal-1"].feature.stations:
        mic = "outside-micrometer"
        workshop.read(later, "main-journal-1", station.id, "59.980 mm", mic, by=WHO)
    old = workshop.state(build).features["main-journal-1"]
    worn = workshop.state(later).features["main-journal-1"]
    assert old.size is not None
    assert worn.wear == pytest.approx(59.980e-3 - old.size.mean.nominal_value, abs=1e-12)
    workshop.withdraw(build, str(old.readings[0].number), "misread", by=WHO)
    assert "Only 3 of 4 stations" in workshop.state(later).features["main-journal-1"].wear_note


def test_a_doubt_is_asked_before_a_verdict_that_rests_on_it(workshop: Workshop, build: str) -> None:
    slip = workshop.read(
        build, "main-journal-6", "0-deg-front-end", "60.490 mm", "outside-micrometer", by=WHO
    )
    first, *others = workshop.state(build).questions
    assert (first.kind, first.about) == (QuestionKind.DOUBT, f"entry {slip.number}")
    about = {q.about: q for q in others if q.kind is QuestionKind.OUTSIDE}
    assert f"entry {slip.number}" in about["main-journal-6"].to_do
    assert "Rework" in about["main-clearance-4"].to_do, "nothing under that one is doubted"
    workshop.note(build, f"entry {slip.number}", "measured twice, it is so", by=WHO)
    told = {q.about: q for q in workshop.state(build).questions}
    assert f"entry {slip.number}" not in told
    assert "Rework" in told["main-journal-6"].to_do
