"""From the text of an engine file to the engine, or to every fault in it at once."""

from __future__ import annotations

import hashlib
import re
import tomllib
from dataclasses import replace
from typing import Any

from bedplate.engine.balancing import read_balancing
from bedplate.engine.conventions import read_layout
from bedplate.engine.declared import read_features, read_fits, read_stations
from bedplate.engine.duty import read_duty
from bedplate.engine.feature_making import own_material_key
from bedplate.engine.instances import Fitter
from bedplate.engine.lines import Path, find_lines
from bedplate.engine.materials import KNOWN_MATERIALS, OTHER_NAMES
from bedplate.engine.model import CapStyle, Engine, Layout, Material, Measuring
from bedplate.engine.read_orders import read_machining
from bedplate.engine.sheet import Sheet, nearest
from bedplate.engine.sizes import (
    Sizes,
    check_fits,
    check_mains,
    check_sizes,
    expected_sizes,
    read_sizes,
    units_of,
)
from bedplate.engine.structure import check_structure
from bedplate.engine.tightening import Bolted, read_bolted
from bedplate.engine.traces import check_cylinders
from bedplate.engine.unusual import unusual_figures
from bedplate.errors import EngineFileError, Fault
from bedplate.quantity import Dimension

GREATEST_SIZE = 1024 * 1024
"""Bytes: an engine file is a few kilobytes; more than this is not read."""

MOST_FAULTS = 200
MOST_TABLES = 400
"""Tables of one name; the schema says so too."""

MANY = ("fit", "stations", "feature", "fastener", "tighten", "step")
"""Tables that may come many times."""

_DEEP_KEY = re.compile(r"""(?<![\w-])(?:(?:[\w-]+|"[^"\n]*"|'[^'\n]*')[ \t]*\.[ \t]*){30}""")
"""Refused before the TOML is read: the time that takes grows with the square of a key's parts."""

_SAID_ELSEWHERE = frozenset(
    {
        "balance", "chamber", "combustion", "crank", "duty", "matching", "measuring", "oil",
        "order", "temperatures", "torsion", "valves", "weights",
    }
)  # fmt: skip
"""Tables that are no facts about the engine."""

_AT_LINE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")
_BARE_QUANTITY = re.compile(
    r"\s*[\w.\"' -]+=\s*[-+]?[\d.]+[\d.,/ ]*(?:mm|in|thou|deg|bar|rpm|psi|µm)"
)
_LINERS = re.compile(r"(.+), (.+) liners?")


def read_engine_bytes(data: bytes, file: str = "") -> Engine:
    """Read an engine file as bytes.

    :param data: UTF-8 text, with or without a byte order mark, at most 1 MiB
    :param file: its name, for faults
    :raises EngineFileError: as `read_engine`, and for bytes that are no UTF-8 text
    """
    if len(data) > GREATEST_SIZE:
        raise _error(file, [_too_big(file)])
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        fault = Fault(
            file, line, "", "a byte here is not UTF-8 text", "save the file as UTF-8 text"
        )
        raise _error(file, [fault]) from None
    return read_engine(text, file)


def read_engine(text: str, file: str = "") -> Engine:
    """Read an engine file.

    :param text: TOML, schema version 1, at most 1 MiB
    :param file: its name, for faults
    :raises EngineFileError: with every fault, in the order of the file, each with its line and key
    """
    sheet = _sheet(text, file)
    check_structure(sheet)
    if any(len(sheet.tables(name)) > MOST_TABLES for name in MANY):
        raise _error(file, sheet.faults)
    engine = _engine(sheet, text)
    machining = read_machining(sheet)
    duty, balancing = read_duty(sheet), read_balancing(sheet)
    if engine is not None:
        check_cylinders(sheet, duty.traces, [c.label for c in engine.layout.cylinders])
    if engine is None or sheet.faults:
        raise _error(file, sheet.faults)
    return replace(
        engine,
        machining=machining,
        duty=duty,
        balancing=balancing,
        remarks=(*sheet.remarks, *unusual_figures(duty, engine.bore)),
    )


def _error(file: str, faults: list[Fault]) -> EngineFileError:
    ordered = tuple(sorted(dict.fromkeys(faults), key=lambda fault: (fault.line, fault.key)))
    name = file or "The engine file"
    count = "one fault" if len(ordered) == 1 else f"{len(ordered)} faults"
    more = f"; the first {MOST_FAULTS} are listed" if len(ordered) > MOST_FAULTS else ""
    return EngineFileError(
        f"{name} has {count}{more}.",
        ordered[:MOST_FAULTS],
        hint="Correct each and check the file again.",
    )


def _too_big(file: str) -> Fault:
    return Fault(file, 0, "", "the file is larger than 1 MiB", "an engine file is a few kilobytes")


def _sheet(text: str, file: str) -> Sheet:
    try:
        size = len(text.encode())
    except UnicodeEncodeError as error:
        line = text.count("\n", 0, error.start) + 1
        fault = Fault(file, line, "", "a character here is no Unicode text", "write it anew")
        raise _error(file, [fault]) from None
    if size > GREATEST_SIZE:
        raise _error(file, [_too_big(file)])
    deep = _DEEP_KEY.search(text)
    if deep:
        line = text.count("\n", 0, deep.start()) + 1
        fault = Fault(file, line, "", "a key has more than 30 parts", "two or three are enough")
        raise _error(file, [fault])
    try:
        data = tomllib.loads(text)
    except RecursionError:
        fault = Fault(file, 0, "", "brackets are nested too deeply", "write it plainly")
        raise _error(file, [fault]) from None
    except ValueError as error:
        raise _error(file, [_syntax_fault(text, file, str(error))]) from None
    return Sheet(file, data, find_lines(text))


def _syntax_fault(text: str, file: str, message: str) -> Fault:
    found = _AT_LINE.search(message)
    rows = text.split("\n")
    line = int(found[1]) if found and found[1] else len(rows)
    if not found:
        wrong = "a number has too many digits"
        return Fault(file, 0, "", wrong, "write quantities as text, in quotes")
    wrong = _AT_LINE.sub("", message)
    right = "see the TOML rules at toml.io"
    if 0 < line <= len(rows) and _BARE_QUANTITY.match(rows[line - 1]):
        right = 'put a quantity in quotes: "86.25 mm"'
    elif "overwrite" in wrong.lower() or "declare" in wrong.lower():
        wrong, right = f"a key or table stands twice ({wrong})", "keep one of them"
    return Fault(file, line, "", f"not TOML: {wrong[:1].lower()}{wrong[1:]}", right)


def _engine(sheet: Sheet, text: str) -> Engine | None:
    layout = read_layout(sheet)
    sizes = read_sizes(sheet)
    check_sizes(sheet, sizes)
    materials = _materials(sheet)
    measuring = _measuring(sheet)
    units = units_of(sheet)
    stations, tables, own = read_stations(sheet), read_fits(sheet), read_features(sheet)
    check_fits(sheet, tables, sizes)
    if layout is None:
        return None
    check_mains(sheet, layout)
    names = {key: material.name for key, material in materials.items()}
    fitter = Fitter(sheet, layout, sizes, units, names, stations, tables, own)
    fitter.make()
    bolted = read_bolted(sheet)
    caps = sheet.text(("mains", "caps"))
    if sheet.faults or None in {sizes.bore, sizes.stroke, sizes.rod} or caps not in list(CapStyle):
        return None
    return _whole(sheet, text, layout, sizes, measuring, materials, fitter, bolted)


def _whole(
    sheet: Sheet,
    text: str,
    layout: Layout,
    sizes: Sizes,
    measuring: Measuring,
    materials: dict[str, Material],
    fitter: Fitter,
    bolted: Bolted,
) -> Engine:
    return Engine(
        schema=1,
        name=sheet.text(("engine", "name")),
        digest=hashlib.sha256(text.encode()).hexdigest(),
        invented=sheet.value(("engine", "invented")) is True,
        units=fitter.units,
        layout=layout,
        caps=CapStyle(sheet.text(("mains", "caps"))),
        bore=sizes.bore or 0.0,
        stroke=sizes.stroke or 0.0,
        rod=sizes.rod or 0.0,
        thrust_main=str(sheet.value(("mains", "thrust")) or ""),
        materials={material.name: material for material in materials.values()},
        features=fitter.features,
        fits=fitter.fits,
        measuring=measuring,
        previous=sheet.text(("engine", "previous")),
        facts=_facts(sheet),
        fasteners=bolted.fasteners,
        plans=bolted.plans,
        assembly=bolted.assembly,
        deck_clearance=sizes.deck_clearance,
        expected=expected_sizes(sizes, fitter.tables, 2 if layout.shared_pins else 1),
        part_materials={key: material.name for key, material in materials.items()},
    )


def _materials(sheet: Sheet) -> dict[str, Material]:
    given = sheet.data.get("materials")
    found: dict[str, Material] = {}
    for key, value in given.items() if isinstance(given, dict) else ():
        path: Path = ("materials", key)
        if isinstance(value, dict):
            _put(found, key, _own_material(sheet, path))
        elif isinstance(value, str):
            liners = _LINERS.fullmatch(value.strip()) if key == "block" else None
            if liners:
                _put(found, "liner", _known_material(sheet, path, liners[2]))
            _put(found, key, _known_material(sheet, path, liners[1] if liners else value))
    for number in sheet.tables("feature"):
        path = ("feature", number, "material")
        key, said = own_material_key(sheet.text(("feature", number, "name"))), sheet.value(path)
        if isinstance(said, dict):
            _put(found, key, _own_material(sheet, path))
        elif isinstance(said, str):
            _put(found, key, _known_material(sheet, path, said))
    return found


def _put(found: dict[str, Material], key: str, material: Material | None) -> None:
    if material is not None:
        found[key] = material


def _known_material(sheet: Sheet, path: Path, typed: str) -> Material | None:
    name = typed.strip().lower()
    known = KNOWN_MATERIALS.get(OTHER_NAMES.get(name, name))
    if known is None and name:
        right = nearest(name, [*KNOWN_MATERIALS, *OTHER_NAMES]) or (
            f"known are {', '.join(KNOWN_MATERIALS)}; or write "
            '{ name = "...", expansion = "21.5e-6 1/K", source = "..." }'
        )
        sheet.fault(path, f"the material '{typed.strip()}' is not known", right)
    return known


def _own_material(sheet: Sheet, path: Path) -> Material | None:
    expansion = sheet.quantity((*path, "expansion"), Dimension.EXPANSION)
    doubt = sheet.quantity((*path, "uncertainty"), Dimension.EXPANSION)
    if expansion is None:
        return None
    if not 0 <= expansion.value <= 1e-4:
        wrong = f"'{expansion.text}' is no expansion of a solid"
        sheet.fault((*path, "expansion"), wrong, "metals have 5e-6 to 30e-6 1/K")
    return Material(
        name=sheet.text((*path, "name")),
        expansion=expansion.value,
        expansion_uncertainty=doubt.value if doubt else abs(expansion.value) * 0.05,
        source=sheet.text((*path, "source")) or "engine file",
    )


def _measuring(sheet: Sheet) -> Measuring:
    coverage = sheet.value(("measuring", "coverage"))
    is_number = isinstance(coverage, int | float) and not isinstance(coverage, bool)
    doubt = sheet.quantity(
        ("measuring", "temperature_uncertainty"), Dimension.TEMPERATURE_DIFFERENCE
    )
    if doubt is not None and not 0 <= doubt.value <= 50:
        path: Path = ("measuring", "temperature_uncertainty")
        sheet.fault(path, f"'{doubt.text}' is no uncertainty of a thermometer", "0.5 K is usual")
    return Measuring(
        coverage=float(coverage) if is_number else 2.0,
        reduce=sheet.value(("measuring", "reduce")) is True,
        temperature_uncertainty=doubt.value if doubt else 1.0,
    )


def _facts(sheet: Sheet) -> tuple[tuple[str, str], ...]:
    facts: list[tuple[str, str]] = []
    for section, table in sheet.data.items():
        if not isinstance(table, dict) or section in _SAID_ELSEWHERE:
            continue
        for key, value in table.items():
            if section == "engine" and key in {"name", "invented", "previous"}:
                continue
            words = key.replace("_", " ")
            plain = section in {"engine", "geometry"}
            name = words if plain else f"{section.removesuffix('s')} {words}"
            facts.append((name, _shown(value)))
    return tuple(facts)


def _shown(value: Any) -> str:  # noqa: ANN401
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(str(item) for item in value)
    if isinstance(value, dict):
        if "name" in value:
            return str(value["name"])
        return ", ".join(f"{key} = {item}" for key, item in value.items())
    return str(value)
