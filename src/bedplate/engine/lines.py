"""The line on which each key of a TOML text stands.

`tomllib` reads the values but keeps no places. This walks the same text once more, statement by
statement, and relies on `tomllib` having accepted it. A key inside an inline table or an array gets
the line of its statement.
"""

from __future__ import annotations

import re

Path = tuple[str | int, ...]
"""Keys and 0-based places in arrays: ('fit', 1, 'limits')."""

_DEEPEST = 6
"""Deeper keys than any an engine file has get the line of what is around them."""

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_KEY = re.compile(r"""[ \t]*(?:([A-Za-z0-9_-]+)|"((?:[^"\\\n]|\\.)*)"|'([^'\n]*)')[ \t]*""")
_TOKEN = re.compile(
    r'"""(?:[^\\]|\\.)*?"""(?:"{0,2})'
    r"|'''.*?'''(?:'{0,2})"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'"
    r"|\#[^\n]*"
    r"|[\[{]|[\]}]|\n"
    r"|[^\"'#\[\]{}\n]+",
    re.DOTALL,
)


def find_lines(text: str) -> dict[Path, int]:
    """Return the line of each table and each key, first line 1.

    :param text: TOML that `tomllib` accepts; of anything else only a part is found
    """
    text = text.replace("\r\n", "\n")
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    position, line = _skip_blank(text, 0, 1)
    while position < len(text):
        if text[position] == "[":
            position, table = _header(text, position, counts)
            for end in range(1, len(table) + 1):
                found.setdefault(table[:end], line)
        else:
            position, names = _dotted(text, position)
            for end in range(1, min(len(names), _DEEPEST) + 1):
                found.setdefault((*table, *names[:end]), line)
            end_of_value = _skip_value(text, position)
            line += text.count("\n", position, end_of_value)
            position = end_of_value
        position, line = _skip_blank(text, position, line)
    return found


def line_of(lines: dict[Path, int], path: Path) -> int:
    """Return the line of a path, or of the nearest thing around it; 0 if there is none."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 0)


def dotted(path: Path) -> str:
    """Return a path as people count: ('fit', 1, 'limits') is 'fit[2].limits'."""
    parts: list[str] = []
    for step in path:
        if isinstance(step, int):
            parts.append(f"[{step + 1}]")
        else:
            bare = re.fullmatch(r"[A-Za-z0-9_-]+", step)
            name = step[:60] if bare else f"'{' '.join(step.split())[:60]}'"
            parts.append(f".{name}" if parts else name)
    return "".join(parts)


def _skip_blank(text: str, position: int, line: int) -> tuple[int, int]:
    match = _BLANK.match(text, position)
    end = match.end() if match else position
    return end, line + text.count("\n", position, end)


def _dotted(text: str, position: int) -> tuple[int, tuple[str, ...]]:
    names: list[str] = []
    while match := _KEY.match(text, position):
        bare, quoted, literal = match.groups()
        names.append(bare or literal or _unescaped(quoted or ""))
        position = match.end()
        if text[position : position + 1] != ".":
            break
        position += 1
    if not names:
        return position + 1, ("",)
    return position + (text[position : position + 1] == "="), tuple(names)


def _unescaped(quoted: str) -> str:
    if "\\" not in quoted:
        return quoted
    import tomllib

    try:
        return next(iter(tomllib.loads(f'"{quoted}" = 1')))
    except tomllib.TOMLDecodeError:
        return quoted


def _header(text: str, position: int, counts: dict[Path, int]) -> tuple[int, Path]:
    is_array = text.startswith("[[", position)
    position, names = _dotted(text, position + 1 + is_array)
    end = text.find("\n", position)
    path: Path = ()
    names = names[:_DEEPEST]
    for name in names[:-1]:
        path = (*path, name)
        if path in counts:
            path = (*path, counts[path] - 1)
    path = (*path, names[-1])
    if is_array:
        counts[path] = counts.get(path, 0) + 1
        path = (*path, counts[path] - 1)
    return (len(text) if end < 0 else end), path


def _skip_value(text: str, position: int) -> int:
    depth = 0
    while match := _TOKEN.match(text, position):
        piece = match.group()
        if piece == "\n" and depth <= 0:
            return position
        if piece in {"[", "{"}:
            depth += 1
        elif piece in {"]", "}"}:
            depth -= 1
        position = match.end()
    return len(text)
