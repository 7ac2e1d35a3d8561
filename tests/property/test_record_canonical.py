"""The stored form comes back as it went in, and there is one form for each entry."""

from __future__ import annotations

import json

import msgspec
import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st
from tests.contract.record_makers import calm

from bedplate.errors import BedplateError, EntryError
from bedplate.record import Accepted, Note, Reading, Reworked, Typed
from bedplate.record.canonical import canonical, decode, row_of, strict_decode

IDS = st.text("0123456789abcdef", min_size=32, max_size=32)
NAMES = st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=40)
WORDS = st.text(
    st.characters(exclude_categories=["Cc", "Cs"], include_characters="\n\t\r"), max_size=200
)
FIGURES = st.floats(allow_nan=False, allow_infinity=False)
TYPED = st.builds(Typed, text=NAMES, si=FIGURES)
STAMP = {"id": IDS, "at": st.just("2026-11-25T07:00:00.000Z"), "by": NAMES}
ENTRIES = st.one_of(
    st.builds(
        Reading,
        **STAMP,
        feature=NAMES,
        station=NAMES,
        gauge=NAMES,
        value=TYPED,
        part_temperature=st.none() | TYPED,
        condition=NAMES,
    ),
    st.builds(Note, **STAMP, about=NAMES, text=WORDS),
    st.builds(
        Reworked,
        **STAMP,
        part=NAMES,
        features=st.lists(NAMES, max_size=4).map(tuple),
        operation=WORDS,
    ),
    st.builds(Accepted, **STAMP, fit=NAMES, verdict=NAMES, reason=WORDS, least=st.none() | FIGURES),
)


@calm
@given(ENTRIES)
def test_an_entry_comes_back_equal_and_its_form_is_its_own_canonical_form(entry) -> None:
    row = row_of("demo", 7, "0" * 64, entry)
    link = strict_decode(row.body)
    assert link.entry == entry
    assert row_of("demo", 7, "0" * 64, link.entry) == row
    assert rfc8785.dumps(json.loads(row.body, parse_int=float)) == row.body


@calm
@given(ENTRIES, st.data())
def test_a_byte_put_in_or_left_out_or_changed_is_never_the_same_entry(entry, data) -> None:
    body = row_of("demo", 1, "", entry).body
    at = data.draw(st.integers(0, len(body) - 1))
    put = data.draw(st.binary(max_size=2))
    other = body[:at] + put + body[at + 1 :]
    try:
        link = strict_decode(other)
    except EntryError:
        return
    assert other == body or link != decode(body)


@calm
@given(st.binary(max_size=300))
def test_any_bytes_are_decoded_or_refused_in_words(data: bytes) -> None:
    with pytest.raises(EntryError) as caught:
        strict_decode(data)
    assert caught.value.sentence.endswith(".")


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(st.characters()),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(NAMES, inner, max_size=3),
    max_leaves=8,
)


@calm
@given(st.dictionaries(st.sampled_from(["build", "entry", "number", "previous"]), JSON), JSON)
def test_any_json_is_decoded_or_refused_in_words(value, entry) -> None:
    if isinstance(entry, dict):
        value = {**value, "entry": {**entry, "kind": "note"}}
    data = json.dumps(value).encode()
    for read in (decode, strict_decode):
        with pytest.raises(EntryError):
            read(data)


@calm
@given(JSON)
def test_canonical_form_is_there_or_refused_in_words(value) -> None:
    try:
        written = canonical(value)
    except BedplateError:
        return
    assert canonical(json.loads(written, parse_int=float)) == written
    assert msgspec.json.decode(written) == json.loads(written)
