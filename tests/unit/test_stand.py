"""The drawing of the short block: well formed, and every feature on it once."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from xml.etree import ElementTree as ET

import pytest

from bedplate.documents.marks import Mark
from bedplate.documents.places import Shown, columns
from bedplate.documents.sections import sections
from bedplate.documents.stand import NUMBERINGS, end_view, plan
from bedplate.documents.station import sections_on_paper, station_picture
from bedplate.documents.where_picture import where_picture
from bedplate.engine import examples, read_engine
from bedplate.engine.features import FEATURE_KINDS, Per
from bedplate.engine.model import CapStyle, Cylinder, Feature, Layout, Station
from bedplate.metrology.results import Verdict

SVG = "{http://www.w3.org/2000/svg}"


def _read(drawing):
    return ET.fromstring(drawing)  # noqa: S314 - our own drawing


KINDS = ("main housing", "main journal", "crankpin", "cylinder bore", "piston", "end float",
         "crank snout", "damper hub", "deck height", "top ring gap",
         "main upper shell")  # fmt: skip


def _layout(form, count, *, mains, pins, angle=0.0):
    per = count // (1 if form == "in-line" else 2)
    places = [(bank, at) for bank in "AB"[: count // per] for at in range(1, per + 1)]
    cylinders = tuple(
        Cylinder(
            place=f"{bank}{at}",
            label=str(number),
            bank=bank,
            position=at,
            crankpin=at if pins == per else 2 * at - (bank == "A"),
            bank_angle=0.0 if form == "in-line" else (angle / 2 if bank == "B" else -angle / 2),
            throw_angle=(at % 4) * pi / 2,
            dead_centre=(at % 4) * pi / 2,
            iso_1204=f"{bank}{per + 1 - at}",
            din_73021=str(number),
        )
        for number, (bank, at) in enumerate(places, 1)
    )
    firing = tuple(c.label for c in cylinders)
    return Layout(
        form=form, bank_angle=angle, pin_offset=0.0, shared_pins=pins == per, cycle=4 * pi,
        front="drive end", clockwise=False, cylinders=cylinders, crankpins=pins, mains=mains,
        mains_from="drive end", firing=firing, intervals=(4 * pi / count,) * count,
    )  # fmt: skip


def _features(layout):
    numbers = {
        Per.ENGINE: [""],
        Per.MAIN: [str(n + 1) for n in range(layout.mains)],
        Per.CRANKPIN: [str(n + 1) for n in range(layout.crankpins)],
        Per.CYLINDER: [c.label for c in layout.cylinders],
        Per.BANK: sorted({c.bank for c in layout.cylinders}),
    }
    found = {}
    for kind in (FEATURE_KINDS[name] for name in KINDS):
        for number in numbers[kind.per]:
            name = f"{kind.name} {number}".strip()
            station = Station("one", "", "", "", None, None)
            found[name.replace(" ", "-")] = Feature(
                id=name.replace(" ", "-"), kind=kind.name, per=kind.per, number=number, name=name,
                part=kind.part, shape=kind.shape, gauge=kind.gauge, material="", nominal=None,
                play=None, condition="", stations=(station,),
            )  # fmt: skip
    return found


ODD = {
    "single": (_layout("in-line", 1, mains=2, pins=1), CapStyle.TUNNEL),
    "twin on one pin": (_layout("V", 2, mains=2, pins=1, angle=0.8), CapStyle.HALVES),
    "six with four mains": (_layout("in-line", 6, mains=4, pins=6), CapStyle.SINGLE_2),
    "V6, split pins": (_layout("V", 6, mains=4, pins=6, angle=1.0), CapStyle.SINGLE_4),
    "V12": (_layout("V", 12, mains=7, pins=6, angle=1.0), CapStyle.SINGLE_4),
    "V16": (_layout("V", 16, mains=9, pins=8, angle=1.6), CapStyle.SINGLE_6),
    "flat twelve": (_layout("flat", 12, mains=7, pins=12, angle=pi), CapStyle.HALVES),
    "in-line 16": (_layout("in-line", 16, mains=17, pins=16), CapStyle.FRAME),
}


def _engine(name):
    if name in ODD:
        layout, caps = ODD[name]
        plain = read_engine(examples()["v8"])
        return replace(plain, layout=layout, caps=caps, features=_features(layout))
    return read_engine(examples()[name], name)


@pytest.fixture(scope="module", params=[*sorted(examples()), *ODD])
def engine(request):
    return _engine(request.param)


def _linked(engine, looks):
    drawn = [
        _read(plan(engine, looks)),
        _read(end_view(engine, looks)),
    ]
    found = [e.get("data-feature") for root in drawn for e in root.iter() if e.get("data-feature")]
    for section in sections(engine):
        if section.drawing:
            _read(section.drawing)
        found += [f.id for row in section.rows for f in row.features]
    return found


def test_every_feature_is_drawn_once(engine):
    assert sorted(_linked(engine, {})) == sorted(engine.features)


def test_a_mark_stands_for_each_feature_of_the_plan(engine):
    looks = {
        name: Shown(
            Mark(Verdict.OUTSIDE, below=True), f"{name} & <it>", f"/measure?feature={name}&x=1"
        )
        for name in engine.features
    }
    root = _read(plan(engine, looks))
    links = root.findall(f".//{SVG}a")
    assert links
    for link in links:
        assert link.get("href", "").startswith("/measure?feature=")
        assert link.get("aria-label", "").endswith("& <it>")
        assert len(link.findall(f".//{SVG}g[@class='mark outside']")) == 1


def test_nothing_lies_outside_the_sheet(engine):
    root = _read(plan(engine, {}))
    _, _, width, height = map(float, root.get("viewBox", "").split())
    for box in root.iter(f"{SVG}rect"):
        x, y = float(box.get("x", 0)), float(box.get("y", 0))
        assert x >= 0, box.attrib
        assert y >= 0, box.attrib
        assert x + float(box.get("width", 0)) <= width
        assert y + float(box.get("height", 0)) <= height


@pytest.mark.parametrize("labels", NUMBERINGS)
def test_bores_carry_the_numbering_asked_for(engine, labels):
    attribute = {"maker": "label", "iso": "iso_1204", "din": "din_73021"}[labels]
    words = {t.text for t in _read(plan(engine, {}, labels=labels)).iter(f"{SVG}text")}
    assert {getattr(c, attribute) for c in engine.layout.cylinders} <= words


def test_mains_and_pins_stand_in_order(engine):
    at = columns(engine.layout, 80)
    order = sorted(at.mains, key=lambda number: at.mains[number])
    numbers = [int(n) for n in order]
    assert numbers == sorted(numbers, reverse=engine.layout.mains_from != "free end")
    assert sorted(at.pins, key=lambda number: at.pins[number]) == sorted(at.pins, key=int)
    pins, mains = list(at.pins.values()), list(at.mains.values())
    assert min(abs(p - m) for p in pins for m in mains) > 54


def test_every_station_has_a_picture(engine):
    for feature in engine.features.values():
        pictures = [station_picture(feature, s, engine) for s in feature.stations]
        for picture in pictures:
            _read(picture)
        assert len(set(pictures)) == len(pictures), f"two stations of {feature.name} look the same"


def test_no_word_of_a_station_picture_runs_out_of_it(engine):
    """Half the type size a letter is about what this type takes."""
    for feature in engine.features.values():
        for station in feature.stations:
            for words in _read(station_picture(feature, station, engine)).iter(f"{SVG}text"):
                long = len(words.text or "") * float(words.get("font-size")) * 0.5
                left = {"start": 0.0, "middle": 0.5, "end": 1.0}[words.get("text-anchor")]
                x = float(words.get("x"))
                assert x - left * long >= 0, (feature.id, words.text)
                assert x + (1 - left) * long <= 400, (feature.id, words.text)


def test_the_small_picture_shows_the_section_where_the_large_one_does(engine):
    for feature in engine.features.values():
        across = all(s.depth is None for s in feature.stations)
        if feature.shape.value not in {"hole", "shaft"} or not across:
            continue
        expected = sections_on_paper(feature, engine)
        for station in feature.stations:
            small = _read(where_picture(feature, station, engine))
            kinds = [p.get("class") for p in small.iter(f"{SVG}path")]
            cuts = [kind for kind in kinds if kind in {"heavy", "hidden"}]
            if station.section:
                assert cuts.index("heavy") == expected.index(station.section), feature.id
