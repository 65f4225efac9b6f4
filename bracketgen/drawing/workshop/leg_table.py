"""What to measure once a part is bent: every leg's outside size, and its holes from the outside of the bend."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat, Strip
from bracketgen.drawing.marks.bend_words import numbered_strips
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.workshop.bands import Table
from bracketgen.drawing.workshop.hole_names import named_holes
from bracketgen.geometry.line import Line
from bracketgen.geometry.placement import Placement
from bracketgen.part.panel import Panel

#: Bends that lean less than this along their width run the same way, mm.
_LEVEL_MM: Final = 1e-6
#: Said below the table.
LEG_WORDS: Final = (
    "Outside: from the outer faces of the bend, up to square where they would meet, beyond it the outermost of the "
    "round, square across the leg to its far edge or to the outside of the next bend. Holes: their middles from the "
    "same outside."
)


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


@dataclass(frozen=True, slots=True)
class _Side:
    """One bend on one of its panels; `into` looks from the tangent line into the panel, along +y."""

    number: int
    strip: Strip
    panel: Panel
    into: Placement


def legs(flat: Flat) -> tuple[Leg, ...]:
    """Every panel from each of its bends, bend by bend; between two bends that face each other once."""
    sides = [side for number, strip in numbered_strips(flat) for side in _sides(number, strip, flat)]
    made = [_leg(side, sides) for side in sides]
    return tuple(leg for leg in made if leg.next_bend is None or leg.bend < leg.next_bend)


def _sides(number: int, strip: Strip, flat: Flat) -> Iterator[_Side]:
    bend = strip.bend
    # The child lies on the left of the bend's line, the parent on its right.
    for id_, line in ((bend.parent, bend.parent_line.reversed()), (bend.child, bend.child_line)):
        yield _Side(number, strip, flat.part.panel(id_), Placement.along(line.start, line.end).inverse())


def _leg(side: _Side, sides: list[_Side]) -> Leg:
    setback = side.strip.metal.setback_mm
    holes = tuple((h.id, side.into.point(h.centre).y + setback) for h in side.panel.holes)
    facing = [(y, o) for o in sides if (y := _facing_mm(side, o)) is not None]
    if facing:
        far, other = min(facing, key=lambda f: f[0])
        outside = far + setback + other.strip.metal.setback_mm
        return Leg(side.panel.id, side.number, other.number, outside, holes)
    outside = side.panel.outline.moved(side.into).bounds()[3] + setback
    return Leg(side.panel.id, side.number, None, outside, holes)


def _facing_mm(side: _Side, other: _Side) -> float | None:
    """From one tangent line across the panel to the other, where that other bend looks back along the same way."""
    if other.number == side.number or other.panel.id != side.panel.id:
        return None
    line = _tangent(other)
    start, end = side.into.point(line.start), side.into.point(line.end)
    # Each runs with the metal on its left, so facing ones run against each other.
    looks_back = end.x < start.x and abs(end.y - start.y) < _LEVEL_MM
    return start.y if looks_back and start.y > 0.0 else None


def _tangent(side: _Side) -> Line:
    bend = side.strip.bend
    return bend.child_line if side.panel.id == bend.child else bend.parent_line.reversed()


def leg_table(flat: Flat) -> Table:
    """Panel, over which bend and to what, outside size, holes from there."""
    names = {n.hole.hole.id: n.name for n in named_holes(flat)}
    rows = tuple(
        (f"'{leg.panel}'", _from_to(leg), plain(leg.outside_mm), _hole_words(leg, names)) for leg in legs(flat)
    )
    heads = ("panel", "from bend", "outside", "holes from there")
    return Table("After bending", heads, (2.2, 1.9, 1.5, 3.4), rows, "leg row")


def _from_to(leg: Leg) -> str:
    return str(leg.bend) if leg.next_bend is None else f"{leg.bend} to {leg.next_bend}"


def _hole_words(leg: Leg, names: dict[str, str]) -> str:
    """Holes at the same distance together: 'A1, A2: 24; B: 32'."""
    at: dict[str, list[str]] = {}
    for id_, far in leg.holes:
        at.setdefault(plain(far), []).append(names.get(id_, id_))
    return "; ".join(f"{', '.join(sorted(who))}: {far}" for far, who in at.items()) or "none"
