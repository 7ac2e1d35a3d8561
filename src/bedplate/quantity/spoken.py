"""Small lengths in the words of the bench."""

from __future__ import annotations

from bedplate.quantity.dimension import Units

_ONES = (
    "nought", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
    "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen",
    "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_TENTH = 2.54e-6
_MICRON = 1e-6


def words(value: float, units: Units) -> str:
    """Say a small length as it is said at the bench, to the nearest tenth or micron.

    :param value: length, m
    :return: 'two and a half thou', 'eight tenths', 'four hundredths of a millimetre',
        'thirty-five microns'; '' from 0.1 in or 1 mm up, and for what rounds to nothing
    """
    spoken = _inch(abs(value)) if units is Units.INCH else _metric(abs(value))
    return f"minus {spoken}" if spoken and value < 0 else spoken


def _inch(size: float) -> str:
    if not size < 999.5 * _TENTH:
        return ""
    tenths = round(size / _TENTH)
    if tenths < 10 and abs(size / _TENTH - 0.5) < 0.05:
        return "half a tenth"
    thou, rest = divmod(tenths, 10)
    if rest == 5:
        return f"{_number(thou)} and a half thou" if thou else "half a thou"
    parts = [f"{_number(thou)} thou"] if thou else []
    if rest:
        parts.append(_count(rest, "tenth"))
    return " and ".join(parts)


def _metric(size: float) -> str:
    if not size < 999.5 * _MICRON:
        return ""
    halves = round(size / _MICRON * 2)
    if halves < 20 and halves % 2:
        whole = halves // 2
        return f"{_number(whole)} and a half microns" if whole else "half a micron"
    microns = round(size / _MICRON)
    if not microns:
        return ""
    if microns == 500:
        return "half a millimetre"
    for step, name in ((100, "tenth"), (10, "hundredth")):
        if microns % step == 0:
            return f"{_count(microns // step, name)} of a millimetre"
    return _count(microns, "micron")


def _count(number: int, noun: str) -> str:
    return f"{_number(number)} {noun}{'' if number == 1 else 's'}"


def _number(number: int) -> str:
    if number >= 100:
        hundreds, rest = divmod(number, 100)
        return f"{_ONES[hundreds]} hundred" + (f" and {_number(rest)}" if rest else "")
    if number < 20:
        return _ONES[number]
    tens, ones = divmod(number, 10)
    return _TENS[tens - 2] + (f"-{_ONES[ones]}" if ones else "")
