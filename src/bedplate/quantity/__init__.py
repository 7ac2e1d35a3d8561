"""Typed text to SI numbers and back."""

from bedplate.quantity.dimension import Dimension, Units
from bedplate.quantity.model import Quantity, Range, Tightening
from bedplate.quantity.read import parse, parse_range, parse_tightening
from bedplate.quantity.show import show, show_both, show_range, words

__all__ = [
    "Dimension",
    "Quantity",
    "Range",
    "Tightening",
    "Units",
    "parse",
    "parse_range",
    "parse_tightening",
    "show",
    "show_both",
    "show_range",
    "words",
]
