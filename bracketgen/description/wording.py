"""What a model's complaint means in words for a person, with the place and the nearest right word."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, time
from typing import Any

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from bracketgen.description.text import Path
from bracketgen.errors import Fault, Place
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


def real_path(location: Location, raw: Any) -> Path:
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


def fault_of(
    error: ErrorDetails, root: type[BaseModel], raw: Any, at: Callable[[Path], Place], at_key: Callable[[Path], Place]
) -> Fault | None:
    """The fault that one complaint of the model `root` stands for; None when it only echoes another fault."""
    kind, location = error["type"], error["loc"]
    path = real_path(location, raw)
    context = error.get("ctx") or {}
    if kind == "unresolved":
        return None
    if kind == "bracket":
        of_key = isinstance(error.get("input"), dict) or location[-1] == "[key]"
        place = at_key(path) if of_key else at(path)
        return Fault(place, str(context["what"]), str(context["cure"]))
    if kind == "extra_forbidden":
        return _unknown_key(root, location, at_key(path))
    if kind == "missing":
        about = _help(root, location)
        cure = f"add {location[-1]}" + (f": {about}" if about else "")
        return Fault(at_key(path), f"{_named(path)} lacks the key '{location[-1]}'", cure)
    if kind in ("literal_error", "enum", "union_tag_invalid"):
        return _wrong_word(error, path, at)
    if kind == "union_tag_not_found":
        tag = str(context["discriminator"]).strip("'")
        return Fault(at_key(path), f"{_named(path)} lacks the key '{tag}'", _tags(root, location))
    if kind in _SIZES:
        wrong, cure = _SIZES[kind]
        return Fault(at(path), f"{_shown(error['input'])} {wrong}", cure.format(**context))
    if kind in _KINDS:
        wanted, cure = _KINDS[kind]
        if kind == "list_type" and isinstance(error["input"], dict):
            cure = "write its header in two brackets, [[name]], or put the tables in square brackets"
        return Fault(at(path), f"{_shown(error['input'])} stands where {wanted} is wanted", cure)
    return Fault(at(path), f"{_shown(error['input'])}: {error['msg']}")


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


def _wrong_word(error: ErrorDetails, path: Path, at: Callable[[Path], Place]) -> Fault:
    context = error.get("ctx") or {}
    given = error["input"]
    if error["type"] == "union_tag_invalid":
        tag = str(context["discriminator"]).strip("'")
        given, path = context["tag"], (*path, tag)
    listed = str(context.get("expected") or context.get("expected_tags"))
    words = [w.strip("' ") for w in listed.replace(" or ", ", ").split(",") if w.strip("' ")]
    meant = _MEANT_VALUES.get(given.casefold()) if isinstance(given, str) else None
    near = (nearest_word(given, words) or meant) if isinstance(given, str) else None
    near = near if near in words else None
    cure = (f"did you mean '{near}'? " if near else "") + f"allowed: {', '.join(words)}"
    return Fault(at(path), f"{_shown(given)} is not known here", cure)


def _unknown_key(root: type[BaseModel], location: Location, place: Place) -> Fault:
    key, known = str(location[-1]), _keys_at(root, location[:-1])
    if key.lower() in ("angle", "bend_angle", "angle_deg") and "turn" in known:
        return Fault(place, f"'{key}' does not say from where", "give turn (0 = flat) or between (180 = flat)")
    near = nearest_word(key, known)
    meant = [near] if near else [word for word in _MEANT.get(key.lower(), ()) if word in known]
    cure = f"did you mean {' or '.join(map(repr, meant))}? " if meant else ""
    return Fault(place, f"the key '{key}' is not known here", f"{cure}allowed: {', '.join(known)}")


def _models_at(root: type[BaseModel], location: Location) -> list[type[BaseModel]]:
    """The models that may stand at a location of the model's complaint."""
    found: list[Any] = [root]
    for step in location:
        found = [after for here in found for after in _after(here, step)]
    flat = [m for here in found for m in _variants(here)]
    return [m for m in flat if isinstance(m, type) and issubclass(m, BaseModel)]


def _variants(annotation: Any) -> list[Any]:
    arguments = getattr(annotation, "__args__", ())
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [m for a in arguments for m in _variants(a)]


def _after(here: Any, step: str | int) -> list[Any]:
    models = _variants(here)
    if isinstance(step, int) or getattr(here, "__origin__", None) is dict:
        return [here if isinstance(step, int) else here.__args__[1]]
    after: list[Any] = []
    for model in models:
        for name, field in model.model_fields.items():
            if step in (name, field.alias):
                after.append(field.annotation)
        tags = [f.annotation for n, f in model.model_fields.items() if n in ("shape", "kind")]
        if any(step in getattr(t, "__args__", ()) for t in tags):
            after.append(model)
    return after


def _keys_at(root: type[BaseModel], location: Location) -> list[str]:
    keys = [f.alias or n for m in _models_at(root, location) for n, f in m.model_fields.items()]
    return list(dict.fromkeys(keys))


def _help(root: type[BaseModel], location: Location) -> str:
    for model in _models_at(root, location[:-1]):
        for name, field in model.model_fields.items():
            if location[-1] in (name, field.alias) and field.description:
                return field.description
    return ""


def _tags(root: type[BaseModel], location: Location) -> str:
    words = []
    for model in _models_at(root, location):
        for name in ("shape", "kind"):
            if name in model.model_fields:
                words += list(getattr(model.model_fields[name].annotation, "__args__", ()))
    return f"one of: {', '.join(words)}" if words else ""
