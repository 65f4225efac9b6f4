"""The column of facts: mass, cut length, bends, and holes that found no room on the view."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.bend_words import bend_line, numbered_strips
from bracketgen.drawing.marks.hole_groups import HoleGroup
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.paper.lettering import LEADING, Weight, text_width_mm, wrapped
from bracketgen.drawing.paper.palette import INK, WAY_LINE, Colour
from bracketgen.drawing.picture.findings_list import Block
from bracketgen.drawing.sheet import Label
from bracketgen.geometry.point import Point

TEXT_MM: Final = 3.4
#: Source: NIST SP 811 (2008), appendix B.8: 1 lb = 0.453 592 37 kg.
_KG_PER_LB: Final = 0.45359237


def facts_block(flat: Flat, listed: Sequence[HoleGroup], width_mm: float) -> Block:
    """The facts in lines of at most `width_mm`."""
    step = TEXT_MM * LEADING
    rows: list[tuple[Point, Label]] = []
    for text, colour, weight, shows in _entries(flat, listed, width_mm):
        for line in _lines(text, width_mm, weight):
            at = Point(0.0, -TEXT_MM - step * len(rows))
            rows.append((at, Label(line, at, TEXT_MM, colour, weight, shows=shows)))
    return Block(step * len(rows), tuple(rows))


def _entries(flat: Flat, listed: Sequence[HoleGroup], width_mm: float) -> list[tuple[str, Colour, Weight, str]]:
    kg = flat.mass_kg
    pierces = flat.pierces
    rows = [
        (f"mass {plain(kg, 3)} kg ({plain(kg / _KG_PER_LB, 2)} lb)", INK, Weight.BOLD, "mass"),
        (f"cut {plain(flat.cut_length_mm, 0)} mm, {pierces} pierce{'s' * (pierces != 1)}", INK, Weight.BOLD, "cut"),
    ]
    for number, strip in numbered_strips(flat):
        text = bend_line(number, strip)
        rows.append((text, WAY_LINE[strip.bend.way], Weight.PLAIN, f"bend {number}"))
    rows += [(line, INK, Weight.PLAIN, "holes") for line in _packed([g.text for g in listed], width_mm)]
    return rows


def _lines(text: str, width_mm: float, weight: Weight) -> list[str]:
    fits = text_width_mm(text, TEXT_MM, weight) <= width_mm
    return [text] if fits else wrapped(text, width_mm, TEXT_MM, weight)


def _packed(texts: Sequence[str], width_mm: float) -> list[str]:
    """Short texts side by side, as many to a line as fit."""
    lines: list[str] = []
    for text in texts:
        longer = f"{lines[-1]}    {text}" if lines else text
        if lines and text_width_mm(longer, TEXT_MM) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(text)
    return lines
