"""What is written about a bend, and how a person's eye reads it back."""

from __future__ import annotations

import re
from dataclasses import dataclass

from bracketgen.bending.flat import Flat, Strip
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.part.part import Bend, Way


@dataclass(frozen=True, slots=True)
class BendWords:
    """Number, turn, way and inside radius as they stand on a drawing."""

    number: int
    turn_deg: float
    way: Way
    inside_radius_mm: float


def bend_label(number: int, bend: Bend) -> str:
    """Such as '1  90° UP  R4': number in the list of bends, turn from flat, way, inside radius in mm."""
    return f"{number}  {plain(bend.turn_deg)}° {bend.way.upper()}  R{plain(bend.inside_radius_mm)}"


def read_bend_label(text: str) -> BendWords | None:
    """The figures of a bend label, or None when the text is none."""
    found = re.fullmatch(r"(\d+)  ([\d.]+)° (UP|DOWN)  R([\d.]+)", text)
    if found is None:
        return None
    return BendWords(int(found[1]), float(found[2]), Way(found[3].lower()), float(found[4]))


def bend_line(number: int, strip: Strip) -> str:
    """One line about a bend for the list of facts, with both ways of saying how far it turns."""
    bend = strip.bend
    between = plain(180.0 - bend.turn_deg)
    return (
        f"{number}  turn {plain(bend.turn_deg)}° {bend.way.upper()} (between {between}°)  "
        f"R{plain(bend.inside_radius_mm)}  takes {plain(strip.metal.allowance_mm)}"
    )


def numbered_strips(flat: Flat) -> list[tuple[int, Strip]]:
    """The strips with the numbers that stand on the drawing, from 1 in the part's order."""
    return list(enumerate(flat.strips, 1))
