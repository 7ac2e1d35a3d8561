"""Torque, preload and strength of bolts against the printed tables and textbook examples."""

from math import pi, sqrt

import pytest

from bedplate.physics.bolt import narrowest, preload_at, torsion_ratio, utilisation
from bedplate.physics.property_class import grade, property_class
from bedplate.physics.thread import thread, unified_thread
from bedplate.physics.tightening import (
    bearing_diameter,
    clamp_ratio,
    nut_factor,
    preload,
    preload_by_factor,
    thread_arm,
    torque_parts,
)
from bedplate.physics.wrench import adapter_setting, adapter_torque, permissible_deviation

CLASSES = ("8.8", "10.9", "12.9")
INCH, LBF = 0.0254, 4.4482216152605

# Washer face (least, ISO 4014) and medium clearance hole (ISO 273), mm.
HEADS = {
    8: (11.63, 9), 10: (14.63, 11), 12: (16.63, 13.5), 14: (19.64, 15.5), 16: (22.49, 17.5),
    18: (25.34, 20), 20: (28.19, 22), 22: (31.71, 24), 24: (33.61, 26),
}  # fmt: skip

# VDI 2230, edition 2001, fine threads at 90 % of yield, as printed in a fastener supplier's
# catalogue: F_M in kN for 8.8, 10.9, 12.9, then M_A in N·m, at friction 0.10, 0.12, 0.14.
VDI_FINE = {
    "M8 x 1": (
        (20.7, 30.4, 35.6, 22.8, 33.5, 39.2),
        (20.2, 29.7, 34.7, 26.1, 38.3, 44.9),
        (19.7, 28.9, 33.9, 29.2, 42.8, 50.1),
    ),
    "M10 x 1.25": (
        (32.4, 47.5, 55.6, 44, 65, 76),
        (31.6, 46.4, 54.3, 51, 75, 87),
        (30.8, 45.2, 52.9, 57, 83, 98),
    ),
    "M12 x 1.25": (
        (49.1, 72.1, 84.4, 79, 116, 135),
        (48.0, 70.5, 82.5, 90, 133, 155),
        (46.8, 68.7, 80.4, 101, 149, 174),
    ),
    "M14 x 1.5": (
        (66.4, 97.5, 114.1, 124, 182, 213),
        (64.8, 95.2, 111.4, 142, 209, 244),
        (63.2, 92.9, 108.7, 159, 234, 274),
    ),
    "M16 x 1.5": (
        (89.6, 131.6, 154.0, 189, 278, 325),
        (87.6, 128.7, 150.6, 218, 320, 374),
        (85.5, 125.5, 146.9, 244, 359, 420),
    ),
    "M18 x 1.5": (
        (120, 171, 200, 283, 403, 472),
        (117, 167, 196, 327, 465, 544),
        (115, 163, 191, 368, 523, 613),
    ),
    "M20 x 1.5": (
        (151, 215, 252, 392, 558, 653),
        (148, 211, 246, 454, 646, 756),
        (144, 206, 241, 511, 728, 852),
    ),
    "M22 x 1.5": (
        (186, 264, 309, 529, 754, 882),
        (182, 259, 303, 613, 873, 1022),
        (178, 253, 296, 692, 985, 1153),
    ),
    "M24 x 2": (
        (213, 304, 355, 666, 949, 1110),
        (209, 297, 348, 769, 1095, 1282),
        (204, 290, 339, 865, 1232, 1442),
    ),
}


def head(name):
    outer, hole = HEADS[round(thread(name).diameter * 1e3)]
    return bearing_diameter(outer / 1e3, hole / 1e3)


@pytest.mark.parametrize("name", VDI_FINE)
def test_vdi_2230_assembly_preload_and_torque(name):
    size = thread(name)
    for friction, row in zip((0.10, 0.12, 0.14), VDI_FINE[name], strict=True):
        for k, label in enumerate(CLASSES):
            at_yield = property_class(label, size.diameter).yield_strength
            force = preload_at(0.9, size, friction, at_yield)
            torque = torque_parts(force, size, friction, friction, head(name)).whole
            # Half the last printed digit (0.5 kN of 163, 0.5 N·m of 44), and 0.2 % more; of the
            # torque 0.5 %, as the catalogue does not print the washer face it took.
            printed = 0.05 if row[k] != int(row[k]) else 0.5
            assert force / 1e3 == pytest.approx(row[k], abs=printed + 2e-3 * row[k])
            printed = 0.05 if row[k + 3] != int(row[k + 3]) else 0.5
            assert torque == pytest.approx(row[k + 3], abs=printed + 5e-3 * row[k + 3])


def test_vdi_2230_example_of_an_m12():
    # A supplier's worked example after VDI 2230, edition 2015: M12 x 40, F_M,max 41.9 kN; it
    # leaves out class and friction, which are 8.8 and 0.14 in its table.
    force = preload_at(0.9, thread("M12"), 0.14, property_class("8.8", 0.012).yield_strength)
    assert force == pytest.approx(41.9e3, abs=50)


# Trade table at total friction 0.14, a machine maker's handbook, N·m for 8.8, 10.9, 12.9: edition
# 1986 of the guideline, whose section modulus in torsion was π·d³/16.
VDI_1986 = {
    "M8": (25, 36, 43),
    "M10": (49, 72, 84),
    "M12": (85, 125, 145),
    "M14": (135, 200, 235),
    "M16": (210, 310, 365),
}


@pytest.mark.parametrize("name", VDI_1986)
def test_the_older_edition_differs_by_its_section_modulus_alone(name):
    size, friction = thread(name), 0.14
    for label, printed in zip(CLASSES, VDI_1986[name], strict=True):
        at_yield = property_class(label, size.diameter).yield_strength
        ratio = 4 / 3 * torsion_ratio(size, friction, size.stress_diameter)
        force = 0.9 * at_yield * size.stress_area / sqrt(1 + 3 * ratio**2)
        torque = torque_parts(force, size, friction, friction, head(name)).whole
        # Torques there are rounded to 1 N·m below 85 and to 5 N·m above.
        assert torque == pytest.approx(printed, abs=(0.5 if printed < 85 else 2.5) + 2e-3 * printed)


# ISO 898-1:2013, tables 5 and 4: proof load and least breaking load of coarse threads, N, for
# 5.8, 8.8, 9.8, 10.9, 12.9; the standard rounds the area to three digits, then the load.
LABELS = ("5.8", "8.8", "9.8", "10.9", "12.9")
LOADS = {
    "M6": ((7640, 11600, 13100, 16700, 19500), (10400, 16100, 18100, 20900, 24500)),
    "M8": ((13900, 21200, 23800, 30400, 35500), (19000, 29200, 32900, 38100, 44600)),
    "M10": ((22000, 33700, 37700, 48100, 56300), (30200, 46400, 52200, 60300, 70800)),
    "M12": ((32000, 48900, 54800, 70000, 81800), (43800, 67400, 75900, 87700, 103000)),
    "M14": ((43700, 66700, 74800, 95500, 112000), (59800, 92000, 104000, 120000, 140000)),
    "M16": ((59700, 91000, 102000, 130000, 152000), (81600, 125000, 141000, 163000, 192000)),
    "M20": ((93100, 147000, None, 203000, 238000), (127000, 203000, None, 255000, 299000)),
    "M24": ((134000, 212000, None, 293000, 342000), (184000, 293000, None, 367000, 431000)),
}


@pytest.mark.parametrize("name", LOADS)
def test_iso_898_1_loads(name):
    size = thread(name)
    area = float(f"{size.stress_area:.3g}")
    for label, proof, ultimate in zip(LABELS, *LOADS[name], strict=True):
        if proof is None:
            continue
        strength = property_class(label, size.diameter)
        assert strength.proof_load(area) == pytest.approx(proof, rel=5.1e-3)
        assert strength.ultimate_load(area) == pytest.approx(ultimate, rel=5.1e-3)


def test_iso_898_1_strengths():
    # ISO 898-1:2013, table 3: R_m, R_p0.2 and S_p, MPa, and elongation, %.
    printed = {
        ("8.8", 16): (800, 640, 580, 12),
        ("8.8", 18): (830, 660, 600, 12),
        ("9.8", 16): (900, 720, 650, 10),
        ("10.9", 10): (1040, 940, 830, 9),
        ("12.9", 10): (1220, 1100, 970, 8),
    }
    for (label, diameter), row in printed.items():
        got = property_class(label, diameter / 1e3)
        made = (got.tensile_strength, got.yield_strength, got.proof_stress)
        assert [round(value / 1e6) for value in made] == list(row[:3])
        assert got.elongation == row[3] / 100


def test_sae_j429_grades():
    # Shigley, Mechanical Engineering Design, table 8-9: proof, yield and tensile strength, ksi.
    printed = {
        ("2", 0.5): (55, 57, 74),
        ("2", 1.0): (33, 36, 60),
        ("5", 1.0): (85, 92, 120),
        ("5", 1.125): (74, 81, 105),
        ("8", 0.4375): (120, 130, 150),
    }
    for (label, inches), row in printed.items():
        got = grade(label, inches * INCH)
        made = (got.proof_stress, got.yield_strength, got.tensile_strength)
        assert [value / 6.894757293168e6 for value in made] == pytest.approx(row, rel=1e-9)


def test_torque_coefficient_of_a_textbook():
    # Shigley, Mechanical Engineering Design, table 8-15 and its text: with both frictions 0.15 the
    # factor comes to about 0.2 "no matter what size bolts are employed", coarse or fine. Its head
    # is 1.5 d across and its collar diameter 1.25 d. Finest here: 0.189.
    for name in ("1/4-20", "3/8-16", "1/2-13", "1/2-20", "3/4-10", "7/8-14", "1-8", "1-12"):
        size = thread(name)
        factor = nut_factor(size, 0.15, 0.15, 1.25 * size.diameter)
        assert factor == pytest.approx(0.20, abs=0.012)


def test_preload_and_torque_of_a_textbook():
    # Shigley, Mechanical Engineering Design, example 8-4: 5/8-11 grade 5, F_i = 0.75·S_p·A_t =
    # 14.4 kip, T = 0.2·F·d = 1800 lbf·in.
    size = thread("5/8-11")
    force = 0.75 * grade("5", size.diameter).proof_load(size.stress_area)
    assert force / LBF == pytest.approx(14.4e3, rel=2e-3)
    torque = 0.2 * force * size.diameter
    assert torque / (LBF * INCH) == pytest.approx(1800, rel=2e-3)
    assert preload_by_factor(torque, 0.2, size.diameter) == pytest.approx(force, rel=1e-12)


@pytest.mark.parametrize(("factor", "clamp"), [(0.12, 50), (0.15, 40), (0.18, 33.3), (0.2, 30)])
def test_a_factor_alone(factor, clamp):
    # Common practice, F = T/(K·d): 60 N·m on 10 mm.
    assert preload_by_factor(60.0, factor, 0.010) / 1e3 == pytest.approx(clamp, abs=0.05)


def test_inch_pounds_taken_for_foot_pounds():
    # 22 lbf·ft = 264 lbf·in (12 in to the foot): the same clamp, and twelve times it if mistaken.
    size, bearing = thread("5/16-24"), bearing_diameter(0.5 * INCH, 0.332 * INCH)
    foot, inch = 12 * INCH * LBF, INCH * LBF
    by_feet = preload(22 * foot, size, 0.12, 0.12, bearing)
    assert preload(264 * inch, size, 0.12, 0.12, bearing) == pytest.approx(by_feet, rel=1e-12)
    assert preload(264 * foot, size, 0.12, 0.12, bearing) == pytest.approx(12 * by_feet)


def test_iso_16047_formula():
    # ISO 16047:2005: T = F·{½·(P + 1.154·π·μ·d2)/(π − 1.154·μ·P/d2) + μ_b·(D_o + d_h)/4}, with
    # its rounded 1.154 for 1/cos 30°.
    size, f, fb, outer, hole = thread("M10"), 0.13, 0.11, 14.63e-3, 11e-3
    p, d2 = size.pitch, size.pitch_diameter
    printed = 0.5 * (p + 1.154 * pi * f * d2) / (pi - 1.154 * f * p / d2)
    printed += fb * (outer + hole) / 4
    made = torque_parts(1.0, size, f, fb, bearing_diameter(outer, hole)).whole
    assert made == pytest.approx(printed, rel=5e-4)


def test_vdi_2230_short_formula():
    # VDI 2230-1 (R13): M = F·(0.16·P + 0.58·d2·μ_G + D_Km/2·μ_K). It leaves a small product out:
    # at most 1 % of the torque on standard threads up to a friction of 0.2, always too little.
    for name in ("M6", "M8 x 1", "M10", "M10 x 1.25", "M12", "M16 x 1.5"):
        size = thread(name)
        for f in (0.08, 0.12, 0.16, 0.20):
            bearing = 1.25 * size.diameter
            short = 0.16 * size.pitch + 0.58 * size.pitch_diameter * f + bearing / 2 * f
            made = torque_parts(1.0, size, f, f, bearing).whole
            assert -0.003 < made / short - 1 < 0.01


def test_without_friction_a_turn_of_work_lifts_one_pitch():
    size = thread("M10")
    assert torque_parts(1e4, size, 0, 0, 0.013).whole == pytest.approx(1e4 * size.pitch / 2 / pi)


def test_most_of_a_torque_is_friction():
    # Common practice: about a tenth to clamp, two fifths in the thread, half under the head.
    parts = torque_parts(30e3, thread("M10 x 1.25"), 0.12, 0.12, head("M10 x 1.25"))
    assert 0.08 < parts.pitch / parts.whole < 0.15
    assert 0.35 < parts.thread / parts.whole < 0.45
    assert 0.45 < parts.head / parts.whole < 0.55
    assert thread_arm(thread("M10"), 0.0) == pytest.approx(0.0015 / 2 / pi)


def test_another_lubricant_at_the_same_torque():
    # Common practice: K 0.20 dry to K 0.12 on moly is two thirds more clamp. Frictions found for
    # those factors by the formula that ISO 16047 gives.
    size, bearing = thread("M10"), head("M10")
    dry, moly = 0.15077, 0.08244
    assert nut_factor(size, dry, dry, bearing) == pytest.approx(0.20, abs=5e-4)
    assert nut_factor(size, moly, moly, bearing) == pytest.approx(0.12, abs=5e-4)
    assert clamp_ratio(size, bearing, (dry, dry), (moly, moly)) == pytest.approx(5 / 3, rel=6e-3)


def test_utilisation_is_the_yield_criterion():
    # A thin ring under tension and torsion, von Mises by principal stresses: the same number.
    size = thread("M10")
    got = utilisation(30e3, size, 0.12, 640e6)
    half, turn = got.tension / 2, sqrt((got.tension / 2) ** 2 + got.torsion**2)
    one, two = half + turn, half - turn
    assert got.equivalent == pytest.approx(sqrt(one**2 - one * two + two**2), rel=1e-12)
    assert got.tension == pytest.approx(30e3 / 57.99e-6, rel=1e-4)
    assert preload_at(got.share, size, 0.12, 640e6) == pytest.approx(30e3, rel=1e-12)


def test_a_waist_yields_before_the_thread():
    size = thread("M10")
    assert narrowest(size) == narrowest(size, 0.0095) == size.stress_diameter
    assert preload_at(0.9, size, 0.12, 940e6, 0.0075) < preload_at(0.9, size, 0.12, 940e6)


def test_adapter():
    # Common practice: 60 N·m, wrench 400 mm, adapter 50 mm in line: set 53.3 N·m. A tool maker's
    # manual: 20 lbf·ft, 12 in, 3 in: set 16.0; at 90° nothing changes.
    assert adapter_setting(60, 0.400, 0.050) == pytest.approx(53.3, abs=0.05)
    assert adapter_setting(20, 12, 3) == pytest.approx(16.0, rel=1e-12)
    assert adapter_setting(20, 12, 3, pi / 2) == pytest.approx(20.0, rel=1e-12)
    assert adapter_setting(20, 12, 3, pi) == pytest.approx(20 * 12 / 9, rel=1e-12)
    assert adapter_torque(adapter_setting(60, 0.4, 0.05, 0.7), 0.4, 0.05, 0.7) == pytest.approx(60)


def test_wrench_classes():
    # A tool maker's manual on ISO 6789, type II class A: 4 % above 10 N·m, 6 % at 10 N·m.
    assert permissible_deviation(100, "II", "A") == 0.04
    assert permissible_deviation(10, "II", "A") == 0.06
    # From memory: a bending-beam wrench is allowed 6 % at any torque.
    assert permissible_deviation(100, "I", "A") == permissible_deviation(100, "II", "G") == 0.06


def test_a_thread_of_no_standard():
    assert unified_thread(0.4 * INCH, INCH / 20).stress_area > 0
