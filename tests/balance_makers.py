"""Builds of the shipped engines for tests of balance; every value is invented."""

from pathlib import Path

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
        "on_crank": ["damper", "timing gear"], **said,
    }  # fmt: skip
    workshop.take_balance_card("b", "invented shop", given.pop("residual", LEFT), by="t", **given)


def say(workshop: Workshop, part: str, standing: str, **more) -> None:
    workshop.turning_part("b", part, standing, by="t", **more)
