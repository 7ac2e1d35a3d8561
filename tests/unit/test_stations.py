"""The walk along the plan: its order, where it stands, and what it offers there."""

from __future__ import annotations

from pathlib import Path

import pytest

from bedplate.engine import examples
from bedplate.errors import NotFoundError
from bedplate.shop import State
from bedplate.shop.plan import next_step, wanted_steps
from bedplate.shop.stations import (
    is_set_far,
    last_condition,
    stand_at,
    station_steps,
    stations_done,
    step_of,
)
from bedplate.workshop import Workshop

WHO = "a tester"
BUILD = "kestrel"
JOURNAL = ("0-deg-front-end", "90-deg-front-end", "0-deg-rear-end", "90-deg-rear-end")


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    opened = Workshop.open(tmp_path)
    opened.start(examples()["in-line-four-frame"], by=WHO, build=BUILD)
    opened.register_gauge(
        BUILD, "mic", by=WHO, gauge_kind="outside micrometer", resolution="0.001 mm",
        expanded_uncertainty="0.003 mm", repeatability="0.0012 mm", reads_in="mm",
    )  # fmt: skip
    return opened


def _read(workshop: Workshop, number: int, station: str, text: str) -> tuple[str, str]:
    receipt = workshop.read(BUILD, f"main-journal-{number}", station, text, "mic", by=WHO)
    assert receipt.next is not None
    return receipt.next.feature, receipt.next.station


def _undecided(workshop: Workshop) -> tuple[str, str]:
    following = ("", "")
    for station, text in zip(JOURNAL, ("54.991", "54.990", "54.990", "54.989"), strict=True):
        following = _read(workshop, 1, station, text)
    assert workshop.state(BUILD).fits["main-journal-out-of-round-1"].verdict.value == "undecided"
    return following


def test_a_station_is_not_asked_for_twice_running(workshop: Workshop) -> None:
    """Its form is too close to call, yet the first round of all journals comes first."""
    assert _undecided(workshop) == ("main-journal-2", JOURNAL[0])


def test_second_readings_come_after_the_group_and_before_the_next_one(workshop: Workshop) -> None:
    _undecided(workshop)
    group = [
        (step.feature, step.station, step.done)
        for found, step in wanted_steps(workshop.state(BUILD).plan, ("main-journal-1", JOURNAL[3]))
        if found.title == "Main journal"
    ]
    assert [done for *_, done in group] == [0] * 16 + [1] * 4
    assert [station for feature, station, _ in group if feature == "main-journal-1"] == list(
        JOURNAL
    )
    again = stand_at(workshop.state(BUILD), "main-journal-1", JOURNAL[0]).here
    assert again.again


def test_the_walk_goes_on_behind_the_station_and_round_its_group(workshop: Workshop) -> None:
    plan = workshop.state(BUILD).plan
    found = next_step(plan, ("main-journal-5", JOURNAL[3]))
    assert found is not None
    assert (found[1].feature, found[1].station) == ("main-journal-1", JOURNAL[0])


def _without_plan(state: State) -> State:
    """The same state with nothing asked for and no feature."""
    from dataclasses import replace

    return replace(state, plan=(), features={})


def test_where_a_walk_stands(workshop: Workshop) -> None:
    state = workshop.state(BUILD)
    walk = stand_at(state)
    assert not walk.finished
    assert walk.here.name == "Main journal 1, 0 deg, front end"
    assert walk.previous is None
    assert walk.following is not None
    assert walk.following.station == JOURNAL[1]
    assert walk.skip is not None
    assert walk.skip.feature == "main-journal-2"
    assert {step.group for step in walk.group} == {"Main journal"}
    last = stand_at(state, walk.steps[-1].feature, walk.steps[-1].station)
    assert last.following is None
    _read(workshop, 1, JOURNAL[0], "54.990")
    assert stand_at(workshop.state(BUILD), "main-journal-1").here.station == JOURNAL[1]
    found = next_step(state.plan)
    assert found is not None
    assert step_of(walk.steps, found[1]) == walk.here


def test_what_is_not_there_is_named(workshop: Workshop) -> None:
    state = workshop.state(BUILD)
    with pytest.raises(NotFoundError, match="no feature 'spigot'"):
        stand_at(state, "spigot")
    with pytest.raises(NotFoundError, match="Main journal 1 has no station 'top'"):
        stand_at(state, "main-journal-1", "top")
    with pytest.raises(NotFoundError, match="nothing to measure"):
        stand_at(_without_plan(state))


def test_done_is_counted_by_station(workshop: Workshop) -> None:
    _, wanted = stations_done(station_steps(workshop.state(BUILD)))
    _read(workshop, 1, JOURNAL[0], "54.990")
    assert stations_done(station_steps(workshop.state(BUILD))) == (1, wanted)


@pytest.mark.parametrize(
    ("setting", "nominal", "far"),
    [(0.060, 0.0603, False), (0.060, 0.0607, True), (0.060, None, False)],
)
def test_a_bore_gauge_set_for_another_size(
    setting: float, nominal: float | None, *, far: bool
) -> None:
    assert is_set_far(setting, nominal) is far


def test_a_state_of_the_parts_is_offered_only_where_the_same_is_asked_for(
    workshop: Workshop,
) -> None:
    workshop.read(
        BUILD, "end-float", "0-deg", "0.14 mm", "mic", by=WHO, condition="crank pried by hand"
    )
    features = workshop.state(BUILD).features
    state = workshop.state(BUILD)
    asked = features["end-float"].feature
    assert last_condition(state, asked) == "crank pried by hand"
    assert features["main-housing-1"].feature.condition not in ("", asked.condition)
    assert last_condition(state, features["main-housing-1"].feature) == ""
    assert features["main-journal-1"].feature.condition == ""
    assert last_condition(state, features["main-journal-1"].feature) == ""


def test_a_fit_that_was_begun_is_not_called_unmeasured(workshop: Workshop) -> None:
    from bedplate.documents.looks import words_of

    assert words_of(workshop.state(BUILD).fits["main-journal-1"]) == "not measured yet"
    _read(workshop, 1, JOURNAL[0], "54.990")
    assert words_of(workshop.state(BUILD).fits["main-journal-1"]) == "not all of it measured yet"
    _undecided(workshop)
    assert words_of(workshop.state(BUILD).fits["main-journal-1"]) == "inside"
