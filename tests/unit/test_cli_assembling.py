"""The commands of assembly and tightening."""

import json

import pytest
from tests.assembly_makers import ENGINE, measured_build

from bedplate.cli import main
from bedplate.workshop import Workshop

BY = ("--by", "Ann (invented)")


@pytest.fixture
def run(tmp_path, capsys):
    def go(*words):
        code = main(["--data", str(tmp_path), *BY, *words])
        out = capsys.readouterr()
        return code, out.out, out.err

    return go


@pytest.fixture
def build(tmp_path):
    workshop = Workshop.open(tmp_path)
    measured_build(workshop)
    workshop.close()
    return "k"


def test_clamp_says_whether_an_angle_is_better_for_an_m10(run):
    code, out, _ = run(
        "clamp", "M10 x 1.5", "42 N·m + 75 deg", "--grip", "66 mm", "--class", "10.9",
        "--lubricant", "engine oil", "--json",
    )  # fmt: skip
    assert code == 0
    found = json.loads(out)
    alone, angle = found["ways"]
    assert found["verdict"].startswith("Yes: for this bolt, torque alone to the same clamp ±")
    assert (alone["name"], angle["name"]) == ("torque alone", "torque and angle")
    assert 0.2 < alone["plus_minus"] < 0.35, "±25 to 35 % is what the trade says of a torque"
    assert angle["plus_minus"] < alone["plus_minus"] / 2


@pytest.mark.parametrize(
    ("tightening", "other"),
    [("60 lbf·in", "lbf·ft"), ("720 lbf·ft", "lbf·in"), ("31 lbf·in + 75 deg", "lbf·ft")],
)
def test_clamp_asks_about_a_torque_out_by_twelve(run, tightening, other):
    code, out, _ = run("clamp", "M10 x 1.5", tightening, "--grip", "66 mm", "--class", "10.9")
    assert code == 0
    first = out.splitlines()[0]
    assert first.startswith("IS THAT RIGHT? ")
    assert "would clamp about" in first
    assert f"Is it {other}?" in first


@pytest.mark.parametrize("tightening", ["60 lbf·ft", "31 lbf·ft + 75 deg", "42 N·m + 75 deg"])
def test_clamp_asks_nothing_about_a_usual_torque(run, tightening):
    _, out, _ = run("clamp", "M10 x 1.5", tightening, "--grip", "66 mm", "--class", "10.9")
    assert "IS THAT RIGHT" not in out


@pytest.mark.parametrize(
    ("words", "code", "sentence"),
    [
        (("M10 x 1.5", "60"), 3, "unit"),
        (("M10 x 1.5", "75 deg"), 3, "has no torque: an angle begins somewhere"),
        (("M10 x 1.5", "42 N·m + 75 deg"), 3, "needs the length that is clamped"),
        (("ten", "60 N·m"), 3, "ten"),
        (("M10 x 1.5", "60 N·m", "--class", "99"), 3, "no class or grade"),
        (("M10 x 1.5", "60 N·m", "--lubricant", "snake"), 3, "friction of 'snake'"),
        (("M10 x 1.5", "60 N·m", "--wrench", "Z"), 3, "no class of a wrench"),
    ],
)
def test_clamp_refuses_in_one_sentence(run, words, code, sentence):
    got, out, err = run("clamp", *words)
    assert (got, out) == (code, "")
    assert sentence in err


def test_a_run_by_commands(run, build):
    code, out, err = run("tighten", build, "frame", "--begin", "trial", "--reads-in", "Nm")
    assert code == 0, err
    assert "BEWARE" in out
    assert "Next, stage 1 of 6: frame inner 5." in out
    for bolt in ("5", "6", "3"):
        assert run("tighten", build, "frame", "--done", bolt)[0] == 0
    code, out, _ = run("tighten", build, "frame", "--done", "5", "--torque", "41.5")
    assert "Next, stage 2 of 6: frame inner 6, 42 N·m." in out
    code, _, err = run("tighten", build, "frame", "--done", "9")
    assert code == 5
    assert "asks for frame inner 6 next" in err
    code, _, err = run("tighten", build, "frame", "--turned", "3 N·m")
    assert code == 5
    assert "is not complete" in err
    assert "stage 2 of 6: frame inner 6" in run("tighten", build, "frame")[1]
    assert "frame" in run("tighten", build)[1]
    code, out, _ = run("tighten", build, "frame", "--stop", "--reason", "phone")
    assert (code, "stopped" in out) == (0, True)
    code, _, err = run("tighten", build, "cover")
    assert code == 4


def test_another_lubricant_by_command(run, build):
    code, _, err = run(
        "tighten", build, "frame", "--begin", "trial", "--lubricant", "frame inner=moly paste"
    )
    assert code == 5
    assert "more clamp" in err
    assert run("tighten", build, "frame", "--begin", "trial", "--lubricant", "oil")[0] == 3


def test_a_step_by_command(run, build):
    code, out, _ = run("do", build, "trial-clean")
    assert code == 0
    assert "BEWARE" in out
    assert "[ ] burrs dressed" in out
    code, out, _ = run("do", build, "trial-clean", "--seen")
    assert (code, "is done. Entry" in out) == (0, True)
    code, out, _ = run("steps", build)
    assert "trial-clean    done" in out
    code, _, _ = run("do", build, "trial-mains", "--seen")
    assert code == 5
    rows = json.loads(run("steps", build, "--json")[1])
    assert rows[0]["standing"] == "done"


def test_counts_by_command(run, build):
    for way, number in (("issued", "2"), ("used", "1"), ("left", "1")):
        run("do", build, "piston-1", "--count", "pin locks, cylinder 1", way, number)
    _, out, _ = run("do", build, "piston-1")
    assert "[ ] counted: pin locks, cylinder 1, left" in out
    assert "counted so far: pin locks, cylinder 1: 2 issued, 1 used, 1 left" in out
    _, out, _ = run("steps", build)
    assert "Left" in out
    [row] = [line for line in out.splitlines() if line.startswith("pin locks, cylinder 1 ")]
    assert row.split()[-3:] == ["2", "1", "1"]


def test_bolts_by_command(run, build):
    assert run("bolts", build, "frame inner", "--new", "--identity", "bag 7")[0] == 0
    assert run("bolts", build, "frame inner", "--length", "5", "92.10 mm")[0] == 0
    rows = json.loads(run("bolts", build, "frame inner", "--json")[1])
    assert rows[4]["once_more"] == "keep"
    assert rows[4]["lengths"] == "92.10 mm"
    assert run("bolts", build, "frame inner", "--length", "50", "92.10 mm")[0] == 3
    assert run("bolts", build, "--new")[0] == 3
    assert run("bolts", build, "frames")[0] == 4


def test_the_plan_on_paper(run, build, tmp_path):
    assert run("tighten", build, "--paper", str(tmp_path / "p.pdf"))[0] == 0
    assert (tmp_path / "p.pdf").read_bytes().startswith(b"%PDF")


def test_the_engine_of_these_tests_is_invented():
    assert "INVENTED" in ENGINE
