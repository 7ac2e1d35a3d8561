"""What commands share: their options, and how they open the workshop."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from bedplate.errors import InputError
from bedplate.wording import capital

if TYPE_CHECKING:
    from pathlib import Path

    from bedplate.quantity import Units
    from bedplate.workshop import Workshop

Run = Callable[[argparse.Namespace], int]


def value(text: str) -> str:
    """Return what was typed for a value, without the spaces round it."""
    return text.strip()


def common(*, top: bool = False) -> argparse.ArgumentParser:
    """Return the options that stand before a command or behind it.

    Behind a command they have no default, so that they do not undo what stood before it.
    """
    unset: Any = argparse.SUPPRESS
    options = argparse.ArgumentParser(add_help=False, allow_abbrev=False)
    options.add_argument(
        "--data",
        metavar="DIR",
        default=None if top else unset,
        help="folder the data lies in (usually the platform's own)",
    )
    options.add_argument(
        "--json", action="store_true", default=False if top else unset, help="print JSON"
    )
    options.add_argument(
        "--by",
        metavar="NAME",
        default="" if top else unset,
        help="who says so (usually the login name)",
    )
    options.add_argument(
        "--units",
        choices=("metric", "inch"),
        default="" if top else unset,
        help="units shown first (usually the engine file's)",
    )
    return options


class Adder:
    """Adds commands to the command line, each with the options that all share."""

    def __init__(self, commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
        """Take the place where the commands go."""
        self._commands = commands

    def __call__(
        self, name: str, run: Run, summary: str, more: str = ""
    ) -> argparse.ArgumentParser:
        """Add a command and return its parser."""
        command = self._commands.add_parser(
            name,
            help=summary,
            description=f"{capital(summary)}." + (f"\n\n{more}" if more else ""),
            parents=[common()],
            allow_abbrev=False,
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        command.set_defaults(run=run)
        return command


def data_given(arguments: argparse.Namespace) -> Path | None:
    """Return the data folder that was asked for, None for the platform's own."""
    from pathlib import Path

    return Path(arguments.data) if arguments.data else None


@contextmanager
def opened(arguments: argparse.Namespace) -> Iterator[Workshop]:
    """Open the workshop on the data folder for one command."""
    from bedplate.workshop import Workshop

    workshop = Workshop.open(data_given(arguments))
    try:
        yield workshop
    finally:
        workshop.close()


def who(arguments: argparse.Namespace) -> str:
    """Return who says so: the name given, else the login name."""
    if arguments.by:
        return str(arguments.by)
    import getpass

    try:
        return getpass.getuser()
    except (KeyError, OSError) as error:
        sentence = "Nobody is named, and this machine knows no login name."
        raise InputError(sentence, hint="Say who you are with --by NAME.") from error


def units(arguments: argparse.Namespace, usual: Units) -> Units:
    """Return the units to show first."""
    return type(usual)(arguments.units) if arguments.units else usual


def read_bytes(name: str) -> bytes:
    """Return what a file holds; '-' is the standard input.

    :raises InputError: it cannot be read
    """
    import sys
    from pathlib import Path

    if name == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(name).read_bytes()
    except OSError as error:
        sentence = f"{name} cannot be read: {(error.strerror or 'unknown reason').lower()}."
        raise InputError(sentence) from error


def read_text(name: str) -> str:
    """Return the text of a file; '-' is the standard input.

    :raises InputError: it cannot be read, or is no UTF-8 text
    """
    try:
        return read_bytes(name).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        sentence = f"{name} is not UTF-8 text: byte {error.start + 1} cannot be read."
        raise InputError(sentence, hint="Save it as UTF-8.") from error


def write_bytes(name: str, data: bytes, *, replace: bool) -> None:
    """Write a file whole, or not at all; '-' is the standard output.

    :raises InputError: there is such a file already, and it was not asked to be replaced
    :raises StorageError: it cannot be written
    """
    import os
    import sys
    from pathlib import Path

    from bedplate.errors import StorageError

    if name == "-":
        sys.stdout.buffer.write(data)
        return
    path = Path(name)
    if path.exists() and not replace:
        sentence = f"{name} is there already."
        raise InputError(sentence, hint="Give another name, or --replace to write over it.")
    half = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        half.write_bytes(data)
        half.replace(path)
    except OSError as error:
        half.unlink(missing_ok=True)
        sentence = f"{name} cannot be written: {(error.strerror or 'unknown reason').lower()}."
        raise StorageError(sentence) from error
