"""What is written about holes, bends and welds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat, FlatHole, Strip
from bracketgen.part.hole import Hole, Lettering, Purpose
from bracketgen.part.part import Bend, Weld, WeldSide
from bracketgen.units import plain

#: How a drawing writes sizes.
DRAWN: Final = Lettering(plain, "×", "Ø", "opening ")


@dataclass(frozen=True, slots=True)
class HoleGroup:
    """Holes that are made alike; `letter` is '' when the group needs none."""

    letter: str
    holes: tuple[FlatHole, ...]

    @property
    def text(self) -> str:
        """Such as '4 × Ø8.4 (M8)', with the letter in front when there is one."""
        said = f"{len(self.holes)} × {size_text(self.holes[0].hole)}"
        return f"{self.letter}  {said}" if self.letter else said

    @property
    def shows(self) -> str:
        """What the group's callout stands for: its first hole."""
        return f"holes like {self.holes[0].hole.id}"


def size_text(hole: Hole) -> str:
    """Size and use of one hole: 'Ø8.4 (M8)', 'slot 9 × 14', 'Ø6.8 tap M8', 'opening 40 × 22'."""
    thread = f" {hole.fastener}" if hole.fastener else ""
    match hole.purpose:
        case Purpose.TAPPED:
            use = f" tap{thread}"
        case Purpose.RIVET_NUT:
            use = f" rivet nut{thread}"
        case Purpose.DOWEL:
            use = f" dowel{thread}, ream"
        case _:
            use = f" ({hole.fastener})" if hole.fastener else ""
    pilot = f", cut as Ø{plain(2 * hole.pilot.radius)} pilot" if hole.pilot else ""
    return hole.shape.size_words(DRAWN) + use + pilot


def hole_groups(flat: Flat, lettered_from: int = 2) -> list[HoleGroup]:
    """The flat's holes in groups, in the order of their first holes.

    Groups are lettered when there are several and one of them has `lettered_from` holes or more.
    """
    found: dict[str, list[FlatHole]] = {}
    for flat_hole in flat.holes:
        found.setdefault(size_text(flat_hole.hole), []).append(flat_hole)
    groups = list(found.values())
    lettered = [len(groups) > 1 and len(g) >= lettered_from for g in groups]
    return [
        HoleGroup(_letter(sum(lettered[:i])) if wanted else "", tuple(holes))
        for i, (holes, wanted) in enumerate(zip(groups, lettered, strict=True))
    ]


def _letter(index: int) -> str:
    """A, B, ... Z, AA, AB ..., without I and O, which are read as 1 and 0."""
    letters = "ABCDEFGHJKLMNPQRSTUVWXYZ"
    first, last = divmod(index, len(letters))
    return (_letter(first - 1) if first else "") + letters[last]


# -- bends


def bend_label(number: int, bend: Bend) -> str:
    """Such as '1  90° UP  R4': number in the list of bends, turn from flat, way, inside radius in mm."""
    return f"{number}  {plain(bend.turn_deg)}° {bend.way.upper()}  R{plain(bend.inside_radius_mm)}"


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


# -- where the part is welded, how thick and how long

_SIDES: Final = {WeldSide.BOTH: "both faces", WeldSide.FACE: "this face", WeldSide.BACK: "the back"}


def weld_label(weld: Weld) -> str:
    """Such as 'weld a3 × 54.1, both faces'; an interrupted weld has its lengths joined by '+'."""
    lengths = " + ".join(plain(run.length_mm, 1) for run in weld.runs)
    return f"weld a{plain(weld.throat_mm, 1)} × {lengths}, {_SIDES[weld.sides]}"
