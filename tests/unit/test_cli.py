"""The terminal: each command does its use case, answers, and fails in one sentence."""

import json
import os
import re
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bedplate.cli import main
from bedplate.engine import examples

BY = ("--by", "the apprentice (invented)")
JOURNAL = ("main-journal-1", "0-deg-front-end")
MICROMETER = (
    *("mic", "--kind", "outside micrometer", "--resolution", "0.001 mm", "--uncertainty", "3 µm"),
    *("--repeatability", "1.2 µm", "--reads-in", "mm"),
)
DIAL = (
    *("dial", "--kind", "bore gauge", "--resolution", "0.001 mm", "--uncertainty", "1.5 µm"),
    *("--repeatability", "1.2 µm"),
)


@pytest.fixture
def run(tmp_path, capsys):
    """Run a command on a data folder of its own; return (exit code, output, complaint)."""

    def run(*words, data=tmp_path / "data"):
        try:
            code = main(["--data", str(data), *BY, *words])
        except SystemExit as stop:
            code = stop.code
        said = capsys.readouterr()
        return code, said.out, said.err

    return run


@pytest.fixture
def engine_file(tmp_path):
    path = tmp_path / "six.toml"
    path.write_text(examples()["straight-six"], "utf-8")
    return str(path)


@pytest.fixture
def build(run, engine_file):
    assert run("start", engine_file, "--build", "six")[0] == 0
    assert run("gauge", "six", *MICROMETER)[0] == 0
    return "six"


def entries(run, build="six"):
    return json.loads(run("state", build, "--entries", "--json")[1])


def kinds(run):
    return [row["entry"]["kind"] for row in entries(run)]


# An engine file


def test_check_says_what_a_file_means(run, engine_file):
    code, out, err = run("check", engine_file)
    assert (code, err) == (0, "")
    assert "in-line 6, 7 mains" in out
    assert "No fault found." in out


def test_check_names_every_fault_with_its_line_and_answers_no(run, tmp_path):
    text = examples()["straight-six"]
    lines = text.splitlines()
    bore = next(n for n, line in enumerate(lines) if line.startswith("bore "))
    lines[bore] = 'bore = "84.5"'
    lines.append("[nonsense]")
    path = tmp_path / "bad.toml"
    path.write_text("\n".join(lines), "utf-8")
    code, out, _ = run("check", str(path))
    assert code == 1
    assert f"{path}:{bore + 1}: geometry.bore" in out
    assert "nonsense" in out


def test_a_file_with_faults_starts_nothing(run, tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text("schema = 1\n", "utf-8")
    code, out, err = run("start", str(path))
    assert (code, out) == (3, "")
    assert err.startswith("bedplate: ")
    assert json.loads(run("state", "--json")[1]) == []


def test_a_file_that_is_not_text_is_refused_in_words(run, tmp_path):
    path = tmp_path / "picture.toml"
    path.write_bytes(b"\x89PNG\xff")
    code, _, err = run("check", str(path))
    assert code == 3
    assert "is not UTF-8 text" in err


def test_example_lists_files_that_check_takes(run, tmp_path):
    names = run("example")[1].split()
    assert "straight-six" in names
    for name in names:
        path = tmp_path / f"{name}.toml"
        path.write_text(run("example", name)[1], "utf-8")
        assert run("check", str(path))[0] == 0
        assert json.loads(run("check", str(path), "--json")[1])["crankpins"]
    assert json.loads(run("example", "--schema")[1])["title"]
    assert run("example", "nothing-such")[0] == 4


# What happens at the bench


def test_a_reading_answers_with_echo_and_verdict(run, build):
    code, out, _ = run("read", build, *JOURNAL, "59.991 mm", "--gauge", "mic")
    assert code == 0
    assert "59.991 mm" in out
    assert "2.3619 in" in out
    assert "Main clearance 1" in out


def test_a_reading_as_json_is_the_receipt(run, build):
    code, out, _ = run("read", build, *JOURNAL, "59.991", "--gauge", "mic", "--json")
    receipt = json.loads(out)
    assert code == 0
    assert receipt["size"] == pytest.approx(0.059991, abs=1e-12)
    assert receipt["number"] == 3


@pytest.mark.parametrize("value", ["-0.0005 in", "-.5mm", "-0,012 mm", "−0.5 mm", " -1 thou"])
def test_a_value_may_begin_with_a_minus(run, build, value):
    assert run("gauge", build, *DIAL)[0] == 0
    assert run("set", build, "dial", "60.000 mm", "--on", "mic")[0] == 0
    place = ("main-bearing-bore-1", "crown-front-edge")
    code, out, err = run("read", build, *place, value, "--gauge", "dial", "--json")
    assert (code, err) == (0, "")
    assert json.loads(out)["size"] < 0.060
    assert entries(run)[-1]["entry"]["value"]["text"] == value.strip()


def test_a_value_may_begin_with_a_minus_behind_an_option(run, build):
    assert run("gauge", build, *DIAL)[0] == 0
    words = ("set", build, "dial", "60 mm", "--on", "mic", "--found", "-0.001mm")
    assert run(*words)[0] == 0
    assert entries(run)[-1]["entry"]["found"]["si"] == pytest.approx(-1e-6)


def test_the_same_id_counts_once(run, build):
    words = ("read", build, *JOURNAL, "59.991 mm", "--gauge", "mic", "--id", "a" * 32)
    first, again = run(*words), run(*words)
    assert (first[0], again[0]) == (0, 0)
    assert "had been taken before" in again[1]
    assert kinds(run).count("reading") == 1


def test_readings_from_a_file_are_taken_whole(run, build, tmp_path):
    path = tmp_path / "readings.csv"
    path.write_text(
        "feature,station,value,gauge\n"
        "main-journal-1,0-deg-front-end,59.991 mm,mic\n"
        "main-journal-1,90-deg-front-end,59.990 mm,mic\n",
        "utf-8",
    )
    code, out, _ = run("read", build, "--from", str(path))
    assert code == 0
    assert "2 readings taken" in out
    assert kinds(run).count("reading") == 2


def test_readings_from_a_file_with_a_fault_are_not_taken(run, build, tmp_path):
    path = tmp_path / "readings.csv"
    path.write_text(
        "feature,station,value,gauge\n"
        "main-journal-1,0-deg-front-end,59.991 mm,mic\n"
        "main-journal-1,90-deg-front-end,sixty,mic\n"
        "main-journal-99,90-deg-front-end,59.990 mm,mic\n",
        "utf-8",
    )
    code, _, err = run("read", build, "--from", str(path))
    assert code == 3
    assert f"{path}:3" in err
    assert f"{path}:4" in err
    assert kinds(run).count("reading") == 0


@pytest.mark.parametrize("left", range(4))
def test_a_reading_without_all_its_parts_says_which_is_missing(run, build, left):
    words = ["read", build, *JOURNAL, "59.991 mm"][: 2 + left]
    code, _, err = run(*words)
    assert code == 3
    assert ("feature", "station", "value", "gauge")[left] in err


def test_what_people_say_goes_into_the_record_under_their_name(run, build, tmp_path):
    picture = tmp_path / "crank.png"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n" + b"\0" * 32)
    assert run("read", build, *JOURNAL, "59.491 mm", "--gauge", "mic")[0] == 0
    changed = tmp_path / "changed.toml"
    changed.write_text((tmp_path / "six.toml").read_text() + "# checked\n")
    did = [
        ("withdraw", build, "3", "--reason", "one thimble turn out"),
        ("rework", build, "crank", "main-journal-1", "--operation", "polished"),
        ("accept", build, "main-clearance-1", "--reason", "for practice only"),
        ("part", build, "crank", "marked 1 (invented)", "--marks", "1"),
        ("note", build, "oil holes dressed", "--about", "crank"),
        ("picture", build, str(picture), "--about", "crank", "--caption", "as received"),
        ("step", build, "galleries brushed"),
        ("sign", build, "builder", "measured by me"),
        ("revise", build, str(changed), "--reason", "a remark, for practice"),
    ]
    for words in did:
        code, out, err = run(*words)
        assert (code, err) == (0, ""), words
        assert "Entry " in out
    assert kinds(run)[3:] == [
        "withdrawn",
        "reworked",
        "accepted by decision",
        "part received",
        "note",
        "picture",
        "step done",
        "signed",
        "engine revised",
    ]
    assert {row["entry"]["by"] for row in entries(run)} == {BY[1]}


def test_who_says_so_is_the_login_name_if_nobody_is_named(
    tmp_path, engine_file, monkeypatch, capsys
):
    monkeypatch.setenv("LOGNAME", "someone")
    data = ["--data", str(tmp_path / "data")]
    assert main([*data, "start", engine_file, "--build", "six"]) == 0
    capsys.readouterr()
    assert main([*data, "state", "six", "--entries", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)[0]["entry"]["by"] == "someone"


# What is shown


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    assert main(["--data", str(folder), "demo", "--no-serve"]) == 0
    return folder


def test_state_shows_every_fit_with_its_mark_and_the_tally(run, demo):
    code, out, _ = run("state", "demo-six", data=demo)
    assert code == 0
    state = json.loads(run("state", "demo-six", "--json", data=demo)[1])
    for fit in state["fits"]:
        assert fit["name"] in out
    assert " │ ● │ " in out
    tally = state["tally"]
    assert f"{tally['inside']} inside" in out
    assert f"{len(state['questions'])} open question" in out
    assert "\x1b" not in out


def test_state_shows_one_fit_with_its_budget(run, demo):
    code, out, _ = run("state", "demo-six", "main-clearance-3", data=demo)
    assert code == 0
    assert "main bearing bore − main journal" in out
    assert "calibration of bore-gauge" in out
    assert "calibration of outside-micrometer" not in out, "it cancels: the gauge was set in it"
    rows = json.loads(run("state", "demo-six", "main-clearance-3", "--json", data=demo)[1])
    assert rows["fits"][0]["id"] == "main-clearance-3"


def test_state_shows_one_feature_with_its_readings(run, demo):
    code, out, _ = run("state", "demo-six", "main-journal-6", data=demo)
    assert code == 0
    assert "withdrawn" in out
    assert "0 deg, front end" in out


def test_state_suggests_what_was_meant(run, demo):
    code, out, err = run("state", "demo-six", "main-clearence-3", data=demo)
    assert (code, out) == (4, "")
    assert "main-clearance-3" in err


def test_state_in_inches(run, demo):
    _, out, _ = run("--units", "inch", "state", "demo-six", "main-journal-1", data=demo)
    assert " in = " in out


def test_next_says_what_and_what_for(run, demo):
    code, out, _ = run("next", "demo-six", data=demo)
    ahead = json.loads(run("next", "demo-six", "--json", data=demo)[1])
    first = ahead["next"][0]
    assert code == 0
    assert "it would decide:" in out
    assert first["decides"]
    assert f"bedplate read demo-six {first['step']['feature']} {first['step']['station']}" in out


def test_next_of_an_unmeasured_build_names_what_else_a_fit_waits_for(run, build):
    _, out, _ = run("next", build)
    assert "once " in out
    assert "measured too" in out


@pytest.mark.parametrize(
    "words",
    [
        ("state",),
        ("state", "demo-six"),
        ("state", "demo-six", "--open"),
        ("state", "demo-six", "--entries"),
        ("next", "demo-six"),
        ("gauge", "demo-six"),
        ("verify", "demo-six"),
        ("doctor",),
        ("doctor", "--verify"),
        ("example",),
    ],
    ids=" ".join,
)
def test_what_shows_something_shows_it_as_json_too(run, demo, words):
    plain = run(*words, data=demo)
    code, out, err = run(*words, "--json", data=demo)
    assert (plain[0], code, err) == (0, 0, "")
    assert plain[1].strip()
    assert json.loads(out) is not None


def test_gauges_are_listed_with_their_setting(run, demo):
    _, out, _ = run("gauge", "demo-six", data=demo)
    for gauge in json.loads(run("gauge", "demo-six", "--json", data=demo)[1]):
        assert gauge["gauge"] in out
        assert gauge["expanded_uncertainty"]["text"] in out
        assert gauge["setting"] is None or gauge["setting"]["size"]["text"] in out


def test_doctor_reads_the_settings_back(run, demo):
    _, out, _ = run("doctor", "--verify", "--json", data=demo)
    told = json.loads(out)
    assert told["well"] is True
    assert told["facts"]["journal_mode"] == "wal"
    assert told["facts"]["synchronous"] == "2"
    assert told["facts"]["data folder"] == str(demo)
    assert told["verified"]["demo-six"]["ok"] is True


# What is kept and handed over


def test_verify_holds_a_record_against_its_checkpoint(run, build):
    head = json.loads(run("state", build, "--json")[1])["checkpoint"]
    grouped = " ".join(head["head"][n : n + 8] for n in range(0, 64, 8))
    printed = f"{head['count']} {grouped}"
    assert run("read", build, *JOURNAL, "59.991 mm", "--gauge", "mic")[0] == 0
    assert run("verify", build, "--checkpoint", printed)[0] == 0
    other = f"{head['count']} {'0' * 64}"
    code, out, _ = run("verify", build, "--checkpoint", other)
    assert code == 1
    assert "rewritten" in out
    longer = f"99 {head['head']}"
    code, out, _ = run("verify", build, "--checkpoint", longer)
    assert code == 1
    assert "cut short" in out
    assert run("verify", build, "--checkpoint", "three")[0] == 3


def test_an_export_comes_back_as_the_same_record(run, build, tmp_path):
    path, other = tmp_path / "six.jsonl", tmp_path / "other"
    assert run("read", build, *JOURNAL, "59.991 mm", "--gauge", "mic")[0] == 0
    assert run("export", build, "--to", str(path))[0] == 0
    assert run("import", str(path), data=other)[0] == 0
    ours, theirs = (run("state", build, "--json", data=d)[1] for d in (tmp_path / "data", other))
    assert ours == theirs
    path.write_bytes(path.read_bytes()[:-40])
    assert run("import", str(path), data=tmp_path / "third")[0] == 3


def test_a_file_that_is_there_is_not_written_over_unasked(run, build, tmp_path):
    path = tmp_path / "six.jsonl"
    path.write_text("mine", "utf-8")
    code, _, err = run("export", build, "--to", str(path))
    assert (code, path.read_text("utf-8")) == (3, "mine")
    assert "--replace" in err
    assert run("export", build, "--to", str(path), "--replace")[0] == 0
    assert path.read_text("utf-8").startswith("{")


@pytest.mark.parametrize("command", ["book", "sheet"])
def test_paper_is_written_as_pdf(run, demo, tmp_path, command):
    path = tmp_path / f"{command}.pdf"
    code, out, _ = run(command, "demo-six", "--to", str(path), data=demo)
    assert code == 0
    assert str(path) in out
    assert path.read_bytes().startswith(b"%PDF-")


def test_a_folder_that_cannot_be_written_is_refused_in_words(run, build, tmp_path):
    code, _, err = run("export", build, "--to", str(tmp_path / "nowhere" / "six.jsonl"))
    assert code == 7
    assert "cannot be written" in err


# The demo


def test_the_demo_starts_fresh_and_can_be_kept(run, tmp_path):
    folder = tmp_path / "demo"
    assert run("demo", "--no-serve", data=folder)[0] == 0
    before = len(json.loads(run("state", "demo-six", "--entries", "--json", data=folder)[1]))
    assert run("note", "demo-six", "mine", data=folder)[0] == 0
    assert run("demo", "--no-serve", "--keep", data=folder)[0] == 0
    kept = json.loads(run("state", "demo-six", "--entries", "--json", data=folder)[1])
    assert len(kept) == before + 1
    assert run("demo", "--no-serve", data=folder)[0] == 0
    fresh = json.loads(run("state", "demo-six", "--entries", "--json", data=folder)[1])
    assert len(fresh) == before


def test_the_demo_empties_no_folder_but_its_own(run, tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "letter.txt").write_text("dear", "utf-8")
    code, _, err = run("demo", "--no-serve", data=folder)
    assert code == 5
    assert "no demo" in err
    assert [p.name for p in folder.iterdir()] == ["letter.txt"]


def test_two_demos_do_not_share_a_folder(run, tmp_path):
    fcntl = pytest.importorskip("fcntl")
    folder = tmp_path / "demo"
    assert run("demo", "--no-serve", data=folder)[0] == 0
    with (folder / "bedplate-demo").open("a") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        code, _, err = run("demo", "--no-serve", data=folder)
    assert code == 5
    assert "running already" in err


# Errors


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("state", "nothing-such"), 4),
        (("read", "six", "main-journal-1", "0-deg-front-end", "59.991", "--gauge", "none"), 4),
        (("read", "six", "main-journal-1", "nowhere", "59.991 mm", "--gauge", "mic"), 4),
        (("read", "six", *JOURNAL, "sixty", "--gauge", "mic"), 3),
        (("read", "six", *JOURNAL, "59.991 kg", "--gauge", "mic"), 3),
        (("set", "six", "mic", "60 mm", "--on", "mic"), 5),
        (("start", "SIX", "--build", "six"), 5),
        (("withdraw", "six", "1", "--reason", ""), 3),
        (("accept", "six", "main-clearance-99", "--reason", "why not"), 4),
        (("nonsense",), 2),
        (("state", "six", "--open", "--entries"), 2),
    ],
    ids=lambda case: " ".join(case) if isinstance(case, tuple) else str(case),
)
def test_each_family_of_errors_has_its_exit_code(run, build, engine_file, words, code):
    before = len(entries(run))
    found, out, err = run(*(engine_file if word == "SIX" else word for word in words))
    assert (found, out) == (code, "")
    assert "Traceback" not in err
    assert len(entries(run)) == before


def test_an_error_as_json_is_the_one_the_page_shows(run):
    code, out, err = run("state", "nothing-such", "--json")
    assert (code, out) == (4, "")
    assert json.loads(err)["error"] == "not-found"


def test_a_data_folder_that_is_a_file_is_refused_in_words(run, tmp_path):
    path = tmp_path / "file"
    path.write_text("", "utf-8")
    code, _, err = run("state", data=path)
    assert code == 7
    assert err.startswith("bedplate: ")


def test_a_database_of_another_program_is_refused_in_words(run, tmp_path):
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "bedplate.sqlite").write_bytes(b"not a database at all" * 400)
    code, _, err = run("state")
    assert code == 6
    assert "Traceback" not in err


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(value=st.text(max_size=30), place=st.sampled_from(["value", "feature", "gauge", "entry"]))
def test_whatever_is_typed_is_taken_or_refused_in_words(run, demo, value, place):
    words = {
        "value": ("read", "demo-six", *JOURNAL, value, "--gauge", "outside-micrometer"),
        "feature": ("read", "demo-six", value, JOURNAL[1], "60 mm", "--gauge", "bore-gauge"),
        "gauge": ("gauge", "demo-six", value or "x", "--kind", value),
        "entry": ("withdraw", "demo-six", value, "--reason", value),
    }[place]
    code, _, err = run(*words, data=demo)
    assert code in {0, 2, 3, 4, 5}
    assert "Traceback" not in err


# A process of its own


def bedplate(*words, **options):
    command = [sys.executable, "-m", "bedplate.cli", *words]
    source = str(Path(__file__).parents[2] / "src")
    environment = {**os.environ, "PYTHONPATH": source, **options.pop("environment", {})}
    return subprocess.run(
        command, capture_output=True, check=False, env=environment, timeout=60, **options
    )


def test_help_names_every_command():
    told = bedplate("--help")
    assert told.returncode == 0
    for name in (
        *("demo", "serve", "check", "start", "gauge", "set", "read", "withdraw", "rework"),
        *("accept", "state", "next", "book", "verify", "export", "import", "doctor"),
    ):
        assert f"\n    {name} " in told.stdout.decode()


def test_output_survives_a_terminal_without_our_characters(demo):
    told = bedplate(
        *("--data", str(demo), "state", "demo-six"), environment={"PYTHONIOENCODING": "ascii"}
    )
    assert (told.returncode, told.stderr) == (0, b"")
    assert b" | o | " in told.stdout


def test_a_reader_that_goes_away_is_no_error(demo):
    script = f"{sys.executable} -m bedplate.cli --data {demo} state demo-six --json | head -c 10"
    told = subprocess.run(
        ["sh", "-c", script],
        capture_output=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2] / "src")},
        timeout=60,
    )
    assert told.stderr == b""


@pytest.mark.parametrize("command", ["serve", "demo"])
def test_the_page_is_served_until_it_is_stopped(tmp_path, command):
    source = str(Path(__file__).parents[2] / "src")
    words = ["--data", str(tmp_path / "data"), command, "--no-browser", "--port", "0"]
    with subprocess.Popen(
        [sys.executable, "-m", "bedplate.cli", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": source},
    ) as server:
        try:
            said = [server.stdout.readline(), server.stdout.readline()]
            address = re.search(r"http://\S+", said[1])[0]
            with urllib.request.urlopen(address, timeout=20) as answer:
                assert answer.status == 200
        finally:
            server.send_signal(signal.SIGINT)
        out, err = server.communicate(timeout=30)
    assert (server.returncode, err) == (0, "")
    assert ("bedplate demo --keep" in out) == (command == "demo")


def test_a_port_that_is_taken_is_refused_in_words(run):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        code, _, err = run("serve", "--no-browser", "--port", port)
    assert code == 5
    assert port in err


def test_a_terminal_gets_a_drawn_table_and_a_pipe_gets_plain_text(run, demo, monkeypatch):
    plain = run("state", "demo-six", data=demo)[1]
    monkeypatch.setattr("bedplate.cli.output.on_terminal", lambda: True)
    monkeypatch.setenv("COLUMNS", "160")
    drawn = run("state", "demo-six", data=demo)[1]
    assert "───" in drawn
    assert "───" not in plain
    assert "Main clearance 1" in drawn
