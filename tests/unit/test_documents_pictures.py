"""Form and place pictures: what is drawn is what was measured. Factors: arithmetic by hand."""

from __future__ import annotations

import re
from dataclasses import replace
from math import hypot, pi
from xml.etree import ElementTree as ET

import pytest
from tests.documents_makers import BUILD, measured

from bedplate.documents import form_picture as forms
from bedplate.documents.form_picture import Form, exaggeration, form_of, form_picture
from bedplate.documents.where_picture import where_picture
from bedplate.engine import examples, read_engine

OVAL = Form(
    name="Bore <1>",
    sections=(("top", 0.01), ("bottom", 0.11)),
    directions=(("0 deg", 0.0), ("90 deg", pi / 2)),
    diameters={(0, 0): 0.100010, (0, 1): 0.099990, (1, 0): 0.1, (1, 1): 0.1},
    mean=0.1,
)


def dots(svg):
    return [
        (float(x), float(y))
        for x, y in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="1.7"', svg)
    ]


def test_a_diameter_10_um_over_is_drawn_by_its_factor_further_out():
    svg = form_picture(OVAL, 1000.0)
    end_view = dots(svg)[:4]
    radii = [hypot(x - forms._END_X, y - forms._END_Y) for x, y in end_view]
    share = 1e-5 / 0.1 * 1000
    out, inward = forms._RADIUS * (1 + share), forms._RADIUS * (1 - share)
    assert radii == pytest.approx([out, out, inward, inward], abs=0.1)


def test_the_side_view_keeps_depths_to_scale():
    deep = replace(
        OVAL,
        sections=(("a", 0.01), ("b", 0.03), ("c", 0.11)),
        diameters={(row, 0): 0.1 for row in range(3)},
        directions=(("0 deg", 0.0),),
    )
    places = forms._places(deep)
    assert (places[1] - places[0]) / (places[2] - places[0]) == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("departure", "factor"),
    [(1e-3, 20.0), (1e-5, 2000.0), (1e-7, 5000.0), (0.0, 5000.0)],
)
def test_factor_is_a_round_one_that_fits_the_picture(departure, factor):
    """Largest of 1, 2, 5 times a power of ten with departure / 0.1 m · 48 · factor ≤ 14."""
    form = replace(OVAL, diameters={(0, 0): 0.1 + departure, (0, 1): 0.1 - departure})
    assert exaggeration([form]) == factor
    assert departure / 0.1 * forms._RADIUS * factor <= forms._LARGEST * (1 + 1e-9)


def test_the_picture_says_its_factor_and_escapes_names():
    svg = form_picture(OVAL, 2000.0)
    assert "form ×2000" in svg
    read = ET.fromstring(svg)  # noqa: S314 - our own drawing
    assert read.get("aria-label", "").startswith("Form of Bore <1>")


def test_a_form_takes_two_directions_or_two_sections(tmp_path):
    workshop = measured(tmp_path)
    state = workshop.state(BUILD)
    workshop.close()
    known = {name: form_of(feature) for name, feature in state.features.items()}
    bore = known["cylinder-bore-1"]
    assert bore is not None
    assert len(bore.sections) == 3
    assert [name for name, _ in bore.directions] == ["thrust", "crank"]
    stations = {s.id: s for s in state.features["cylinder-bore-1"].feature.stations}
    size = state.features["cylinder-bore-1"].size
    assert size is not None
    assert sorted(bore.diameters.values()) == sorted(s.value.nominal_value for s in size.stations)
    assert len(stations) == len(bore.diameters)
    assert known["piston-1"] is None
    assert known["top-ring-gap-1"] is None


@pytest.mark.parametrize("name", sorted(examples()))
def test_every_station_of_every_example_has_a_picture(name):
    engine = read_engine(examples()[name])
    for feature in engine.features.values():
        pictures = [where_picture(feature, station, engine) for station in feature.stations]
        for picture in pictures:
            ET.fromstring(picture)  # noqa: S314 - our own drawing
        drawn = {picture.partition("aria-label")[2].partition(">")[2] for picture in pictures}
        assert len(drawn) == len(pictures), feature.id
