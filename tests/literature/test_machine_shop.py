"""The shop order's arithmetic against worked examples; each says where it comes from."""

from __future__ import annotations

from math import atan, degrees, pi, radians

import pytest

from bedplate.documents.crosshatch import crosshatch_picture, included_about_horizontal
from bedplate.engine import examples, read_engine
from bedplate.metrology.temperature import growth
from bedplate.quantity import Dimension, parse
from bedplate.shop.undersizes import twin

SIX = examples()["straight-six"]


def hatch(text: str) -> tuple[float, float]:
    """Return a crosshatch as an engine file says it, degrees included about the horizontal."""
    engine = read_engine(SIX.replace("40..50 deg included about the horizontal", text))
    found = engine.machining.work[0].crosshatch
    assert found is not None
    return round(degrees(found.low), 6), round(degrees(found.high), 6)


def test_crosshatch_of_a_hone_at_200_rpm_and_60_strokes_a_minute() -> None:
    """By hand: 87 mm bore, 200 rpm, 150 mm stroke, 60 cycles a minute.

    Along the bore 2·0.150·60/60 = 0.300 m/s on the average, round it π·0.087·200/60 = 0.911 m/s:
    each line rises at atan(0.3/0.911) = 18.2°, both lie 36.5° apart about the horizontal, and
    143.5° about the axis.
    """
    along, around = 2 * 0.150 * 60 / 60, pi * 0.087 * 200 / 60
    included = included_about_horizontal(along, around)
    assert degrees(included / 2) == pytest.approx(18.2, abs=0.05)
    assert degrees(included) == pytest.approx(36.5, abs=0.05)
    assert degrees(pi - included) == pytest.approx(143.5, abs=0.05)
    assert included == pytest.approx(2 * atan(along / around))


def test_three_ways_to_say_one_crosshatch() -> None:
    """180° less the angle about the horizontal is that about the axis; half is from horizontal."""
    assert hatch("36.5..40 deg included about the horizontal") == (36.5, 40.0)
    assert hatch("140..143.5 deg included about the axis") == (36.5, 40.0)
    assert hatch("18.25..20 deg from the horizontal") == (36.5, 40.0)


def test_the_drawing_names_both_angles() -> None:
    drawn = crosshatch_picture(radians(40), radians(50))
    for words in ("40…50°", "about the horizontal,", "130…140°", "about the axis"):
        assert words in drawn


@pytest.mark.parametrize(
    ("metric", "inch", "apart"),
    [("0.25 mm", "0.010 in", 4.0), ("0.50 mm", "0.020 in", 8.0), ("0.75 mm", "0.030 in", 12.0)],
)
def test_an_undersize_and_its_neighbour(metric: str, inch: str, apart: float) -> None:
    """1 in = 25.4 mm exactly, so 0.010 in is 0.254 mm: 4 µm from 0.25 mm."""
    ours, theirs = (parse(text, Dimension.LENGTH).value for text in (metric, inch))
    assert (theirs - ours) * 1e6 == pytest.approx(apart)
    assert twin(ours) == pytest.approx(theirs)
    assert twin(theirs) == pytest.approx(ours)


def test_a_bore_warm_from_honing() -> None:
    """By hand: 100 mm of grey iron, 10.8 µm/(m·K), 60 K warm: +64.8 µm."""
    assert growth(0.100, 10.8e-6, 60.0) == pytest.approx(64.8e-6)


@pytest.mark.parametrize(("micro_inch", "micrometre"), [("72 µin", 1.829), ("20 µin", 0.508)])
def test_roughness_in_both_units(micro_inch: str, micrometre: float) -> None:
    """1 µin = 0.0254 µm exactly."""
    value = parse(micro_inch, Dimension.LENGTH).value
    assert value * 1e6 == pytest.approx(micrometre, abs=5e-4)


def test_deck_height_is_what_the_parts_stack_up_to() -> None:
    """Half the stroke + rod + compression height + what stays over the piston."""
    engine = read_engine(SIX)
    assert engine.stroke / 2 + engine.rod + 31.0e-3 + 0.3e-3 == pytest.approx(217.3e-3)
