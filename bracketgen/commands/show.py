"""Show a table and its sources.

Metals, bolts, holes, gauges, processes, dies ... with the source of each row.
Also `show rules` (every rule with its id, for waivers), `show sources`, and what files may say: `show keys`
(a description), `show site-keys`, `show job-keys`, `show tooling-keys`.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Annotated, Any, Final

import typer

from bracketgen.errors import Fault, Place
from bracketgen.standards.table import Row, load_table, noted_citation, source_ids, table_names
from bracketgen.terminal.exits import stop
from bracketgen.terminal.screen import WIDTH, Tone, aligned, say, toned, wrapped
from bracketgen.units import nearest_word

What = Annotated[
    str | None,
    typer.Argument(metavar="[TABLE]", help="Which table, such as metals, bolts, processes, rules; left out: a list."),
]

#: Other words for the tables.
_ALSO_CALLED: Final = {
    "bolts": "fasteners",
    "screws": "fasteners",
    "nuts": "fasteners",
    "washers": "fasteners",
    "taps": "fasteners",
    "tap drills": "fasteners",
    "rivet nuts": "fasteners",
    "holes": "clearance_holes",
    "clearance": "clearance_holes",
    "metal": "metals",
    "gauge": "gauges",
    "gages": "gauges",
    "process": "processes",
    "cutting": "processes",
    "die": "dies",
    "edges": "edge_distance",
    "edge": "edge_distance",
    "radii": "bend_radius",
    "radius": "bend_radius",
    "tolerances": "general_tolerance",
    "refused parts": "refused",
}
#: Shown beside the tables: what else there is to see.
_RULES: Final = "rules"
_SOURCES: Final = "sources"
_KEYS: Final = {
    "keys": "What a description may say, table by table",
    "site keys": "What a site file may say: faces, readings, neighbours, carried",
    "job keys": "What a job file may say: parts, sheets, rates",
    "tooling keys": "What a shop's tooling file may say",
}


def show(what: What = None) -> None:
    if what is None:
        say(_list())
        return
    special: dict[str, Callable[[], list[str]]] = {_RULES: _rules, _SOURCES: _sources}
    special |= {word: partial(_keys, word) for word in _KEYS}
    word = what.strip().lower().replace("_", " ").replace("-", " ")
    word = f"{word} keys" if f"{word} keys" in _KEYS else word
    say(special[word]() if word in special else _table(_named(word, what)))


def _named(word: str, typed: str) -> str:
    """The table that a word means; ends the command when there is none."""
    names = {name.replace("_", " "): name for name in table_names()}
    known = names | _ALSO_CALLED
    if word not in known:
        near = nearest_word(word, [*known, _RULES, _SOURCES, *_KEYS])
        listed = ", ".join((*names.values(), _RULES, _SOURCES, *map(_typed, _KEYS)))
        cure = (f"did you mean {_typed(near)}? " if near else "") + f"there are: {listed}"
        stop([Fault(Place("show"), f"there is no table {typed!r}", cure)])
    return known[word]


def _list() -> list[str]:
    others = {name: [word for word, table in _ALSO_CALLED.items() if table == name] for name in table_names()}
    rows = [[name, load_table(name).title, ", ".join(others[name][:2])] for name in table_names()]
    rows.append([_RULES, "Every rule with its id and source", ""])
    rows.append([_SOURCES, "Where the figures come from", ""])
    rows += [[_typed(word), held, ""] for word, held in _KEYS.items()]
    return [*aligned(["table", "what it holds", "also called"], rows), "", "bracketgen show TABLE prints one."]


def _table(name: str) -> list[str]:
    table = load_table(name)
    numbers: dict[str, str] = {}
    sourced = [column for column in table.columns if column == "source" or column.startswith("source_")]
    sourced += [column for column in table.columns if column.endswith("_source")]
    rows = [[_cell(row, column, column in sourced, numbers) for column in table.columns] for row in table.rows]
    lines = [*wrapped(table.title), ""]
    if any(len(cell) > WIDTH for row in rows for cell in row):
        lines += _row_by_row(table.columns, rows)
    else:
        lines += aligned(table.columns, rows, _keys_of(table.columns, rows))
    lines += ["", "Sources"]
    for source, number in numbers.items():
        lines += _citation(number, source)
    lines.append("")
    for note in table.note.split("\n"):
        lines += wrapped(note)
    return lines


def _row_by_row(columns: tuple[str, ...], rows: list[list[str]]) -> list[str]:
    """A table of long texts: a paragraph a row, a line a column, empty cells left out."""
    lines: list[str] = []
    for first, *others in rows:
        lines += ["", f"{columns[0]}: {toned(first, Tone.STRONG)}"]
        told = ((column.replace("_", " "), cell) for column, cell in zip(columns[1:], others, strict=True) if cell)
        lines += [line for column, cell in told for line in wrapped(cell, f"    {column}: ", " " * 8)]
    return lines[1:]


def _cell(row: Row, column: str, is_source: bool, numbers: dict[str, str]) -> str:
    """The cell, sources as numbers of the list below the table."""
    if not is_source:
        return row[column]
    ids = row[column].split()
    return " ".join(f"[{numbers.setdefault(one, str(len(numbers) + 1))}]" for one in ids)


def _keys_of(columns: tuple[str, ...], rows: list[list[str]]) -> int:
    """How many columns tell the rows apart, at most three."""
    for count in range(1, 4):
        if len({tuple(row[:count]) for row in rows}) == len(rows):
            return count
    return 1


def _citation(number: str, source: str) -> list[str]:
    return wrapped(noted_citation(source), f"[{number}] ".rjust(6))


def _sources() -> list[str]:
    return [line for source in source_ids() for line in wrapped(noted_citation(source), f"{source}: ", "    ")]


def _rules() -> list[str]:
    # Tables are printed without what the rules load.
    from bracketgen.rules.engine import all_rules

    lines: list[str] = []
    for rule in all_rules():
        title = rule.title if rule.check else f"{rule.title} (at a site)"
        lines += wrapped(title, f"{toned(rule.id, Tone.STRONG)}: ", "    ")
        lines += wrapped(f"source: {rule.source}", "    ")
    return [*lines, "", "A waiver in a description names the id, a subject and a reason."]


def _typed(word: str) -> str:
    """The word as it is typed, without quotes around it."""
    return word.replace(" ", "-")


def _keys(word: str) -> list[str]:
    # Tables are printed without what reads files.
    from bracketgen.description.schema import description_schema, model_schema

    match word:
        case "site keys":
            from bracketgen.vehicle.site import site_schema

            return key_lines("the site file", site_schema())
        case "job keys":
            from bracketgen.shop.order import JobDocument

            return key_lines("the job file", model_schema(JobDocument))
        case "tooling keys":
            from bracketgen.shop.brake.tooling_file import ToolingDocument

            return key_lines("the tooling file", model_schema(ToolingDocument))
    return key_lines("the description", description_schema())


# What a file may say, table by table, from the model that reads it.


def key_lines(what: str, schema: dict[str, Any]) -> list[str]:
    """Every table of `what` with its keys, their help and their words."""
    tables = {what: schema, **schema["$defs"]}
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
        return "[x, y, z]" if len(field["prefixItems"]) == 3 else _pair(field["prefixItems"])
    if isinstance(field.get("additionalProperties"), dict):
        return f"named tables, each {_sort(field['additionalProperties'])}"
    choices = field.get("oneOf") or field.get("anyOf") or []
    said = list(dict.fromkeys(_sort(choice) for choice in choices))
    if said:
        return "value" if set(said) == {"number", "text"} else " or ".join(said)
    return {"string": "text", "boolean": "true or false", "integer": "number"}.get(field.get("type", ""), "number")


def _pair(items: list[dict[str, Any]]) -> str:
    """Two values: names of two things, or sizes across and up."""
    return "[name, name]" if items[0].get("type") == "string" else "[x, y]"
