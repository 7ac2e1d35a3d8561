"""A deed that is sent twice is done once."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

from bedplate.shop.receipts import Receipt
from bedplate.workshop.core import Core

_Room = TypeVar("_Room", bound=Core)
_Words = ParamSpec("_Words")


def once(
    deed: Callable[Concatenate[_Room, _Words], Receipt],
) -> Callable[Concatenate[_Room, _Words], Receipt]:
    """Make a use case answer an `id` that is in the record with its receipt, and do no more.

    The whole deed is done under the lock, so that nothing changes between its look and its entry.
    """

    @wraps(deed)
    def done(room: _Room, /, *words: _Words.args, **named: _Words.kwargs) -> Receipt:
        with room._lock:  # noqa: SLF001 - the lock of the use cases, which this is part of
            again = room._taken(str(named.get("id", "")))  # noqa: SLF001
            return deed(room, *words, **named) if again is None else again

    return done
