"""What a model's complaint means in words for a person, with the place and the nearest right word."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, time
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from bracketgen.description.text import Path, Source
from bracketgen.errors import Fault
from bracketgen.units import nearest_word

#: A step of the model's own: key, index, or the variant of a table that it tried.
Location = tuple[str | int, ...]

#: Words that people write for ours; those of them are offered that the table knows.
_MEANT = {
    "angle": ("direction", "turned", "start"),
    "center": ("at",),
    "centre": ("at",),
    "clearance": ("gap", "fit"),
    "dia": ("diameter",),
    "distance": ("spacing",),
    "gauge": ("thickness",),
    "grade": ("metal",),
    "holes": ("count", "holes"),
    "k": ("k_factor",),
    "length": ("height", "size"),
    "material": ("metal",),
    "number": ("count",),
    "parent": ("from",),
    "pitch": ("spacing",),
    "position": ("at",),
    "quantity": ("count",),
    "radius": ("corner_radius", "inside_radius"),
    "rotate": ("turned",),
    "rotation": ("turned",),
    "screw": ("bolt",),
    "size": ("bolt", "diameter"),
    "thread": ("tap",),
    "type": ("kind", "shape"),
    "unit": ("units",),
    "x": ("at",),
    "y": ("at",),
}

_MEANT_VALUES = {
    "center": "middle",
    "centre": "middle",
    "circle": "disc",
    "diesel": "fuel",
    "gasoline": "fuel",
    "inner": "inside",
    "line": "row",
    "mold": "mould",
    "outer": "outside",
    "petrol": "fuel",
    "round": "disc",
    "square": "rectangle",
}

_SIZES = {
    "string_too_short": ("is too short", "write {min_length} letters or more"),
    "string_too_long": ("is too long", "give at most {max_length} letters"),
    "too_short": ("is too short", "give at least {min_length}"),
    "too_long": ("is too long", "give at most {max_length}"),
}

_KINDS = {
    "string_type": ("a text", "put it in quotes"),
    "list_type": ("a list", "write it in square brackets"),
    "dict_type": ("a table", "write it as [name] or { key = value }"),
    "model_type": ("a table", "write it as [name] or { key = value }"),
    "model_attributes_type": ("a table", "write it as [name] or { key = value }"),
    "tuple_type": ("a list", "write it in square brackets"),
    "int_type": ("a whole number", ""),
    "int_parsing": ("a whole number", ""),
}


def _real_path(location: Location, raw: Any) -> Path:
    """The path in the file: the model's own steps (which variant of a table it tried) are left out."""
    path: list[str | int] = []
    here = raw
    for step in location:
        if isinstance(here, Mapping) and step in here:  # noqa: SIM114  (joined, the type of step is lost)
            here = here[step]
        elif isinstance(here, list) and isinstance(step, int) and step < len(here):
            here = here[step]
        else:
            continue
        path.append(step)
    return tuple(path)


def fault_of(error: ErrorDetails, root: type[BaseModel], source: Source) -> Fault | None:
    """The fault that one complaint of the model `root` stands for; None when it only echoes another fault."""
    kind, location, given = error["type"], error["loc"], error["input"]
    path = _real_path(location, source.raw)
    context = error.get("ctx") or {}
    at, at_key = source.pointed(path), source.at_key(path)
    if kind == "unresolved":
        return None
    if kind == "bracket":
        of_key = isinstance(given, dict) or location[-1] == "[key]"
        return Fault(at_key if of_key else at, str(context["what"]), str(context["cure"]))
    if kind == "extra_forbidden":
        key = str(location[-1])
        return Fault(at_key, *_unknown_key(key, [name for name, _ in _fields_at(root, location[:-1])]))
    if kind == "missing":
        fields = _fields_at(root, location[:-1])
        about = next((f.description for name, f in fields if name == location[-1] and f.description), "")
        cure = f"add {location[-1]}" + (f": {about}" if about else "")
        return Fault(at_key, f"{_named(path)} lacks the key '{location[-1]}'", cure)
    if kind == "union_tag_invalid":
        tag = str(context["discriminator"]).strip("'")
        return Fault(source.pointed((*path, tag)), *_wrong_word(context["tag"], str(context["expected_tags"])))
    if kind in ("literal_error", "enum"):
        return Fault(at, *_wrong_word(given, str(context["expected"])))
    if kind == "union_tag_not_found":
        tag = str(context["discriminator"]).strip("'")
        tags = [f for name, f in _fields_at(root, location) if name in ("shape", "kind")]
        words = [word for f in tags for word in getattr(f.annotation, "__args__", ())]
        cure = f"one of: {', '.join(words)}" if words else ""
        return Fault(at_key, f"{_named(path)} lacks the key '{tag}'", cure)
    if kind in _SIZES:
        wrong, cure = _SIZES[kind]
        return Fault(at, f"{_shown(given)} {wrong}", cure.format(**context))
    if kind in _KINDS:
        wanted, cure = _KINDS[kind]
        if kind == "list_type" and isinstance(given, dict):
            cure = "write its header in two brackets, [[name]], or put the tables in square brackets"
        return Fault(at, f"{_shown(given)} stands where {wanted} is wanted", cure)
    return Fault(at, f"{_shown(given)}: {error['msg']}")


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, date | time):
        return value.isoformat()
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."


def _named(path: Path) -> str:
    if not path:
        return "the file"
    names, number = path, ""
    if isinstance(path[-1], int):
        names, number = path[:-1], f" number {path[-1] + 1}"
    return "[" + ".".join(str(p) if isinstance(p, str) else str(p + 1) for p in names) + "]" + number


def _wrong_word(given: Any, listed: str) -> tuple[str, str]:
    words = [w.strip("' ") for w in listed.replace(" or ", ", ").split(",") if w.strip("' ")]
    near = (nearest_word(given, words) or _MEANT_VALUES.get(given.casefold())) if isinstance(given, str) else None
    cure = (f"did you mean '{near}'? " if near in words else "") + f"allowed: {', '.join(words)}"
    return f"{_shown(given)} is not known here", cure


def _unknown_key(key: str, names: list[str]) -> tuple[str, str]:
    known = list(dict.fromkeys(names))
    if key.lower() in ("angle", "bend_angle", "angle_deg") and "turn" in known:
        return f"'{key}' does not say from where", "give turn (0 = flat) or between (180 = flat)"
    near = nearest_word(key, known)
    meant = [near] if near else [word for word in _MEANT.get(key.lower(), ()) if word in known]
    cure = f"did you mean {' or '.join(map(repr, meant))}? " if meant else ""
    return f"the key '{key}' is not known here", f"{cure}allowed: {', '.join(known)}"


def _fields_at(root: type[BaseModel], location: Location) -> list[tuple[str, FieldInfo]]:
    """Names and fields of the models that may stand at a location of the model's complaint."""
    found: list[Any] = [root]
    for step in location:
        found = [after for here in found for after in _after(here, step)]
    models = [model for here in found for model in _variants(here)]
    return [(field.alias or name, field) for model in models for name, field in model.model_fields.items()]


def _variants(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [m for a in getattr(annotation, "__args__", ()) for m in _variants(a)]


def _after(here: Any, step: str | int) -> list[Any]:
    if isinstance(step, int) or getattr(here, "__origin__", None) is dict:
        return [here if isinstance(step, int) else here.__args__[1]]
    after: list[Any] = []
    for model in _variants(here):
        for name, field in model.model_fields.items():
            if step in (name, field.alias):
                after.append(field.annotation)
        tags = [f.annotation for n, f in model.model_fields.items() if n in ("shape", "kind")]
        if any(step in getattr(t, "__args__", ()) for t in tags):
            after.append(model)
    return after
