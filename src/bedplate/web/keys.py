"""The keys that do something beyond what every browser does, as the page of keys lists them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Key:
    """A key, where it works, and what it does.

    :param keys: as printed on the keyboard
    :param where: the page it works on, 'any page' for all
    """

    keys: tuple[str, ...]
    where: str
    does: str


KEYS = (
    Key(
        ("Enter",),
        "measuring",
        "saves the value in the field; a gauge with a keyboard plug does it",
    ),
    Key(("Ctrl", "Z"), "measuring", "takes the last value back; the reason is asked"),
    Key(("PageDown",), "measuring", "next station; Alt with → does the same"),
    Key(("PageUp",), "measuring", "previous station; Alt with ← does the same"),
    Key(("Escape",), "measuring", "back to the field"),
    Key(("Enter",), "tightening", "the bolt is done; a wrench that types sends its number first"),
    Key(("Space",), "tightening", "the same, where nothing is typed"),
    Key(("PageDown",), "tightening", "the same; foot switches send it"),
    Key(("Tab",), "any page", "next link, field or button; Shift with Tab goes back"),
    Key(("?",), "any page", "shows these keys, where no field has the cursor"),
)
