"""Every hole with a short name for the view and its row in the table, counted from the two datum edges."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from bracketgen.bending.flat import Flat, FlatHole
from bracketgen.drawing.marks.hole_groups import DRAWN, hole_groups
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.workshop.bands import PrintedTable
from bracketgen.findings import Finding
from bracketgen.geometry.plane import Point
from bracketgen.part.hole import Nut, Purpose


@dataclass(frozen=True, slots=True)
class NamedHole:
    """A hole of the flat; `name` is the letter of its kind and its number among them, such as 'A2'."""

    name: str
    hole: FlatHole
    at: Point

    @property
    def size(self) -> str:
        """Such as 'Ø8.4', 'slot 9 × 14 along 90°', 'opening 40 × 22'."""
        shape = self.hole.hole.shape
        return shape.size_words(DRAWN) + shape.lie_words(self.hole.placement.angle_deg, lambda deg: plain(deg, 1))

    @property
    def finish(self) -> str:
        """What is done to it besides cutting, and what it is for."""
        hole = self.hole.hole
        cut = f"cut Ø{plain(2 * hole.pilot.radius)}, drill out; " if hole.pilot else ""
        bolt = f" {hole.fastener}" if hole.fastener else ""
        match hole.purpose:
            case Purpose.TAPPED:
                return f"{cut}tap{bolt}"
            case Purpose.RIVET_NUT:
                return f"{cut}rivet nut{bolt}"
            case Purpose.DOWEL:
                return f"{cut}ream for dowel{bolt}"
            case _:
                return f"{cut}for{bolt}{self._joint}" if bolt else f"{cut}as cut"

    @property
    def _joint(self) -> str:
        """The rubber at it, or the nut that is welded behind it."""
        hole = self.hole.hole
        if hole.isolator is not None:
            return f", {hole.isolator.kind.value}"
        return ", nut welded on" if hole.nut is Nut.WELDED else ""


def with_hole_names(findings: Sequence[Finding], holes: Sequence[NamedHole]) -> list[Finding]:
    """The findings with the names that the view shows before the ids of their holes: 'A2 (base/bolt-2)'."""
    names = {h.hole.hole.id: h.name for h in holes}
    if not names:
        return list(findings)
    ids = re.compile("|".join(rf"(?<!\S){re.escape(i)}(?!\S)" for i in names))
    return [replace(f, subject=ids.sub(lambda m: f"{names[m[0]]} ({m[0]})", f.subject)) for f in findings]


def datum_of(flat: Flat) -> Point:
    """Where the two datum edges meet: left and lower side of the flat's box."""
    x0, y0, _, _ = flat.bounds_mm
    return Point(x0, y0)


def named_holes(flat: Flat) -> list[NamedHole]:
    """All holes, kind by kind; `at` counts from the datum edges: the centre, or that of an opening's box."""
    datum = datum_of(flat)
    made: list[NamedHole] = []
    for group in hole_groups(flat, 1):
        letter = group.letter or "A"
        for i, hole in enumerate(group.holes, 1):
            name = letter if len(group.holes) == 1 else f"{letter}{i}"
            made.append(NamedHole(name, hole, hole.stated_at.minus(datum)))
    return made


def hole_table(flat: Flat) -> PrintedTable:
    """Id, x, y, size and finish of every hole."""
    rows = tuple((n.name, plain(n.at.x), plain(n.at.y), n.size, n.finish) for n in named_holes(flat))
    heads = ("hole", "x", "y", "size", "finish")
    return PrintedTable("Holes, centres from the datum edges", heads, (0.9, 1.3, 1.3, 2.6, 2.2), rows, "hole row")
