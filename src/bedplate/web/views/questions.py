"""Open questions, by gate, each with the way to close it."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import quote

from markupsafe import Markup

from bedplate.documents.looks import mark_of
from bedplate.documents.marks import Mark
from bedplate.engine.fits import Gate
from bedplate.shop.model import Question, QuestionKind, State
from bedplate.web.views.common import mark

_QUERY = Markup('<span class="query" aria-hidden="true">?</span>')
"""Stands where there is no verdict to show."""


@dataclass(frozen=True, slots=True)
class QuestionView:
    """A question with a link to do something about it."""

    kind: str
    sentence: str
    to_do: str
    mark: Markup
    link: str
    link_words: str


@dataclass(frozen=True, slots=True)
class GateView:
    """A gate with the questions that guard it."""

    name: str
    questions: tuple[QuestionView, ...]
    not_measured: tuple[QuestionView, ...]
    fits: int
    closed: int


def gates(state: State) -> tuple[GateView, ...]:
    """Return every gate, passed ones too."""
    views = []
    for gate in Gate:
        open_here = [q for q in state.questions if q.gate is gate]
        here = [f for f in state.fits.values() if f.fit.gate is gate]
        if not here and not open_here:
            continue
        waiting = [q for q in open_here if q.kind is QuestionKind.NOT_MEASURED]
        others = [q for q in open_here if q.kind is not QuestionKind.NOT_MEASURED]
        about = {q.about for q in open_here}
        closed = sum(f.fit.id not in about for f in here)
        views.append(
            GateView(
                gate.value,
                tuple(_view(state, q) for q in others),
                tuple(_view(state, q) for q in waiting),
                len(here),
                closed,
            )
        )
    return tuple(views)


def _view(state: State, question: Question) -> QuestionView:
    drawn: Mark | None = None
    about, root = question.about, f"/builds/{state.build}"
    if about in state.fits:
        fit = state.fits[about]
        drawn = mark_of(fit)
        link, words = f"{root}/fits/{about}", "see the fit"
        if fit.missing and question.kind in {QuestionKind.NOT_MEASURED, QuestionKind.STALE}:
            link, words = f"{root}/measure?feature={fit.missing[0]}", "measure"
        elif question.kind is QuestionKind.UNDECIDED and fit.judgement.readings_needed:
            link, words = f"{root}/measure?feature={fit.rests_on[0]}", "measure again"
    elif about in state.features:
        link, words = f"{root}/measure?feature={about}", "measure"
    elif about.startswith("entry "):
        link, words = f"{root}/record?before={about[6:]}#entry-{about[6:]}", "see the entry"
    elif question.kind is QuestionKind.ORDER:
        number, _, row = about.removeprefix("order ").partition(", ")
        link, words = f"{root}/checkin?order={quote(number)}#row-{row}", "see the check-in"
    elif about.startswith("run "):
        link, words = f"{root}/tightening?run={about[4:]}", "go to the run"
    elif question.kind is QuestionKind.BALANCE:
        link, words = f"{root}/balance#ledger", "see what is due"
    elif question.kind is QuestionKind.STEP:
        link, words = f"{root}/assembly", "see the assembly"
    elif question.kind in {QuestionKind.FASTENER, QuestionKind.TIGHTENING}:
        end = "fasteners" if about.startswith("group ") else "tightening"
        link, words = f"{root}/{end}", "see the bolts"
    else:
        link, words = f"{root}/gauges#gauge-{about}", "see the gauge"
    return QuestionView(
        question.kind.value, question.sentence, question.to_do,
        _QUERY if drawn is None else mark(drawn, described=False), link, words,
    )  # fmt: skip
