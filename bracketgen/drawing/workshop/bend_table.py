"""The bends of a part in a table, each with the place of its centre line."""

from __future__ import annotations

from typing import Final

from bracketgen.bending.flat import Flat, Strip
from bracketgen.drawing.marks.bend_words import numbered_strips
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.workshop.bands import Table
from bracketgen.drawing.workshop.hole_names import datum_of

#: Lines that lean less than this along their length are level or upright, mm.
_LEVEL_MM: Final = 1e-6


def bend_table(flat: Flat) -> Table:
    """Number, turn, way, inside radius, K, allowance, deduction, and the centre line from the datum edges."""
    heads = ("no.", "turn", "way", "R in", "K", "allow.", "ded.", "centre line")
    rows = tuple(_row(number, strip, flat) for number, strip in numbered_strips(flat))
    shares = (0.9, 1.05, 1.35, 1.0, 1.2, 1.35, 1.2, 2.05)
    return Table("Bends, in the order described", heads, shares, rows, "bend row")


def _row(number: int, strip: Strip, flat: Flat) -> tuple[str, ...]:
    bend, metal = strip.bend, strip.metal
    return (
        str(number), f"{plain(bend.turn_deg)}°", bend.way.upper(), plain(bend.inside_radius_mm),
        plain(metal.k_factor, 3), plain(metal.allowance_mm), plain(metal.deduction_mm), line_words(strip, flat),
    )  # fmt: skip


def line_words(strip: Strip, flat: Flat) -> str:
    """Where the centre line lies, counted from the datum edges: 'x 45.31', 'y 12', or both its ends."""
    datum = datum_of(flat)
    a, b = (p.minus(datum) for p in (strip.centre_line.start, strip.centre_line.end))
    if abs(a.x - b.x) < _LEVEL_MM:
        return f"x {plain(a.x)}"
    if abs(a.y - b.y) < _LEVEL_MM:
        return f"y {plain(a.y)}"
    return f"({plain(a.x)}, {plain(a.y)}) to ({plain(b.x)}, {plain(b.y)})"


def formula_words(flat: Flat) -> list[str]:
    """How the allowances were found, once each."""
    said: dict[str, list[str]] = {}
    for number, strip in numbered_strips(flat):
        said.setdefault(f"{strip.metal.formula}; {strip.metal.source}", []).append(str(number))
    return [f"Bend {', '.join(numbers)}: {words}." for words, numbers in said.items()]
