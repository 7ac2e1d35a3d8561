"""What an engine file says of the engine at work."""

from math import pi

import pytest
from tests.engine_makers import fault_at, six

from bedplate.engine import examples, read_engine


def test_every_figure_keeps_its_text_and_its_source():
    duty = read_engine(six()).duty
    gasket = duty.figure("chamber.gasket")
    assert (gasket.value, gasket.text) == (pytest.approx(1.3e-3), "1.30 mm")
    assert gasket.source == "invented head and gasket sheets"
    assert duty.figure("mains.shell_width").source == "engine file, mains.shell_width"
    assert duty.figure("chamber.dome") is None
    assert duty.value("chamber.dome", 0.0) == 0.0
    assert duty.boost.value == pytest.approx(0.9e5)


def test_a_pin_towards_the_thrust_side_counts_below_zero():
    assert read_engine(six()).duty.pin_offset.value == pytest.approx(-0.5e-3)
    other = six(("0.5 mm to thrust side", "0.5 mm to anti-thrust side"))
    assert read_engine(other).duty.pin_offset.value == pytest.approx(0.5e-3)
    assert "which side" in fault_at(six((" to thrust side", "")), "geometry.pin_offset").wrong


def test_speeds_rise_and_chambers_go_by_label():
    duty = read_engine(examples()["v8"]).duty
    assert duty.speeds[0] == pytest.approx(2000 * pi / 30)
    assert list(duty.speeds) == sorted(duty.speeds)
    assert duty.chambers["4"].value == pytest.approx(64.3e-6)
    assert {rating.of for rating in duty.ratings if rating.is_least} == {"least rod film"}


@pytest.mark.parametrize(
    ("old", "new", "key", "wrong"),
    [
        ('gasket_bore = "85.5 mm"', 'gasket_bore = "75.5 mm"', "chamber.gasket_bore", "smaller"),
        ('gasket      = "1.30 mm"', 'gasket      = "1.30 in"', "chamber.gasket", "no gasket"),
        ('dish        = "11.5 cc"', 'dish        = "-11.5 cc"', "chamber.dish", "no dish"),
        ('closes  = "58 deg"', 'closes  = "258 deg"', "valves.inlet_closes", "no angle"),
        ('groove_width = "4.0 mm"', 'groove_width = "19.4 mm"', "mains.groove_width", "as wide"),
        ('groove_width = "4.0 mm"\n', "", "mains.groove", "without a width"),
        ('temperature = "105 °C"', 'at_40 = "74 mm²/s"', "oil.at_40", "no oil"),
        ('of     = "cylinder pressure"', 'of     = "mean piston speed"', "rating[3].limit", "bar"),
        ('limit  = "22 m/s"', 'limit  = "0 m/s"', "rating[1].limit", "no rating"),
        ('opposite = "20 kg·mm"', 'opposite = "20 kg"', "crank.opposite", "20 kg"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_a_fault_with_its_place(old, new, key, wrong):
    fault = fault_at(six((old, new)), key)
    assert wrong in fault.wrong
    assert fault.line > 0


def test_mains_stand_one_behind_the_other():
    text = six(('offset   = "0 mm"', 'mains_at = ["0 mm", "96 mm", "90 mm"]'))
    assert "one behind the other" in fault_at(text, "crank.mains_at").wrong
    text = six(('offset   = "0 mm"', 'mains_at = ["0 mm", "96 mm"]'))
    assert "2 places for 7 mains" in fault_at(text, "crank.mains_at").wrong


@pytest.mark.parametrize(
    ("old", "new", "remark"),
    [
        ('at_100  = "12.9 mm²/s"', 'at_100  = "12.4 mm²/s"', "12.5 to 16.3 mm²/s of 5W-40"),
        ('hths    = "3.6 mPa·s"', 'hths    = "3.4 mPa·s"', "3.5 mPa·s of 5W-40"),
        ('oil      = "SAE 5W-40"', 'oil      = "SAE 5W-35"', "'SAE 5W-35' is no grade"),
    ],
)
def test_an_oil_that_is_not_of_its_grade_is_remarked_on(old, new, remark):
    text = examples()["in-line-four-frame"]
    assert not any("SAE" in one for one in read_engine(text).remarks)
    assert old in text
    assert any(remark in one for one in read_engine(text.replace(old, new)).remarks)
