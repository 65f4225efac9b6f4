"""Whether pieces of a flat lie on each other.

The flat is one sheet: two panels, two strips, or a panel and a strip that claim the same metal can't both be cut.
Touching is no overlap: a strip shares its tangent lines with its panels.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from bracketgen.bending.flat import Flat
from bracketgen.geometry.contour import Contour
from bracketgen.geometry.line import Box
from bracketgen.geometry.point import Point
from bracketgen.geometry.scratch import Side, polygon
from bracketgen.tolerances import SMALLEST_PIECE_MM2

#: Chords lie this near to the true arcs, on the inner side, so that arcs which only touch never overlap.
_CHORD_ERROR_MM = 1e-3


@dataclass(frozen=True, slots=True)
class Overlap:
    """Two pieces of the flat, panels or strips by the id of panel or bend, and the metal that both claim."""

    a: str
    b: str
    at_mm: Point
    area_mm2: float


def overlaps(flat: Flat) -> tuple[Overlap, ...]:
    """Every pair of pieces that share more than SMALLEST_PIECE_MM2 of the sheet; empty when the flat is sound.

    Panels come in the part's order, then strips. Areas are exact for straight edges; with arcs they fall short by at
    most 0.001 mm times the length of arc. Openings count as metal: they are cut out of the whole sheet, so nothing
    can lie in them.
    """
    pieces = [(p.id, p.outline.moved(flat.placements[p.id])) for p in flat.part.panels]
    pieces += [(s.bend.id, s.outline()) for s in flat.strips]
    boxed = [(name, chain, chain.bounds()) for name, chain in pieces]
    found = (
        _shared(a, chain_a, b, chain_b)
        for (a, chain_a, box_a), (b, chain_b, box_b) in combinations(boxed, 2)
        if _boxes_share(box_a, box_b)
    )
    return tuple(o for o in found if o is not None)


def _boxes_share(a: Box, b: Box) -> bool:
    """Whether two boxes share more than the smallest piece."""
    wide, high = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    return wide > 0 and high > 0 and wide * high > SMALLEST_PIECE_MM2


def _shared(a: str, chain_a: Contour, b: str, chain_b: Contour) -> Overlap | None:
    first, second = (polygon(c, chord_error_mm=_CHORD_ERROR_MM, side=Side.INSIDE) for c in (chain_a, chain_b))
    both = first.intersection(second)
    if both.area <= SMALLEST_PIECE_MM2:
        return None
    inner = both.representative_point()
    return Overlap(a, b, Point(inner.x, inner.y), both.area)
