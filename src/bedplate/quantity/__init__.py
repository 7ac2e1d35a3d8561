"""Typed text to SI numbers and back."""

from bedplate.quantity.dimension import Dimension, Units
from bedplate.quantity.model import Quantity, Range, Tightening
from bedplate.quantity.ranges import parse_range
from bedplate.quantity.read import parse, parse_tightening
from bedplate.quantity.show import show, show_both, show_range
from bedplate.quantity.spoken import words
from bedplate.quantity.units import UNITS, Unit

__all__ = [
    "UNITS",
    "Dimension",
    "Quantity",
    "Range",
    "Tightening",
    "Unit",
    "Units",
    "parse",
    "parse_range",
    "parse_tightening",
    "show",
    "show_both",
    "show_range",
    "words",
]
