"""Outlines that lie too near each other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bracketgen.geometry.contour import Contour
from bracketgen.geometry.gap import cut_gap
from bracketgen.geometry.scratch import Side, polygon

#: How far chords may lie from the true arcs where pairs are only looked for; what is found is measured exactly.
_CHORD_MM: Final = 0.01


def too_near(outlines: Sequence[Contour], gap_mm: float) -> list[tuple[int, int]]:
    """Pairs, by their places, whose metal lies nearer than `gap_mm` (0 and more) on the true arcs, or in each other."""
    import shapely

    shapes = [polygon(o, chord_error_mm=_CHORD_MM, side=Side.OUTSIDE) for o in outlines]
    # The shapes hold all of the metal: a pair that is too near is among those found.
    found = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=gap_mm)
    pairs = sorted((int(a), int(b)) for a, b in found.T if a < b)
    return [
        (a, b)
        for a, b in pairs
        if shapes[a].contains(shapes[b])
        or shapes[b].contains(shapes[a])
        or cut_gap(outlines[a], outlines[b]).mm < gap_mm
    ]
