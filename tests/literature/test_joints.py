"""Stiffness of bolt and joint against textbook examples, closed forms and plain integration."""

from math import e, log, pi, radians

import pytest
from scipy.integrate import quad

from bedplate.physics.bolt_resilience import Head, Held, Section, bolt_resilience, twist_resilience
from bedplate.physics.joint import Joint, angle_preload, nut_travel, stretch, stretch_preload
from bedplate.physics.parts_resilience import Layer, cone_tangent, parts_resilience
from bedplate.physics.thread import thread

INCH, LBF, PSI = 0.0254, 4.4482216152605, 6894.757293168
STEEL, ALUMINIUM = 205e9, 70e9
TAN_30 = 0.577350269


def test_bolt_and_member_stiffness_of_a_textbook():
    # Shigley, Mechanical Engineering Design, 8th edition, examples 8-2 and 8-4: 5/8-11 grade 5,
    # 2¼ in long with 1½ in of thread, through 1½ in of cast iron of 14 Mpsi: k_b 5.21, k_m 8.95
    # Mlbf/in, C 0.368. Head and nut rigid there, 30° cone from a washer face of 1.5 d.
    size = thread("5/8-11")
    sections = [
        Section(0.75 * INCH, size.diameter),
        Section(0.75 * INCH, size.stress_diameter),
    ]
    bolt = bolt_resilience(size, sections, 30e6 * PSI, head=None, held=None)
    parts = parts_resilience(
        [Layer(1.5 * INCH, 14e6 * PSI, 10 * INCH)],
        1.5 * size.diameter,
        size.diameter,
        Held.NUT,
        tangent=TAN_30,
    )
    unit = LBF / INCH
    # Three printed digits; its areas are rounded to three as well.
    assert 1 / bolt / unit / 1e6 == pytest.approx(5.21, abs=0.01)
    assert 1 / parts / unit / 1e6 == pytest.approx(8.95, abs=0.01)
    assert Joint(bolt, parts).load_factor == pytest.approx(0.368, abs=1e-3)


def test_member_stiffness_in_the_textbook_s_closed_form():
    # Shigley, equation 8-22: k = 0.5774·π·E·d/(2·ln(5·(0.5774·l + 0.5·d)/(0.5774·l + 2.5·d))).
    for grip, d in ((0.020, 0.008), (0.060, 0.010), (0.100, 0.012)):
        printed = 2 * log(5 * (0.5774 * grip + 0.5 * d) / (0.5774 * grip + 2.5 * d))
        printed /= 0.5774 * pi * STEEL * d
        made = parts_resilience([Layer(grip, STEEL, 1.0)], 1.5 * d, d, Held.NUT, tangent=0.5774)
        assert made == pytest.approx(printed, rel=1e-12)


def test_bolt_stiffness_of_a_reference_package():
    # me-toolbox (MIT), its own test: M10 x 1.5, grip 13 mm with 8 mm of thread, E 207 GPa:
    # 1 026 695.29 N/mm.
    size = thread("M10")
    sections = [Section(5e-3, size.diameter), Section(8e-3, size.stress_diameter)]
    made = 1 / bolt_resilience(size, sections, 207e9, head=None, held=None)
    assert made / 1e3 == pytest.approx(1_026_695.29, rel=1e-7)


def closed_form(grip, bearing, hole, outer, modulus, held):
    """VDI 2230-1:2003, equations (42) to (46): cone, cone with sleeve, cylinder; from memory."""
    w = 1 if held is Held.NUT else 2
    t = cone_tangent(grip, bearing, outer, held)
    if outer <= bearing:
        return 4 * grip / (pi * modulus * (outer**2 - hole**2))
    if outer >= bearing + w * grip * t:
        inside = (bearing + hole) * (bearing + w * grip * t - hole)
        inside /= (bearing - hole) * (bearing + w * grip * t + hole)
        return 2 * log(inside) / (w * modulus * pi * hole * t)
    inside = (bearing + hole) * (outer - hole) / ((bearing - hole) * (outer + hole))
    cone = 2 / (w * hole * t) * log(inside)
    sleeve = 4 / (outer**2 - hole**2) * (grip - (outer - bearing) / (w * t))
    return (cone + sleeve) / (modulus * pi)


@pytest.mark.parametrize("held", Held)
@pytest.mark.parametrize("outer", [0.0125, 0.018, 0.024, 0.040, 0.120])
@pytest.mark.parametrize("grip", [0.012, 0.055, 0.110])
def test_vdi_2230_cone_sleeve_and_cylinder(held, outer, grip):
    expected = closed_form(grip, 0.01463, 0.011, outer, ALUMINIUM, held)
    made = parts_resilience([Layer(grip, ALUMINIUM, outer)], 0.01463, 0.011, held)
    assert made == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("held", Held)
def test_parts_of_several_materials_against_plain_integration(held):
    layers = [Layer(0.018, ALUMINIUM, 0.030), Layer(0.002, 110e9, 0.022), Layer(0.025, STEEL, 0.06)]
    bearing, hole, tangent = 0.017, 0.0125, 0.45
    grip = 0.045

    def flow(depth):
        layer = layers[0] if depth < 0.018 else layers[1] if depth < 0.020 else layers[2]
        near = min(depth, grip - depth) if held is Held.NUT else depth
        wide = min(bearing + 2 * tangent * near, layer.outer)
        return 4 / (pi * layer.modulus * (wide**2 - hole**2))

    edges = [0.018, 0.020, grip / 2, 0.0055, 0.013 / 0.9, 0.039444]
    expected = quad(flow, 0, grip, points=edges, limit=400, epsrel=1e-11)[0]
    made = parts_resilience(layers, bearing, hole, held, tangent)
    assert made == pytest.approx(expected, rel=1e-7)


def test_vdi_2230_cone_constants():
    # VDI 2230-1:2003, 5.1.2: the constants as several published programs have them, at points where
    # the logarithms are 0 or 1: β = 2 or 2e, 1 or e; y = 1 or e.
    assert cone_tangent(0.02, 0.01, 0.01, Held.NUT) == pytest.approx(0.362, rel=1e-12)
    assert cone_tangent(0.02, 0.01, 0.01 * e, Held.NUT) == pytest.approx(0.515, rel=1e-12)
    assert cone_tangent(0.02 * e, 0.01, 0.01, Held.NUT) == pytest.approx(0.394, rel=1e-12)
    assert cone_tangent(0.01, 0.01, 0.01, Held.TAPPED_HOLE) == pytest.approx(0.348, rel=1e-12)
    assert cone_tangent(0.01, 0.01, 0.01 * e, Held.TAPPED_HOLE) == pytest.approx(0.541, rel=1e-12)
    assert cone_tangent(0.01 * e, 0.01, 0.01, Held.TAPPED_HOLE) == pytest.approx(0.361, rel=1e-12)


def test_cutting_a_part_in_two_changes_nothing():
    whole = parts_resilience([Layer(0.05, STEEL, 0.03)], 0.0166, 0.0135, Held.NUT)
    cut = parts_resilience(
        [Layer(0.013, STEEL, 0.03), Layer(0.037, STEEL, 0.03)], 0.0166, 0.0135, Held.NUT
    )
    assert cut == pytest.approx(whole, rel=1e-12)


def test_vdi_2230_bolt_resilience():
    # VDI 2230-1:2003, 5.1.1.1, by hand: M10 in a tapped aluminium hole, 30 mm of shank and 25 mm
    # of free thread; head 0.5 d, engaged core 0.5 d on d3, flanks 0.33 d of the hole's modulus.
    size = thread("M10")
    a, a3 = pi / 4 * 10**2, pi / 4 * 8.160**2
    steel, light = 205e3, 70e3
    by_hand = 30 / (steel * a) + 25 / (steel * a3)
    by_hand += 5 / (steel * a) + 5 / (steel * a3) + 3.3 / (light * a)
    sections = [Section(0.030, size.diameter), Section(0.025, size.minor_diameter)]
    made = bolt_resilience(size, sections, STEEL, Head.HEXAGON, Held.TAPPED_HOLE, ALUMINIUM)
    assert made == pytest.approx(by_hand / 1e3, rel=1e-4)
    through = by_hand + (4 / steel - 3.3 / light) / a
    made = bolt_resilience(size, sections, STEEL, Head.HEXAGON, Held.NUT, ALUMINIUM)
    assert made == pytest.approx(through / 1e3, rel=1e-4)
    by_socket = through - 1 / (steel * a)
    made = bolt_resilience(size, sections, STEEL, Head.CYLINDRICAL, Held.NUT)
    assert made == pytest.approx(by_socket / 1e3, rel=1e-4)


def test_angle_to_preload():
    # Common practice: pitch 1.5 mm, bolt 300 kN/mm, joint 900 kN/mm: 937.5 N for each degree.
    joint = Joint(1 / 300e6, 1 / 900e6)
    assert angle_preload(radians(1), 0.0015, joint.whole) == pytest.approx(937.5, rel=1e-12)


@pytest.mark.parametrize(("pitch", "travel"), [(1.5, 0.375), (1.25, 0.3125)])
def test_a_quarter_turn(pitch, travel):
    # Common practice: M10 x 1.5 and M9 x 1.25, 90°.
    assert nut_travel(radians(90), pitch) == pytest.approx(travel, rel=1e-12)


def test_a_quarter_turn_is_shared_as_the_springs_are():
    joint = Joint(4e-9, 1e-9)
    force = angle_preload(radians(90), 0.0015, joint.whole)
    assert stretch(force, joint.bolt) == pytest.approx(0.8 * 0.375e-3, rel=1e-12)
    assert stretch_preload(0.3e-3, joint.bolt) == pytest.approx(force, rel=1e-12)


def test_twist_of_a_bar():
    # Polar moment π·d⁴/32: a steel bar of 10 mm, 100 mm long, 10 N·m: 0.73°.
    made = twist_resilience([Section(0.1, 0.01)], 80e9) * 10
    assert made == pytest.approx(10 * 0.1 / (80e9 * pi * 0.01**4 / 32), rel=1e-12)
    assert made == pytest.approx(radians(0.73), abs=radians(0.005))
