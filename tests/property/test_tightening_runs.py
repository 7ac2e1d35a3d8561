"""Whatever is done to a run, in whichever order: it never takes as done what nobody said."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.contract.memory_store import MemoryStore

from bedplate.engine import examples
from bedplate.errors import BedplateError
from bedplate.record.entries import BoltTightened, StageDone
from bedplate.shop.tightening.runs import joints
from bedplate.workshop import Workshop

ENGINE = examples()["in-line-four-frame"]
BY = "Ann (invented)"

ACTS = st.one_of(
    st.tuples(st.just("next")),
    st.tuples(st.just("next")),
    st.tuples(st.just("next")),
    st.tuples(st.just("bolt"), st.integers(0, 11)),
    st.tuples(st.just("part"), st.integers(1, 100)),
    st.tuples(st.just("unknown")),
    st.tuples(st.just("turn"), st.sampled_from(["3 N·m", "7 N·m", ""])),
    st.tuples(st.just("undo"), st.integers(0, 400)),
    st.tuples(st.just("stop")),
    st.tuples(st.just("loosen")),
    st.tuples(st.just("begin")),
    st.tuples(st.just("revise"), st.sampled_from(["75 deg", "80 deg"])),
)


@pytest.fixture(scope="module")
def started():
    store = MemoryStore()
    Workshop(store).start(ENGINE, by=BY, build="k")
    return list(store.rows("k"))


def act(shop, what, *more):
    runs = joints(shop.state("k"))["frame", ""].runs
    run = runs[-1] if runs else None
    number = str(run.number) if run else "1"
    following = run.next if run else None
    if what == "begin":
        shop.begin_tightening("k", "frame", by=BY, purpose="trial")
    elif what == "stop":
        shop.stop_tightening("k", number, "enough", by=BY)
    elif what == "loosen":
        shop.loosen("k", "frame", "opened", by=BY)
    elif what == "revise":
        shop.revise("k", ENGINE.replace("75 deg", more[0]), reason="bulletin", by=BY)
    elif what == "undo":
        shop.withdraw("k", str(more[0]), "wrong", by=BY)
    elif what == "turn":
        shop.finish_stage("k", number, by=BY, value=more[0])
    elif what == "bolt":
        shop.tighten("k", number, more[0], by=BY)
    elif following is not None and following.bolt is not None:
        extra = {
            "part": {"angle": str(more[0])} if more else {},
            "unknown": {"unknown_angle": True},
        }
        shop.tighten("k", number, following.bolt, by=BY, **extra.get(what, {}))
    elif following is not None:
        shop.finish_stage("k", number, by=BY, value="3 N·m")


def check(shop):
    state = shop.state("k")
    taken = {n.entry.target for n in state.entries if hasattr(n.entry, "target")}
    said = [n for n in state.entries if n.entry.id not in taken]
    for run in joints(state)["frame", ""].runs:
        bolts = {
            (n.entry.stage, n.entry.bolt): n.entry.outcome
            for n in said
            if isinstance(n.entry, BoltTightened) and n.entry.run == run.id
        }
        turned = {
            n.entry.stage for n in said if isinstance(n.entry, StageDone) and n.entry.run == run.id
        }
        for stage in run.stages:
            for step in stage.bolts:
                at = (stage.stage.number, step.bolt)
                assert step.outcome == bolts.get(at, "to do")
            if stage.done and not stage.bolts:
                assert stage.stage.number in turned
        if run.standing == "tight":
            assert all(stage.done for stage in run.stages)
            assert "unknown" not in bolts.values()
            assert "part" not in bolts.values()
            assert run.block is None
        if run.next is not None:
            before = run.stages[: run.next.stage.number - 1]
            assert all(stage.done for stage in before), "a stage was passed with a gap"


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(acts=st.lists(ACTS, max_size=60))
def test_a_run_is_what_was_said_of_it(started, acts):
    store = MemoryStore()
    store.append(started)
    shop = Workshop(store)
    shop.begin_tightening("k", "frame", by=BY, purpose="trial")
    for what, *more in acts:
        before = shop.state("k").checkpoint
        try:
            act(shop, what, *more)
        except BedplateError as error:
            assert shop.state("k").checkpoint == before, "a refusal takes nothing"
            assert error.sentence.endswith((".", "?", ")"))
        check(shop)
