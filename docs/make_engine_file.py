"""Make docs/engine-file.md from the JSON Schema and the kinds in the code: `make pages`."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bedplate.engine.features import FEATURE_KINDS, RESTS_ON
from bedplate.engine.fits import FIT_KINDS, Gate

HERE = Path(__file__).parent
SCHEMA = HERE.parent / "src" / "bedplate" / "engine" / "schema.json"
PAGE = HERE / "engine-file.md"

OPENING = """\
# The engine file

<!-- Made by docs/make_engine_file.py from the JSON Schema; `make pages` makes it anew. -->

An engine file says what an engine is meant to be: its layout, its sizes, what is measured on it
and where, and the fits with their limits. It is [TOML](https://toml.io), written by hand, in
the units you think in. The same file serves every view; nothing about the engine is typed
anywhere else.

- `bedplate example` lists four files that ship with Bedplate, all invented;
  `bedplate example straight-six > mine.toml` gives you one to start from.
- `bedplate check mine.toml` says what the file means, or all that is wrong with it, each fault
  with its line and with what would be right.
- `bedplate start mine.toml` starts a build from it. The build keeps the file whole. A change to
  it is a fact of the build too, with its reason:
  `bedplate revise BUILD mine.toml --reason "…"`.

Editors that know JSON Schema complete and check the file as you type, if its first line is

```toml
#:schema ./engine-file.schema.json
```

and the schema lies beside it: `bedplate example --schema > engine-file.schema.json`.

**Limits are yours.** Bedplate has none of its own and never fills one in. Each limit names its
source: the engine maker's manual, the piston maker's sheet, your own decision. Where the two
disagree, the maker's figure for the very part counts.

**Quantities are text with their unit**: `"0.0015 in"`, `".5 mm"`, `"2 1/2 in"`, `"1.8 thou"`,
`"3 tenths"` (0.0003 in), `"12 µm"`. Limits are a range, `"0.028..0.052 mm"`, or a size with its
tolerance, `"86 +0.01/-0 mm"`, `"86.00 ±0.01 mm"`. A number without a unit is refused, and so is
a pair that contradicts itself beyond rounding, such as `"0.030 in (0.30 mm)"`.
"""


def example(node: dict[str, Any]) -> str:
    """Return the first example of a key as TOML would have it."""
    given = node.get("examples") or ([node["default"]] if "default" in node else [])
    if not given:
        return ""
    return f"`{json.dumps(given[0], ensure_ascii=False)}`"


def described(node: dict[str, Any]) -> str:
    """Return what a key says, with the words it may have."""
    text = node.get("description", "")
    if "enum" in node:
        text += " One of " + ", ".join(f"`{word}`" for word in node["enum"]) + "."
    if "default" in node:
        text += f" `{json.dumps(node['default'], ensure_ascii=False)}` if not said."
    return text.replace("|", "\\|").strip()


def rows(table: dict[str, Any]) -> Iterator[str]:
    """Yield a table's keys as rows."""
    needed = table.get("required", [])
    yield "| key | | what it says | for example |"
    yield "|---|---|---|---|"
    for key, node in table["properties"].items():
        mark = "needed" if key in needed else ""
        yield f"| `{key}` | {mark} | {described(node)} | {example(node)} |"


def tables(schema: dict[str, Any]) -> Iterator[str]:
    """Yield a section for each table of the file."""
    yield "## The file\n"
    for name, node in schema["properties"].items():
        many = node.get("type") == "array"
        inner = node["items"] if many else node
        if "properties" not in inner:
            yield f"`{name}` comes first: {described(node)} `{name} = {node['const']}`\n"
            continue
        yield f"### `[[{name}]]`\n" if many else f"### `[{name}]`\n"
        must = " Needed." if name in schema["required"] else ""
        yield f"{described(node)}{must}\n"
        yield from rows(inner)
        yield ""


def kinds() -> Iterator[str]:
    """Yield the closed sets: fits and features."""
    yield "## Kinds of fit\n"
    yield (
        "A closed set, each with its formula. A clearance is always over the diameter, never per\n"
        "side. The least and the greatest value are judged, not the mean alone. A press fit that\n"
        "has no kind of its own (a gear on the crank, a liner in the block, a valve guide, a pin\n"
        "that its rod grips) is a `press`, any other pair of hole and shaft (a cam in its tunnel,\n"
        "a pump shaft in its bore) a `clearance`: the file names the two surfaces, among its own\n"
        "features or the kinds below, and they pair by number. What no kind covers is a\n"
        "`[[feature]]` of your own, with its own limits.\n"
    )
    yield "| kind | one per | value | before |"
    yield "|---|---|---|---|"
    for fit in FIT_KINDS.values():
        sign = " (interference counts positive)" if fit.sense == "interference" else ""
        per = "hole and shaft" if fit.named_by_file else fit.per
        gate = f"{fit.gate}, or the gate it names" if fit.named_by_file else fit.gate
        yield f"| {fit.name} | {per} | {fit.formula}{sign} | {gate} |"
    yield ""
    order = ", ".join(gate.value for gate in Gate)
    yield f"The last column names the gate that a fit guards; the gates are, in order: {order}.\n"
    yield "## Kinds of feature\n"
    yield (
        "What can be measured on an engine, with the gauge that the plan offers and the stations\n"
        "it asks for where the file does not say.\n"
    )
    yield "| kind | on | one per | gauge | directions | across | rests on |"
    yield "|---|---|---|---|---|---|---|"
    for kind in FEATURE_KINDS.values():
        rests = ", ".join(RESTS_ON.get(kind.name, ()))
        yield (
            f"| {kind.name} | {kind.part} | {kind.per} | {kind.gauge} "
            f"| {', '.join(kind.axes)} | {', '.join(kind.across)} | {rests} |"
        )
    yield ""
    yield (
        "When a feature is reworked, what rests on it is stale until it is measured again. Which\n"
        "kind of feature rests on which is common practice, no source."
    )


def definitions(schema: dict[str, Any]) -> Iterator[str]:
    """Yield how values are written."""
    yield "## How values are written\n"
    yield "| value | written as |"
    yield "|---|---|"
    for name, node in schema["$defs"].items():
        if "description" in node and "properties" not in node:
            yield f"| {name} | {described(node)} |"
    yield ""
    own = schema["$defs"].get("own material")
    if own:
        yield "A material is a known name, or a table with its own figure:\n"
        yield from rows(own)
        yield ""


def page() -> str:
    """Return the whole page."""
    schema = json.loads(SCHEMA.read_text("utf-8"))
    parts = [OPENING, *tables(schema), *definitions(schema), *kinds()]
    return "\n".join(parts).rstrip() + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), "utf-8")
    print(f"Wrote {PAGE.relative_to(HERE.parent)}.")
