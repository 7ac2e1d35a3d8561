"""Commands that keep and hand over: paper, proof, copies, and the program's own health."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING

from bedplate.cli.options import Adder, data_given, opened, read_bytes, write_bytes
from bedplate.errors import InputError

if TYPE_CHECKING:
    from bedplate.record import Checkpoint, Verification


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    book = add("book", _book, "write the build book as PDF")
    book.add_argument("build", metavar="BUILD")
    _add_file(book, "BUILD-book.pdf")

    sheet = add("sheet", _sheet, "write a blank measuring sheet as PDF, to fill by hand")
    sheet.add_argument("build", metavar="BUILD")
    _add_file(sheet, "BUILD-sheet.pdf")

    verify = add("verify", _verify, "prove that a record is whole and was not rewritten")
    verify.add_argument("build", metavar="BUILD")
    verify.add_argument(
        "--checkpoint", default="", metavar="'COUNT HASH'", help="as printed on a page of the book"
    )

    export = add("export", _export, "write a record as JSON Lines, loss-free")
    export.add_argument("build", metavar="BUILD")
    _add_file(export, "BUILD.jsonl")

    take = add("import", _import, "take in a record that was exported: all of it, or nothing")
    take.add_argument("file", metavar="FILE", help="'-' reads it from input")

    doctor = add("doctor", _doctor, "say how the program is: versions, data folder, settings")
    doctor.add_argument("--verify", action="store_true", help="verify every record as well")


def _add_file(command: argparse.ArgumentParser, usual: str) -> None:
    command.add_argument(
        "--to", default="", metavar="FILE", help=f"{usual} if not said; '-' is the output"
    )
    command.add_argument("--replace", action="store_true", help="write over a file that is there")


def _book(arguments: argparse.Namespace) -> int:
    from bedplate.cli.duty import say_if_compiling

    with opened(arguments) as workshop:
        if workshop.state(arguments.build).engine.duty.figure("weights.piston") is not None:
            say_if_compiling()
        data = workshop.book(arguments.build)
    return _written(arguments, data, f"{arguments.build}-book.pdf")


def _sheet(arguments: argparse.Namespace) -> int:
    with opened(arguments) as workshop:
        data = workshop.sheet(arguments.build)
    return _written(arguments, data, f"{arguments.build}-sheet.pdf")


def _export(arguments: argparse.Namespace) -> int:
    with opened(arguments) as workshop:
        data = b"".join(workshop.export(arguments.build))
    return _written(arguments, data, f"{arguments.build}.jsonl")


def _written(arguments: argparse.Namespace, data: bytes, usual: str) -> int:
    name = arguments.to or usual
    write_bytes(name, data, replace=arguments.replace)
    if name == "-":
        return 0
    if arguments.json:
        from bedplate.cli.output import print_json

        print_json({"file": name, "bytes": len(data)})
    else:
        print(f"Wrote {name}, {len(data) / 1e3:.0f} kB.")
    return 0


def _verify(arguments: argparse.Namespace) -> int:
    from bedplate.cli.output import print_json

    checkpoint = _checkpoint(arguments.checkpoint) if arguments.checkpoint.strip() else None
    with opened(arguments) as workshop:
        found = workshop.verify(arguments.build, checkpoint)
    if arguments.json:
        print_json(found)
    else:
        for fault in found.faults:
            print(fault)
        print(_sentence(arguments.build, found, checkpoint))
    return 0 if found.ok else 1


def _checkpoint(text: str) -> Checkpoint:
    """Read a checkpoint as printed: the count, then the hash, in groups or in one piece."""
    from bedplate.record import Checkpoint

    count, _, rest = text.strip().partition(" ")
    head = re.sub(r"[^0-9a-fA-F]", "", rest).lower()
    if not count.isdecimal() or len(head) != 64:
        sentence = f"'{text.strip()}' is no checkpoint."
        hint = "It is the number of entries, a space, and the 64 digits of the hash."
        raise InputError(sentence, hint=hint)
    return Checkpoint(int(count), head)


def _sentence(build: str, found: Verification, checkpoint: Checkpoint | None) -> str:
    if not found.ok:
        return f"The record of '{build}' is not whole."
    proved = (
        "and it holds what the checkpoint says"
        if checkpoint
        else "as far as a record alone can show; a printed checkpoint proves more"
    )
    return f"The record of '{build}' is whole: {found.count} entries, {proved}.\nHead {found.head}"


def _import(arguments: argparse.Namespace) -> int:
    from bedplate.cli.output import print_json

    data = read_bytes(arguments.file)
    file = "standard input" if arguments.file == "-" else arguments.file
    with opened(arguments) as workshop:
        brief = workshop.import_(data, file)
    if arguments.json:
        print_json(brief)
    else:
        print(f"Build '{brief.build}' is taken in, {brief.entries} entries.")
    return 0


def _doctor(arguments: argparse.Namespace) -> int:
    from bedplate.cli.output import print_json, print_table

    facts = {**_versions(), **_folder(arguments)}
    verified: dict[str, Verification] = {}
    with opened(arguments) as workshop:
        facts.update(workshop.settings())
        builds = workshop.builds()
        facts["builds"] = str(len(builds))
        if arguments.verify:
            verified = {brief.build: workshop.verify(brief.build) for brief in builds}
            facts["store"] = "; ".join(workshop.store_faults()) or "whole"
    well = all(found.ok for found in verified.values()) and facts.get("store", "whole") == "whole"
    if arguments.json:
        print_json({"well": well, "facts": facts, "verified": verified})
        return 0 if well else 1
    print_table(("what", "is"), list(facts.items()))
    for build, found in verified.items():
        print(_sentence(build, found, None).partition("\n")[0])
        for fault in found.faults:
            print(f"  {fault}")
    return 0 if well else 1


def _versions() -> dict[str, str]:
    import platform
    from importlib.metadata import version

    import apsw

    from bedplate import __version__

    return {
        "bedplate": __version__,
        "python": platform.python_version(),
        "machine": f"{platform.system()} {platform.release()}, {platform.machine()}",
        "SQLite": f"{apsw.sqlite_lib_version()} in apsw {version('apsw')}",
        **{name: version(name) for name in ("msgspec", "typst", "starlette", "uvicorn", "numpy")},
    }


def _folder(arguments: argparse.Namespace) -> dict[str, str]:
    import shutil

    from bedplate.workshop import data_folder

    folder = data_folder(data_given(arguments))
    there = next(path for path in (folder.absolute(), *folder.absolute().parents) if path.exists())
    free = shutil.disk_usage(there).free
    return {"data folder": str(folder), "free space": f"{free / 1e9:.1f} GB"}
