"""The duty check in the terminal: of an engine file alone, and of a build."""

import json

import pytest
from tests.documents_makers import BUILD, measured

from bedplate.cli import main
from bedplate.engine import examples


@pytest.fixture(scope="module")
def data(tmp_path_factory):
    folder = tmp_path_factory.mktemp("duty")
    measured(folder).close()
    return folder


@pytest.fixture
def v8(tmp_path):
    path = tmp_path / "v8.toml"
    path.write_text(examples()["v8"], "utf-8")
    return str(path)


def said(capsys, *words, code=0):
    assert main(list(words)) == code
    return capsys.readouterr().out


def test_duty_of_an_engine_file_needs_no_build(capsys, v8, tmp_path):
    out = said(capsys, "--data", str(tmp_path / "none"), "duty", v8, "--speed", "7000 rpm")
    assert "nominal sizes, nothing measured" in out
    assert "Least film of all: Rod" in out
    assert "never a release" in out
    assert "- The rating of piston acceleration: nobody gave one." in out
    assert not (tmp_path / "none").exists()


def test_duty_of_a_build_takes_what_was_measured(capsys, data):
    out = said(capsys, "--data", str(data), "duty", BUILD, "--speed", "6000 rpm", "--sources")
    assert "as measured" in out
    assert "measured, Rod clearance 1" in out
    assert "span method, statically determinate" in out


def test_every_figure_of_the_json_has_its_source(capsys, v8):
    found = json.loads(said(capsys, "duty", v8, "--speed", "7000 rpm", "--json"))
    assert found["least"]["bearing"].startswith("rod-")
    assert all(one["source"] for one in found["sources"])
    assert found["rows"][0]["items"][0]["standing"] == "unknown: no rating"


def test_volumes_show_each_term(capsys, v8):
    out = said(capsys, "volumes", v8)
    assert "Lowest 10.346 in cylinder 4" in out
    assert "A thousandth of an inch" in out
    found = json.loads(said(capsys, "volumes", v8, "--json"))
    assert len(found["cylinders"]) == 8


def test_film_of_one_bearing_with_oils_and_temperatures(capsys, v8, tmp_path):
    out = said(
        capsys, "--data", str(tmp_path), "film", v8, "main-4", "--speed", "7000 rpm",
        "--against-clearance", "--against-oil", "--against-temperature",
    )  # fmt: skip
    assert "Within 10 % of its best" in out
    rows = [line.split() for line in out.splitlines()]
    oils = {row[0]: float(row[1]) for row in rows if row and row[0] in {"0W-16", "20W-50"}}
    assert oils["0W-16"] < oils["20W-50"]


def test_other_oils_are_tried_with_the_same_clearance(capsys, v8, tmp_path):
    out = said(capsys, "--data", str(tmp_path), "film", v8, "rod-1", "--speed", "6000 rpm",
               "--oil", "20W-50", "--wider", "0.01 mm", "--against-oil")  # fmt: skip
    rows = [line.split() for line in out.splitlines() if line.strip()]
    own = next(row for row in rows if row[:2] == ["6000", "rpm"])
    other = next(row for row in rows if row[0] == "20W-50")
    assert own[2] == other[1]


def test_temperatures_are_in_the_builders_units(capsys, v8, tmp_path):
    words = ("--data", str(tmp_path), "film", v8, "rod-1", "--speed", "6000 rpm", "--against-oil",
             "--against-temperature")  # fmt: skip
    inch = said(capsys, *words)
    assert "°F" in inch
    assert "°C" not in inch
    assert "MPa" not in inch
    assert "°F" not in said(capsys, *words, "--units", "metric")


def test_a_change_is_told_from_what_is(capsys, v8):
    def least(*more):
        out = said(capsys, "duty", v8, "--speed", "7000 rpm", "--json", *more)
        return json.loads(out)["least"]["least_film"]

    assert least("--oil", "0W-20") < least()
    assert least("--wider", "0.01 mm") < least() < least("--wider", "-0.01 mm")


def test_a_trace_with_a_gap_is_refused(capsys, v8, tmp_path):
    rows = [f"{angle},{1 + 60 * max(0, 1 - abs(angle) / 90)}" for angle in range(-360, 360, 2)]
    trace = tmp_path / "trace.csv"
    trace.write_text("\n".join(["angle deg,pressure bar", *rows[:100], *rows[140:]]), "utf-8")
    assert main(["duty", v8, "--trace", str(trace)]) == 3
    assert "gap" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "code", "sentence"),
    [
        (["film", "V8", "main-9"], 4, "no bearing 'main-9'"),
        (["film", "V8", "--cases", "-1"], 3, "give 1 to 1000000"),
        (["duty", "V8", "--speed", "6000"], 3, "has no unit"),
        (["duty", "V8", "--speed", "-100 rpm"], 3, "is no speed of an engine"),
        (["film", "V8", "--speed", "90000 rpm"], 3, "is no speed of an engine"),
        (["duty", "V8", "--wider", "1 kg"], 3, "length"),
    ],
)
def test_what_cannot_be_is_one_sentence(capsys, v8, words, code, sentence):
    given = [v8 if word == "V8" else word for word in words]
    assert main(given) == code
    assert sentence in capsys.readouterr().err
