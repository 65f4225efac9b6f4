"""Whether the folded part runs into itself.

Only the finished shape is looked at, not the way there: a part may pass here and still be impossible to bend.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from bracketgen.bending.fold import Folded
from bracketgen.bending.folded_metal import CHORD_ERROR_MM, coarse_panel, coarse_strip, fine_panel, fine_strip
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.prism import Prisms, depths_mm, near_pairs, shared_point
from bracketgen.part.part import Part

#: Metal that shares less than this touches. Prisms stand out by up to CHORD_ERROR_MM each, so two bodies in
#: contact can seem to share twice as much.
TOUCH_MM = 2.5 * CHORD_ERROR_MM


@dataclass(frozen=True, slots=True)
class Collision:
    """Two pieces of the folded part, panels or bends by id, and a point in the part's frame that lies in both, mm."""

    a: str
    b: str
    at_mm: Vector


@dataclass(frozen=True, slots=True)
class _Piece:
    """A panel or a bend: its rough prisms, and how to get the fine ones."""

    id: str
    rough: Prisms
    fine: Callable[[], Prisms]


def collisions(folded: Folded) -> tuple[Collision, ...]:
    """Every pair of pieces that are more than TOUCH_MM (0.05 mm) in each other; panels in order, then bends.

    A panel is not held against its own bends, with which it is one metal, but against the panels beyond them.
    Round holes and slots count as metal, other openings don't: a tab may pass through them.
    Raises GeometryFault for an outline that is narrower than 0.02 mm somewhere.
    """
    part = folded.part
    pieces = [_Piece(p.id, coarse_panel(folded, p), partial(fine_panel, folded, p)) for p in part.panels]
    pieces += [_Piece(b.id, coarse_strip(folded, b), partial(fine_strip, folded, b)) for b in part.bends]
    fine: dict[int, Prisms] = {}
    found = []
    for i, j in _suspects(part, pieces):
        for k in (i, j):
            if k not in fine:
                fine[k] = pieces[k].fine()
        at = _deepest(fine[i], fine[j])
        if at is not None:
            found.append(Collision(pieces[i].id, pieces[j].id, at))
    return tuple(found)


def _suspects(part: Part, pieces: list[_Piece]) -> list[tuple[int, int]]:
    """Pairs of pieces whose rough prisms run into each other."""
    everything = Prisms.joined([p.rough for p in pieces])
    owner = np.repeat(np.arange(len(pieces)), [len(p.rough.corners) for p in pieces])
    i, j = near_pairs(everything, everything, TOUCH_MM)
    asked = _asked(part)[owner[i], owner[j]]
    i, j = i[asked], j[asked]
    if len(i) == 0:
        return []
    hit = depths_mm(everything, i, everything, j) > TOUCH_MM
    return sorted({(int(a), int(b)) for a, b in zip(owner[i[hit]], owner[j[hit]], strict=True)})


def _asked(part: Part) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Which pairs are held against each other: each once, and no panel against its own bends."""
    count = len(part.panels) + len(part.bends)
    asked = np.triu(np.ones((count, count), dtype=np.bool_), 1)
    number = {p.id: n for n, p in enumerate(part.panels)}
    for n, bend in enumerate(part.bends, len(part.panels)):
        asked[number[bend.parent], n] = asked[number[bend.child], n] = False
    return asked


def _deepest(a: Prisms, b: Prisms) -> Vector | None:
    """A point shared by the two prisms that are deepest in each other; None when all only touch."""
    i, j = near_pairs(a, b, TOUCH_MM)
    if len(i) == 0:
        return None
    depth = depths_mm(a, i, b, j)
    worst = int(np.argmax(depth))
    if depth[worst] <= TOUCH_MM:
        return None
    return shared_point(a, int(i[worst]), b, int(j[worst]))
