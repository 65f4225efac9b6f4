"""What a description or a site file may say, table by table, from the model that reads it."""

from __future__ import annotations

from typing import Any

from bracketgen.app.telling.speech import Tone, toned, wrapped
from bracketgen.description.schema import description_schema
from bracketgen.fit.site.schema import site_schema


def key_lines() -> list[str]:
    """Every table of a description with its keys, their help and their words."""
    return _lines("the description", description_schema())


def site_key_lines() -> list[str]:
    """The same of a site file."""
    return _lines("the site file", site_schema())


def _lines(whole: str, schema: dict[str, Any]) -> list[str]:
    tables = {whole: schema, **schema["$defs"]}
    lines: list[str] = []
    for name, table in tables.items():
        lines += wrapped(table.get("description", "").split("\n")[0], f"{toned(_plain(name), Tone.STRONG)}: ", "    ")
        for key, field in table.get("properties", {}).items():
            must = "" if key in table.get("required", ()) else " (may be left out)"
            said = field.get("description", "").split(": a bare number")[0]
            words = f"{_sort(field)}{must}{'; ' + said if said else ''}"
            lines += wrapped(words, f"    {key}: ", " " * 8)
        lines.append("")
    return lines[:-1]


def _plain(name: str) -> str:
    """`RowPattern` as `row pattern`."""
    return "".join(f" {c.lower()}" if c.isupper() else c for c in name).strip().removesuffix(" table")


def _sort(field: dict[str, Any]) -> str:
    """What stands behind the key, in a word or a choice of words."""
    if "const" in field:
        return f"'{field['const']}'"
    if "enum" in field:
        return " or ".join(f"'{word}'" for word in field["enum"])
    if "$ref" in field:
        return _plain(field["$ref"].rsplit("/", 1)[1])
    if "items" in field:
        return f"list of {_sort(field['items'])}"
    if "prefixItems" in field:
        return "[x, y]" if len(field["prefixItems"]) == 2 else "[x, y, z]"
    if isinstance(field.get("additionalProperties"), dict):
        return f"named tables, each {_sort(field['additionalProperties'])}"
    choices = field.get("oneOf") or field.get("anyOf") or []
    said = list(dict.fromkeys(_sort(choice) for choice in choices))
    if said:
        return "value" if set(said) == {"number", "text"} else " or ".join(said)
    return {"string": "text", "boolean": "true or false", "integer": "number"}.get(field.get("type", ""), "number")
