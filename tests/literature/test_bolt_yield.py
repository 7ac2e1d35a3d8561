"""Angle tightening into yield, against closed forms and against plain integration of flow."""

from math import inf, log, pi, radians, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from bedplate.errors import InputError
from bedplate.physics.bolt import preload_at, torsion_ratio
from bedplate.physics.bolt_resilience import Section
from bedplate.physics.bolt_yield import Turned, angle_law, angle_tightening, preloads
from bedplate.physics.hardening import Hardening
from bedplate.physics.joint import angle_preload
from bedplate.physics.thread import thread
from bedplate.physics.tightening import thread_arm

M10 = thread("M10")
SECTIONS = (Section(0.060, 0.0100), Section(0.025, M10.stress_diameter))
STEEL = Hardening(940e6, 1040e6, 0.05)
BOLT = Turned(M10, SECTIONS, 9e-9, 80e9, STEEL)


def test_the_curve_of_the_steel():
    # MIL-HDBK-5H, 9.3.2: 0.2 % at the yield strength, the uniform strain at the tensile one.
    assert STEEL.plastic_strain(940e6) == pytest.approx(0.002, rel=1e-12)
    assert STEEL.plastic_strain(1040e6) == pytest.approx(0.05, rel=1e-12)
    assert STEEL.exponent == pytest.approx(log(25) / log(1040 / 940), rel=1e-12)


def test_yield_comes_where_vdi_2230_puts_it():
    # VDI 2230-1:2003, 5.5.1, with the whole yield strength instead of 90 %.
    law = angle_law(BOLT, 0.12)
    assert law.yield_preload == pytest.approx(preload_at(1.0, M10, 0.12, 940e6), rel=1e-12)
    assert law.ultimate_preload / law.yield_preload == pytest.approx(1040 / 940, rel=1e-12)


def test_a_rigid_shank_in_the_elastic_range_is_the_plain_formula():
    elastic = Turned(M10, SECTIONS, 9e-9)
    end = angle_tightening(elastic, 5e3, radians(90), 0.12)
    assert end.preload == pytest.approx(5e3 + angle_preload(radians(90), 0.0015, 9e-9), rel=1e-12)
    assert (end.lengthening, end.share_of_yield) == (0, 0)


def test_wind_up_takes_its_part_of_the_angle():
    # Torsion of a round bar: the head is ahead of the thread by T_G·Σ 32·l/(π·G·d⁴).
    wound = Turned(M10, SECTIONS, 9e-9, 80e9)
    force = angle_tightening(wound, 0.0, radians(90), 0.12).preload
    torque = force * thread_arm(M10, 0.12)
    behind = sum(32 * s.length * torque / (pi * 80e9 * s.diameter**4) for s in SECTIONS)
    assert force == pytest.approx(angle_preload(radians(90) - behind, 0.0015, 9e-9), rel=1e-12)
    assert 0.01 < behind / radians(90) < 0.06


def flow_angle(force, friction):
    """Angle to a preload by J2 flow: each increment of strain normal to the yield surface."""

    def rate(load):
        turned = 2 * pi / M10.pitch * BOLT.resilience
        for section in SECTIONS:
            ratio = torsion_ratio(M10, friction, section.diameter)
            m = sqrt(1 + 3 * ratio**2)
            equivalent = load * m / section.area
            n = STEEL.exponent
            strain = 0.002 * n / 940e6 * (equivalent / 940e6) ** (n - 1) * m / section.area
            axial, shear = strain / m, 3 * ratio * strain / m
            turned += 2 * pi / M10.pitch * axial * section.length
            turned += shear * section.length / (section.diameter / 2)
            arm = thread_arm(M10, friction)
            turned += 32 * section.length * arm / (pi * 80e9 * section.diameter**4)
        return turned

    return quad(rate, 0, force, epsrel=1e-12, limit=200)[0]


@pytest.mark.parametrize("degrees", [30, 90, 150, 240])
@pytest.mark.parametrize("friction", [0.06, 0.12, 0.18])
def test_the_end_of_the_angle_against_incremental_plasticity(degrees, friction):
    start = 6e3
    whole = flow_angle(start, friction) + radians(degrees)
    expected = brentq(lambda load: flow_angle(load, friction) - whole, 1e3, 60e3, xtol=1e-6)
    made = angle_tightening(BOLT, start, radians(degrees), friction)
    assert made.preload == pytest.approx(expected, rel=1e-8)


def test_what_a_length_gauge_finds_afterwards():
    # By hand: plastic strain of the thread's section at the end, times its length; the shank of
    # full diameter is far below yield.
    end = angle_tightening(BOLT, 6e3, radians(180), 0.12)
    ratio = torsion_ratio(M10, 0.12, M10.stress_diameter)
    m = sqrt(1 + 3 * ratio**2)
    strain = STEEL.plastic_strain(end.preload * m / M10.stress_area) / m
    assert end.lengthening == pytest.approx(strain * 0.025, rel=5e-3)
    assert end.share_of_yield > 1 > end.share_of_ultimate


def test_past_yield_an_angle_hardly_changes_the_clamp():
    # Common practice: on the flat of the curve 10° more is worth about 1 %, against 10 % before.
    def gain(degrees):
        more, less = (
            angle_tightening(BOLT, 6e3, radians(d), 0.12).preload for d in (degrees + 10, degrees)
        )
        return more / less - 1

    assert gain(180) < 0.01
    assert gain(60) > 0.08


@given(st.floats(0, 20), st.floats(0, 7), st.floats(0, 0.4))
def test_angle_and_preload_are_each_other_s_inverse(kilonewtons, angle, friction):
    law = angle_law(BOLT, friction)
    start = kilonewtons * 1e3
    end = angle_tightening(BOLT, start, angle, friction)
    assert law.angle(end.preload) == pytest.approx(law.angle(start) + angle, rel=1e-9, abs=1e-12)
    assert end.preload >= start * (1 - 1e-9) - 1e-9


def test_the_curve_rises_and_bends_over():
    curve = preloads(angle_law(BOLT, 0.12), [radians(d) for d in range(0, 361, 10)])
    steps = curve[1:] - curve[:-1]
    assert curve[0] == 0
    assert (steps > 0).all()
    assert (steps[1:] <= steps[:-1] * (1 + 1e-9)).all()


REFUSED = {
    "softening": lambda: Hardening(940e6, 900e6, 0.05),
    "no strain": lambda: Hardening(940e6, 1040e6, 0.001),
    "strain in per cent": lambda: Hardening(940e6, 1040e6, 5),
    "no section": lambda: Turned(M10, (), 9e-9),
    "no spring": lambda: Turned(M10, SECTIONS, 0),
    "snug torque in the wrong unit": lambda: angle_tightening(BOLT, 70e3, 1.0, 0.12),
    "angle undone": lambda: angle_tightening(BOLT, 0, -0.1, 0.12),
    "infinite angle": lambda: angle_tightening(BOLT, 0, inf, 0.12),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_is_refused(what):
    with pytest.raises(InputError):
        REFUSED[what]()
