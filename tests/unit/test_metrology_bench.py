"""The model of a reading: what a size rests on, and who shares it."""

from __future__ import annotations

from math import sqrt

import pytest
from tests.metrology_makers import (
    AS_FOUND,
    IRON,
    REDUCED,
    bench,
    feature,
    gauge,
    measured,
    reading,
    setting,
)

from bedplate.errors import NotPossibleError
from bedplate.metrology import budget, combine, standard_uncertainty
from bedplate.metrology.temperature import expansion_known_to

BORE_GAUGE = gauge("dbg", comparator=True, expanded_uncertainty="0.002 mm")
RING = setting("dbg", "55.000 mm", master="ring 55", size_uncertainty="0.0012 mm")
IN_MIC = setting("dbg", "55.000 mm", on_gauge="mic")


def amounts(value):
    return {row.source: row.amount for row in budget(value)}


def test_absolute_gauge():
    mic = gauge("mic", bias="0.002 mm", coverage=3.0)
    value = bench([mic]).measure(31, reading("54.990 mm"), feature())
    assert value.nominal_value == pytest.approx(54.988e-3, abs=1e-12)
    assert amounts(value) == pytest.approx(
        {
            "calibration of mic": 1e-6,
            "reading 31: repeatability": 1e-6,
            "resolution of mic at journal/a": 1e-6 / sqrt(12),
        }
    )


def test_comparator_on_a_master():
    value = bench([BORE_GAUGE], [RING]).measure(
        31, reading("-0.012 mm", by="dbg", setting="s1"), feature()
    )
    assert value.nominal_value == pytest.approx(54.988e-3, abs=1e-12)
    assert amounts(value) == pytest.approx(
        {
            "master ring 55": 0.6e-6,
            "calibration of dbg": 1e-6,
            "setting 11 of dbg: zero": sqrt(1 + 1 / 12) * 1e-6,
            "reading 31: repeatability": 1e-6,
            "resolution of dbg at journal/a": 1e-6 / sqrt(12),
        }
    )


def test_comparator_on_another_gauge():
    mic = gauge("mic", bias="0.002 mm")
    value = bench([mic, BORE_GAUGE], [IN_MIC]).measure(
        31, reading("+0.005 mm", by="dbg", setting="s1"), feature()
    )
    assert value.nominal_value == pytest.approx(55.003e-3, abs=1e-12)
    held = amounts(value)
    assert held["calibration of mic"] == pytest.approx(1.5e-6)
    assert held["setting 11 of dbg: reading of mic"] == pytest.approx(sqrt(1 + 1 / 12) * 1e-6)


def test_bias_of_a_comparator_is_taken_out_by_its_zero():
    biased = gauge("dbg", comparator=True, bias="0.010 mm")
    value = bench([biased], [RING]).measure(
        31, reading("0.000 mm", by="dbg", setting="s1"), feature()
    )
    assert value.nominal_value == pytest.approx(55e-3, abs=1e-12)


def test_calibration_is_one_error_until_it_changes():
    same = gauge("mic", repeatability="0.002 mm")
    again = gauge("mic", calibrated="2026-11-01")
    held = bench([gauge("mic"), same, again])
    first = held.measure(2, reading("55.000 mm"), feature())
    second = held.measure(3, reading("55.000 mm", station="b"), feature())
    third = held.measure(31, reading("55.000 mm", station="c"), feature())
    assert "calibration of mic" not in amounts(combine([(1.0, first), (-1.0, second)]))
    assert "calibration of mic" in amounts(combine([(1.0, first), (-1.0, third)]))


def test_gauge_counts_as_it_was_registered_before_the_reading():
    held = bench([gauge("mic", bias="0.000 mm"), gauge("mic", bias="0.010 mm")])
    before = held.measure(2, reading("55.000 mm"), feature())
    after = held.measure(3, reading("55.000 mm"), feature())
    assert before.nominal_value - after.nominal_value == pytest.approx(10e-6, abs=1e-12)


def test_two_comparators_share_a_master():
    other = gauge("dbg2", comparator=True)
    on_ring = setting("dbg2", "55.000 mm", master="ring 55", size_uncertainty="0.0012 mm")
    held = bench([BORE_GAUGE, other], [RING, on_ring])
    one = held.measure(31, reading("0.000 mm", by="dbg", setting="s1"), feature())
    two = held.measure(32, reading("0.000 mm", by="dbg2", setting="s2"), feature())
    assert "master ring 55" not in amounts(combine([(1.0, one), (-1.0, two)]))


def test_masters_without_a_name_share_nothing():
    unnamed = {"size_uncertainty": "0.0012 mm"}
    held = bench(
        [BORE_GAUGE], [setting("dbg", "55.000 mm", **unnamed), setting("dbg", "55 mm", **unnamed)]
    )
    one = held.measure(31, reading("0.000 mm", by="dbg", setting="s1"), feature())
    two = held.measure(32, reading("0.000 mm", by="dbg", setting="s2"), feature())
    assert {"master of setting 11", "master of setting 12"} <= set(
        amounts(combine([(1.0, one), (-1.0, two)]))
    )


@pytest.mark.parametrize(
    ("later", "drift"),
    [
        (setting("dbg", "55.000 mm", master="ring 55", found="-0.003 mm"), 3e-6 / sqrt(3)),
        (setting("dbg", "55.000 mm", master="ring 55"), None),
        (setting("dbg", "55.000 mm", master="ring B", found="-0.003 mm"), None),
        (setting("dbg", "51.000 mm", master="ring 55", found="-0.003 mm"), None),
        (setting("other", "55.000 mm", master="ring 55", found="-0.003 mm"), None),
    ],
)
def test_drift_found_on_the_same_size(later, drift):
    held = bench([BORE_GAUGE], [RING, later])
    value = held.measure(31, reading("0.000 mm", by="dbg", setting="s1"), feature())
    expected = None if drift is None else pytest.approx(drift)
    assert amounts(value).get("setting 11 of dbg: drift") == expected


def test_the_setting_after_a_check_has_no_drift():
    later = setting("dbg", "55.000 mm", master="ring 55", found="0.003 mm")
    held = bench([BORE_GAUGE], [RING, later])
    value = held.measure(31, reading("0.000 mm", by="dbg", setting="s2"), feature())
    assert not any("drift" in source for source in amounts(value))


@pytest.mark.parametrize(
    ("text", "step"),
    [
        ("55.000 mm", 1e-6),
        ("55.0000 mm", 1e-6),
        ("55.00 mm", 1e-5),
        ("2.165 in", 25.4e-6),
        ("2 1/8 in", 25.4e-3 / 8),
        ("2 11/64 in", 25.4e-3 / 64),
        ("55 mm", 1e-3),
    ],
)
def test_coarser_of_gauge_and_text_gives_the_resolution(text, step):
    value = bench([gauge("mic")]).measure(31, reading(text), feature())
    assert amounts(value)["resolution of mic at journal/a"] == pytest.approx(step / sqrt(12))


def test_text_shapes_do_not_mix_fractions_or_powers():
    held = bench([gauge("mic")])
    for text, step in (("2 1/8 in", 8), ("2 1/4 in", 4), ("2 1/2 in", 2)):
        value = held.measure(step, reading(text, station=text), feature())
        source = f"resolution of mic at journal/{text}"
        assert amounts(value)[source] == pytest.approx(25.4e-3 / step / sqrt(12))


@pytest.mark.parametrize(("text", "step"), [("0 mm", 1e-6), ("0.00 mm", 1e-5), ("5 µm", 1e-6)])
def test_a_needle_on_zero_has_the_step_of_the_gauge(text, step):
    value = bench([BORE_GAUGE], [RING]).measure(
        31, reading(text, by="dbg", setting="s1"), feature()
    )
    assert amounts(value)["resolution of dbg at journal/a"] == pytest.approx(step / sqrt(12))


def test_bare_number_is_read_in_the_unit_of_the_gauge():
    wedge = gauge("mic", reads_in="mm")
    bare = reading("55.00 mm")
    bare = type(bare)(**{**{f: getattr(bare, f) for f in bare.__struct_fields__},
                         "value": type(bare.value)(text="55.00", si=0.055)})  # fmt: skip
    value = bench([wedge]).measure(31, bare, feature())
    assert amounts(value)["resolution of mic at journal/a"] == pytest.approx(1e-5 / sqrt(12))


def test_repeats_average_repeatability_but_not_resolution():
    size = measured(bench([gauge("mic")]), feature(), [reading("55.000 mm")] * 4)
    held = amounts(size.mean)
    assert [held[f"reading {n}: repeatability"] for n in (31, 32, 33, 34)] == [0.25e-6] * 4
    assert held["resolution of mic at journal/a"] == pytest.approx(1e-6 / sqrt(12))
    assert held["calibration of mic"] == pytest.approx(1.5e-6)


def test_a_reading_measured_twice_is_the_same_reading():
    held = bench([gauge("mic")])
    pair = [held.measure(31, reading("55.000 mm"), feature()) for _ in range(2)]
    assert standard_uncertainty(combine([(1.0, pair[0]), (-1.0, pair[1])])) == 0.0


@pytest.mark.parametrize(
    ("gauges", "settings", "taken"),
    [
        ([], [], reading("55.000 mm")),
        ([BORE_GAUGE], [], reading("0.000 mm", by="dbg")),
        ([BORE_GAUGE], [RING], reading("0.000 mm", by="dbg", setting="gone")),
        ([BORE_GAUGE], [setting("other", "55 mm")], reading("0 mm", by="dbg", setting="s1")),
        ([BORE_GAUGE], [IN_MIC], reading("0.000 mm", by="dbg", setting="s1")),
        (
            [BORE_GAUGE, gauge("mic", comparator=True)],
            [IN_MIC],
            reading("0.000 mm", by="dbg", setting="s1"),
        ),
    ],
    ids=["no gauge", "no setting", "setting gone", "setting of another", "set on no gauge",
         "set on a comparator"],
)  # fmt: skip
def test_what_cannot_be_measured_is_said(gauges, settings, taken):
    held = bench(gauges, settings)
    with pytest.raises(NotPossibleError) as caught:
        held.measure(31, taken, feature())
    assert caught.value.sentence.endswith(".")
    assert held.reduction(taken, feature(material="grey iron")) is None


WARM = {"part_temperature": "30 °C", "gauge_temperature": "25 °C"}
CAST = feature("bore", material="grey iron", part="block")
STEEL_MIC = gauge("mic", expansion="11.5e-6 1/K")


def test_nothing_is_reduced_unless_the_build_says_so():
    warm = reading("86.000 mm", **WARM)
    held = bench([STEEL_MIC], measuring=AS_FOUND, materials=[IRON])
    assert held.measure(31, warm, CAST).nominal_value == pytest.approx(0.086, abs=1e-15)
    # 86 mm × (11.5e-6 × 5 − 11e-6 × 10) = −4.515 µm, by hand.
    assert held.reduction(warm, CAST) == pytest.approx(-4.515e-6, abs=1e-12)


@pytest.mark.parametrize(
    ("mic", "of", "warm"),
    [
        (gauge("mic"), CAST, WARM),
        (STEEL_MIC, feature("bore"), WARM),
        (STEEL_MIC, feature("bore", material="unobtainium"), WARM),
        (STEEL_MIC, CAST, {"part_temperature": "30 °C"}),
        (STEEL_MIC, CAST, {"gauge_temperature": "30 °C"}),
        (STEEL_MIC, CAST, {}),
    ],
)
def test_nothing_is_reduced_on_a_guess(mic, of, warm):
    held = bench([mic], measuring=REDUCED, materials=[IRON])
    taken = reading("86.000 mm", **warm)
    assert held.measure(31, taken, of).nominal_value == pytest.approx(0.086, abs=1e-15)
    assert held.reduction(taken, of) is None


@pytest.mark.parametrize(
    ("mic", "of", "warm", "lacking"),
    [
        (STEEL_MIC, CAST, WARM, ()),
        (gauge("mic"), CAST, WARM, ("the expansion of mic",)),
        (STEEL_MIC, feature("bore", part="block"), WARM, ("the expansion of block",)),
        (STEEL_MIC, CAST, {"gauge_temperature": "30 °C"}, ("the temperature of block",)),
        (STEEL_MIC, CAST, {}, ("the temperature of block", "the temperature of mic")),
    ],
)
def test_what_reducing_lacks_is_named(mic, of, warm, lacking):
    taken = reading("86.000 mm", **warm)
    assert bench([mic], measuring=REDUCED, materials=[IRON]).unreduced(taken, of) == lacking
    assert bench([mic], measuring=AS_FOUND, materials=[IRON]).unreduced(taken, of) == ()


def test_what_reducing_lacks_reaches_to_the_gauge_of_the_setting():
    dbg = gauge("dbg", comparator=True, expansion="11.5e-6 1/K")
    held = bench([gauge("mic"), dbg], [setting("dbg", "86 mm", on_gauge="mic")], REDUCED, [IRON])
    taken = reading("0.000 mm", by="dbg", setting="s1", **WARM)
    assert held.unreduced(taken, CAST) == ("the expansion of mic",)
    assert held.reduction(taken, CAST) is None


def test_uncertainty_without_a_usable_coverage_factor():
    with pytest.raises(NotPossibleError):
        bench([gauge("mic", coverage=0.0)]).measure(31, reading("55.000 mm"), feature())


def test_reduced_reading_carries_expansions_and_temperatures():
    held = bench([STEEL_MIC], measuring=REDUCED, materials=[IRON])
    value = held.measure(31, reading("86.000 mm", **WARM), CAST)
    assert value.nominal_value == pytest.approx(0.086 - 4.515e-6, abs=1e-12)
    found = amounts(value)
    assert found["calibration of mic"] == pytest.approx(1.5e-6 * (1 - 4.515e-6 / 0.086), rel=1e-9)
    assert found["expansion of grey iron"] == pytest.approx(-0.086 * 10 * 0.5e-6)
    assert found["expansion of mic"] == pytest.approx(0.086 * 5 * expansion_known_to())
    assert found["temperature of block"] == pytest.approx(-0.086 * 11e-6 * 0.5)
    assert found["temperature of mic"] == pytest.approx(0.086 * 11.5e-6 * 0.5)


def test_equal_temperatures_share_their_error_and_others_do_not():
    held = bench([STEEL_MIC], measuring=REDUCED, materials=[IRON])
    texts = ("86.000 mm", "86.002 mm")
    one, two = (
        held.measure(n, reading(t, station=t, **WARM), CAST) for n, t in enumerate(texts, 31)
    )
    cooler = {**WARM, "part_temperature": "26 °C"}
    three = held.measure(33, reading("86.000 mm", station="c", **cooler), CAST)

    def left(other):
        return abs(amounts(combine([(1.0, one), (-1.0, other)])).get("temperature of block", 0.0))

    assert left(two) < 1e-10
    assert left(three) > 1e-7


def test_comparator_set_cold_and_used_warm():
    # By hand. Ring and gauge of one steel stand at 25 °C together, whatever they were at when set:
    # 86 mm × (11.5e-6 × 5 − 11e-6 × 10). A micrometer of 10e-6/K was true at 20 °C, and the bore
    # gauge has grown by 86 mm × 11.5e-6 × 5 since: the same figure. Set in it at 24 °C:
    # 86 mm × (10e-6 × 4 + 11.5e-6 × 1 − 11e-6 × 10) = −5.031 µm.
    dbg = gauge("dbg", comparator=True, expansion="11.5e-6 1/K")
    mic = gauge("mic", expansion="10e-6 1/K")
    held = bench(
        [mic, dbg],
        [
            setting("dbg", "86.000 mm", master="ring", temperature="18 °C"),
            setting("dbg", "86.000 mm", on_gauge="mic", temperature="20 °C"),
            setting("dbg", "86.000 mm", on_gauge="mic", temperature="24 °C"),
        ],
        REDUCED,
        [IRON],
    )
    moves = [
        held.reduction(reading("0.000 mm", by="dbg", setting=f"s{n}", **WARM), CAST)
        for n in (1, 2, 3)
    ]
    assert moves == pytest.approx([-4.515e-6, -4.515e-6, -5.031e-6], abs=1e-12)
