"""Make docs/commands.md from the command line itself: `make pages`."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

from bedplate.cli.main import parser

HERE = Path(__file__).parent
PAGE = HERE / "commands.md"

OPENING = """\
# The commands

<!-- Made by docs/make_commands.py from the command line itself; `make pages` makes it anew. -->

Every command takes the options of the first table, before its name or behind it. A value may begin
with a minus: `-0.0005 in` is a value, not an option.
"""


def commands(top: argparse.ArgumentParser) -> dict[str, tuple[str, argparse.ArgumentParser]]:
    """Return every command with its summary."""
    action = next(a for a in top._actions if isinstance(a, argparse._SubParsersAction))
    summaries = {choice.dest: choice.help or "" for choice in action._choices_actions}
    return {name: (summaries[name], command) for name, command in action.choices.items()}


def rows(command: argparse.ArgumentParser, leave: set[str]) -> Iterator[str]:
    """Yield a row for each argument that is not one of all commands."""
    lines = []
    for action in command._actions:
        if isinstance(action, argparse._HelpAction | argparse._SubParsersAction):
            continue
        if leave.intersection(action.option_strings):
            continue
        shown = ", ".join(f"`{_shown(action, option)}`" for option in action.option_strings)
        name = shown or f"`{action.metavar}`"
        needed = "" if action.option_strings and not action.required else "needed"
        if not action.option_strings and action.nargs == "?":
            needed = ""
        lines.append(f"| {name} | {needed} | {(action.help or '').replace('|', '/')} |")
    if lines:
        yield "| argument | | what it says |"
        yield "|---|---|---|"
        yield from lines
        yield ""


def _shown(action: argparse.Action, option: str) -> str:
    if action.nargs == 0:
        return option
    if action.choices:
        return f"{option} {'/'.join(action.choices)}"
    return f"{option} {action.metavar or (action.dest or '').upper().replace('_', '-')}"


def exit_codes(top: argparse.ArgumentParser) -> str:
    """Return the exit codes as a list."""
    _, _, codes = " ".join((top.epilog or "").split()).partition(": ")
    return "\n".join(f"- {code}" for code in codes.split("; "))


def page() -> str:
    """Return the whole page."""
    top = parser()
    parts = [OPENING, *rows(top, {"--version"})]
    shared = {option for action in top._actions for option in action.option_strings}
    for name, (summary, command) in commands(top).items():
        parts.append(f"## bedplate {name}\n\n{summary[:1].upper()}{summary[1:]}.\n")
        _, _, more = (command.description or "").partition("\n\n")
        if more:
            parts.append(f"{more.strip()}\n")
        parts.extend(rows(command, shared))
    parts.append(f"## Exit codes\n\n{exit_codes(top)}")
    return "\n".join(parts).rstrip() + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), "utf-8")
    print(f"Wrote {PAGE.relative_to(HERE.parent)}.")
