"""Which typeface a page is set in, and which characters it can show.

PDF/A forbids a character that no font has (ISO 19005-3, 6.2.11.8), and what people type may hold
any.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from importlib.util import find_spec
from pathlib import Path

FAMILY = "Source Sans Pro"
"""Its default figures are tabular; it comes from the package `font-source-sans-pro`."""

LONGEST_WORD, PIECE = 20, 10
"""Characters of the longest word left whole, and after how many a longer one may be broken."""

_BREAK = "\u200b"
_HASH = re.compile("[0-9a-f]{64}")
"""A hash stays whole, so that it can be copied from the page."""

_MEANT_AS_SPACE = {ord(c): " " for c in "\t\n\r\v\f\x85\u2028\u2029"}

# Characters of the family and of the serif and the monospaced family that Typst carries, as ranges
# in hexadecimal. Combining marks that NFC leaves over are taken out: they have stopped the shaper.
_COVERED = (
    "20-7e a0-ac ae-377 37a-37f 384-38a 38c 38e-3a1 3a3-482 48a-4ff 510-513 51a-51d 531-556 "
    "559-58a 58d-58f 5be 5d0-5ea 5ef-5f4 60c 615 61b 61f 621-63a 641-64a 660-66d 1e00-1f15 "
    "1f18-1f1d 1f20-1f45 1f48-1f4d 1f50-1f57 1f59 1f5b 1f5d 1f5f-1f7d 1f80-1fb4 1fb6-1fc4 "
    "1fc6-1fd3 1fd6-1fdb 1fdd-1fef 1ff2-1ff4 1ff6-1ffe 2009-200a 2010-2015 2017-2027 "
    "202f-2040 2042 2044-2052 2054-205f 2070-2071 2074-208e 20a0-20bf 2116 2120 2122 2126 "
    "2150-215f 2190-21ff 2200-22ff 2300 2302 2308-230b 2318 2500-25ff 2610-2612 2660-2667 "
    "2713-2714 2717-2718 27e8-27e9 2a7d-2a7e fb01-fb02 fffd"
)


@cache
def folder() -> Path:
    """Return the folder in which the font package keeps its files."""
    spec = find_spec("font_source_sans_pro")
    if spec is None or not spec.submodule_search_locations:  # pragma: no cover - a broken install
        sentence = "The font package 'font-source-sans-pro' is not installed."
        raise ModuleNotFoundError(sentence)
    return Path(spec.submodule_search_locations[0]) / "files"


@cache
def covered() -> frozenset[int]:
    """Return the code points that can be printed."""
    points: set[int] = set()
    for span in _COVERED.split():
        first, _, last = span.partition("-")
        points.update(range(int(first, 16), int(last or first, 16) + 1))
    return frozenset(p for p in points if not unicodedata.category(chr(p)).startswith(("M", "C")))


def printable(text: str) -> str:
    """Return text as it can be printed: each character that cannot be shown stands as '⟨U+1F527⟩'.

    Control and direction marks are among those, so that no text can reorder or hide what stands
    beside it. Words longer than `LONGEST_WORD` get places to break.
    """
    if text.isascii() and text.isprintable() and len(text) <= LONGEST_WORD:
        return text
    return " ".join(_broken(word) for word in known(text).split(" "))


def known(text: str) -> str:
    """Return text with each character that cannot be shown replaced."""
    if text.isascii() and text.isprintable():
        return text
    points = covered()
    plain = unicodedata.normalize("NFC", text.translate(_MEANT_AS_SPACE))
    strange = {ord(c) for c in set(plain)} - points
    return plain.translate({one: f"⟨U+{one:04X}⟩" for one in strange}) if strange else plain


def plainest(text: str) -> str:
    """Return text in ASCII, all else by its code point: what any font can show."""
    return "".join(c if " " <= c <= "~" else f"(U+{ord(c):04X})" for c in text)


def _broken(word: str) -> str:
    if len(word) <= LONGEST_WORD or _HASH.fullmatch(word):
        return word
    return _BREAK.join(word[i : i + PIECE] for i in range(0, len(word), PIECE))
