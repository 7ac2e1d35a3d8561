"""Small lengths as they are said at the bench."""

import pytest

from bedplate.quantity import Units, words


@pytest.mark.parametrize(
    ("inches", "spoken"),
    [
        (0.0025, "two and a half thou"),
        (0.0008, "eight tenths"),
        (0.0001, "one tenth"),
        (0.00005, "half a tenth"),
        (0.0005, "half a thou"),
        (0.001, "one thou"),
        (0.0023, "two thou and three tenths"),
        (0.0021, "two thou and one tenth"),
        (0.035, "thirty-five thou"),
        (0.0995, "ninety-nine and a half thou"),
        (-0.0005, "minus half a thou"),
        (0.02 / 25.4, "eight tenths"),
        (0.0, ""),
        (0.1, ""),
        (2.3231, ""),
        (float("nan"), ""),
    ],
)
def test_in_thou_and_tenths(inches, spoken):
    assert words(inches * 0.0254, Units.INCH) == spoken


@pytest.mark.parametrize(
    ("millimetres", "spoken"),
    [
        (0.04, "four hundredths of a millimetre"),
        (0.01, "one hundredth of a millimetre"),
        (0.25, "twenty-five hundredths of a millimetre"),
        (0.3, "three tenths of a millimetre"),
        (0.5, "half a millimetre"),
        (0.035, "thirty-five microns"),
        (0.001, "one micron"),
        (0.0015, "one and a half microns"),
        (0.0005, "half a micron"),
        (0.123, "one hundred and twenty-three microns"),
        (-0.048, "minus forty-eight microns"),
        (0.0, ""),
        (1.0, ""),
        (59.006, ""),
        (float("inf"), ""),
    ],
)
def test_in_hundredths_and_microns(millimetres, spoken):
    assert words(millimetres / 1000, Units.METRIC) == spoken
