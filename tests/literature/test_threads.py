"""Thread sizes and stress areas against the printed tables."""

from math import pi

import pytest

from bedplate.physics.thread import metric_thread, thread, unified_thread
from bedplate.physics.thread_series import METRIC_PITCHES, UNIFIED_SERIES

# Pitch diameter, minor diameter of bolt and of hole, mm: ISO 724 and DIN 13-1 as printed in
# suppliers' tables (M10: 8,160 beside ISO 724's 9,026 and 8,376); all to the last printed digit.
ISO_724 = {
    "M8 x 1": (7.350, 6.773, 6.917),
    "M10": (9.026, 8.160, 8.376),
    "M10 x 1.25": (9.188, 8.466, 8.647),
    "M10 x 1": (9.350, 8.773, 8.917),
    "M12 x 1.5": (11.026, 10.160, 10.376),
    "M12 x 1.25": (11.188, 10.466, 10.647),
    "M14 x 1.5": (13.026, 12.160, 12.376),
    "M16 x 1.5": (15.026, 14.160, 14.376),
    "M18 x 2": (16.701, 15.546, 15.835),
    "M20 x 1.5": (19.026, 18.160, 18.376),
}


@pytest.mark.parametrize(("name", "sizes"), ISO_724.items())
def test_metric_sizes(name, sizes):
    got = thread(name)
    made = (got.pitch_diameter, got.minor_diameter, got.hole_diameter)
    # Tables are rounded to 1 µm, and some print 7.350 − 0.0005 as 7.35.
    assert [size * 1e3 for size in made] == pytest.approx(sizes, abs=0.00051)


# Nominal stress area, mm²: ISO 898-1, tables 4 and 6, rounded there to three digits.
ISO_898_1_AREAS = {
    "M3": 5.03, "M3.5": 6.78, "M4": 8.78, "M5": 14.2, "M6": 20.1, "M7": 28.9, "M8": 36.6,
    "M10": 58.0, "M12": 84.3, "M14": 115, "M16": 157, "M18": 192, "M20": 245, "M22": 303,
    "M24": 353, "M27": 459, "M30": 561, "M33": 694, "M36": 817, "M39": 976,
    "M8 x 1": 39.2, "M10 x 1.25": 61.2, "M10 x 1": 64.5, "M12 x 1.5": 88.1, "M12 x 1.25": 92.1,
    "M14 x 1.5": 125, "M16 x 1.5": 167,
}  # fmt: skip


@pytest.mark.parametrize(("name", "area"), ISO_898_1_AREAS.items())
def test_metric_stress_area(name, area):
    assert float(f"{thread(name).stress_area * 1e6:.3g}") == area


def test_metric_stress_area_of_a_reference_package():
    # me-toolbox (MIT), its own test of an M10 x 1.5: 57.98960 mm².
    assert thread("M10 x 1.5").stress_area * 1e6 == pytest.approx(57.98960, rel=2e-7)


# Stress area and area at the minor diameter, in²: ASME B1.1 as printed in a supplier's tables of
# UNF and in Shigley, Mechanical Engineering Design, table 8-2; three or four digits there.
ASME_B1_1 = {
    "#4-48": (0.00661, 0.00566),
    "#6-40": (0.01015, 0.00874),
    "#8-36": (0.01474, 0.01285),
    "#10-32": (0.0200, 0.0175),
    "#12-28": (0.0258, 0.0226),
    "1/4-20": (0.0318, 0.0269),
    "1/4-28": (0.0364, 0.0326),
    "5/16-18": (0.0524, 0.0454),
    "5/16-24": (0.0580, 0.0524),
    "3/8-16": (0.0775, 0.0678),
    "3/8-24": (0.0878, 0.0809),
    "7/16-14": (0.1063, 0.0933),
    "7/16-20": (0.1187, 0.1090),
    "1/2-13": (0.1419, 0.1257),
    "1/2-20": (0.1599, 0.1486),
    "9/16-18": (0.203, 0.189),
    "5/8-11": (0.226, 0.202),
    "5/8-18": (0.256, 0.240),
    "3/4-10": (0.334, 0.302),
    "7/8-14": (0.509, 0.480),
    "1-12": (0.663, 0.625),
    "1 1/8-12": (0.856, 0.812),
    "1 1/2-12": (1.581, 1.521),
}


@pytest.mark.parametrize(("name", "areas"), ASME_B1_1.items())
def test_unified_areas(name, areas):
    got = thread(name)
    inch = 0.0254**2
    # Half of the last printed digit, and a tenth of it for tables that were cut, not rounded.
    assert got.stress_area / inch == pytest.approx(areas[0], rel=2e-3, abs=6e-6)
    assert got.minor_area / inch == pytest.approx(areas[1], rel=2.5e-3, abs=6e-6)


def test_unified_stress_area_is_the_formula_of_the_standard():
    # ASME B1.1, appendix B: A_s = 0.7854·(D − 0.9743/n)².
    for size, n in ((0.375, 24), (0.4375, 14), (0.5, 20)):
        made = unified_thread(size * 0.0254, 0.0254 / n).stress_area / 0.0254**2
        assert made == pytest.approx(0.7854 * (size - 0.9743 / n) ** 2, rel=1e-4)


def test_every_standard_thread_can_be_had():
    for diameter, (coarse, fine) in METRIC_PITCHES.items():
        for pitch in fine if coarse is None else (coarse, *fine):
            got = thread(f"M{diameter:g} x {pitch:g}")
            assert (got.diameter, got.pitch) == (diameter / 1e3, pitch / 1e3)
            assert got.hole_diameter < got.pitch_diameter < got.diameter
            # ISO 898-1's shorter form of the stress area.
            short = pi / 4 * (diameter - 0.938194 * pitch) ** 2
            assert got.stress_area * 1e6 == pytest.approx(short, rel=1e-5)
    for size, series in UNIFIED_SERIES.items():
        for name, count in series.items():
            assert thread(f"{size}-{count} {name}").name == f"{size}-{count} {name}"


def test_a_fine_thread_is_stronger():
    assert metric_thread(0.01, 0.00125).stress_area > metric_thread(0.01, 0.0015).stress_area
