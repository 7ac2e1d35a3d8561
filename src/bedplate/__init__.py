"""Bedplate: measuring, deciding and proving, for people who build engines."""

__version__ = "0.1.0"
