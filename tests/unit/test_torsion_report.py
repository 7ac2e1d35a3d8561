"""The torsional model of an engine file, and what it answers."""

import json
import re
from math import pi

import numpy as np
import pytest
from tests.balance_makers import LAYOUTS, a_workshop
from tests.engine_makers import six

from bedplate.cli.main import main
from bedplate.documents.balance_card import chapter, mode_rows, model_rows, worst_words
from bedplate.documents.mode_picture import mode_shapes_picture
from bedplate.engine import examples, read_engine
from bedplate.errors import InputError
from bedplate.physics.crank_train import MovingMasses
from bedplate.physics.loads import cylinder_loads
from bedplate.physics.torsion import modes
from bedplate.physics.torsion_response import speed_sweep, torque_harmonics
from bedplate.shop.balance.weights import RECIPROCATING, weights_of
from bedplate.shop.duty.gas import pressure_at
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.train import crank_train
from bedplate.shop.duty.volumes import bores_of
from bedplate.shop.torsion.report import torsion_of
from bedplate.web.views.balance import torsion_view

FOUR = read_engine(examples()["in-line-four-frame"])


@pytest.fixture(scope="module")
def report():
    return torsion_of(read_engine(six()))


def test_the_greatest_twist_names_the_order_that_meets_a_mode_there(report):
    speed, _ = report.bare_twist.worst
    met = modes(report.crank.bare.model).frequency / (report.bare_twist.worst_order * speed)
    assert min(abs(met - 1)) < 0.02
    assert f"order {report.bare_twist.worst_order:g} most of it" in " ".join(worst_words(report))


def test_the_formulas_are_named_and_span_the_band(report):
    assert [name for name, _ in report.crank.formulas] == ["Ker Wilson", "Carter"]
    assert "Ker Wilson and Carter" in report.crank.stiffness_from
    assert (report.band.low < report.modes.frequency).all()
    assert (report.modes.frequency < report.band.high).all()


def test_a_damper_parts_the_first_mode_and_lowers_the_twist(report):
    first = report.bare_modes.frequency[0]
    assert report.modes.frequency[0] < first < report.modes.frequency[1]
    assert report.twist.worst[1] < 0.5 * report.bare_twist.worst[1]


def test_an_in_line_six_has_its_major_orders_at_halves_of_three(report):
    # Three, six, nine and so on, and the halves between where the mode is lopsided: Den Hartog,
    # Mechanical Vibrations, section 5.4, phase-vector diagrams.
    orders = {one.order for one in report.bare_criticals if one.major and one.mode == 1}
    assert orders
    assert {order % 1.5 for order in orders} == {0.0}


def test_a_critical_speed_is_where_the_order_meets_the_frequency(report):
    for one in report.criticals:
        assert one.order * one.speed == pytest.approx(report.modes.frequency[one.mode - 1])
        assert one.low < one.speed < one.high
        assert report.lowest <= one.speed <= report.highest


def test_a_known_frequency_replaces_the_estimate():
    found = torsion_of(FOUR, with_twist=False)
    assert found.bare_modes.frequency[0] == pytest.approx(2 * pi * 421, rel=1e-9)
    assert "as measured" in found.crank.stiffness_from
    without = examples()["in-line-four-frame"].replace('known_frequency  = "421 Hz"', "")
    other = torsion_of(read_engine(without.replace("# struck with a hammer, damper off", "")))
    assert other.crank.stiffness_from == "by the measured stiffness"
    assert other.bare_modes.frequency[0] != pytest.approx(2 * pi * 421, rel=1e-3)
    wide = other.bare_band.high[0] / other.bare_band.low[0]
    assert found.bare_band.high[0] / found.bare_band.low[0] < wide


def test_the_model_is_the_chain_that_the_file_describes(report):
    model = report.crank.bare.model
    assert report.crank.names[:2] == ("nose", "throw 1")
    assert report.crank.names[-1] == "damper ring"
    assert model.nodes == 8
    assert np.asarray(modes(model).frequency) == pytest.approx(report.bare_modes.frequency)


def test_without_gas_there_is_no_twist_but_its_reason():
    text = re.sub(r"(?m)^inlet_closes .*$", "", examples()["in-line-four-frame"])
    found = torsion_of(read_engine(text))
    assert found.twist is None
    assert "inlet closes" in found.gas_note
    assert found.criticals


@pytest.mark.parametrize(
    ("line", "match"),
    [
        ('web_width      = "80.0 mm"', "how wide a web"),
        ('nose_inertia     = "0.0045 kg·m²"', "crank's nose"),
        ('speed    = "7200 rpm"', "how fast it turns"),
        ('pitch    = "96.0 mm"', "how far apart the throws stand"),
    ],
)
def test_what_the_file_does_not_say_is_asked_for(line, match):
    with pytest.raises(InputError, match=match):
        torsion_of(read_engine(six((line, ""))), with_twist=False)


def test_a_firing_order_that_the_throws_cannot_give_is_refused():
    from tests.engine_makers import faults_of

    assert faults_of(six(('"1-5-3-6-2-4"', '"1-2-3-4-5-6"')))


def gas_only(engine, speed):
    """Return the vectors of the gas torque at a speed, from the duty's own pressure."""
    given = Given(engine)
    train = crank_train(given)
    nothing = np.zeros(train.layout.cylinders)
    light = MovingMasses(nothing, nothing, train.masses.rod_centre, nothing)
    loads = cylinder_loads(
        train.layout, light, pressure_at(given, speed).traces, bore=bores_of(given),
        firing=train.firing, speed=0.0,
    )  # fmt: skip
    return torque_harmonics(loads.torque, train.cycle)


def without_masses(report, engine, speed):
    """Return the twist at a speed by gas alone, computed at just that speed."""
    orders, gas = gas_only(engine, speed)
    crank = report.crank.damped
    sweep = speed_sweep(crank.model, report.crank.node_of, orders, gas, np.zeros_like(gas), [speed])
    return float(sweep.greatest(crank.nose, crank.flywheel)[0])


def test_the_gas_torque_is_that_of_each_speed(report, monkeypatch):
    engine = read_engine(six())
    monkeypatch.setattr(
        "bedplate.shop.torsion.report._inertia",
        lambda given, train, masses: np.zeros((6, 24), dtype=complex),
    )
    found = torsion_of(engine)
    assert found.gas_note.startswith("gas at each speed: computed")
    for place in (0, 37, 90, 159):
        speed = float(found.twist.speed[place])
        exact = without_masses(found, engine, speed)
        assert found.twist.all_orders[place] == pytest.approx(exact, rel=5e-3)
    # The cycle of the highest speed burns hotter on its way down: 4 % off where it turns slowly.
    slow, fast = gas_only(engine, found.lowest)[1], gas_only(engine, found.highest)[1]
    assert np.abs(slow - fast).max() > 0.02 * np.abs(fast).max()


def test_the_damping_of_a_throw_is_shown_as_what_it_is():
    own = torsion_of(read_engine(six()), with_twist=False).crank.damping
    assert (own.value, own.least, own.most, own.assumed) == (1.8, 0.8, 4.0, False)
    text = re.sub(r"(?m)^(least_|most_)?throw_damping .*$", "", six())
    usual = torsion_of(read_engine(text), with_twist=False).crank.damping
    assert (usual.value, usual.least, usual.most, usual.assumed) == (2.0, 1.0, 4.0, True)
    assert "assumed: common practice, no source" in usual.words
    assert "1 to 4 in the band" in usual.words


def test_the_band_of_the_twist_holds_the_curve_and_grows_with_the_damping(report):
    band = report.twist.band
    middle = np.interp(band.speed, report.twist.speed, report.twist.all_orders)
    inside = (band.low <= middle) & (middle <= band.high)
    assert inside.mean() > 0.95
    assert band.worst[0] < report.twist.worst[1] < band.worst[1]
    bare = ('damper           = "rubber"', 'damper           = "none"')
    wide = torsion_of(read_engine(six(bare))).twist.band.worst
    sure = six(
        bare,
        ('least_throw_damping = "0.8 N·m·s/rad"', 'least_throw_damping = "1.8 N·m·s/rad"'),
        ('most_throw_damping  = "4.0 N·m·s/rad"', 'most_throw_damping  = "1.8 N·m·s/rad"'),
    )
    narrow = torsion_of(read_engine(sure)).twist.band.worst
    assert wide[1] - wide[0] > 1.5 * (narrow[1] - narrow[0])


def test_formulas_that_agree_are_not_believed_blindly(report):
    # 3 % from how far the two differ for this crank, 5 % assumed for what both get wrong.
    formulas = [value for _, value in report.crank.formulas]
    spread = np.log(formulas[1] / formulas[0]) / 2 / 3**0.5
    assert report.crank.stiffness_doubt == pytest.approx(np.hypot(spread, 0.05))


def test_a_measured_frequency_is_as_wide_as_it_was_said(tmp_path):
    workshop = a_workshop(tmp_path, "in-line-four-frame")
    workshop.torsion_measured("b", "first natural frequency", "418 Hz", by="t", uncertainty="1 %",
                              instrument="hammer, damper off")  # fmt: skip
    report = workshop.torsion("b")
    workshop.close()
    band = report.bare_band
    # 1 % with k = 2: 95 % of the draws lie within 1.96 standard uncertainties of half a per cent.
    assert band.low[0] == pytest.approx(2 * pi * 418 * 0.9902, rel=1e-3)
    assert band.high[0] == pytest.approx(2 * pi * 418 * 1.0098, rel=1e-3)
    # The second mode rests on the model as before.
    assert band.high[1] / band.low[1] > 1.02


def test_the_modes_are_drawn_and_the_model_is_laid_open(report):
    picture = mode_shapes_picture(report)
    assert picture.count("mode ") == 3
    assert picture.count('class="solid"') == 3 * 8
    assert picture.count('class="outline"') == 3
    rows = model_rows(report)
    assert [row[0] for row in rows] == list(report.crank.names)
    assert rows[-1][1:] == ["0.0095 kg·m²", "36 kN·m/rad to nose"]
    assert rows[1][2].endswith("to nose")


def test_what_drives_the_crank_is_gas_and_inertia(report):
    # T_in = (m·ω²·r²/2)·(λ/2·sin θ − sin 2θ − 3λ/2·sin 3θ …), λ = r/l: the series of the textbooks
    # (Khurmi & Gupta, Theory of Machines, chapter 15; Taylor, vol. II, chapter 8), which leaves
    # out the rod's own inertia and the offset pin, so within a few per cent.
    drives = report.excitation
    engine = read_engine(six())
    weights = weights_of(engine)
    mass = sum(weights.of(part, "1").value for part in RECIPROCATING)
    one = mass * (drives.speed * 0.044) ** 2 / 2
    ratio = 0.044 / 0.142
    place = {float(order): n for n, order in enumerate(drives.orders)}
    for order, share in ((1.0, ratio / 2), (2.0, 1.0), (3.0, 1.5 * ratio)):
        assert drives.inertia[place[order]] == pytest.approx(one * share, rel=0.04)
    assert (drives.both <= drives.gas + drives.inertia + 1e-9).all()
    assert drives.inertia[place[0.5]] == pytest.approx(0, abs=1e-6 * one)


@pytest.mark.parametrize(
    ("name", "throws", "step"),
    [
        # A four-stroke's cylinders push together in the multiples of half their number (Den Hartog,
        # Mechanical Vibrations, section 5.4); in a V a bank angle may put half of these out.
        ("in-line three", 3, 1.5),
        ("60° V6, own pins", 3, 1.5),
        ("90° V6, split by 30°", 3, 1.5),
        ("60° V12", 6, 1.5),
        ("45° V16", 8, 2.0),
    ],
)
def test_every_layout_has_its_train_and_its_major_orders(name, throws, step):
    found = torsion_of(read_engine(LAYOUTS[name] + TORSION), with_twist=False)
    assert len(found.crank.throws) == throws
    assert found.crank.bare.model.nodes == throws + 2
    orders = {one.order for one in found.criticals if one.major and one.mode == 1}
    assert orders
    assert {order % step for order in orders} == {0.0}


TORSION = """[torsion]
throw_inertia    = "0.006 kg·m²"
throw_stiffness  = "500 kN·m/rad"
nose_inertia     = "0.004 kg·m²"
nose_stiffness   = "360 kN·m/rad"
flange_stiffness = "2000 kN·m/rad"
flywheel_inertia = "0.11 kg·m²"
source           = "invented"
"""


def test_measured_traces_drive_it_at_their_speeds():
    from tests.unit.test_traces import table

    def found(*tables):
        return torsion_of(
            read_engine(six(("[combustion]\n", "\n".join([*tables, "[combustion]\n"]))))
        )

    both = found(table(4000, 40), table(6000, 60))
    assert both.gas_note == (
        "gas at each speed: measured traces of 4000, 6000 rpm; straight between them, beyond them "
        "the nearest"
    )
    four, six_thousand = found(table(4000, 40)), found(table(6000, 60))
    speed = both.twist.speed * 30 / pi
    slow, fast = speed <= 4000, speed >= 6000
    assert both.twist.all_orders[slow] == pytest.approx(four.twist.all_orders[slow])
    assert both.twist.all_orders[fast] == pytest.approx(six_thousand.twist.all_orders[fast])
    between = ~slow & ~fast
    assert not np.allclose(both.twist.all_orders[between], four.twist.all_orders[between])


def test_a_cylinder_that_was_measured_drives_its_own_throw():
    from tests.unit.test_traces import table

    def found(label):
        more = f'cylinder = "{label}"\n'
        text = six(("[combustion]\n", table(6000, 60, more) + "\n[combustion]\n"))
        return torsion_of(read_engine(text))

    first, last = found("1"), found("6")
    assert first.gas_note.endswith("cylinders without a trace computed")
    # A cylinder at the free end swings far in the first mode, one at the flywheel hardly.
    plain = torsion_of(read_engine(six()))
    moved = [
        float(np.abs(one.twist.all_orders - plain.twist.all_orders).max()) for one in (first, last)
    ]
    assert moved[0] > 1.5 * moved[1]


def with_drives(*drives, engine=None):
    """Return the six, or another text, with drives of so much inertia, stiffness and ratio."""
    text = engine or six()
    for number, (inertia, stiffness, ratio) in enumerate(drives):
        text += f"""
[[accessory]]
name      = "drive {number + 1}"
inertia   = "{inertia} kg·m²"
stiffness = "{stiffness} kN·m/rad"
ratio     = {ratio}
source    = "invented drive sheet {number + 1}"
"""
    return torsion_of(read_engine(text), with_twist=False)


def majors(found):
    return [(one.order, one.speed) for one in found.criticals if one.major]


@pytest.mark.parametrize(
    "drives",
    [
        [(0.0004, 0.3, 0.55), (0.0006, 0.2, 0.8), (0.0003, 0.4, 1.0)],
        # Alternators at thrice the crank's speed: the whole crank rolls against each.
        [(0.004, 0.05, 3.0), (0.005, 0.06, 3.0), (0.004, 0.08, 2.5)],
    ],
)
def test_soft_drives_hide_no_critical_speed(report, drives):
    alone = majors(report)
    found = with_drives(*drives)
    assert len(alone) >= 8
    crank = found.shown[-3:]
    assert len(crank) == 3
    for order, speed in alone:
        # A soft drive moves a natural frequency of the crank by less than 2 %.
        near = [s for o, s in majors(found) if o == order and s == pytest.approx(speed, rel=0.02)]
        assert near, f"order {order:g} at {speed * 30 / pi:.0f} rpm"
    for mode in crank:
        near = found.modes.frequency[mode] / report.modes.frequency
        assert np.abs(near - 1).min() < 0.02
    own = [row for row in mode_rows(found) if row[0].endswith(", accessory")]
    assert len(own) == 2 * 3 or len(found.shown) > 3


def test_a_drive_in_tune_with_the_crank_leaves_both_its_modes(report):
    # 1e-5 kg·m² tuned to the first mode: both modes swing mostly in the drive, half in the crank.
    first = report.bare_modes.frequency[0]
    found = with_drives((1e-5, 1e-5 * first**2 / 1e3, 1.0))
    near = np.flatnonzero(np.abs(found.bare_modes.frequency / first - 1) < 0.05)
    assert len(near) == 2
    assert set(near) <= set(found.bare_shown)


def test_a_train_without_drives_shows_its_first_three_modes(report):
    assert report.shown == report.bare_shown == (0, 1, 2)


def test_each_figure_of_a_drive_has_its_source(tmp_path, capsys):
    given = dict(with_drives((0.0004, 0.3, 0.55)).crank.sources)
    assert given["drive 1 inertia, at its own speed"].value == pytest.approx(0.0004)
    assert given["drive 1 stiffness, at its own speed"].value == pytest.approx(300)
    assert given["drive 1 turns to one of the crank"].value == pytest.approx(0.55)
    assert given["drive 1 turns to one of the crank"].source == "invented drive sheet 1"
    assert "no source" in given["drive 1 loss factor of its drive"].source
    path = tmp_path / "v8.toml"
    path.write_text(examples()["v8"], "utf-8")
    assert main(["torsion", str(path), "--sources"]) == 0
    said = capsys.readouterr().out
    assert "dry-sump pump inertia, at its own speed: 0.0004 (invented pump sheet" in said
    bench = a_workshop(tmp_path / "shop")
    rows = chapter(bench.state("b"))["torsion"]["sources"]
    assert ["dry-sump pump stiffness, at its own speed", "300"] in [row[:2] for row in rows]
    bench.close()


def test_a_known_frequency_is_as_sure_as_it_says():
    # Without an uncertainty it counts as known to 2 %, k = 2: 95 % of a normal lie within 1.96 %.
    found = torsion_of(FOUR, with_twist=False)
    assert "421 Hz ± 2 % (k = 2, assumed)" in found.crank.stiffness_from
    low, high = (one[0] / (2 * pi * 421) - 1 for one in (found.bare_band.low, found.bare_band.high))
    assert low == pytest.approx(-0.0196, abs=0.002)
    assert high == pytest.approx(0.0196, abs=0.002)
    given = dict(found.crank.sources)["uncertainty of the known frequency, k = 2"]
    assert (given.value, given.source) == (0.02, "assumed")


@pytest.mark.parametrize("known", ["5 Hz", "5000 Hz"])
def test_a_known_frequency_far_from_the_estimate_is_asked_about(tmp_path, capsys, known):
    path = tmp_path / "four.toml"
    path.write_text(examples()["in-line-four-frame"].replace('"421 Hz"', f'"{known}"'), "utf-8")
    asked = f"Is the first natural frequency right? It is given as {known}; "
    for command in ("check", "torsion"):
        assert main([command, str(path)]) == 0
        assert f"? {asked}" in capsys.readouterr().out
    assert main(["check", str(path), "--json"]) == 0
    assert asked in capsys.readouterr().out
    path.write_text(examples()["in-line-four-frame"], "utf-8")
    main(["check", str(path)])
    assert "natural frequency right?" not in capsys.readouterr().out


def test_what_is_measured_far_from_the_estimate_is_asked_about(tmp_path, capsys):
    workshop = a_workshop(tmp_path, "straight-six")
    frequency = ["torsion", "b", "--by", "t", "--instrument", "hammer", "--data", str(tmp_path)]
    assert main([*frequency, "--measured", "first natural frequency", "3.52 Hz"]) == 0
    assert "It is given as 3.52 Hz" in capsys.readouterr().out
    assert main([*frequency, "--measured", "stiffness of a throw", "6 kN·m/rad"]) == 0
    view = torsion_view(workshop.state("b"))
    asked = "Is the stiffness of a throw right? It is given as 6 kN·m/rad, estimated "
    assert any(doubt.startswith(asked) for doubt in view.doubts)


def test_every_shaft_of_the_model_is_listed(tmp_path, capsys):
    path = tmp_path / "six.toml"
    path.write_text(six(), "utf-8")
    assert main(["torsion", str(path), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    report = torsion_of(read_engine(six()), with_twist=False)
    stiff = [shaft["stiffness"] for shaft in answer["shafts"]]
    assert stiff == pytest.approx([float(one) for one in report.crank.damped.model.stiffness])
    assert (answer["shafts"][0]["from"], answer["shafts"][0]["to"]) == ("nose", "throw 1")
    assert main(["torsion", str(path), "--sources"]) == 0
    said = capsys.readouterr().out
    for name, _, joined in model_rows(report):
        assert name in said
        assert joined in said
