"""The reasoning that joins engine file and record: state, plan, open questions."""

from bedplate.shop.model import (
    FeatureState,
    FitState,
    GaugeState,
    PlanGroup,
    PlanStep,
    Question,
    QuestionKind,
    ReadingState,
    State,
)

__all__ = [
    "FeatureState",
    "FitState",
    "GaugeState",
    "PlanGroup",
    "PlanStep",
    "Question",
    "QuestionKind",
    "ReadingState",
    "State",
]
