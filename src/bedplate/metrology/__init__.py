"""Readings to sizes with uncertainty, and sizes to verdicts."""

from bedplate.metrology.bench import Bench
from bedplate.metrology.doubts import doubts, reduction_doubt, scatter_doubt, setting_doubts
from bedplate.metrology.results import (
    Contribution,
    Doubt,
    Judgement,
    Size,
    StationValue,
    Verdict,
)
from bedplate.metrology.size import (
    Ellipse,
    eccentricity,
    select,
    size_of,
    two_point_ellipse,
)
from bedplate.metrology.sources import (
    Source,
    budget,
    combine,
    mean,
    repeatable_variance,
    standard_uncertainty,
)
from bedplate.metrology.verdict import conformance_probability, judge, not_measured

__all__ = [
    "Bench",
    "Contribution",
    "Doubt",
    "Ellipse",
    "Judgement",
    "Size",
    "Source",
    "StationValue",
    "Verdict",
    "budget",
    "combine",
    "conformance_probability",
    "doubts",
    "eccentricity",
    "judge",
    "mean",
    "not_measured",
    "reduction_doubt",
    "repeatable_variance",
    "scatter_doubt",
    "select",
    "setting_doubts",
    "size_of",
    "standard_uncertainty",
    "two_point_ellipse",
]
