"""Which column of a tolerance table a size belongs to."""

from __future__ import annotations

from enum import StrEnum

from bracketgen.standards.table import LookupFault, Table


class Limit(StrEnum):
    """Whether the number in a column's name still belongs to that column."""

    INCLUDED = "included"
    LEFT_OUT = "left out"


def size_column(table: Table, size: float, limit: Limit) -> str:
    """The column 'to_N_mm' (or 'to_N_deg') that holds the size. Raises LookupFault beyond the last one."""
    names = [name for name in table.columns if name.startswith("to_")]
    ends = [float(name.split("_")[1]) for name in names]
    for name, end in zip(names, ends, strict=True):
        if size < end or (limit is Limit.INCLUDED and size == end):
            return name
    raise LookupFault("size", f"{size:g} mm", reason=f"the table {table.title!r} ends at {ends[-1]:g} mm")
