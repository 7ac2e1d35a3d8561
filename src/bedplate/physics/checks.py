"""Refusals that every calculation shares: one sentence, the name of the quantity, what is right."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

from bedplate.errors import InputError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]
    """Real numbers, in SI units."""
else:
    Array = Any  # plain numbers are checked without loading NumPy


def require_finite(**quantities: float) -> None:
    """Refuse a number that is none: NaN or infinite. Each is given by the name a person reads."""
    for name, value in quantities.items():
        if not isfinite(value):
            raise InputError(f"{_words(name)} is {value}, which is no number.")


def require_positive(**quantities: float) -> None:
    """Refuse a number that is not above zero."""
    require_finite(**quantities)
    for name, value in quantities.items():
        if value <= 0:
            raise InputError(f"{_words(name)} must be above zero, and is {value:g}.")


def require_not_negative(**quantities: float) -> None:
    """Refuse a number below zero."""
    require_finite(**quantities)
    for name, value in quantities.items():
        if value < 0:
            raise InputError(f"{_words(name)} must not be below zero, and is {value:g}.")


def as_row(values: ArrayLike, name: str, length: int | None = None) -> Array:
    """Return numbers as a row of finite floats.

    :param values: shape (n,)
    :param length: how many there must be; None: at least one
    :raises InputError: if they are not a row, not of that length, or not all finite
    """
    import numpy as np

    row: Array = np.atleast_1d(np.asarray(values, dtype=np.float64))
    if row.ndim != 1 or row.size == 0:
        raise InputError(f"{_words(name)} must be a row of numbers.")
    if length is not None and row.size != length:
        raise InputError(f"{_words(name)} needs {length} numbers, and has {row.size}.")
    if not np.isfinite(row).all():
        where = int(np.flatnonzero(~np.isfinite(row))[0]) + 1
        raise InputError(f"{_words(name)} number {where} is no number.")
    return row


def _words(name: str) -> str:
    words = name.replace("_", " ")
    return f"The {words}"
