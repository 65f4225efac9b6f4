"""Every hole with a short name for the view and its row in the table, counted from the two datum edges."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from bracketgen.bending.flat import Flat, FlatHole, Strip
from bracketgen.drawing.columns import PrintedTable
from bracketgen.drawing.marks.words import DRAWN, hole_groups, numbered_strips
from bracketgen.findings import Finding
from bracketgen.geometry.plane import Placement, Point
from bracketgen.part.hole import Nut, Purpose
from bracketgen.standards.deviations import Deviation, angle_tolerance, cut_tolerance, general_tolerance
from bracketgen.standards.table import LookupFault
from bracketgen.units import plain


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


# -- what stands in tables of the shop drawing: bends, legs to measure once it is bent, general tolerances


#: Lines that lean less than this along their length are level or upright; bends that do run the same way, mm.
_LEVEL_MM: Final = 1e-6
#: Said below the table.
LEG_WORDS: Final = (
    "Outside: from the outer faces of the bend, up to square where they would meet, beyond it the outermost of the "
    "round, square across the leg to its far edge or to the outside of the next bend. Holes: their middles from the "
    "same outside."
)
#: The class that holds for sizes without their own tolerance.
CLASS: Final = "m"
#: How the title block names it.
CLASS_WORDS: Final = f"ISO 2768-1 {CLASS}"
#: Upper ends of the ranges of nominal size, mm. Source: ISO 2768-1, table 1; ISO 9013, quality table.
_GENERAL_MM: Final = (0.5, 3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0)
_CUT_MM: Final = (0.0, 3.0, 10.0, 35.0, 125.0, 315.0, 1000.0)
_BENT_MM: Final = (0.0, 10.0, 50.0, 120.0, 400.0, float("inf"))


def bend_table(flat: Flat) -> PrintedTable:
    """Number, turn, way, inside radius, K, allowance, deduction, and the centre line from the datum edges."""
    heads = ("no.", "turn", "way", "R in", "K", "allow.", "ded.", "centre line")
    rows = tuple(_row(number, strip, flat) for number, strip in numbered_strips(flat))
    shares = (0.9, 1.05, 1.35, 1.0, 1.2, 1.35, 1.2, 2.05)
    return PrintedTable("Bends, by their numbers", heads, shares, rows, "bend row")


def order_words(flat: Flat, order: Sequence[int]) -> str:
    """In which order the bends are made, by their numbers; an empty `order` = none was found. '' for a single bend."""
    bends = len(flat.strips)
    if bends < 2:
        return ""
    if order:
        numbers = ", ".join(map(str, order))
        return f"Order of bending: {numbers}, as on the brake sheet; found in section with usual tools."
    numbers = ", ".join(str(n) for n in range(1, bends + 1))
    return f"Order of bending: {numbers} as described, NOT PROVEN: no order was found with usual tools."


def _row(number: int, strip: Strip, flat: Flat) -> tuple[str, ...]:
    bend, metal = strip.bend, strip.metal
    return (
        str(number), f"{plain(bend.turn_deg)}°", bend.way.upper(), plain(bend.inside_radius_mm),
        plain(metal.k_factor, 3), plain(metal.allowance_mm), plain(metal.deduction_mm), _line_words(strip, flat),
    )  # fmt: skip


def _line_words(strip: Strip, flat: Flat) -> str:
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


# -- what to measure once it is bent


@dataclass(frozen=True, slots=True)
class Leg:
    """A panel as seen from one of its bends, mm over the outside.

    `next_bend` is the number of the bend that it is measured to, None for its far edge; `holes` are ids with distances.
    """

    panel: str
    bend: int
    next_bend: int | None
    outside_mm: float
    holes: tuple[tuple[str, float], ...]


def legs(flat: Flat) -> tuple[Leg, ...]:
    """Every panel from each of its bends, bend by bend; between two bends that face each other once."""
    # Bend, panel and tangent line with the panel on its left: the child lies left of the bend's line, the parent right.
    sides = [
        side
        for number, strip in numbered_strips(flat)
        for side in (
            (number, strip, strip.bend.parent, strip.bend.parent_line.reversed()),
            (number, strip, strip.bend.child, strip.bend.child_line),
        )
    ]
    made: list[Leg] = []
    for number, strip, panel_id, line in sides:
        panel, setback = flat.part.panel(panel_id), strip.metal.setback_mm
        # Looks from the tangent line into the panel, along +y.
        into = Placement.along(line.start, line.end).inverse()
        holes = tuple((h.id, into.point(h.centre).y + setback) for h in panel.holes)
        facing: list[tuple[float, int, float]] = []
        for other_number, other, other_id, tangent in sides:
            start, end = into.point(tangent.start), into.point(tangent.end)
            # Each runs with the metal on its left, so facing ones run against each other.
            looks_back = end.x < start.x and abs(end.y - start.y) < _LEVEL_MM and start.y > 0.0
            if other_number != number and other_id == panel_id and looks_back:
                facing.append((start.y, other_number, other.metal.setback_mm))
        if facing:
            far, next_bend, beyond = min(facing)
            made.append(Leg(panel_id, number, next_bend, far + setback + beyond, holes))
        else:
            made.append(Leg(panel_id, number, None, panel.outline.moved(into).bounds()[3] + setback, holes))
    return tuple(leg for leg in made if leg.next_bend is None or leg.bend < leg.next_bend)


def leg_table(flat: Flat) -> PrintedTable:
    """Panel, over which bend and to what, outside size, holes from there."""
    names = {n.hole.hole.id: n.name for n in named_holes(flat)}
    rows: list[tuple[str, ...]] = []
    for leg in legs(flat):
        bends = str(leg.bend) if leg.next_bend is None else f"{leg.bend} to {leg.next_bend}"
        rows.append((f"'{leg.panel}'", bends, plain(leg.outside_mm), _hole_words(leg, names)))
    heads = ("panel", "from bend", "outside", "holes from there")
    return PrintedTable("After bending", heads, (2.2, 1.9, 1.5, 3.4), tuple(rows), "leg row")


def _hole_words(leg: Leg, names: dict[str, str]) -> str:
    """Holes at the same distance together: 'A1, A2: 24; B: 32'."""
    at: dict[str, list[str]] = {}
    for id_, far in leg.holes:
        at.setdefault(plain(far), []).append(names.get(id_, id_))
    return "; ".join(f"{', '.join(sorted(who))}: {far}" for far, who in at.items()) or "none"


# -- general tolerances that hold for the sizes of one part


def general_table(sizes_mm: Iterable[float]) -> PrintedTable:
    """Plus or minus for each range of ISO 2768-1 that one of the sizes falls into."""
    return PrintedTable(
        f"Unless stated: {CLASS_WORDS}", ("size, mm", "plus or minus, mm"), (1.0, 1.0),
        tuple(_ranges(sizes_mm, _GENERAL_MM, CLASS)), "general tolerance",
    )  # fmt: skip


def cut_table(flat: Flat, sizes_mm: Iterable[float]) -> PrintedTable:
    """Plus or minus of cut sizes, by the table that the process keeps."""
    stock = flat.part.stock
    name, kept = stock.process.tolerance_table, stock.process.tolerance_class
    words = f"{name} class {kept}" if name == "ISO 9013" else f"{name} {kept}"
    rows = _cut_rows(flat, sizes_mm) if name == "ISO 9013" else _ranges(sizes_mm, _GENERAL_MM, kept)
    return PrintedTable(
        f"Cut sizes: {words}", ("size, mm", "plus or minus, mm"), (1.0, 1.0), tuple(rows), "cut tolerance"
    )


def angle_table(legs_mm: Iterable[float]) -> PrintedTable:
    """Plus or minus of the turns, by the shorter leg."""
    found: dict[str, str] = {}
    for leg in sorted(legs_mm):
        k = next(i for i in range(1, len(_BENT_MM)) if leg <= _BENT_MM[i])
        words = f"over {plain(_BENT_MM[k - 1])}" if k == len(_BENT_MM) - 1 else f"up to {plain(_BENT_MM[k])}"
        degrees = angle_tolerance(leg, CLASS).plus_minus
        found[words] = f"{plain(degrees)}°" if degrees >= 1.0 else f"{round(degrees * 60)}′"
    title = f"Turns: {CLASS_WORDS}, from memory"
    return PrintedTable(
        title, ("shorter leg, mm", "plus or minus"), (1.0, 1.0), tuple(found.items()), "angle tolerance"
    )


def _ranges(sizes_mm: Iterable[float], ends: tuple[float, ...], kept: str) -> list[tuple[str, str]]:
    """A row for each range that occurs."""
    found: dict[str, str] = {}
    for size in sorted(sizes_mm):
        k = next((i for i in range(1, len(ends)) if size <= ends[i]), None)
        if size < ends[0] or k is None:
            continue
        words = f"{'from' if k == 1 else 'over'} {plain(ends[k - 1])} to {plain(ends[k])}"
        found[words] = _said(partial(general_tolerance, size, kept))
    return list(found.items())


def _cut_rows(flat: Flat, sizes_mm: Iterable[float]) -> list[tuple[str, str]]:
    stock = flat.part.stock
    found: dict[str, str] = {}
    for size in sorted(s for s in sizes_mm if s > 0.0):
        k = next((i for i in range(1, len(_CUT_MM)) if size < _CUT_MM[i]), None)
        words = "1000 and more" if k is None else f"from {plain(_CUT_MM[k - 1])} to under {plain(_CUT_MM[k])}"
        kept = stock.process.tolerance_class
        found[words] = _said(partial(cut_tolerance, size, stock.thickness_mm, kept))
    return list(found.items())


def _said(look_up: Callable[[], Deviation]) -> str:
    try:
        return plain(look_up().plus_minus, 3)
    except LookupFault:
        return "none given: agree it"
