import pytest

from bedplate.errors import InputError
from bedplate.physics.bolt_resilience import Held, Section, bolt_resilience, twist_resilience
from bedplate.physics.joint import angle_preload, stretch_preload
from bedplate.physics.parts_resilience import Layer, cone_tangent, parts_resilience
from bedplate.physics.thread import thread

M10 = thread("M10")
REFUSED = {
    "no section": lambda: bolt_resilience(M10, [], 205e9),
    "no length": lambda: bolt_resilience(M10, [Section(0, 0.01)], 205e9),
    "no modulus": lambda: bolt_resilience(M10, [Section(0.1, 0.01)], 0),
    "soft hole": lambda: bolt_resilience(M10, [Section(0.1, 0.01)], 205e9, holder_modulus=-1),
    "no layer": lambda: parts_resilience([], 0.0146, 0.011, Held.NUT),
    "hole past the head": lambda: parts_resilience(
        [Layer(0.05, 70e9, 0.03)], 0.0146, 0.016, Held.NUT
    ),
    "hole past the part": lambda: parts_resilience(
        [Layer(0.05, 70e9, 0.01)], 0.0146, 0.011, Held.NUT
    ),
    "flat cone": lambda: parts_resilience([Layer(0.05, 70e9, 0.03)], 0.0146, 0.011, Held.NUT, 0.0),
    "negative angle": lambda: angle_preload(-0.1, 0.0015, 5e-9),
    "negative stretch": lambda: stretch_preload(-1e-4, 4e-9),
    "no shear modulus": lambda: twist_resilience([Section(0.1, 0.01)], 0),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_is_refused(what):
    with pytest.raises(InputError) as caught:
        REFUSED[what]()
    assert caught.value.sentence.endswith(".")


def test_the_cone_is_held_at_the_edge_of_its_range():
    assert cone_tangent(1.0, 0.01, 0.02, Held.NUT) == cone_tangent(0.1, 0.01, 0.02, Held.NUT)
    assert cone_tangent(0.03, 0.01, 0.005, Held.NUT) == cone_tangent(0.03, 0.01, 0.01, Held.NUT)
