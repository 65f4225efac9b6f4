"""How the shop bends: the inside radius, the allowance and the shortest leg of every bend."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from bracketgen.bending.allowance import (
    AllowanceChoice,
    BendMetal,
    Din6935,
    Faa,
    FromStrip,
    Handbook,
    HandbookRow,
    KFactor,
    MeasuredStrip,
    ShopTable,
    bend_metal,
)
from bracketgen.bending.deduction_csv import parse_deduction_table
from bracketgen.bending.setback import SizeReference
from bracketgen.description.model.stock import BendTable
from bracketgen.errors import GeometryFault
from bracketgen.part.stock import Stock
from bracketgen.standards.die import die


@dataclass(frozen=True, slots=True)
class Shop:
    """What is the same for all bends of a part; `choice` says how allowances are found."""

    table: BendTable
    stock: Stock
    choice: AllowanceChoice
    inside_radius_mm: float
    minimum_leg_mm: float | None

    def metal(self, inside_radius_mm: float, turn_deg: float) -> BendMetal:
        """The metal that one bend takes. Raises BendFault."""
        return bend_metal(self.choice, inside_radius_mm, self.stock.thickness_mm, turn_deg)


def make_shop(table: BendTable, stock: Stock, folder: str) -> Shop:
    """The shop's practice. Raises LookupFault, BendFault, InputFaults or GeometryFault."""
    opening = die(table.die) if table.die is not None else None
    least = table.minimum_leg if table.minimum_leg is not None else (opening.minimum_flange_mm if opening else None)
    radius = next((r for r in (table.inside_radius, table.punch_radius, table.nose_radius) if r is not None), None)
    if radius is None:
        if opening is None:
            raise GeometryFault(
                "nothing says the inside radius of the bends",
                None,
                "give die (V opening), punch_radius, nose_radius, or the inside_radius measured on a bend",
            )
        radius = opening.natural_radius_mm
    return Shop(table, stock, _choice(table, stock, radius, folder), radius, least)


def _choice(table: BendTable, stock: Stock, radius: float, folder: str) -> AllowanceChoice:
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
            return _shop_table(table, stock, folder)
        case "test strip":
            return _strip(table, stock, radius)


def _shop_table(table: BendTable, stock: Stock, folder: str) -> ShopTable:
    path = Path(folder) / str(table.table)
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is no UTF-8 text"
        raise GeometryFault(
            f"the shop's table '{table.table}' can't be read: {why}", None, "the path counts from the description"
        ) from None
    return ShopTable(parse_deduction_table(text, str(table.table)), table.table_metal or stock.metal.id, table.die)


def _strip(table: BendTable, stock: Stock, radius: float) -> FromStrip:
    strip = table.test_strip
    assert strip is not None
    reference = SizeReference(strip.sizes)
    first, second = strip.legs
    return FromStrip(MeasuredStrip(strip.blank, first, second, stock.thickness_mm, radius, strip.turn_deg, reference))
