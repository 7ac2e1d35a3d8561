"""The engine files that ship with the program. Every figure in them is invented."""

from __future__ import annotations

from pathlib import Path


def examples() -> dict[str, str]:
    """Return the text of each shipped engine file by its name, such as 'straight-six'."""
    folder = Path(__file__).with_name("examples")
    return {file.stem: file.read_text(encoding="utf-8") for file in sorted(folder.glob("*.toml"))}
