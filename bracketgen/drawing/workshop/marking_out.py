"""Which drills make a hole, in order, and whether it is drilled before or after bending.

All drill steps are common practice, no source: 3 mm pilot, then steps that leave the next drill something to centre on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.columns import PrintedTable
from bracketgen.drawing.marks.words import numbered_strips
from bracketgen.drawing.workshop.tables import NamedHole, datum_of
from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Edge
from bracketgen.geometry.edge import Arc
from bracketgen.geometry.plane import Point
from bracketgen.part.hole import Purpose
from bracketgen.tolerances import SAME_POINT_MM
from bracketgen.units import plain

_PILOT_MM: Final = 3.0
#: (holes over this size, get this drill in between), mm.
_BETWEEN_MM: Final = ((8.0, 6.0), (13.0, 10.0))
#: Twist drills in a hand drill or small bench drill end about here; beyond, a step drill or a hole saw.
LARGEST_DRILL_MM: Final = 13.0
#: What a reamer takes off, on the diameter.
_REAMED_MM: Final = 0.2
#: The rules that say a hole comes out oval when it is there before bending.
_NEAR_BEND: Final = frozenset({"hole-bend", "hole-in-bend"})


@dataclass(frozen=True, slots=True)
class Drilling:
    """How one hole is made: where to punch (from the datum edges, mm), the drills in order, what follows."""

    named: NamedHole
    punches: tuple[Point, ...]
    drills_mm: tuple[float, ...]
    then: str
    after_bending: bool

    @property
    def drill_words(self) -> str:
        """Such as '3, 6, 9'; the last is the size to drill, '' when the hole is not drilled."""
        return ", ".join(plain(d) for d in self.drills_mm)


def drillings(holes: Sequence[NamedHole], findings: Sequence[Finding]) -> list[Drilling]:
    """Every hole in the order of the names; those that a rule finds too near a bend come after bending.

    A waiver does not help here: the rule's figures say that the hole would be pulled oval.
    """
    late = {f.subject for f in findings if f.rule in _NEAR_BEND and f.level is Level.FAIL}
    return [_drilling(h, h.hole.hole.id in late) for h in holes]


def drill_steps(diameter_mm: float) -> tuple[float, ...]:
    """The drills up to a diameter, mm: pilot, one or two between, then the next tenth above the diameter."""
    last = math.ceil(round(diameter_mm * 10, 6)) / 10
    steps = [_PILOT_MM, *(step for over, step in _BETWEEN_MM if last > over)]
    return (*(s for s in steps if s < last - 0.5), last)


def _drilling(named: NamedHole, late: bool) -> Drilling:
    hole = named.hole.hole
    bolt = f" {hole.fastener}" if hole.fastener else ""
    width = hole.shape.width_mm
    punches = tuple(at.minus(named.hole.stated_at).plus(named.at) for at in named.hole.ends) or (named.at,)
    if width is None:
        return Drilling(named, punches, (), hole.shape.by_hand, late)
    match hole.purpose:
        case _ if hole.shape.by_hand:
            steps, then = drill_steps(width), hole.shape.by_hand
        case Purpose.DOWEL:
            steps, then = drill_steps(width - _REAMED_MM), f"ream Ø{plain(width)}"
        case Purpose.TAPPED:
            steps, then = drill_steps(width), f"tap{bolt}"
        case Purpose.RIVET_NUT:
            steps, then = drill_steps(width), f"rivet nut{bolt}"
        case _:
            large = width > LARGEST_DRILL_MM
            steps, then = drill_steps(width), "last size by step drill or hole saw" if large else "deburr"
    return Drilling(named, punches, steps, then, late)


# -- the lines and points to scribe, counted from the two datum edges


#: What a steel rule and a scriber keep (common practice, no source).
STEP_MM: Final = 0.5


def scribed(mm: float) -> str:
    """A length as it is scribed, rounded to half a millimetre (halves up), with the exact value beside it."""
    rounded = math.floor(mm / STEP_MM + 0.5 + 1e-9) * STEP_MM
    exact = plain(mm)
    return exact if exact == plain(rounded) else f"{plain(rounded)} ({exact})"


def hole_rows(holes: Sequence[Drilling]) -> PrintedTable:
    """Where to punch, which drills in which order, what follows, and whether that waits for the bends."""
    rows: list[tuple[str, ...]] = []
    for hole in holes:
        when = "; AFTER bending" if hole.after_bending else ""
        for i, at in enumerate(hole.punches):
            drills = hole.drill_words if i == 0 else "same"
            then = f"{hole.then}{when}" if i == 0 else "other end"
            name = hole.named.name if len(hole.punches) == 1 else f"{hole.named.name}{'ab'[i]}"
            rows.append((name, scribed(at.x), scribed(at.y), drills or "none", then))
    heads = ("at", "x", "y", "drills in order", "then")
    return PrintedTable("Punch marks and drills", heads, (1.0, 2.1, 2.1, 1.9, 2.9), tuple(rows), "punch row")


def bend_rows(flat: Flat) -> PrintedTable:
    """Both ends of each bend's centre line, and where the metal begins to bend."""
    datum = datum_of(flat)
    rows: list[tuple[str, ...]] = []
    for number, strip in numbered_strips(flat):
        a, b = (p.minus(datum) for p in (strip.centre_line.start, strip.centre_line.end))
        half = plain(strip.metal.allowance_mm / 2)
        rows.append((str(number), _pair(a), _pair(b), half))
    heads = ("no.", "from x, y", "to x, y", "tangent at ±")
    return PrintedTable("Bend lines (middle of the bend)", heads, (0.8, 2.8, 2.8, 1.4), tuple(rows), "bend line row")


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of the outline that is scribed in one go: straight, or round the centre of `arc`."""

    start: Point
    arc: Arc | None
    all_round: bool = False

    @property
    def is_hollow(self) -> bool:
        """Whether the metal lies outside the arc."""
        return self.arc is not None and self.arc.sweep_rad < 0.0


def outline_rows(flat: Flat) -> PrintedTable:
    """The outline stretch by stretch, anticlockwise from the corner nearest the datum."""
    datum = datum_of(flat)
    rows: list[tuple[str, ...]] = []
    for i, run in enumerate(outline_stretches(flat), 1):
        way = "straight"
        if run.arc is not None:
            more = ", hollow" if run.is_hollow else ", all round" if run.all_round else ""
            way = f"R {plain(run.arc.radius)}{more}, centre {_pair(run.arc.centre.minus(datum))}"
        rows.append((str(i), _pair(run.start.minus(datum)), way))
    heads = ("no.", "from x, y", "to the next number")
    return PrintedTable("Outline, anticlockwise", heads, (0.7, 3.0, 4.0), tuple(rows), "outline row")


def outline_stretches(flat: Flat) -> list[Stretch]:
    """The stretches in the order of their numbers; arcs that go on around one centre are one."""
    edges = flat.outline.anticlockwise().edges
    starts = [edge for before, edge in zip((edges[-1], *edges[:-1]), edges, strict=True) if not _goes_on(before, edge)]
    if not starts:
        return [Stretch(edges[0].start, edges[0] if isinstance(edges[0], Arc) else None, all_round=True)]
    datum = datum_of(flat)
    first = min(range(len(starts)), key=lambda i: starts[i].start.distance(datum))
    return [Stretch(e.start, e if isinstance(e, Arc) else None) for e in (*starts[first:], *starts[:first])]


def _goes_on(before: Edge, edge: Edge) -> bool:
    """Whether an arc goes on around the centre of the one before it, the same way round."""
    if not isinstance(before, Arc) or not isinstance(edge, Arc):
        return False
    same = before.centre.distance(edge.centre) < SAME_POINT_MM and abs(before.radius - edge.radius) < SAME_POINT_MM
    return same and before.sweep_rad * edge.sweep_rad > 0.0


def _pair(p: Point) -> str:
    return f"{scribed(p.x)}, {scribed(p.y)}"
