"""Materials an engine file may call by name, with their linear expansion near room temperature."""

from __future__ import annotations

from bedplate.engine.model import Material

_TEXTBOOK = "Callister, Materials Science and Engineering, App. B"
_GENERAL = (
    "general handbook value near 20 °C; the grade matters, so give your own where you know it"
)
_ISO_1 = "11.5e-6 1/K is the usual figure for steel gauges and parts at 20 °C (ISO 1 practice)"
_PISTON = "open material tables of wrought piston alloys; the piston maker's figure is better"


def _material(name: str, expansion: float, doubt: float, source: str) -> Material:
    return Material(name, expansion * 1e-6, doubt * 1e-6, source)


KNOWN_MATERIALS: dict[str, Material] = {
    material.name: material
    for material in (
        _material("steel", 11.5, 0.6, _ISO_1),
        _material("alloy steel", 12.3, 0.5, "4340 steel, from memory of handbook tables"),
        _material("grey iron", 11.0, 0.8, _GENERAL),
        _material("ductile iron", 11.0, 0.5, f"{_TEXTBOOK}: 10.6 to 11.2e-6 1/K by grade"),
        _material("compacted iron", 11.5, 0.8, "11 to 12e-6 1/K, from memory of handbook tables"),
        _material("aluminium", 21.5, 0.8, f"{_TEXTBOOK}: cast 356.0; cast grades run 21 to 22"),
        _material("aluminium 2618", 22.3, 0.6, _PISTON),
        _material("aluminium 4032", 19.4, 0.6, _PISTON),
        _material("aluminium, cast piston", 20.0, 0.7, "19.5 to 20.5e-6 1/K, 20 to 100 °C, maker"),
    )
}
"""By name. The uncertainty is a standard uncertainty that covers the spread between grades."""

OTHER_NAMES: dict[str, str] = {
    "iron": "grey iron",
    "cast iron": "grey iron",
    "gray iron": "grey iron",
    "nodular iron": "ductile iron",
    "forged steel": "steel",
    "cast steel": "steel",
    "aluminum": "aluminium",
    "2618": "aluminium 2618",
    "4032": "aluminium 4032",
}
