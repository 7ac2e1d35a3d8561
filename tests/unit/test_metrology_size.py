"""Size and form from station values."""

from __future__ import annotations

from math import cos, degrees, radians

import pytest
from tests.metrology_makers import bench, feature, gauge, measured, reading, station

from bedplate.errors import NotPossibleError
from bedplate.metrology import (
    budget,
    eccentricity,
    select,
    size_of,
    standard_uncertainty,
    two_point_ellipse,
)
from bedplate.metrology.size import pooled_deviation

BORE = feature(
    "bore",
    [
        station(f"{depth}-{way}", f"{depth}", way, angle, depth / 1000)
        for depth in (12, 45, 110)
        for way, angle in (("thrust", 0), ("crank", 90))
    ],
)
READ = {
    "12-thrust": 86.012, "12-crank": 86.004,
    "45-thrust": 86.010, "45-crank": 86.007,
    "110-thrust": 86.001, "110-crank": 86.002,
}  # fmt: skip


def size(texts, of=BORE, names=None):
    taken = [
        reading(f"{text:.3f} mm", station=name, feature=of.id)
        for name, text in (names or texts).items()
    ]
    return measured(bench([gauge("mic")]), of, taken)


def mm(value):
    return value.nominal_value * 1000


def test_size_and_form():
    bore = size(READ)
    assert mm(bore.mean) == pytest.approx(86.006, abs=1e-9)
    assert (mm(bore.least), mm(bore.greatest)) == pytest.approx((86.001, 86.012), abs=1e-9)
    # Worst section is 12 mm down: 12.012 − 12.004; worst direction is thrust: 86.012 − 86.001.
    assert mm(bore.out_of_round) == pytest.approx(0.008, abs=1e-9)
    assert mm(bore.taper) == pytest.approx(0.011, abs=1e-9)
    assert bore.complete
    assert [s.station for s in bore.stations] == list(READ)


def test_form_is_free_of_what_the_stations_share():
    bore = size(READ)
    sources = {row.source for row in budget(bore.out_of_round)}
    assert "calibration of mic" not in sources
    assert standard_uncertainty(bore.out_of_round) < standard_uncertainty(bore.mean)


def test_form_of_equal_stations_is_nought_but_not_certain():
    """Two stations that read alike differ by 0 ± what two readings can hide (GUM 5.1.2)."""
    bore = size(dict.fromkeys(READ, 86.006))
    assert bore.out_of_round.nominal_value == pytest.approx(0.0, abs=1e-12)
    assert standard_uncertainty(bore.out_of_round) > 1e-6
    assert standard_uncertainty(bore.taper) > 1e-6


def test_repeats_at_a_station_are_averaged():
    journal = feature("journal", [station("a"), station("b")])
    taken = [reading("55.001 mm"), reading("55.003 mm"), reading("55.008 mm", station="b")]
    held = measured(bench([gauge("mic")]), journal, taken)
    assert mm(held.mean) == pytest.approx(55.005, abs=1e-9)
    assert held.stations[0].readings == (31, 32)
    assert held.stations[0].values == pytest.approx((0.055001, 0.055003))
    assert pooled_deviation(held) == (pytest.approx(2e-6 / 2**0.5), 1)


def test_stations_missing_and_stations_unknown():
    part = {k: v for k, v in READ.items() if k != "45-crank"}
    bore = size({**part, "no-such-place": 99.0})
    assert not bore.complete
    assert len(bore.stations) == 5
    with pytest.raises(NotPossibleError):
        size({"no-such-place": 99.0})
    with pytest.raises(NotPossibleError):
        size_of(BORE, [])


def test_one_direction_shows_no_out_of_round_and_one_section_no_taper():
    thrust = size({k: v for k, v in READ.items() if k.endswith("thrust")})
    assert thrust.out_of_round is None
    assert mm(thrust.taper) == pytest.approx(0.011, abs=1e-9)
    section = size({k: v for k, v in READ.items() if k.startswith("45")})
    assert section.taper is None
    assert mm(section.out_of_round) == pytest.approx(0.003, abs=1e-9)
    lone = size({"45-crank": 86.007})
    assert (lone.out_of_round, lone.taper) == (None, None)
    assert lone.least is lone.greatest


def test_select_by_depth_and_direction():
    bore = size(READ)
    skirt = select(bore, BORE, depth=0.050)
    assert [s.station for s in skirt.stations] == ["45-thrust", "45-crank"]
    assert skirt.complete
    thrust = select(bore, BORE, directions=("thrust",), depth=0.1)
    assert [s.station for s in thrust.stations] == ["110-thrust"]
    assert select(bore, BORE, directions=("across",)) is None
    assert len(select(bore, BORE).stations) == 6


def test_select_speaks_of_the_stations_that_count():
    bore = size({"12-thrust": 86.012, "45-thrust": 86.010})
    assert select(bore, BORE, depth=0.110) is None
    assert not select(bore, BORE, depth=0.045).complete
    assert not select(bore, BORE, directions=("thrust",)).complete
    assert select(bore, BORE, directions=("thrust",), depth=0.045).complete


def bearing():
    return feature(
        "main bearing bore",
        [
            station(f"{way}-{edge}", edge, way, angle)
            for edge in ("front", "rear")
            for way, angle in (("crown", 0), ("60 deg left", 60), ("60 deg right", -60))
        ],
    )


def test_eccentricity_is_crown_less_sides():
    # By hand: front 55.030 − (55.042 + 55.040)/2 = −0.011; rear 55.032 − 55.041 = −0.009.
    readings = {
        "crown-front": 55.030, "60 deg left-front": 55.042, "60 deg right-front": 55.040,
        "crown-rear": 55.032, "60 deg left-rear": 55.041,
    }  # fmt: skip
    value = eccentricity(size(readings, bearing()), bearing())
    assert mm(value) == pytest.approx(-0.010, abs=1e-9)
    assert "calibration of mic" not in {row.source for row in budget(value)}


def test_no_eccentricity_without_both():
    assert eccentricity(size({"crown-front": 55.03}, bearing()), bearing()) is None
    apart = {"crown-front": 55.03, "60 deg left-rear": 55.04}
    assert eccentricity(size(apart, bearing()), bearing()) is None
    assert eccentricity(size(READ), BORE) is None


@pytest.mark.parametrize("angles", [(0, 60, -60), (0, 45, 90, 135), (10, 50, 100, 160)])
@pytest.mark.parametrize(("ovality", "axis"), [(0.020, 30.0), (0.006, 135.0), (0.010, 0.0)])
def test_ellipse_from_two_point_diameters(angles, ovality, axis):
    # Closed form: d(θ) = mean + ovality/2·cos 2(θ − axis).
    of = feature("journal", [station(str(a), "", str(a), a) for a in angles])
    held = bench([gauge("mic", resolution="0.000001 mm")])
    taken = [
        reading(f"{55 + ovality / 2 * cos(2 * radians(a - axis)):.9f} mm", station=str(a))
        for a in angles
    ]
    (ellipse,) = two_point_ellipse(measured(held, of, taken), of)
    assert mm(ellipse.mean) == pytest.approx(55.0, abs=1e-8)
    assert mm(ellipse.ovality) == pytest.approx(ovality, abs=1e-8)
    assert (degrees(ellipse.direction) - axis + 90) % 180 == pytest.approx(90, abs=1e-3)
    assert "calibration of mic" not in {
        r.source for r in budget(ellipse.ovality) if abs(r.amount) > 1e-12
    }


def test_no_ellipse_where_directions_do_not_tell():
    for angles in ((0, 90), (0, 90, 180), (None, None, None)):
        of = feature("j", [station(f"{n}", "", f"{n}", a) for n, a in enumerate(angles)])
        read = {f"{n}": 55.0 for n in range(len(angles))}
        assert two_point_ellipse(size(read, of), of) == ()


def test_round_section_is_an_ellipse_without_ovality():
    of = feature("journal", [station(str(a), "", str(a), a) for a in (0, 60, 120)])
    (ellipse,) = two_point_ellipse(size(dict.fromkeys(("0", "60", "120"), 55.0), of), of)
    assert mm(ellipse.ovality) == pytest.approx(0.0, abs=1e-9)
    assert standard_uncertainty(ellipse.ovality) > 0.0
