"""The record in sentences, and the lengths in them."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import pytest

from bedplate import demo
from bedplate.documents.book import contents
from bedplate.documents.photograph import extent, photograph
from bedplate.quantity import Units
from bedplate.shop.sentences import in_both, sentence
from bedplate.workshop import Workshop

WHO = "a tester"


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    return Workshop.open(tmp_path)


@pytest.fixture
def build(workshop: Workshop) -> str:
    return demo.start_demo(workshop)


@pytest.mark.parametrize(
    ("value", "resolution", "signed", "shown"),
    [
        (1e-6, 1e-6, True, "+0.001 mm = +0.00004 in"),
        (-2.54e-6, 2.54e-6, True, "−0.003 mm = −0.0001 in"),
        (4.5e-4, 1e-5, False, "0.450 mm = 0.0177 in"),
        (0.059991, 1e-6, False, "59.991 mm = 2.3619 in"),
        (4e-6, None, True, "+0.004 mm = +0.00016 in"),
    ],
)
def test_a_length_is_echoed_with_digits_that_say_something(
    value: float, resolution: float | None, signed: bool, shown: str
) -> None:
    assert in_both(value, Units.METRIC, resolution=resolution, signed=signed) == shown


def test_every_entry_of_the_demo_has_a_sentence(workshop: Workshop, build: str) -> None:
    state = workshop.state(build)
    said = [sentence(state, row.entry) for row in state.entries]
    assert all(len(one) > 5 for one in said)
    assert "Entry 31 withdrawn: read one thimble turn out." in said
    readings = [one for one in said if one.startswith("Main journal 1, 0 deg, front end")]
    assert readings
    assert all(one.count(" mm") == 1 and one.count(" in") >= 1 for one in readings), readings


def test_an_entry_without_a_sentence_of_its_own_says_its_fields(
    workshop: Workshop, build: str
) -> None:
    from bedplate.record.entries import PartsUsed, RingFiled
    from bedplate.shop.sentences import _plainly

    state = workshop.state(build)
    used = PartsUsed(id="0" * 32, at="", by=WHO, identity="shell 7", count=2, place="main 3")
    assert sentence(state, used) == "2 × shell 7 used: main 3."
    assert _plainly(state, used) == "Parts used: identity shell 7; count 2; place main 3."
    filed = RingFiled(id="1" * 32, at="", by=WHO, feature="top-ring-gap-3", strokes=4)
    assert sentence(state, filed) == "Ring top-ring-gap-3 filed, 4 strokes."
    assert _plainly(state, filed) == "Ring filed: feature Top ring gap 3; strokes 4."


def _png(width: int, height: int) -> bytes:
    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    rows = b"".join(b"\0" + b"\x80" * width for _ in range(height))
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
    )  # fmt: skip


def _jpeg(width: int, height: int, orientation: int) -> bytes:
    exif = b"Exif\0\0" + struct.pack("<2sHIH", b"II", 42, 8, 1)
    exif += struct.pack("<HHIHH", 0x0112, 3, 1, orientation, 0) + b"\0" * 4
    frame = struct.pack(">BHHB", 8, height, width, 1) + b"\1\x11\0"
    segments = ((0xE1, exif), (0xC0, frame))
    return b"\xff\xd8" + b"".join(
        struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body for marker, body in segments
    )


def test_the_extent_of_a_picture_is_read_from_it() -> None:
    size = extent(_png(30, 20))
    assert size is not None
    assert (size.width, size.height, size.turn) == (30, 20, 0)
    held = extent(_jpeg(40, 30, 6))
    assert held is not None
    assert (held.width, held.height, held.turn) == (40, 30, 90)
    assert 'viewBox="0 0 30 40"' in photograph(_jpeg(40, 30, 6), "image/jpeg")
    for broken in (b"", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff\xe1\0", b"GIF89a"):
        assert extent(broken) is None
        assert photograph(broken, "image/png") == ""


def test_the_book_shows_the_photographs_that_stand(workshop: Workshop, build: str) -> None:
    kept = workshop.add_picture(build, "main-journal-2", _png(30, 20), by=WHO, caption="the score")
    taken = workshop.add_picture(build, "", _png(31, 20), by=WHO, caption="a thumb")
    workshop.withdraw(build, taken.id, "not the engine", by=WHO)
    workshop.add_picture(build, "", b"\x89PNG\r\n\x1a\n" + b"\0" * 32, by=WHO, caption="broken")
    half = _png(32, 20)[:45]
    workshop.add_picture(build, "", half, by=WHO, caption="cut short")
    state = workshop.state(build)
    names = [n.entry.sha256 for n in state.entries if hasattr(n.entry, "sha256")]
    shown = contents(state, {name: workshop.picture(name) for name in names})["photographs"]
    assert [one["says"] for one in shown][:1] == ["Picture of Main journal 2: the score"]
    assert shown[0]["told"].startswith(f"entry {kept.number}")
    assert not any("thumb" in one["says"] for one in shown)
    assert [one["picture"] is None for one in shown] == [False, True, False]
    assert workshop.book(build).startswith(b"%PDF"), "a broken file does not take the book with it"
