"""Small changes to words, the same on every floor."""

from __future__ import annotations


def capital(text: str) -> str:
    """Return words as a sentence or a title begins: with a capital."""
    return text[:1].upper() + text[1:]


def plain(text: str) -> str:
    """Return words as they are compared: in small letters, with single blanks."""
    return " ".join(text.casefold().split())
