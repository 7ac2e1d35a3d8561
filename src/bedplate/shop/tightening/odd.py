"""Bolts whose torque at the end stands apart from the others."""

from __future__ import annotations

from dataclasses import replace

from bedplate.shop.tightening.model import Joint, Odd, Run, StageState


def odd_among(same: list[Joint]) -> list[Joint]:
    """Point out the odd bolts among all joints of a plan: a rod has too few bolts of its own."""
    runs = [joint.run for joint in same if joint.run is not None]
    if len(runs) < 2:
        return same
    read = [
        [s.torque.si for run in runs for s in run.stages[i].bolts if s.torque is not None]
        for i in range(len(runs[0].stages))
    ]
    return [
        replace(joint, runs=(*joint.runs[:-1], _compared(joint.run, read)))
        if joint.run is not None
        else joint
        for joint in same
    ]


def _compared(run: Run, read: list[list[float]]) -> Run:
    odd = (_apart(state, others) for state, others in zip(run.stages, read, strict=True))
    return replace(run, odd=tuple(one for stage in odd for one in stage))


def odd_bolts(state: StageState) -> list[Odd]:
    """Return the bolts of a stage whose torque at its end stands apart from the group's.

    Apart is more than three robust standard deviations (1.4826 × the median of distances from the
    median) and more than a tenth of the median; four bolts at least are needed. A rule of ours,
    common practice, no source: it points, it does not judge.
    """
    return _apart(state, [step.torque.si for step in state.bolts if step.torque is not None])


def _apart(state: StageState, among: list[float]) -> list[Odd]:
    """Return the bolts of a stage whose torque stands apart among others.

    :param among: torques at the end of the same stage, N·m, those of `state` too
    """
    if len(among) < 4:
        return []
    middle = _median(among)
    spread = 1.4826 * _median([abs(torque - middle) for torque in among])
    least = max(3 * spread, 0.1 * abs(middle))
    return [
        Odd(state.stage.number, state.stage.group, step.bolt, step.torque.si, middle)
        for step in state.bolts
        if step.torque is not None and abs(step.torque.si - middle) > least
    ]


def _median(values: list[float]) -> float:
    ordered, half = sorted(values), len(values) // 2
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2
