"""Each layout's card on paper and in the terminal: the right sum, or why none is needed."""

import io
import json
import re
from math import cos, pi, radians
from pathlib import Path

import numpy as np
import pypdf
import pytest
from tests.balance_makers import LAYOUTS, layout_text

from bedplate.cli.main import main
from bedplate.engine import examples, read_engine
from bedplate.shop.balance.shaking import shaking_of
from bedplate.web.views.balance import balance_view
from bedplate.workshop import Workshop

ENGINES = {**examples(), **LAYOUTS}

# One cylinder of LAYOUTS: 432 + 46 = 478 g turning, 412 + 118 + 3 + 38 + 168 = 739 g up and down;
# 4 g of oil a throw. k = ½(1 − |cos(α + δ/2)|/cos(δ/2)), from direct and reverse cranks (Bevan, The
# Theory of Machines).
PLANAR = 0.5 * (1 - abs(cos(radians(105))) / cos(radians(15)))
SUMS = {
    "in-line three": (851.5, 0.5, "usual compromise"),
    "60° V6, own pins": (2 * 478 + 4 + 739, 0.5, "balances the primary force completely"),
    "60° V6, split by 60°": (2 * 478 + 4 + 739, 0.5, "balances the primary force completely"),
    "90° V6, split by 30°": (2 * 478 + 4 + PLANAR * 2 * 739, PLANAR, "Makers choose between them"),
    "90° V6, balance shaft": (2 * 478 + 4 + 739, 0.5, "balance shaft"),
    # 2·446 + 2·44 + 4 + ½·2·(492 + 132 + 4 + 42 + 184), the shipped V8.
    "v8": (1838, 0.5, "half the reciprocating mass"),
}
NONE = ("in-line-four-frame", "straight-six", "flat-four", "60° V12", "45° V16")
HANGS = {
    "60° V6, own pins": "849.5 g",
    "60° V6, split by 60°": "849.5 g",
    "90° V6, split by 30°": "750.5 g",
    "90° V6, balance shaft": "849.5 g",
}
"""On each of two pins of a throw: half of the sum, since its two rods are alike."""


def printed(tmp_path, name):
    """Return the words of the card as PDF."""
    workshop = Workshop.open(tmp_path)
    workshop.start(ENGINES[name], by="t", file="x.toml", build="b")
    pages = pypdf.PdfReader(io.BytesIO(workshop.balance_card("b"))).pages
    workshop.close()
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def grams(value):
    return f"{value:.0f} g" if value >= 1000 else f"{value:.1f} g"


def test_no_layout_is_forgotten():
    assert sorted((*SUMS, *NONE)) == sorted(ENGINES)


@pytest.mark.parametrize("name", SUMS)
def test_the_card_prints_the_right_sum(tmp_path, name):
    total, factor, why = SUMS[name]
    words = printed(tmp_path, name)
    assert f"Factor {factor:.1%}." in words
    assert why in words
    assert f"going up and down {grams(total)}" in words
    assert ("hangs on each crankpin of a throw" in words) is (name in HANGS)
    assert HANGS.get(name, "") in words
    assert "Invented: this engine and its weights are made up" in words


@pytest.mark.parametrize("name", NONE)
def test_the_card_says_why_none_is_needed(tmp_path, name):
    words = printed(tmp_path, name)
    assert "No bob-weights: the throws of this" in words
    assert "cancel each other, in force and in couple" in words
    assert "the weights must be matched" in words
    assert "Factor" not in words


@pytest.mark.parametrize("name", ENGINES)
def test_the_terminal_says_the_same_of_an_engine_file(tmp_path, capsys, name):
    path = tmp_path / "engine.toml"
    path.write_text(ENGINES[name], "utf-8")
    assert main(["balance", "--units", "metric", str(path)]) == 0
    said = capsys.readouterr().out
    if name in SUMS:
        total, factor, _ = SUMS[name]
        assert f": {grams(total)}, factor {factor:.1%}." in said
    else:
        assert "No bob-weights" in said
        assert "Bob-weight of" not in said


@pytest.mark.parametrize("name", LAYOUTS)
def test_what_these_layouts_shake_with(tmp_path, capsys, name):
    # Throws a third of a turn apart: no primary and no secondary force; what is left of three
    # throws is couples, and a V12 (two in-line sixes) has none either (Khurmi & Gupta, Theory of
    # Machines, chapter 22).
    path = tmp_path / "engine.toml"
    path.write_text(LAYOUTS[name], "utf-8")
    assert main(["balance", str(path)]) == 0
    said = capsys.readouterr().out
    rows = {
        line.split()[0]: line.split() for line in said.splitlines() if line[:6].strip().isdigit()
    }
    for order in ("1", "2"):
        assert rows[order][1:3] == ["0", "N"]
        assert (rows[order][3] == "0") is (name in NONE)


def test_pins_of_unlike_rods_have_their_own_weight(tmp_path):
    workshop = Workshop.open(tmp_path)
    workshop.start(LAYOUTS["90° V6, balance shaft"], by="t", file="x.toml", build="b")
    workshop.weigh("b", "piston", "420 g", number="1", by="t")
    pages = pypdf.PdfReader(io.BytesIO(workshop.balance_card("b"))).pages
    throw = workshop.bob_weights("b").throws[0]
    workshop.close()
    # Pin of 1: 478 + 2 + ½·747 = 853.5 g; of 2: 478 + 2 + ½·739 = 849.5 g.
    assert dict(throw.pins) == pytest.approx({"1": 0.8535, "2": 0.8495})
    words = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "853.5 g on the pin of 1, 849.5 g on the pin of 2" in words


def test_the_page_names_how_each_layout_is_written():
    page = (Path(__file__).parents[2] / "docs" / "balance.md").read_text("utf-8")
    for text in LAYOUTS.values():
        layout = re.search(r'layout = "[^"]+"', text)[0]
        assert layout in page


def test_a_flat_four_with_its_pins_in_line_is_questioned_with_its_force(tmp_path, capsys):
    # Four cylinders go one way together, no counterweights: 4·(0.478 + 0.739) kg·43 mm·ω².
    path = tmp_path / "flat.toml"
    path.write_text(layout_text("flat 4", "1-3-2-4", 'pins = "own"', 5), "utf-8")
    assert main(["check", str(path)]) == 0
    question = "? Are firing order and numbering right? The order fits only crankpins at 0-0-0-0"
    assert question in capsys.readouterr().out
    assert main(["balance", str(path)]) == 0
    said = capsys.readouterr().out
    assert question in said
    force = 4 * (0.478 + 0.739) * 0.043 * (7000 * pi / 30) ** 2
    assert f"{force:.0f} N" in said


@pytest.mark.parametrize(
    ("layout", "firing", "more", "cylinders"),
    [
        ("single", "1", "", 1),
        ("V2, 90 deg", "1-2", 'intervals = "450-270 deg"', 2),
    ],
)
def test_one_throw_needs_no_pitch(tmp_path, capsys, layout, firing, more, cylinders):
    # What turns and half of what goes up and down of each rod, no counterweights: a single leaves
    # (0.478 + 0.739)·43 mm·ω² along its cylinder, a 90° twin (2·0.478 + 0.739) in every direction.
    path = tmp_path / "one.toml"
    text = layout_text(layout, firing, more, 2)
    assert text.count('pitch       = "100 mm"\n') == 1
    path.write_text(text.replace('pitch       = "100 mm"\n', ""), "utf-8")
    assert main(["balance", str(path)]) == 0
    said = capsys.readouterr().out
    assert "not known" not in said
    force = (cylinders * 0.478 + 0.739) * 0.043 * (7000 * pi / 30) ** 2
    assert f"{force:.0f} N" in said
    build = Workshop.open(tmp_path / "shop")
    build.start(path.read_text("utf-8"), by="t", file="one.toml", build="b")
    assert balance_view(build.state("b")).shaking.missing == ""
    build.close()


def test_two_throws_still_need_their_pitch(tmp_path, capsys):
    path = tmp_path / "two.toml"
    text = layout_text("in-line 2", "1-2", "", 3).replace('pitch       = "100 mm"\n', "")
    path.write_text(text, "utf-8")
    assert main(["balance", str(path)]) == 0
    assert "does not say how far apart the throws stand" in capsys.readouterr().out


@pytest.mark.parametrize(("first", "apart"), [("left", 60), ("right", 180)])
def test_check_shows_own_pins_and_asks_where_they_stand_far_apart(tmp_path, capsys, first, apart):
    # A 60° V6 that fires evenly in the order of its numbers has pins 120° − 60° apart where 2 is in
    # the bank that comes 60° later, and 120° + 60° where it comes 60° sooner: crank geometry.
    path = tmp_path / "six.toml"
    own = f'pins = "own"\nnumbering = "zig-zag from the free end, {first} bank first"'
    path.write_text(layout_text("V6, 60 deg", "1-2-3-4-5-6", own, 4), "utf-8")
    assert main(["check", str(path)]) == 0
    said = capsys.readouterr().out
    behind = "300" if first == "left" else "180"
    assert f"{behind}°" in said.partition("Crankpins by their cylinders")[2].splitlines()[0]
    question = (
        "come out 180° apart; with left and right bank exchanged in numbering it would be 60°"
    )
    assert (question in said) is (apart == 180)
    for command in ("check", "bobweight"):
        main([command, str(path), "--json"])
        pins = json.loads(capsys.readouterr().out)["crankpins"]
        one, two = sorted(pins[label] for label in ("1", "2"))
        assert min(two - one, 2 * pi - two + one) == pytest.approx(radians(apart))


def test_the_couple_without_shafts_stands_beside_the_one_with_them(tmp_path, capsys):
    text = LAYOUTS["90° V6, balance shaft"]
    path = tmp_path / "six.toml"
    path.write_text(text, "utf-8")
    main(["balance", str(path), "--json"])
    first = json.loads(capsys.readouterr().out)["shaking"]["orders"][0]
    main(["balance", str(path)])
    said = capsys.readouterr().out
    workshop = Workshop.open(tmp_path / "shop")
    workshop.start(text, by="t", file="invented", build="b")
    row = balance_view(workshop.state("b")).shaking.rows[0]
    book = pypdf.PdfReader(io.BytesIO(workshop.book("b")))
    workshop.close()
    assert first["couple_without_shafts"] > first["couple"] + 1
    bare = f"{first['couple_without_shafts']:.0f}"
    line = next(line for line in said.splitlines() if line.split()[:1] == ["1"])
    assert "couple without shafts" in said
    for told in (line, row[4], "".join(page.extract_text() for page in book.pages)):
        assert bare in re.sub(r"(?<=\d)\s(?=\d{3})", "", told)


def test_a_split_throw_has_half_of_what_lies_opposite_by_each_pin():
    text = LAYOUTS["90° V6, split by 30°"].replace("[crank]\n", '[crank]\nopposite = "20 kg·mm"\n')
    turning = shaking_of(read_engine(text)).train.turning
    # Two vectors of half each, 30° apart: 20·cos 15° along the middle between the pins (geometry).
    pair = turning.amount[:2] * np.exp(1j * turning.angle[:2])
    assert turning.amount.size == 6
    assert abs(pair.sum()) == pytest.approx(0.020 * cos(radians(15)))
