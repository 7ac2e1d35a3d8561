"""Commands that open the page: `serve` on the data folder, `demo` on an invented build."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, TextIO

from bedplate.cli.options import Adder, data_given
from bedplate.errors import NotPossibleError, StorageError

if TYPE_CHECKING:
    from pathlib import Path

    from bedplate.workshop import Workshop

PORT = 8377
_MARK = "bedplate-demo"
"""File that marks a folder as a demo's own, to be emptied without asking."""


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    demo = add(
        "demo",
        _demo,
        "open an invented build on the page, from a fresh copy",
        "The demo has a folder of its own; it never touches your builds.",
    )
    demo.add_argument("--keep", action="store_true", help="go on with the last demo as it was left")
    demo.add_argument(
        "--no-serve", dest="serve", action="store_false", help="make the copy, open no page"
    )
    _add_address(demo)

    serve = add("serve", _serve, "open the page on the builds of the data folder")
    _add_address(serve)


def _add_address(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--port", type=int, metavar="N", help=f"port of the page; {PORT}, or a free one if not said"
    )
    command.add_argument(
        "--host",
        default="127.0.0.1",
        metavar="ADDRESS",
        help="address to listen at; this machine only if not said. Whoever can reach another one "
        "can write to the record",
    )
    command.add_argument(
        "--name",
        action="append",
        default=[],
        metavar="HOST",
        help="one more name under which a tablet asks for this machine",
    )
    command.add_argument(
        "--no-browser", dest="browser", action="store_false", help="only print the address"
    )


def _serve(arguments: argparse.Namespace) -> int:
    from bedplate.workshop import Workshop, data_folder

    workshop = Workshop.open(data_given(arguments))
    try:
        _run(arguments, workshop, f"The data lies in {data_folder(data_given(arguments))}.", "/")
    finally:
        workshop.close()
    return 0


def _demo(arguments: argparse.Namespace) -> int:
    from bedplate.workshop import Workshop, data_folder

    folder = data_given(arguments) or data_folder() / "demo"
    with _own(folder):
        if not arguments.keep:
            _empty(folder)
        workshop = Workshop.open(folder)
        try:
            build = _filled(workshop)
            said = f"The demo's invented data lies in {folder}."
            if arguments.serve:
                _run(arguments, workshop, said, f"/builds/{build}/")
                print(f"To go on where you left it: bedplate demo --keep{_with_data(arguments)}")
            else:
                print(f"{said} It holds the build '{build}'.")
        finally:
            workshop.close()
    return 0


def _with_data(arguments: argparse.Namespace) -> str:
    return f" --data {arguments.data}" if arguments.data else ""


def _filled(workshop: Workshop) -> str:
    builds = workshop.builds()
    if builds:
        return str(builds[0].build)
    from bedplate.demo import start_demo

    return start_demo(workshop)


@contextmanager
def _own(folder: Path) -> Iterator[None]:
    """Hold a demo folder for as long as this demo runs.

    :raises NotPossibleError: it is no demo's folder, or another demo runs in it
    """
    import fcntl

    with _marked(folder) as held:
        try:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            sentence = "The demo is running already."
            raise NotPossibleError(sentence, hint="Stop it, or give --data DIR.") from error
        yield


def _marked(folder: Path) -> TextIO:
    mark = folder / _MARK
    try:
        if folder.is_dir() and any(folder.iterdir()) and not mark.is_file():
            sentence = f"{folder} holds something that is no demo."
            raise NotPossibleError(sentence, hint="Give the demo an empty folder.")
        folder.mkdir(parents=True, exist_ok=True)
        return mark.open("a", encoding="utf-8")
    except OSError as error:
        sentence = f"{folder} cannot be used: {(error.strerror or 'unknown reason').lower()}."
        raise StorageError(sentence) from error


def _empty(folder: Path) -> None:
    for path in folder.iterdir():
        if path.name != _MARK and path.is_file():
            path.unlink()


def _run(arguments: argparse.Namespace, workshop: Workshop, said: str, path: str) -> None:
    from bedplate.web import serve

    def ready(address: str) -> None:
        print(f"{said}\nThe page is at {address}\nStop it with Ctrl-C.", flush=True)

    serve(
        workshop,
        host=arguments.host,
        port=_port(arguments),
        open_browser=arguments.browser,
        on_ready=ready,
        path=path,
        names=tuple(arguments.name),
    )


def _port(arguments: argparse.Namespace) -> int:
    """Return the port asked for, else the usual one, else any that is free."""
    if arguments.port is not None:
        return int(arguments.port)
    import socket

    with socket.socket() as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((arguments.host, PORT))
        except OSError:
            return 0
    return PORT
