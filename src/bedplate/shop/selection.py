"""Which part goes where: half shells to bearings, parts to sets, always with a proof or a gap."""

from bedplate.shop.selection_codes import (
    CodedNeed,
    CodeFamily,
    IndependentHalves,
    Matrix,
    SumOfCodes,
    bearing_from_codes,
    coded_needs,
    read_codes,
)
from bedplate.shop.selection_model import (
    Bearing,
    Estimate,
    Goal,
    Grade,
    HalfShell,
    Piece,
    Placed,
    Proof,
    Purchase,
    ShellRules,
    ShellSelection,
)
from bedplate.shop.selection_set_model import (
    Kind,
    MatchedFit,
    MatchedSet,
    SetFit,
    SetSelection,
    clearances,
)
from bedplate.shop.selection_sets import select_sets
from bedplate.shop.selection_shells import (
    JudgedPlacement,
    judge_placement,
    select_shells,
    shells_to_buy,
)

__all__ = [
    "Bearing",
    "CodeFamily",
    "CodedNeed",
    "Estimate",
    "Goal",
    "Grade",
    "HalfShell",
    "IndependentHalves",
    "JudgedPlacement",
    "Kind",
    "MatchedFit",
    "MatchedSet",
    "Matrix",
    "Piece",
    "Placed",
    "Proof",
    "Purchase",
    "SetFit",
    "SetSelection",
    "ShellRules",
    "ShellSelection",
    "SumOfCodes",
    "bearing_from_codes",
    "clearances",
    "coded_needs",
    "judge_placement",
    "read_codes",
    "select_sets",
    "select_shells",
    "shells_to_buy",
]
