"""Play a page's commands in an empty folder and renew the outputs it shows: `make pages`.

A block marked `sh` is run; a block marked `text` right behind it is its output. A block marked
`console` is only shown.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

BLOCK = re.compile(r"```sh\n(?P<commands>.*?)```(?:\n\n```text\n(?P<output>.*?)```)?", re.DOTALL)


def played(text: str, folder: Path) -> str:
    """Return a page with its outputs as they are now."""

    def renewed(match: re.Match[str]) -> str:
        output = _run(match["commands"], folder)
        block = f"```sh\n{match['commands']}```"
        return block if match["output"] is None else f"{block}\n\n```text\n{output}```"

    return BLOCK.sub(renewed, text)


def _run(commands: str, folder: Path) -> str:
    environment = {
        **os.environ,
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "HOME": str(folder),
        "XDG_DATA_HOME": str(folder / "data"),
        "LOGNAME": "you",
        "PYTHONUTF8": "1",
    }
    run = subprocess.run(
        ["/bin/sh", "-c", commands],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    if run.returncode not in {0, 1}:
        sentence = f"{commands.strip()} failed with {run.returncode}: {run.stderr.strip()}"
        raise SystemExit(sentence)
    return run.stdout


def main() -> None:
    """Renew the pages named."""
    for name in sys.argv[1:]:
        page = Path(name)
        with tempfile.TemporaryDirectory() as folder:
            page.write_text(played(page.read_text("utf-8"), Path(folder)), "utf-8")
        print(f"Played {name}.")


if __name__ == "__main__":
    main()
