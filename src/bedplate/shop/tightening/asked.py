"""Which stage a deed on a run belongs to, and what refuses it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bedplate.errors import EntryError, NotPossibleError
from bedplate.wording import capital

if TYPE_CHECKING:
    from bedplate.engine import Stage
    from bedplate.shop.tightening.model import Joint, Run


def check_ready(joint: Joint, purpose: str) -> None:
    """Refuse a run of a joint that is tight or being tightened, or that is for neither purpose."""
    if purpose not in {"trial", "final"}:
        sentence = f"A run is for the 'trial' or 'final' assembly, not '{purpose[:40]}'."
        raise EntryError(sentence)
    run = joint.run
    if run is None:
        return
    name = capital(joint.name)
    if run.standing == "on":
        sentence = f"{name} is being tightened already, by the run of entry {run.number}."
        raise NotPossibleError(sentence, hint="Go on with it, or stop it with the reason.")
    sentence = f"{name} is tight, by the run of entry {run.number}."
    raise NotPossibleError(sentence, hint="Note that it was loosened before it is tightened again.")


def stage_for(run: Run, stage: int, bolt: int) -> Stage:
    """Return the stage that a bolt is done in."""
    _is_on(run)
    if stage:
        if not 1 <= stage <= len(run.stages):
            sentence = f"The plan has {len(run.stages)} stages; there is no stage {stage}."
            raise EntryError(sentence)
        asked = run.stages[stage - 1].stage
        gap = run.block is not None and run.block.code == "gap"
        if run.next is not None and stage != run.next.stage.number and not gap:
            sentence = f"Stage {run.next.stage.number} is on, not stage {stage}."
            raise NotPossibleError(sentence, hint="Look at the run again: it has gone on.")
    elif run.next is not None:
        asked = run.next.stage
    else:
        asked = run.stages[-1].stage
    if not asked.group:
        sentence = f"Stage {asked.number} comes first: {asked.doing.value}."
        raise NotPossibleError(sentence, hint=f"Bolt {bolt} follows after it.")
    return asked


def own_stage(run: Run, stage: int) -> Stage:
    """Return the stage without bolts that is on, or the one that was out of its limits."""
    _is_on(run)
    if run.block is not None and run.block.code == "turning":
        return next(s.stage for s in run.stages if s.outside)
    if run.block is not None:
        raise NotPossibleError(run.block.sentence, hint=run.block.to_do)
    following = run.next
    if following is None or (stage and stage != following.stage.number):
        number = following.stage.number if following else len(run.stages)
        sentence = f"Stage {number} is on, not stage {stage}."
        raise NotPossibleError(sentence, hint="Look at the run again: it has gone on.")
    if following.bolt is not None:
        left = run.stages[following.stage.number - 1].left
        names = ", ".join(str(bolt) for bolt in left)
        sentence = (
            f"Stage {following.stage.number} is not complete: {following.stage.group} {names} "
            f"{'is' if len(left) == 1 else 'are'} not done."
        )
        raise NotPossibleError(sentence, hint="A stage is complete when its last bolt is.")
    return following.stage


def _is_on(run: Run) -> None:
    if run.standing == "on":
        return
    sentence = f"The run of entry {run.number} is {run.standing}."
    hint = "Every bolt of it is done." if run.standing == "tight" else "Begin a new run."
    raise NotPossibleError(sentence, hint=hint)
