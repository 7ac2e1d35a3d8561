"""Which pitches a standard thread may have.

Metric: ISO 261, general plan, all three choices from 1.6 to 39 mm. Unified: ASME B1.1, the
coarse, fine and extra-fine series from No. 4 to 1½ in, and 1-14, its special that is sold as fine.
"""

from __future__ import annotations

METRIC_PITCHES: dict[float, tuple[float | None, tuple[float, ...]]] = {
    1.6: (0.35, (0.2,)),
    1.8: (0.35, (0.2,)),
    2: (0.4, (0.25,)),
    2.2: (0.45, (0.25,)),
    2.5: (0.45, (0.35,)),
    3: (0.5, (0.35,)),
    3.5: (0.6, (0.35,)),
    4: (0.7, (0.5,)),
    4.5: (0.75, (0.5,)),
    5: (0.8, (0.5,)),
    5.5: (None, (0.5,)),
    6: (1, (0.75,)),
    7: (1, (0.75,)),
    8: (1.25, (1, 0.75)),
    9: (1.25, (1, 0.75)),
    10: (1.5, (1.25, 1, 0.75)),
    11: (1.5, (1, 0.75)),
    12: (1.75, (1.5, 1.25, 1)),
    14: (2, (1.5, 1.25, 1)),
    15: (None, (1.5, 1)),
    16: (2, (1.5, 1)),
    17: (None, (1.5, 1)),
    18: (2.5, (2, 1.5, 1)),
    20: (2.5, (2, 1.5, 1)),
    22: (2.5, (2, 1.5, 1)),
    24: (3, (2, 1.5, 1)),
    25: (None, (2, 1.5, 1)),
    26: (None, (1.5,)),
    27: (3, (2, 1.5, 1)),
    28: (None, (2, 1.5, 1)),
    30: (3.5, (3, 2, 1.5, 1)),
    32: (None, (2, 1.5)),
    33: (3.5, (3, 2, 1.5)),
    35: (None, (1.5,)),
    36: (4, (3, 2, 1.5)),
    38: (None, (1.5,)),
    39: (4, (3, 2, 1.5)),
}
"""Diameter in mm: its coarse pitch if it has one, its fine pitches, mm."""

GAUGE_INCHES = {
    "4": 0.112,
    "5": 0.125,
    "6": 0.138,
    "8": 0.164,
    "10": 0.190,
    "12": 0.216,
}
"""Major diameter of a number size, in: 0.060 + 0.013 times the number."""

UNIFIED_SERIES = {
    "#4": {"UNC": 40, "UNF": 48},
    "#5": {"UNC": 40, "UNF": 44},
    "#6": {"UNC": 32, "UNF": 40},
    "#8": {"UNC": 32, "UNF": 36},
    "#10": {"UNC": 24, "UNF": 32},
    "#12": {"UNC": 24, "UNF": 28, "UNEF": 32},
    "1/4": {"UNC": 20, "UNF": 28, "UNEF": 32},
    "5/16": {"UNC": 18, "UNF": 24, "UNEF": 32},
    "3/8": {"UNC": 16, "UNF": 24, "UNEF": 32},
    "7/16": {"UNC": 14, "UNF": 20, "UNEF": 28},
    "1/2": {"UNC": 13, "UNF": 20, "UNEF": 28},
    "9/16": {"UNC": 12, "UNF": 18, "UNEF": 24},
    "5/8": {"UNC": 11, "UNF": 18, "UNEF": 24},
    "11/16": {"UNEF": 24},
    "3/4": {"UNC": 10, "UNF": 16, "UNEF": 20},
    "13/16": {"UNEF": 20},
    "7/8": {"UNC": 9, "UNF": 14, "UNEF": 20},
    "15/16": {"UNEF": 20},
    "1": {"UNC": 8, "UNF": 12, "UNS": 14, "UNEF": 20},
    "1 1/16": {"UNEF": 18},
    "1 1/8": {"UNC": 7, "UNF": 12, "UNEF": 18},
    "1 3/16": {"UNEF": 18},
    "1 1/4": {"UNC": 7, "UNF": 12, "UNEF": 18},
    "1 5/16": {"UNEF": 18},
    "1 3/8": {"UNC": 6, "UNF": 12, "UNEF": 18},
    "1 7/16": {"UNEF": 18},
    "1 1/2": {"UNC": 6, "UNF": 12, "UNEF": 18},
}
"""Size: threads per inch of each series that it has."""
