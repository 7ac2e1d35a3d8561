"""Builds of the shipped engines for tests of balance; every value is invented."""

from pathlib import Path

from tests.engine_makers import LEFT_FIRST, engine_text

from bedplate.engine import examples
from bedplate.workshop import Workshop

LINES = [
    "big end 2 x 446 g", "shells 2 x 44 g", "oil 4 g", "small end 1 x 184 g", "piston 1 x 492 g",
    "pin 1 x 132 g", "locks 1 x 4 g", "rings 1 x 42 g",
]  # fmt: skip
LEFT = ["front 120 g·mm @ 40 deg", "rear 90 g·mm @ 200 deg"]


def a_workshop(folder: Path, engine: str = "v8") -> Workshop:
    workshop = Workshop.open(folder)
    workshop.start(examples()[engine], by="a tester", file=engine, build="b")
    return workshop


def take_card(workshop: Workshop, **said) -> None:
    """Take in a sound card of the V8."""
    given = {
        "lines": LINES, "bob_weight": "1838 g", "mass": "25.2 kg", "grade": "G 16",
        "on_crank": ["damper: D-7", "timing gear: T-1"], **said,
    }  # fmt: skip
    workshop.take_balance_card("b", "invented shop", given.pop("residual", LEFT), by="t", **given)


def say(workshop: Workshop, part: str, standing: str, **more) -> None:
    workshop.turning_part("b", part, standing, by="t", **more)


WEIGHTS = """speed = "7000 rpm"
invented = true
[weights]
piston    = "412 g"
pin       = "118 g"
locks     = "3 g"
rings     = "38 g"
small_end = "168 g"
big_end   = "432 g"
shells    = "46 g"
source    = "invented weights"
[crank]
pitch       = "100 mm"
rod_spacing = "24 mm"
source      = "invented drawing"
[balance]
way        = "internal"
oil        = "4 g"
scale      = "0.2 g"
grade      = 16
crank_mass = "20 kg"
source     = "invented sheet"
"""
SPLIT = f'pins = "split 30 deg"\n{LEFT_FIRST}'
SHAFT = "".join(
    f"""[[balance_shaft]]
name = "first-order shaft, {end} weight"
ratio = -1
unbalance = "7.12 kg·mm"
angle = "{angle} deg"
at = "{at} mm"
source = "invented drawing"
"""
    for end, angle, at in (("front", 345, 0), ("rear", 165, 200))
)


def layout_text(layout: str, firing: str, more: str, mains: int, tail: str = "") -> str:
    """Return an engine file, invented, with all that balance asks for."""
    head, _, rest = WEIGHTS.partition("[weights]")
    return engine_text(
        layout=layout, firing=firing, more=f"{more}\n{head}", mains=mains,
        tail=f"[weights]{rest}{tail}",
    )  # fmt: skip


LAYOUTS = {
    "in-line three": layout_text("in-line 3", "1-3-2", "", 4),
    "60° V6, own pins": layout_text("V6, 60 deg", "1-2-3-4-5-6", f'pins = "own"\n{LEFT_FIRST}', 4),
    "60° V6, split by 60°": layout_text(
        "V6, 60 deg", "1-2-3-4-5-6", f'pins = "split 60 deg"\n{LEFT_FIRST}', 4
    ),
    "90° V6, split by 30°": layout_text("V6, 90 deg", "1-2-3-4-5-6", SPLIT, 4),
    "90° V6, balance shaft": layout_text("V6, 90 deg", "1-2-3-4-5-6", SPLIT, 4, SHAFT),
    "60° V12": layout_text("V12, 60 deg", "1-7-5-11-3-9-6-12-2-8-4-10", "", 7),
    "45° V16": layout_text("V16, 45 deg", "1-9-4-12-2-10-3-11-8-16-5-13-7-15-6-14", "", 9),
}
"""Engine files that no example ships; every figure is invented."""
