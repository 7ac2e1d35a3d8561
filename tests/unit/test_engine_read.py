"""What an engine file becomes: features, stations, fits, materials."""

from math import degrees, pi

import pytest
from tests.engine_makers import an_engine, fault_at, faults_of, six

from bedplate.engine import FEATURE_KINDS, FIT_KINDS, CapStyle, FitForm, Per, examples, read_engine
from bedplate.quantity import Units


@pytest.fixture(scope="module")
def straight_six():
    return read_engine(examples()["straight-six"], "straight-six.toml")


@pytest.fixture(scope="module")
def v8():
    return read_engine(examples()["v8"], "v8.toml")


def with_fit(**keys):
    lines = "\n".join(f"{key} = {value}" for key, value in keys.items())
    return an_engine(tail=f"[[fit]]\n{lines}\n", mains=5)


def test_identity(straight_six):
    assert straight_six.name == "Heron 30 (invented)"
    assert straight_six.invented
    assert straight_six.caps is CapStyle.SINGLE_2
    assert straight_six.thrust_main == "6"
    assert (straight_six.bore, straight_six.stroke) == pytest.approx((0.0845, 0.088))
    assert ("oil", "SAE 10W-60") in straight_six.facts
    assert straight_six.layout.mains == 7
    assert straight_six.remarks == ()


def test_only_what_a_fit_needs_is_a_feature(straight_six):
    kinds = {feature.kind for feature in straight_six.features.values()}
    assert "main upper shell" not in kinds
    assert "top ring groove" not in kinds
    assert {"main bearing bore", "main journal", "crankpin width", "rod width"} <= kinds
    assert with_fit(kind='"end float"', limits='"0.1..0.2 mm"', source='"x"').features.keys() == {
        "end-float"
    }


def test_ids_names_and_parts(straight_six):
    feature = straight_six.features["rod-bearing-bore-3"]
    assert (feature.name, feature.part, feature.number) == ("Rod bearing bore 3", "rod 3", "3")
    assert straight_six.features["main-journal-3"].part == "crank"
    assert straight_six.features["deck-height-A"].name == "Deck height"
    assert straight_six.features["oil-pump-drive-bore"].kind == "own"
    assert straight_six.fits["oil-pump-drive-bore"].kind == "own"


def test_a_bearing_clearance_is_the_bore_at_the_crown_less_the_journal(straight_six):
    fit = straight_six.fits["main-clearance-3"]
    assert [(w.space, w.bodies) for w in fit.ways] == [("main-bearing-bore-3", ("main-journal-3",))]
    assert fit.directions == ("crown",)
    assert fit.limits[0].range.low == pytest.approx(25e-6)
    assert fit.target
    assert fit.target.value == pytest.approx(40e-6)


def test_the_thrust_main_has_limits_of_its_own(straight_six):
    highs = {n: straight_six.fits[f"main-clearance-{n}"].limits[0].range.high for n in (5, 6, 7)}
    assert highs == pytest.approx({5: 55e-6, 6: 60e-6, 7: 55e-6})


def test_limits_near_the_split(straight_six):
    default, split = straight_six.fits["main-housing-1"].limits
    assert default.within is None
    assert degrees(split.within) == pytest.approx(30)
    assert split.range.high == pytest.approx(64.022e-3)


def test_one_value_bounds_a_form_from_above(straight_six):
    fit = straight_six.fits["main-journal-taper-1"]
    assert fit.form is FitForm.TAPER
    assert (fit.limits[0].range.low, fit.limits[0].range.high) == (None, pytest.approx(5e-6))
    assert [way.features for way in fit.ways] == [("main-journal-1",)]


def test_both_ways_where_the_file_allows_either(v8):
    ways = [way.features for way in v8.fits["main-clearance-2"].ways]
    assert ways == [
        ("main-bearing-bore-2", "main-journal-2"),
        ("main-housing-2", "main-upper-shell-2", "main-lower-shell-2", "main-journal-2"),
    ]
    assert "main-upper-shell-2" in v8.features


def test_a_pair_shares_its_side_clearance_and_both_rods_are_taken_off(v8):
    direct, widths = v8.fits["rod-side-clearance-2"].ways
    assert direct.features == ("rod-side-clearance-2",)
    assert widths.features == ("crankpin-width-2", "rod-width-3", "rod-width-4")
    assert v8.fits["rod-side-clearance-2"].formula.endswith("rod width − rod width")
    assert v8.features["crankpin-width-2"].nominal == pytest.approx(0.0254 * (2 * 0.940 + 0.015))


def test_a_rod_clearance_takes_the_crankpin_its_rod_runs_on(v8):
    pins = {n: v8.fits[f"rod-clearance-{n}"].ways[0].bodies for n in (3, 4, 5)}
    assert pins == {3: ("crankpin-2",), 4: ("crankpin-2",), 5: ("crankpin-3",)}


def test_a_v_engine_has_a_deck_height_for_each_bank(v8):
    assert [f.name for f in v8.features.values() if f.kind == "deck height"] == [
        "Deck height A", "Deck height B",
    ]  # fmt: skip


def test_stations_have_ids_sections_directions_and_depths(straight_six, v8):
    stations = {s.id: s for s in straight_six.features["cylinder-bore-2"].stations}
    assert list(stations) == [
        "12mm-thrust", "12mm-crank", "45mm-thrust", "45mm-crank", "105mm-thrust", "105mm-crank",
    ]  # fmt: skip
    station = stations["45mm-crank"]
    assert (station.name, station.section) == ("45 mm down, crank", "45mm")
    assert (station.direction, station.angle, station.depth) == ("crank", pi / 2, 0.045)
    inch = {s.id: s.depth for s in v8.features["cylinder-bore-2"].stations}
    assert inch["1.75in-thrust"] == pytest.approx(0.04445)


def test_directions_of_a_bearing_are_counted_from_the_crown():
    engine = read_engine(examples()["in-line-four-frame"])
    angles = {s.direction: s.angle for s in engine.features["main-housing-1"].stations}
    assert {name: round(degrees(angle)) for name, angle in angles.items()} == {
        "crown": 0, "60 deg left": -60, "60 deg right": 60, "10 deg from the split, left": -80,
    }  # fmt: skip


def test_stations_may_hold_for_some_numbers_only():
    engine = read_engine(examples()["flat-four"])
    sections = {n: len(engine.features[f"main-bearing-bore-{n}"].stations) for n in (1, 4, 5)}
    assert sections == {1: 6, 4: 6, 5: 3}


def test_single_stations_with_names_of_their_own():
    tail = """[[feature]]
name = "pump face"
part = "block"
shape = "height"
limits = "1..2 mm"
source = "x"
at = ["left, 12 mm down", "90 deg, outer", "middle"]
"""
    stations = an_engine(tail=tail).features["pump-face"].stations
    assert [s.id for s in stations] == ["left-12mm-down", "90-deg-outer", "middle"]
    assert stations[0].depth == pytest.approx(0.012)
    assert degrees(stations[1].angle or 0) == pytest.approx(90)
    assert stations[2].direction == ""


def test_a_bore_is_measured_at_the_depth_that_its_clearance_names():
    engine = with_fit(
        kind='"piston clearance"', limits='"0.07..0.1 mm"', source='"x"', bore='"38 mm down"'
    )
    depths = {s.depth for s in engine.features["cylinder-bore-1"].stations}
    assert engine.fits["piston-clearance-1"].depth in depths
    assert len(depths) == 4
    text = six(('bore   = "45 mm below the deck"', 'bore = "46 mm"'))
    assert "no bore station is 46 mm down" in fault_at(text, "fit[19].bore").wrong


def test_a_piston_is_measured_where_its_maker_says(straight_six):
    (station,) = straight_six.features["piston-4"].stations
    assert station.id == "gauge-point"
    assert station.name.startswith("12 mm above the skirt's end")


def test_negative_limits_are_legal():
    engine = read_engine(examples()["flat-four"])
    assert engine.fits["piston-clearance-1"].limits[0].range.low == pytest.approx(-12e-6)


def test_a_condition_comes_from_the_fit_the_stations_or_the_section(straight_six):
    assert straight_six.features["main-housing-1"].condition.startswith("caps tightened")
    assert straight_six.features["rod-housing-1"].condition == "in the rod vise, bolts stretched"
    assert straight_six.features["cylinder-bore-1"].condition.startswith("torque plate fitted")
    assert straight_six.features["main-journal-1"].condition == ""


def test_what_is_expected_of_a_size(straight_six, v8):
    nominals = {n: straight_six.features[n].nominal for n in (
        "main-journal-1", "main-bearing-bore-1", "piston-1", "deck-clearance-1", "top-ring-gap-1",
    )}  # fmt: skip
    assert nominals == pytest.approx({
        "main-journal-1": 0.05999, "main-bearing-bore-1": 0.06003, "piston-1": 0.084415,
        "deck-clearance-1": 0.0003, "top-ring-gap-1": 0.00046,
    })  # fmt: skip
    plays = {f.kind: f.play for f in v8.features.values() if f.shape in {"hole", "shaft", "wall"}}
    assert max(plays.values()) < 0.0254 * 0.025, "one turn of an inch thimble must stand out"
    for engine in (straight_six, v8):
        assert all(f.play is None or f.play > 0 for f in engine.features.values())


def test_materials_reach_the_features():
    engine = read_engine(examples()["in-line-four-frame"])
    assert engine.features["cylinder-bore-1"].material == "grey iron"
    assert engine.features["main-housing-1"].material == "aluminium"
    assert engine.features["top-ring-gap-1"].material == ""
    assert engine.materials["steel"].expansion == pytest.approx(11.5e-6)
    assert all(m.source for m in engine.materials.values())


def test_a_material_of_its_own():
    flat = read_engine(examples()["flat-four"])
    alloy = flat.materials["cast piston alloy"]
    assert (alloy.expansion, alloy.expansion_uncertainty) == pytest.approx((20.5e-6, 0.5e-6))
    assert flat.features["piston-1"].material == "cast piston alloy"


def test_units_are_those_of_the_bore_unless_the_file_says():
    assert read_engine(six()).units is Units.METRIC
    inch = six(('bore       = "84.50 mm"', 'bore = "3.3268 in"'))
    assert read_engine(inch).units is Units.INCH


def test_own_features_are_counted_by_what_they_belong_to():
    engine = read_engine(examples()["flat-four"])
    seats = [f for f in engine.features.values() if f.id.startswith("barrel-seat-depth")]
    assert [f.number for f in seats] == ["1", "2", "3", "4"]
    assert {f.gauge for f in seats} == {"depth micrometer"}
    assert engine.fits["barrel-seat-depth-4"].form is FitForm.SIZE


def test_every_fit_can_be_worked_out_from_features_that_are_there():
    for text in examples().values():
        engine = read_engine(text)
        for fit in engine.fits.values():
            assert fit.ways
            assert all(name in engine.features for way in fit.ways for name in way.features)
            assert fit.limits[0].within is None
            assert fit.source
            assert fit.line > 0


def test_every_kind_of_fit_can_be_asked_for():
    named = 'hole = "small end"\nshaft = "piston pin"\n'
    tail = "".join(
        f'[[fit]]\nkind = "{kind.name}"\nlimits = "{_some(kind)}"\nsource = "x"\n'
        f"{named if kind.named_by_file else ''}"
        for kind in FIT_KINDS.values()
    )
    engine = an_engine(tail=tail, mains=5)
    assert {fit.kind for fit in engine.fits.values()} == set(FIT_KINDS)


def _some(kind):
    sizes = {"cylinder bore": "85.9..86.1 mm"}
    return sizes.get(kind.name, "0.01..0.02 mm")


def test_every_kind_of_feature_can_be_given_stations():
    tail = "".join(f'[[stations]]\nfeature = "{kind}"\n' for kind in FEATURE_KINDS)
    engine = an_engine(tail=tail, mains=5)
    assert {feature.kind for feature in engine.features.values()} == set(FEATURE_KINDS)
    assert all(feature.stations for feature in engine.features.values())


def test_numbers_follow_what_a_kind_is_counted_by(v8):
    counts = {per: set() for per in Per}
    for feature in v8.features.values():
        counts[feature.per].add(feature.number)
    assert {per.value: len(numbers) for per, numbers in counts.items()} == {
        "engine": 1, "main": 5, "crankpin": 4, "cylinder": 8, "bank": 2,
    }  # fmt: skip


def test_the_same_text_gives_the_same_engine():
    text = examples()["v8"]
    assert read_engine(text, "v8.toml") == read_engine(text, "v8.toml")
    assert read_engine(text).digest != read_engine(text + "\n").digest


def test_measuring_rules():
    engine = read_engine(examples()["flat-four"])
    assert engine.measuring.reduce
    assert engine.measuring.temperature_uncertainty == pytest.approx(0.5)
    v8 = read_engine(examples()["v8"])
    assert (v8.measuring.coverage, v8.measuring.reduce) == (2.0, False)
    assert v8.measuring.temperature_uncertainty == pytest.approx(5 / 9)


def test_a_clearance_out_of_proportion_is_remarked_on_not_refused():
    text = six(('"0.025..0.055 mm"', '"0.25..0.55 mm"'), ('target = "0.040 mm"\n', ""))
    (remark,) = read_engine(text).remarks
    assert remark.startswith("Line 94: main clearance up to 0.25..0.55 mm")


def test_few_mains_are_remarked_on_and_too_many_refused():
    assert "3 mains for 4 throws" in an_engine(mains=3).remarks[0]
    assert an_engine(mains=5).remarks == ()
    faults = faults_of(six(("count   = 7", "count = 8")))
    assert [f.wrong for f in faults] == ["8 mains are too many for 6 crankpins"]
