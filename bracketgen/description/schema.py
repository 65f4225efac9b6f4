"""JSON Schema of a description, from the same model that reads it, for editors that check while one types."""

from __future__ import annotations

from typing import Any, Final

from pydantic import BaseModel

from bracketgen.description.model.document import Document

#: Dialect of the schema: JSON Schema 2020-12.
DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"

#: Keys of which a table takes exactly one; the model says so in code, which no schema can be made from.
_ONE_OF: Final[dict[str, tuple[str, ...]]] = {
    "HoleTable": ("bolt", "diameter", "tap", "rivet_nut", "dowel"),
    "BendOfPanel": ("turn", "between"),
    "StripBend": ("turn", "between"),
}
#: Keys of which a table takes one at most.
_AT_MOST_ONE: Final[dict[str, tuple[str, ...]]] = {
    "PanelTable": ("bend", "joggle"),
    "BendTable": ("inside_radius", "punch_radius", "nose_radius"),
    "CornerTable": ("radius", "chamfer"),
    "JoggleOfPanel": ("turn", "between"),
    "StripTable": ("turn", "between"),
}
#: Keys of which [bend] takes at least one.
_RADIUS: Final = ("inside_radius", "die", "punch_radius", "nose_radius")
#: Further pairs of which exactly one is taken.
_ONE_PLACE: Final = ("BendOfPanel", "JoggleOfPanel")
#: The key that a word asks for: table, key, word, what it needs.
_NEEDS: Final = (
    ("BendTable", "allowance", "K factor", "k_factor"),
    ("BendTable", "allowance", "handbook", "handbook_metal"),
    ("BendTable", "allowance", "shop table", "table"),
    ("BendTable", "allowance", "test strip", "test_strip"),
    ("CutoutTable", "shape", "rectangle", "size"),
    ("CutoutTable", "shape", "slot", "size"),
    ("CutoutTable", "shape", "disc", "diameter"),
    ("CutoutTable", "shape", "polygon", "points"),
)


def description_schema() -> dict[str, Any]:
    """The schema as plain values. It knows no unknown keys; what needs arithmetic is left to the reader."""
    plain = plain_schema(Document)
    tables = plain["$defs"]
    for name, keys in _ONE_OF.items():
        _also(tables[name], {"oneOf": [{"required": [key]} for key in keys]})
    for name in _ONE_PLACE:
        _also(tables[name], {"oneOf": [{"required": [key]} for key in ("edge", "line")]})
    _also(tables["BendTable"], _any_of(_RADIUS))
    for name, keys in _AT_MOST_ONE.items():
        _also(tables[name], {"oneOf": [*({"required": [k]} for k in keys), {"not": _any_of(keys)}]})
    for name, key, word, needed in _NEEDS:
        when = {"properties": {key: {"const": word}}, "required": [key]}
        _also(tables[name], {"if": when, "then": {"required": [needed]}})
    return {"$schema": DIALECT, **plain, "title": "Description of a sheet-metal bracket"}


def plain_schema(root: type[BaseModel]) -> dict[str, Any]:
    """The schema of any file of ours, by its model alone."""
    plain: dict[str, Any] = _without_null(root.model_json_schema(by_alias=True))
    return plain


def _any_of(keys: tuple[str, ...]) -> dict[str, Any]:
    return {"anyOf": [{"required": [key]} for key in keys]}


def _also(table: dict[str, Any], condition: dict[str, Any]) -> None:
    table.setdefault("allOf", []).append(condition)


def _without_null(value: Any) -> Any:
    """The schema without null, which TOML can't say, and without the model's own titles."""
    if isinstance(value, list):
        return [_without_null(v) for v in value]
    if not isinstance(value, dict):
        return value
    titled = isinstance(value.get("title"), str)
    kept = {k: v for k, v in value.items() if not (titled and k == "title") and v is not None}
    if "anyOf" in kept:
        choices = [c for c in kept.pop("anyOf") if c != {"type": "null"}]
        kept = {**choices[0], **kept} if len(choices) == 1 else {**kept, "anyOf": choices}
    return {k: _without_null(v) for k, v in kept.items()}
