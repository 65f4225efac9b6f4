"""The sheet, from its table."""

from __future__ import annotations

from typing import Any

from bracketgen.description.making.collect import Collector
from bracketgen.description.model.stock import StockTable
from bracketgen.errors import GeometryFault
from bracketgen.part.part import Stock
from bracketgen.standards.machines import Process, process
from bracketgen.standards.metals import Metal, gauge_mm, metal
from bracketgen.units import format_mm


def make_stock(table: StockTable, raw: dict[str, Any], faults: Collector) -> Stock | None:
    """The stock; None when a word of the table is not known (then the collector has the faults)."""
    kind: Metal | None = None
    cut: Process | None = None
    thickness: float | None = None
    with faults.at(("stock", "metal")):
        kind = metal(table.metal)
    with faults.at(("stock", "process")):
        cut = process(table.process)
    if kind is not None:
        with faults.at(("stock", "thickness")):
            thickness = _thickness(table, kind)
    if kind is None or cut is None or thickness is None:
        return None
    typed = raw["thickness"] if isinstance(raw["thickness"], str) else format_mm(thickness)
    coating = table.coating
    return Stock(
        kind,
        thickness,
        typed,
        cut,
        None if isinstance(table.grain, str) else table.grain,
        coating.kind if coating else "",
        coating.film if coating else 0.0,
        table.sheet or cut.sheet_mm,
    )


def _thickness(table: StockTable, kind: Metal) -> float:
    if not isinstance(table.thickness, int):
        return table.thickness
    found = gauge_mm(table.thickness, kind.gauge_series)
    if not 0.3 <= found.thickness_mm <= 25.0:
        raise GeometryFault(f"gauge {table.thickness} is {found.thickness_mm:g} mm", None, "give 0.3 mm to 25 mm")
    return found.thickness_mm
