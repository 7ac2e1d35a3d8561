"""How the house is kept: sizes, docstrings, start-up, floors, words that must not stand here."""

import ast
import os
import re
import statistics
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "bedplate"
MODULES = sorted(SOURCE.rglob("*.py"))
NUMERIC = ("metrology", "physics")

HEAVY = {
    "numpy", "scipy", "numba", "typst", "starlette", "uvicorn", "jinja2", "rich", "uncertainties",
    "apsw", "msgspec",
}  # fmt: skip


def functions(tree: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    return (n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef))


def code_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Count a function's lines without its docstring, its blank lines and its inner functions."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    if not body:
        return 0
    return (body[-1].end_lineno or 0) - body[0].lineno + 1


def module_lines() -> dict[str, int]:
    return {str(m.relative_to(ROOT)): len(m.read_text("utf-8").splitlines()) for m in MODULES}


def function_lines() -> dict[str, int]:
    return {
        f"{module.relative_to(ROOT)}:{function.lineno} {function.name}": code_lines(function)
        for module in MODULES
        for function in functions(ast.parse(module.read_text("utf-8")))
    }


def test_modules_are_short_enough_to_be_read():
    lines = module_lines()
    assert {name: count for name, count in lines.items() if count > 700} == {}
    # Physics keeps a method and its kernels together and is longer.
    assert statistics.median(lines.values()) <= 180
    assert statistics.quantiles(lines.values(), n=10)[-1] <= 400


def test_functions_are_short_enough_to_be_read():
    lines = function_lines()
    assert {name: count for name, count in lines.items() if count > 60} == {}
    assert statistics.median(lines.values()) <= 8
    assert statistics.quantiles(lines.values(), n=10)[-1] <= 25


def numeric_functions() -> Iterator[tuple[str, ast.FunctionDef | ast.AsyncFunctionDef]]:
    for module in MODULES:
        if module.relative_to(SOURCE).parts[0] not in NUMERIC or module.name.startswith("_"):
            continue
        for node in ast.parse(module.read_text("utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                yield f"{module.relative_to(ROOT)}:{node.lineno} {node.name}", node


def undescribed(function: ast.FunctionDef | ast.AsyncFunctionDef) -> list[str]:
    """Return the parameters that take plain numbers and whose docstring does not say of what."""
    arguments = [*function.args.args, *function.args.kwonlyargs]
    numbers = [
        a.arg
        for a in arguments
        if a.annotation is not None
        and re.search(r"\b(float|ndarray|NDArray|Array)\b", ast.unparse(a.annotation))
    ]
    text = ast.get_docstring(function) or ""
    named = {
        name.strip()
        for group in re.findall(r"^:param ([\w, ]+):", text, re.MULTILINE)
        for name in group.split(",")
    }
    return [name for name in numbers if name not in named]


def test_numeric_functions_say_what_their_numbers_are():
    found = dict(numeric_functions())
    assert found
    assert {name: undescribed(f) for name, f in found.items() if undescribed(f)} == {}


def loaded_after(code: str) -> set[str]:
    """Return the top packages that are loaded once some code has run in a process of its own."""
    tail = "\nprint(*sorted({name.partition('.')[0] for name in sys.modules}))"
    run = subprocess.run(
        [sys.executable, "-c", "import sys\n" + code + tail],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(SOURCE.parent)},
    )
    return set(run.stdout.splitlines()[-1].split())


def test_help_loads_nothing_heavy():
    code = """
from bedplate.cli import main
try:
    main(["--help"])
except SystemExit:
    pass
"""
    assert loaded_after(code) & HEAVY == set()


def test_a_state_in_the_terminal_loads_no_page_no_paper_no_arrays(tmp_path):
    made = loaded_after(
        f"""
from bedplate.cli import main
assert main(["--data", {str(tmp_path)!r}, "demo", "--no-serve"]) == 0
"""
    )
    assert "bedplate" in made
    code = f"""
from bedplate.cli import main
assert main(["--data", {str(tmp_path)!r}, "state", "demo-six"]) == 0
"""
    # Jinja belongs to the page, Typst to paper, NumPy to what needs arrays.
    assert (
        loaded_after(code) & {"numpy", "scipy", "typst", "starlette", "uvicorn", "jinja2"} == set()
    )


def test_no_room_imports_from_a_floor_above():
    command = [Path(sys.executable).parent / "lint-imports", "--no-cache"]
    run = subprocess.run(
        command,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(SOURCE.parent)},
    )
    assert run.returncode == 0, run.stdout + run.stderr


FORBIDDEN = {
    "a place on one machine": r"/(?:work|root|home)/\w",
    "a task number": r"\bissue\s*#?\s*\d",
    "a promise": r"\b(?:TO" + r"DO|FIX" + r"ME|XX" + r"X)\b",
}
SUFFIXES = {".py", ".md", ".toml", ".html", ".css", ".js", ".typ", ".json", ".txt", ".svg", ""}
SKIPPED = {"build", "dist", "__pycache__"}


def texts() -> Iterator[Path]:
    for folder, inner, files in os.walk(ROOT):
        inner[:] = [
            name
            for name in inner
            if name not in SKIPPED
            and not name.endswith(".egg-info")
            and (name == ".ci" or not name.startswith("."))
        ]
        for name in files:
            path = Path(folder, name)
            if path.suffix in SUFFIXES and path != Path(__file__) and name != ".git":
                yield path


@pytest.mark.parametrize("what", FORBIDDEN)
def test_the_tree_does_not_name(what):
    pattern = re.compile(FORBIDDEN[what], re.IGNORECASE if what == "a task number" else 0)
    found = {}
    for path in texts():
        try:
            text = path.read_text("utf-8")
        except UnicodeDecodeError:
            continue
        match = pattern.search(text)
        if match:
            found[str(path.relative_to(ROOT))] = match.group()
    assert found == {}


def test_no_page_asks_another_host_for_anything():
    pattern = re.compile(
        r"""(?:src|href|url\(|import|from|fetch\()\s*=?\s*["']?https?://(?!www\.w3\.org/)"""
    )
    found = {
        str(path.relative_to(ROOT)): pattern.findall(path.read_text("utf-8"))
        for path in (SOURCE / "web").rglob("*")
        if path.suffix in {".html", ".css", ".js"} and pattern.search(path.read_text("utf-8"))
    }
    assert found == {}


def test_a_wheel_takes_every_file_of_the_package_along():
    patterns = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    given = patterns["tool"]["setuptools"]["package-data"]["bedplate"]
    endings = {p.removeprefix("**/*") for p in given if p.startswith("**/*")}
    left = [
        str(path.relative_to(SOURCE))
        for path in SOURCE.rglob("*")
        if path.is_file()
        and "__pycache__" not in path.parts
        and path.suffix not in {*endings, ".py"}
        and path.name not in given
    ]
    assert left == []
