"""The JSON Schema that editors use says what the reader reads, key by key."""

import tomllib

import jsonschema
import pytest
from tests.engine_makers import engine_text, faults_of

from bedplate.engine import FIT_KINDS, CapStyle, Gate, Per, Shape, examples, read_engine, schema

VALIDATOR = jsonschema.Draft202012Validator


def tables():
    """Return each table of the schema with its properties, by the path a person would write."""
    rules = schema()["properties"]
    found = {name: rule for name, rule in rules.items() if rule.get("type") == "object"}
    arrays = {name: rule["items"] for name, rule in rules.items() if rule.get("type") == "array"}
    return found | arrays


def test_the_schema_is_a_schema():
    VALIDATOR.check_schema(schema())


@pytest.mark.parametrize("name", list(examples()))
def test_the_shipped_files_are_valid(name):
    VALIDATOR(schema()).validate(tomllib.loads(examples()[name]))


def test_every_key_has_a_description():
    for table, rule in tables().items():
        assert rule["description"], table
        for key, its_rule in rule["properties"].items():
            assert len(its_rule.get("description", "")) > 5, f"{table}.{key}"
    for key, rule in schema()["properties"].items():
        assert rule["description"], key


def test_every_key_of_the_schema_is_used_by_a_shipped_file_or_known_here():
    """A key that no shipped file shows must be one of these, so that none goes unnoticed."""
    shown = set()
    for text in examples().values():
        for name, value in tomllib.loads(text).items():
            for table in value if isinstance(value, list) else [value]:
                if isinstance(table, dict):
                    shown |= {f"{name}.{key}" for key in table}
    every = {f"{name}.{key}" for name, rule in tables().items() for key in rule["properties"]}
    assert shown <= every
    assert every - shown == {
        "balance.factor", "balance.factor_source", "chamber.dome",
        "counterweight.angle", "counterweight.at", "counterweight.source",
        "counterweight.unbalance", "crank.mains_at", "engine.fuel", "engine.intervals",
        "engine.note", "engine.previous", "feature.depth", "feature.only", "feature.target",
        "fit.axis", "mains.feed_hole", "mains.oversize", "mains.undersize", "oil.grade",
        "rods.groove", "rods.groove_width", "rods.oversize", "stations.at", "stations.gauge",
        "trace.cylinder", "trace.firing", "trace.pegged_to", "trace.points", "trace.source",
        "trace.speed",
    }  # fmt: skip


def test_the_reader_refuses_what_the_schema_does_not_have():
    for name, rule in tables().items():
        assert rule["additionalProperties"] is False, name
        assert "surprise" not in rule["properties"]
    for table in ("engine", "geometry", "mains"):
        text = engine_text().replace(f"[{table}]\n", f"[{table}]\nsurprise = 1\n")
        assert [f.key for f in faults_of(text)] == [f"{table}.surprise"]


def test_the_reader_takes_the_rest_of_the_keys():
    more = 'fuel = "98 RON"\nnote = "x"\nprevious = "last-year"'
    tail = """undersize = "0.25 mm"
oversize = "0.1 mm"
[rods]
oversize = "0.05 mm"
[[stations]]
feature = "cylinder bore"
at = ["top", "bottom"]
gauge = "three-point bore gauge"
[[feature]]
name = "step"
part = "block"
per = "main"
shape = "height"
limits = "at least 1 mm"
nominal = "1.2 mm"
target = "1.2 mm"
only = [1]
source = "x"
"""
    engine = read_engine(engine_text(more=more, tail=tail))
    assert engine.previous == "last-year"
    assert engine.features["cylinder-bore-1"].gauge == "three-point bore gauge"
    assert engine.features["step-1"].nominal == pytest.approx(1.2e-3)
    assert "step-2" not in engine.features
    assert ("main undersize", "0.25 mm") in engine.facts


def test_closed_words_are_the_words_of_the_code():
    rules = schema()["properties"]
    assert rules["mains"]["properties"]["caps"]["enum"] == [style.value for style in CapStyle]
    feature = rules["feature"]["items"]["properties"]
    assert feature["per"]["enum"] == [per.value for per in Per]
    assert feature["shape"]["enum"] == [shape.value for shape in Shape]
    assert feature["gate"]["enum"] == [gate.value for gate in Gate]
    assert rules["fit"]["items"]["properties"]["kind"]["enum"] == list(FIT_KINDS)


def test_a_copy_of_the_schema_may_be_changed():
    schema()["properties"].clear()
    assert schema()["properties"]


@pytest.mark.parametrize(
    "change",
    [
        ('layout = "in-line 4"', "layout = 4"),
        ("count = 2", 'count = "2"'),
        ("schema = 1", "schema = 2"),
        ('caps = "single caps, 2 bolts"', 'caps = "none"'),
        ('bore = "86 mm"\n', ""),
    ],
)
def test_what_the_schema_refuses_the_reader_refuses(change):
    text = engine_text().replace(*change)
    assert text != engine_text()
    assert not VALIDATOR(schema()).is_valid(tomllib.loads(text))
    assert faults_of(text)
