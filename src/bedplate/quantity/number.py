"""Typed numbers, kept exact: decimals, decimal commas, fractions and powers of ten."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from bedplate.errors import QuantityError
from bedplate.quantity.refusal import LONGEST, refuse

_GREATEST_EXPONENT = 30

_ONE_FOR_ANOTHER = str.maketrans(
    {
        **dict.fromkeys("\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006", " "),
        **dict.fromkeys("\u2007\u2008\u2009\u200a\u202f\u205f\u3000\t\n\r", " "),
        **dict.fromkeys("\u200b\u2060\ufeff"),
        **dict.fromkeys("\u2212\u2010\u2011\u2012\u2013\u2014\u2015\ufe63\uff0d", "-"),
        **dict.fromkeys("\u22c5\u2219\u2022\u2027\u00d7\u2217*", "·"),
        **dict.fromkeys("\u2033\u201c\u201d\uff02", '"'),
        **dict.fromkeys("\u2032\u2018\u2019", "'"),
        **dict.fromkeys("\u00ba\u02da", "°"),
        "\u03bc": "µ", "\u2044": "/", "\u2215": "/", "\uff0b": "+", "\u2030": " ‰",
        "\u2264": "<=", "\u2265": ">=", "\u2a7d": "<=", "\u2a7e": ">=", "\u2248": "=",
        "\u2026": " .. ", "\u301c": "~", "\uff5e": "~", "\uff05": "%",
        "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8",
        "⅞": " 7/8", "⅓": " 1/3", "⅔": " 2/3",
    }
)  # fmt: skip
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻", "0123456789+-")
_POWER_OF_TEN = re.compile(r"([·x] ?10)([⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+)")
_RAISED_NUMBER = re.compile(r"[0-9][⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻]")
_SPACES = re.compile(r" {2,}")


def plain(text: str) -> str:
    """Return typed text with one character for each of the many that mean the same."""
    if len(text) > LONGEST:
        raise refuse(text, f"is longer than a quantity can be, {LONGEST} characters")
    if text.isascii() and "*" not in text and text.isprintable():
        return _SPACES.sub(" ", text.strip())
    line = _POWER_OF_TEN.sub(r"\1^\2", text.translate(_ONE_FOR_ANOTHER))
    if _RAISED_NUMBER.search(line):
        raise refuse(text, "raises a number to a power, which is not read")
    return _SPACES.sub(" ", line.translate(_RAISED)).strip()


_DIGITS = (
    r"(?:[0-9]{1,3}(?: [0-9]{3})+(?![0-9/])(?:[.,][0-9]+)?"
    r"|[0-9]+(?:[.,][0-9]+)+|[0-9]+\.?|[.,][0-9]+)"
)
_EXPONENT = r"(?:[eE][+-]?[0-9]+| ?[·x] ?10(?:\^[+-]?|[+-])[0-9]+)"
UNSIGNED = rf"(?:[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|{_DIGITS}{_EXPONENT}?)"
NUMBER = rf"(?:[+-]?{UNSIGNED})"

_PARTS = re.compile(
    rf"(?P<sign>[+-]?)(?:(?:(?P<whole>[0-9]+)[ -])?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)"
    rf"|(?P<digits>{_DIGITS})(?P<exponent>{_EXPONENT})?)"
)
_PLAIN_DECIMAL = re.compile(r"([0-9]*)(?:[.,]([0-9]*))?")
_IN_GROUPS = re.compile(r"[0-9]{1,3}(?:(,|\.| )[0-9]{3})(?:\1[0-9]{3})*(?:(?!\1)[.,]([0-9]+))?")
_DOUBTFUL_COMMA = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_SHORT_LENGTH = re.compile(
    r"[0-9]\s*(?:(?:mm|[uµμ]m|in|inch|inches|thou)(?![\w³²^·\-])(?! ?lb)|\"|[″”])"
)
_LOST_POINT = re.compile(r"0[0-9]*[1-9][0-9]*")
_LAST_POWER = re.compile(r"[+-]?[0-9]+$")


@dataclass(frozen=True, slots=True)
class Number:
    """An exact number as typed.

    :param step: one step of the last digit typed; 1/n for a fraction
    :param fraction: True if typed as a fraction, so that no digit was rounded
    """

    value: Fraction
    step: Fraction
    fraction: bool = False

    @property
    def rounding(self) -> Fraction:
        """The step it was rounded to when printed; a fraction was not rounded."""
        return Fraction(0) if self.fraction else self.step


def read_number(typed: str, text: str) -> Number:
    """Read a number that matches NUMBER; `text` is the whole quantity, for the sentence."""
    parts = _PARTS.fullmatch(typed)
    if parts is None:
        raise refuse(text, f"has a number that cannot be read, '{typed}'")
    sign = -1 if parts["sign"] == "-" else 1
    if parts["bottom"] is None:
        value, step = _decimal(parts["digits"], parts["exponent"] or "", text)
        return Number(sign * value, step)
    top, bottom = int(parts["top"]), int(parts["bottom"])
    if bottom == 0:
        raise refuse(text, "divides by zero")
    if parts["whole"] and top >= bottom:
        raise refuse(text, f"has a fraction that is not below one, '{top}/{bottom}'")
    value = Fraction(int(parts["whole"] or 0) * bottom + top, bottom)
    return Number(sign * value, Fraction(1, bottom), fraction=True)


def _decimal(digits: str, exponent: str, text: str) -> tuple[Fraction, Fraction]:
    whole, decimals = _split(digits, text)
    power = 0
    if exponent:
        found = _LAST_POWER.search(exponent)
        power = int(found[0]) if found and len(found[0]) < len("+000") else 10**9
    if abs(power) > _GREATEST_EXPONENT:
        raise refuse(text, f"has a power of ten beyond {_GREATEST_EXPONENT}")
    power -= len(decimals)
    number = int(whole + decimals or "0")
    if power > 0:
        return Fraction(number * 10**power), Fraction(10**power)
    return Fraction(number, 10**-power), Fraction(1, 10**-power)


def _split(digits: str, text: str) -> tuple[str, str]:
    """Split into whole digits and decimals; refuse a comma that could be either sign.

    In '59,006 mm' it is the decimal sign: no gauge shows metres in millimetres with groups.
    """
    if _DOUBTFUL_COMMA.fullmatch(digits):
        if _SHORT_LENGTH.search(text):
            whole, _, decimals = digits.partition(",")
            return whole, decimals
        raise _doubtful(digits, text)
    simple = _PLAIN_DECIMAL.fullmatch(digits)
    if simple and simple[2] is None and _LOST_POINT.fullmatch(digits):
        point, none = (_instead(text, digits, new) for new in (f"0.{digits}", digits.lstrip("0")))
        raise refuse(text, f"begins with nought but has no point; write '{point}' or '{none}'")
    if simple:
        return simple[1], simple[2] or ""
    grouped = _IN_GROUPS.fullmatch(digits)
    if not grouped or digits.startswith("0"):
        raise refuse(text, f"has a number that cannot be read, '{digits}'")
    decimals = grouped[2] or ""
    whole = digits[: len(digits) - len(decimals) - 1] if decimals else digits
    return re.sub(r"[^0-9]", "", whole), decimals


def _doubtful(digits: str, text: str) -> QuantityError:
    point, none = (_instead(text, digits, digits.replace(",", mark)) for mark in (".", ""))
    return refuse(text, f"could be either {point} or {none}; write '{point}' or '{none}'")


def _instead(text: str, digits: str, right: str) -> str:
    """Return the text with other digits in place of the doubtful ones."""
    alone = rf"(?<![0-9])(?<![0-9][.,]){re.escape(digits)}(?![0-9])"
    return re.sub(alone, right, text.strip())
