"""Expansion of the materials that an engine file may call by name.

Each printed value must lie within twice the standard uncertainty that the program gives its name.
"""

import pytest

from bedplate.engine import KNOWN_MATERIALS

PRINTED = [
    # Callister, Materials Science and Engineering, Appendix B (linear expansion, 1e-6 1/K)
    ("aluminium", 21.5, "cast 356.0"),
    ("ductile iron", 11.2, "ductile iron 60-40-18"),
    ("ductile iron", 10.6, "ductile iron 80-55-06"),
    # a piston maker's data sheet of its cast AlSi12CuMgNi alloy, 20 to 100 °C
    ("aluminium, cast piston", 19.5, "low end"),
    ("aluminium, cast piston", 20.5, "high end"),
    # open material tables
    ("aluminium 2618", 22.3, "2618"),
    ("aluminium 4032", 19.4, "4032"),
    ("aluminium", 21.0, "A357"),
    ("aluminium", 22.0, "443"),
    ("grey iron", 11.0, "generic grey iron"),
    # usual practice with ISO 1 for steel parts and gauges, and 4340 from memory
    ("steel", 11.5, "gauges"),
    ("alloy steel", 12.3, "4340"),
    # handbook range of compacted iron, from memory
    ("compacted iron", 11.0, "low end"),
    ("compacted iron", 12.0, "high end"),
]


@pytest.mark.parametrize(("name", "printed", "grade"), PRINTED)
def test_a_printed_value_lies_within_the_stated_uncertainty(name, printed, grade):
    material = KNOWN_MATERIALS[name]
    assert material.expansion == pytest.approx(
        printed * 1e-6, abs=2 * material.expansion_uncertainty
    ), grade


def test_every_material_has_a_source_and_a_printed_value_here():
    assert {name for name, _, _ in PRINTED} == set(KNOWN_MATERIALS)
    for material in KNOWN_MATERIALS.values():
        assert material.source
        assert 0 < material.expansion_uncertainty < 0.1 * material.expansion
