"""The lines and points to scribe, counted from the two datum edges."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.by_hand.drilling import Drilling
from bracketgen.drawing.marks.bend_words import numbered_strips
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.workshop.bands import Table
from bracketgen.drawing.workshop.hole_names import datum_of
from bracketgen.geometry.arc import Arc
from bracketgen.geometry.point import Point

#: What a steel rule and a scriber keep (common practice, no source).
STEP_MM: Final = 0.5


def scribed(mm: float) -> str:
    """A length as it is scribed, rounded to half a millimetre (halves up), with the exact value beside it."""
    rounded = math.floor(mm / STEP_MM + 0.5 + 1e-9) * STEP_MM
    exact = plain(mm)
    return exact if exact == plain(rounded) else f"{plain(rounded)} ({exact})"


def hole_rows(holes: Sequence[Drilling]) -> Table:
    """Where to punch, which drills in which order, what follows, and when."""
    rows: list[tuple[str, ...]] = []
    for hole in holes:
        when = "AFTER bending" if hole.after_bending else "before"
        for i, at in enumerate(hole.punches):
            drills = hole.drill_words if i == 0 else "same"
            then = (f"{hole.then}; {when}" if i == 0 else "other end") if hole.drills_mm else f"{hole.then}; {when}"
            name = hole.named.name if len(hole.punches) == 1 else f"{hole.named.name}{'ab'[i]}"
            rows.append((name, scribed(at.x), scribed(at.y), drills or "none", then))
    heads = ("at", "x", "y", "drills in order", "then; when")
    return Table("Punch marks and drills", heads, (1.0, 2.1, 2.1, 1.9, 2.9), tuple(rows), "punch row")


def bend_rows(flat: Flat) -> Table:
    """Both ends of each bend's centre line, and where the metal begins to bend."""
    datum = datum_of(flat)
    rows: list[tuple[str, ...]] = []
    for number, strip in numbered_strips(flat):
        a, b = (p.minus(datum) for p in (strip.centre_line.start, strip.centre_line.end))
        half = plain(strip.metal.allowance_mm / 2)
        rows.append((str(number), _pair(a), _pair(b), half))
    heads = ("no.", "from x, y", "to x, y", "tangent at ±")
    return Table("Bend lines (middle of the bend)", heads, (0.8, 2.8, 2.8, 1.4), tuple(rows), "bend line row")


def outline_rows(flat: Flat) -> Table:
    """The outline edge by edge, anticlockwise from the corner nearest the datum."""
    datum = datum_of(flat)
    edges = flat.outline.anticlockwise().edges
    first = min(range(len(edges)), key=lambda i: edges[i].start.distance(datum))
    rows: list[tuple[str, ...]] = []
    for i, edge in enumerate((*edges[first:], *edges[:first]), 1):
        way = "straight"
        if isinstance(edge, Arc):
            hollow = ", hollow" if edge.sweep_rad < 0.0 else ""
            way = f"R {plain(edge.radius)}{hollow}, centre {_pair(edge.centre.minus(datum))}"
        rows.append((str(i), _pair(edge.start.minus(datum)), way))
    heads = ("no.", "from x, y", "to the next number")
    return Table("Outline, anticlockwise", heads, (0.7, 3.0, 4.0), tuple(rows), "outline row")


def _pair(p: Point) -> str:
    return f"{scribed(p.x)}, {scribed(p.y)}"
