"""Equal holes counted together, and what is written about them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat, FlatHole
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.part.hole import Hole, Lettering, Purpose

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
    return hole.shape.size_words(DRAWN) + _use(hole) + _pilot(hole)


def _use(hole: Hole) -> str:
    thread = f" {hole.fastener}" if hole.fastener else ""
    match hole.purpose:
        case Purpose.TAPPED:
            return f" tap{thread}"
        case Purpose.RIVET_NUT:
            return f" rivet nut{thread}"
        case Purpose.DOWEL:
            return f" dowel{thread}, ream"
        case _:
            return f" ({hole.fastener})" if hole.fastener else ""


def _pilot(hole: Hole) -> str:
    return f", cut as Ø{plain(2 * hole.pilot.radius)} pilot" if hole.pilot else ""


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
