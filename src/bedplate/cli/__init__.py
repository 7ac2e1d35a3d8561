"""The state of a build in the terminal, and the use cases as commands."""

from bedplate.cli.main import main

__all__ = ["main"]
