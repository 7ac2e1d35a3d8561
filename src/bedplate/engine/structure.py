"""The form of an engine file: its keys and their types, held to the schema that ships with it."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path as FilePath
from typing import Any

from bedplate.engine.lines import Path
from bedplate.engine.sheet import Sheet, nearest

_KINDS: dict[str, tuple[tuple[type, ...], str]] = {
    "string": ((str,), "text in quotes"),
    "integer": ((int,), "a whole number"),
    "number": ((int, float), "a number"),
    "boolean": ((bool,), "true or false"),
    "array": ((list,), "a list in square brackets"),
    "object": ((dict,), "a table"),
}

Rule = dict[str, Any]


@cache
def _shipped() -> Rule:
    text = FilePath(__file__).with_name("schema.json").read_text(encoding="utf-8")
    loaded: Rule = json.loads(text)
    return loaded


def schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of an engine file; a fresh copy."""
    copy: dict[str, Any] = json.loads(json.dumps(_shipped()))
    return copy


def check_structure(sheet: Sheet) -> None:
    """Note every key that is unknown or missing, and every value of a wrong type."""
    _check(sheet, (), sheet.data, _shipped())


def _resolved(rule: Rule) -> Rule:
    while "$ref" in rule:
        name = rule["$ref"].removeprefix("#/$defs/")
        rule = {**_shipped()["$defs"][name], **{k: v for k, v in rule.items() if k != "$ref"}}
    return rule


def _fits_type(value: object, kind: str) -> bool:
    accepted, _ = _KINDS[kind]
    if isinstance(value, bool):
        return kind == "boolean"
    return isinstance(value, accepted)


def _types(rule: Rule) -> tuple[str, ...]:
    kinds = rule.get("type", ())
    return (kinds,) if isinstance(kinds, str) else tuple(kinds)


def _check(sheet: Sheet, path: Path, value: Any, rule: Rule) -> None:  # noqa: ANN401
    rule = _resolved(rule)
    if "anyOf" in rule:
        options = [_resolved(option) for option in rule["anyOf"]]
        fitting = [o for o in options if any(_fits_type(value, kind) for kind in _types(o))]
        if not fitting:
            kinds = tuple(kind for option in options for kind in _types(option))
            _wrong_type(sheet, path, value, kinds, rule)
            return
        rule = {**fitting[0], **{k: v for k, v in rule.items() if k in {"description", "examples"}}}
    kinds = _types(rule)
    if kinds and not any(_fits_type(value, kind) for kind in kinds):
        _wrong_type(sheet, path, value, kinds, rule)
    elif isinstance(value, dict):
        _check_table(sheet, path, value, rule)
    elif isinstance(value, list):
        _check_list(sheet, path, value, rule)
    else:
        _check_value(sheet, path, value, rule)


def _wrong_type(
    sheet: Sheet,
    path: Path,
    value: object,
    kinds: tuple[str, ...],
    rule: Rule,
) -> None:
    wanted = " or ".join(dict.fromkeys(_KINDS[kind][1] for kind in kinds))
    if isinstance(value, int | float) and not isinstance(value, bool) and kinds[0] == "string":
        sheet.fault(path, f"{value} is a bare number", f"write {wanted}{_example(rule)}")
    else:
        sheet.fault(path, f"{_named(value)} stands here", f"write {wanted}{_example(rule)}")


def _named(value: object) -> str:
    if isinstance(value, bool):
        return "true or false"
    names = ((str, "text"), (list, "a list"), (dict, "a table"), (int | float, "a number"))
    return next((name for kind, name in names if isinstance(value, kind)), "a date or time")


def _example(rule: Rule) -> str:
    examples = rule.get("examples") or rule.get("enum")
    return f", such as {_toml(examples[0])}" if examples else ""


def _toml(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
    return json.dumps(value, ensure_ascii=False)


def _check_table(sheet: Sheet, path: Path, table: dict[str, Any], rule: Rule) -> None:
    known: dict[str, Rule] = rule.get("properties", {})
    others = rule.get("additionalProperties", True)
    for key, value in table.items():
        if key in known:
            _check(sheet, (*path, key), value, known[key])
        elif isinstance(others, dict):
            _check(sheet, (*path, key), value, others)
        elif others is False:
            _unknown_key(sheet, path, key, known)
    for key in rule.get("required", ()):
        if key not in table:
            _missing_key(sheet, path, key, _resolved(known[key]))
    if len(table) < rule.get("minProperties", 0):
        sheet.fault(path, "the table is empty", f"write it out{_example(rule)}")


def _unknown_key(sheet: Sheet, path: Path, key: str, known: dict[str, Rule]) -> None:
    guess = nearest(key, known)
    where = "the file" if not path else f"[{path[0]}]"
    keys = ", ".join(known)
    sheet.fault((*path, key), f"{where} has no key '{key}'", guess or f"the keys are {keys}")


def _missing_key(sheet: Sheet, path: Path, key: str, rule: Rule) -> None:
    what = str(rule.get("description", "")).split(". ")[0].rstrip(".")
    if rule.get("type") == "object":
        sheet.fault(path, f"the table [{key}] is missing", f"add it: {_lower(what)}")
        return
    example = rule.get("examples") or rule.get("enum") or [rule.get("const", "...")]
    sheet.fault((*path, key), "is missing", f"write {key} = {_toml(example[0])} ({_lower(what)})")


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _check_list(sheet: Sheet, path: Path, items: list[Any], rule: Rule) -> None:
    if len(items) < rule.get("minItems", 0):
        sheet.fault(path, "the list is empty", f"fill it or leave it out{_example(rule)}")
    if len(items) > rule.get("maxItems", len(items)):
        sheet.fault(path, f"{len(items)} are too many", f"there may be up to {rule['maxItems']}")
        return
    if rule.get("uniqueItems"):
        repeated = [n for n, item in enumerate(items) if item in items[:n]]
        for number in repeated:
            sheet.fault(path, f"{_toml_or_name(items[number])} stands twice", "name each once")
    for number, item in enumerate(items):
        _check(sheet, (*path, number), item, rule.get("items", {}))


def _toml_or_name(value: object) -> str:
    return _toml(value) if isinstance(value, str | int | float) else _named(value)


def _check_value(sheet: Sheet, path: Path, value: Any, rule: Rule) -> None:  # noqa: ANN401
    if "const" in rule and (value != rule["const"] or isinstance(value, bool)):
        sheet.fault(
            path, f"schema {value} is not known here", f"this version reads schema {rule['const']}"
        )
    elif "enum" in rule and value not in rule["enum"]:
        words = ", ".join(f"'{word}'" for word in rule["enum"])
        guess = nearest(str(value), [str(word) for word in rule["enum"]])
        comment = rule.get("$comment")
        right = guess or "; ".join(part for part in (f"write {words}", comment) if part)
        sheet.fault(path, f"'{value}' is not a {rule.get('title', 'word for it')}", right)
    elif isinstance(value, str) and not value.strip():
        sheet.fault(path, "is empty", f"fill it or leave it out{_example(rule)}")
    elif isinstance(value, int | float) and not isinstance(value, bool):
        low, high = rule.get("minimum"), rule.get("maximum")
        if low is not None and high is not None and not low <= value <= high:
            sheet.fault(path, f"{value} is out of range", f"write {low} to {high}")
