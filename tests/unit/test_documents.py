from __future__ import annotations

import io
import json
import shutil
import subprocess
import sys
from datetime import UTC, datetime

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.documents_makers import BUILD, HOSTILE, Clock, measured, written_on

from bedplate.documents import fonts, paper, sheet
from bedplate.documents.book import contents
from bedplate.documents.state_json import state_as_json
from bedplate.engine import examples
from bedplate.errors import BedplateError
from bedplate.record.sqlite import SqliteStore
from bedplate.workshop import Workshop

AT = datetime(2026, 1, 1, tzinfo=UTC)


@pytest.fixture(scope="module")
def workshop(tmp_path_factory):
    made = measured(tmp_path_factory.mktemp("paper"))
    written_on(made, *HOSTILE)
    yield made
    made.close()


@pytest.fixture(scope="module")
def book(workshop):
    return workshop.book(BUILD)


@pytest.fixture(scope="module")
def pages(book):
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(book)).pages]


def flat(text):
    """Text without the places where a line or a long word was broken."""
    return "".join(text.replace("\u200b", "").split())


def test_every_page_carries_the_checkpoint_and_its_number(workshop, pages):
    at = workshop.state(BUILD).checkpoint
    for number, page in enumerate(pages, 1):
        assert at.head in flat(page)
        assert f"{number} of {len(pages)}" in page
        assert f"{at.count} entries" in page


def test_state_record_and_engine_file_are_attached_whole(workshop, book):
    attached = pypdf.PdfReader(io.BytesIO(book)).attachments
    assert attached["state.json"][0] == state_as_json(workshop.state(BUILD))
    assert attached["record.jsonl"][0] == b"".join(workshop.export(BUILD))
    assert attached["engine.toml"][0].decode() == workshop.engine_text(BUILD)


def test_the_pdf_carries_the_time_of_the_last_entry(workshop, book):
    last = workshop.state(BUILD).entries[-1].entry.at
    created = pypdf.PdfReader(io.BytesIO(book)).metadata.creation_date
    assert created == datetime.fromisoformat(last).replace(microsecond=0)


def test_the_pdf_says_that_it_is_pdf_a_3_a(book):
    metadata = pypdf.PdfReader(io.BytesIO(book)).xmp_metadata
    assert metadata is not None
    text = metadata.stream.get_data().decode()
    assert "<pdfaid:part>3</pdfaid:part>" in text
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in text


@pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf is not on this machine")
def test_qpdf_finds_nothing_wrong(book, tmp_path):
    file = tmp_path / "book.pdf"
    file.write_bytes(book)
    done = subprocess.run(["qpdf", "--check", file], capture_output=True, check=False)
    assert done.returncode == 0, done.stdout


def test_what_people_typed_stands_there_literally(pages):
    text = flat(" ".join(pages))
    for typed in HOSTILE:
        assert text.count(flat(typed)) >= 6, typed


def test_fits_readings_questions_and_reasons_are_in_the_book(workshop, pages):
    text = flat(" ".join(pages))
    state = workshop.state(BUILD)
    for fit in state.fits.values():
        assert flat(fit.fit.source) in text
    for question in state.questions:
        assert flat(question.sentence) in text
    for feature in state.features.values():
        assert flat(feature.feature.name) in text
        for reading in feature.readings:
            assert flat(reading.text) in text
    assert "withdrawn:" in text
    assert "acceptedby" in text


def test_the_book_never_calls_an_engine_safe(pages):
    assert "safe" not in " ".join(pages).lower()


def test_an_invented_engine_is_called_so_on_the_first_page(pages):
    assert "Invented: the engine file says" in " ".join(pages[0].split())


def test_same_record_same_bytes_in_another_process(book, tmp_path):
    script = (
        "import sys; from pathlib import Path; from tests.documents_makers import *; "
        "w = measured(Path(sys.argv[1])); written_on(w, *HOSTILE); "
        "sys.stdout.buffer.write(w.book(BUILD))"
    )
    done = subprocess.run([sys.executable, "-c", script, tmp_path], capture_output=True, check=True)
    assert done.stdout == book


def test_book_and_sheet_are_set_without_falling_back_to_plain_text(workshop):
    state = workshop.state(BUILD)
    for template, data, attached in (
        ("book.typ", contents(state), {"state": "{}", "record": "", "engine": ""}),
        ("sheet.typ", sheet.contents(state), {}),
    ):
        shown = paper._mapped(data, fonts.printable)
        assert paper._compile(template, shown, AT, attached).startswith(b"%PDF")


def test_the_sheet_has_every_station_of_the_plan_in_its_order(workshop):
    state = workshop.state(BUILD)
    pdf = pypdf.PdfReader(io.BytesIO(workshop.sheet(BUILD)))
    text = flat(" ".join(page.extract_text() for page in pdf.pages))
    places = [text.index(flat(group.title + group.gauge_kind)) for group in state.plan]
    assert places == sorted(places)
    for group in state.plan:
        for step in group.steps:
            assert flat(state.features[step.feature].feature.name) in text
    assert text.count("Valuewithunit") >= len(state.plan)


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("ordinary words", "ordinary words"),
        ("fan \U0001f527 belt", "fan ⟨U+1F527⟩ belt"),
        ("a\u202eb", "a⟨U+202E⟩b"),
        ("bell\x07", "bell⟨U+0007⟩"),
        ("two\nlines\tand", "two lines and"),
        ("e\u0301", "é"),
        ("中", "⟨U+4E2D⟩"),
        ("Ø 12 µm ± ½ ≤ −3 °C × …", "Ø 12 µm ± ½ ≤ −3 °C × …"),
        ("שלום", "שלום"),
    ],
)
def test_text_is_printable(typed, printed):
    assert fonts.printable(typed) == printed


def test_long_words_may_break_and_lose_nothing():
    word = "x" * 1000
    shown = fonts.printable(word)
    assert max(len(part) for part in shown.split("\u200b")) <= fonts.LONGEST_WORD
    assert shown.replace("\u200b", "") == word


def test_every_character_called_printable_can_be_set():
    characters = [chr(point) for point in sorted(fonts.covered())]
    data = small_sheet(" ".join(characters))
    assert paper._compile("sheet.typ", data, AT, {}).startswith(b"%PDF")


def test_state_json_is_stable_and_says_its_format(workshop):
    state = workshop.state(BUILD)
    first = state_as_json(state)
    assert first == state_as_json(state)
    tree = json.loads(first)
    assert (tree["format"], tree["version"]) == ("bedplate state", 1)
    assert tree["checkpoint"] == {"count": state.checkpoint.count, "head": state.checkpoint.head}
    fit = next(fit for fit in tree["fits"] if fit["value_m"] is not None)
    assert fit["value_m"] == state.fits[fit["id"]].value


def small_sheet(words):
    """The least data that the sheet's template reads, with words in it."""
    return {
        "head": {
            "build": words,
            "engine": words,
            "title": words,
            "invented": False,
            "last": "",
            "date": [2026, 1, 1, 0, 0, 0],
            "checkpoint": {"count": "0", "short": "0", "head": "0"},
        },
        "units": "",
        "front": words,
        "groups": [],
        "pictures": [],
    }


@settings(max_examples=60, deadline=None)
@given(words=st.text(max_size=80))
def test_any_text_can_be_set_without_falling_back(words):
    data = paper._mapped(small_sheet(words), fonts.printable)
    assert paper._compile("sheet.typ", data, AT, {}).startswith(b"%PDF")


def test_text_that_the_typesetter_refuses_is_set_in_ascii(monkeypatch):
    monkeypatch.setattr(fonts, "printable", lambda text: text)
    pdf = paper.typeset("sheet.typ", small_sheet("belt \U0001f527"), at=AT)
    text = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
    assert flat("belt (U+1F527)") in flat(text)


def test_a_template_that_cannot_be_set_is_one_sentence():
    with pytest.raises(BedplateError) as caught:
        paper.typeset("sheet.typ", {"head": {}}, at=AT)
    assert caught.value.sentence.startswith("The document could not be set: ")
    assert "\n" not in caught.value.sentence


def test_a_build_with_no_reading_has_a_book_and_a_sheet(tmp_path):
    started = Workshop(SqliteStore(tmp_path / "bedplate.sqlite"), clock=Clock())
    started.start(examples()["flat-four"], build=BUILD, title="", by="the builder (invented)")
    pages = pypdf.PdfReader(io.BytesIO(started.book(BUILD))).pages
    text = flat(" ".join(page.extract_text() for page in pages))
    assert flat("There are no readings yet.") in text
    assert flat("No fit was accepted by decision.") in text
    assert started.sheet(BUILD).startswith(b"%PDF")
    started.close()


def test_fits_of_which_nothing_is_known_share_a_row(tmp_path):
    made = Workshop.open(tmp_path)
    made.start(examples()["in-line-four-frame"], by="a tester", build="bare")
    shown = contents(made.state("bare"))
    groups = {g["title"]: g for gate in shown["fits"] for g in gate["groups"]}
    rows = groups["Crankpin"]["rows"]
    assert [row["name"] for row in rows] == ["crankpin 1, 2, 3, 4"]
    assert rows[0]["note"] == "missing: Crankpin 1, 2, 3, 4"
    asked = [row for gate in shown["questions"] for row in gate["rows"]]
    assert [
        "not measured",
        "Crankpin 1, 2, 3, 4: not measured.",
        "Measure Crankpin 1, 2, 3, 4.",
    ] in asked
    named = " ".join(row[1] for row in asked)
    for fit in made.state("bare").fits.values():
        assert fit.fit.name.removesuffix(fit.fit.number).strip() in named
    made.close()
