"""The stored format's page is held to the code, and its recipe is run."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import get_args

import apsw
import pytest
from tests.contract.memory_store import MemoryStore
from tests.contract.record_makers import fill

from bedplate.record import AnyEntry, SqliteStore, entries, export_record, jsonlines, limits, sqlite
from bedplate.record.canonical import Link

PAGE = (Path(__file__).parents[2] / "docs" / "record-format.md").read_text("utf-8")
RECIPE = re.search(r"```python\n(.*?)```", PAGE, re.DOTALL)[1]


@pytest.fixture
def exported(tmp_path: Path) -> Path:
    store = MemoryStore()
    fill(store)
    path = tmp_path / "demo.jsonl"
    path.write_bytes(b"".join(export_record(store, "demo")))
    return path


def recipe(path: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-I", "-c", RECIPE, str(path)],
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )


def test_the_recipe_has_ten_lines_at_most_and_needs_nothing_of_ours() -> None:
    assert len(RECIPE.splitlines()) <= 10
    assert "bedplate" not in RECIPE


def test_the_recipe_verifies_a_sound_record(exported: Path) -> None:
    done = recipe(exported)
    assert done.returncode == 0, done.stderr
    store = MemoryStore()
    jsonlines.import_record(store, exported.read_bytes())
    count, head = store.head("demo")
    assert done.stdout == f"{count} {head}\n"


def test_the_recipe_finds_what_was_changed_dropped_moved_or_cut(exported: Path) -> None:
    data = exported.read_bytes()
    lines = data.split(b"\n")
    for other in (
        data.replace(b"59.006 mm", b"59.007 mm"),
        b"\n".join(lines[:5] + lines[6:]),
        b"\n".join([*lines[:5], lines[6], lines[5], *lines[7:]]),
        b"\n".join(lines[:10]),
        b"\n".join(lines[:14] + lines[15:]),
    ):
        assert other != data
        exported.write_bytes(other)
        assert recipe(exported).returncode != 0


@pytest.mark.skipif(not shutil.which("shasum"), reason="shasum comes with Perl")
def test_a_hash_made_by_hand_is_the_one_in_the_record(exported: Path) -> None:
    command = re.search(r"```sh\n(sed .*?)```", PAGE, re.DOTALL)[1]
    done = subprocess.run(
        ["sh", "-c", command], cwd=exported.parent, capture_output=True, text=True, check=True
    )
    store = MemoryStore()
    jsonlines.import_record(store, exported.read_bytes())
    third = list(store.rows("demo"))[2]
    assert done.stdout.split()[0] == third.hash


def table(heading: str) -> list[list[str]]:
    """Return the rows of the first table behind a heading."""
    part = PAGE.split(f"\n## {heading}\n")[1]
    rows = re.search(r"\|---.*?\n((?:\|.*\n)+)", part)[1]
    return [[cell.strip() for cell in row.strip("|").split("|")] for row in rows.splitlines()]


def keys(cell: str) -> tuple[str, ...]:
    return tuple(re.findall(r"`(\w+)`", cell))


def test_every_kind_is_there_with_its_keys_in_order() -> None:
    common = ("id", "at", "by")
    told = {kind: keys(cell) for kind, cell in table("The kinds of entries")}
    held = {
        kind.__struct_config__.tag: tuple(f for f in kind.__struct_fields__ if f not in common)
        for kind in get_args(AnyEntry)
    }
    assert told == held
    for kind in held:
        assert f"**{kind}**" in PAGE
    assert keys(" ".join(row[0] for row in table("What every entry has"))) == ("kind", *common)


def test_header_link_picture_and_quantity_are_described() -> None:
    words = " ".join(PAGE.split())
    header = words.split("The header: ")[1].split(" A link: ")[0]
    link = words.split(" A link: ")[1].split(" A picture: ")[0]
    picture = words.split(" A picture: ")[1].split(" **Each line")[0]
    for part, struct in (
        (header, jsonlines.Header),
        (link, Link),
        (picture, jsonlines.PictureLine),
    ):
        assert set(struct.__struct_fields__) <= set(keys(part))
    assert f'`"{jsonlines.FORMAT}"`' in header
    assert f"`version` is {jsonlines.VERSION}" in header
    assert set(entries.Typed.__struct_fields__) == {"si", "text"}


def test_bounds_are_those_of_the_code() -> None:
    told = {what: int(most.replace(",", "")) for what, most in table("Bounds")}
    words = next(what for what in told if "`caption`" in what)
    assert told == {
        "entries of a record": limits.ENTRIES_COUNT,
        "bytes of a link": limits.LINK_BYTES,
        "bytes of a picture": limits.PICTURE_BYTES,
        "bytes of a file that is imported": jsonlines.FILE_BYTES,
        "characters of an engine file": limits.ENGINE_LENGTH,
        "characters of the `points` of a pressure trace": limits.TRACE_LENGTH,
        words: limits.WORDS_LENGTH,
        "characters of any other text, of a quantity as well": limits.NAME_LENGTH,
        "items of one list in an entry": limits.FEATURES_COUNT,
    }
    assert set(keys(words)) == limits._WORDS


def test_the_database_is_as_described(tmp_path: Path) -> None:
    store = SqliteStore(tmp_path / "bedplate.sqlite")
    fill(store)
    reader = apsw.Connection(str(store.path), flags=apsw.SQLITE_OPEN_READONLY)
    for name, cell in table("The database"):
        columns = reader.execute("SELECT name FROM pragma_table_info(?)", (name,))
        assert tuple(column for (column,) in columns) == keys(cell)
    assert f"application id {reader.pragma('application_id')} " in PAGE
    assert f"user version {reader.pragma('user_version')}." in PAGE
    query = re.search(r"```sql\n(.*?)```", PAGE, re.DOTALL)[1]
    bodies = [body for (body,) in reader.execute(query)]
    assert bodies == [row.body for row in store.rows("demo")]
    reader.close()
    store.close()
    assert int.from_bytes(b"Bdpl") == sqlite.APPLICATION_ID
