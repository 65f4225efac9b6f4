"""The sheet, and how the shop bends it: inside radius, allowance and shortest leg of every bend."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

from bracketgen.bending.allowance import (
    AllowanceChoice,
    BendMetal,
    Din6935,
    Faa,
    FromStrip,
    Handbook,
    HandbookRow,
    KFactor,
    ShopTable,
    bend_metal,
    strip_k,
)
from bracketgen.bending.measured_strip import MeasuredStrip
from bracketgen.bending.setback import SizeReference
from bracketgen.bending.shop_table import parse_deduction_table
from bracketgen.description.making.faults import Collector, PlacedFault, placed
from bracketgen.description.model.stock import BendTable, StockTable
from bracketgen.description.model.values import what_and_cure
from bracketgen.description.text import Path
from bracketgen.errors import GeometryFault
from bracketgen.part.part import Stock
from bracketgen.standards.machines import Die, Process, die, process
from bracketgen.standards.metals import Metal, gauge_mm, metal
from bracketgen.standards.table import LookupFault
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
            thickness = table.thickness
            if isinstance(table.thickness, int):
                thickness = gauge_mm(table.thickness, kind.gauge_series).thickness_mm
                if not 0.3 <= thickness <= 25.0:
                    what = f"gauge {table.thickness} is {thickness:g} mm"
                    raise GeometryFault(what, None, "give 0.3 mm to 25 mm")
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


@dataclass(frozen=True, slots=True)
class Shop:
    """What is the same for all bends of a part.

    `choice` says how allowances are found, `radius_key` which key of [bend] set the inside radius.
    """

    table: BendTable
    stock: Stock
    choice: AllowanceChoice
    inside_radius_mm: float
    minimum_leg_mm: float | None
    radius_key: str

    def metal(self, inside_radius_mm: float, turn_deg: float) -> BendMetal:
        """The metal that one bend takes. Raises BendFault."""
        return bend_metal(self.choice, inside_radius_mm, self.stock.thickness_mm, turn_deg)


def make_shop(table: BendTable, stock: Stock, folder: str, path: Path) -> Shop:
    """The shop's practice, described at `path`. Raises PlacedFault or InputFaults."""
    key = next((k for k in ("inside_radius", "punch_radius", "nose_radius") if getattr(table, k) is not None), "die")
    opening: Die | None = None
    if table.die is not None and (key == "die" or table.minimum_leg is None):
        # The radius or the shortest leg has to come from the chart.
        try:
            opening = die(table.die)
        except LookupFault as error:
            what, cure = what_and_cure(error)
            cure = f"{cure}; or give inside_radius and minimum_leg as the shop knows them"
            raise PlacedFault((*path, "die"), what, cure) from None
    least = table.minimum_leg if table.minimum_leg is not None else (opening.minimum_flange_mm if opening else None)
    radius = opening.natural_radius_mm if opening and key == "die" else getattr(table, key)
    return Shop(table, stock, _choice(table, stock, radius, folder, path), radius, least, key)


def _choice(table: BendTable, stock: Stock, radius: float, folder: str, path: Path) -> AllowanceChoice:
    match table.allowance:
        case "K factor":
            return KFactor(table.k_factor or 0.0)
        case "DIN 6935":
            return Din6935()
        case "FAA":
            return Faa()
        case "handbook":
            return Handbook(HandbookRow[str(table.handbook_metal).upper()])
        case "shop table":
            with placed((*path, "table")):
                return _shop_table(table, stock, folder)
        case "test strip":
            with placed((*path, "test_strip")):
                assert table.test_strip is not None
                told, t = table.test_strip, stock.thickness_mm
                strip = MeasuredStrip(told.blank, *told.legs, t, radius, told.turn_deg, SizeReference(told.sizes))
                # A strip that can't be is refused here, at its own place.
                strip_k(strip, radius, t)
                return FromStrip(strip)


def _shop_table(table: BendTable, stock: Stock, folder: str) -> ShopTable:
    file = FilePath(folder) / str(table.table)
    try:
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is no UTF-8 text"
        raise GeometryFault(
            f"the shop's table '{table.table}' can't be read: {why}", None, "the path counts from the description"
        ) from None
    return ShopTable(parse_deduction_table(text, str(table.table)), table.table_metal or stock.metal.id, table.die)
