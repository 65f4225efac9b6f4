"""One part of an order: everything that the cutting shop has to know besides the cut file."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bracketgen.bending.flat import Flat
from bracketgen.part.part import Waiver
from bracketgen.part.stock import Stock

#: Width, depth, height, mm.
Size3 = tuple[float, float, float]


class Bender(StrEnum):
    """Who bends the parts; the value stands on the order sheet."""

    CUSTOMER = "the customer bends it: send it flat"
    SHOP = "the cutting shop bends it, by the bends listed here"


@dataclass(frozen=True, slots=True)
class OrderLine:
    """A part with its quantity. Lengths in mm, mass in kg each; `bends` and `hardware` are lines of text."""

    name: str
    title: str
    quantity: int
    stock: Stock
    bender: Bender
    finish: str
    flat_mm: tuple[float, float]
    folded_mm: Size3
    mass_kg: float
    cut_mm: float
    pierces: int
    bends: tuple[str, ...] = ()
    hardware: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    waivers: tuple[Waiver, ...] = ()


def order_line(
    flat: Flat, folded_mm: Size3, quantity: int, bender: Bender, finish: str = "", hardware: tuple[str, ...] = ()
) -> OrderLine:
    """The line of a part. `folded_mm` is the box round the folded part; ValueError for a quantity below 1."""
    if quantity < 1:
        raise ValueError(f"a quantity of {quantity}")
    part = flat.part
    x0, y0, x1, y1 = flat.bounds_mm
    bends = tuple(
        f"bend {n}, {s.bend.parent} to {s.bend.child}: {s.bend.way.value}, turn {s.bend.turn_deg:g} deg from flat "
        f"({180 - s.bend.turn_deg:g} deg between the faces), inside radius {s.bend.inside_radius_mm:g} mm"
        for n, s in enumerate(flat.strips, start=1)
    )
    return OrderLine(
        name=part.name,
        title=part.title,
        quantity=quantity,
        stock=part.stock,
        bender=bender,
        finish=finish,
        flat_mm=(x1 - x0, y1 - y0),
        folded_mm=folded_mm,
        mass_kg=flat.mass_kg,
        cut_mm=flat.cut_length_mm,
        pierces=flat.pierces,
        bends=bends,
        hardware=hardware,
        cautions=part.cautions,
        waivers=part.waivers,
    )
