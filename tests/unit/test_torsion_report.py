"""The torsional model of an engine file, and what it answers."""

import re
from math import pi

import numpy as np
import pytest
from tests.engine_makers import six

from bedplate.engine import examples, read_engine
from bedplate.errors import InputError
from bedplate.physics.torsion import modes
from bedplate.shop.torsion.report import torsion_of

FOUR = read_engine(examples()["in-line-four-frame"])


@pytest.fixture(scope="module")
def report():
    return torsion_of(read_engine(six()))


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
