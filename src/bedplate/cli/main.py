"""The command line: one parser, one place where errors become sentences and exit codes."""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Sequence
from typing import TextIO

from bedplate import __version__
from bedplate.cli import (
    assembling,
    balancing,
    clamping,
    deciding,
    duty,
    engines,
    keeping,
    measuring,
    selecting,
    serving,
    shopping,
    showing,
    tightening,
    tracing,
)
from bedplate.cli.options import Adder, common
from bedplate.errors import BedplateError, FaultsError

_SIGNED = re.compile(r"-[\d.,]")

_CLOSING = """\
exit codes: 0 done; 1 done, and the answer is no; 2 the command line cannot be read;
3 what was given cannot be used; 4 something named is not there; 5 the record forbids it;
6 the record or its store is not whole; 7 the disk is full, locked or read-only
"""


def parser() -> argparse.ArgumentParser:
    """Return the whole command line."""
    top = argparse.ArgumentParser(
        prog="bedplate",
        description="From an engine file and gauge readings to verdicts, with their uncertainty.",
        epilog=_CLOSING,
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        parents=[common(top=True)],
    )
    top.add_argument("--version", action="version", version=f"bedplate {__version__}")
    add = Adder(top.add_subparsers(title="commands", metavar="COMMAND", required=True))
    families = (
        serving, engines, measuring, assembling, tightening, clamping, deciding, shopping,
        selecting, showing, duty, tracing, balancing, keeping,
    )  # fmt: skip
    for family in families:
        family.add_commands(add)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    given = sys.argv[1:] if argv is None else argv
    _never_fail_on_a_character(sys.stdout, sys.stderr)
    arguments = parser().parse_args([_as_value(word) for word in given])
    try:
        code = int(arguments.run(arguments))
        sys.stdout.flush()
    except BedplateError as error:
        _tell(error, as_json=arguments.json)
        return error.exit_code
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        # Whoever read us has gone; point the stream away, so that closing it at exit is quiet.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    return code


def _as_value(word: str) -> str:
    """Mark '-0.0005 in' or '-.5mm' as a value: argparse takes a leading dash for an option.

    `value` takes the space away again.
    """
    return f" {word}" if _SIGNED.match(word) else word


def _never_fail_on_a_character(*streams: TextIO) -> None:
    for stream in streams:
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _tell(error: BedplateError, *, as_json: bool) -> None:
    if as_json:
        import json

        print(json.dumps(error.as_dict(), ensure_ascii=False, indent=2), file=sys.stderr)
        return
    print(f"bedplate: {error.sentence}", file=sys.stderr)
    if isinstance(error, FaultsError):
        for fault in error.faults:
            print(f"  {fault}", file=sys.stderr)
    if error.hint:
        print(f"  {error.hint}", file=sys.stderr)
