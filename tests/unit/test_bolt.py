import pytest

from bedplate.errors import InputError
from bedplate.physics.bolt import preload_at, utilisation
from bedplate.physics.property_class import grade, property_class
from bedplate.physics.thread import thread
from bedplate.physics.tightening import bearing_diameter, preload, preload_by_factor, torque_parts
from bedplate.physics.wrench import adapter_setting, permissible_deviation

M10 = thread("M10")

REFUSED = {
    "head smaller than hole": lambda: bearing_diameter(0.010, 0.011),
    "negative torque": lambda: preload(-1, M10, 0.1, 0.1, 0.013),
    "torque that is no number": lambda: preload(float("nan"), M10, 0.1, 0.1, 0.013),
    "negative friction": lambda: preload(50, M10, -0.1, 0.1, 0.013),
    "friction in per cent": lambda: preload(50, M10, 12, 0.1, 0.013),
    "no bearing": lambda: torque_parts(1e4, M10, 0.1, 0.1, 0),
    "no factor": lambda: preload_by_factor(60, 0, 0.01),
    "no strength": lambda: utilisation(1e4, M10, 0.1, 0),
    "share of nothing": lambda: preload_at(0, M10, 0.1, 640e6),
    "class that is none": lambda: property_class("10.8", 0.01),
    "class too big": lambda: property_class("9.8", 0.020),
    "class beyond the standard": lambda: property_class("8.8", 0.042),
    "grade that is none": lambda: grade("10.9", 0.01),
    "grade too small": lambda: grade("8", 0.004),
    "adapter folded back to the hand": lambda: adapter_setting(60, 0.4, 0.4, 3.141592653589793),
    "negative adapter": lambda: adapter_setting(60, 0.4, -0.05),
    "wrench of no class": lambda: permissible_deviation(60, "II", "K"),
    "wrench of no type": lambda: permissible_deviation(60, "III", "A"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_is_refused_in_one_sentence(what):
    with pytest.raises(InputError) as caught:
        REFUSED[what]()
    assert caught.value.sentence.endswith(".")
    assert caught.value.sentence.count(". ") == 0


def test_torque_and_preload_are_each_other_s_inverse():
    torque = torque_parts(31e3, M10, 0.13, 0.11, 0.0128).whole
    assert preload(torque, M10, 0.13, 0.11, 0.0128) == pytest.approx(31e3, rel=1e-12)
