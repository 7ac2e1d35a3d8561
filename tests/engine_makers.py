"""Engine files for tests, as short as the reader allows."""

from math import degrees

from bedplate.engine import Engine, examples, read_engine
from bedplate.errors import EngineFileError, Fault

RIGHT_FIRST = 'numbering = "zig-zag from the free end, right bank first"'
LEFT_FIRST = 'numbering = "zig-zag from the free end, left bank first"'


def engine_text(layout="in-line 4", firing="1-3-4-2", more="", tail="", mains=2, rotation=None):
    """Return an engine file with a layout and nothing to measure; `more` goes into [engine]."""
    return f"""schema = 1
[engine]
name = "test engine (invented)"
layout = "{layout}"
firing = "{firing}"
rotation = "{rotation or "clockwise seen from the free end"}"
{more}
[geometry]
bore = "86 mm"
stroke = "86 mm"
rod = "140 mm"
[mains]
count = {mains}
caps = "single caps, 2 bolts"
{tail}
"""


def an_engine(*args, **kwargs) -> Engine:
    return read_engine(engine_text(*args, **kwargs), "test.toml")


def faults_of(text) -> tuple[Fault, ...]:
    """Return the faults of a text that must have some."""
    try:
        read_engine(text, "test.toml")
    except EngineFileError as error:
        return error.faults
    raise AssertionError("no fault was found")


def fault_at(text, key) -> Fault:
    """Return the one fault at a key."""
    found = [fault for fault in faults_of(text) if fault.key == key]
    assert len(found) == 1, [str(fault) for fault in faults_of(text)]
    return found[0]


def dead_centres(engine) -> list[int]:
    """Return the dead centres in whole degrees, in order of label."""
    return [round(degrees(cylinder.dead_centre)) % 360 for cylinder in engine.layout.cylinders]


def six(*changes) -> str:
    """Return the straight six with texts replaced, each of which must be there."""
    text = examples()["straight-six"]
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text
