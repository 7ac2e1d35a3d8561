"""Readings that are questioned, never dropped.

A reading is set against what is known beside it: the size the engine file expects, the repeats at
its own station, and the other stations. Where it fits none of them but a common slip would make it
fit, the question names the slip and what the value would be.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, sqrt
from statistics import median

from bedplate.engine.model import Feature
from bedplate.errors import QuantityError
from bedplate.metrology.results import Doubt, Size
from bedplate.metrology.size import coarsest_step, pooled_deviation
from bedplate.quantity import Dimension, Quantity, Units, parse, show_both
from bedplate.record.entries import ComparatorSet, GaugeRegistered, Reading

INCH = 0.0254
THIMBLE_TURN = {Units.METRIC: 0.0005, Units.INCH: 0.025 * INCH}
"""m: one turn of a micrometer's thimble (common practice, no source)."""
CALLIPER_TURN = {Units.METRIC: 0.001, Units.INCH: 0.1 * INCH}
"""m: one turn of a dial calliper's needle (common practice, no source)."""
FORM_ALLOWANCE = 0.0001
"""m: stations of one feature differ by less, worn ones included (service limits of out-of-round and
taper reach 0.05 to 0.10 mm; common practice, no source)."""
ORDINARY_FORM = 0.000001
"""m: spread of the stations of a sound new part, below which no sign of a needle is told (common
practice, no source)."""
OUTLIER = 3.5
"""Modified z-score of an outlier (Iglewicz and Hoaglin 1993, by the NIST/SEMATECH e-Handbook
1.3.5.17)."""
_ROBUST = 1.4826
"""Median absolute deviation to standard deviation, normal distribution."""
_COARSEST = 0.25
"""Share of the tolerance that one step of the gauge may be (common practice, no source)."""
_LONG = 5.0
"""A sign slip is asked about when the value is further from its companions than so many spreads."""


@dataclass(frozen=True, slots=True)
class _Expectation:
    """Where a value should lie, m; `beside` says what it is held against."""

    centre: float
    reach: float
    beside: str

    def holds(self, value: float) -> bool:
        return abs(value - self.centre) <= self.reach


@dataclass(frozen=True, slots=True)
class _Slip:
    """A slip, and the indication that was meant: `what` ends 'one thimble turn (0.5 mm) off'."""

    code: str
    what: str
    meant: float


def doubts(
    reading: Reading,
    size: float,
    feature: Feature,
    gauge: GaugeRegistered,
    others: Sequence[float] = (),
    *,
    repeats: Sequence[float] = (),
    today_overdue: bool = False,
    tolerance: float | None = None,
) -> tuple[Doubt, ...]:
    """Return what looks wrong with a reading.

    :param reading: as taken
    :param size: what it gives, m
    :param feature: that was measured, with the size that is expected of it
    :param gauge: as registered
    :param others: sizes at the other stations of the feature, m
    :param repeats: sizes from the other readings at its own station, m
    :param today_overdue: the gauge's calibration is past due
    :param tolerance: narrowest tolerance that rests on the feature, m; None if unknown
    :returns: none for a reading that nothing speaks against
    Source: common practice, no source, where a constant of this module names none.
    """
    asked = today_overdue or _too_coarse(gauge, tolerance) or _typed_coarsely(reading, gauge)
    if _ordinary(reading.value.si, size, feature, gauge, others, repeats):
        return tuple(_of_gauge(reading, gauge, today_overdue, tolerance)) if asked else ()
    found = _of_value(reading, size, feature, gauge, others, repeats)
    return (*found, *_of_gauge(reading, gauge, today_overdue, tolerance))


def _of_value(
    reading: Reading,
    size: float,
    feature: Feature,
    gauge: GaugeRegistered,
    others: Sequence[float],
    repeats: Sequence[float],
) -> Iterator[Doubt]:
    typed = _parsed(reading.value.text, gauge.reads_in)
    step = max(gauge.resolution.si, typed.resolution if typed and typed.value else 0.0)
    floor = max(gauge.repeatability.si, step / 2.0)
    expected = _expectations(feature, floor, step, others, repeats)
    missed = [e for e in expected if not e.holds(size)]
    units = _family(typed)
    slip = _slip(reading, size, gauge, expected, units) if missed else None
    slip = slip or _needle_sign(reading, size, feature, gauge, floor, [*others, *repeats])
    if slip:
        instead = size + slip.meant - reading.value.si
        yield Doubt(slip.code, _question(size, instead, slip, missed, units), instead)
    elif missed:
        yield _unexplained(size, missed[0], units)


def setting_doubts(setting: ComparatorSet, gauge: GaugeRegistered) -> tuple[Doubt, ...]:
    """Return what looks wrong with a comparator's setting.

    It has drifted if what it showed before it was set again is more than two zeroings explain:
    |found| > k·√2·u(zero), k = 2.

    :param setting: with `found` where it was checked
    :param gauge: the comparator as registered
    Source: GUM 5.1.2; k = 2 as ISO 14253-1:1998.
    """
    units = units_of(setting.size.text, gauge.reads_in)
    found: list[Doubt] = []
    allowed = 2.0 * sqrt(2.0) * hypot(gauge.resolution.si / sqrt(12.0), gauge.repeatability.si)
    if setting.found is not None and abs(setting.found.si) > allowed:
        drift = setting.found.si
        sentence = (
            f"{gauge.gauge} showed {_length(drift, units, signed=True)} on the size it was set to "
            f"before, more than its zero explains (±{_length(allowed, units)}); what was measured "
            "since then may be off by as much."
        )
        found.append(Doubt("zero drifted", sentence, None))
    if not setting.on_gauge and setting.size_uncertainty is None:
        name = f"Master {setting.master}" if setting.master else "The master"
        sentence = (
            f"{name} has no uncertainty, so sizes from {gauge.gauge} look better than they are; "
            "state what its certificate says."
        )
        found.append(Doubt("master without uncertainty", sentence, None))
    return tuple(found)


def scatter_doubt(size: Size, repeatability: float) -> Doubt | None:
    """Return a doubt where repeats scatter more than the stated repeatability allows.

    The standard deviation is pooled over the stations and questioned above the 99.9 % point of what
    repeatability and rounding would give (χ² by the Wilson–Hilferty approximation). Rounding alone
    can give half a step.

    :param size: with the readings of each station
    :param repeatability: stated standard deviation of one reading, m
    :returns: None with fewer than three degrees of freedom, or where the repeats agree
    Source: GUM 4.2.2 and 4.2.4 (pooled variance).
    """
    pooled, freedom = pooled_deviation(size)
    stated = hypot(repeatability, coarsest_step(size) / 2.0)
    if freedom < 3:
        return None
    share = 2.0 / (9.0 * freedom)
    limit = stated * (1.0 - share + 3.09 * sqrt(share)) ** 1.5
    if pooled <= limit:
        return None
    sentence = (
        f"Repeats scatter by {_fine(pooled)} (standard deviation), more than the "
        f"{_fine(repeatability)} stated for the gauge explain; the uncertainty is too small until "
        "the cause is found."
    )
    return Doubt("scatter", sentence, None)


def reduction_doubt(lacking: Iterable[Sequence[str]]) -> Doubt | None:
    """Return a doubt where the build asks for sizes at 20 °C and some readings cannot give them.

    :param lacking: for each reading, what is not known that reducing it needs
    :returns: None where nothing is lacking
    """
    named = dict.fromkeys(what for one in lacking for what in one)
    if not named:
        return None
    sentence = (
        f"Sizes are asked for at 20 °C, and some stand as measured; not known: {', '.join(named)}."
    )
    return Doubt("not reduced", sentence, None)


def units_of(text: str, reads_in: str) -> Units:
    """Return the family of units that a length was typed in."""
    return _family(_parsed(text, reads_in))


def _family(quantity: Quantity | None) -> Units:
    inch = quantity is not None and quantity.unit in {"in", "thou", "tenth", "µin", "ft"}
    return Units.INCH if inch else Units.METRIC


def _ordinary(
    shown: float,
    size: float,
    feature: Feature,
    gauge: GaugeRegistered,
    others: Sequence[float],
    repeats: Sequence[float],
) -> bool:
    """Tell quickly that a reading sits with all there is, as nearly every one does.

    It may say no where the closer look says yes, never the other way round.
    """
    step = gauge.resolution.si
    floor = max(gauge.repeatability.si, step / 2.0)
    # A needle so near its zero has no sign to slip.
    unit = max(floor, ORDINARY_FORM)
    signed = gauge.comparator and abs(shown) > _LONG / 4.0 * unit
    most = _LONG * unit if signed else FORM_ALLOWANCE
    near = min(OUTLIER * floor + step, most)
    if repeats and not max(repeats) - near <= size <= min(repeats) + near:
        return False
    if others and not max(others) - most <= size <= min(others) + most:
        return False
    return feature.nominal is None or (
        feature.play is None or abs(size - feature.nominal) <= feature.play
    )


def _expectations(
    feature: Feature,
    floor: float,
    step: float,
    others: Sequence[float],
    repeats: Sequence[float],
) -> list[_Expectation]:
    """Return what a value is held against; one step of the reading is never too far."""
    expected: list[_Expectation] = []
    nominal, play = feature.nominal, feature.play
    if nominal is not None and play is not None:
        # A companion that is itself off the expected size speaks against nobody.
        others = [value for value in others if abs(value - nominal) <= play]
        repeats = [value for value in repeats if abs(value - nominal) <= play]
    if repeats:
        scatter = max(floor * sqrt(1.0 + 1.0 / len(repeats)), _spread(repeats))
        reach = step + OUTLIER * scatter
        expected.append(_Expectation(median(repeats), reach, "the repeats at this station"))
    if others:
        scatter = max(floor * sqrt(2.0), _spread(others))
        reach = FORM_ALLOWANCE + step + OUTLIER * scatter
        expected.append(_Expectation(median(others), reach, "the other stations"))
    if nominal is not None and play is not None:
        expected.append(_Expectation(nominal, play, "the size expected"))
    return expected


def _spread(values: Sequence[float]) -> float:
    middle = median(values)
    return _ROBUST * median([abs(value - middle) for value in values])


def _slip(
    reading: Reading,
    size: float,
    gauge: GaugeRegistered,
    expected: Sequence[_Expectation],
    units: Units,
) -> _Slip | None:
    """Return the first common slip that would make the reading fit all that is known."""
    shown = reading.value.si
    for slip in _slips(reading, gauge, units):
        meant = size + slip.meant - shown
        if slip.meant != shown and all(e.holds(meant) for e in expected):
            return slip
    return None


def _slips(reading: Reading, gauge: GaugeRegistered, units: Units) -> Iterator[_Slip]:
    shown = reading.value.si
    in_other_unit = units is not units_of(gauge.resolution.text, gauge.reads_in)
    other_unit = (
        _Slip("inch for metric", "millimetres typed as inches", shown / 25.4),
        _Slip("inch for metric", "inches typed as millimetres", shown * 25.4),
    )
    if in_other_unit:
        yield from other_unit
    for turn, name in _turns(gauge, units):
        what = f"one {name} ({_length(turn, units)}) off"
        yield _Slip("one turn", what, shown + turn)
        yield _Slip("one turn", what, shown - turn)
    if gauge.comparator:
        # Any deviation fits once it is divided by enough, so a dial is asked no more than this.
        yield _Slip("needle sign", "the needle read the wrong way", -shown)
    else:
        yield from other_unit
        yield _Slip("decimal point", "the decimal point one place off", shown * 10.0)
        yield _Slip("decimal point", "the decimal point one place off", shown / 10.0)
    for text, value in _swapped(reading.value.text, gauge.reads_in):
        yield _Slip("digits swapped", f"two digits swapped ('{text}')", value)


def _turns(gauge: GaugeRegistered, units: Units) -> Iterator[tuple[float, str]]:
    kind = gauge.gauge_kind.lower()
    if gauge.dial_turn is not None and gauge.dial_turn.si > 0.0:
        part = "thimble" if "micrometer" in kind else "dial"
        yield gauge.dial_turn.si, f"{part} turn"
    elif "micrometer" in kind and not gauge.comparator:
        yield THIMBLE_TURN[units], "thimble turn"
    elif "calliper" in kind or "caliper" in kind:
        yield CALLIPER_TURN[units], "dial turn"


def _swapped(text: str, reads_in: str) -> Iterator[tuple[str, float]]:
    """Yield the texts that two neighbouring digits, swapped, may have been meant as."""
    digits = [place for place, character in enumerate(text) if character.isdigit()]
    for first, second in pairwise(digits):
        if second - first > 2:
            continue
        characters = list(text)
        characters[first], characters[second] = characters[second], characters[first]
        other = "".join(characters)
        quantity = _parsed(other, reads_in)
        if quantity is not None:
            yield other, quantity.value


def _parsed(text: str, reads_in: str) -> Quantity | None:
    try:
        return parse(text, Dimension.LENGTH, default_unit=reads_in)
    except QuantityError:
        return None


def _needle_sign(
    reading: Reading,
    size: float,
    feature: Feature,
    gauge: GaugeRegistered,
    floor: float,
    companions: Sequence[float],
) -> _Slip | None:
    """Return the needle-sign slip where the mirrored deviation sits among two or more companions.

    This finds slips far smaller than what a station may differ by.
    """
    if not gauge.comparator or len(companions) < 2:
        return None
    middle = median(companions)
    spread = max(_spread(companions), floor, ORDINARY_FORM)
    mirrored = size - 2.0 * reading.value.si
    if abs(size - middle) <= _LONG * spread or abs(mirrored - middle) > _LONG / 2.0 * spread:
        return None
    nominal, play = feature.nominal, feature.play
    if nominal is not None and play is not None and abs(mirrored - nominal) > play:
        return None
    return _Slip("needle sign", "the needle read the wrong way", -reading.value.si)


def _question(
    size: float, instead: float, slip: _Slip, missed: Sequence[_Expectation], units: Units
) -> str:
    beside = missed[0].beside if missed else "the other readings"
    return (
        f"{_length(size, units)} does not sit with {beside}; it looks like {slip.what}: "
        f"was it {_length(instead, units)}?"
    )


def _unexplained(size: float, missed: _Expectation, units: Units) -> Doubt:
    away = _length(abs(size - missed.centre), units)
    side = "above" if size > missed.centre else "below"
    outlier = missed.beside == "the repeats at this station"
    code = "outlying repeat" if outlier else "unlike the others"
    if missed.beside == "the size expected":
        code = "unlikely size"
    where = f"{missed.beside} ({_length(missed.centre, units)})"
    sentence = f"{_length(size, units)} is {away} {side} {where}; measure it again."
    return Doubt(code, sentence, None)


def _of_gauge(
    reading: Reading,
    gauge: GaugeRegistered,
    overdue: bool,  # noqa: FBT001
    tolerance: float | None,
) -> Iterator[Doubt]:
    if overdue:
        sentence = f"{gauge.gauge} was due for calibration on {gauge.due}; check it on a master."
        yield Doubt("gauge overdue", sentence, None)
    step, text = gauge.resolution.si, reading.value.text
    if tolerance is not None and _too_coarse(gauge, tolerance):
        units = units_of(text, gauge.reads_in)
        sentence = (
            f"{gauge.gauge} reads in steps of {_length(step, units)}, too coarse for a "
            f"tolerance of {_length(tolerance, units)}; use a finer gauge."
        )
        yield Doubt("resolution", sentence, None)
    if _typed_coarsely(reading, gauge):
        shown = _length(step, units_of(text, gauge.reads_in))
        sentence = (
            f"'{text}' is typed more coarsely than {gauge.gauge} reads ({shown}); "
            "type every digit it shows."
        )
        yield Doubt("typed coarsely", sentence, None)


def _too_coarse(gauge: GaugeRegistered, tolerance: float | None) -> bool:
    """Tell whether a gauge's step is too large a share of the tolerance."""
    return bool(tolerance) and gauge.resolution.si > _COARSEST * (tolerance or 0.0) > 0.0


def _typed_coarsely(reading: Reading, gauge: GaugeRegistered) -> bool:
    """Tell whether a text leaves out a digit or more that the gauge shows."""
    tens = reading.value.si / (10.0 * gauge.resolution.si) if gauge.resolution.si else 0.0
    if tens == 0.0 or abs(tens - round(tens)) > 1e-6:
        return False
    typed = _parsed(reading.value.text, gauge.reads_in)
    return typed is not None and typed.resolution > 9.9 * gauge.resolution.si


def _fine(value: float) -> str:
    return show_both(value, Dimension.LENGTH, Units.METRIC, uncertainty=value)


def _length(value: float, units: Units, *, signed: bool = False) -> str:
    return show_both(value, Dimension.LENGTH, units, signed=signed)
