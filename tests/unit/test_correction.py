"""What an unbalance means and how a rotor is corrected, in the terminal and on the page."""

import json
import re
from cmath import phase, rect
from math import degrees, radians

import pytest
from tests.balance_makers import a_workshop

from bedplate.cli.main import main
from bedplate.errors import BedplateError, InputError
from bedplate.shop.balance.correction import two_plane_correction
from bedplate.shop.balance.residual import read_unbalance
from bedplate.web.views.rotors import ASKED, answer_of

FIRST = ["7.2 @ 238 deg", "13.5 @ 296 deg"]
RUNS = [["4.9 @ 114", "9.2 @ 347"], ["4.0 @ 79", "12.0 @ 292"]]
MASSES = ["2.5 g @ 0", "2.5 g @ 0"]
RUN = ["--first", *FIRST, "--trial", "2.5 g@0", *RUNS[0], "--trial", "2.5 g@0", *RUNS[1]]
DRILLED = ["--radius", "80 mm", "--drill", "12 mm"]
ON_PAGE = {
    "a0": "7.2@238", "b0": "13.5@296", "m1": "2.5 g@0", "a1": "4.9@114", "b1": "9.2@347",
    "m2": "2.5 g@0", "a2": "4.0@79", "b2": "12.0@292", "radius": "80 mm", "drill": "12 mm",
}  # fmt: skip


def correct(capsys, *more, code=0):
    assert main(["correct", *RUN, *more]) == code
    return capsys.readouterr().out


@pytest.fixture(scope="module")
def state(tmp_path_factory):
    bench = a_workshop(tmp_path_factory.mktemp("v8"))
    yield bench.state("b")
    bench.close()


def asked(state, **typed):
    return answer_of(state, dict.fromkeys(ASKED, "") | typed)


def test_two_planes_by_the_published_example():
    # Two-plane field balancing as in a maker's application note (Brüel & Kjær, Static and dynamic
    # balancing of rigid rotors): 2.951 g at 50.2°, 2.844 g at −81.9°; trial masses removed.
    one, two = two_plane_correction(FIRST, RUNS, MASSES)
    assert one.amount == pytest.approx(2.95138e-3, rel=1e-4)
    assert one.angle == pytest.approx(0.875961, rel=1e-4)
    assert two.amount == pytest.approx(2.84414e-3, rel=1e-4)
    assert two.angle == pytest.approx(6.283185 - 1.429145, rel=1e-4)


@pytest.mark.parametrize(
    ("first", "runs", "masses", "angles", "match"),
    [
        (FIRST, [RUNS[0], RUNS[0]], MASSES, (), "linearly dependent"),
        (FIRST, RUNS, MASSES, ("0", "90", "450"), "90.0° stands twice among the angles that can c"),
        (FIRST, RUNS, ["0 g @ 0", "2.5 g @ 0"], (), "shows nothing"),
        (["7.2", "13.5 @ 296"], RUNS, MASSES, (), "no angle"),
        (["nan @ 3", "13.5 @ 296"], RUNS, MASSES, (), "'nan' is no reading"),
        (FIRST, RUNS[:1], MASSES, (), "need"),
        (FIRST, RUNS, ["2.5 mm @ 0", "2.5 g @ 0"], (), "mass"),
        (FIRST, [RUNS[0], RUNS[1][:1]], MASSES, (),
         "The trial run with the mass in plane 2 has 1 reading, the first run 2 readings"),
        (FIRST[:1], RUNS, MASSES, (),
         "The trial run with the mass in plane 1 has 2 readings, the first run 1 reading"),
        (FIRST, [RUNS[0], [RUNS[1][0], " "]], MASSES, (),
         "The trial run with the mass in plane 2 lacks the reading of pick-up 2"),
        (["", "13.5 @ 296"], RUNS, MASSES, (), "The first run lacks the reading of pick-up 1"),
        (FIRST, RUNS, ["2.5 g @ 0", ""], (), "The trial mass in plane 2 is not given"),
    ],
)  # fmt: skip
def test_trial_runs_that_tell_nothing_are_refused(first, runs, masses, angles, match):
    with pytest.raises(BedplateError, match=match):
        two_plane_correction(first, runs, masses, angles)
    with pytest.raises(BedplateError, match="among the angles that can be drilled"):
        two_plane_correction(FIRST, RUNS, MASSES, (), ("10", "370"))


def test_an_angle_given_twice_in_two_options_is_refused(capsys):
    assert main(["correct", *RUN, "--at", "30", "--at", "30"]) == 3
    assert "30.0° stands twice" in capsys.readouterr().err
    said = correct(capsys, "--at", "0", "--at", "120", "--at", "240")
    assert "add 3.199 g at 0.0°" in said


def test_each_angle_that_carries_gets_its_own_slug(capsys):
    # Parallelogram: 2.95138·sin(69.811°)/sin 120° = 3.199 g at 0°, 2.618 g at 120°. At 80 mm
    # 255.9 g·mm; (17 000 − 7850)·113.1e-6·0.068 = 0.07037 kg·m per m: 3.64 mm, and 2.98 mm.
    said = correct(capsys, "--at", "0", "120", "240", *DRILLED)
    one, two = (line for line in said.splitlines() if line.startswith("  Plane 1"))
    assert "add 3.199 g at 0.0°: a slug of heavy metal of 12 mm (17 000 kg/m³), 3.6 mm" in one
    assert "with its axis 68.0 mm from the crank's" in one
    assert "add 2.618 g at 120.0°: a slug of heavy metal of 12 mm (17 000 kg/m³), 3.0 mm" in two
    assert "a hole" not in said  # 180° and 300° were not said to be there.
    deeper = correct(capsys, "--at", "0", "120", "240", *DRILLED, "--slug-radius", "60 mm")
    assert "4.1 mm long, lying along the crank with its axis 60.0 mm" in deeper


def test_each_angle_that_is_drilled_gets_its_own_depth(capsys):
    # The same two shares, opposite. 255.9 g·mm / (7850 kg/m³ · 113.1 mm²) = 288.2 mm²; the point,
    # 3.605 mm high, takes 1.2017·(80 − 0.901) = 95.06; h(78.80 − h/2) = 193.2, so h = 2.49 mm. Its
    # tip is 80 − 2.49 − 3.61 = 73.9 mm out; 7850·113.1e-6·(2.491 + 1.202) mm = 3.278 g at 78.05 mm.
    said = correct(capsys, "--drill-at", "60", "180", "300", *DRILLED)
    one, two = (line for line in said.splitlines() if line.startswith("  Plane 1"))
    assert "take away 3.199 g at 180.0°: a hole of 12 mm, 2.5 mm deep at full diameter" in one
    assert "its 118° point ending 73.9 mm from the axis; 3.278 g come out, centred 78.1 mm" in one
    assert "take away 2.618 g at 300.0°: a hole of 12 mm, 1.8 mm deep" in two
    assert "slug" not in said


def test_adding_and_drilling_share_a_correction_in_the_nearest_directions(capsys):
    said = correct(capsys, "--at", "0", "30", "--drill-at", "60", "240")
    heavy = {1: rect(2.95138, radians(50.1889)), 2: rect(2.84414, radians(-81.8841))}
    assert "Plane 1, at the angles that are there: take away" in said
    for plane, wanted in heavy.items():
        found = re.findall(
            rf"Plane {plane}, at .*there: (add|take away) ([\d.]+) g at ([\d.]+)°", said
        )
        assert len(found) == 2
        total = sum(
            rect(float(grams), radians(float(angle))) * (1 if deed == "add" else -1)
            for deed, grams, angle in found
        )
        assert abs(total - wanted) < 2e-3
        assert degrees(abs(phase(total / wanted))) < 0.1
    assert "take away" in said.split("Plane 2, at")[1]
    either = correct(capsys, "--at", "50.189", "0", "180", "270", "--drill-at", "230.189")
    assert "take away 2.951 g at 230.2°; or add 2.951 g at 50.2°." in either
    assert either.count("Plane 1, at") == 1


def test_angles_that_cannot_hold_a_correction_leave_the_other_plane_its_answer(capsys):
    said = correct(capsys, "--at", "0", "60", *DRILLED, code=1)
    assert "? Plane 2: No two available angles hold a correction at 278.1° between them." in said
    assert "Plane 1, at the angles that are there: add" in said
    data = json.loads(correct(capsys, "--at", "0", "60", *DRILLED, "--json", code=1))
    assert [bool(one["lacking"]) for one in data] == [False, True]
    # 2.95138·sin 9.811°/sin 60° = 0.5807 g: 46.46 g·mm / 70.37 g = 0.660 mm.
    assert data[0]["shares"][0]["slug_length"] == pytest.approx(0.6602e-3, rel=1e-3)
    assert data[0]["shares"][0]["take_away_at"] is None


def test_any_angle_offers_both_ways(capsys):
    said = correct(capsys, *DRILLED)
    assert "Plane 1: take away 2.951 g at 230.2°: a hole of 12 mm, 2.2 mm deep" in said
    assert "; or add 2.951 g at 50.2°: a slug" in said
    data = json.loads(correct(capsys, "--json"))
    assert data[1]["mass"] == pytest.approx(2.84414e-3, rel=1e-4)
    assert data[1]["at_any_angle"] is True


def test_the_radius_of_the_trial_masses_is_one_thing_the_surface_another(capsys):
    near = correct(capsys, *DRILLED)
    far = correct(capsys, *DRILLED, "--trial-radius", "160 mm")
    depths = [float(re.search(r"([\d.]+) mm deep", said)[1]) for said in (near, far)]
    assert depths[1] > 2 * depths[0]
    assert "no radius is given for the trial masses, so they are taken to have sat on" in near
    assert "The masses count at 160.0 mm, where the trial masses sat; the surface is at 80" in far


@pytest.mark.parametrize(
    ("more", "match"),
    [
        (["--drill", "12 mm"], "needs the drill and the radius"),
        (["--trial-radius", "80 mm"], "needs the drill and the radius"),
        ([*DRILLED, "--slug-radius", "78 mm"], "not under a surface at 80 mm"),
        (["--drill", "80 mm", "--radius", "80 mm"], "thinner than the radius"),
    ],
)
def test_half_of_what_a_hole_needs_is_refused(capsys, more, match):
    assert main(["correct", *RUN, *more]) == 3
    assert match in capsys.readouterr().err


def test_a_hole_that_cannot_take_so_much_is_said_where_it_is(capsys):
    said = correct(capsys, "--radius", "20 mm", "--drill", "2 mm", "--trial-radius", "160 mm")
    assert "Plane 1: take away 2.951 g at 230.2° (A hole of 2 mm takes" in said
    small = correct(capsys, "--radius", "80 mm", "--drill", "30 mm")
    assert "less than the point of a drill of 30 mm takes; take a smaller one" in small


def test_the_page_drills_and_adds_where_it_can(state):
    said = "\n".join(asked(state, **ON_PAGE, drill_at="60, 180, 300").correction)
    assert "take away 3.199 g at 180.0°: a hole of 12 mm, 0.098 in deep" in said
    assert "no radius is given for the trial masses" in said
    added = "\n".join(asked(state, **ON_PAGE, at="0 120 240").correction)
    assert "add 2.618 g at 120.0°: a slug" in added
    assert "22,5" in asked(state, **ON_PAGE, at="22,5 90").correction_error
    lacking = asked(state, **{**ON_PAGE, "b2": ""}).correction_error
    assert lacking.startswith("The trial run with the mass in plane 2 lacks the reading of pick-up")


@pytest.mark.parametrize("text", ["2 oz·in", "56.7 g·in", "1440.16 g·mm", "0.00144016 kg·m"])
def test_a_residual_reads_and_shows_every_unit(capsys, text):
    # 1 oz·in = 28.3495 g × 25.4 mm = 720.08 g·mm = 28.35 g·in.
    assert main(["residual", text, "--mass", "25 kg", "--speed", "8000 rpm"]) == 0
    said = capsys.readouterr().out
    assert "unbalance in all: 1440 g·mm = 56.7 g·in = 2 oz·in" in said
    assert "of it in each of two planes, if alike: 720 g·mm" in said


@pytest.mark.parametrize(
    ("text", "ticked"),
    [
        ("1 oz·in", True),
        ("1 oz·in per plane", False),
        ("1 oz·in per-plane", True),
        ("28.3495 g·in in each plane", False),
        ("720.08 g·mm/plane", False),
        ("1 oz·in per end", False),
        ("1 oz·in each plane", False),
    ],
)
def test_a_residual_may_be_that_of_each_plane(capsys, state, text, ticked):
    told = ["residual", text, "--mass", "25 kg", "--speed", "8000 rpm"]
    assert main([*told, *(["--per-plane"] if ticked else [])]) == 0
    said = capsys.readouterr().out
    assert "unbalance in each plane: 720 g·mm = 28.35 g·in = 1 oz·in" in said
    assert "unbalance in all: 1440 g·mm" in said
    assert "1011 N" in said
    assert main([*told, *(["--per-plane"] if ticked else []), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["unbalance"] == pytest.approx(1440.16e-6, rel=1e-4)
    assert data["unbalance_per_plane"] == pytest.approx(720.08e-6, rel=1e-4)
    assert data["given_per_plane"] is True
    rows = dict(
        asked(
            state, unbalance=text, mass="25 kg", speed="8000 rpm",
            per_plane="yes" if ticked else "",
        ).rows
    )  # fmt: skip
    assert rows["unbalance in each plane"].startswith("720 g·mm")


@pytest.mark.parametrize("text", ["2 oz·in in total", "2 oz·in total", "2 oz·in in all"])
def test_a_residual_may_be_called_a_total(text):
    assert read_unbalance(text) == (pytest.approx(1440.16e-6, rel=1e-4), False)
    with pytest.raises(InputError, match="as well"):
        read_unbalance(text, per_plane=True)


def test_a_grade_alone_says_what_may_be_left(capsys):
    # 9549·6.3·25/6000 = 250.7 g·mm (ISO 21940-11).
    assert main(["residual", "--mass", "25 kg", "--speed", "6000 rpm", "--grade", "G 6.3"]) == 0
    said = capsys.readouterr().out
    assert "permitted by G 6.3 in all: 251 g·mm = 9.869 g·in" in said
    assert "125 g·mm" in said
    assert "e·ω" not in said
    assert main(["residual", "--mass", "25 kg", "--speed", "6000 rpm"]) == 3


@pytest.mark.parametrize(
    ("unbalance", "mass", "speed", "typed"),
    [
        ("-2 oz·in", "20 kg", "6000 rpm", "'-2 oz·in' is below zero"),
        ("2 oz·in", "-20 kg", "6000 rpm", "mass must be above zero, and is '-20 kg'"),
        ("2 oz·in", "20 kg", "-100 rpm", "speed must be above zero, and is '-100 rpm'"),
    ],
)
def test_a_residual_that_cannot_be_is_refused_as_it_was_typed(
    capsys, unbalance, mass, speed, typed
):
    assert main(["residual", unbalance, "--mass", mass, "--speed", speed])
    said = capsys.readouterr()
    assert typed in said.out + said.err
