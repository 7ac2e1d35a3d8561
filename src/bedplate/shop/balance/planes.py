"""Whether an unbalance was said of each plane or of all together."""

from __future__ import annotations

import re

_EACH = r"(?:per|in each|each|in either|either)[ -](?:plane|end)s?"
_ALL = r"(?:in )?(?:total|all)"


def _around(words: str) -> re.Pattern[str]:
    """Return a pattern for a quantity with words before or behind it."""
    return re.compile(rf"{words}[ ,:]+(?P<first>.+)|(?P<last>.+?)[ ,]+{words}", re.IGNORECASE)


_SAID = ((_around(_EACH), True), (_around(_ALL), False))
_SLASH = re.compile(r" ?/ ?(?=(?:plane|end)$)", re.IGNORECASE)


def planes_said(text: str) -> tuple[str, bool | None]:
    """Return the quantity alone, and what was said of it.

    :param text: '0.1 oz·in per plane', 'each plane 72 g·mm', '2 oz·in in total', '2 oz·in'
    :returns: True for each plane, False for all together, None where neither is said
    """
    plain = _SLASH.sub(" per ", " ".join(text.split()))
    for words, each in _SAID:
        found = words.fullmatch(plain)
        if found:
            return found["first"] or found["last"], each
    return plain, None
