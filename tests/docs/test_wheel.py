"""A wheel holds all that Bedplate needs: it is built, installed and run where no repository is."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

USED = """
import sys, tempfile
from pathlib import Path

import bedplate
from bedplate.engine import examples
from bedplate.web.app import create_app
from bedplate.workshop import Workshop
from starlette.testclient import TestClient

assert Path(bedplate.__file__).is_relative_to(sys.argv[1]), bedplate.__file__
with tempfile.TemporaryDirectory() as folder:
    shop = Workshop.open(Path(folder))
    for name, text in sorted(examples().items()):
        build = shop.start(text, by="a tester", build=name).build
        assert shop.state(build).questions, name
    assert shop.sheet(build).startswith(b"%PDF")
    page = TestClient(create_app(shop, allowed_hosts=["bench"]), base_url="http://bench")
    for end in ("", "measure", "questions", "assembly"):
        answer = page.get(f"/builds/{build}/{end}")
        assert answer.status_code == 200, (end, answer.text[:400])
    for name in ("bedplate.css", "bedplate.js", "mark.svg", "fonts/SourceSansPro-Regular.ttf"):
        assert page.get(f"/static/{name}").status_code == 200, name
    shop.close()
"""


@pytest.fixture(scope="module")
def installed(tmp_path_factory):
    """Build a wheel from what git would hand over, and install it alone in a folder."""
    folder = tmp_path_factory.mktemp("wheel")
    source, target = folder / "source", folder / "target"
    source.mkdir()
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, source)
    unwanted = shutil.ignore_patterns("__pycache__", "*.egg-info")
    shutil.copytree(ROOT / "src", source / "src", ignore=unwanted)
    _run("-m", "build", "--wheel", "--no-isolation", "--outdir", str(folder), str(source))
    wheel = next(folder.glob("bedplate-*.whl"))
    _run("-m", "pip", "install", "--quiet", "--no-deps", "--no-index", "--no-compile",
         "--target", str(target), str(wheel))  # fmt: skip
    (source / "pyproject.toml").unlink()
    return target


def _run(*arguments, **more):
    done = subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, check=False, **more
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def _away(installed):
    """Return how to run where only the wheel is: another folder, and no other Bedplate."""
    environment = {**os.environ, "PYTHONPATH": str(installed), "PYTHONSAFEPATH": "1"}
    return {"cwd": installed.parent, "env": environment}


def test_every_file_of_the_house_is_in_it(installed):
    """Templates, styles, fonts, examples and tables too; what is made while running is not."""
    house, there = installed.parent / "source" / "src" / "bedplate", installed / "bedplate"
    files = {p.relative_to(house) for p in house.rglob("*.*")}
    assert {p.relative_to(there) for p in there.rglob("*.*")} == files


def test_the_command_says_what_it_does(installed):
    script = installed / "bin" / "bedplate"
    told = _run(str(script), "--help", **_away(installed))
    assert told.startswith("usage: bedplate")


def test_examples_pages_and_paper_come_out_of_the_wheel_alone(installed):
    _run("-c", USED, str(installed), **_away(installed))
