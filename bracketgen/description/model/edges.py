"""Words that name an edge of an outline."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import PlainValidator, WithJsonSchema

from bracketgen.description.model.quantities import fault
from bracketgen.units import nearest_word

_EDGES = ("left", "right", "top", "bottom")
#: The whole outline of a panel.
ALL_ROUND = "all round"


def _edge(value: Any) -> str | int:
    if (isinstance(value, int) and not isinstance(value, bool) and value > 0) or value in _EDGES:
        return value  # type: ignore[no-any-return]
    near = nearest_word(value, _EDGES) if isinstance(value, str) else None
    meant = f"did you mean '{near}'? " if near else ""
    shown = f"'{value}'" if isinstance(value, str) else "this"
    raise fault(f"{shown} is no edge", f"{meant}give left, right, top, bottom, or the number of a polygon's edge")


Edge = Annotated[
    str | int,
    PlainValidator(_edge),
    WithJsonSchema({"anyOf": [{"enum": list(_EDGES)}, {"type": "integer", "minimum": 1}]}),
]


def _edge_or_all(value: Any) -> str | int:
    if value == ALL_ROUND:
        return ALL_ROUND
    if isinstance(value, str) and nearest_word(value, (ALL_ROUND,)):
        raise fault(f"'{value}' is no edge", f"did you mean '{ALL_ROUND}'?")
    return _edge(value)


#: An edge, or the outline all round.
EdgeOrAll = Annotated[
    str | int,
    PlainValidator(_edge_or_all),
    WithJsonSchema({"anyOf": [{"enum": [*_EDGES, ALL_ROUND]}, {"type": "integer", "minimum": 1}]}),
]
