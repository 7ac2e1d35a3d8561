"""Whatever stands in an engine file, it is an engine or it is faults; nothing else gets out."""

import re
import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bedplate.engine import examples, read_engine, read_engine_bytes
from bedplate.engine.lines import find_lines, line_of
from bedplate.errors import EngineFileError

TEXTS = list(examples().values())
VALUES = st.one_of(
    st.integers(-(10**12), 10**12).map(str),
    st.floats().map(lambda x: f"{x!r}"),
    st.sampled_from(["true", "[]", "{}", "[1, 'a']", "{ a = 1 }", "1979-05-27", "[[]]", "''"]),
    st.text(max_size=12).map(lambda text: f"'{text}'"),
    st.sampled_from(
        ["'0.01 mm'", "'9e99 mm'", "'-1 in'", "'V99, 1 deg'", "'split 1 deg'", "'DIN 73021'",
         "'0-0-0 deg'", "{ A1 = 1 }", "'the thrust main'", "'either'", "['crown', 'x']", "[16]"]
    ),
)  # fmt: skip
QUICK = settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow], database=None
)


def engine_or_faults(text):
    """Read a text; return its faults, none if it is an engine."""
    faults = ()
    try:
        engine = read_engine(text, "mutant.toml")
    except EngineFileError as error:
        faults = error.faults
    else:
        assert engine.layout.cylinders
        return ()
    assert faults
    assert all(fault.wrong for fault in faults)
    assert all(0 <= fault.line <= text.count("\n") + 1 for fault in faults)
    return faults


@st.composite
def changed_values(draw):
    """Return a shipped file with some of its values replaced."""
    lines = draw(st.sampled_from(TEXTS)).split("\n")
    rows = [n for n, line in enumerate(lines) if re.match(r"[\w]+ *=", line)]
    for row in draw(st.lists(st.sampled_from(rows), min_size=1, max_size=4)):
        lines[row] = f"{lines[row].split('=')[0]} = {draw(VALUES)}"
    return "\n".join(lines)


@st.composite
def cut_and_pasted(draw):
    """Return a shipped file with lines left out, doubled or moved, and characters struck."""
    lines = draw(st.sampled_from(TEXTS)).split("\n")
    for _ in range(draw(st.integers(1, 4))):
        row, other = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
        move = draw(st.sampled_from(["drop", "double", "move", "strike"]))
        line = lines[row]
        if move == "drop":
            del lines[row]
        elif move == "double":
            lines.insert(other, line)
        elif move == "move":
            lines.insert(other, lines.pop(row))
        else:
            at = draw(st.integers(0, len(line)))
            lines[row] = line[:at] + draw(st.characters()) + line[at + 1 :]
    return "\n".join(lines)


@QUICK
@given(changed_values())
def test_other_values_give_an_engine_or_faults(text):
    engine_or_faults(text)


@QUICK
@given(cut_and_pasted())
def test_cut_and_pasted_lines_give_an_engine_or_faults(text):
    engine_or_faults(text)


@QUICK
@given(st.text(max_size=200))
def test_any_text_gives_an_engine_or_faults(text):
    engine_or_faults(text)


@QUICK
@given(st.binary(max_size=200))
def test_no_few_bytes_are_an_engine(data):
    with pytest.raises(EngineFileError) as caught:
        read_engine_bytes(data)
    assert caught.value.faults


KEYS = st.text("abc-_1", min_size=1, max_size=3)
SCALARS = st.one_of(
    st.integers(-5, 5).map(str),
    st.sampled_from(['"x # ["', "'{'", '"""a\nb"""', "'''\n[t]\nk = 1'''", '"\\""', '""']),
)
LISTS = st.lists(SCALARS, max_size=3).map(lambda items: "[\n " + ",\n ".join(items) + "]")


@st.composite
def small_toml(draw):
    """Return TOML text with the line on which each of its keys was written."""
    lines, keys, number = [], {}, 1
    for table in draw(st.lists(KEYS, unique=True, max_size=4)):
        lines.append(f"[{table}] # [x]")
        keys[(table,)] = number
        number += 1
        for key in draw(st.lists(KEYS, unique=True, max_size=4)):
            value = draw(st.one_of(SCALARS, LISTS))
            lines.append(f"{key} = {value}")
            keys[table, key] = number
            number += 1 + value.count("\n")
    return "\n".join(lines), keys


@QUICK
@given(small_toml())
def test_every_key_is_found_on_its_line(made):
    text, keys = made
    tomllib.loads(text)
    found = find_lines(text)
    assert {path: line_of(found, path) for path in keys} == keys
