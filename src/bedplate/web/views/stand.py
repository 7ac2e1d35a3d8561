"""The stand and its conventions."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from bedplate.documents.looks import looks
from bedplate.documents.marks import Mark
from bedplate.documents.places import Shown
from bedplate.documents.sections import sections
from bedplate.documents.stand import NUMBERINGS, end_view, plan
from bedplate.engine.model import Layout
from bedplate.metrology.results import Verdict
from bedplate.shop.balance.ledger import ledger_of
from bedplate.shop.model import Question, State
from bedplate.shop.plan import next_step
from bedplate.shop.stations import StationStep, station_steps, stations_done, step_of
from bedplate.web.views.common import mark


@dataclass(frozen=True, slots=True)
class Cell:
    """One feature in the schedule beside a section."""

    number: str
    shown: Shown
    mark: Markup


@dataclass(frozen=True, slots=True)
class ScheduleRow:
    """All features of one kind; `balloon` is its number in the section."""

    balloon: str
    name: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class SectionView:
    """A section with its schedule."""

    title: str
    drawing: Markup
    rows: tuple[ScheduleRow, ...]


@dataclass(frozen=True, slots=True)
class StandView:
    """Everything on the stand."""

    plan: Markup
    end: Markup
    sections: tuple[SectionView, ...]
    legend: tuple[tuple[Markup, str, int], ...]
    stale: int
    accepted: int
    next: StationStep | None
    worst: Question | None
    done: int
    wanted: int
    labels: str
    numberings: dict[str, str]
    conventions: tuple[tuple[str, str], ...]
    balance: str


def stand_view(state: State, build: str, labels: str) -> StandView:
    """Return the stand with one of the ways of numbering cylinders."""
    labels = labels if labels in NUMBERINGS else "maker"
    shown = looks(state, lambda feature: f"/builds/{build}/measure?feature={feature}")
    steps = station_steps(state)
    found = next_step(state.plan)
    done, wanted = stations_done(steps)
    tally = state.tally()
    legend = tuple(
        (mark(Mark(verdict), described=False), Mark(verdict).words.replace(", above the limit", ""),
         tally[verdict.value])
        for verdict in (Verdict.INSIDE, Verdict.OUTSIDE, Verdict.UNDECIDED, Verdict.NOT_MEASURED)
    )  # fmt: skip
    return StandView(
        plan=Markup(plan(state.engine, shown, labels=labels)),  # noqa: S704 - our own drawing
        end=Markup(end_view(state.engine, shown)),  # noqa: S704 - our own drawing
        sections=tuple(_section(state, shown)),
        legend=legend,
        stale=tally["stale"],
        accepted=tally["accepted"],
        next=None if found is None else step_of(steps, found[1]),
        worst=state.questions[0] if state.questions else None,
        done=done,
        wanted=wanted,
        labels=labels,
        numberings=NUMBERINGS,
        conventions=_conventions(state.engine.layout),
        balance=ledger_of(state).sentence,
    )


def _section(state: State, shown: dict[str, Shown]) -> list[SectionView]:
    return [
        SectionView(
            section.title,
            Markup(section.drawing),  # noqa: S704 - our own drawing
            tuple(
                ScheduleRow(
                    row.balloon,
                    row.name,
                    tuple(
                        Cell(f.number, shown[f.id], mark(shown[f.id].mark, described=False))
                        for f in row.features
                    ),
                )
                for row in section.rows
            ),
        )
        for section in sections(state.engine)
    ]


def _conventions(layout: Layout) -> tuple[tuple[str, str], ...]:
    turns = "clockwise" if layout.clockwise else "anticlockwise"
    from_drive = "anticlockwise" if layout.clockwise else "clockwise"
    return (
        ("Front", f"the {layout.front}"),
        ("Turns", f"{turns} seen from the free end, {from_drive} from the drive end"),
        ("Main 1", f"at the {layout.mains_from}"),
        ("Firing order", "-".join(layout.firing)),
    )
